//! Recall: a code, a place, a colour, words or a scan come in; what is known of the wire goes out.
//!
//! - `answer`: what answers are
//! - `blank`: what is told of a code that belongs to nothing yet
//! - `building`: from lists, register, notes and stale tags to what can be recalled
//! - `by_tag`, `by_words`: what is asked
//! - `doubt`: whether a scanned tag is of this job
//! - `entry`: what a circuit is found by, and how well it fits a question
//! - `history`: what happened to it
//! - `index`: the few circuits that may answer, of very many
//! - `recalled`: all of it from an open register, with what still holds of the last time
//! - `record`: what is told of it
//!
//! Once lists and register are read, everything here is a function of them.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};
use std::sync::{Arc, OnceLock};

use super::failure::RunFailure;
use super::reading::Reading;
use super::register;
use crate::base::TagCode;
use crate::codes::{self, Assignment, Blank, Noted, Notes};

mod answer;
pub mod blank;
mod building;
mod by_tag;
mod by_words;
mod doubt;
mod entry;
mod history;
mod index;
mod recalled;
mod record;
#[cfg(test)]
mod tests;

pub use answer::{By, Found, Near, Scanned, Tag, UnknownWord};
pub use by_words::bounded;
pub use doubt::TagTexts;
use entry::Entry;
pub(super) use entry::compared;
pub use history::{Event, History, Recent, moment};
use index::Index;
pub(super) use recalled::{Before, Coded, Journal, Recalled};
pub use record::{EndRecord, Record, TEST_IT};

/// Everything a job can be asked about: the circuits of its lists and all that its register knows.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn recall(reading: &Reading) -> Result<Recall, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    Ok(Recalled::read(reading, &register, None)?.recall)
}

/// All that can be recalled of a job.
#[derive(Debug)]
pub struct Recall {
    /// What lists and register say of circuits.
    plain: Arc<Plain>,
    /// The same with notes, blanks and stale tags: where there are none, the very same.
    entries: Vec<Arc<Entry>>,
    /// Codes that were issued ahead of any circuit, whether they name one by now or not.
    blanks: BTreeMap<TagCode, Blank>,
    texts: Arc<TagTexts>,
    history: History,
    stale_tags: usize,
    /// The entries with such tags.
    stale: BTreeSet<usize>,
    /// Of the entries that are not the plain ones. Made when it is asked for first.
    index: OnceLock<Index>,
}

/// Circuits as lists and register have them, whatever is noted of them.
#[derive(Debug)]
struct Plain {
    entries: Vec<Arc<Entry>>,
    /// Every code, printed or not, with its entry.
    codes: HashMap<TagCode, usize>,
    /// For each circuit of the lists its entry, and which of that entry's ends is its first.
    seats: Vec<(usize, usize)>,
    /// Made when it is asked for first: whoever only looks up a code needs none.
    index: OnceLock<Index>,
}

impl Recall {
    /// The record of this number, without what happened to it: nothing is copied.
    pub fn record(&self, number: usize) -> &Record {
        &self.entries[number].record
    }

    /// Every record with the words that each of its ends is found by, in lower case: for whoever searches elsewhere.
    pub fn all_words(&self) -> impl Iterator<Item = (&Record, Vec<String>)> {
        self.entries.iter().map(|entry| (&entry.record, entry.words()))
    }

    /// Every record, without what happened to it.
    pub fn records(&self) -> impl Iterator<Item = &Record> {
        self.entries.iter().map(|entry| &entry.record)
    }

    /// The record that an end of the lists belongs to, by its number, and which of its ends that is.
    pub fn seat(&self, (circuit, end): (usize, usize)) -> (usize, usize) {
        let (entry, first) = self.plain.seats[circuit];
        (entry, first + end)
    }

    /// The end of the lists, by circuit and end, that an end of a record is: the inverse of [`Recall::seat`].
    pub fn listed_end(&self, record: &Record, end: usize) -> Option<(usize, usize)> {
        if !record.ends.get(end)?.listed {
            return None;
        }
        let code = record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok());
        let number = match code {
            Some(code) => *self.plain.codes.get(&code)?,
            // As long as no code was issued, nothing but what the lists call it tells it.
            None => self.entries.iter().position(|entry| {
                let own = &entry.record;
                own.code.is_none() && own.designations == record.designations
            })?,
        };
        let seats = self.plain.seats.iter().enumerate().filter(|(_, (entry, first))| *entry == number && *first <= end);
        let (circuit, (_, first)) = seats.max_by_key(|(_, (_, first))| *first)?;
        Some((circuit, end - first))
    }

    /// All notes of the bench.
    pub fn notes(&self) -> &Notes {
        self.history.notes()
    }

    /// The last things that happened to the job, the newest first, at most so many.
    pub fn recent(&self, most: usize) -> Vec<Recent> {
        self.history.recent(most)
    }

    /// A blank that is not assigned yet.
    pub fn blank(&self, code: TagCode) -> Option<&Blank> {
        self.blanks.get(&code).filter(|blank| blank.assigned.is_none())
    }

    /// The blanks that are not assigned yet, in the order of their codes.
    pub fn unassigned(&self) -> impl Iterator<Item = &Blank> {
        self.blanks.values().filter(|blank| blank.assigned.is_none())
    }

    /// What a blank proved to be, as far as it was told.
    pub fn assigned(&self, code: TagCode) -> Option<&Assignment> {
        self.blanks.get(&code)?.assigned.as_ref()
    }

    /// The blanks whose tags hang at this end of a record.
    pub fn blanks_at<'a>(&'a self, record: &'a Record, end: &'a EndRecord) -> impl Iterator<Item = TagCode> + 'a {
        let hangs_there = move |blank: &&Blank| {
            let Some((code, letter)) = blank.assigned.as_ref().and_then(|assigned| assigned.end) else { return false };
            let is_printed = record.code.as_deref() == Some(code.as_str()) && end.letter == Some(letter.to_string());
            is_printed || end.also.contains(&format!("{code} {letter}"))
        };
        self.blanks.values().filter(hangs_there).map(|blank| blank.code)
    }

    /// The colour of a blank's wire, as it was last noted.
    pub fn noted_colour(&self, code: TagCode) -> Option<&str> {
        self.blanks.get(&code)?.noted_colour.as_deref()
    }

    /// What happened to a code that belongs to nothing yet.
    pub fn history_of_blank(&self, blank: &Blank) -> Vec<Event> {
        self.history.of_codes(&[blank.code], Some(blank.issued))
    }

    /// How many tags on wires no longer tell the truth.
    pub const fn stale_tags(&self) -> usize {
        self.stale_tags
    }

    /// The codes of the circuits that have tags which no longer tell the truth.
    pub fn stale_codes(&self) -> HashSet<TagCode> {
        self.stale.iter().flat_map(|at| self.entries[*at].codes()).collect()
    }

    /// The entry of this number as an answer, with what happened to it.
    fn found(&self, by: By, at: usize, ends: Vec<usize>) -> Found {
        let mut record = self.entries[at].record.clone();
        record.history = self.history.of(&record);
        let (notes, codes) = (self.history.notes(), record.codes());
        if codes.iter().any(|code| notes.are_of(*code)) {
            for end in 0..record.ends.len() {
                let found = codes::progress(notes.of_end(&codes, &record.marks(end))).findings;
                record.ends[end].findings = found.into_iter().map(found_in_words).collect();
            }
        }
        Found { by, ends, doubt: None, record }
    }
}

fn found_in_words(noted: &Noted) -> String {
    format!("{} (note {})", noted.note.in_words(), noted.number)
}
