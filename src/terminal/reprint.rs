//! `reprint`: prints tags again, with the same codes.

use std::path::Path;

use jiff::Timestamp;

use super::args::Reprint;
use super::complaint::Complaint;
use super::find::{tell_nearest, unknown, usable};
use super::output::Output;
use super::{Ending, tags};
use crate::base::{Purpose, TagCode};
use crate::labels::Reach;
use crate::run::recall::{By, Recall};
use crate::run::sheets;
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
    let (mut only, mut as_said, mut remarks) = (Vec::new(), Vec::new(), Vec::new());
    let mut named = 0;
    let mut words = asked.what.clone();
    if asked.spoilt {
        words.extend(spoilt_tags(job, output)?);
        if words.is_empty() {
            output.line(
                "no tag of a spoilt label is left to print again; `loomtag stock spoilt SHEET LABEL` tells of one",
            )?;
            return Ok(Ending::Problems);
        }
    }
    for typed in &words {
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
                    remarks.push(format!(
                        "{name} ({place}) is no longer in the lists; printed as it said in run {}",
                        tag.run
                    ));
                    as_said.push(tag.said);
                }
            }
        }
    }
    if named < words.len() {
        output.aside("nothing was printed");
        return Ok(Ending::Problems);
    }
    for remark in remarks {
        output.aside(remark);
    }
    // Where nothing is left that the lists have, nothing of them is printed.
    let purposes = if only.is_empty() { Vec::new() } else { purposes };
    let along = asked.along.then_some(reading.job.tags().setback.value);
    let copies = asked.copies.into();
    let choice = Choice { purposes, reach: Reach::All, along, only: vec![only], copies, ..Choice::default() };
    let what = format!("reprint {}", words.join(" "));
    tags::print(&reading, choice, as_said, &asked.making, &what, now, output)
}

/// What names the tags of spoilt labels that no later run has printed, each once.
fn spoilt_tags(job: &Path, output: &Output) -> Result<Vec<String>, Complaint> {
    let mut names = Vec::new();
    for spoilt in sheets::spoilt(job)?.into_iter().filter(|spoilt| spoilt.again.is_none()) {
        let Some(tag) = spoilt.tag else { continue };
        if tag.ends_with(" mm") {
            output.aside(format!(
                "{tag} is a mark along a wire: `loomtag reprint CODE --along` prints those of its wire"
            ));
            continue;
        }
        let name = match tag.split_once(' ') {
            // One letter of a doubled cavity names its tag.
            Some((code, letters)) if TagCode::from_typed(code).is_ok() => {
                format!("{code}/{}", letters.split('+').next().unwrap_or(letters))
            }
            _ => tag,
        };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    Ok(names)
}

/// The codes of the circuits that go or went by this designation.
fn codes_of(recall: &Recall, typed: &str) -> Vec<String> {
    let found = recall.find(&[typed.to_owned()]);
    found.into_iter().filter(|found| found.by == By::Designation).filter_map(|found| found.record.code).collect()
}
