//! `find`: circuits by code, place, colour or words.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Find;
use super::complaint::Complaint;
use super::output::{Output, count};
use super::scan::{circuits_json, tell_circuits};
use super::table::wrapped;
use crate::base::nearest::did_you_mean;
use crate::base::{TagCode, counted};
use crate::run::named::unknown;
use crate::run::recall::blank::in_words;
use crate::run::recall::{Near, UnknownWord};
use crate::run::{self, Reading};

/// As many records are told in full; more are counted.
const TOLD: usize = 10;

/// Finds and tells.
pub fn run(job: &Path, asked: &Find, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let circuits = recall.one_circuit(&recall.tags_named(&asked.words));
    let (words, left_out) = run::recall::bounded(asked.words.clone());
    if let Some(left_out) = left_out.filter(|_| circuits.is_empty()) {
        output.aside(left_out);
    }
    let found = match &circuits[..] {
        [] => recall.find(&words),
        tags => tags.iter().filter_map(|tags| recall.record_of(tags)).collect(),
    };
    let question = words.join(" ");
    // Words that are no code and match nothing may be mistyped, or a mistyped code.
    let (nearest, unknown_words) = if found.is_empty() {
        (recall.by_scanned(&question).nearest().to_vec(), recall.unknown_words(&words))
    } else {
        (Vec::new(), Vec::new())
    };
    let blanks = recall.blanks_named(&asked.words);
    if asked.answer.json {
        output.json(&json!({
            "found": found,
            "blanks": blanks.iter().map(|blank| blank.code.to_string()).collect::<Vec<_>>(),
            "one_circuit": circuits_json(&circuits),
            "nearest": nearest,
            "unknown_words": unknown_words,
        }))?;
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
        tell_circuits(&circuits, output)?;
        if !blanks.is_empty() && !found.is_empty() {
            output.line("")?;
        }
        for blank in &blanks {
            for line in wrapped(&in_words(blank), 2) {
                output.line(line)?;
            }
            // That it was issued and printed is said already.
            let notes = recall.history_of_blank(blank).into_iter().filter(|event| event.note.is_some());
            for line in notes.flat_map(|event| event.lines()) {
                output.line(line)?;
            }
        }
        if found.is_empty() && blanks.is_empty() {
            output.line(format!("nothing matches `{question}`"))?;
            tell_words(&unknown_words, &question, output)?;
            if !nearest.is_empty() {
                output.line(unknown(&question))?;
            }
            tell_nearest(&nearest, output)?;
        }
    }
    let is_certain = (!found.is_empty() || !blanks.is_empty()) && found.iter().all(|found| found.doubt.is_none());
    Ok(if is_certain { Ending::Done } else { Ending::Problems })
}

/// Says of each word of a question of several why it fits nothing, and what may have been meant.
fn tell_words(unknown: &[UnknownWord], question: &str, output: &mut Output) -> Result<(), Complaint> {
    let is_single = question.split_whitespace().count() == 1;
    for UnknownWord { word, near } in unknown {
        match (near, TagCode::from_typed_with_letter(word)) {
            (_, Ok((code, _))) if !is_single => output.line(format!("`{code}` was never issued in this job"))?,
            (Some(near), _) => output.line(format!("no circuit has `{word}`: {}", did_you_mean(near)))?,
            (None, _) if !is_single => output.line(format!("no circuit has `{word}`"))?,
            (None, _) => {}
        }
    }
    if unknown.is_empty() && !is_single {
        output.line("each word fits a circuit, but no circuit has them all")?;
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

/// Offers codes that exist.
pub fn tell_nearest(nearest: &[Near], output: &mut Output) -> Result<(), Complaint> {
    if !nearest.is_empty() {
        output.line(format!("{} like it:", counted(nearest.len(), "code")))?;
        for near in nearest {
            output.line(format!("  {}  {}", near.code, near.what))?;
        }
    }
    Ok(())
}
