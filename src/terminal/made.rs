//! What was made and what was refused, in words and for programs.

use serde_json::json;

use super::table::{COLUMNS, table, wrapped};
use crate::base::{TagKind, counted};
use crate::labels::Position;
use crate::run::Refused;
use crate::run::tally::Tally;

/// Up to this number of reasons for one thing, each is told.
const MOST_REASONS: usize = 3;

/// `184 flags, 22 sleeves in 4 tube sizes, 6 strips; 184 with a symbol`.
pub fn tally_line(tally: &Tally) -> String {
    if tally.tags() == 0 {
        return "no tags".to_owned();
    }
    let kind = |(kind, count): (&TagKind, &usize)| {
        let tags = counted(*count, &kind.to_string());
        let is_sleeve = *kind == TagKind::Sleeve && !tally.tubes.is_empty();
        if is_sleeve { format!("{tags} in {}", counted(tally.tubes.len(), "tube size")) } else { tags }
    };
    let kinds: Vec<String> = tally.kinds.iter().map(kind).collect();
    let mut said = Vec::new();
    // Where the wording wants no symbol, nothing is said of any.
    if tally.symbols > 0 || !tally.no_symbol.is_empty() {
        said.push(format!("{} with a symbol", tally.symbols));
    }
    if tally.connectors > 0 {
        said.push(format!("{} of connectors", tally.connectors));
    }
    if tally.blanks > 0 {
        said.push(format!("{} blank", tally.blanks));
    }
    if tally.marks > 0 {
        said.push(format!("{} along wires", tally.marks));
    }
    if tally.shortened > 0 {
        said.push(format!("{} with fewer words than asked for", tally.shortened));
    }
    [kinds.join(", "), said.join(", ")].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}

/// Tags that stand in for the usual kind, `2 tie-ons instead of flags: a wire of 16 mm leaves no faces ... (7KF4 A, 7KF4 B)`; of
/// many reasons only that of most tags.
pub fn stand_ins(tally: &Tally) -> Vec<String> {
    let line = |kind: TagKind, usual: TagKind, why: &str, tags: &[String]| {
        let usual = if tags.len() == 1 { format!("a {usual}") } else { format!("{usual}s") };
        // The marks along a wire go by one name.
        let mut names = tags.to_vec();
        names.dedup();
        format!("{} instead of {usual}: {why} ({})", counted(tags.len(), kind.word()), names.join(", "))
    };
    let mut lines = Vec::new();
    for (&(kind, usual), reasons) in &tally.stand_ins {
        if reasons.len() <= MOST_REASONS {
            lines.extend(reasons.iter().map(|(why, tags)| line(kind, usual, why, tags)));
            continue;
        }
        let count = reasons.values().map(Vec::len).sum();
        let most = reasons.iter().max_by_key(|(_, tags)| tags.len());
        lines.extend(most.map(|(why, tags)| {
            let tags = counted(tags.len(), "tag");
            let all = counted(count, kind.word());
            format!("{all} instead of {usual}s, {tags} of them because {why}; `loomtag check` tells each")
        }));
    }
    lines.iter().flat_map(|line| wrapped(line, 2)).collect()
}

/// `22 sleeves carry no symbol: wire too thin for a sleeve symbol`, kind by kind.
pub fn no_symbol_lines(tally: &Tally) -> impl Iterator<Item = (TagKind, String)> {
    tally.no_symbol.iter().map(|(kind, count)| {
        let why = match kind {
            kind if kind.is_round() => format!("wire too thin for a {kind} symbol"),
            _ => "no room for one".to_owned(),
        };
        let carry = if *count == 1 { "carries" } else { "carry" };
        (*kind, format!("{} {carry} no symbol: {why}", counted(*count, &kind.to_string())))
    })
}

/// Lines that are missing on tags for want of a font.
pub fn undrawn(tally: &Tally) -> Vec<String> {
    let line = |(what, tags): (&String, &Vec<String>)| wrapped(&format!("{what} ({})", some_of(tags)), 2);
    tally.undrawn.iter().flat_map(line).collect()
}

/// Where tags sit on their wires, where marks along wires are wanted.
pub fn positions(tally: &Tally) -> Vec<String> {
    let row = |(name, at): &(String, Position)| vec![name.clone(), at.wire.clone(), at.to_string()];
    let rows: Vec<Vec<String>> = tally.positions.iter().map(row).collect();
    if rows.is_empty() { Vec::new() } else { table(&["tag", "wire", "where"], &rows) }
}

/// Which wires have no marks along them.
pub fn unmarked(tally: &Tally) -> Vec<String> {
    let mut lines = Vec::new();
    if !tally.of_no_length.is_empty() {
        let wires = counted(tally.of_no_length.len(), "wire");
        let named = some_of(&tally.of_no_length);
        lines.push(format!(
            "{wires} without marks between the ends, because the length is not known: fill the length column ({named})"
        ));
    }
    if !tally.too_short.is_empty() {
        let wires = counted(tally.too_short.len(), "wire");
        lines.push(format!("{wires} under 76 mm: too short for any tag ({})", some_of(&tally.too_short)));
    }
    lines
}

/// The first few, and that there are more.
fn some_of(names: &[String]) -> String {
    const TOLD: usize = 8;
    let more = if names.len() > TOLD { ", ..." } else { "" };
    format!("{}{more}", names[..names.len().min(TOLD)].join(", "))
}

/// Both for programs.
pub fn positions_json(tally: &Tally) -> serde_json::Value {
    let one = |(name, at): &(String, Position)| json!({ "tag": name, "wire": at.wire, "at_mm": at.at_mm(), "from": at.from.to_string() });
    json!({
        "tags": tally.positions.iter().map(one).collect::<Vec<_>>(),
        "length_not_known": tally.of_no_length,
        "too_short": tally.too_short,
    })
}

/// The tags that cannot be made, each with its reason; the same reason at many ends is told once.
pub fn refusals(refused: &[Refused]) -> Vec<String> {
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    for tag in refused {
        let near = tag.near.as_ref().map(|near| format!("; {near}")).unwrap_or_default();
        let why = format!("no {} tag: {}{near}", tag.purpose, tag.refusal);
        let which = if tag.place.is_empty() { tag.name.clone() } else { format!("{} at {}", tag.name, tag.place) };
        match told.iter_mut().find(|(known, _)| *known == why) {
            // The marks along a wire go by one name.
            Some((_, tags)) if tags.contains(&which) => {}
            Some((_, tags)) => tags.push(which),
            None => told.push((why, vec![which])),
        }
    }
    let lines = |(why, tags): (String, Vec<String>)| {
        let tags = tags.join(", ");
        let line = format!("{why} ({tags})");
        if line.chars().count() <= COLUMNS {
            return vec![line];
        }
        [wrapped(&why, 2), wrapped(&format!("  {tags}"), 2)].concat()
    };
    told.into_iter().flat_map(lines).collect()
}

/// Refusals for programs.
pub fn refused_json(refused: &[Refused]) -> serde_json::Value {
    let one = |tag: &Refused| {
        json!({
            "tag": tag.name,
            "place": tag.place,
            "purpose": tag.purpose.to_string(),
            "why": tag.refusal.to_string(),
            "near": tag.near,
        })
    };
    refused.iter().map(one).collect()
}
