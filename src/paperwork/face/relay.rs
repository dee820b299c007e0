//! The terminals of a relay -> where each lies in its socket.

use super::Pitches;
use super::plan::{Spot, Standing, as_count, square};
use crate::base::Cavity;

/// Where the terminals lie as seen against the face that the relay is pushed onto: row, column, terminal. The relay's own blades,
/// seen from below, are its mirror image (the usual four- and five-blade arrangement of ISO 7588-1, from memory).
const USUAL: [(usize, usize, &str); 5] = [(0, 1, "87"), (1, 0, "85"), (1, 1, "87a"), (1, 2, "86"), (2, 1, "30")];
/// What a relay with two closing contacts has in the middle.
const SECOND_CONTACT: &str = "87b";
/// Terminals that a socket has even where no list names them.
const ALWAYS: [&str; 4] = ["87", "85", "86", "30"];

/// The sentence on the sheet.
pub(super) const REMARK: &str =
    "terminals lie as is usual for small relays; relays differ, so go by the numbers on the relay and its socket";

/// Whether all names are terminals that a usual relay has.
pub(super) fn has_usual_names(names: &[Cavity]) -> bool {
    let is_usual = |name: &str| USUAL.iter().any(|(_, _, usual)| *usual == name) || name == SECOND_CONTACT;
    names.iter().all(|name| is_usual(name.as_str()))
}

/// The terminals as seen against the mating face. Of 87a and 87b, which share a place, the first that is named has it.
pub(super) fn lay(names: &[Cavity]) -> Vec<Spot> {
    let has = |wanted: &str| names.iter().any(|name| name.as_str() == wanted);
    let spot = |&(row, place, terminal): &(usize, usize, &str)| {
        let terminal = if terminal == "87a" && !has(terminal) { SECOND_CONTACT } else { terminal };
        let cavity = (ALWAYS.contains(&terminal) || has(terminal)).then(|| Cavity::from_cell(terminal))?;
        let area = square(Pitches::ONE * as_count(place), Pitches::ONE * as_count(row));
        Some(Spot { cavity, row, place, area, standing: Standing::OnFace })
    };
    USUAL.iter().filter_map(spot).collect()
}
