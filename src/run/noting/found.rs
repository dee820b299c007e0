//! What findings name: colours that are known, and whether two say the same.

use std::collections::HashSet;

use super::{Bench, NotNoted, Planned, words};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{Colour, Conductor, Finding, WireColour};
use crate::run::recall::moment;

impl Bench<'_> {
    /// What was found otherwise before: `note 3, 2026-11-25 14:03 UTC, says found colour GN: the newer one counts`.
    pub fn otherwise_in_words(&self, planned: &Planned) -> Option<String> {
        let other = self.notes.get(planned.otherwise?)?;
        let (number, words) = (other.number, other.note.in_words());
        Some(format!("note {number}, {}, says `{words}`: the newer one counts", moment(other.at)))
    }

    /// Whether a colour is understood, or written in letters that the lists have.
    pub(super) fn knows_colour(&self, typed: &str) -> bool {
        let Some(colour) = WireColour::from_cell(typed) else { return false };
        let parts = |text: &str| -> Vec<String> {
            text.split(['/', '-', ' ', ',', '+']).filter(|part| !part.is_empty()).map(str::to_uppercase).collect()
        };
        let listed = || {
            let ends = self.recall.records().flat_map(|record| &record.ends);
            let typed = ends.flat_map(|end| end.colour.iter().chain(&end.colour_in_list));
            typed.flat_map(|typed| parts(typed)).collect::<HashSet<String>>()
        };
        colour.base().is_some() || {
            let listed = listed();
            parts(typed).iter().all(|part| listed.contains(part))
        }
    }
}

/// Words that are no colour: a finding that nobody can compare would say nothing.
pub(super) fn no_colour(typed: &str) -> NotNoted {
    let near = nearest(typed, Colour::names()).map(|near| format!("{} ", did_you_mean(near))).unwrap_or_default();
    let remedy =
        format!("{near}write a colour as the lists do, `BN/WH` or `brown/white`; what has no name goes into a remark");
    words(&format!("`{typed}` is no colour that is known here"), &remedy)
}

/// Whether two findings of one sort name the same.
pub(super) fn is_same(finding: Finding, one: &str, two: &str) -> bool {
    match finding {
        Finding::Colour => {
            WireColour::from_cell(one).zip(WireColour::from_cell(two)).is_some_and(|(one, two)| one.same_as(&two))
        }
        Finding::Size => match (Conductor::from_cell(one, None), Conductor::from_cell(two, None)) {
            (Ok(one), Ok(two)) => one.size() == two.size(),
            _ => one.eq_ignore_ascii_case(two),
        },
        _ => one.eq_ignore_ascii_case(two),
    }
}
