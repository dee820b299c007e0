//! What hurts people: live ends that come free, work on restraint and high-voltage circuits.

use std::collections::BTreeMap;

use super::{Joined, first_of, see_others};
use crate::base::{ConnectorId, Place, Problem, counted};
use crate::circuits::caution::{danger_of, speaks_of_a_cap};
use crate::circuits::problems::{LIVE_END_WITHOUT_CAP, WORK_ON_HIGH_VOLTAGE, WORK_ON_RESTRAINT};
use crate::circuits::{Action, Circuit, End, Supply};

/// Ends that are fed with every switch off, come free and stay free, and of which no note says that they are capped: each
/// connector once.
pub(super) fn find_uncapped(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let mut open: BTreeMap<&ConnectorId, Vec<&End>> = BTreeMap::new();
    for circuit in joined.circuits.iter().filter(|circuit| circuit.supply == Some(Supply::Constant)) {
        for end in circuit.ends() {
            let is_free = matches!(end.action, Action::Cut | Action::Reserve);
            if is_free && !end.note.as_deref().is_some_and(speaks_of_a_cap) {
                open.entry(&end.place.connector).or_default().push(end);
            }
        }
    }
    for (id, mut ends) in open {
        ends.sort_by(|a, b| a.place.cmp(&b.place));
        let places: Vec<&Place> = ends.iter().map(|end| &end.place).collect();
        let Some((first, others)) = ends.split_first() else { continue };
        let many = counted(ends.len(), "constant-fed end");
        let verb = if ends.len() == 1 { "comes" } else { "come" };
        let what = format!("{many} of `{id}` {verb} free without a word of a cap in the note: {}", first_of(&places));
        let problem = LIVE_END_WITHOUT_CAP.says(what).at(first.origin.clone());
        let problem = see_others(problem, others, |end| format!("`{}` too", end.place));
        problems
            .push(problem.remedy("live with every switch off: cap each end at once, one at a time, and note `capped`"));
    }
}

/// Circuits of restraint systems or high voltage with ends to be worked on, each circuit once.
pub(super) fn find_work_on_danger(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let is_touched = |action: &Action| {
        matches!(action, Action::Cut | Action::Remove | Action::Move(_) | Action::Add | Action::Extend)
    };
    for circuit in joined.circuits {
        if !circuit.ends().iter().any(|end| is_touched(&end.action)) {
            continue;
        }
        let mut touched: Vec<(&End, Supply)> = Vec::new();
        for (at, end) in circuit.ends().iter().enumerate().filter(|(_, end)| is_touched(&end.action)) {
            let supply = danger_of(circuit, at, |id| joined.connector(id));
            touched.extend(
                supply.filter(|supply| matches!(supply, Supply::Restraint | Supply::HighVoltage)).map(|s| (end, s)),
            );
        }
        for danger in [Supply::HighVoltage, Supply::Restraint] {
            let ends: Vec<&End> = touched.iter().filter(|(_, supply)| *supply == danger).map(|(end, _)| *end).collect();
            tell(circuit, danger, &ends, problems);
        }
    }
}

fn tell(circuit: &Circuit, danger: Supply, ends: &[&End], problems: &mut Vec<Problem>) {
    let Some((first, others)) = ends.split_first() else { return };
    let (kind, name, remedy) = match danger {
        Supply::HighVoltage => (
            &WORK_ON_HIGH_VOLTAGE,
            "high-voltage",
            "stop: trained persons only, who make it dead, secure it and test before anybody touches an end",
        ),
        _ => (
            &WORK_ON_RESTRAINT,
            "restraint",
            "never cut, probe or tap into: disarm and wait as the maker's manual says, and take it out whole",
        ),
    };
    let source = if circuit.supply == Some(danger) { "" } else { " by its words" };
    let actions: Vec<String> = ends.iter().map(|end| format!("{} {}", end.action.word(), end.place)).collect();
    let what =
        format!("`{}` is a {name} circuit{source}, and there is work on it: {}", circuit.id(), first_of(&actions));
    let problem =
        see_others(kind.says(what).at(first.origin.clone()), others, |end| format!("{} here", end.action.word()));
    problems.push(problem.remedy(remedy));
}
