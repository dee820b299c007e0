//! `stock trial` and `stock measured`: the trial page of a printer, and what was measured on it.

use std::path::Path;

use serde_json::json;

use super::Ending;
use super::complaint::Complaint;
use super::output::Output;
use super::trial_args::{Measured as AskedMeasured, OnPrinter, Trial as AskedTrial};
use crate::base::{Checked, Length, problem};
use crate::pages::{Gauges, Geometry, Landing, Trying};
use crate::run::Job;
use crate::run::measured::{self, Far, Measured, Measures, Read};
use crate::run::trying::{self, Asked, PrinterTable, Tried, Untried};

/// Writes a trial page and tells what to measure on it.
pub fn write(folder: &Path, asked: &AskedTrial, output: &mut Output) -> Result<Ending, Complaint> {
    let Some((job, tried)) = opened(folder, &asked.on, output)? else { return Ok(Ending::Problems) };
    let trying = if asked.corrected { Trying::Correction } else { Trying::Printer };
    let path = trying::write(&job, &tried, trying, asked.out.as_deref())?;
    if asked.answer.json {
        let gauges = Gauges::of(&tried.stock);
        let (left, top) = (gauges.left.as_mm(), gauges.top.as_mm());
        let [across, down] = [gauges.across, gauges.down].map(|length| length.map(Length::as_mm));
        output.json(&json!({
            "file": path,
            "stock": tried.stock.name(),
            "printer": tried.table.name(),
            "corrected": asked.corrected,
            "sent_mm": { "ruler_x": across, "ruler_y": down, "left": left, "top": top },
        }))?;
        return Ok(Ending::Done);
    }
    output.line(format!("{}: trial page of `{}` for [{}]", path.display(), tried.stock.name(), tried.table.name()))?;
    if asked.corrected && tried.printer.landing == Landing::TRUE {
        output.line("nothing was measured yet: it is the same as without `--corrected`")?;
    }
    output.line("")?;
    for line in advice(&tried, trying) {
        output.line(line)?;
    }
    Ok(Ending::Done)
}

/// What to do with the page.
fn advice(tried: &Tried, trying: Trying) -> Vec<String> {
    let gauges = Gauges::of(&tried.stock);
    let paper = if matches!(tried.stock.geometry(), Geometry::Sheet(_)) { ", on plain paper of this size" } else { "" };
    let mut lines = vec![format!("print it at 100 % (actual size){paper}, and measure in mm:")];
    let combs = gauges.combs.filter(|_| trying == Trying::Printer);
    let ruler = |length: Option<Length>| length.map(|length| format!("from 0 to {}", length.as_mm()));
    let rows = [
        ("--ruler-x", "1", ruler(gauges.across).map(|words| format!("ruler across, {words}"))),
        ("--ruler-y", "2", ruler(gauges.down).map(|words| format!("ruler down, {words}"))),
        ("--left", "3", Some(format!("left edge to line 3, sent to lie at {:.1}", gauges.left))),
        ("--top", "4", Some(format!("upper edge to line 4, sent to lie at {:.1}", gauges.top))),
        ("--edges", "5", combs.map(|_| "combs: the smallest number whose line is there in full".to_owned())),
    ];
    let shown = rows.iter().filter_map(|(option, number, words)| Some((option, number, words.as_ref()?)));
    lines.extend(shown.map(|(option, number, words)| format!("  {number}  {option:<9}  {words}")));
    let mut command = format!("loomtag stock measured{}", tried.arguments);
    for (option, _, words) in &rows {
        match (*option, words) {
            (_, None) => {}
            ("--edges", Some(_)) => command.push_str(" --edges LEFT,RIGHT,TOP,BOTTOM"),
            (option, Some(_)) => command.push_str(&format!(" {option} MM")),
        }
    }
    if trying == Trying::Correction {
        lines.push("all is well when rulers and lines are right to 0.3 mm; else type what you measured:".to_owned());
        command.push_str(" --corrected");
    } else {
        lines.push("then type:".to_owned());
    }
    lines.push(format!("  {command}"));
    lines
}

