//! The finished hand-over type of this step: one tag's words, in the order in which they may be given up.

use std::fmt;

use crate::base::{EndLetter, Length, Place, TagCode, WireColour};

/// The code and the letters that stand on one tag: `7KF4 A`, or `7KF4 A+B` for a doubled cavity.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TagName {
    /// The circuit's code.
    pub code: TagCode,
    /// Letters of the ends, at least one except on connector tags and blanks.
    pub letters: Vec<EndLetter>,
}

impl fmt::Display for TagName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        for (index, letter) in self.letters.iter().enumerate() {
            write!(f, "{}{letter}", if index == 0 { ' ' } else { '+' })?;
        }
        Ok(())
    }
}

/// Whether a tag goes on before cutting or at termination.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Purpose {
    /// Goes on sideways before cutting.
    Work,
    /// Threads on a free end at termination.
    Final,
}

/// What a line of a tag tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Field {
    /// What the circuit does.
    Function,
    /// This end's place.
    Here,
    /// The place of the wire's other end.
    There,
    /// Colour, size, fuse.
    Conductor,
    /// Designation of the circuit.
    Circuit,
    /// Leg of the harness.
    Branch,
    /// The list's own remark.
    Note,
}

/// One line of a tag: its full wording, and shorter ones that may stand for it, each shorter than the one before.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    /// What it tells.
    pub field: Field,
    /// Wordings from full to shortest; never empty.
    pub wordings: Vec<String>,
}

/// A mark that must be seen before anything is done to the wire. Printed white on black: never dropped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Band {
    /// High voltage: stop, trained persons only.
    HighVoltage,
    /// Airbag or belt tensioner: never cut, probe or tap into.
    Restraint,
    /// Fed with every switch off.
    Live,
    /// Fed with every switch off, and the end is free: cap it.
    LiveCap,
    /// Leaves the harness; with the length that can be used again.
    Out,
    /// A wire that was not there.
    New,
    /// Stays for a possible use.
    Spare,
}

/// All that one tag says, free of stock and geometry.
#[derive(Clone, Debug)]
pub struct Label {
    /// Code and letters.
    pub name: TagName,
    /// Work tag or final tag.
    pub purpose: Purpose,
    /// The place it is for.
    pub place: Place,
    /// Text of the symbol; `None` when the tag carries none.
    pub payload: Option<String>,
    /// The words below the code, most important first: the last is given up first.
    pub lines: Vec<Line>,
    /// Colour of the wire, for the colour bar.
    pub colour: Option<WireColour>,
    /// Marks that are never given up, with their printed words.
    pub bands: Vec<(Band, String)>,
    /// Measured outside diameter of the wire.
    pub diameter: Option<Length>,
}
