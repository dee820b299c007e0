//! `reprint`: prints tags again, with the same codes.

use std::path::Path;

use jiff::Timestamp;

use super::args::Reprint;
use super::complaint::Complaint;
use super::find::{tell_nearest, unknown, usable};
use super::output::Output;
use super::{Ending, tags};
use crate::base::Purpose;
use crate::labels::Reach;
use crate::run::recall::{By, Recall};
use crate::run::{self, Choice, Named, NotNamed};

/// Finds what was typed, prints its tags and tells. Nothing is printed when one of the words names
/// nothing that can be.
pub fn run(job: &Path, asked: &Reprint, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    // Every circuit of the lists gets its code with this run, too.
    tags::warn(&run::likely_renames(&reading)?, output);
    let recall = run::recall(&reading)?;
    let purposes = match (asked.work, asked.final_tags) {
        (false, true) => vec![Purpose::Final],
        (true, true) => vec![Purpose::Work, Purpose::Final],
        _ => vec![Purpose::Work],
    };
    let (mut only, mut as_said) = (Vec::new(), Vec::new());
    let mut named = 0;
    for typed in &asked.what {
        match Named::from_typed(typed, &reading.circuits, &recall) {
            Ok(found) => match found.no_final_tag().filter(|_| asked.final_tags) {
                Some(why) if !asked.work => output.line(why)?,
                why => {
                    if let Some(why) = why {
                        output.aside(why);
                    }
                    only.push(found.only);
                    named += 1;
                }
            },
            Err(NotNamed::Unknown(typed)) => {
                let codes = codes_of(&recall, &typed);
                if codes.is_empty() {
                    output.line(unknown(&typed))?;
                    tell_nearest(recall.by_scanned(&typed).nearest(), output)?;
                } else {
                    output
                        .line(format!("`{typed}` is a circuit's designation; name its code: {}", codes.join(", ")))?;
                }
            }
            Err(why) => {
                let gone = match why {
                    NotNamed::Gone { code, letter, .. } => run::stale::remembered(&reading, (code, letter), &purposes)?,
                    _ => Vec::new(),
                };
                if gone.is_empty() {
                    output.line(why.to_string())?;
                } else {
                    named += 1;
                }
                for tag in gone {
                    if as_said.contains(&tag.said) {
                        continue;
                    }
                    let (name, place) = (&tag.said.label.name, tag.said.label.place_text());
                    output.aside(format!(
                        "{name} ({place}) is no longer in the lists; printed as it said in run {}",
                        tag.run
                    ));
                    as_said.push(tag.said);
                }
            }
        }
    }
    if named < asked.what.len() {
        return Ok(Ending::Problems);
    }
    // Where nothing is left that the lists have, nothing of them is printed.
    let purposes = if only.is_empty() { Vec::new() } else { purposes };
    let along = asked.along.then_some(reading.job.tags().setback.value);
    let choice = Choice { purposes, reach: Reach::All, along, only, ..Choice::default() };
    let what = format!("reprint {}", asked.what.join(" "));
    tags::print(&reading, choice, as_said, &asked.making, &what, now, output)
}

/// The codes of the circuits that go or went by this designation.
fn codes_of(recall: &Recall, typed: &str) -> Vec<String> {
    let found = recall.find(&[typed.to_owned()]);
    found.into_iter().filter(|found| found.by == By::Designation).filter_map(|found| found.record.code).collect()
}
