//! Recall: a code, a place, a colour, words or a scan come in; what is known of the wire goes out.
//!
//! - `entry`: what a circuit is found by, and how well it fits a question
//! - `record`: what is told of it
//!
//! Once lists and register are read, everything here is a function of them.

use std::collections::HashMap;

use serde::Serialize;

use super::failure::RunFailure;
use super::reading::{Reading, register_path};
use crate::base::{EndLetter, TagCode};
use crate::circuits::{Circuit, Circuits};
use crate::codes::{self, Issued, Register, link, nearest};

mod entry;
mod record;
#[cfg(test)]
mod tests;

use entry::{Entry, Question};
pub use record::{EndRecord, Record};

/// Everything a job can be asked about: the circuits of its lists and all that its register knows.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn recall(reading: &Reading) -> Result<Recall, RunFailure> {
    let register = Register::open_to_read(&register_path(reading.job.folder()))?;
    let issued = register.preview(&reading.circuits)?;
    Ok(Recall::new(&reading.circuits, &issued, &register.records()?))
}

/// All that can be recalled of a job.
#[derive(Debug)]
pub struct Recall {
    entries: Vec<Entry>,
    /// Every code, printed or not, with its entry.
    codes: HashMap<TagCode, usize>,
}

/// By what something was found; the best comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum By {
    /// Its code.
    Code,
    /// The place of an end.
    Place,
    /// Its designation, present or former.
    Designation,
    /// Colour, words, or several of these.
    Words,
}

/// A record that answers the question.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Found {
    /// By what it was found.
    pub by: By,
    /// The ends that were meant, as indices of [`Record::ends`].
    pub ends: Vec<usize>,
    /// What is known.
    pub record: Record,
}

/// What a scan turned out to be.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase", tag = "scan")]
pub enum Scanned {
    /// A tag of this job.
    Known(Box<Found>),
    /// A fitting code that was never issued here.
    Unknown {
        /// The code.
        code: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
    /// No code, or one whose check character does not fit.
    Nothing {
        /// What was read.
        text: String,
        /// Codes of this job that are near.
        nearest: Vec<Near>,
    },
}

impl Scanned {
    /// Codes to offer instead; none where the tag is known.
    pub fn nearest(&self) -> &[Near] {
        match self {
            Self::Known(_) => &[],
            Self::Unknown { nearest, .. } | Self::Nothing { nearest, .. } => nearest,
        }
    }
}

/// A code that may have been meant.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Near {
    /// The code.
    pub code: String,
    /// What it stands for, in a few words.
    pub what: String,
}

/// How many near codes are offered.
const OFFERED: usize = 3;

impl Recall {
    /// From the circuits of the lists, their codes (looked ahead at is enough: what the register does not hold counts as not
    /// issued) and the records of the register.
    pub fn new(circuits: &Circuits, issued: &Issued, records: &[codes::Record]) -> Self {
        let known: HashMap<TagCode, usize> = records.iter().enumerate().map(|(at, record)| (record.code, at)).collect();
        // Circuits that were joined but are still listed apart are one record.
        let mut groups: Vec<(Option<usize>, Vec<usize>)> = Vec::new();
        let mut group_of: HashMap<usize, usize> = HashMap::new();
        for (index, issued) in (0..circuits.all().len()).zip(&issued.circuits) {
            let record = known.get(&issued.code).copied();
            match record.and_then(|record| group_of.get(&record).copied()) {
                Some(group) => groups[group].1.push(index),
                None => {
                    group_of.extend(record.map(|record| (record, groups.len())));
                    groups.push((record, vec![index]));
                }
            }
        }
        let listed = groups.iter().map(|(record, group)| {
            let each: Vec<(&Circuit, &[EndLetter])> =
                group.iter().map(|&at| (&circuits.all()[at], &issued.circuits[at].letters[..])).collect();
            Entry::listed(&each, record.map(|at| &records[at]), circuits)
        });
        let gone = records.iter().enumerate().filter(|(at, _)| !group_of.contains_key(at));
        let entries: Vec<Entry> = listed.chain(gone.map(|(_, record)| Entry::gone(record))).collect();
        let codes = entries.iter().enumerate().flat_map(|(at, entry)| entry.codes().map(move |code| (code, at)));
        Self { codes: codes.collect(), entries }
    }

