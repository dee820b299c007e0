//! How tags fit, as a table: a part for each stock, and below them what is to be said of many tags at once.
//!
//! In: the fits of a check. Out: lines of at most a hundred columns, or JSON, which holds everything of every tag.

use serde_json::{Value, json};

use super::table::{table, wrapped};
use crate::base::{Length, Purpose};
use crate::labels::{Field, Position};
use crate::layout::wire::{MEASURE_FIRST, Tabled};
use crate::layout::{Diameter, TubeUse};
use crate::run::check::Fit;

/// Columns of every part of the table.
const HEADING: [&str; 6] = ["tag", "place", "wire", "code", "lines", "symbol"];

/// What the table is read by.
const LEGEND: [&str; 2] = [
    "wire, letters, modules and lengths of tube in mm; of a wire * is a table value, ( ) is assumed;",
    "the numbers on the right are notes below the table",
];

/// The table, and the notes below it.
pub fn lines(fits: &[Fit]) -> Vec<String> {
    let mut parts: Vec<(String, Vec<&Fit>)> = Vec::new();
    for fit in fits {
        let title = format!("{} {}s on {}", fit.purpose, fit.facts.kind, fit.stock);
        match parts.iter_mut().find(|(known, _)| *known == title) {
            Some((_, rows)) => rows.push(fit),
            None => parts.push((title, vec![fit])),
        }
    }
    parts.sort_by_key(|(_, rows)| (rows[0].purpose, rows[0].facts.kind));
    let notes = Notes::of(fits);
    let mut lines = Vec::new();
    if !fits.is_empty() {
        lines.extend(LEGEND.map(str::to_owned));
    }
    for (title, rows) in parts {
        lines.push(String::new());
        lines.push(match rows[0].facts.tube.as_ref().filter(|tube| tube.tube == TubeUse::Printed) {
            Some(tube) => format!("{title} ({} tube): {}", tube.size, rows.len()),
            None => format!("{title}: {}", rows.len()),
        });
        lines.extend(part(&rows, &notes));
    }
    lines.extend(notes.lines());
    lines
}

fn part(fits: &[&Fit], notes: &Notes) -> Vec<String> {
    let tube = fits.iter().find_map(|fit| fit.facts.tube.as_ref()).map(|tube| tube.tube);
    let mut heading = HEADING.to_vec();
    let any_at = fits.iter().any(|fit| fit.at.is_some());
    heading.extend(any_at.then_some("where"));
    heading.extend(tube.map(|tube| if tube == TubeUse::Printed { "length" } else { "clear tube" }));
    let any_notes = fits.iter().any(|fit| !remarks(fit).is_empty());
    heading.extend(any_notes.then_some("notes"));
    let rows: Vec<Vec<String>> = fits
        .iter()
        .map(|fit| {
            let facts = &fit.facts;
            let mut row = vec![fit.name.clone(), fit.place.clone(), wire(fit), mm(facts.code)];
            row.push(facts.lines.map_or_else(|| "-".to_owned(), mm));
            row.push(match facts.symbol {
                Some(symbol) => format!("{} {:.2}", symbol.kind, symbol.module.as_mm()),
                None => "-".to_owned(),
            });
            if any_at {
                row.push(fit.at.as_ref().map(ToString::to_string).unwrap_or_default());
            }
            if tube.is_some() {
                row.push(facts.tube.as_ref().map_or_else(String::new, |tube| match tube.tube {
                    TubeUse::Printed => mm(tube.length),
                    TubeUse::Clear => format!("{}, {}", tube.size, mm(tube.length)),
                }));
            }
            row.push(notes.numbers(fit));
            row
        })
        .collect();
    table(&heading, &rows)
}

fn mm(length: Length) -> String {
    format!("{:.1}", length.as_mm())
}

/// The wire's diameter; a table value has a star, what is only assumed stands in brackets. Tie-ons and tags of connectors
/// have no wire of their own.
fn wire(fit: &Fit) -> String {
    match fit.facts.diameter {
        Diameter::Measured(length) => mm(length),
        Diameter::Tabled(length, _) => format!("{}*", mm(length)),
        Diameter::Assumed(_) if fit.of_connector || !fit.facts.is_for_assumed_diameter() => "-".to_owned(),
        Diameter::Assumed(length) => format!("({})", mm(length)),
    }
}

/// What is to be said of a tag, in sentences that many tags may share.
pub fn remarks(fit: &Fit) -> Vec<String> {
    let facts = &fit.facts;
    let fields = |fields: &[Field]| fields.iter().map(|field| field.word()).collect::<Vec<_>>().join(", ");
    let mut remarks = Vec::new();
    remarks.extend(facts.instead_of.as_ref().map(|(usual, why)| format!("instead of a {usual}: {why}")));
    match facts.diameter {
        Diameter::Tabled(length, _) if fit.purpose == Purpose::Final => {
            remarks.push(format!("table value {length}, {MEASURE_FIRST}"));
        }
        Diameter::Assumed(length) if facts.is_for_assumed_diameter() && !fit.of_connector => {
            remarks.push(format!("diameter not known, {length} assumed"));
        }
        Diameter::Measured(_) | Diameter::Tabled(..) | Diameter::Assumed(_) => {}
    }
    remarks.extend(fit.near.clone());
    remarks.extend(facts.symbol_note.clone());
    if !facts.shortened.is_empty() {
        remarks.push(format!("shortened: {}", fields(&facts.shortened)));
    }
    if !facts.dropped.is_empty() {
        remarks.push(format!("left out: {}", fields(&facts.dropped)));
    }
    remarks.extend(facts.undrawn());
    remarks
}

