//! What is ticked on the page of a connector: a step of one tag, or of all that were chosen -> notes of the bench.

use axum::response::{IntoResponse, Redirect, Response};

use super::{Shown, done_link, link};
use crate::base::Step;
use crate::paperwork::Harness;
use crate::paperwork::work_list::{ToldList, WorkLists};
use crate::run::connectors::{NamedConnector, named_connector};
use crate::run::note;
use crate::run::noting::Asked;
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::noted;
use crate::serve::parts::Tick;
use crate::serve::screen::{Screen, Tab};
use crate::serve::sure::Question;
use crate::serve::trouble::Trouble;

/// Most notes that are told one by one.
const TOLD: usize = 3;

/// The value of a button: `done cut 7KF4 A`.
pub fn value(step: Step, tick: Tick, tag: &str) -> String {
    match tick {
        Tick::Open => format!("done {step} {tag}"),
        Tick::Done => format!("undone {step} {tag}"),
    }
}

/// Notes what was ticked, and leads back. Danger is asked about first.
///
/// # Errors
/// When nothing that can be noted was sent, or the register fails.
pub fn note_ticks(
    desk: &Desk,
    visitor: &Visitor,
    name: &str,
    shown: Shown,
    fields: &Fields,
) -> Result<Response, Trouble> {
    let job = desk.snapshot()?;
    let NamedConnector::One(id) = named_connector(&job, name) else {
        return Err(Trouble::NotFound(format!("no list names a connector `{name}`")));
    };
    let page = link(desk, &id, shown);
    let back = |to: &str| Redirect::to(to).into_response();
    if let Some(range) = fields.sent("noted") {
        noted::take_back(desk, visitor, range)?;
        return Ok(back(&page));
    }
    let asked = asked(fields);
    if asked.is_empty() {
        visitor.tell("nothing was chosen: tick the ends first, then say what is done");
        return Ok(back(&page));
    }
    let bench = job.bench();
    let harness = job.harness();
    let list = WorkLists::new(&harness).told(&id);
    let is_bulk = !fields.has("tick");
    let (mut planned, mut passed_over) = (Vec::new(), Vec::new());
    for words in asked {
        let of_end = bench.plan(&Asked { words: words.clone(), ..Asked::default() })?;
        let is_asked = list.as_ref().is_some_and(|list| is_asked_for(list, &harness, &words));
        if is_bulk && !is_asked {
            passed_over.extend(of_end.into_iter().map(|one| one.about));
        } else {
            planned.extend(of_end);
        }
    }
    let said = planned.first().map(|one| one.note.in_words()).unwrap_or_default();
    let of = if planned.len() == 1 { planned[0].note.name() } else { format!("{} ends", planned.len()) };
    let question = Question {
        what: format!("note {said} for {of}"),
        reasons: noted::dangers_of(&planned),
        shown: noted::others(planned.iter().map(Into::into)),
        ..Question::default()
    };
    if !question.is_settled(fields) {
        let screen = Screen { desk, job: &job, visitor };
        let action = done_link(desk, &id, shown);
        return Ok(question.ask(&screen, Tab::Connectors, fields, (&action, &page)));
    }
    let numbers = note(desk.folder(), &planned, desk.now())?;
    for one in planned.iter().take(TOLD) {
        visitor.tell(format!("{}: {}", one.about, one.note.in_words()));
    }
    if planned.len() > TOLD {
        visitor.tell(format!("and {} more", planned.len() - TOLD));
    }
    if !passed_over.is_empty() {
        visitor.tell(format!("passed over, this is not among their steps: {}", passed_over.join("; ")));
    }
    noted::tell_warnings(visitor, planned.iter().map(Into::into));
    if !is_bulk || numbers.is_empty() {
        return Ok(back(&page));
    }
    let joint = if page.contains('?') { '&' } else { '?' };
    Ok(back(&format!("{page}{joint}{}", noted::in_address(&numbers))))
}

/// Whether the rows of all ends that are named have this step: `7KF4 A done cut`.
fn is_asked_for(list: &ToldList, harness: &Harness<'_>, words: &[String]) -> bool {
    let [tag, _, step] = words else { return false };
    let Some((code, letters)) = tag.rsplit_once([' ', '/']) else { return false };
    let has_step = |letter: &str| {
        list.entries().any(|entry| {
            let codes = &harness.issued.circuits[entry.at.0];
            codes.code.as_str() == code
                && codes.letters[entry.at.1].to_string() == letter
                && entry.steps.iter().any(|(known, _)| known.word() == step)
        })
    };
    letters.split('+').all(has_step)
}

/// The notes that were meant, each as it would be typed: one button counts alone, else a step for all tags that were chosen.
fn asked(fields: &Fields) -> Vec<Vec<String>> {
    let words = |tag: &str, said: &str, step: &str| vec![tag.to_owned(), said.to_owned(), step.to_owned()];
    if let Some(ticked) = fields.sent("tick") {
        let mut parts = ticked.splitn(3, ' ');
        return match (parts.next(), parts.next(), parts.next()) {
            (Some(said @ ("done" | "undone")), Some(step), Some(tag)) => vec![words(tag, said, step)],
            _ => Vec::new(),
        };
    }
    let Some(step) = fields.sent("all") else { return Vec::new() };
    fields.all("end").map(|tag| words(tag, "done", step)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_button_counts_alone_and_a_step_for_all_that_are_chosen() {
        let fields = |pairs: &[(&str, &str)]| -> Fields { pairs.iter().copied().collect() };
        let chosen = [("end", "7KF4 A"), ("end", "7KF4 B+C"), ("all", "cut")];
        assert_eq!(asked(&fields(&chosen)), [["7KF4 A", "done", "cut"], ["7KF4 B+C", "done", "cut"]]);
        let button = value(Step::Cut, Tick::Done, "7KF4 B+C");
        let one = [("end", "7KF4 A"), ("tick", button.as_str())];
        assert_eq!(asked(&fields(&one)), [["7KF4 B+C", "undone", "cut"]]);
        for nothing in [&[("tick", "do it 7KF4")][..], &[("end", "7KF4 A")], &[("all", "cut")], &[]] {
            assert!(asked(&fields(nothing)).is_empty(), "{nothing:?}");
        }
    }
}
