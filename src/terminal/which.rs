//! Which tags were asked for: the flags of `check` and `tags` come in, a choice goes out, or what they name in vain.

use serde_json::json;

use super::args::Which;
use super::complaint::Complaint;
use super::output::Output;
use crate::base::{ConnectorId, Purpose};
use crate::labels::{Doubled, Reach};
use crate::run::{Choice, Connectors, Only, Reading};

/// What the flags choose.
pub fn choice(which: &Which, reading: &Reading) -> Choice {
    let purposes = match (which.work, which.final_tags) {
        (true, false) => vec![Purpose::Work],
        (false, true) => vec![Purpose::Final],
        _ => vec![Purpose::Work, Purpose::Final],
    };
    let reach = match (which.all, which.removed) {
        (true, _) => Reach::All,
        (_, true) => Reach::WithRemoved,
        _ => Reach::Needed,
    };
    let only = which.connector.iter().filter_map(|name| ConnectorId::from_cell(name)).map(Only::Connector).collect();
    let doubled = if which.apart { Doubled::Apart } else { Doubled::Together };
    // A connector of which rows are missing may not stay whole.
    let is_known = reading.knows_all_rows();
    let connectors = if which.no_connectors || !is_known { Connectors::Untagged } else { Connectors::Tagged };
    let along = which.along.then_some(reading.job.tags().setback.value);
    Choice { purposes, reach, doubled, connectors, along, only, ..Choice::default() }
}

/// Tells of connectors that were asked for and that no list names; whether there were any.
pub fn tell_unknown_connectors(
    reading: &Reading,
    which: &Which,
    json: bool,
    output: &mut Output,
) -> Result<bool, Complaint> {
    let ends = || reading.circuits.all().iter().flat_map(|circuit| circuit.ends());
    let is_unknown =
        |name: &&String| !ends().any(|end| Some(&end.place.connector) == ConnectorId::from_cell(name).as_ref());
    let unknown: Vec<&String> = which.connector.iter().filter(is_unknown).collect();
    if json && !unknown.is_empty() {
        output.json(&json!({ "unknown_connectors": unknown }))?;
    } else {
        let mut known: Vec<&str> = ends().map(|end| end.place.connector.as_str()).collect();
        known.sort_unstable();
        known.dedup();
        for name in &unknown {
            output.line(format!("no list names a connector `{name}`; there are {}", known.join(", ")))?;
        }
    }
    Ok(!unknown.is_empty())
}
