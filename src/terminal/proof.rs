//! `proof`: reads back the symbols of a PDF.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::args::Proof;
use super::complaint::Complaint;
use super::output::Output;
use super::progress::with_bars;
use crate::base::counted;
use crate::codes::link::{self, Meaning};
use crate::proof::Spot;
use crate::run::proofing::{Proofing, proof};
use crate::run::sendable::of_last_run;

/// Proves each PDF and tells.
pub fn run(job: &Path, asked: &Proof, output: &mut Output) -> Result<Ending, Complaint> {
    let mut ending = Ending::Done;
    let mut answers = Vec::new();
    for typed in &asked.files {
        // A bare name is that of a file here, else of one of the last run.
        let of_run = (!typed.exists()).then(|| of_last_run(job, typed)).flatten();
        let file = of_run.as_ref().unwrap_or(typed);
        let found = with_bars(|progress| proof(file, progress))?;
        if !found.is_sound() {
            ending = Ending::Problems;
        }
        if asked.answer.json {
            answers.push(as_json(&file.display().to_string(), &found));
        } else {
            tell(&file.display().to_string(), &found, output)?;
        }
    }
    if asked.answer.json {
        output.json(&answers)?;
    }
    Ok(ending)
}

fn tell(file: &str, found: &Proofing, output: &mut Output) -> Result<(), Complaint> {
    match found {
        Proofing::Compared(proof) => {
            output.line(format!("{file}: {proof}"))?;
            for miss in &proof.misses {
                output.line(format!("  {miss}"))?;
            }
        }
        Proofing::Read(sightings) => {
            output.line(format!(
                "{file}: no run.json tells what it should carry; {} found",
                counted(sightings.len(), "symbol")
            ))?;
            for sighting in sightings {
                let place = match sighting.spot {
                    Spot::Page { number, .. } => format!("page {number}"),
                    Spot::Photo { .. } => "photograph".to_owned(),
                };
                let verdict = match link::from_scanned(&sighting.text) {
                    Some(Meaning::Circuit(..)) => "a code",
                    Some(Meaning::Connector(_)) => "a connector",
                    None => "no code of ours",
                };
                output.line(format!("  {place}: `{}`, {verdict}", sighting.text))?;
            }
        }
    }
    Ok(())
}

fn as_json(file: &str, found: &Proofing) -> serde_json::Value {
    match found {
        Proofing::Compared(proof) => json!({
            "file": file,
            "expected": proof.expected,
            "read": proof.read,
            "misses": proof.misses.iter().map(|miss| json!({
                "tag": miss.name,
                "page": miss.page,
                "expected": miss.expected,
                "why": miss.to_string(),
            })).collect::<Vec<_>>(),
        }),
        Proofing::Read(sightings) => json!({
            "file": file,
            "symbols": sightings.iter().map(|sighting| &sighting.text).collect::<Vec<_>>(),
        }),
    }
}
