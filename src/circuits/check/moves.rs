//! Moves: into cavities that are taken, two into one cavity, to connectors that nothing knows.

use std::collections::{HashMap, HashSet};

use super::{Joined, by_whom};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{ConnectorId, Place, Problem};
use crate::circuits::problems::{
    BOTH_ENDS_INTO_ONE_CAVITY, MOVE_INTO_OCCUPIED_CAVITY, MOVE_TO_UNKNOWN_CONNECTOR, TWO_MOVES_INTO_ONE_CAVITY,
};
use crate::circuits::{Action, Circuit, End, FarEnd};

/// Known designations that a mistyped one is compared with, at most.
const MOST_COMPARED: usize = 1_000;
/// Mistyped designations that a known one is searched for, at most.
const MOST_SEARCHED: usize = 50;

/// What is wrong with the cavities that ends move to.
pub(super) fn find_collisions(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let moving = joined.ends().filter_map(|(circuit, _, end)| match &end.action {
        Action::Move(Some(to)) => Some((to, circuit, end)),
        _ => None,
    });
    let moving: Vec<(&Place, &Circuit, &End)> = moving.collect();
    if moving.is_empty() {
        return;
    }
    if joined.is_complete {
        find_unknown(joined, &moving, problems);
        find_looped(joined, problems);
    }
    // The places in the order of the lists, each with all that move there.
    let mut places: Vec<&Place> = Vec::new();
    let mut moves: HashMap<&Place, Vec<(&Circuit, &End)>> = HashMap::new();
    for (to, circuit, end) in moving {
        if to.cavity.is_some() && !joined.is_shared_by_right(&to.connector) {
            let movers = moves.entry(to).or_insert_with(|| {
                places.push(to);
                Vec::new()
            });
            movers.push((circuit, end));
        }
    }
    let mut stays: HashMap<&Place, Vec<(&Circuit, &End)>> = HashMap::new();
    for (circuit, _, end) in joined.ends() {
        if end.action.stays_in_its_cavity() && moves.contains_key(&end.place) {
            stays.entry(&end.place).or_default().push((circuit, end));
        }
    }
    for to in places {
        let movers = &moves[to];
        let (first, first_end) = movers[0];
        if let Some((second, second_end)) = movers.iter().find(|(circuit, _)| circuit.id() != first.id()) {
            let what = format!("circuits `{}` and `{}` both move to `{to}`", first.id(), second.id());
            let problem = TWO_MOVES_INTO_ONE_CAVITY.says(what).at(second_end.origin.clone());
            let problem = problem.see(format!("`{}` moves there too", first.id()), first_end.origin.clone());
            problems.push(problem.remedy("give one of them another cavity, or both one name if they are one circuit"));
        }
        let taken = stays.get(to).map_or(&[][..], Vec::as_slice);
        for (circuit, end) in movers {
            let Some((holder, held)) = taken.iter().find(|(holder, _)| holder.id() != circuit.id()) else { continue };
            let (id, by, action) = (circuit.id(), holder.id(), held.action.word());
            let what = format!("`{id}` moves to `{to}`, where circuit `{by}` stays ({action})");
            let problem = MOVE_INTO_OCCUPIED_CAVITY.says(what).at(end.origin.clone());
            let problem = problem.see(format!("circuit `{by}` here: {action}{}", by_whom(held)), held.origin.clone());
            problems
                .push(problem.remedy(format!("name another cavity, or say what becomes of `{by}`: remove or move")));
        }
    }
}

/// Wires of which both ends are in one cavity when the work is done. Two wires of one circuit may share it.
fn find_looped(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for (circuit, index, end) in joined.ends() {
        let (Action::Move(Some(to)), FarEnd::End(far)) = (&end.action, circuit.far_end(index)) else { continue };
        let other = &circuit.ends()[far];
        let (there, becomes) = match &other.action {
            // Two that move are told once.
            Action::Move(Some(_)) if far < index => continue,
            Action::Move(Some(there)) => (there, "moves"),
            action if action.stays_in_its_cavity() => (&other.place, "is"),
            _ => continue,
        };
        if to != there || to.cavity.is_none() || joined.is_shared_by_right(&to.connector) {
            continue;
        }
        let what = format!("`{}` moves to `{to}`, where the other end of its wire {becomes} too", circuit.id());
        let problem = BOTH_ENDS_INTO_ONE_CAVITY.says(what).at(end.origin.clone());
        let problem = problem.see(format!("its other end, `{}`", other.place), other.origin.clone());
        problems.push(problem.remedy("give one of the two another cavity"));
    }
}

/// Moves to connectors that no list and no description knows.
fn find_unknown(joined: Joined<'_, '_>, moving: &[(&Place, &Circuit, &End)], problems: &mut Vec<Problem>) {
    let described = &joined.connectors.all;
    let named = moving.iter().map(|(to, ..)| &to.connector);
    let mut wanted: HashSet<&str> = named.filter(|id| !described.contains_key(*id)).map(ConnectorId::as_str).collect();
    if wanted.is_empty() {
        return;
    }
    for mention in &joined.mentions.all {
        wanted.remove(mention.place.connector);
    }
    let mut told: HashSet<&str> = HashSet::new();
    for (to, circuit, end) in moving.iter().filter(|(to, ..)| wanted.contains(to.connector.as_str())) {
        if !told.insert(to.connector.as_str()) {
            continue;
        }
        let what = format!("`{}` moves to `{to}`, but no list knows a connector `{}`", circuit.id(), to.connector);
        let known = joined.mentions.all.iter().take(MOST_COMPARED).map(|mention| mention.place.connector);
        let known = described.keys().take(MOST_COMPARED).map(ConnectorId::as_str).chain(known);
        let new = format!("add `{}` to connectors.csv if it is new", to.connector);
        // `move to 34` is meant within the connector, more likely than not.
        if to.cavity.is_none() && to.connector.as_str().chars().all(|c| c.is_ascii_digit()) {
            let remedy =
                format!("name the connector too: `move to {}/{}`, or {new}", end.place.connector, to.connector);
            problems.push(MOVE_TO_UNKNOWN_CONNECTOR.says(what).at(end.origin.clone()).remedy(remedy));
            continue;
        }
        // Each search takes its time, and after some the reader has got the point.
        let near = (told.len() <= MOST_SEARCHED).then(|| nearest(to.connector.as_str(), known)).flatten();
        let remedy = near.map_or_else(|| new.clone(), |near| format!("{} or {new}", did_you_mean(near)));
        problems.push(MOVE_TO_UNKNOWN_CONNECTOR.says(what).at(end.origin.clone()).remedy(remedy));
    }
}
