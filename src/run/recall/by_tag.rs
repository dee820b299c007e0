//! Asking by tags: codes with their letters, and the texts of symbols that were scanned.

use super::blank;
use super::entry;
use super::{By, Found, Near, Recall, Scanned, Tag};
use crate::base::{ConnectorId, EndLetter, TagCode};
use crate::codes::link::{self, Meaning};
use crate::codes::{Blank, nearest};

/// How many near codes are offered.
const OFFERED: usize = 3;

impl Recall {
    /// The record that a scanned text belongs to, or what may have been meant.
    pub fn by_scanned(&self, text: &str) -> Scanned {
        match link::from_scanned(text) {
            Some(Meaning::Circuit(code, letter)) => match self.by_code(code, letter) {
                Some(found) => {
                    let doubt = found.doubt.clone().map(|doubt| format!("{doubt}: it may be another job's tag"));
                    let doubt = self.texts.doubt(text, code, letter).or(doubt);
                    Scanned::Known(Box::new(Found { doubt, ..found }))
                }
                None => match self.blank(code) {
                    Some(blank) => Scanned::Blank {
                        code: code.to_string(),
                        told: blank::what(blank),
                        doubt: self.texts.doubt_of_blank(text, code, letter),
                    },
                    None => self.by_connector_alone(text).unwrap_or_else(|| Scanned::Unknown {
                        code: code.to_string(),
                        nearest: self.nearest(code.as_str()),
                    }),
                },
            },
            Some(Meaning::Connector(connector)) => self.by_connector(&connector, text),
            None => self.by_connector_alone(text).unwrap_or_else(|| self.nothing(text)),
        }
    }

    /// The record of a code; with a letter, its end is pointed at, or the answer is in doubt because there is no such end.
    pub fn by_code(&self, code: TagCode, letter: Option<EndLetter>) -> Option<Found> {
        let at = *self.plain.codes.get(&code)?;
        let ends = self.entries[at].pointed_at(code, letter);
        let doubt = letter.filter(|_| ends.is_empty()).map(|letter| self.entries[at].no_such_end(code, letter));
        // The tag of a blank bears no letter, and hangs at one end all the same.
        let hangs_at = self.blanks.get(&code).and_then(|blank| blank.assigned.as_ref()?.end);
        let ends = match (letter, hangs_at) {
            (None, Some((code, letter))) => self.entries[at].pointed_at(code, Some(letter)),
            _ => ends,
        };
        Some(Found { doubt, ..self.found(By::Code, at, ends) })
    }

    /// The codes of this job that are nearest to a mistyped text.
    pub fn nearest(&self, typed: &str) -> Vec<Near> {
        let blanks = self.blanks.values().filter(|blank| blank.assigned.is_none()).map(|blank| blank.code);
        let near = nearest::nearest(typed, self.plain.codes.keys().copied().chain(blanks), OFFERED);
        let told = |code: TagCode| {
            if self.blank(code).is_some() {
                return Some(Near { code: code.to_string(), what: "a blank, not assigned yet".to_owned() });
            }
            let record = &self.entries[*self.plain.codes.get(&code)?].record;
            let what = record.function.clone().or_else(|| record.designations.first().cloned()).unwrap_or_default();
            Some(Near { code: code.to_string(), what })
        };
        near.into_iter().filter_map(told).collect()
    }

    /// The connector of this name, in whatever case, as the lists write it.
    pub fn connector_named(&self, typed: &str) -> Option<&ConnectorId> {
        self.texts.listed_connector(typed.trim())
    }

    /// Tags put together that name one circuit, as far as is known, in the order in which each circuit is first named; those
    /// of codes that were never issued here are left out.
    pub fn one_circuit(&self, tags: &[Tag]) -> Vec<Vec<Tag>> {
        let mut circuits: Vec<(usize, Vec<Tag>)> = Vec::new();
        for &tag in tags {
            let Some(&at) = self.plain.codes.get(&tag.0) else { continue };
            match circuits.iter_mut().find(|(circuit, _)| *circuit == at) {
                Some((_, tags)) => tags.push(tag),
                None => circuits.push((at, vec![tag])),
            }
        }
        circuits.into_iter().map(|(_, tags)| tags).collect()
    }

