//! `check --preview`: tags drawn before they are printed.

use serde_json::json;

use super::Ending;
use super::args::Check;
use super::complaint::{Complaint, with_remedy};
use super::fits::{fit_json, remarks};
use super::made::{refusals, refused_json};
use super::output::{Output, count};
use super::picture::drawn_line;
use super::which::choice;
use crate::run::{Preview, Previews, Reading, preview};

/// Draws and tells.
pub fn run(reading: &Reading, asked: &Check, output: &mut Output) -> Result<Ending, Complaint> {
    let previews = preview(reading, &choice(&asked.which, reading), &asked.preview, asked.out.as_deref())?;
    if asked.answer.json {
        output.json(&as_json(&previews))?;
    } else {
        if !reading.problems.is_empty() {
            output.aside(format!("{}: `loomtag check` shows them", count(&reading.problems)));
        }
        tell(&previews, output)?;
    }
    // An end that stays has no final tag: that is told, and no fault as long as something was to be seen.
    let is_done = previews.refused.is_empty() && previews.unknown.is_empty() && !previews.shown.is_empty();
    Ok(if is_done { Ending::Done } else { Ending::Problems })
}

fn tell(previews: &Previews, output: &mut Output) -> Result<(), Complaint> {
    for Preview { fit, dpi, path, drawn } in &previews.shown {
        output.line(drawn_line(path, &fit.facts, *drawn, *dpi))?;
        let at = fit.at.as_ref().map_or_else(|| fit.place.clone(), |at| format!("{}, {at}", fit.place));
        output.line(format!("  {} at {at}, on {}", fit.name, fit.stock))?;
        let tube = fit.facts.tube.as_ref().map(ToString::to_string);
        for remark in remarks(fit).into_iter().chain(tube) {
            output.line(format!("  {remark}"))?;
        }
    }
    let unknown = previews.unknown.iter().map(|(_, why)| with_remedy(why, why.remedy()));
    for line in refusals(&previews.refused).into_iter().chain(previews.none.clone()).chain(unknown) {
        output.line(line)?;
    }
    if !previews.shown.is_empty() {
        output.line("nothing was issued or printed")?;
    }
    Ok(())
}

fn as_json(previews: &Previews) -> serde_json::Value {
    let shown = |preview: &Preview| {
        let mut json = fit_json(&preview.fit);
        json["file"] = json!(preview.path);
        json["dpi"] = json!(preview.dpi);
        json["width_mm"] = json!(preview.drawn.size.width.as_mm());
        json["height_mm"] = json!(preview.drawn.size.height.as_mm());
        json
    };
    let unknown = previews.unknown.iter().map(|(typed, why)| json!({ "typed": typed, "why": why.to_string() }));
    json!({
        "shown": previews.shown.iter().map(shown).collect::<Vec<_>>(),
        "refused": refused_json(&previews.refused),
        "no_tag": previews.none,
        "unknown": unknown.collect::<Vec<_>>(),
    })
}
