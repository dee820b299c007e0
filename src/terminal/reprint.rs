//! `reprint`: prints tags again, with the same codes.

use std::path::Path;

use jiff::Timestamp;

use super::args::Reprint;
use super::complaint::Complaint;
use super::find::{tell_nearest, unknown, usable};
use super::output::Output;
use super::{Ending, tags};
use crate::base::TagCode;
use crate::labels::{Purpose, Reach};
use crate::run::recall::{By, Recall};
use crate::run::{self, Choice, Only};

/// Finds what was typed, prints its tags and tells. Nothing is printed when one of the words names nothing.
pub fn run(job: &Path, asked: &Reprint, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let mut only = Vec::new();
    let mut is_all_known = true;
    for typed in &asked.what {
        match Only::named(typed, &reading.circuits, &recall) {
            Some(named) if is_listed(&recall, &named) => only.push(named),
            Some(_) => {
                is_all_known = false;
                output.line(format!(
                    "`{typed}` is no longer in the lists: bring its row back to print its tag; `find` knows it"
                ))?;
            }
            None => {
                is_all_known = false;
                let codes = codes_of(&recall, typed);
                if let Some(letters) = other_letters(&recall, typed) {
                    output.line(format!("`{typed}` names no end of that circuit; its letters are {letters}"))?;
                } else if let Some(gone) = gone_place(&recall, typed) {
                    output.line(format!(
                        "`{typed}` ({gone}) is no longer in the lists: bring its row back to print its tag; `find` knows it"
                    ))?;
                } else if codes.is_empty() {
                    output.line(unknown(typed))?;
                    tell_nearest(recall.by_scanned(typed).nearest(), output)?;
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

/// Whether the lists still have what is named.
fn is_listed(recall: &Recall, named: &Only) -> bool {
    match named {
        Only::Code(code, _) => recall.by_code(*code, None).is_some_and(|found| found.record.listed),
        Only::Place(_) | Only::Connector(_) => true,
    }
}

/// The letters there are, when a code is known but has no end of the letter typed.
fn other_letters(recall: &Recall, typed: &str) -> Option<String> {
    let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
    letter?;
    let letters = recall.by_code(code, None)?.record.ends.into_iter().filter_map(|end| end.letter);
    Some(letters.collect::<Vec<_>>().join(", "))
}

/// The code at a place that only the register knows.
fn gone_place(recall: &Recall, typed: &str) -> Option<String> {
    let found = recall.find(&[typed.to_owned()]).into_iter().find(|found| found.by == By::Place)?;
    found.record.code
}

/// The codes of the circuits that go or went by this designation.
fn codes_of(recall: &Recall, typed: &str) -> Vec<String> {
    let found = recall.find(&[typed.to_owned()]);
    found.into_iter().filter(|found| found.by == By::Designation).filter_map(|found| found.record.code).collect()
}
