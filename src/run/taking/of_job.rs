//! The lists of a job, as far as a table of them tells.

use std::collections::BTreeMap;
use std::fs;

use jiff::Timestamp;

use crate::base::{Problem, Severity};
use crate::circuits::{Looked, look};
use crate::run::Reading;
use crate::run::named_lists::{CONNECTORS_FILES, file_names, lists_in};
use crate::run::overlay::Overlay;

/// A list of a job, or a file of its folder that could be one.
#[derive(Clone, Debug)]
pub struct OfJob {
    /// The file.
    pub file: String,
    /// Whether it describes the connectors.
    pub is_connectors: bool,
    /// Whether it is read: where job.toml names lists, others are not.
    pub is_read: bool,
    /// It, or each of its sheets that is read, as it is understood.
    pub looked: Vec<Looked>,
    /// How many ends are read of it; of connectors.csv, how many connectors.
    pub count: usize,
    /// Errors and warnings in it.
    pub problems: (usize, usize),
    /// When it was written last.
    pub changed: Option<Timestamp>,
}

/// The lists of a job in the order they are read, connectors.csv, and files of the folder that are not read.
pub fn of_job(reading: &Reading) -> Vec<OfJob> {
    let job = &reading.job;
    let mut counts: BTreeMap<&str, usize> = BTreeMap::new();
    for end in reading.circuits.all().iter().flat_map(|circuit| circuit.ends()) {
        *counts.entry(end.origin.file()).or_default() += 1;
    }
    for connector in reading.circuits.connectors() {
        *counts.entry(connector.origin.file()).or_default() += 1;
    }
    let of_file = |problem: &&Problem, file: &str, severity| {
        problem.severity == severity && problem.origin.as_ref().is_some_and(|origin| origin.file() == file)
    };
    let count =
        |file: &str, severity| reading.problems.iter().filter(|problem| of_file(problem, file, severity)).count();
    let new = |file: &str| {
        let changed = fs::metadata(job.folder().join(file)).and_then(|found| found.modified()).ok();
        OfJob {
            file: file.to_owned(),
            is_connectors: false,
            is_read: true,
            looked: Vec::new(),
            count: counts.get(file).copied().unwrap_or_default(),
            problems: (count(file, Severity::Error), count(file, Severity::Warning)),
            changed: changed.and_then(|changed| Timestamp::try_from(changed).ok()),
        }
    };
    let mut all: Vec<OfJob> = Vec::new();
    // What cannot be read has problems of its own and is listed all the same.
    for name in job.list_names() {
        if all.iter().all(|known| known.file != name.value) {
            all.push(new(&name.value));
        }
    }
    for list in job.lists().value {
        if let Some(known) = all.iter_mut().find(|known| known.file == list.name) {
            known.looked.extend(look(&list).0);
        }
    }
    if let Some(file) = CONNECTORS_FILES.into_iter().find(|file| job.folder().join(file).exists()) {
        all.push(OfJob { is_connectors: true, ..new(file) });
    }
    let there = lists_in(job.folder(), &Overlay::default()).map(file_names).unwrap_or_default();
    for file in there {
        if all.iter().all(|known| known.file != file) {
            all.push(OfJob { is_read: false, ..new(&file) });
        }
    }
    all
}
