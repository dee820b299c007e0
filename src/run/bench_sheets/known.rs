//! What the register knows of a job, read once for all its sheets.

use std::collections::{HashMap, HashSet};

use jiff::Timestamp;
use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::wish::SheetsWish;
use crate::base::{EndLetter, Purpose, TagCode};
use crate::circuits::{Action, Circuit, End};
use crate::codes::{Blank, Issued, Notes, Record, Register, Said, progress};
use crate::labels::{Doubled, Reach, Selected, Sources, Subject, select};
use crate::paperwork::{Found, Harness, OnBench};
use crate::run::equipment::Equipment;
use crate::run::failure::RunFailure;
use crate::run::reading::Reading;
use crate::run::worked::of_end;

/// Records, notes and blanks of a register.
pub(in crate::run) struct Known {
    pub(in crate::run) records: Vec<Record>,
    pub(in crate::run) notes: Notes,
    pub(in crate::run) blanks: Vec<Blank>,
}

impl Known {
    /// Reads them.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub(in crate::run) fn read(register: &Register) -> Result<Self, RunFailure> {
        Ok(Self { records: register.records()?, notes: register.notes()?, blanks: register.blanks()? })
    }

    /// The circuits of the lists with what the bench knows of every end.
    pub(in crate::run) fn harness<'a>(&self, reading: &'a Reading, issued: &'a Issued) -> Harness<'a> {
        let mut harness = Harness::new(&reading.circuits, issued, reading.equipment.payload());
        harness.on_bench = on_bench(&reading.sources(issued), &reading.equipment, &self.records, &self.notes).into();
        let free = self.blanks.iter().filter(|blank| blank.assigned.is_none());
        harness.blanks = free.map(|blank| blank.code).collect();
        harness
    }
}

/// What the bench knows of every end, by circuit and end.
pub(in crate::run) fn on_bench<'r>(
    sources: &Sources<'_>,
    equipment: &Equipment,
    records: impl IntoIterator<Item = &'r Record>,
    notes: &Notes,
) -> Vec<Vec<OnBench>> {
    let circuits = sources.circuits.all();
    let mut known: Vec<Vec<OnBench>> =
        circuits.iter().map(|circuit| vec![OnBench::default(); circuit.ends().len()]).collect();
    let by_code: HashMap<_, _> = records.into_iter().map(|record| (record.code, record)).collect();
    for (codes, ends) in sources.issued.circuits.iter().zip(&mut known) {
        let Some(record) = by_code.get(&codes.code) else { continue };
        for (letter, on_bench) in codes.letters.iter().zip(ends) {
            on_bench.add_notes(record, *letter, notes);
        }
    }
    for purpose in [Purpose::Work, Purpose::Final] {
        add_kinds(sources, equipment, purpose, &mut known);
    }
    known
}

impl OnBench {
    fn add_notes(&mut self, record: &Record, letter: EndLetter, notes: &Notes) {
        let noted = of_end(record, letter, notes);
        let standing = noted.iter().filter(|noted| noted.superseded_by.is_none() && noted.note.said == Said::Text);
        self.remarks = standing.map(|noted| noted.note.remark.clone()).collect();
        let now = progress(noted.iter().copied());
        self.done = now.done;
        let found = now.findings.iter().filter_map(|noted| match noted.note.said {
            Said::Found(finding) => Some(Found {
                finding,
                value: noted.note.value.clone(),
                remark: noted.note.remark.clone(),
                note: noted.number,
            }),
            _ => None,
        });
        self.found = found.collect();
    }
}

/// The kinds of the tags that ends get.
fn add_kinds(sources: &Sources<'_>, equipment: &Equipment, purpose: Purpose, on_bench: &mut [Vec<OnBench>]) {
    let kind_of = |selected: Selected| {
        let at = (selected.circuit, selected.ends.clone());
        (at, equipment.kind_for(&sources.label(purpose, &Subject::Ends(selected))))
    };
    let selected = select(sources.circuits, purpose, Reach::Needed, Doubled::Together);
    let kinds: Vec<_> = selected.into_par_iter().map(kind_of).collect();
    for ((circuit, ends), kind) in kinds {
        for on_bench in &mut on_bench[circuit][ends] {
            match purpose {
                Purpose::Work => on_bench.work = kind,
                Purpose::Final => on_bench.final_tag = kind,
            }
        }
    }
}

/// The codes that sheets show. Where all circuits of the chosen connectors have theirs none is issued: others may yet prove to be
/// circuits that the register knows by another name.
pub(super) fn issue_for(
    register: &mut Register,
    reading: &Reading,
    wish: &SheetsWish,
    now: Timestamp,
) -> Result<Issued, RunFailure> {
    if !wish.connectors.is_empty() && wish.sorts.iter().all(|sort| sort.is_of_connector()) {
        let ahead = register.preview(&reading.circuits)?;
        let records = register.records()?;
        let known: HashSet<(TagCode, EndLetter)> =
            records.iter().flat_map(|record| record.ends.iter().map(|end| (record.code, end.letter))).collect();
        // A wire that moves into a connector stands in its list.
        let leads =
            |end: &End| matches!(&end.action, Action::Move(Some(to)) if wish.connectors.contains(&to.connector));
        let is_shown = |circuit: &Circuit| {
            circuit.ends().iter().any(|end| wish.connectors.contains(&end.place.connector) || leads(end))
        };
        let mut shown = reading.circuits.all().iter().zip(&ahead.circuits).filter(|(circuit, _)| is_shown(circuit));
        if shown.all(|(_, codes)| codes.letters.iter().all(|letter| known.contains(&(codes.code, *letter)))) {
            return Ok(ahead);
        }
    }
    Ok(register.issue(&reading.circuits, now)?)
}
