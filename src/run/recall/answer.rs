//! What answers are: records that were found, what a scan turned out to be, and what may have been meant instead.

use serde::Serialize;

use super::record::Record;
use crate::base::{EndLetter, TagCode};

/// What names a tag: its code and, where it has one, its letter.
pub type Tag = (TagCode, Option<EndLetter>);

/// By what something was found; the best comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// Its code.
    Code,
    /// The place of an end.
    Place,
    /// Its designation, present or former.
    Designation,
    /// Colour, words, or several of these.
    Words,
}

/// A record that answers the question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    /// By what it was found.
    pub by: By,
    /// The ends that were meant, as indices of [`Record::ends`].
    pub ends: Vec<usize>,
    /// Why the record may be that of another wire; `None` where nothing speaks against it.
    pub doubt: Option<String>,
    /// What is known.
    pub record: Record,
}

impl Found {
    /// The answer in words, any doubt first, the ends that were meant pointed at.
    pub fn in_words(&self) -> String {
        let pointed_at =
            if self.ends.len() == self.record.ends.len() && self.ends.len() > 1 { &[] } else { &self.ends[..] };
        let doubt = self.doubt.as_ref().map(|doubt| format!("DOUBT: {doubt}\n")).unwrap_or_default();
        doubt + &self.record.in_words(pointed_at)
    }
}

/// What a scan turned out to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase", tag = "scan")]
pub enum Scanned {
    /// A tag of this job.
    Known(Box<Found>),
    /// The tag of a connector.
    Connector {
        /// The connector: as the lists write it, else as scanned.
        connector: String,
        /// Why it may be another connector's tag.
        doubt: Option<String>,
        /// The circuits that end in it, these ends meant; none when nothing is known of it.
        found: Vec<Found>,
    },
    /// A blank that is not assigned yet.
    Blank {
        /// The code.
        code: String,
        /// What is known of it, in words.
        told: String,
        /// Why the tag may be another job's.
        doubt: Option<String>,
    },
    /// A fitting code that was never issued here.
    Unknown {
        /// The code.
        code: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
    /// No code, or one whose check character does not fit.
    Nothing {
        /// What was read.
        text: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
}

impl Scanned {
    /// Codes to offer instead; none where the tag is known.
    pub fn nearest(&self) -> &[Near] {
        match self {
            Self::Known(_) | Self::Connector { .. } | Self::Blank { .. } => &[],
            Self::Unknown { nearest, .. } | Self::Nothing { nearest, .. } => nearest,
        }
    }
}

/// A code that may have been meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Near {
    /// The code.
    pub code: String,
    /// What it stands for, in a few words.
    pub what: String,
}

/// A word that fits nothing.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct UnknownWord {
    /// As typed.
    pub word: String,
    /// What may have been meant.
    pub near: Option<String>,
}
