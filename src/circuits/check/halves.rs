//! Halves that mate and are described as if they did not: the mating face of one is the mirror image of the other's.

use std::collections::BTreeMap;

use super::Joined;
use crate::base::Problem;
use crate::circuits::face::{CavityNames, Course, LeftOut, Position, View, letter_name};
use crate::circuits::problems::HALVES_DISAGREE;
use crate::circuits::{Connector, ConnectorFace};

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
        let letter = letter.map(|index| letter_name(index, LeftOut::NONE, true)).unwrap_or_default();
        (seen(at), letter + &number.map(|number| (number + 1).to_string()).unwrap_or_default())
    };
    numbering.parts(names, lengths).into_iter().map(name).collect()
}