    /// Everything that answers these words, all of which must fit: a code typed carelessly, a place (`J1/14`, `j1 14`), a
    /// colour (letters or English names), a designation, or words of function, branch and note. The best comes first. Where
    /// nothing does and a code was meant, [`Recall::nearest`] offers others.
    pub fn find(&self, words: &[String]) -> Vec<Found> {
        let typed = words.join(" ");
        let Some(question) = Question::from_typed(&typed) else { return Vec::new() };
        let by_code = self.by_typed_code(&typed);
        let mut found: Vec<(By, u32, usize, Vec<usize>)> = Vec::new();
        found.extend(by_code.map(|(at, ends)| (By::Code, 0, at, ends)));
        for (at, entry) in self.entries.iter().enumerate() {
            if found.first().is_some_and(|first| first.2 == at) {
                continue;
            }
            found.extend(entry.answer(&question).map(|(by, score, ends)| (by, score, at, ends)));
        }
        found.sort();
        // Who names a code, a place or a designation means that, and not words like it.
        if found.first().is_some_and(|(by, ..)| *by < By::Words) {
            found.retain(|(by, ..)| *by < By::Words);
        }
        found.into_iter().map(|(by, _, at, ends)| self.found(by, at, ends)).collect()
    }

    /// The record that a scanned text belongs to, or what may have been meant.
    pub fn by_scanned(&self, text: &str) -> Scanned {
        match link::from_scanned(text) {
            Some((code, letter)) => match self.by_code(code, letter) {
                Some(found) => Scanned::Known(Box::new(found)),
                None => Scanned::Unknown { code: code.to_string(), nearest: self.nearest(code.as_str()) },
            },
            None => {
                let typed = text.trim().trim_end_matches('/');
                let parts: Vec<&str> = typed.rsplit('/').take(2).collect();
                let nearest = match typed.split_once("://") {
                    None => self.nearest(typed.split_whitespace().next().unwrap_or_default()),
                    Some(_) => parts
                        .iter()
                        .rev()
                        .map(|part| self.nearest(part))
                        .find(|near| !near.is_empty())
                        .unwrap_or_default(),
                };
                Scanned::Nothing { text: text.to_owned(), nearest }
            }
        }
    }

    /// The record of a code; with a letter, its end is pointed at.
    pub fn by_code(&self, code: TagCode, letter: Option<EndLetter>) -> Option<Found> {
        let at = *self.codes.get(&code)?;
        Some(self.found(By::Code, at, self.entries[at].pointed_at(code, letter)))
    }

    /// The codes of this job that are nearest to a mistyped text.
    pub fn nearest(&self, typed: &str) -> Vec<Near> {
        let near = nearest::nearest(typed, self.codes.keys().copied(), OFFERED);
        let told = |code: TagCode| {
            let record = &self.entries[*self.codes.get(&code)?].record;
            let what = record.function.clone().or_else(|| record.designations.first().cloned()).unwrap_or_default();
            Some(Near { code: code.to_string(), what })
        };
        near.into_iter().filter_map(told).collect()
    }

    /// Codes put together that name one circuit, in the order in which each group is first named; a code that was never issued
    /// here stands alone.
    pub fn one_circuit(&self, codes: &[TagCode]) -> Vec<Vec<String>> {
        let mut groups: Vec<(Option<usize>, Vec<String>)> = Vec::new();
        for code in codes {
            let entry = self.codes.get(code).copied();
            match groups.iter_mut().find(|(known, _)| entry.is_some() && *known == entry) {
                Some((_, group)) => group.push(code.to_string()),
                None => groups.push((entry, vec![code.to_string()])),
            }
        }
        groups.into_iter().map(|(_, group)| group).collect()
    }

    /// The entry that a carelessly typed code names, when it was issued here.
    fn by_typed_code(&self, typed: &str) -> Option<(usize, Vec<usize>)> {
        let whole = TagCode::from_typed(typed).ok().map(|code| (code, None));
        let with_letter = TagCode::from_typed_with_letter(typed).ok();
        let scanned = link::from_scanned(typed).filter(|_| typed.contains("://") || typed.contains('+'));
        [whole, with_letter, scanned].into_iter().flatten().find_map(|(code, letter)| {
            let at = *self.codes.get(&code)?;
            Some((at, self.entries[at].pointed_at(code, letter)))
        })
    }

    fn found(&self, by: By, at: usize, ends: Vec<usize>) -> Found {
        Found { by, ends, record: self.entries[at].record.clone() }
    }
}

impl Found {
    /// The answer in words, the ends that were meant pointed at.
    pub fn in_words(&self) -> String {
        let pointed_at =
            if self.ends.len() == self.record.ends.len() && self.ends.len() > 1 { &[] } else { &self.ends[..] };
        self.record.in_words(pointed_at)
    }
}
