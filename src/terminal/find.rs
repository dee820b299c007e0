//! `find`: circuits by code, place, colour or words.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Find;
use super::complaint::Complaint;
use super::output::{Output, count, plural};
use crate::base::TagCode;
use crate::base::code::NotACode;
use crate::run::recall::Near;
use crate::run::{self, Reading};

/// As many records are told in full; more are counted.
const TOLD: usize = 10;

/// Finds and tells.
pub fn run(job: &Path, asked: &Find, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let found = recall.find(&asked.words);
    let question = asked.words.join(" ");
    // Words that are no code and match nothing may be a mistyped code.
    let nearest = if found.is_empty() { recall.by_scanned(&question).nearest().to_vec() } else { Vec::new() };
    if asked.json {
        output.json(&json!({ "found": found, "nearest": nearest }))?;
    } else {
        for (index, one) in found.iter().take(TOLD).enumerate() {
            if index > 0 {
                output.line("")?;
            }
            output.line(one.in_words().trim_end())?;
        }
        if found.len() > TOLD {
            output.line("")?;
            output.line(format!("{} more; add a word to narrow it down", found.len() - TOLD))?;
        }
        if found.is_empty() {
            output.line(format!("nothing matches `{question}`"))?;
            if !nearest.is_empty() {
                output.line(unknown(&question))?;
            }
            tell_nearest(&nearest, output)?;
        }
    }
    Ok(if found.is_empty() { Ending::Problems } else { Ending::Done })
}

/// The job as far as it can be read: records are wanted most when lists are in disorder, so errors only get counted.
pub fn usable(job: &Path, output: &Output) -> Result<Option<Reading>, Complaint> {
    let read = run::read(job)?;
    let Some(reading) = read.value else {
        output.problems(&read.problems);
        return Ok(None);
    };
    if reading.has_errors() {
        let problems = count(&reading.problems);
        output.aside(format!("the lists have {problems}: rows with errors are not known here; see `loomtag check`"));
    }
    Ok(Some(reading))
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

/// Offers codes that exist.
pub fn tell_nearest(nearest: &[Near], output: &mut Output) -> Result<(), Complaint> {
    if !nearest.is_empty() {
        output.line(format!("{} like it:", plural(nearest.len(), "code")))?;
        for near in nearest {
            output.line(format!("  {}  {}", near.code, near.what))?;
        }
    }
    Ok(())
}
