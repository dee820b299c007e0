//! `rename`: gives a circuit another designation.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::Ending;
use super::args::Rename;
use super::complaint::{Complaint, with_remedy};
use super::find::{tell_nearest, usable};
use super::output::Output;
use crate::circuits::Naming;
use crate::codes::{Certainty, Moved, Renamed};
use crate::run;
use crate::run::moving::{Moving, NotTaken, move_end, place_of};
use crate::run::renaming::{Refused, rename};

/// As many rows are named; more are counted.
const TOLD: usize = 8;

/// Renames and tells.
pub fn run(job: &Path, asked: &Rename, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    if let Some(place) = place_of(&reading, &asked.new)
        && let Some(answer) = move_end(&reading, &recall, &asked.old, &place, now)?
    {
        return tell_moved(&answer, asked, output);
    }
    let certainty = if asked.sure { Certainty::Sure } else { Certainty::ByPlace };
    let renaming = match rename(&reading, &recall, (&asked.old, &asked.new), certainty, now)? {
        Ok(renaming) => renaming,
        Err(refused) => {
            if asked.answer.json {
                output.json(&json!({ "renamed": false, "why": with_remedy(&refused, refused.remedy()) }))?;
                return Ok(Ending::Problems);
            }
            output.line(format!("nothing is renamed: {}", with_remedy(&refused, refused.remedy())))?;
            if let Refused::Unknown(typed) = &refused {
                tell_nearest(recall.by_scanned(typed).nearest(), output)?;
            }
            return Ok(Ending::Problems);
        }
    };
    let (code, former, new) = (renaming.code, &renaming.former, &renaming.designation);
    if asked.answer.json {
        let joined = match renaming.outcome {
            Renamed::Joined(other) => Some(other.to_string()),
            Renamed::Now | Renamed::Already => None,
        };
        output.json(&json!({
            "renamed": renaming.outcome != Renamed::Already,
            "code": code.to_string(),
            "former": former.as_str(),
            "designation": new.as_str(),
            "joined": joined,
            "to_change": renaming.to_change,
        }))?;
        return Ok(Ending::Done);
    }
    match renaming.outcome {
        Renamed::Now => output.line(format!("{former} is {new} now, its code stays {code}"))?,
        Renamed::Joined(other) => output.line(format!(
            "{former} is {new} now, its code stays {code}; {other}, issued for {new} meanwhile, names it too"
        ))?,
        Renamed::Already => output.line(format!("{code} is {new} already"))?,
    }
    if let (false, rows) = (renaming.to_change.is_empty(), &renaming.to_change) {
        let more = rows.len().saturating_sub(TOLD);
        let more = if more > 0 { format!(" and {more} more") } else { String::new() };
        let rows = rows.iter().take(TOLD).cloned().collect::<Vec<_>>().join(", ");
        output.line(match renaming.naming {
            Naming::Designated => format!("the lists still say {former}: write {new} at {rows}{more}"),
            Naming::ByPlace => format!("the lists give it no designation: write {new} at {rows}{more}"),
        })?;
    }
    Ok(Ending::Done)
}

/// Tells what became of an end that sits in another place.
fn tell_moved(answer: &Result<Moving, NotTaken>, asked: &Rename, output: &mut Output) -> Result<Ending, Complaint> {
    let moving = match answer {
        Ok(moving) => moving,
        Err(refused) => {
            if asked.answer.json {
                output.json(&json!({ "renamed": false, "why": refused.to_string() }))?;
            } else {
                output.line(format!("nothing is renamed: {refused}"))?;
            }
            return Ok(Ending::Problems);
        }
    };
    let Moving { mark: (code, letter), former, place, outcome, to_change } = moving;
    if asked.answer.json {
        let joined = match outcome {
            Moved::Joined(code, letter) => Some(format!("{code} {letter}")),
            _ => None,
        };
        output.json(&json!({
            "renamed": *outcome != Moved::Already,
            "code": code.to_string(),
            "letter": letter.to_string(),
            "former": former,
            "place": place.to_string(),
            "joined": joined,
            "to_change": to_change,
        }))?;
        return Ok(Ending::Done);
    }
    let name = format!("{code} {letter}");
    match outcome {
        Moved::Now => output.line(format!("{former} is {place} now, and stays {name}"))?,
        Moved::Ahead => output.line(format!("{former} is {place}, and stays {name} once the lists say so"))?,
        Moved::Joined(code, letter) => output.line(format!(
            "{former} is {place} now, and stays {name}; {code} {letter}, issued for {place} meanwhile, names it too"
        ))?,
        Moved::Already => output.line(format!("{name} is at {place} already"))?,
    }
    match (outcome, to_change) {
        (Moved::Ahead, Some(row)) => output.line(format!("the lists still say {former}: write {place} at {row}"))?,
        (Moved::Ahead, None) => output.line(format!("no list has it at {place} yet: add its row"))?,
        _ => output.line("`loomtag tags --changed` prints its tag with the new place")?,
    }
    Ok(Ending::Done)
}
