//! What is named: codes, places and designations come in as typed; the ends and circuits that are meant go out.

use super::super::recall::{By, EndRecord, Found};
use super::{Bench, NotNoted, Subject};
use crate::base::{EndLetter, TagCode};
use crate::codes::link;

impl Bench<'_> {
    /// The codes and places that were typed, each once: `7kf4 a J1/14`.
    ///
    /// # Errors
    /// When one is not known.
    pub fn subjects(&self, typed: &[String]) -> Result<Vec<Subject>, NotNoted> {
        let parts: Vec<&str> = typed.iter().flat_map(|words| parts(words)).collect();
        let mut subjects: Vec<Subject> = Vec::new();
        let mut at = 0;
        while at < parts.len() {
            let pair = parts.get(at + 1).map(|next| format!("{} {next}", parts[at]));
            let found = pair.and_then(|pair| self.named(&pair, Pair::Yes).transpose()).map(|found| (found, 2));
            let (found, taken) = match found {
                Some(found) => found,
                None => match self.named(parts[at], Pair::No).transpose() {
                    Some(found) => (found, 1),
                    // `7kf4 a b`: another end of the same code.
                    None => match (subjects.last(), EndLetter::from_typed(parts[at])) {
                        (Some(Subject { code, letter: Some(_), .. }), Some(letter)) => {
                            (self.subject(*code, Some(letter)).map(|subject| vec![subject]), 1)
                        }
                        _ => return Err(NotNoted::Unknown(parts[at].to_owned())),
                    },
                },
            };
            for subject in found? {
                if !subjects.iter().any(|other| (other.code, other.letter) == (subject.code, subject.letter)) {
                    subjects.push(subject);
                }
            }
            at += taken;
        }
        Ok(subjects)
    }

    /// What one text names; `None` when nothing.
    fn named(&self, typed: &str, pair: Pair) -> Result<Option<Vec<Subject>>, NotNoted> {
        let places = self.at_place(typed)?;
        if !places.is_empty() {
            return Ok(Some(places));
        }
        let tags = tags(typed);
        // Two words that read as one code are a code and its letter, never a code typed with a space in it.
        let tags: Vec<_> = tags.into_iter().filter(|tag| pair == Pair::No || tag.1.is_some()).collect();
        if !tags.is_empty() && tags.iter().all(|tag| self.codes.contains(&tag.0)) {
            return tags
                .into_iter()
                .map(|(code, letter)| self.subject(code, letter))
                .collect::<Result<_, _>>()
                .map(Some);
        }
        if pair == Pair::Yes {
            return Ok(None);
        }
        let found = self.recall.find(&[typed.to_owned()]);
        let named: Vec<&Found> = found.iter().filter(|found| found.by == By::Designation).collect();
        let is_connector = |end: &EndRecord| {
            end.here.rsplit_once('/').is_some_and(|(connector, _)| connector.eq_ignore_ascii_case(typed))
        };
        match &named[..] {
            [] if found.iter().flat_map(|found| &found.record.ends).any(is_connector) => Err(NotNoted::CannotBe(
                format!("`{typed}` is a connector: name its cavities, as `{typed}/1 {typed}/2`"),
            )),
            [] => Ok(None),
            [one] => Ok(Some(vec![Subject::whole(&one.record).ok_or_else(|| no_code(typed))?])),
            _ => Err(NotNoted::CannotBe(format!("`{typed}` may be several circuits: name a code"))),
        }
    }

    /// The ends at a place: those whose place is written just so, else those that differ in case or separators.
    fn at_place(&self, typed: &str) -> Result<Vec<Subject>, NotNoted> {
        let found: Vec<Found> =
            self.recall.find(&[typed.to_owned()]).into_iter().filter(|found| found.by == By::Place).collect();
        let ends = || found.iter().flat_map(|found| found.ends.iter().map(|&end| (&found.record, end)));
        let is_exact = ends().any(|(record, end)| record.ends[end].here == typed);
        let is_listed = ends().any(|(record, end)| record.ends[end].listed);
        let meant = ends().filter(|(record, end)| {
            let end = &record.ends[*end];
            (!is_exact || end.here == typed) && (!is_listed || end.listed)
        });
        meant.map(|(record, end)| Subject::end(record, end).ok_or_else(|| no_code(typed))).collect()
    }

    /// A code of the register, perhaps with a letter.
    pub(super) fn subject(&self, code: TagCode, letter: Option<EndLetter>) -> Result<Subject, NotNoted> {
        match self.recall.by_code(code, letter) {
            Some(Found { doubt: Some(doubt), .. }) => Err(NotNoted::CannotBe(doubt)),
            Some(Found { record, ends, .. }) => {
                let end = ends.first().copied().filter(|_| ends.len() == 1);
                // The tag of a blank bears no letter, and hangs at one end all the same: the note is of that end.
                if let (None, Some(end)) = (letter, end.filter(|_| record.ends.len() > 1))
                    && let Some(subject) = Subject::end(&record, end)
                {
                    return Ok(subject);
                }
                Ok(Subject { code, letter, end, record: Some(record) })
            }
            // Issued ahead of any circuit.
            None if self.codes.contains(&code) => Ok(Subject { code, letter, end: None, record: None }),
            None => Err(NotNoted::Unknown(code.to_string())),
        }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Pair {
    Yes,
    No,
}

/// `J1/14, J1/15` as several words.
fn parts(words: &str) -> impl Iterator<Item = &str> {
    words.split(|c: char| c.is_whitespace() || c == ',' || c == ';').filter(|word| !word.is_empty())
}

/// The tags that a text may name: `7KF4`, `7kf4/a`, `7KF4 A+B`, the text of a symbol.
fn tags(typed: &str) -> Vec<(TagCode, Option<EndLetter>)> {
    if typed.contains("://") {
        return link::from_scanned(typed).and_then(link::Meaning::circuit).into_iter().collect();
    }
    if let Some((code, letters)) = typed.rsplit_once([' ', '/', '-', '.']).filter(|(_, letters)| letters.contains('+'))
    {
        let letters: Option<Vec<EndLetter>> = letters.split('+').map(EndLetter::from_typed).collect();
        if let (Ok(code), Some(letters)) = (TagCode::from_typed(code), letters) {
            return letters.into_iter().map(|letter| (code, Some(letter))).collect();
        }
    }
    TagCode::from_typed_with_letter(typed).into_iter().collect()
}

fn no_code(typed: &str) -> NotNoted {
    NotNoted::NoCode(typed.to_owned())
}
