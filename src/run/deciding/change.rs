//! What would change at one end, and what speaks against it: what was done there already, and danger.

use super::super::danger::Danger;
use super::super::noting::{Bench, step_fits};
use super::Deciding;
use crate::base::Place;
use crate::circuits::Action;
use crate::circuits::caution::{danger_at, speaks_of_a_cap};
use crate::codes::{Decision, Matter, progress};

/// What was decided of one end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The number of the decision; 0 while it is not written yet.
    pub number: u32,
    /// The decision.
    pub decision: Decision,
    /// The circuit and end of the lists.
    pub at: (usize, usize),
    /// Where the end sits.
    pub place: Place,
    /// What it is, in words: `7KF4 A at J1/14, rail pressure signal, blue, white stripe`.
    pub about: String,
    /// What held before: an action, or a note, perhaps empty.
    pub before: String,
    /// What holds now.
    pub after: String,
    /// What the lists say.
    pub listed: String,
    /// What of it may hurt somebody.
    pub danger: Option<Danger>,
    /// What speaks against it, or should be known; danger first.
    pub warnings: Vec<String>,
}

impl Deciding<'_> {
    pub(super) fn of_action(&self, at: (usize, usize), wished: Option<Action>) -> Option<Change> {
        let end = self.end(at);
        let listed = end.decided_instead().map_or(&end.action, |instead| &instead.listed.0);
        // What the lists say is left to them.
        let wished = wished.filter(|wished| wished != listed);
        let after = wished.as_ref().unwrap_or(listed);
        if *after == end.action {
            return None;
        }
        let (danger, warnings) = self.warnings(at, after);
        let (before, after, matter) = (end.action.to_string(), after.to_string(), Matter::Action(wished.clone()));
        Some(Change { danger, warnings, ..self.change(at, matter, before, after, listed.to_string()) })
    }

    pub(super) fn of_note(&self, at: (usize, usize), wished: String) -> Option<Change> {
        let end = self.end(at);
        let listed = end.note_in_lists().unwrap_or_default();
        let before = end.note.clone().unwrap_or_default();
        if wished == before {
            return None;
        }
        let matter = Matter::Note(Some(wished.clone()).filter(|wished| wished != listed));
        Some(self.change(at, matter, before, wished, listed.to_owned()))
    }

    fn change(&self, at: (usize, usize), matter: Matter, before: String, after: String, listed: String) -> Change {
        let (code, letter) = self.mark(at);
        let bench = Bench { recall: self.recall, notes: self.recall.notes(), codes: self.codes };
        let about = bench.about(code, letter);
        let place = self.end(at).place.clone();
        Change {
            number: 0,
            decision: Decision { code, letter, matter },
            at,
            place,
            about,
            before,
            after,
            listed,
            danger: None,
            warnings: Vec::new(),
        }
    }

    /// What speaks against an action of an end: what was done already, and danger.
    fn warnings(&self, at: (usize, usize), action: &Action) -> (Option<Danger>, Vec<String>) {
        let (code, letter) = self.mark(at);
        let is_free = matches!(action, Action::Cut | Action::Reserve);
        let is_capped = self.end(at).note.as_deref().is_some_and(speaks_of_a_cap);
        let danger = Danger::of_action(danger_at(&self.reading.circuits, at), action)
            .filter(|danger| *danger != Danger::Live || (is_free && !is_capped));
        let mut warnings: Vec<String> = danger.iter().map(|danger| danger.words().to_owned()).collect();
        if let Some(found) = self.recall.by_code(code, Some(letter)) {
            let marks: Vec<_> = found.ends.iter().flat_map(|&end| found.record.marks(end)).collect();
            let done = progress(self.recall.notes().of_end(&found.record.codes(), &marks)).done;
            let against = done.into_iter().filter(|step| !step_fits(*step, action.word()));
            warnings.extend(
                against.map(|step| format!("`{step}` is noted of it already: undo the note where it is wrong")),
            );
        }
        (danger, warnings)
    }
}
