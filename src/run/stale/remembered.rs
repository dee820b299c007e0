//! Tags of ends that no list has any more, as the journal remembers them, made ready to be printed as they said.

use super::printed::{Key, LastPrinted, Printing};
use crate::base::{EndLetter, Place, Purpose, TagCode};
use crate::codes::{Issued, PrintedTag, Record};
use crate::labels::{AsSaid, TagName, as_said};
use crate::run::Reading;

/// A tag that can be printed as it said.
#[derive(Clone, Debug)]
pub struct Remembered {
    /// The run that printed it last.
    pub run: u32,
    /// What it said.
    pub said: AsSaid,
}

/// The last printings of the tags of a code, or of one of its ends, that no list has any more, in the order of their letters.
pub(super) fn remembered(
    reading: &Reading,
    issued: &Issued,
    records: &[Record],
    last: &LastPrinted,
    (code, letter): (TagCode, Option<EndLetter>),
    purposes: &[Purpose],
) -> Vec<Remembered> {
    let holds = |record: &&Record| record.code == code || record.also.contains(&code);
    let Some(record) = records.iter().find(holds) else { return Vec::new() };
    // Another code of the record letters its ends otherwise.
    let is_meant = |own: EndLetter| match letter {
        None => true,
        Some(letter) if record.code == code => own == letter,
        Some(letter) => record.ends.iter().any(|end| end.letter == own && end.also.contains(&(code, letter))),
    };
    let is_listed = |letter: &EndLetter| {
        issued.circuits.iter().any(|circuit| circuit.code == record.code && circuit.letters.contains(letter))
    };
    let is_wanted = |key: &Key| {
        key.code == record.code
            && !key.is_mark()
            && purposes.contains(&key.purpose)
            && key.letters.iter().any(|letter| is_meant(*letter) && !is_listed(letter))
    };
    let wanted = last.tags.iter().filter(|(key, _)| is_wanted(key));
    let mut wanted: Vec<(&Key, &Printing<PrintedTag>)> =
        wanted.filter_map(|(key, last)| Some((key, last.each().next()?))).collect();
    wanted.sort_by_key(|(key, _)| *key);
    let place = |key: &Key| {
        let end = record.ends.iter().find(|end| key.letters.first() == Some(&end.letter));
        end.map(|end| end.place.clone())
    };
    let remembered = |(key, printing): (&Key, &Printing<PrintedTag>)| {
        let tag = &printing.tag;
        let name = TagName::Ends { code: tag.code, letters: tag.letters.clone() };
        let place = place(key).or_else(|| Place::from_typed(&tag.place))?;
        let usual = reading.equipment.wording_for(&name, key.purpose);
        let said = as_said(name, key.purpose, place, &tag.words, tag.payload.as_deref(), usual);
        Some(Remembered { run: printing.run.get(), said })
    };
    wanted.into_iter().filter_map(remembered).collect()
}
