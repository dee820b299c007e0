//! A job folder read: its settings, stocks and circuits, with all problems met on the way.

use std::path::Path;

use super::equipment::Equipment;
use super::job::{Job, JobFailure};
use super::overlay::Overlay;
use super::{kinds, rules};
use crate::base::{Checked, Problem, problem};
use crate::circuits::{self, Circuits, JobLists, has_no_rows};
use crate::codes::Issued;
use crate::labels::Sources;

pub use super::register::register_path;

/// All that a run begins with.
pub struct Reading {
    /// The settings.
    pub job: Job,
    /// Stocks, printers and faces.
    pub equipment: Equipment,
    /// The circuits, without the rows and ends that have errors.
    pub circuits: Circuits,
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
/// [`JobFailure`] when the folder or its job.toml are missing or cannot be read.
pub fn read(folder: &Path) -> Result<Checked<Option<Reading>>, JobFailure> {
    read_with(folder, &Overlay::default())
}

/// The same with other files laid over those of the folder: the job as it would be. Nothing is written.
///
/// # Errors
/// [`JobFailure`] when the folder or its job.toml are missing or cannot be read.
pub fn read_with(folder: &Path, overlay: &Overlay) -> Result<Checked<Option<Reading>>, JobFailure> {
    let Checked { value: job, mut problems } = Job::read_with(folder, overlay)?;
    let Some(job) = job else { return Ok(Checked { value: None, problems }) };
    let equipment = Equipment::of(&job);
    problems.extend(equipment.problems);
    let lists = job.lists();
    problems.extend(lists.problems);
    let connectors = job.connectors();
    problems.extend(connectors.problems);
    let (lists, connectors, rules) = (&lists.value[..], connectors.value.as_ref(), job.rules());
    let read = circuits::read(&JobLists { lists, connectors, rules });
    problems.extend(read.problems);
    problems.extend(job.rating().into_iter().flat_map(|rating| circuits::fuses(&read.value, rating)));
    problems.extend(kinds::unknown_connectors(job.kind_rules(), &read.value));
    problems.extend(rules::without_effect(job.rules(), &read.value));
    let Some(equipment) = equipment.value else { return Ok(Checked { value: None, problems }) };
    let reading = Reading { job, equipment, circuits: read.value, problems };
    Ok(Checked { value: Some(reading), problems: Vec::new() })
}
