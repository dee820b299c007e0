//! `export`: the register as CSV files.

use std::path::Path;

use jiff::Timestamp;
use serde_json::{Map, Value, json};

use super::Ending;
use super::args::Export;
use super::complaint::Complaint;
use super::output::Output;
use crate::base::counted;
use crate::run;

/// Exports and tells.
pub fn run(job: &Path, asked: &Export, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let exported = run::export(job, asked.folder.as_deref(), now)?.ok_or_else(|| Complaint::Typed {
        what: format!("no code was issued in `{}` yet", job.display()),
        remedy: "name the job folder with --job; `loomtag tags` issues codes".to_owned(),
    })?;
    if asked.answer.json {
        let rows: Map<String, Value> =
            exported.rows.iter().map(|(table, rows)| (table.clone(), Value::from(*rows))).collect();
        output.json(&json!({ "folder": exported.folder, "rows": rows }))?;
        return Ok(Ending::Done);
    }
    let count = |table: &str, thing: &str| counted(exported.rows_of(table), thing);
    output.line(format!(
        "{}: {}, {} of wires, {}, {} printed, in {}",
        exported.folder.display(),
        counted(exported.codes, "code"),
        count("end_of_wire", "end"),
        count("print_run", "print run"),
        count("printed_tag", "tag"),
        counted(exported.rows.len() + 1, "file")
    ))?;
    output.line("keep a copy on another disk; `loomtag import` reads it back")?;
    Ok(Ending::Done)
}
