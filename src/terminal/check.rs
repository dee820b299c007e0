//! `check`: problems, the fit table, and what is still undecided.

use std::path::Path;

use serde_json::json;

use super::args::Check;
use super::complaint::Complaint;
use super::fits::{self, fit_json};
use super::made::{no_symbol_lines, refusals, refused_json, stand_ins, tally_line, unmarked};
use super::output::{Output, count};
use super::shopping::{needs_json, needs_lines};
use super::table::columns;
use super::which::chosen;
use super::{Ending, outlook, preview, problems, stale};
use crate::base::{Finding, Problem, counted, problem};
use crate::run;
use crate::run::check::{Checkup, check};
use crate::run::rules::Decision;
use crate::run::sheets::Laying;
use crate::run::worked::Worked;

/// Checks and tells.
pub fn run(job: &Path, asked: &Check, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::read(job)?;
    let Some(mut reading) = read.value else {
        tell_problems(&read.problems, asked, output)?;
        return Ok(Ending::Problems);
    };
    if let Some(path) = &asked.with {
        return outlook::run(&reading, path, asked, output);
    }
    let Some(choice) = chosen(&asked.which, &reading, asked.answer, output)? else { return Ok(Ending::Problems) };
    let renames = run::likely_renames(&reading)?;
    reading.problems.splice(0..0, renames);
    if !asked.preview.is_empty() {
        return preview::run(&reading, asked, output);
    }
    let checkup = check(&reading, &choice, &Laying::default())?;
    let found: Vec<Problem> = reading.problems.iter().chain(&checkup.problems).cloned().collect();
    let ending = if problem::has_errors(&found) { Ending::Problems } else { Ending::Done };
    if asked.answer.json {
        output.json(&as_json(&found, &checkup))?;
        return Ok(ending);
    }
    tell_problems(&found, asked, output)?;
    if !asked.brief {
        output.line("")?;
        for line in fits::lines(&checkup.fits) {
            output.line(line)?;
        }
        for line in refusals(&checkup.refused) {
            output.line(line)?;
        }
        for line in unmarked(&checkup.tally) {
            output.line(line)?;
        }
        for line in decided(&checkup.decisions) {
            output.line(line)?;
        }
        for line in stale::lines(&checkup.stale).iter().enumerate().flat_map(|(at, line)| {
            let gap = (at == 0).then_some("");
            gap.into_iter().chain([line.as_str()])
        }) {
            output.line(line)?;
        }
        output.line("")?;
    }
    let needs = if asked.brief { Vec::new() } else { needs_lines(&checkup.needs) };
    if checkup.stale.not_known > 0 {
        output.line(stale::not_known(&checkup.stale))?;
    }
    if asked.brief && !checkup.stale.is_empty() {
        output.line(stale::summary(&checkup.stale))?;
    }
    for line in summary(&found, &checkup, needs) {
        output.line(line)?;
    }
    if let Some(problem) = found.first().filter(|_| !asked.brief) {
        output.line(format!("what a name in brackets means, and what to do: `loomtag explain {}`", problem.id))?;
    }
    Ok(ending)
}

