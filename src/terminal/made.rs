//! What was made and what was refused, in words and for programs.

use serde_json::json;

use super::output::plural;
use super::table::{COLUMNS, wrapped};
use crate::base::TagKind;
use crate::run::Refused;
use crate::run::tally::Tally;

/// `184 flags, 22 sleeves in 4 tube sizes, 6 strips; 184 with a symbol`.
pub fn tally_line(tally: &Tally) -> String {
    if tally.tags() == 0 {
        return "no tags".to_owned();
    }
    let kind = |(kind, count): (&TagKind, &usize)| {
        let tags = plural(*count, &kind.to_string());
        let is_sleeve = *kind == TagKind::Sleeve && !tally.tubes.is_empty();
        if is_sleeve { format!("{tags} in {}", plural(tally.tubes.len(), "tube size")) } else { tags }
    };
    let kinds: Vec<String> = tally.kinds.iter().map(kind).collect();
    let mut said = Vec::new();
    // Where the wording wants no symbol, nothing is said of any.
    if tally.symbols > 0 || !tally.no_symbol.is_empty() {
        said.push(format!("{} with a symbol", tally.symbols));
    }
    if tally.shortened > 0 {
        said.push(format!("{} with fewer words than asked for", tally.shortened));
    }
    [kinds.join(", "), said.join(", ")].into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join("; ")
}

/// `22 sleeves carry no symbol: wire too thin for a sleeve symbol`, kind by kind.
pub fn no_symbol_lines(tally: &Tally) -> impl Iterator<Item = (TagKind, String)> {
    tally.no_symbol.iter().map(|(kind, count)| {
        let why = match kind {
            TagKind::Sleeve | TagKind::Strip => format!("wire too thin for a {kind} symbol"),
            _ => "no room for one".to_owned(),
        };
        let carry = if *count == 1 { "carries" } else { "carry" };
        (*kind, format!("{} {carry} no symbol: {why}", plural(*count, &kind.to_string())))
    })
}

/// The tags that cannot be made, each with its reason; the same reason at many ends is told once.
pub fn refusals(refused: &[Refused]) -> Vec<String> {
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    for tag in refused {
        let near = tag.near.as_ref().map(|near| format!("; {near}")).unwrap_or_default();
        let why = format!("no {} tag: {}{near}", tag.purpose, tag.refusal);
        let which = format!("{} at {}", tag.name, tag.place);
        match told.iter_mut().find(|(known, _)| *known == why) {
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
        [vec![why], wrapped(&format!("  {tags}"), 2)].concat()
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
