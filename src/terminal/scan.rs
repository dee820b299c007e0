//! `scan`: reads tags from photographs or PDFs and tells their records.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Scan;
use super::complaint::Complaint;
use super::find::{tell_nearest, tell_same, usable};
use super::output::Output;
use crate::base::TagCode;
use crate::run;
use crate::run::recall::Scanned;
use crate::run::scanning::ReadTag;

/// Reads all files and tells; of several tags also which of them are one circuit.
pub fn run(job: &Path, asked: &Scan, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let tags = run::scan(&reading, &asked.files)?;
    let is_sure = |tag: &ReadTag| matches!(tag.answer, Scanned::Known(_)) && tag.doubt.is_none();
    let ending = if !tags.is_empty() && tags.iter().all(is_sure) { Ending::Done } else { Ending::Problems };
    let codes: Vec<TagCode> =
        if tags.iter().all(is_sure) { tags.iter().filter_map(|tag| tag.code).collect() } else { Vec::new() };
    if asked.json {
        let told: Vec<_> = tags
            .iter()
            .map(|tag| {
                json!({
                    "file": tag.file,
                    "text": tag.text,
                    "symbols": tag.symbols,
                    "doubt": tag.doubt,
                    "answer": tag.answer,
                })
            })
            .collect();
        output.json(&json!({ "tags": told, "one_circuit": recall.one_circuit(&codes) }))?;
        return Ok(ending);
    }
    for file in asked.files.iter().filter(|file| !tags.iter().any(|tag| tag.file == **file)) {
        output.line(format!("{}: no symbol can be read; go closer, or hold the light aslant", file.display()))?;
    }
    for (index, tag) in tags.iter().enumerate() {
        if index > 0 {
            output.line("")?;
        }
        output.line(format!("{}: `{}`", tag.file.display(), tag.text))?;
        if let Some(doubt) = &tag.doubt {
            output.line(format!("DOUBT: {doubt}"))?;
        }
        match &tag.answer {
            Scanned::Known(found) => output.line(found.in_words().trim_end())?,
            Scanned::Unknown { code, .. } => output.line(format!("`{code}` was never issued in this job"))?,
            Scanned::Nothing { .. } => output.line("this is no tag of ours")?,
        }
        tell_nearest(tag.answer.nearest(), output)?;
    }
    tell_same(&recall, &codes, output)?;
    Ok(ending)
}
