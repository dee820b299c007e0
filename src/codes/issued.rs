//! The finished hand-over type of this step: the code of each circuit and the letter of each end, free of the database.

use crate::base::{EndLetter, TagCode};

/// Code and letters of one circuit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CircuitCodes {
    /// The code that is printed.
    pub code: TagCode,
    /// Older or joined codes that name the same circuit.
    pub also: Vec<TagCode>,
    /// One letter for each end, in the order of [`crate::circuits::Circuit::ends`].
    pub letters: Vec<EndLetter>,
}

/// Codes and letters for all circuits, in the order of [`crate::circuits::Circuits::all`].
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Issued {
    /// One entry a circuit.
    pub circuits: Vec<CircuitCodes>,
}
