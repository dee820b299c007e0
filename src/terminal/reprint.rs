//! `reprint`: prints tags again, with the same codes.

use std::path::Path;

use jiff::Timestamp;

use super::args::Reprint;
use super::complaint::Complaint;
use super::find::{nearest, tell_nearest};
use super::output::Output;
use super::{Ending, tags};
use crate::base::code::NotACode;
use crate::base::{Place, TagCode};
use crate::labels::{Purpose, Reach};
use crate::run::recall::{By, Recall, Scanned};
use crate::run::{self, Choice, Only};

/// Finds what was typed, prints its tags and tells. Nothing is printed when one of the words names nothing.
pub fn run(job: &Path, asked: &Reprint, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = super::find::usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let mut only = Vec::new();
    let mut is_all_known = true;
    for typed in &asked.what {
        match named(&recall, &reading, typed) {
            Some(named) => only.push(named),
            None => {
                is_all_known = false;
                let codes = codes_of(&recall, typed);
                if codes.is_empty() {
                    output.line(unknown(typed))?;
                    tell_nearest(&nearest(&recall.by_scanned(typed)), output)?;
                } else {
                    output
                        .line(format!("`{typed}` is a circuit's designation; name its code: {}", codes.join(", ")))?;
                }
            }
        }
    }
    if !is_all_known {
        return Ok(Ending::Problems);
    }
    let purposes = match (asked.work, asked.final_tags) {
        (false, true) => vec![Purpose::Final],
        (true, true) => vec![Purpose::Work, Purpose::Final],
        _ => vec![Purpose::Work],
    };
    let choice = Choice { purposes, reach: Reach::All, only, ..Choice::default() };
    let what = format!("reprint {}", asked.what.join(" "));
    tags::print(&reading, choice, &asked.making, &what, now, output)
}

/// Why a word names nothing.
pub fn unknown(typed: &str) -> String {
    match TagCode::from_typed_with_letter(typed) {
        Ok((code, _)) => format!("`{code}` was never issued in this job"),
        Err(NotACode::Check { .. }) => {
            format!(
                "`{typed}` is no place of this job, and no code: its check character does not fit, so something is mistyped"
            )
        }
        Err(_) => format!("`{typed}` is neither a code nor a place of this job"),
    }
}

/// What a word names: a place of the lists, or a code of the register.
fn named(recall: &Recall, reading: &run::Reading, typed: &str) -> Option<Only> {
    if let Some(place) = place_of(reading, typed) {
        return Some(Only::Place(place));
    }
    let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
    matches!(recall.by_scanned(code.as_str()), Scanned::Known(_)).then_some(Only::Code(code, letter))
}

/// The codes of the circuits that go or went by this designation.
fn codes_of(recall: &Recall, typed: &str) -> Vec<String> {
    let found = recall.find(&[typed.to_owned()]);
    found.into_iter().filter(|found| found.by == By::Designation).filter_map(|found| found.record.code).collect()
}

/// The place as the lists write it; case does not matter where no two places differ by it alone.
fn place_of(reading: &run::Reading, typed: &str) -> Option<Place> {
    let typed = Place::from_typed(typed)?;
    let places = || reading.circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.place);
    let is_like = |place: &&Place| place.to_string().eq_ignore_ascii_case(&typed.to_string());
    places().find(|place| **place == typed).or_else(|| places().find(is_like)).cloned()
}
