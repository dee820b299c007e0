//! Circuits -> what is odd about them as a whole: looked for across all lists, after joining and after every action is settled.
//!
//! Nothing found here is in the way of tags, so that all of it is warnings. What one connector or circuit has many of is told
//! once, with the first places of it. Each check takes a time that grows with the number of ends alone.

mod actions;
mod danger;
mod earth;
mod fuses;
mod halves;
mod moves;
mod names;
mod pairs;
mod places;
mod positions;
mod several;
#[cfg(test)]
mod tests;
mod wires;

pub use fuses::fuses;

use super::connectors::Connectors;
use super::mention::Mentions;
use super::naming::Named;
use super::{Circuit, Connector, ConnectorKind, Decided, End};
use crate::base::{ConnectorId, Problem};

/// All that a check may look at.
#[derive(Clone, Copy)]
pub(super) struct Joined<'a, 't> {
    /// The circuits, in the order in which the lists first mention them.
    pub(super) circuits: &'a [Circuit],
    /// What connectors.csv says.
    pub(super) connectors: &'a Connectors,
    /// What each row says.
    pub(super) mentions: &'a Mentions<'t>,
    /// Which circuit and place each row is of.
    pub(super) named: &'a Named,
    /// Whether every row could be read. Where some are left out, nothing is concluded from what is not there.
    pub(super) is_complete: bool,
}

/// Looks across circuits and connectors.
pub(super) fn check(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    places::find_shared_cavities(joined, problems);
    places::find_one_ended(joined, problems);
    places::find_unknown_mates(joined, problems);
    positions::find_outside(joined, problems);
    halves::find_disagreeing(joined, problems);
    halves::find_parting(joined, problems);
    several::find(joined.mentions, problems);
    names::find_look_alikes(joined, problems);
    actions::find_kept_and_removed(joined, problems);
    actions::find_incomplete_additions(joined, problems);
    if joined.is_complete {
        actions::find_emptied_connectors(joined, problems);
        places::find_unlisted_connectors(joined, problems);
    }
    moves::find_collisions(joined, problems);
    pairs::find_broken(joined, problems);
    wires::find_differing_ends(joined, problems);
    danger::find_uncapped(joined, problems);
    danger::find_work_on_danger(joined, problems);
    earth::find_misused_green_and_yellow(joined, problems);
}

impl<'a> Joined<'a, '_> {
    /// What connectors.csv says of a connector.
    fn connector(&self, id: &ConnectorId) -> Option<&'a Connector> {
        self.connectors.all.get(id)
    }

    /// Whether a connector is a stud or a splice, which many wires share by right.
    fn is_shared_by_right(&self, id: &ConnectorId) -> bool {
        let kind = self.connector(id).map(|connector| connector.kind);
        matches!(kind, Some(ConnectorKind::Stud | ConnectorKind::Splice))
    }

    /// All ends, each with its circuit and its index there.
    fn ends(&self) -> impl Iterator<Item = (&'a Circuit, usize, &'a End)> + use<'a> {
        self.circuits
            .iter()
            .flat_map(|circuit| circuit.ends().iter().enumerate().map(move |(index, end)| (circuit, index, end)))
    }
}

/// How many places a message names; the others are counted.
const NAMED_AT_MOST: usize = 4;

/// Words in backticks, the first ones: `` `J1/1`, `J1/2` and 7 more ``.
fn first_of<T: ToString>(all: &[T]) -> String {
    let named: Vec<String> = all.iter().take(NAMED_AT_MOST).map(|one| format!("`{}`", one.to_string())).collect();
    match all.len().saturating_sub(NAMED_AT_MOST) {
        0 => match named.split_last() {
            Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
            _ => named.concat(),
        },
        more => format!("{} and {more} more", named.join(", ")),
    }
}

/// Adds where the other ends are, the first ones of them.
fn see_others(mut problem: Problem, others: &[&End], what: impl Fn(&End) -> String) -> Problem {
    for end in others.iter().take(NAMED_AT_MOST - 1) {
        problem = problem.see(what(end), end.origin.clone());
    }
    problem
}

/// What decided the action of an end, where its own row does not say it: ` (by rule 2 of job.toml)`.
fn by_whom(end: &End) -> String {
    match end.decided {
        Decided::Rule(number) => format!(" (by rule {} of job.toml)", number + 1),
        Decided::Connector => " (by connectors.csv)".to_owned(),
        Decided::List => " (by its [[list]] in job.toml)".to_owned(),
        Decided::Person => {
            end.decided_instead().map(|it| format!(" (by a decision of {})", it.day())).unwrap_or_default()
        }
        Decided::Row | Decided::Nobody => String::new(),
    }
}
