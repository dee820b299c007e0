//! Cells that seem to name several cavities, `8, 9` or `12-14`: each counts as one cavity of that name, and the wires of the others
//! would have no tag.

use std::collections::{BTreeMap, BTreeSet};

use super::{NAMED_AT_MOST, first_of};
use crate::base::Problem;
use crate::circuits::mention::{Mention, Mentions};
use crate::circuits::problems::SEVERAL_CAVITIES;

/// Tells them, each connector once. Where at least as many cavities of a connector have such names as have plain ones, these are
/// its names.
pub(super) fn find(mentions: &Mentions<'_>, problems: &mut Vec<Problem>) {
    let mut several: BTreeMap<&str, Vec<(&str, &Mention<'_>)>> = BTreeMap::new();
    for mention in &mentions.all {
        if let Some(cavity) = mention.place.cavity.filter(|cavity| names_several(cavity)) {
            several.entry(mention.place.connector).or_default().push((cavity, mention));
        }
    }
    if several.is_empty() {
        return;
    }
    let mut plain: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    for mention in mentions.all.iter().filter(|mention| several.contains_key(mention.place.connector)) {
        if let Some(cavity) = mention.place.cavity.filter(|cavity| !names_several(cavity)) {
            plain.entry(mention.place.connector).or_default().insert(cavity);
        }
    }
    for (connector, mut found) in several {
        let mut seen = BTreeSet::new();
        found.retain(|(cavity, _)| seen.insert(*cavity));
        let plain = plain.get(connector).map_or(0, BTreeSet::len);
        let ranges = found.iter().filter(|(cavity, _)| is_range(cavity)).count();
        // Lists are never names, `1-2` may be: row and column.
        if ranges > 1 && ranges >= plain {
            found.retain(|(cavity, _)| !is_range(cavity));
        }
        let Some(((_, first), others)) = found.split_first() else { continue };
        let names: Vec<&str> = found.iter().map(|(cavity, _)| *cavity).collect();
        let what = match others {
            [] => format!("{} of `{connector}` looks like several cavities, and counts as one", first_of(&names)),
            _ => {
                format!("{} of `{connector}` look like several cavities each, and count as one each", first_of(&names))
            }
        };
        let mut problem = SEVERAL_CAVITIES.says(what).at(mentions.origin(first));
        for (cavity, mention) in others.iter().take(NAMED_AT_MOST - 1) {
            problem = problem.see(format!("`{cavity}` here"), mentions.origin(mention));
        }
        problems.push(problem.remedy("write a row for each cavity, as each wire has its own tag"));
    }
}

/// Whether a text looks like a list or a range of cavities.
fn names_several(cavity: &str) -> bool {
    is_list(cavity) || is_range(cavity)
}

/// `8, 9`, `A1+A2`, `8 and 9`: every part is a number, perhaps behind one letter.
fn is_list(cavity: &str) -> bool {
    let marked = cavity.replace(" and ", ",").replace(" und ", ",");
    let mut parts = marked.split([',', ';', '+', '&']).map(str::trim);
    let is_cavity = |part: &str| {
        let digits = part.strip_prefix(|c: char| c.is_ascii_alphabetic()).unwrap_or(part);
        (1..=3).contains(&digits.len()) && digits.bytes().all(|byte| byte.is_ascii_digit())
    };
    marked.contains([',', ';', '+', '&']) && parts.all(is_cavity)
}

/// `12-14`: from a number to a higher one.
fn is_range(cavity: &str) -> bool {
    let Some((from, to)) = cavity.split_once(['-', '\u{2013}']) else { return false };
    let number = |text: &str| {
        let text = text.trim();
        text.bytes().all(|byte| byte.is_ascii_digit()).then(|| text.parse::<u16>().ok()).flatten()
    };
    matches!((number(from), number(to)), (Some(from), Some(to)) if from < to)
}
