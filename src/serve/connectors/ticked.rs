//! What is ticked on the page of a connector: a step of one tag, or of all that were chosen -> notes of the bench.

use axum::response::Redirect;

use super::{Shown, link};
use crate::base::Step;
use crate::run::connectors::{NamedConnector, named_connector};
use crate::run::note;
use crate::run::noting::{Asked, NotNoted};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::trouble::Trouble;

/// Most notes that are told one by one.
const TOLD: usize = 3;

/// The value of a button: `done cut 7KF4 A`.
pub fn value(step: Step, is_done: bool, tag: &str) -> String {
    format!("{} {step} {tag}", if is_done { "undone" } else { "done" })
}

/// Notes what was ticked, and leads back.
///
/// # Errors
/// When nothing that can be noted was sent, or the register fails.
pub fn note_ticks(
    desk: &Desk,
    visitor: &Visitor,
    name: &str,
    shown: Shown,
    fields: &[(String, String)],
) -> Result<Redirect, Trouble> {
    let job = desk.snapshot()?;
    let NamedConnector::One(id) = named_connector(&job, name) else {
        return Err(Trouble::NotFound(format!("no list names a connector `{name}`")));
    };
    let back = Redirect::to(&link(desk, &id, shown));
    let asked = asked(fields);
    if asked.is_empty() {
        visitor.tell("nothing was chosen: tick the ends first, then say what is done");
        return Ok(back);
    }
    let bench = job.bench();
    let mut planned = Vec::new();
    for words in asked {
        planned.extend(bench.plan(&Asked { words, ..Asked::default() }).map_err(refused)?);
    }
    note(desk.folder(), &planned, desk.now())?;
    for one in planned.iter().take(TOLD) {
        visitor.tell(format!("{}: {}", one.about, one.note.in_words()));
    }
    if planned.len() > TOLD {
        visitor.tell(format!("and {} more", planned.len() - TOLD));
    }
    for warning in planned.iter().flat_map(|one| &one.warnings) {
        visitor.tell(format!("mind: {warning}"));
    }
    Ok(back)
}

/// The notes that were meant, each as it would be typed: one button counts alone, else a step for all tags that were chosen.
fn asked(fields: &[(String, String)]) -> Vec<Vec<String>> {
    let of =
        |name: &'static str| fields.iter().filter(move |(known, _)| known == name).map(|(_, value)| value.as_str());
    let words = |tag: &str, said: &str, step: &str| vec![tag.to_owned(), said.to_owned(), step.to_owned()];
    if let Some(ticked) = of("tick").next() {
        let mut parts = ticked.splitn(3, ' ');
        return match (parts.next(), parts.next(), parts.next()) {
            (Some(said @ ("done" | "undone")), Some(step), Some(tag)) => vec![words(tag, said, step)],
            _ => Vec::new(),
        };
    }
    let Some(step) = of("all").next() else { return Vec::new() };
    of("end").map(|tag| words(tag, "done", step)).collect()
}

fn refused(why: NotNoted) -> Trouble {
    match why {
        NotNoted::Words(why) => Trouble::refused(why.what, why.remedy),
        NotNoted::Unknown(_) => Trouble::refused(
            format!("nothing is noted: {why}"),
            "codes are issued when tags or bench sheets are printed first: `loomtag tags`",
        ),
        NotNoted::CannotBe(_) => Trouble::refused(format!("nothing is noted: {why}"), "name the code of a tag"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_button_counts_alone_and_a_step_for_all_that_are_chosen() {
        let fields = |pairs: &[(&str, &str)]| -> Vec<(String, String)> {
            pairs.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
        };
        let chosen = [("end", "7KF4 A"), ("end", "7KF4 B+C"), ("all", "cut")];
        assert_eq!(asked(&fields(&chosen)), [["7KF4 A", "done", "cut"], ["7KF4 B+C", "done", "cut"]]);
        let button = value(Step::Cut, true, "7KF4 B+C");
        let one = [("end", "7KF4 A"), ("tick", button.as_str())];
        assert_eq!(asked(&fields(&one)), [["7KF4 B+C", "undone", "cut"]]);
        for nothing in [&[("tick", "do it 7KF4")][..], &[("end", "7KF4 A")], &[("all", "cut")], &[]] {
            assert!(asked(&fields(nothing)).is_empty(), "{nothing:?}");
        }
    }
}
