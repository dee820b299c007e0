//! `find`: circuits by code, place, colour or words.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Find;
use super::complaint::Complaint;
use super::output::{Output, count, plural};
use crate::base::code::NotACode;
use crate::base::{EndLetter, TagCode};
use crate::run::recall::{Near, Recall};
use crate::run::{self, Reading};

/// As many records are told in full; more are counted.
const TOLD: usize = 10;

/// Finds and tells.
pub fn run(job: &Path, asked: &Find, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    if let Some(codes) = several_codes(&recall, &asked.words) {
        return tell_codes(&recall, &codes, asked.json, output);
    }
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

/// Two or more codes of this job, typed one beside the other; `None` when a word is something else.
fn several_codes(recall: &Recall, words: &[String]) -> Option<Vec<(TagCode, Option<EndLetter>)>> {
    let code = |word: &String| {
        TagCode::from_typed_with_letter(word).ok().filter(|(code, _)| recall.by_code(*code, None).is_some())
    };
    if words.len() < 2 { None } else { words.iter().map(code).collect() }
}

/// The records of several codes, and whether they are one circuit.
fn tell_codes(
    recall: &Recall,
    codes: &[(TagCode, Option<EndLetter>)],
    json: bool,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    let found: Vec<_> = codes.iter().filter_map(|&(code, letter)| recall.by_code(code, letter)).collect();
    let codes: Vec<TagCode> = codes.iter().map(|(code, _)| *code).collect();
    if json {
        output.json(&json!({ "found": found, "one_circuit": recall.one_circuit(&codes) }))?;
        return Ok(Ending::Done);
    }
    for (index, one) in found.iter().enumerate() {
        if index > 0 {
            output.line("")?;
        }
        output.line(one.in_words().trim_end())?;
    }
    tell_same(recall, &codes, output)?;
    Ok(Ending::Done)
}

/// Of several tags, which are one circuit.
pub fn tell_same(recall: &Recall, codes: &[TagCode], output: &mut Output) -> Result<(), Complaint> {
    if codes.len() < 2 {
        return Ok(());
    }
    output.line("")?;
    let groups = recall.one_circuit(codes);
    if groups.len() == 1 {
        output.line("all of these: the same circuit")?;
    } else if groups.len() == codes.len() {
        output.line("different circuits, as far as is known")?;
    } else {
        for mut group in groups.into_iter().filter(|group| group.len() > 1) {
            let tags = plural(group.len(), "tag");
            group.sort();
            group.dedup();
            output.line(format!("one circuit: {} ({tags})", group.join(", ")))?;
        }
        output.line("all others: circuits of their own, as far as is known")?;
    }
    Ok(())
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
