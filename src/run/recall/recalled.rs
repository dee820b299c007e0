//! All that can be recalled of a job, read from its register. Between two readings a note is, as a rule, all that is new: what
//! still holds of the last one is kept.

use std::collections::{HashMap, HashSet};
use std::sync::Arc;

use super::super::failure::RunFailure;
use super::super::reading::Reading;
use super::super::stale::{OnWires, Said, Stale};
use super::{History, Recall, TagTexts};
use crate::base::{Fingerprint, Step, TagCode};
use crate::codes::{self, Issued, LikelyMove, LikelyRename, LookedAhead, Noted, Notes, Register, Run};

/// All that can be recalled of a job, with the codes and records that it was made from.
pub(in crate::run) struct Recalled {
    pub(in crate::run) recall: Recall,
    pub(in crate::run) coded: Coded,
    /// What tags say, by the journal.
    pub(in crate::run) journal: Arc<Journal>,
}

/// What was read before of the same lists. As a rule a note is all that is new since then, and most of it still holds.
pub(in crate::run) struct Before<'a> {
    pub(in crate::run) coded: Coded,
    pub(in crate::run) recall: &'a Recall,
    pub(in crate::run) journal: &'a Arc<Journal>,
}

/// What the register says of the circuits of lists and of their codes.
#[derive(Clone, Debug)]
pub(in crate::run) struct Coded {
    /// As long as it is the same, so is everything here.
    pub(in crate::run) mark: Fingerprint,
    pub(in crate::run) issued: Arc<Issued>,
    pub(in crate::run) records: Arc<Vec<codes::Record>>,
    /// The place of each printed code among the records.
    pub(in crate::run) numbers: Arc<HashMap<TagCode, usize>>,
    /// Every code ever issued.
    pub(in crate::run) codes: Arc<HashSet<TagCode>>,
    /// Circuits that the register likely knows by other names, and ends that it likely knows in other places.
    pub(in crate::run) likely: Arc<(Vec<LikelyRename>, Vec<LikelyMove>)>,
}

impl Coded {
    /// As it is now; what was said before of the same lists is kept where it still holds.
    fn read(reading: &Reading, register: &Register, before: Option<Self>) -> Result<Self, RunFailure> {
        let mark = register.codes_mark()?;
        if let Some(same) = before.filter(|before| before.mark == mark) {
            return Ok(same);
        }
        let LookedAhead { issued, records, renames, moves } = register.look_ahead(&reading.circuits)?;
        let codes = register.codes()?.into_iter().collect();
        let numbers = records.iter().enumerate().map(|(number, record)| (record.code, number)).collect();
        Ok(Self {
            mark,
            issued: Arc::new(issued),
            records: Arc::new(records),
            numbers: Arc::new(numbers),
            codes: Arc::new(codes),
            likely: Arc::new((renames, moves)),
        })
    }
}

/// The tags of the journal beside the lists, and by what it is known whether that is still so.
#[derive(Debug)]
pub(in crate::run) struct Journal {
    runs: Vec<Run>,
    last: (i64, i64),
    /// What notes say of tags that were put on and taken off.
    taken_off: Vec<Noted>,
    history: History,
    stale: Stale,
}

impl Recalled {
    /// From the lists and an open register, with what was read before of the same lists.
    ///
    /// # Errors
    /// [`RunFailure`] when the register cannot be read.
    pub(in crate::run) fn read(
        reading: &Reading,
        register: &Register,
        before: Option<Before<'_>>,
    ) -> Result<Self, RunFailure> {
        let coded = Coded::read(reading, register, before.as_ref().map(|before| before.coded.clone()))?;
        let (issued, records) = (&*coded.issued, &coded.records[..]);
        let before = before.filter(|Before { coded, .. }| *coded.issued == *issued && coded.records[..] == *records);
        let notes = register.notes()?;
        let (runs, last, taken_off) = (register.runs()?, register.last_printed()?, taken_off(&notes));
        let is_same =
            |journal: &Journal| (&journal.runs, journal.last) == (&runs, last) && journal.taken_off == taken_off;
        let (journal, recall) = match before {
            Some(before) if is_same(before.journal) => (Arc::clone(before.journal), before.recall.plain()),
            before => {
                let mut printed = Vec::new();
                let mut history = History::default();
                let on_wires = OnWires::read(register, records, |run, said| {
                    if let Said::Of(tag) = &said {
                        history.print(run, tag);
                    }
                    printed.extend(said.payload().map(str::to_owned));
                })?;
                let stale = on_wires.stale(reading, issued, records);
                let texts = TagTexts::new(&reading.circuits, issued, records, reading.equipment.payload(), printed);
                let recall = match before {
                    Some(before) => Recall { texts: Arc::new(texts), ..before.recall.plain() },
                    None => Recall::new(&reading.circuits, issued, records, texts),
                };
                (Arc::new(Journal { runs, last, taken_off, history, stale }), recall)
            }
        };
        let blanks = register.blanks()?;
        let history = journal.history.clone().noted(notes, register.renamings()?).with_runs(journal.runs.clone());
        let history = history.assigned(&blanks);
        let mut recall = recall.with_blanks(blanks).with_history(history);
        recall.add_stale(&journal.stale);
        Ok(Self { recall, coded, journal })
    }
}

/// What notes say of tags that were put on and taken off; nothing where none was taken off.
fn taken_off(notes: &Notes) -> Vec<Noted> {
    let is_off = |noted: &Noted| noted.note.said == codes::notes::Said::Done(Step::Untagged);
    if !notes.all().iter().any(is_off) {
        return Vec::new();
    }
    let is_of_tags = |noted: &&Noted| match noted.note.said {
        codes::notes::Said::Done(step) | codes::notes::Said::Undone(step) => {
            matches!(step, Step::Tagged | Step::Untagged)
        }
        _ => false,
    };
    notes.all().iter().filter(is_of_tags).cloned().collect()
}
