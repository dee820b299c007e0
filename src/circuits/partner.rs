//! What a cell of the column `with` names: the partner of a twisted pair, or the screen of a cable.

use super::{Circuit, Circuits, End};
use crate::base::{Cavity, CircuitId, Place};

/// The ends that an end's cell names in its own connector, by circuit and end: those of a circuit, or those in a place. The cell
/// counts as a whole, else by its parts.
pub fn partners_beside(circuits: &Circuits, end: &End, beside: &[(usize, usize)]) -> Vec<(usize, usize)> {
    let Some(cell) = end.partner.as_deref() else { return Vec::new() };
    let here = |(circuit, index): (usize, usize)| (&circuits.all()[circuit], &circuits.all()[circuit].ends()[index]);
    let named = |name: &str| -> Vec<(usize, usize)> {
        let is_circuit = CircuitId::from_cell(name).is_some_and(|id| circuits.get(&id).is_some());
        let places = places_meant(name, end);
        let is_meant = |circuit: &Circuit, other: &End| {
            if is_circuit { circuit.id().as_str() == name } else { places.iter().flatten().any(|p| *p == other.place) }
        };
        beside.iter().copied().filter(|at| is_meant(here(*at).0, here(*at).1)).collect()
    };
    let mut names = names_in(cell);
    let whole = names.next().map(named).unwrap_or_default();
    if whole.is_empty() { names.flat_map(named).collect() } else { whole }
}

/// The cell as a whole, then its parts, as it may name several.
pub(super) fn names_in(cell: &str) -> impl Iterator<Item = &str> {
    let parts = cell.split([',', ';', '+', '&', ' ']).map(str::trim).filter(|part| !part.is_empty());
    std::iter::once(cell).chain(parts.filter(move |part| *part != cell))
}

/// The places a name may mean: `J1/14`, or cavity `14` of the same connector.
pub(super) fn places_meant(name: &str, end: &End) -> [Option<Place>; 2] {
    let beside = Cavity::from_cell(name).map(|cavity| Place::new(end.place.connector.clone(), Some(cavity)));
    [Place::from_typed(name).filter(|place| place.cavity.is_some()), beside]
}
