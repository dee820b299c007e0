//! What was made and what was refused, in words and for programs.

use serde_json::json;

use super::output::plural;
use crate::base::TagKind;
use crate::run::Refused;
use crate::run::tally::Tally;

/// Up to this number of reasons for one thing, each is told.
const MOST_REASONS: usize = 3;

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

/// Tags that stand in for the usual kind, `2 tie-ons instead of flags: a wire of 16 mm leaves no faces ... (7KF4 A, 7KF4 B)`; of
/// many reasons only that of most tags.
pub fn stand_ins(tally: &Tally) -> Vec<String> {
    let line = |kind: TagKind, usual: TagKind, why: &str, tags: &[String]| {
        let usual = if tags.len() == 1 { format!("a {usual}") } else { format!("{usual}s") };
        format!("{} instead of {usual}: {why} ({})", plural(tags.len(), kind.word()), tags.join(", "))
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
            let tags = plural(tags.len(), "tag");
            let all = plural(count, kind.word());
            format!("{all} instead of {usual}s, {tags} of them because {why}; `loomtag check` tells each")
        }));
    }
    lines
}

/// The tags that cannot be made, each with its reason; the same reason at many ends is told once.
pub fn refusals(refused: &[Refused]) -> Vec<String> {
    let mut told: Vec<(String, Vec<String>)> = Vec::new();
    for tag in refused {
        let why = format!("no {} tag: {}", tag.purpose, tag.refusal);
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
        })
    };
    refused.iter().map(one).collect()
}
