//! `scan`: reads tags from photographs or PDFs and tells their records.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Scan;
use super::complaint::Complaint;
use super::find::{tell_nearest, usable};
use super::output::Output;
use crate::base::TagCode;
use crate::run::recall::{Recall, Same, Scanned};
use crate::run::{self};

/// Reads all files and tells; of two tags also whether they are one circuit.
pub fn run(job: &Path, asked: &Scan, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let mut sightings = Vec::new();
    for file in &asked.files {
        let seen = run::symbols_in(file)?;
        if seen.is_empty() && !asked.json {
            output.line(format!("{}: no symbol can be read; go closer, or hold the light aslant", file.display()))?;
        }
        sightings.extend(seen.into_iter().map(|sighting| (file, recall.by_scanned(&sighting.text), sighting.text)));
    }
    let same = match &sightings[..] {
        [(_, Scanned::Known(_), one), (_, Scanned::Known(_), other)] => same(&recall, one, other),
        _ => None,
    };
    let all_known =
        !sightings.is_empty() && sightings.iter().all(|(_, scanned, _)| matches!(scanned, Scanned::Known(_)));
    let ending = if all_known { Ending::Done } else { Ending::Problems };
    if asked.json {
        let tags: Vec<_> = sightings
            .iter()
            .map(|(file, scanned, text)| json!({ "file": file, "text": text, "answer": scanned }))
            .collect();
        output.json(&json!({ "tags": tags, "same_circuit": same }))?;
        return Ok(ending);
    }
    for (index, (file, scanned, text)) in sightings.iter().enumerate() {
        if index > 0 {
            output.line("")?;
        }
        output.line(format!("{}: `{text}`", file.display()))?;
        match scanned {
            Scanned::Known(found) => output.line(found.in_words().trim_end())?,
            Scanned::Unknown { code, .. } => output.line(format!("`{code}` was never issued in this job"))?,
            Scanned::Nothing { .. } => output.line("this is no tag of ours")?,
        }
        tell_nearest(scanned.nearest(), output)?;
    }
    if let Some(same) = same {
        output.line("")?;
        output.line(if same {
            "both tags: the same circuit"
        } else {
            "the two tags are different circuits, as far as is known"
        })?;
    }
    Ok(ending)
}

fn same(recall: &Recall, one: &str, other: &str) -> Option<bool> {
    let code = |text: &str| -> Option<TagCode> { crate::codes::link::from_scanned(text).map(|(code, _)| code) };
    match recall.same_circuit(code(one)?, code(other)?) {
        Same::Yes => Some(true),
        Same::No => Some(false),
        Same::Unknown => None,
    }
}
