//! Printed tags beside the lists of today: which must be printed again, and which no longer tell the truth.
//!
//! - `printed`: the journal, read once: the last printing of every tag
//! - `compare`: what a tag says beside what is true
//! - `due`: which tags a run makes when only new and changed ones are wanted
//! - `list`: which tags on wires are stale, and codes whose circuit has left the lists
//!
//! Once the journal is read, everything here is a function of it and of the lists.

use super::making::Made;
use super::reading::Reading;
use crate::base::Purpose;
use crate::codes::{Issued, Record, Register, RegisterFailure};
use crate::labels::{Label, Subject};

mod compare;
mod due;
mod list;
mod printed;

pub use compare::Change;
pub use due::Due;
pub use list::{LeftCode, LeftTag, Remedy, Stale, StaleTag};
pub use printed::Standing;

/// What hangs on the wires, as far as the journal knows.
#[derive(Debug, Default)]
pub struct OnWires {
    last: printed::LastPrinted,
}

impl OnWires {
    /// Reads the journal of a register that has these records; `text` is shown what every symbol that was ever printed says.
    ///
    /// # Errors
    /// When the register fails.
    pub fn read(register: &Register, records: &[Record], text: impl FnMut(String)) -> Result<Self, RegisterFailure> {
        Ok(Self { last: printed::LastPrinted::read(register, records, text)? })
    }

    /// Everything that is not so any more. `issued` may be looked ahead at.
    pub fn stale(&self, reading: &Reading, issued: &Issued, records: &[Record]) -> Stale {
        list::stale(reading, issued, records, &self.last)
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
