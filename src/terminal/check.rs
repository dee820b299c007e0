//! `check`: problems, the fit table, and what is still undecided.

use std::path::Path;

use serde_json::json;

use super::args::Check;
use super::complaint::Complaint;
use super::made::{refusals, refused_json, tally_line};
use super::output::{Output, count, plural};
use super::table::table;
use super::which::{choice, tell_unknown_connectors};
use super::{Ending, problems};
use crate::base::{Problem, Purpose, problem};
use crate::layout::wire::{MEASURE_FIRST, Tabled};
use crate::layout::{Diameter, Facts};
use crate::run;
use crate::run::check::{Checkup, Fit, check};

/// Columns of the fit table; heights in mm.
const HEADING: [&str; 8] = ["tag", "place", "kind", "stock", "code mm", "lines mm", "symbol", "remarks"];

/// Checks and tells.
pub fn run(job: &Path, asked: &Check, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::read(job)?;
    let Some(reading) = read.value else {
        tell_problems(&read.problems, asked, output)?;
        return Ok(Ending::Problems);
    };
    if tell_unknown_connectors(&reading, &asked.which, asked.json, output)? {
        return Ok(Ending::Problems);
    }
    let checkup = check(&reading, &choice(&asked.which))?;
    let ending = if problem::has_errors(&reading.problems) { Ending::Problems } else { Ending::Done };
    if asked.json {
        output.json(&as_json(&reading.problems, &checkup))?;
        return Ok(ending);
    }
    tell_problems(&reading.problems, asked, output)?;
    if !asked.brief {
        output.line("")?;
        let rows: Vec<Vec<String>> = checkup.fits.iter().map(row).collect();
        let heading: &[&str] = if rows.is_empty() { &[] } else { &HEADING };
        for line in table(heading, &rows) {
            output.line(line)?;
        }
        for line in refusals(&checkup.refused) {
            output.line(line)?;
        }
        output.line("")?;
    }
    for line in summary(&reading.problems, &checkup) {
        output.line(line)?;
    }
    Ok(ending)
}

/// Problems are what `check` is asked for, so they are its answer and go to standard output.
fn tell_problems(found: &[Problem], asked: &Check, output: &mut Output) -> Result<(), Complaint> {
    if asked.json {
        output.json(&json!({ "problems": problems::records(found) }))?;
    } else if asked.brief {
        for line in problems::one_line(found).lines() {
            output.line(line)?;
        }
    } else if !found.is_empty() {
        output.line(problems::full(found, problems::Colouring::Plain).trim_end())?;
    }
    Ok(())
}

fn row(fit: &Fit) -> Vec<String> {
    let facts = &fit.facts;
    let symbol =
        facts.symbol.map_or_else(|| "none".to_owned(), |symbol| format!("{}, {:.2}", symbol.kind, symbol.module));
    vec![
        fit.name.clone(),
        fit.place.clone(),
        format!("{} {}", fit.purpose, facts.kind),
        fit.stock.clone(),
        format!("{:.1}", facts.code.as_mm()),
        facts.lines.map_or_else(|| "-".to_owned(), |height| format!("{:.1}", height.as_mm())),
        symbol,
        remarks(fit),
    ]
}

fn remarks(fit: &Fit) -> String {
    let facts = &fit.facts;
    let fields =
        |fields: &[crate::labels::Field]| fields.iter().map(|field| field.word()).collect::<Vec<_>>().join(", ");
    let mut remarks = Vec::new();
    match facts.diameter {
        Diameter::Measured(_) => {}
        Diameter::Tabled(length, _) if fit.purpose == Purpose::Final => {
            remarks.push(format!("table value {length}, {MEASURE_FIRST}"));
        }
        Diameter::Tabled(length, _) => remarks.push(format!("table value {length}")),
        Diameter::Assumed(length) => remarks.push(format!("diameter not known, {length} assumed")),
    }
    remarks.extend(fit.near.clone());
    remarks.extend(facts.symbol_note.clone());
    if !facts.shortened.is_empty() {
        remarks.push(format!("shortened: {}", fields(&facts.shortened)));
    }
    if !facts.dropped.is_empty() {
        remarks.push(format!("left out: {}", fields(&facts.dropped)));
    }
    remarks.extend(undrawable(facts));
    remarks.extend(facts.tube.as_ref().map(ToString::to_string));
    remarks.join("; ")
}

/// `note left out: the fonts have no ...`
fn undrawable(facts: &Facts) -> impl Iterator<Item = String> + '_ {
    facts.undrawable.iter().map(|(field, missing)| format!("{} left out: {missing}", field.word()))
}

fn summary(found: &[Problem], checkup: &Checkup) -> Vec<String> {
    let ends: usize = checkup.actions.values().sum();
    let actions: Vec<String> = checkup.actions.iter().map(|(action, count)| format!("{count} {action}")).collect();
    let mut lines = vec![
        format!(
            "{}, {}: {}",
            plural(checkup.circuits, "circuit"),
            plural(ends, "end"),
            if actions.is_empty() { "nothing to do".to_owned() } else { actions.join(", ") }
        ),
        tally_line(&checkup.tally),
    ];
    if checkup.undecided > 0 {
        let still = plural(checkup.undecided, "end");
        lines.push(format!(
            "{still} still undecided: fill the action column (keep, remove, cut, move, extend, reserve)"
        ));
    }
    lines.push(count(found));
    lines
}

/// Where a diameter comes from, in a word.
const fn diameter_from(diameter: Diameter) -> &'static str {
    match diameter {
        Diameter::Measured(_) => "measured",
        Diameter::Tabled(..) => "table",
        Diameter::Assumed(_) => "assumed",
    }
}

fn table_row(row: &Tabled) -> serde_json::Value {
    json!({
        "insulation": row.insulation.to_string(),
        "size": row.size.to_string(),
        "diameter_mm": row.diameter.as_mm(),
        "what": row.what.word(),
        "source": row.source,
        "standing": row.standing.word(),
    })
}

fn as_json(found: &[Problem], checkup: &Checkup) -> serde_json::Value {
    let fits: Vec<_> = checkup
        .fits
        .iter()
        .map(|fit| {
            let facts = &fit.facts;
            json!({
                "tag": fit.name,
                "place": fit.place,
                "purpose": fit.purpose.to_string(),
                "kind": facts.kind.to_string(),
                "stock": fit.stock,
                "diameter_mm": facts.diameter.length().as_mm(),
                "diameter_from": diameter_from(facts.diameter),
                "table": facts.diameter.row().map(table_row),
                "near": fit.near,
                "code_mm": facts.code.as_mm(),
                "lines_mm": facts.lines.map(|height| height.as_mm()),
                "symbol": facts.symbol.map(|symbol| json!({
                    "kind": symbol.kind.to_string(),
                    "module_mm": symbol.module.as_mm(),
                })),
                "symbol_note": facts.symbol_note,
                "left_out": facts.dropped.iter().map(|field| field.word()).collect::<Vec<_>>(),
                "undrawable": undrawable(facts).collect::<Vec<_>>(),
                "shortened": facts.shortened.iter().map(|field| field.word()).collect::<Vec<_>>(),
                "tube": facts.tube.as_ref().map(ToString::to_string),
                "says": facts.said,
            })
        })
        .collect();
    json!({
        "problems": problems::records(found),
        "fits": fits,
        "refused": refused_json(&checkup.refused),
        "circuits": checkup.circuits,
        "actions": checkup.actions,
        "undecided": checkup.undecided,
    })
}
