//! Green-and-yellow is for the protective conductor alone (IEC 60204-1, 13.2.2, as quoted second-hand; IEC 60757 has GNYE for it).
//! On boats and in vehicles wires of signals have it too, so that this is a warning and says so.

use super::{Joined, first_of, see_others};
use crate::base::{Colour, Place, Problem};
use crate::circuits::caution::speaks_of_protective_earth;
use crate::circuits::problems::GREEN_AND_YELLOW_MISUSED;
use crate::circuits::{End, Supply};

/// Circuits with green-and-yellow wires that neither the supply nor words make a protective or ground conductor, each once.
pub(super) fn find_misused_green_and_yellow(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for circuit in joined.circuits {
        let is_green_and_yellow =
            |end: &&End| end.colour.as_ref().and_then(|colour| colour.base()) == Some(Colour::GreenAndYellow);
        if circuit.supply == Some(Supply::Ground) || !circuit.ends().iter().any(|end| is_green_and_yellow(&end)) {
            continue;
        }
        if circuit.function.as_deref().is_some_and(speaks_of_protective_earth)
            || speaks_of_protective_earth(circuit.id().as_str())
        {
            continue;
        }
        let ends: Vec<&End> = circuit
            .ends()
            .iter()
            .filter(is_green_and_yellow)
            .filter(|end| !end.note.as_deref().is_some_and(speaks_of_protective_earth))
            .collect();
        let Some((first, others)) = ends.split_first() else { continue };
        let places: Vec<&Place> = ends.iter().map(|end| &end.place).collect();
        let what = format!(
            "circuit `{}` is green-and-yellow at {}, and nothing says that it is protective earth",
            circuit.id(),
            first_of(&places)
        );
        let problem = GREEN_AND_YELLOW_MISUSED.says(what).at(first.origin.clone());
        let problem = see_others(problem, others, |end| format!("`{}` too", end.place));
        problems.push(problem.remedy(
            "in mains and machine wiring it is for protective earth only: check the wire; supply `ground` or `PE` in the function settles it",
        ));
    }
}
