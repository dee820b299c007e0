//! A job folder read: its settings, stocks and circuits, with all problems met on the way.

use std::path::Path;

use super::equipment::Equipment;
use super::failure::RunFailure;
use super::job::Job;
use super::overlay::Overlay;
use super::problems::DECISION_WITHOUT_END;
use super::{kinds, register, rules};
use crate::base::{Checked, Page, Problem, Remedy, problem};
use crate::circuits::{self, Circuits, JobLists, has_no_rows};
use crate::codes::{DecidedEnds, Issued, Register, WithoutEnd};
use crate::labels::Sources;

pub use super::register::register_path;

/// All that a run begins with.
pub struct Reading {
    /// The settings.
    pub job: Job,
    /// Stocks, printers and faces.
    pub equipment: Equipment,
    /// The circuits, without the rows and ends that have errors; what was decided of them beside the lists counts.
    pub circuits: Circuits,
    /// What was decided of ends beside the lists.
    pub decided: DecidedEnds,
    /// All problems of the settings and the lists.
    pub problems: Vec<Problem>,
}

impl Reading {
    /// What labels are made from.
    pub fn sources<'a>(&'a self, issued: &'a Issued) -> Sources<'a> {
        Sources { circuits: &self.circuits, issued, payload: self.equipment.payload(), title: self.job.title() }
    }

    /// Whether every row of every list is known: without errors, and without a list that has no rows. Else nothing may be
    /// concluded from what no list has.
    pub fn knows_all_rows(&self) -> bool {
        !self.has_errors() && !self.problems.iter().any(has_no_rows)
    }

    /// Whether an error withholds the result.
    pub fn has_errors(&self) -> bool {
        problem::has_errors(&self.problems)
    }
}

/// Reads a job folder. The value is `None` when the settings cannot be used at all.
///
/// # Errors
/// [`RunFailure`] when the folder or its job.toml are missing or cannot be read, or something was decided beside the lists and the
/// register cannot be read.
pub fn read(folder: &Path) -> Result<Checked<Option<Reading>>, RunFailure> {
    read_with(folder, &Overlay::default())
}

/// The same with other files laid over those of the folder: the job as it would be. Nothing is written.
///
/// # Errors
/// As [`read`].
pub fn read_with(folder: &Path, overlay: &Overlay) -> Result<Checked<Option<Reading>>, RunFailure> {
    read_decided(folder, overlay, |circuits| match Register::has_decisions(&register_path(folder))? {
        // Mostly nothing is decided beside the lists, and no code needs to be looked up.
        false => Ok(DecidedEnds::default()),
        true => Ok(register::open_to_read(folder)?.decided(circuits)?),
    })
}

/// The same, where the register is open.
///
/// # Errors
/// As [`read`].
pub(super) fn read_beside(folder: &Path, register: &Register) -> Result<Checked<Option<Reading>>, RunFailure> {
    read_decided(folder, &Overlay::default(), |circuits| Ok(register.decided(circuits)?))
}

fn read_decided(
    folder: &Path,
    overlay: &Overlay,
    decided: impl FnOnce(&Circuits) -> Result<DecidedEnds, RunFailure>,
) -> Result<Checked<Option<Reading>>, RunFailure> {
    let Checked { value: job, mut problems } = Job::read_with(folder, overlay)?;
    let Some(job) = job else { return Ok(Checked { value: None, problems }) };
    let equipment = Equipment::of(&job);
    problems.extend(equipment.problems);
    let lists = job.lists();
    problems.extend(lists.problems);
    let connectors = job.connectors();
    problems.extend(connectors.problems);
    let (lists, connectors, rules) = (&lists.value[..], connectors.value.as_ref(), job.rules());
    let mut of_ends = DecidedEnds::default();
    let read = circuits::read_edited(&JobLists { lists, connectors, rules }, |circuits| {
        of_ends = decided(circuits)?;
        Ok::<_, RunFailure>(of_ends.edits.clone())
    })?;
    problems.extend(read.problems);
    problems.extend(job.rating().into_iter().flat_map(|rating| circuits::fuses(&read.value, rating)));
    problems.extend(kinds::unknown_connectors(job.kind_rules(), &read.value));
    problems.extend(rules::without_effect(job.rules(), &read.value));
    let Some(equipment) = equipment.value else { return Ok(Checked { value: None, problems }) };
    let mut reading = Reading { job, equipment, circuits: read.value, decided: of_ends, problems };
    if reading.knows_all_rows() {
        reading.problems.extend(reading.decided.without_end.iter().map(without_end));
    }
    Ok(Checked { value: Some(reading), problems: Vec::new() })
}

/// That something was decided of an end that has left the lists.
fn without_end(WithoutEnd { made, place }: &WithoutEnd) -> Problem {
    let (code, letter) = made.mark();
    let (number, matter) = (made.number, &made.decision.matter);
    let words = matter.words().unwrap_or_default();
    let what = format!(
        "the {} `{words}` was decided of {code} {letter} at `{place}` (decision {number}), and no list has that end any more",
        matter.word()
    );
    let moved = Page::OnRecord(format!("{code}/{letter}"), "Found different");
    let remedy = Remedy::by(format!("`loomtag decide --undo {number}`"), Page::Decided)
        .words("; if the end sits in another place by now, ")
        .and_by(format!("`loomtag rename {code}/{letter}` and that place"), moved);
    DECISION_WITHOUT_END.says(what).remedy(remedy)
}
