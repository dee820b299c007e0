//! An end sits in another place than the lists said, and they are told where they do not say so yet.

use jiff::Timestamp;

use super::failure::RunFailure;
use super::reading::Reading;
use super::recall::{By, Recall};
use super::register::{self, register_path};
use crate::base::{EndLetter, Place, TagCode};
use crate::codes::{Moved, NotMoved};

/// An end in another place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moving {
    /// A code and letter of it.
    pub mark: (TagCode, EndLetter),
    /// Where it was.
    pub former: String,
    /// Where it is.
    pub place: Place,
    /// What came of it.
    pub outcome: Moved,
    /// The row that still gives the former place: `loom.csv:4`.
    pub to_change: Option<String>,
}

/// Why an end stays where it is.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotTaken {
    /// Several ends are or were there.
    #[error("several ends are or were at `{0}`: name one by its tag: {1}")]
    Several(String, String),
    /// Nothing was issued that could be kept.
    #[error("no code was issued for `{0}` yet: put the row right in the lists, there is nothing else to keep")]
    NoCode(String),
    /// The lists have both.
    #[error(
        "the lists have the circuit at `{0}` and at `{1}`, as two ends: take the row of one out, or name its place"
    )]
    BothListed(String, Place),
    /// Another circuit is there.
    #[error("`{0}` is the place of circuit {1} in the lists: put both rows right first, then rename")]
    OfAnother(Place, String),
    /// Another end is or was there.
    #[error("`{0}` is or was the place of another end, {1} {2}: two ends never become one")]
    AnotherEnd(Place, TagCode, EndLetter),
}

/// The place that was typed, if it is one: its connector stands in the lists.
pub fn place_of(reading: &Reading, typed: &str) -> Option<Place> {
    let place = Place::from_typed(typed.trim())?;
    let text = place.to_string();
    let listed = || reading.circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place);
    let alike = listed().find(|listed| **listed == place);
    let alike = alike.or_else(|| listed().find(|listed| listed.to_string().eq_ignore_ascii_case(&text)));
    if let Some(alike) = alike {
        return Some(alike.clone());
    }
    place.cavity.as_ref()?;
    let same = |listed: &&Place| listed.connector.as_str().eq_ignore_ascii_case(place.connector.as_str());
    let connector = listed().find(same)?.connector.clone();
    Some(Place::new(connector, place.cavity))
}

/// Moves the end at an old place, or of a code and letter, to a new one. `None` when the old one names no end.
///
/// # Errors
/// [`RunFailure`] when the register fails.
pub fn move_end(
    reading: &Reading,
    recall: &Recall,
    old: &str,
    place: &Place,
    now: Timestamp,
) -> Result<Option<Result<Moving, NotTaken>>, RunFailure> {
    let found = recall.find(&[old.to_owned()]);
    let is_meant = |by: By| matches!(by, By::Place | By::Code);
    let mut ends: Vec<_> = found
        .iter()
        .filter(|found| is_meant(found.by) && found.doubt.is_none())
        .flat_map(|found| found.ends.iter().map(|&end| (&found.record, end)))
        .collect();
    let here = |(record, end): &(&super::recall::Record, usize)| record.ends[*end].here.clone();
    if ends.iter().any(|end| here(end) == old) {
        ends.retain(|end| here(end) == old);
    }
    if ends.is_empty() {
        return Ok(None);
    }
    // Where the row is put right already, the end that has left the lists is meant.
    let is_right = reading.circuits.all().iter().flat_map(|circuit| circuit.ends()).any(|end| end.place == *place);
    // What has no letter yet has none to keep.
    let has_letter = |(record, end): &(&super::recall::Record, usize)| !record.marks(*end).is_empty();
    if ends.iter().any(has_letter) {
        ends.retain(has_letter);
    }
    if ends.len() > 1 {
        let wanted = |(record, end): &(&super::recall::Record, usize)| record.ends[*end].listed != is_right;
        if ends.iter().filter(|end| wanted(end)).count() > 0 {
            ends.retain(|end| wanted(end));
        }
    }
    let [(record, end)] = ends[..] else {
        let names: Vec<String> = ends
            .iter()
            .filter_map(|(record, end)| {
                Some(format!("{}/{}", record.code.as_deref()?, record.ends[*end].letter.as_deref()?))
            })
            .collect();
        return Ok(Some(Err(NotTaken::Several(old.to_owned(), names.join(", ")))));
    };
    let former = record.ends[end].here.clone();
    let Some(&mark) = record.marks(end).first().filter(|_| register_path(reading.job.folder()).exists()) else {
        return Ok(Some(Err(NotTaken::NoCode(former))));
    };
    let outcome = register::open(reading.job.folder())?.move_end(&reading.circuits, mark, place, now)?;
    let outcome = match outcome {
        Ok(outcome) => outcome,
        Err(NotMoved::BothListed) => return Ok(Some(Err(NotTaken::BothListed(former, place.clone())))),
        Err(NotMoved::OfAnother(circuit)) => return Ok(Some(Err(NotTaken::OfAnother(place.clone(), circuit)))),
        Err(NotMoved::AnotherEnd(code, letter)) => {
            return Ok(Some(Err(NotTaken::AnotherEnd(place.clone(), code, letter))));
        }
    };
    let listed = reading.circuits.all().iter().flat_map(|circuit| circuit.ends());
    let to_change = listed.filter(|end| outcome == Moved::Ahead && end.place.to_string() == former).map(|end| {
        let line = end.origin.line().map(|line| format!("{}:{line}", end.origin.file()));
        line.unwrap_or_else(|| end.origin.to_string())
    });
    let to_change = to_change.into_iter().next();
    Ok(Some(Ok(Moving { mark, former, place: place.clone(), outcome, to_change })))
}
