//! What hangs on the wires: the journal comes in, read once; the last printing of each tag goes out.
//!
//! A tag is the same tag whatever code or letter of its record it was printed under. What a run printed that was cut off may hang
//! there or not: for the question whether a tag must be printed it was not, for the question whether a tag tells the truth it
//! was. What a failed run made never existed, nor what never went through a printer.

use std::collections::{BTreeMap, HashMap};

use jiff::Timestamp;
use serde::Serialize;

use super::compare::is_position;
use crate::base::{EndLetter, Purpose, Step, TagCode, TagKind};
use crate::codes::{
    Noted, Notes, PrintedConnectorTag, PrintedTag, Record, Register, RegisterFailure, Run, RunNumber, Spot, notes,
    progress,
};
use crate::labels::{Label, TagName};

/// Whether a printed tag is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Standing {
    /// Its run was done.
    Printed,
    /// Its run was cut off, or is under way.
    Uncertain,
}

/// One printing of a tag.
#[derive(Clone, Debug)]
pub(super) struct Printing<T> {
    pub(super) run: RunNumber,
    pub(super) planned: Timestamp,
    pub(super) standing: Standing,
    pub(super) tag: T,
}

/// The last printings of one tag: that of the last run that was done, and that of a later one that was cut off.
#[derive(Clone, Debug)]
pub(super) struct Last<T> {
    pub(super) done: Option<Printing<T>>,
    pub(super) cut_off: Option<Printing<T>>,
}

/// A tag by what it is for, under the code and letters that are printed now.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) struct Key {
    pub(super) code: TagCode,
    pub(super) letters: Vec<EndLetter>,
    is_mark: bool,
    pub(super) purpose: Purpose,
    /// Where on its wire a mark sits, when it says so: marks of one wire have one name.
    position: Option<String>,
}

impl Key {
    /// The tag of a label.
    pub(super) fn of(label: &Label) -> Option<Self> {
        let code = label.name.code()?;
        let is_mark = matches!(label.name, TagName::Between { .. });
        let position = label.at.as_ref().filter(|_| is_mark).map(ToString::to_string);
        Some(Self { code, letters: label.name.letters().to_vec(), is_mark, purpose: label.purpose, position })
    }

    /// The same mark, where it does not say where it sits.
    pub(super) fn anywhere(self) -> Self {
        Self { position: None, ..self }
    }

    /// Whether it names a place between two ends.
    pub(super) const fn is_mark(&self) -> bool {
        self.is_mark
    }
}

/// A journalled tag, while the journal is read.
#[derive(Clone, Copy, Debug)]
pub enum Said<'a> {
    /// Of an end, a mark along a wire, or a blank.
    Of(&'a PrintedTag),
    /// Of a connector.
    OfConnector(&'a PrintedConnectorTag),
}

impl<'a> Said<'a> {
    /// The text of its symbol.
    pub fn payload(self) -> Option<&'a str> {
        match self {
            Self::Of(tag) => tag.payload.as_deref(),
            Self::OfConnector(tag) => tag.payload.as_deref(),
        }
    }
}

/// The last printing of every tag.
#[derive(Debug, Default)]
pub(super) struct LastPrinted {
    pub(super) tags: HashMap<Key, Last<PrintedTag>>,
    /// By the names of the connectors.
    pub(super) connectors: BTreeMap<String, Last<PrintedConnectorTag>>,
}

