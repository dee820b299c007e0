//! `assign`: tells what a blank proved to be.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::Ending;
use super::args::Assign;
use super::complaint::{Complaint, with_remedy};
use super::find::usable;
use super::join::code;
use super::output::Output;
use super::table::wrapped;
use crate::base::TagCode;
use crate::codes::{Again, Assigned, Assignment};
use crate::run;
use crate::run::assigning::{Asked, Outcome};

/// Assigns and tells.
pub fn run(job: &Path, asked: &Assign, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let blank = code(&asked.code)?;
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let asked_for = Asked {
        code: blank,
        what: asked.what.as_deref(),
        new: asked.new.as_deref(),
        again: if asked.instead { Again::Instead } else { Again::Refused },
        is_sure: asked.sure,
    };
    let before = recall.assigned(blank).cloned();
    let (why, remedy) = match run::assign(&reading, &recall, asked_for, now)? {
        Outcome::Done(assigned) => {
            tell(&reading, blank, assigned, before.as_ref(), asked, output)?;
            return Ok(Ending::Done);
        }
        Outcome::Objected(objections) => (objections, Some("--sure assigns it all the same")),
        Outcome::NotNamed(why) => (vec![with_remedy(&why, why.remedy())], None),
    };
    if asked.answer.json {
        output.json(&json!({ "assigned_now": false, "objections": why }))?;
        return Ok(Ending::Problems);
    }
    for why in why {
        for line in wrapped(&format!("{blank} is not assigned: {why}"), 2) {
            output.line(line)?;
        }
    }
    if let Some(remedy) = remedy {
        output.line(remedy)?;
    }
    Ok(Ending::Problems)
}

fn tell(
    reading: &run::Reading,
    blank: TagCode,
    assigned: Assigned,
    before: Option<&Assignment>,
    asked: &Assign,
    output: &mut Output,
) -> Result<(), Complaint> {
    let recall = run::recall(reading)?;
    let found = recall.by_code(blank, None);
    let printed = assigned.printed;
    if asked.answer.json {
        output.json(&json!({
            "assigned_now": !assigned.is_known,
            "printed": printed.to_string(),
            "end": assigned.end.map(|(code, letter)| format!("{code} {letter}")),
            "found": found,
        }))?;
        return Ok(());
    }
    let codes = if printed == blank {
        format!("{blank} is its code from now on, on all its tags")
    } else {
        format!("{printed} stays the code that is printed for it, {blank} names it as well")
    };
    let what = if assigned.is_known { "was known to be that" } else { "is assigned" };
    output.line(format!("{blank} {what}; {codes}"))?;
    if let Some(before) = before.filter(|_| !assigned.is_known) {
        let what = [&before.designation, &before.place].into_iter().filter(|text| !text.is_empty());
        let what = what.map(String::as_str).collect::<Vec<_>>().join(", ");
        output.line(format!("before, it was told to be {what}; the journal keeps that"))?;
    }
    output.line("")?;
    if let Some(found) = found {
        output.line(found.in_words().trim_end())?;
    }
    if asked.new.is_some() {
        output.line("")?;
        output.line(
            "no list has this circuit: a row with this designation or place in a list makes the record complete",
        )?;
    }
    Ok(())
}