/// Remarks of all tags, each once, with how many tags it is about. Remarks that differ in millimetres alone are one.
struct Notes(Vec<Note>);

struct Note {
    key: Vec<String>,
    texts: Vec<String>,
    tags: usize,
}

impl Notes {
    fn of(fits: &[Fit]) -> Self {
        let mut notes = Self(Vec::new());
        for text in fits.iter().flat_map(remarks) {
            let key = without_millimetres(&text);
            match notes.0.iter_mut().find(|note| note.key == key) {
                Some(note) => {
                    note.tags += 1;
                    if !note.texts.contains(&text) {
                        note.texts.push(text);
                    }
                }
                None => notes.0.push(Note { key, texts: vec![text], tags: 1 }),
            }
        }
        notes
    }

    fn numbers(&self, fit: &Fit) -> String {
        let number = |text: String| {
            let key = without_millimetres(&text);
            self.0.iter().position(|note| note.key == key)
        };
        let mut numbers: Vec<usize> = remarks(fit).into_iter().filter_map(number).collect();
        numbers.sort_unstable();
        numbers.iter().map(|at| (at + 1).to_string()).collect::<Vec<_>>().join(" ")
    }

    fn lines(&self) -> Vec<String> {
        if self.0.is_empty() {
            return Vec::new();
        }
        let mut lines = vec![String::new(), "note  tags".to_owned()];
        for (at, note) in self.0.iter().enumerate() {
            let text = format!("{:>4}  {:>4}  {}", at + 1, note.tags, merged(&note.texts));
            lines.extend(wrapped(&text, 12));
        }
        lines
    }
}

/// The words of a remark, with an empty one for every number of millimetres.
fn without_millimetres(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split(' ').collect();
    let is_mm = |at: usize| {
        let unit = words.get(at + 1).is_some_and(|unit| unit.trim_end_matches([',', ';', ')']) == "mm");
        unit && words[at].parse::<f64>().is_ok()
    };
    words.iter().enumerate().map(|(at, word)| if is_mm(at) { String::new() } else { (*word).to_owned() }).collect()
}

/// Texts that differ in millimetres alone as one: `2.4 to 5.4 mm over the tag`.
fn merged(texts: &[String]) -> String {
    let Some(first) = texts.first() else { return String::new() };
    let each: Vec<Vec<&str>> = texts.iter().map(|text| text.split(' ').collect()).collect();
    let word = |(at, key): (usize, &String)| {
        if !key.is_empty() {
            return key.clone();
        }
        let mut numbers: Vec<&str> = each.iter().filter_map(|words| words.get(at).copied()).collect();
        numbers.sort_by(|a, b| a.parse::<f64>().unwrap_or(0.0).total_cmp(&b.parse::<f64>().unwrap_or(0.0)));
        match (numbers.first(), numbers.last()) {
            (Some(least), Some(most)) if least != most => format!("{least} to {most}"),
            (Some(least), _) => (*least).to_owned(),
            _ => String::new(),
        }
    };
    without_millimetres(first).iter().enumerate().map(word).collect::<Vec<_>>().join(" ")
}

/// Where a diameter comes from, in a word.
const fn diameter_from(diameter: Diameter) -> &'static str {
    match diameter {
        Diameter::Measured(_) => "measured",
        Diameter::Tabled(..) => "table",
        Diameter::Assumed(_) => "assumed",
    }
}

fn table_row(row: &Tabled) -> Value {
    json!({
        "insulation": row.insulation.to_string(),
        "size": row.size.to_string(),
        "diameter_mm": row.diameter.as_mm(),
        "what": row.what.word(),
        "source": row.source,
        "standing": row.standing.word(),
    })
}

/// All that is known of how a tag fits, for programs.
pub fn fit_json(fit: &Fit) -> Value {
    let facts = &fit.facts;
    let words = |fields: &[Field]| fields.iter().map(|field| field.word()).collect::<Vec<_>>();
    json!({
        "tag": fit.name,
        "place": fit.place,
        "at_mm": fit.at.as_ref().map(Position::at_mm),
        "from": fit.at.as_ref().map(|at| at.from.to_string()),
        "purpose": fit.purpose.to_string(),
        "kind": facts.kind.to_string(),
        "instead_of": facts.instead_of.as_ref().map(|(usual, why)| json!({ "kind": usual.to_string(), "why": why })),
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
        "left_out": words(&facts.dropped),
        "undrawable": facts.undrawn().collect::<Vec<_>>(),
        "shortened": words(&facts.shortened),
        "tube": facts.tube.as_ref().map(ToString::to_string),
        "says": facts.said,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn remarks_that_differ_in_millimetres_are_one() {
        let thin = |over: &str| {
            format!("no symbol: {over} mm over the tag, and Data Matrix 8x18 is read round 5.7 mm or more")
        };
        assert_eq!(without_millimetres(&thin("2.4")), without_millimetres(&thin("10.6")));
        assert_eq!(
            merged(&[thin("3.6"), thin("10.6"), thin("2.4")]),
            "no symbol: 2.4 to 10.6 mm over the tag, and Data Matrix 8x18 is read round 5.7 mm or more"
        );
        let left_out = |fields: &str| format!("left out: {fields}");
        assert_ne!(without_millimetres(&left_out("note")), without_millimetres(&left_out("branch")));
        let faces = "no symbol: faces of 12.66 mm are below 14 mm (a label 66.2 mm long would do)".to_owned();
        assert_eq!(merged(std::slice::from_ref(&faces)), faces);
    }
}
