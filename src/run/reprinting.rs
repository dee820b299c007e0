//! Tags to be printed again, with the same codes: what was typed comes in; a choice goes out, with tags of ends that no list has any
//! more as they said, or why a word names nothing that can be printed.

use super::choice::Choice;
use super::failure::RunFailure;
use super::named::{Named, NotNamed, unknown};
use super::reading::Reading;
use super::recall::{By, Near, Recall, recall};
use super::stale;
use crate::base::{Purpose, Remedy};
use crate::labels::{AsSaid, Reach};

/// Tags as they are asked for again.
#[derive(Clone, Debug)]
pub struct AskedAgain {
    /// Codes, places, connectors that stay whole.
    pub what: Vec<String>,
    /// Work tags, final tags, or both.
    pub purposes: Vec<Purpose>,
    /// The marks along their wires too.
    pub along: bool,
    /// How often each is made.
    pub copies: usize,
}

/// What is to be printed again.
#[derive(Clone, Debug)]
pub struct Reprint {
    /// Tags of the lists.
    pub choice: Choice,
    /// Tags of ends that no list has any more.
    pub as_said: Vec<AsSaid>,
    /// What the journal shall say.
    pub what: String,
    /// What to know before they are printed.
    pub remarks: Vec<String>,
    /// Words that name nothing that can be printed. Where there are any, nothing shall be.
    pub not_again: Vec<NotAgain>,
}

/// Why a word is not printed again.
#[derive(Clone, Debug)]
pub struct NotAgain {
    /// Why not.
    pub why: String,
    /// What to print instead, where the message does not say it.
    pub remedy: Option<Remedy>,
    /// Codes that are like it.
    pub nearest: Vec<Near>,
}

/// Looks up what shall be printed again.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn reprint(reading: &Reading, asked: &AskedAgain) -> Result<Reprint, RunFailure> {
    let recall = recall(reading)?;
    let (mut only, mut as_said) = (Vec::new(), Vec::new());
    let (mut remarks, mut not_again): (Vec<String>, Vec<NotAgain>) = (Vec::new(), Vec::new());
    let mut said_again: Vec<String> = Vec::new();
    let refused = |why: String| NotAgain { why, remedy: None, nearest: Vec::new() };
    let wants = |purpose| asked.purposes.contains(&purpose);
    for typed in &asked.what {
        match Named::from_typed(typed, &reading.circuits, &recall) {
            Ok(found) => match found.no_final_tag().filter(|_| wants(Purpose::Final)) {
                Some(why) if !wants(Purpose::Work) => not_again.push(refused(why)),
                why => {
                    remarks.extend(why);
                    only.push(found.only);
                }
            },
            Err(NotNamed::Unknown(typed)) => {
                let codes = codes_of(&recall, &typed);
                not_again.push(if codes.is_empty() {
                    NotAgain {
                        why: unknown(&typed),
                        remedy: None,
                        nearest: recall.by_scanned(&typed).nearest().to_vec(),
                    }
                } else {
                    refused(format!("`{typed}` is a circuit's designation; name its code: {}", codes.join(", ")))
                });
            }
            Err(why) => {
                let gone = match &why {
                    &NotNamed::Gone { code, letter, .. } => {
                        stale::remembered(reading, (code, letter), &asked.purposes)?
                    }
                    _ => Vec::new(),
                };
                if gone.is_empty() {
                    not_again.push(NotAgain { remedy: why.remedy(), ..refused(why.to_string()) });
                }
                for tag in gone {
                    if as_said.contains(&tag.said) {
                        continue;
                    }
                    let (name, place) = (&tag.said.label.name, tag.said.label.place_text());
                    said_again.push(format!(
                        "{name} ({place}) is no longer in the lists; printed as it said in run {}",
                        tag.run
                    ));
                    as_said.push(tag.said);
                }
            }
        }
    }
    // Told as printed only where it will be.
    if not_again.is_empty() {
        remarks.append(&mut said_again);
    }
    // Where nothing is left that the lists have, nothing of them is printed.
    let purposes = if only.is_empty() { Vec::new() } else { asked.purposes.clone() };
    let along = asked.along.then_some(reading.job.tags().setback.value);
    let (only, copies) = (vec![only], asked.copies);
    let choice = Choice { purposes, reach: Reach::All, along, only, copies, ..Choice::default() };
    let what = format!("reprint {}", asked.what.join(" "));
    Ok(Reprint { choice, as_said, what, remarks, not_again })
}

/// The codes of the circuits that go or went by this designation.
fn codes_of(recall: &Recall, typed: &str) -> Vec<String> {
    let found = recall.find(&[typed.to_owned()]);
    found.into_iter().filter(|found| found.by == By::Designation).filter_map(|found| found.record.code).collect()
}
