//! What labels are made for, and so which kind of tag goes on them.

use std::fmt;

use crate::base::{Length, TagKind};
use crate::layout::tie_on::{HoleCount, Holes};

/// What the labels of a sheet or roll are made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LabelForm {
    /// They take print all over.
    Plain,
    /// Wound round the wire: a printed block, then a clear tail.
    Wrap {
        /// Length of the block round the wire, from the label's upper edge on.
        print: Length,
    },
    /// Plates with holes.
    Plate(Holes),
}

impl LabelForm {
    /// Whether tags of this kind are made on such labels.
    pub fn takes(self, kind: TagKind) -> bool {
        matches!(
            (self, kind),
            (Self::Plain, TagKind::Flag) | (Self::Wrap { .. }, TagKind::Wrap) | (Self::Plate(_), TagKind::TieOn)
        )
    }
}

/// `, wraps with a printed block of 13 mm`: what a list adds to the size of its labels.
impl fmt::Display for LabelForm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Plain => Ok(()),
            Self::Wrap { print } => write!(f, ", wraps with a printed block of {print}"),
            Self::Plate(Holes { diameter, count: HoleCount::One, .. }) => {
                write!(f, ", plates with a hole of {diameter}")
            }
            Self::Plate(Holes { diameter, count: HoleCount::Two, .. }) => {
                write!(f, ", plates with two holes of {diameter}")
            }
        }
    }
}
