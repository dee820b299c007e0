//! `scan`: reads tags from photographs or PDFs and tells their records.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Scan;
use super::complaint::Complaint;
use super::find::{tell_nearest, usable};
use super::output::Output;
use super::table::{table, wrapped};
use crate::base::counted;
use crate::run::recall::blank::assigning;
use crate::run::recall::{Found, Scanned, TEST_IT, Tag};
use crate::run::scanning::{IN_DOUBT, NO_SYMBOL, Together, together};
use crate::run::{self, one_circuit};

/// Reads all files and tells; of several tags also which of them are one circuit.
pub fn run(job: &Path, asked: &Scan, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let tags = run::scan(&recall, &asked.files)?;
    let Together { is_sure, circuits } = together(&recall, &tags, None);
    let ending = if is_sure { Ending::Done } else { Ending::Problems };
    if asked.answer.json {
        let told: Vec<_> = tags
            .iter()
            .map(|tag| {
                json!({
                    "file": tag.file,
                    "text": tag.text,
                    "symbols": tag.symbols,
                    "doubt": tag.doubt(),
                    "answer": tag.answer,
                })
            })
            .collect();
        output.json(&json!({ "tags": told, "one_circuit": circuits_json(&circuits) }))?;
        return Ok(ending);
    }
    for file in asked.files.iter().filter(|file| !tags.iter().any(|tag| tag.file == **file)) {
        output.line(format!("{}: {NO_SYMBOL}", file.display()))?;
    }
    for (index, tag) in tags.iter().enumerate() {
        if index > 0 {
            output.line("")?;
        }
        output.line(format!("{}: `{}`", tag.file.display(), tag.text))?;
        match &tag.answer {
            Scanned::Known(found) => output.line(found.in_words().trim_end())?,
            Scanned::Connector { connector, doubt, found } => {
                tell_connector(connector, doubt.as_deref(), found, output)?;
            }
            Scanned::Blank { code, told, doubt } => {
                if let Some(doubt) = doubt {
                    output.line(format!("DOUBT: {doubt}"))?;
                }
                for line in wrapped(&format!("{told}: {}", assigning(code)), 2) {
                    output.line(line)?;
                }
            }
            Scanned::Unknown { code, .. } => output.line(format!("`{code}` was never issued in this job"))?,
            Scanned::Nothing { .. } => output.line("this is no tag of ours")?,
        }
        tell_nearest(tag.answer.nearest(), output)?;
    }
    if tags.len() > 1 && tags.iter().any(|tag| tag.doubt().is_some()) {
        output.line("")?;
        output.line(IN_DOUBT)?;
    }
    tell_circuits(&circuits, output)?;
    Ok(ending)
}

/// The ends of a connector, a line each: a whole record of each would be long.
fn tell_connector(connector: &str, doubt: Option<&str>, found: &[Found], output: &mut Output) -> Result<(), Complaint> {
    if found.is_empty() {
        output.line(format!("no list of this job names a connector `{connector}`"))?;
        return Ok(());
    }
    if let Some(doubt) = doubt {
        output.line(format!("DOUBT: {doubt}"))?;
    }
    let ends =
        || found.iter().flat_map(|found| found.ends.iter().map(move |&end| (&found.record, &found.record.ends[end])));
    output.line(format!("connector {connector}: {}", counted(ends().count(), "end")))?;
    let rows: Vec<Vec<String>> = ends()
        .map(|(record, end)| {
            let tag =
                [record.code.as_deref(), end.letter.as_deref()].into_iter().flatten().collect::<Vec<_>>().join(" ");
            let text = |text: &Option<String>| text.clone().unwrap_or_default();
            let cautions = record.cautions.iter().map(|caution| format!("!! {caution}")).collect::<Vec<_>>().join(" ");
            let there = end.there.clone().unwrap_or_else(|| "________".to_owned());
            vec![end.here.clone(), tag, text(&record.function), text(&end.colour), text(&end.size), there, cautions]
        })
        .collect();
    for line in table(&["place", "tag", "function", "colour", "size", "to", ""], &rows) {
        output.line(line)?;
    }
    output.line(TEST_IT)?;
    Ok(())
}

/// The names of tags, those of one circuit together.
pub fn circuits_json(circuits: &[Vec<Tag>]) -> Vec<Vec<String>> {
    circuits.iter().map(|circuit| circuit.iter().map(one_circuit::name).collect()).collect()
}

/// Says which tags are one circuit; nothing of a single tag.
pub fn tell_circuits(circuits: &[Vec<Tag>], output: &mut Output) -> Result<(), Complaint> {
    let lines = one_circuit::in_words(circuits);
    if !lines.is_empty() {
        output.line("")?;
    }
    Ok(lines.iter().try_for_each(|line| output.line(line))?)
}
