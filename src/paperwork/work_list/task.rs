//! What is to be done with an end: the action in words, and the steps that get a box, in an order that is safe.

use super::At;
use crate::base::Step;
use crate::circuits::caution::{danger_at, is_heavy_orange};
use crate::circuits::{Action, Circuits, FarEnd, Supply};
use crate::labels::Band;
use crate::labels::caution::bands;
use crate::paperwork::Harness;

/// What is to be done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Task {
    /// In words: `move to X5/3`.
    pub(super) words: String,
    /// The steps, tag first.
    pub(super) steps: Vec<Step>,
}

impl Task {
    /// Of an end; `seal` is the step where the plug of its cavity is ticked in its row.
    pub(super) fn of(harness: &Harness<'_>, at: At, seal: Option<Step>) -> Self {
        let end = harness.end(at);
        let supply = danger_at(harness.circuits, at);
        let tagged = harness.on_bench(at).work.map(|_| Step::Tagged);
        if harness.is_missing(at) {
            let words = match end.action.step() {
                Some(_) => format!("found empty; planned: {}", plain(harness, at)),
                None => "found empty".to_owned(),
            };
            return Self { words, steps: seal.into_iter().collect() };
        }
        if is_stopped(harness.circuits, at) {
            let words = match supply {
                Some(Supply::HighVoltage) => format!("stop, trained persons only; planned: {}", plain(harness, at)),
                Some(Supply::Restraint) => format!("stop, decide again: planned is to {}", end.action.word()),
                _ => format!("stop until the maker's diagram says what it is; planned: {}", plain(harness, at)),
            };
            return Self { words, steps: tagged.into_iter().collect() };
        }
        let words = match (supply, &end.action) {
            (Some(Supply::Restraint), Action::Remove) => "take out whole, never cut".to_owned(),
            _ => plain(harness, at),
        };
        // What may be fed is capped as soon as it is free; so is what a mark says.
        let is_marked = bands(harness.circuits, at).iter().any(|(band, _)| *band == Band::LiveCap);
        let may_be_fed = !matches!(supply, Some(Supply::Ground | Supply::Signal | Supply::Data));
        let stays_free = matches!(end.action, Action::Cut | Action::Move(None));
        let hangs = supply != Some(Supply::Restraint) && harness.hangs_pulled(at);
        let is_capped = end.action == Action::Reserve || is_marked || ((stays_free || hangs) && may_be_fed);
        let is_terminated = matches!(end.action, Action::Cut | Action::Add);
        // A wire that goes somewhere is capped, and has its terminal, before it is there.
        let (out, there) = if frees(&end.action) { (end.action.step(), None) } else { (None, end.action.step()) };
        let steps =
            [tagged, out, is_capped.then_some(Step::Capped), is_terminated.then_some(Step::Terminated), there, seal];
        Self { words, steps: steps.into_iter().flatten().collect() }
    }
}

/// Whether nothing is to be done at an end for the danger of its wire, whatever is planned: it is in its cavity until somebody who
/// may has decided again.
pub fn is_stopped(circuits: &Circuits, at: At) -> bool {
    let end = &circuits.all()[at.0].ends()[at.1];
    let action = &end.action;
    match danger_at(circuits, at) {
        Some(Supply::Restraint) => action.loses_housing(),
        Some(Supply::HighVoltage) => action.loses_housing() || *action == Action::Remove,
        // A heavy cable with an orange jacket may be of high voltage.
        _ => is_heavy_orange(end) && (action.loses_housing() || *action == Action::Remove),
    }
}

/// Whether an end is free when the step of its action is done: what else is to be done with it comes after.
pub(super) const fn frees(action: &Action) -> bool {
    matches!(action, Action::Cut | Action::Remove)
}

/// The action in words, whatever the wire carries.
fn plain(harness: &Harness<'_>, at: At) -> String {
    match &harness.end(at).action {
        Action::Undecided => "undecided: decide first".to_owned(),
        Action::Keep => "keep".to_owned(),
        Action::Remove => "pull".to_owned(),
        Action::Cut => "cut".to_owned(),
        Action::Move(Some(to)) => format!("move to {to}"),
        Action::Move(None) => "move: decide where to".to_owned(),
        Action::Add => match (harness.there(at), harness.circuit(at.0).far_end(at.1)) {
            (Some(there), _) => format!("add: new wire comes from {there}"),
            (None, FarEnd::ImpliedSplice) => "add: new wire comes from a splice".to_owned(),
            (None, _) => "add: new wire, from where is not known".to_owned(),
        },
        Action::Extend => "splice longer".to_owned(),
        Action::Reserve => "reserve: insulate".to_owned(),
    }
}
