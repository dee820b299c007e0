//! Printed tags beside the lists of today: which must be printed again, and which no longer tell the truth.
//!
//! - `printed`: the journal, read once: the last printing of every tag
//! - `compare`: what a tag says beside what is true
//! - `due`: which tags a run makes when only new and changed ones are wanted
//! - `remembered`: tags of ends that no list has any more, to be printed as they said
//! - `list`: which tags on wires are stale, and codes whose circuit has left the lists
//!
//! Once the journal is read, everything here is a function of it and of the lists.

use super::failure::RunFailure;
use super::making::Made;
use super::reading::Reading;
use super::register;
use crate::base::{EndLetter, Purpose, TagCode};
use crate::codes::{Issued, Record, Register, RegisterFailure, Run};
use crate::labels::{Label, Subject};

mod compare;
mod due;
mod list;
mod printed;
mod remembered;

pub use compare::Change;
pub use due::Due;
pub use list::{LeftCode, LeftTag, Remedy, Stale, StaleTag};
pub use printed::{Said, Standing};
pub use remembered::Remembered;

/// The tags of a code, or of one of its ends, that no list has any more, as they were printed last; nothing is issued.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn remembered(
    reading: &Reading,
    meant: (TagCode, Option<EndLetter>),
    purposes: &[Purpose],
) -> Result<Vec<Remembered>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let (issued, records) = (register.preview(&reading.circuits)?, register.records()?);
    let on_wires = OnWires::read(&register, &records, |_, _| ())?;
    Ok(on_wires.remembered(reading, &issued, &records, meant, purposes))
}

/// What hangs on the wires, as far as the journal knows.
#[derive(Debug, Default)]
pub struct OnWires {
    last: printed::LastPrinted,
}

impl OnWires {
    /// Reads the journal of a register that has these records; `also` is shown every tag that was ever journalled.
    ///
    /// # Errors
    /// When the register fails.
    pub fn read(
        register: &Register,
        records: &[Record],
        also: impl FnMut(&Run, Said<'_>),
    ) -> Result<Self, RegisterFailure> {
        Ok(Self { last: printed::LastPrinted::read(register, records, also)? })
    }

    /// Everything that is not so any more. `issued` may be looked ahead at.
    pub fn stale(&self, reading: &Reading, issued: &Issued, records: &[Record]) -> Stale {
        list::stale(reading, issued, records, &self.last)
    }

    /// The same as if the rows that could be read were all: what was so before is not laid to what changes the rows.
    pub fn stale_by_rows_read(&self, reading: &Reading, issued: &Issued, records: &[Record]) -> Stale {
        list::by_rows_read(reading, issued, records, &self.last)
    }

    /// The tags of a code, or of one of its ends, that no list has any more, as they were printed last.
    pub fn remembered(
        &self,
        reading: &Reading,
        issued: &Issued,
        records: &[Record],
        meant: (TagCode, Option<EndLetter>),
        purposes: &[Purpose],
    ) -> Vec<Remembered> {
        remembered::remembered(reading, issued, records, &self.last, meant, purposes)
    }

    /// Whether the tag of this label was printed.
    pub fn has(&self, label: &Label) -> bool {
        due::is_printed(&self.last, label)
    }

    /// The tag of this subject and label, if it is new or would say something else than when it was printed. It is made only
    /// where that must be known.
    pub fn due(
        &self,
        reading: &Reading,
        issued: &Issued,
        purpose: Purpose,
        subject: &Subject,
        label: &Label,
        make: impl FnOnce() -> Option<Made>,
    ) -> Option<Due> {
        due::due(reading, issued, &self.last, purpose, subject, label, make)
    }
}
