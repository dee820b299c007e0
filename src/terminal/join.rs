//! `join`: makes one record of two codes.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::Ending;
use super::args::Join;
use super::complaint::Complaint;
use super::find::usable;
use super::output::Output;
use crate::base::TagCode;
use crate::codes::Joined;
use crate::run;

/// Joins and tells.
pub fn run(job: &Path, asked: &Join, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let (keep, other) = (code(&asked.keep)?, code(&asked.other)?);
    // The lists may be in disorder just when somebody joins what they keep apart: then nothing can be objected.
    if let Some(reading) = usable(job, output)? {
        let recall = run::recall(&reading)?;
        let records: Vec<_> =
            [keep, other].iter().filter_map(|&code| recall.by_code(code, None)).map(|found| found.record).collect();
        if !asked.answer.json {
            for record in &records {
                output.line(record.in_a_line())?;
            }
        }
        let objections = run::joining::objections(&recall, keep, other);
        if !objections.is_empty() && !asked.sure {
            if asked.answer.json {
                output.json(&json!({ "joined_now": false, "objections": objections }))?;
                return Ok(Ending::Problems);
            }
            for objection in objections {
                output.line(format!("{keep} and {other} are not joined: {objection}"))?;
            }
            output.line("joining is for ever; --sure joins them all the same")?;
            return Ok(Ending::Problems);
        }
    }
    let joined = run::join(job, keep, other, now)?.ok_or_else(|| Complaint::Typed {
        what: format!("no code was issued in `{}` yet", job.display()),
        remedy: "name the job folder with --job; `loomtag tags` issues codes".to_owned(),
    })?;
    let (printed, is_new) = match joined {
        Joined::Now(printed) => (printed, true),
        Joined::Already(printed) => (printed, false),
    };
    if asked.answer.json {
        output.json(&json!({ "printed": printed.to_string(), "joined_now": is_new }))?;
    } else if is_new {
        output
            .line(format!("{keep} and {other} are one circuit; {printed} is printed from now on, both stay valid"))?;
    } else {
        output.line(format!("{keep} and {other} were one circuit already; {printed} is printed"))?;
    }
    Ok(Ending::Done)
}

/// A code as typed from a tag.
pub fn code(typed: &str) -> Result<TagCode, Complaint> {
    TagCode::from_typed(typed).map_err(|why| Complaint::Typed {
        what: format!("`{typed}` is not a code: {why}"),
        remedy: "type it again from the tag; `loomtag find` offers codes like it".to_owned(),
    })
}
