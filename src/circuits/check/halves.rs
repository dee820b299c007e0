//! Halves that mate: those that are described as if they did not, since the mating face of one is the mirror image of the other's, and
//! wires that would not meet any more because one of them moves.

use std::collections::{BTreeMap, HashMap};

use super::{Joined, by_whom};
use crate::base::{Place, Problem};
use crate::circuits::face::{CavityNames, Course, LeftOut, Position, View, letter_name};
use crate::circuits::problems::{HALVES_DISAGREE, HALVES_PART};
use crate::circuits::{Action, Case, Circuit, Connector, ConnectorFace, End};

/// Pairs of which both faces are told, each pair once.
pub(super) fn find_disagreeing(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    for one in joined.connectors.all.values() {
        let Some(other) = one.mates.as_ref().filter(|mate| one.id < **mate).and_then(|mate| joined.connector(mate))
        else {
            continue;
        };
        let Some(what) = disagreement(one, other) else { continue };
        let problem = HALVES_DISAGREE.says(what).at(other.origin.clone());
        let problem = problem.see(format!("`{}` is described here", one.id), one.origin.clone());
        let remedy = format!(
            "give `{}` the view `wire side`, if that is how it was counted; or leave its rows and columns blank: it is then the \
             mirror image of `{}`",
            other.id, one.id
        );
        problems.push(problem.remedy(remedy));
    }
}

/// Wires that move to another cavity of their half while the other half of the circuit, which they meet now, does not move along.
pub(super) fn find_parting(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    let moving = |end: &End| match &end.action {
        Action::Move(Some(to)) if to.connector == end.place.connector => to.cavity.clone(),
        _ => None,
    };
    let mate = |end: &End| joined.connector(&end.place.connector).and_then(|connector| connector.mates.clone());
    let moved: Vec<(&Circuit, &End)> = joined
        .ends()
        .filter(|(_, _, end)| moving(end).is_some() && mate(end).is_some())
        .map(|(circuit, _, end)| (circuit, end))
        .collect();
    if moved.is_empty() {
        return;
    }
    let mut by_place: HashMap<&Place, Vec<(&Circuit, &End)>> = HashMap::new();
    for (circuit, _, end) in joined.ends() {
        by_place.entry(&end.place).or_default().push((circuit, end));
    }
    for (circuit, end) in moved {
        let (Some(to), Some(mate)) = (moving(end), mate(end)) else { continue };
        let meets = Place::new(mate.clone(), end.place.cavity.clone());
        let there = Place::new(mate, Some(to.clone()));
        let met = by_place.get(&meets).map_or(&[][..], Vec::as_slice);
        let Some((_, other)) = met.iter().find(|(met, _)| met.id() == circuit.id()) else { continue };
        if other.action == Action::Move(Some(there.clone())) {
            continue;
        }
        let what = format!(
            "`{}` moves from `{}` to cavity `{to}`{}, and would not meet its other half in `{meets}` any more ({}{})",
            circuit.id(),
            end.place,
            by_whom(end),
            other.action,
            by_whom(other)
        );
        let problem = HALVES_PART.says(what).at(end.origin.clone());
        let problem = problem.see(format!("`{meets}` here"), other.origin.clone());
        problems.push(problem.remedy(format!("move `{meets}` to `{there}` too, or neither of them")));
    }
}

/// What does not go together; `None` where all does, or where not both are told.
fn disagreement(one: &Connector, other: &Connector) -> Option<String> {
    let (first, second) = (one.face.row_lengths()?, other.face.row_lengths()?);
    if first != second {
        return Some(format!("`{}` and `{}` mate, but have different rows or columns", one.id, other.id));
    }
    let (here, there) =
        (positions(&one.face, &first, View::MatingFace), positions(&other.face, &first, View::WireSide));
    let (position, name) = here.iter().find(|(position, name)| there.get(position) != Some(name))?;
    let meets = there.get(position)?;
    Some(format!("`{}/{name}` would meet `{}/{meets}`, as the faces of the two halves are told", one.id, other.id))
}

/// The name of each position as it is seen in this view.
fn positions(face: &ConnectorFace, lengths: &[u16], view: View) -> BTreeMap<Position, String> {
    let numbering = face.numbering.unwrap_or_default();
    let seen = |(row, place): Position| {
        let length = usize::from(lengths[row]);
        match numbering.course {
            _ if face.view == view => (row, place),
            Some(Course::Rings) => (row, (length - place) % length),
            _ => (row, length - 1 - place),
        }
    };
    let names = numbering.names.unwrap_or(CavityNames::Numbers);
    let name = |(at, letter, number): (Position, Option<usize>, Option<usize>)| {
        let letter = letter.map(|index| letter_name(index, LeftOut::NONE, Case::Matters)).unwrap_or_default();
        (seen(at), letter + &number.map(|number| (number + 1).to_string()).unwrap_or_default())
    };
    numbering.parts(names, lengths).into_iter().map(name).collect()
}
