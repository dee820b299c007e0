//! Designations that differ only in case, spaces or punctuation: two where one was meant, or one mistyped.

use std::collections::{HashMap, HashSet};

use super::Joined;
use crate::base::{Origin, Problem};
use crate::circuits::Naming;
use crate::circuits::alike::{folded, number_of};
use crate::circuits::headers::Column;
use crate::circuits::problems::DESIGNATIONS_LOOK_ALIKE;

/// Designations of circuits, and of connectors.
pub(super) fn find_look_alikes(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    find_circuits(joined, problems);
    find_connectors(joined, problems);
}

fn find_circuits(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let (mentions, named) = (joined.mentions, joined.named);
    let circuits = named.circuits.iter().map(|(id, naming)| (id.as_str(), *naming == Naming::Designated));
    let texts: Vec<&str> = circuits.map(|(id, is_designated)| if is_designated { id } else { "" }).collect();
    let pairs = look_alikes(&texts);
    if pairs.is_empty() {
        return;
    }
    let mut first_at: HashMap<u32, usize> = HashMap::new();
    for (mention, circuit) in named.circuit_of.iter().enumerate() {
        if mentions.all[mention].circuit.is_some() {
            first_at.entry(*circuit).or_insert(mention);
        }
    }
    let origin = |circuit: usize| {
        let mention = *first_at.get(&(circuit as u32))?;
        Some(mentions.origin_of(&mentions.all[mention], Column::Circuit))
    };
    for (first, second) in pairs {
        tell("circuits", (texts[first], origin(first)), (texts[second], origin(second)), problems);
    }
}

fn find_connectors(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let mentions = joined.mentions;
    let mut seen: HashSet<&str> = HashSet::new();
    let mut all: Vec<(&str, Origin)> = Vec::new();
    for mention in &mentions.all {
        if seen.insert(mention.place.connector) {
            all.push((mention.place.connector, mentions.origin_of_connector(mention)));
        }
    }
    for connector in joined.connectors.all.values() {
        if seen.insert(connector.id.as_str()) {
            all.push((connector.id.as_str(), connector.origin.clone()));
        }
    }
    let texts: Vec<&str> = all.iter().map(|(text, _)| *text).collect();
    for (first, second) in look_alikes(&texts) {
        let [first, second] = [first, second].map(|at| (all[at].0, Some(all[at].1.clone())));
        tell("connectors", first, second, problems);
    }
}

/// Pairs of the first and each later text that look alike, by index; blank texts look like none.
fn look_alikes(texts: &[&str]) -> Vec<(usize, usize)> {
    let mut first: HashMap<u64, usize> = HashMap::with_capacity(texts.len());
    let mut pairs = Vec::new();
    for (at, text) in texts.iter().enumerate().filter(|(_, text)| !text.is_empty()) {
        let first = *first.entry(number_of(text)).or_insert(at);
        if first != at && folded(texts[first]).eq(folded(text)) {
            pairs.push((first, at));
        }
    }
    pairs
}

fn tell(
    things: &str,
    (first, first_at): (&str, Option<Origin>),
    (second, second_at): (&str, Option<Origin>),
    problems: &mut Vec<Problem>,
) {
    let what = format!("{things} `{first}` and `{second}` differ only in case, spaces or punctuation");
    let mut problem = DESIGNATIONS_LOOK_ALIKE.says(what);
    if let Some(at) = second_at {
        problem = problem.at(at);
    }
    if let Some(at) = first_at {
        problem = problem.see(format!("`{first}` here"), at);
    }
    problems.push(problem.remedy("they count as two: if they are one, write it the same everywhere"));
}