/// Puts into job.toml what was measured.
pub fn measured(folder: &Path, asked: &AskedMeasured, output: &mut Output) -> Result<Ending, Complaint> {
    let Some((job, tried)) = opened(folder, &asked.on, output)? else { return Ok(Ending::Problems) };
    let measures = Measures {
        ruler_x: asked.ruler_x,
        ruler_y: asked.ruler_y,
        left: asked.left,
        top: asked.top,
        edges: asked.edges.map(|four| four.0),
        on: if asked.corrected { Read::Corrected } else { Read::Uncorrected },
        far: if asked.sure { Far::Meant } else { Far::Doubted },
    };
    let measured = match measured::measured(&job, &tried, &measures)? {
        Ok(measured) => measured,
        Err(untried) => return told(untried, output).map(|()| Ending::Problems),
    };
    if asked.answer.json {
        output.json(&as_json(&measured))?;
        return Ok(Ending::Done);
    }
    output.line(in_words(&measured))?;
    output.problems(measured.out_of_reach.as_slice());
    if measured.lines.is_empty() {
        output.line("job.toml says so already, and stays as it is")?;
        return Ok(Ending::Done);
    }
    output.line(format!("job.toml, table [{}]:", measured.table.name()))?;
    let shown = |lines: &'_ [String]| lines.iter().filter(|line| !line.trim().is_empty()).cloned().collect::<Vec<_>>();
    for line in shown(&measured.lines.old) {
        output.line(format!("  - {line}"))?;
    }
    for line in shown(&measured.lines.new) {
        output.line(format!("  + {line}"))?;
    }
    if !shown(&measured.lines.old).is_empty() {
        output.line("  to undo it put the lines with `-` in the place of those with `+`")?;
    } else {
        output.line("  to undo it take these lines out")?;
    }
    output.line("")?;
    if measures.edges.is_none() && measures.on == Read::Uncorrected && Gauges::of(&tried.stock).combs.is_some() {
        output.line("edges stay as they were: `--edges` takes what the combs 5 show")?;
    }
    output.line(format!(
        "every page is corrected by it now; `loomtag stock trial{} --corrected` checks it",
        tried.arguments
    ))?;
    Ok(Ending::Done)
}

/// `the printer moves pages by 1.3 mm to the right and 0.8 mm up, and prints 98.5 % across and 98.5 % down`
fn in_words(measured: &Measured) -> String {
    let (offset, (across, down)) = (measured.landing.offset(), measured.landing.scale());
    let way = |length: Length, one: &str, other: &str| match length {
        Length::ZERO => None,
        length if length < Length::ZERO => Some(format!("{:.2} {other}", length.abs())),
        length => Some(format!("{length:.2} {one}")),
    };
    let ways = [way(offset.x, "to the right", "to the left"), way(offset.y, "down", "up")];
    let ways: Vec<String> = ways.into_iter().flatten().collect();
    let moves =
        if ways.is_empty() { "does not move pages".to_owned() } else { format!("moves pages {}", ways.join(" and ")) };
    let percent = |scale: f64| format!("{:.2} %", scale * 100.0);
    format!("the printer {moves}, and prints {} across, {} down", percent(across), percent(down))
}

fn as_json(measured: &Measured) -> serde_json::Value {
    let (offset, (across, down)) = (measured.landing.offset(), measured.landing.scale());
    let edges = measured.edges.map(|edges| {
        let [left, right, top, bottom] = [edges.left, edges.right, edges.top, edges.bottom].map(Length::as_mm);
        json!({ "left": left, "right": right, "top": top, "bottom": bottom })
    });
    json!({
        "printer": measured.table.name(),
        "offset_mm": { "x": offset.x.as_mm(), "y": offset.y.as_mm() },
        "scale": { "x": across, "y": down },
        "edges_mm": edges,
        "out_of_reach": measured.out_of_reach.as_ref().map(|problem| &problem.message),
        "removed": measured.lines.old,
        "added": measured.lines.new,
    })
}

/// The job, its stock and printer; problems are told where there are none.
fn opened(folder: &Path, on: &OnPrinter, output: &mut Output) -> Result<Option<(Job, Tried)>, Complaint> {
    let Checked { value, problems } = Job::read(folder)?;
    let Some(job) = value.filter(|_| !problem::has_errors(&problems)) else {
        output.problems(&problems);
        return Ok(None);
    };
    let table = |typed: &String| PrinterTable::WORDS.iter().find(|(word, _)| word == typed).map(|(_, table)| *table);
    let asked = Asked { stock: on.stock.clone(), printer: on.printer.as_ref().and_then(table) };
    let tried = trying::tried(&job, &asked)?;
    match tried {
        Ok(tried) => Ok(Some((job, tried))),
        Err(untried) => told(untried, output).map(|()| None),
    }
}

/// Problems are told beside the answer; what was typed is a complaint.
fn told(untried: Untried, output: &Output) -> Result<(), Complaint> {
    match untried {
        Untried::Problems(problems) => {
            output.problems(&problems);
            Ok(())
        }
        Untried::Typed { what, remedy } => Err(Complaint::Typed { what, remedy: remedy.into() }),
    }
}
