//! Actions that do not go together: a wire kept at one end and removed at the other, added circuits that nobody could build,
//! connectors that end up empty.

use std::collections::{HashMap, HashSet};

use super::{Joined, by_whom};
use crate::base::{ConnectorId, Problem};
use crate::circuits::problems::{ADDED_CIRCUIT_INCOMPLETE, CONNECTOR_LEFT_EMPTY, FAR_END_REMOVED};
use crate::circuits::{Action, End, FarEnd};

/// Whether the list means to use the wire of such an end.
const fn is_used(action: &Action) -> bool {
    !matches!(action, Action::Undecided | Action::Remove)
}

/// Wires that stay at one end while the other end is removed; and ends of a circuit with a splice that no list names, of which
/// all others are removed.
pub(super) fn find_kept_and_removed(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for circuit in joined.circuits {
        let ends = circuit.ends();
        let is_gone = |end: &&End| end.action == Action::Remove;
        let gone = ends.iter().filter(is_gone).count();
        if gone == 0 {
            continue;
        }
        for (at, end) in ends.iter().enumerate().filter(|(_, end)| is_used(&end.action)) {
            let gone = match circuit.far_end(at) {
                FarEnd::End(far) => ends.get(far).filter(is_gone),
                FarEnd::ImpliedSplice if gone + 1 == ends.len() => ends.iter().find(is_gone),
                FarEnd::ImpliedSplice | FarEnd::Unknown => None,
            };
            let Some(gone) = gone else { continue };
            let (here, there, done) = (&end.place, &gone.place, past(end.action.word()));
            let (kept_by, gone_by) = (by_whom(end), by_whom(gone));
            let what = match circuit.far_end(at) {
                FarEnd::End(_) => format!("`{there}`, the other end of its wire, is removed"),
                _ => format!("every other end of circuit `{}` is removed", circuit.id()),
            };
            let what = format!("`{here}` is {done}{kept_by} but {what}");
            let problem = FAR_END_REMOVED.says(what).at(end.origin.clone());
            let problem = problem.see(format!("`{there}` is removed{gone_by}"), gone.origin.clone());
            problems.push(problem.remedy("a removed wire leaves the harness: write `cut` there, or `remove` here too"));
        }
    }
}

/// What is done with an end, as a message has it.
const fn past(action: &str) -> &str {
    match action.as_bytes() {
        b"keep" => "kept",
        b"cut" => "cut and used on",
        b"move" => "moved",
        b"add" => "added",
        b"extend" => "extended",
        b"reserve" => "reserved",
        _ => action,
    }
}

/// Added circuits that do not say how they are fed or how thick they are.
pub(super) fn find_incomplete_additions(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for circuit in joined.circuits {
        let ends = circuit.ends();
        let Some((at, added)) = ends.iter().enumerate().find(|(_, end)| end.action == Action::Add) else { continue };
        let has_size = |(at, end): (usize, &End)| {
            let far = match circuit.far_end(at) {
                FarEnd::End(far) => ends.get(far),
                FarEnd::ImpliedSplice | FarEnd::Unknown => None,
            };
            end.conductor.is_some() || far.is_some_and(|far| far.conductor.is_some())
        };
        let all_have_size = ends.iter().enumerate().filter(|(_, end)| end.action == Action::Add).all(has_size);
        let lacks = match (circuit.supply.is_some(), all_have_size) {
            (true, true) => continue,
            (false, true) => "supply",
            (true, false) => "conductor size",
            (false, false) => "supply and no conductor size",
        };
        let what = format!("circuit `{}` gets a new wire at `{}` and has no {lacks}", circuit.id(), ends[at].place);
        let remedy = "fill these columns: they say what to draw the wire from, and which fuse protects it";
        problems.push(ADDED_CIRCUIT_INCOMPLETE.says(what).at(added.origin.clone()).remedy(remedy));
    }
}

/// What becomes of the ends of a connector.
#[derive(Default)]
struct Leaving<'a> {
    removed: usize,
    cut: usize,
    moved: usize,
    first: Option<&'a End>,
    stays: bool,
}

/// Connectors that no wire is left in. Studs, splices and places without cavities have no housing that could go.
pub(super) fn find_emptied_connectors(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let leaves = |end: &End| matches!(end.action, Action::Remove | Action::Cut | Action::Move(_));
    if !joined.ends().any(|(_, _, end)| leaves(end)) {
        return;
    }
    let mut all: HashMap<&ConnectorId, Leaving<'_>> = HashMap::new();
    let mut filled: HashSet<&ConnectorId> = HashSet::new();
    for (_, _, end) in joined.ends().filter(|(_, _, end)| end.place.cavity.is_some()) {
        let connector = all.entry(&end.place.connector).or_default();
        match &end.action {
            Action::Remove => connector.removed += 1,
            Action::Cut => connector.cut += 1,
            Action::Move(Some(to)) if to.connector != end.place.connector => {
                connector.moved += 1;
                filled.insert(&to.connector);
            }
            _ => connector.stays = true,
        }
        if !connector.stays {
            connector.first = connector.first.filter(|first| first.place <= end.place).or(Some(end));
        }
    }
    let is_empty = |id: &ConnectorId, leaving: &Leaving<'_>| {
        !leaving.stays && !filled.contains(id) && !joined.is_shared_by_right(id)
    };
    let mut empty: Vec<_> = all.into_iter().filter(|(id, leaving)| is_empty(id, leaving)).collect();
    empty.sort_by(|a, b| a.0.cmp(b.0));
    for (id, leaving) in empty {
        let Some(first) = leaving.first else { continue };
        let parts = [(leaving.removed, "removed"), (leaving.cut, "cut"), (leaving.moved, "moved away")];
        let parts: Vec<String> =
            parts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| format!("{count} {what}")).collect();
        let what = format!("no wire stays in `{id}`: {}", parts.join(", "));
        let remedy = "its housing, seals, plugs and mounting can go too; nothing to do if that is meant";
        problems.push(CONNECTOR_LEFT_EMPTY.says(what).at(first.origin.clone()).remedy(remedy));
    }
}
