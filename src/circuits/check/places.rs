//! Places: cavities that two circuits share, circuits with one end, other halves that nothing knows.

use std::collections::{HashMap, HashSet};

use super::{Joined, NAMED_AT_MOST, first_of};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{Place, Problem};
use crate::circuits::mention::{Mentions, PlaceRef};
use crate::circuits::naming::Named;
use crate::circuits::problems::{CONNECTOR_IN_NO_LIST, ONE_ENDED_CIRCUIT, TWO_CIRCUITS_IN_ONE_CAVITY, UNKNOWN_MATE};
use crate::circuits::{Action, Connector, End, Naming};

/// Two circuits in one cavity. Studs hold many by right.
pub(super) fn find_shared_cavities(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let circuits = joined.circuits;
    let shared = shared_places(joined.mentions, joined.named);
    if shared.is_empty() {
        return;
    }
    let is_shared = |place: &Place| {
        let cavity = place.cavity.as_ref().map(|cavity| cavity.as_str());
        shared.contains(&PlaceRef { connector: place.connector.as_str(), cavity })
    };
    let mut first_at: HashMap<&Place, (usize, &End)> = HashMap::new();
    for (index, circuit) in circuits.iter().enumerate() {
        let mut before: Option<&Place> = None;
        for end in circuit.ends().iter().filter(|end| is_shared(&end.place)) {
            let is_doubled = before.replace(&end.place) == Some(&end.place);
            let (first, first_end) = *first_at.entry(&end.place).or_insert((index, end));
            // A doubled cavity in the second circuit is told once, and a place without cavities is a stud or splice.
            if is_doubled || first == index || end.place.cavity.is_none() {
                continue;
            }
            if joined.is_shared_by_right(&end.place.connector) {
                continue;
            }
            let first = circuits[first].id();
            let what = format!("`{}` holds circuits `{first}` and `{}`", end.place, circuit.id());
            let problem = TWO_CIRCUITS_IN_ONE_CAVITY.says(what).at(end.origin.clone());
            let problem = problem.see(format!("circuit `{first}` here"), first_end.origin.clone());
            problems.push(problem.remedy("mend the cavity of one, or give both one name if they are one circuit"));
        }
    }
}

/// The places that more than one circuit is mentioned in: few or none, so that the ends of all others need no look.
fn shared_places<'t>(mentions: &Mentions<'t>, named: &Named) -> HashSet<PlaceRef<'t>> {
    let count = named.place_of.iter().max().map_or(0, |&last| last as usize + 1);
    let mut first: Vec<Option<u32>> = vec![None; count];
    let mut shared = HashSet::new();
    for ((mention, &place), &circuit) in mentions.all.iter().zip(&named.place_of).zip(&named.circuit_of) {
        if *first[place as usize].get_or_insert(circuit) != circuit {
            shared.insert(mention.place);
        }
    }
    shared
}

/// Circuits that lists name and that end in one place only. A chart without circuit names is enough to work with, so that
/// circuits named by their place are not told.
pub(super) fn find_one_ended(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for circuit in joined.circuits {
        if let ([end], Naming::Designated) = (circuit.ends(), circuit.naming()) {
            let what = format!("circuit `{}` has one end only, `{}`", circuit.id(), end.place);
            let remedy = "its tag leaves the other end blank; add the row of the other end when it is known";
            problems.push(ONE_ENDED_CIRCUIT.says(what).at(end.origin.clone()).remedy(remedy));
        }
    }
}

/// Other halves that nothing describes and no list mentions: gone by right, or mistyped.
pub(super) fn find_unknown_mates(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let (connectors, mentions) = (joined.connectors, joined.mentions);
    if connectors.all.values().all(|connector| connector.mates.is_none()) {
        return;
    }
    // Comparing each of very many with all others would take for ever.
    const MOST_COMPARED: usize = 1_000;
    let mentioned: HashSet<&str> = mentions.all.iter().map(|mention| mention.place.connector).collect();
    for connector in connectors.all.values() {
        let Some(mates) = &connector.mates else { continue };
        if connectors.all.contains_key(mates) || mentioned.contains(mates.as_str()) {
            continue;
        }
        let origin = connectors.mates_at.get(&connector.id).unwrap_or(&connector.origin);
        let what = format!("`{mates}`, the other half of `{}`, stands in no list: it counts as gone", connector.id);
        let problem = UNKNOWN_MATE.says(what).at(origin.clone());
        let known = connectors
            .all
            .values()
            .take(MOST_COMPARED)
            .filter(|other| other.id != connector.id && other.mates.is_none());
        let known = known.map(|other| other.id.as_str());
        let otherwise = || format!("nothing to do if `{mates}` is gone; otherwise add its chart");
        problems.push(problem.remedy(nearest(mates.as_str(), known).map_or_else(otherwise, did_you_mean)));
    }
}

/// Connectors that are described and in which no list has a wire: mistyped, or their chart is missing. The half of a pair that
/// is gone, a new connector that wires move to, studs and splices are described by right.
pub(super) fn find_unlisted_connectors(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let described = &joined.connectors.all;
    if described.is_empty() {
        return;
    }
    let mut known: HashSet<&str> = joined.mentions.all.iter().map(|mention| mention.place.connector).collect();
    known.extend(described.values().filter_map(|connector| Some(connector.mates.as_ref()?.as_str())));
    known.extend(joined.ends().filter_map(|(_, _, end)| match &end.action {
        Action::Move(Some(to)) => Some(to.connector.as_str()),
        _ => None,
    }));
    let is_unlisted = |id: &&Connector| !known.contains(id.id.as_str()) && !joined.is_shared_by_right(&id.id);
    let mut unlisted: Vec<&Connector> = described.values().filter(is_unlisted).collect();
    unlisted.sort_by_key(|connector| (connector.origin.line(), connector.origin.column()));
    let Some((first, others)) = unlisted.split_first() else { return };
    let ids: Vec<_> = unlisted.iter().map(|connector| connector.id.as_str()).collect();
    let are = if others.is_empty() { "is" } else { "are" };
    let what = format!("no list has a wire in {}, which {are} described here", first_of(&ids));
    let mut problem = CONNECTOR_IN_NO_LIST.says(what).at(first.origin.clone());
    for other in others.iter().take(NAMED_AT_MOST - 1) {
        problem = problem.see(format!("`{}` here", other.id), other.origin.clone());
    }
    problems.push(problem.remedy("write the name as the lists have it, or add the chart to job.toml"));
}
