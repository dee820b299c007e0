//! THE JOB WITH OTHER FILES -> WHAT WOULD CHANGE, lists, problems, and tags on wires, before anything is written.
//!
//! In: the job as it is and as it would be. Out: an [`Outlook`]. Nothing is issued: codes are looked ahead at.

use super::choice::Choice;
use super::difference::{Difference, difference};
use super::failure::RunFailure;
use super::likely_renames::likely_renames;
use super::reading::Reading;
use super::register;
use super::stale::{LeftCode, OnWires, StaleTag};
use crate::base::Problem;
use crate::codes::Register;

/// So many tags are made to see whether they can be; that takes a while for each.
const MOST_MADE: usize = 400;

/// What would change.
#[derive(Clone, Debug, Default)]
pub struct Outlook {
    /// Circuits, ends, connectors and problems.
    pub difference: Difference,
    /// Tags on wires that would no longer tell the truth, and do now.
    pub stale: Vec<StaleTag>,
    /// Codes with tags on wires whose circuit would leave the lists.
    pub left: Vec<LeftCode>,
    /// How many tags are to be printed, new ones and changed ones, now and then.
    pub due: (usize, usize),
    /// Those of the latter that cannot be made as they are, by name, place and why; looked for among the first [`MOST_MADE`].
    pub refused: Vec<String>,
    /// How many of the former cannot be made, looked for in the same way.
    pub refused_now: usize,
    /// Circuits that are likely called otherwise, and ends that are likely in another place: what to do before anything is printed.
    pub likely: Vec<Problem>,
}

impl Outlook {
    /// Whether nothing would.
    pub fn is_empty(&self) -> bool {
        self.difference.is_empty() && self.stale.is_empty() && self.left.is_empty() && self.due.0 == self.due.1
    }
}

/// Lays the job as it would be beside the job as it is.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn outlook(before: &Reading, after: &Reading) -> Result<Outlook, RunFailure> {
    let register = register::open_to_read(before.job.folder())?;
    let (now, then) = (OfTags::read(before, &register)?, OfTags::read(after, &register)?);
    let (known, mut likely) = (likely_renames(before)?, likely_renames(after)?);
    likely.retain(|problem| known.iter().all(|known| known.message != problem.message));
    let is_new = |tag: &StaleTag| {
        now.known
            .tags
            .iter()
            .all(|known| (&known.tag, &known.purpose, &known.changes) != (&tag.tag, &tag.purpose, &tag.changes))
    };
    let is_left = |left: &LeftCode| now.known.left.iter().all(|known| known.code != left.code);
    Ok(Outlook {
        difference: difference((&before.circuits, &before.problems), (&after.circuits, &after.problems)),
        stale: then.stale.tags.into_iter().filter(is_new).collect(),
        left: then.stale.left.into_iter().filter(is_left).collect(),
        due: (now.due, then.due),
        refused: then.refused,
        refused_now: now.refused.len(),
        likely,
    })
}

struct OfTags {
    stale: super::stale::Stale,
    /// What is so by the rows that could be read: it does not come of a change, even where nothing was concluded from it yet.
    known: super::stale::Stale,
    due: usize,
    refused: Vec<String>,
}

impl OfTags {
    fn read(reading: &Reading, register: &Register) -> Result<Self, RunFailure> {
        let (issued, records) = (register.preview(&reading.circuits)?, register.records()?);
        let on_wires = OnWires::read(register, &records, |_, _| ())?;
        let renames = register.likely_renames(&reading.circuits)?;
        let stale = on_wires.stale(reading, &issued, &records).expecting(&renames);
        let known = on_wires.stale_by_rows_read(reading, &issued, &records);
        let choice = Choice::default();
        let sources = reading.sources(&issued);
        let (mut due, mut refused) = (0, Vec::new());
        for &purpose in &choice.purposes {
            for subject in &choice.select(&reading.circuits, &issued, purpose).subjects {
                let label = sources.label(purpose, subject);
                let make = || reading.equipment.make(&label).ok();
                if on_wires.due(reading, &issued, purpose, subject, &label, make).is_none() {
                    continue;
                }
                due += 1;
                if due <= MOST_MADE
                    && let Err(refusal) = reading.equipment.make(&label)
                {
                    // A code that is not issued may yet become another's: it is not told.
                    let place = label.place_text();
                    let is_issued = label.name.code().is_none_or(|code| records.iter().any(|one| one.code == code));
                    refused.push(match is_issued {
                        true => format!("{} at {place}: {refusal}", label.name),
                        false => format!("{place}: {refusal}"),
                    });
                }
            }
        }
        Ok(Self { stale, known, due, refused })
    }
}
