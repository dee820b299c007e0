//! One end -> what the list of its connector tells to do there, for whoever stands before that end alone.

use super::cavities::Cavities;
use super::contents::Content;
use super::entry::{on_one_tag, task_of, ticked};
use super::order;
use super::seats::Seats;
use super::{At, WorkLists, cautions};
use crate::base::Step;

/// What is to be done at one end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AtEnd {
    /// What must be seen before it is touched.
    pub cautions: Vec<String>,
    /// How to go about it, a paragraph each.
    pub rules: Vec<String>,
    /// What to do: `cut`, `move to X5/3`.
    pub words: String,
    /// The steps in an order that is safe, and whether each is done by notes.
    pub steps: Vec<(Step, bool)>,
    /// The ends that are on one tag with it, itself among them; none where it has a tag of its own.
    pub on_one_tag: Vec<(usize, usize)>,
}

impl WorkLists<'_, '_> {
    /// What the list of its connector tells of an end.
    pub fn at_end(&self, at: At) -> Option<AtEnd> {
        let harness = self.harness;
        let connector = &harness.end(at).place.connector;
        let content = Content::of(self.harness.circuits, connector)?;
        let cavities = Cavities::of(harness, content, harness.circuits.connector(connector));
        let seats = Seats::of(harness, connector);
        let slot =
            order::groups(harness, content, &seats).into_iter().flatten().find(|slot| slot.ends.contains(&at))?;
        let nth = slot.ends.iter().position(|end| *end == at)?;
        let on_one_tag = on_one_tag(harness, &slot, nth);
        let task = task_of(harness, &cavities, &slot, at);
        let steps = ticked(harness, at, &task, &on_one_tag);
        let (cautions, rules) = (cautions::of_end(harness, at), cautions::rules_of_end(harness, at));
        Some(AtEnd { cautions, rules, words: task.words, steps, on_one_tag })
    }
}