/// Problems are what `check` is asked for, so they are its answer and go to standard output.
fn tell_problems(found: &[Problem], asked: &Check, output: &mut Output) -> Result<(), Complaint> {
    if asked.answer.json {
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

/// What each rule decided: where it stands, what it says, and how many ends of which connectors.
fn decided(decisions: &[Decision]) -> Vec<String> {
    const SHOWN: usize = 6;
    let row = |decision: &Decision| {
        let mut connectors: Vec<String> =
            decision.decided.iter().take(SHOWN).map(|(connector, count)| format!("{connector} {count}")).collect();
        if decision.decided.len() > SHOWN {
            connectors.push("…".to_owned());
        }
        let others = [(decision.by_rows, "decided in their rows"), (decision.by_rules, "decided by a rule above")];
        let others = others.iter().filter(|(count, _)| *count > 0).map(|(count, how)| format!("{count} {how}"));
        let what = [connectors.join(", ")].into_iter().filter(|text| !text.is_empty()).chain(others);
        let line = decision.origin.line().map_or_else(String::new, |line| format!(":{line}"));
        vec![
            format!("  {}{line}", decision.origin.file()),
            decision.says.clone(),
            counted(decision.count(), "end"),
            what.collect::<Vec<_>>().join("; "),
        ]
    };
    if decisions.is_empty() {
        return Vec::new();
    }
    let rows: Vec<Vec<String>> = decisions.iter().map(row).collect();
    let heading = ["".to_owned(), "decided by rules and by connectors.csv, where rows say nothing:".to_owned()];
    heading.into_iter().chain(columns(&rows)).collect()
}

fn decisions_json(decisions: &[Decision]) -> serde_json::Value {
    let one = |decision: &Decision| {
        let connectors: serde_json::Map<String, serde_json::Value> =
            decision.decided.iter().map(|(connector, count)| (connector.to_string(), json!(count))).collect();
        json!({
            "at": decision.origin.to_string(),
            "says": decision.says,
            "ends": decision.count(),
            "connectors": connectors,
            "decided_by_rows": decision.by_rows,
            "decided_by_rules_above": decision.by_rules,
        })
    };
    decisions.iter().map(one).collect()
}

fn summary(found: &[Problem], checkup: &Checkup, needs: Vec<String>) -> Vec<String> {
    let ends: usize = checkup.actions.values().sum();
    let actions: Vec<String> = checkup.actions.iter().map(|(action, count)| format!("{count} {action}")).collect();
    let mut lines = vec![
        format!(
            "{}, {}: {}",
            counted(checkup.circuits, "circuit"),
            counted(ends, "end"),
            if actions.is_empty() { "nothing to do".to_owned() } else { actions.join(", ") }
        ),
        tally_line(&checkup.tally),
    ];
    lines.extend(stand_ins(&checkup.tally));
    lines.extend(no_symbol_lines(&checkup.tally).map(|(_, line)| line));
    lines.extend(needs);
    if checkup.undecided > 0 {
        let still = counted(checkup.undecided, "end");
        lines.push(format!(
            "{still} still undecided: fill the action column, or decide many at once with a [[rule]] in job.toml"
        ));
    }
    if checkup.blanks > 0 {
        let blanks = counted(checkup.blanks, "blank");
        lines.push(format!("{blanks} not assigned yet: `loomtag blanks` lists them"));
    }
    lines.extend(noted_line(&checkup.worked));
    lines.push(count(found));
    lines
}

/// `noted: tagged 40, cut 12 of 57, pulled 30 of 41 (2 not planned); found: 1 damaged`; nothing where nothing is noted.
fn noted_line(worked: &Worked) -> Option<String> {
    let steps = worked.steps.iter().map(|(step, count)| {
        let of = count.of.map(|of| format!(" of {of}")).unwrap_or_default();
        match count.unplanned {
            0 => format!("{step} {}{of}", count.done),
            more => format!("{step} {}{of} ({more} more not planned)", count.done - more),
        }
    });
    let steps = steps.collect::<Vec<_>>().join(", ");
    let findings = worked.findings.iter().map(|(finding, count)| match finding {
        Finding::Colour | Finding::Size | Finding::Place => format!("{count} other {finding}"),
        Finding::Other => format!("{count} in words"),
        Finding::Empty | Finding::Damaged | Finding::Unlisted => format!("{count} {finding}"),
    });
    let findings = findings.collect::<Vec<_>>().join(", ");
    let found = if findings.is_empty() { String::new() } else { format!("found: {findings}") };
    let told: Vec<String> = [steps, found].into_iter().filter(|part| !part.is_empty()).collect();
    (!told.is_empty()).then(|| format!("noted: {}", told.join("; ")))
}

fn as_json(found: &[Problem], checkup: &Checkup) -> serde_json::Value {
    json!({
        "problems": problems::records(found),
        "fits": checkup.fits.iter().map(fit_json).collect::<Vec<_>>(),
        "refused": refused_json(&checkup.refused),
        "shopping": needs_json(&checkup.needs),
        "circuits": checkup.circuits,
        "actions": checkup.actions,
        "undecided": checkup.undecided,
        "stale": stale::stale_json(&checkup.stale),
        "blanks_not_assigned": checkup.blanks,
        "noted": noted_json(&checkup.worked),
        "decisions": decisions_json(&checkup.decisions),
        "length_not_known": checkup.tally.of_no_length,
        "too_short": checkup.tally.too_short,
    })
}

fn noted_json(worked: &Worked) -> serde_json::Value {
    let steps = worked.steps.iter().map(|(step, count)| {
        (step.word().to_owned(), json!({ "done": count.done, "of": count.of, "unplanned": count.unplanned }))
    });
    let findings = worked.findings.iter().map(|(finding, count)| {
        let word = if *finding == Finding::Other { "other" } else { finding.word() };
        (word.to_owned(), json!(count))
    });
    json!({
        "steps": steps.collect::<serde_json::Map<_, _>>(),
        "findings": findings.collect::<serde_json::Map<_, _>>(),
    })
}
