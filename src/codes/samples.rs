//! Circuits to try the register and recall on.

use std::collections::{BTreeMap, HashMap};

use jiff::Timestamp;

use crate::base::{CircuitId, Origin, Place, Source, WireColour};
use crate::circuits::{Action, Circuit, Circuits, Decided, End, FarEnd, Naming, TagWish};

/// A moment for tests.
pub const NOW: Timestamp = Timestamp::UNIX_EPOCH;

/// An end at `J1/14`, or `J1/14 BN/WH` with its colour.
pub fn end(typed: &str, ordinal: u16) -> End {
    let (place, colour) = typed.split_once(' ').unwrap_or((typed, ""));
    End {
        place: Place::from_typed(place).expect("a place"),
        ordinal,
        colour: WireColour::from_cell(colour),
        conductor: None,
        insulation: None,
        diameter: None,
        length: None,
        slides_over: None,
        terminal: None,
        extend_by: None,
        action: Action::Undecided,
        decided: Decided::Nobody,
        is_marked_undecided: false,
        tag: TagWish::default(),
        branch: None,
        partner: None,
        note: None,
        edited: None,
        origin: Origin::whole(&Source::new("list.csv", "")),
    }
}

/// A circuit with these ends; one whose designation is its only place is named by place.
pub fn circuit(id: &str, ends: &[&str]) -> Circuit {
    let mut seen: HashMap<&str, u16> = HashMap::new();
    let mut counted = Vec::new();
    for &typed in ends {
        let ordinal = seen.entry(typed).or_default();
        counted.push(end(typed, *ordinal));
        *ordinal += 1;
    }
    let naming =
        if counted.iter().any(|end| end.place.to_string() == id) { Naming::ByPlace } else { Naming::Designated };
    let far = vec![FarEnd::Unknown; counted.len()];
    Circuit::new(CircuitId::from_cell(id).expect("a designation"), naming, counted, far).expect("equally long")
}

/// Circuits of a job without connectors.csv.
pub fn circuits(all: impl IntoIterator<Item = Circuit>) -> Circuits {
    Circuits::new(all.into_iter().collect(), BTreeMap::new())
}
