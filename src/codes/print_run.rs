//! A print run, and what its tags say.

use std::fmt;

use jiff::Timestamp;

use super::link::between;
use crate::base::{EndLetter, TagCode};

/// The number of a print run: 1, 2, 3 …
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RunNumber(pub(super) u32);

impl RunNumber {
    pub(super) const fn new(number: u32) -> Self {
        Self(number)
    }

    /// The first run of a job.
    pub const FIRST: Self = Self(1);

    /// The number itself.
    pub const fn get(self) -> u32 {
        self.0
    }

    /// The next one.
    #[must_use]
    pub const fn next(self) -> Self {
        Self(self.0.saturating_add(1))
    }

    /// The number that a run has written down beside its PDFs.
    pub(super) const fn of_record(number: u32) -> Self {
        Self(number)
    }
}

impl fmt::Display for RunNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

/// A print run.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Run {
    /// Its number.
    pub number: RunNumber,
    /// What was asked for, as the command had it.
    pub what: String,
    /// When it was planned.
    pub planned: Timestamp,
    /// How and when it ended; `None` while it runs, or when it was cut off.
    pub end: Option<(Outcome, Timestamp)>,
    /// Whether somebody has told that its paper never went through the printer.
    pub is_unprinted: bool,
}

impl Run {
    /// Whether its tags may be there: it did not fail, and nobody has told that it was never printed.
    pub const fn may_be_there(&self) -> bool {
        !self.is_unprinted && !matches!(self.end, Some((Outcome::Failed, _)))
    }
}

/// How a print run ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// All its files are in place and were proved.
    Done,
    /// It was given up; no file is in place.
    Failed,
}

/// What one tag of a run says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrintedTag {
    /// Its code.
    pub code: TagCode,
    /// Its letters; several on a doubled cavity and on a mark along a wire.
    pub letters: Vec<EndLetter>,
    /// Whether it names ends, or a place between them.
    pub spot: Spot,
    /// The place it is for, as printed.
    pub place: String,
    /// Kind of tag: `flag`, `sleeve`, `strip`.
    pub kind: String,
    /// Stock it was printed on.
    pub stock: String,
    /// Its lines of words as printed, below the code.
    pub words: Vec<String>,
    /// The text of its symbol, when it carries one.
    pub payload: Option<String>,
}

impl PrintedTag {
    /// Its name as printed: `7KF4 A+B`.
    pub fn name(&self) -> String {
        format!("{} {}", self.code, self.spot.write(&self.letters)).trim_end().to_owned()
    }
}

/// What the tag of a connector that stays whole says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PrintedConnectorTag {
    /// The connector, as the lists wrote it.
    pub connector: String,
    /// Kind of tag: `flag`, `tie-on`.
    pub kind: String,
    /// Stock it was printed on.
    pub stock: String,
    /// Its lines of words as printed, below the connector.
    pub words: Vec<String>,
    /// The text of its symbol, when it carries one.
    pub payload: Option<String>,
}

/// Which part of a wire a tag names.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Spot {
    /// An end: `A`, or several at one place: `A+B`.
    End,
    /// A place between two ends: `A-B`; `A-` where the other end was not known.
    Between,
}

impl Spot {
    /// Reads letters as they are printed.
    pub fn read(printed: &str) -> (Vec<EndLetter>, Self) {
        let spot = if printed.contains('-') { Self::Between } else { Self::End };
        (printed.split(['+', '-']).filter_map(EndLetter::from_typed).collect(), spot)
    }

    /// Letters as they are printed.
    pub fn write(self, letters: &[EndLetter]) -> String {
        match self {
            Self::End => letters.iter().map(ToString::to_string).collect::<Vec<_>>().join("+"),
            Self::Between => between(letters),
        }
    }
}

/// One time that a tag was printed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Printing {
    /// The run it belonged to.
    pub run: Run,
    /// What it said.
    pub tag: PrintedTag,
}