    /// The tags that are named, each once, where there are two or more and nothing but known codes and letters:
    /// `8gmk a, 3v86`. Blanks that are not assigned yet are no circuits.
    pub fn tags_named(&self, words: &[String]) -> Vec<Tag> {
        let (mut tags, mut blanks): (Vec<Tag>, usize) = (Vec::new(), 0);
        for word in words.iter().flat_map(|words| entry::words(words)) {
            match (TagCode::from_typed_with_letter(word), EndLetter::from_typed(word), tags.last_mut()) {
                (Ok(tag), ..) if self.plain.codes.contains_key(&tag.0) => tags.push(tag),
                (Ok((code, None)), ..) if self.blank(code).is_some() => blanks += 1,
                (_, Some(letter), Some((_, last @ None))) => *last = Some(letter),
                _ => return Vec::new(),
            }
        }
        let mut distinct: Vec<Tag> = Vec::new();
        for tag in tags.iter().filter(|_| tags.len() + blanks > 1) {
            if !distinct.contains(tag) {
                distinct.push(*tag);
            }
        }
        distinct
    }

    /// The record of tags of one circuit, with the ends of those pointed at that have a letter.
    pub fn record_of(&self, tags: &[Tag]) -> Option<Found> {
        let each: Vec<Found> = tags.iter().filter_map(|&(code, letter)| self.by_code(code, letter)).collect();
        let lettered = tags.iter().zip(&each).filter(|((_, letter), _)| letter.is_some());
        let mut ends: Vec<usize> = lettered.flat_map(|(_, found)| found.ends.iter().copied()).collect();
        ends.sort_unstable();
        ends.dedup();
        let doubt = each.iter().find_map(|found| found.doubt.clone());
        each.into_iter().next().map(|found| Found { ends, doubt, ..found })
    }

    /// The blanks that are named and not assigned yet, where nothing but tags is named.
    pub fn blanks_named(&self, words: &[String]) -> Vec<&Blank> {
        let typed = words.join(" ");
        if let Some(blank) = TagCode::from_typed(&typed).ok().and_then(|code| self.blank(code)) {
            return vec![blank];
        }
        if let Some(Meaning::Circuit(code, None)) = link::from_scanned(&typed).filter(|_| typed.contains("://")) {
            return self.blank(code).into_iter().collect();
        }
        let mut named = Vec::new();
        for word in words.iter().flat_map(|words| entry::words(words)) {
            match TagCode::from_typed_with_letter(word) {
                Ok((code, _)) if self.plain.codes.contains_key(&code) => {}
                Ok((code, None)) if self.blank(code).is_some() => named.extend(self.blank(code)),
                _ if EndLetter::from_typed(word).is_some() => {}
                _ => return Vec::new(),
            }
        }
        named
    }

    /// The answer to a text without a code, with the codes that may have been meant.
    fn nothing(&self, text: &str) -> Scanned {
        let typed = text.trim().trim_end_matches('/');
        let parts: Vec<&str> = typed.rsplit('/').take(2).collect();
        let nearest = match typed.split_once("://") {
            None => self.nearest(typed.split_whitespace().next().unwrap_or_default()),
            Some(_) => {
                parts.iter().rev().map(|part| self.nearest(part)).find(|near| !near.is_empty()).unwrap_or_default()
            }
        };
        Scanned::Nothing { text: text.to_owned(), nearest }
    }

    /// What is known of the connector that a symbol names.
    fn by_connector(&self, scanned: &ConnectorId, text: &str) -> Scanned {
        let found = self.at_connector(scanned);
        let listed = self.texts.listed_connector(scanned.as_str());
        let doubt = if found.is_empty() { None } else { self.texts.connector_doubt(text, scanned.as_str()) };
        Scanned::Connector { connector: listed.unwrap_or(scanned).to_string(), doubt, found }
    }

    /// The answer to a symbol that says nothing but the name of a connector.
    fn by_connector_alone(&self, text: &str) -> Option<Scanned> {
        let connector = self.texts.listed_connector(text.trim())?;
        Some(self.by_connector(connector, text))
    }
}
