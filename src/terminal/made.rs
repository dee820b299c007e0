//! What was made and what was refused, in words and for programs.

use serde_json::json;

use super::output::plural;
use crate::run::Refused;
use crate::run::tally::Tally;

/// `184 flags, 22 sleeves, 6 strips; 184 with a symbol`.
pub fn tally_line(tally: &Tally) -> String {
    if tally.tags() == 0 {
        return "no tags".to_owned();
    }
    let kinds: Vec<String> = tally.kinds.iter().map(|(kind, count)| plural(*count, &kind.to_string())).collect();
    let mut line = format!("{}; {} with a symbol", kinds.join(", "), tally.symbols);
    if tally.shortened > 0 {
        line.push_str(&format!(", {} with fewer words than asked for", tally.shortened));
    }
    line
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
    told.into_iter().map(|(why, tags)| format!("{why} ({})", tags.join(", "))).collect()
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