impl LastPrinted {
    /// Reads the journal of a register with these records; `also` is shown every tag that was ever journalled.
    pub(super) fn read(
        register: &Register,
        records: &[Record],
        mut also: impl FnMut(&Run, Said<'_>),
    ) -> Result<Self, RegisterFailure> {
        let marks = |record: &Record| {
            let code = record.code;
            let ends = record.ends.iter();
            ends.flat_map(move |end| end.also.iter().map(move |other| (*other, (code, end.letter)))).collect::<Vec<_>>()
        };
        let renamed: HashMap<_, _> = records.iter().flat_map(marks).collect();
        let mut last = Self::default();
        register.each_printed(|run, tag| {
            also(run, Said::Of(&tag));
            if let (Some(standing), Some(key)) = (standing(run), key(&tag, &renamed)) {
                let printing = Printing { run: run.number, planned: run.planned, standing, tag };
                last.tags.entry(key).or_insert_with(Last::none).add(printing);
            }
        })?;
        register.each_printed_connector(|run, tag| {
            also(run, Said::OfConnector(&tag));
            if let Some(standing) = standing(run) {
                let entry = last.connectors.entry(tag.connector.clone()).or_insert_with(Last::none);
                entry.add(Printing { run: run.number, planned: run.planned, standing, tag });
            }
        })?;
        last.without_taken_off(records, &register.notes()?);
        Ok(last)
    }

    /// The same without tags that were taken off, as notes say: the work tag of an end, or, where it has none, its final tag. What
    /// was printed after the note is another one.
    fn without_taken_off(&mut self, records: &[Record], notes: &Notes) {
        let is_off = |noted: &&Noted| noted.note.said == notes::Said::Done(Step::Untagged);
        if !notes.all().iter().any(|noted| is_off(&noted)) {
            return;
        }
        for record in records {
            let codes: Vec<TagCode> = std::iter::once(record.code).chain(record.also.iter().copied()).collect();
            for end in &record.ends {
                let marks: Vec<_> =
                    std::iter::once((record.code, end.letter)).chain(end.also.iter().copied()).collect();
                let noted = notes.of_end(&codes, &marks);
                if !progress(noted.iter().copied()).done.contains(&Step::Untagged) {
                    continue;
                }
                let Some(off) = noted.into_iter().filter(|noted| noted.superseded_by.is_none()).rfind(is_off) else {
                    continue;
                };
                let is_its = |key: &&Key| key.code == record.code && key.letters.contains(&end.letter) && !key.is_mark;
                let its: Vec<Key> = self.tags.keys().filter(is_its).cloned().collect();
                let has_work_tag = its.iter().any(|key| key.purpose == Purpose::Work);
                for key in its.iter().filter(|key| (key.purpose == Purpose::Work) == has_work_tag) {
                    let Some(last) = self.tags.get_mut(key) else { continue };
                    last.done.take_if(|printing| printing.planned <= off.at);
                    last.cut_off.take_if(|printing| printing.planned <= off.at);
                    if last.each().next().is_none() {
                        self.tags.remove(key);
                    }
                }
            }
        }
    }
}

impl<T> Last<T> {
    const fn none() -> Self {
        Self { done: None, cut_off: None }
    }

    fn add(&mut self, printing: Printing<T>) {
        let is_older = |known: &Option<Printing<T>>| known.as_ref().is_none_or(|known| known.run <= printing.run);
        match printing.standing {
            Standing::Printed if is_older(&self.done) => {
                self.cut_off.take_if(|cut_off| cut_off.run < printing.run);
                self.done = Some(printing);
            }
            Standing::Uncertain if is_older(&self.done) && is_older(&self.cut_off) => self.cut_off = Some(printing),
            _ => {}
        }
    }

    /// All that may hang on the wire, what surely does first.
    pub(super) fn each(&self) -> impl Iterator<Item = &Printing<T>> {
        self.done.iter().chain(&self.cut_off)
    }
}

fn standing(run: &Run) -> Option<Standing> {
    run.may_be_there().then_some(if run.end.is_some() { Standing::Printed } else { Standing::Uncertain })
}

/// Which tag it is; blanks, which belong to no end yet, are none.
fn key(tag: &PrintedTag, renamed: &HashMap<(TagCode, EndLetter), (TagCode, EndLetter)>) -> Option<Key> {
    if tag.place.is_empty() || tag.letters.is_empty() {
        return None;
    }
    let purpose = TagKind::WORDS.iter().find(|(word, _)| *word == tag.kind)?.1.purpose();
    let ends = tag.letters.iter().map(|&letter| (tag.code, letter));
    let ends: Vec<_> = ends.map(|end| renamed.get(&end).copied().unwrap_or(end)).collect();
    let is_mark = tag.spot == Spot::Between;
    let position = tag.words.iter().find(|line| is_mark && is_position(line)).cloned();
    let mut letters: Vec<EndLetter> = ends.iter().map(|(_, letter)| *letter).collect();
    if !is_mark {
        letters.sort();
    }
    Some(Key { code: ends[0].0, letters, is_mark, purpose, position })
}
