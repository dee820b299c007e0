//! Which ends get a tag.

use std::ops::Range;

use crate::base::Purpose;
use crate::circuits::{Action, Circuit, Circuits, Connector, ConnectorKind, FarEnd};

/// How far the selection reaches.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Reach {
    /// Ends that lose their housing, and the far ends of those wires.
    #[default]
    Needed,
    /// Those, and the ends of wires that are pulled, because they shall be used again.
    WithRemoved,
    /// Every end.
    All,
}

/// How many tags the wires of a doubled cavity get.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Doubled {
    /// One tag with the letters of all of them.
    #[default]
    Together,
    /// One tag each.
    Apart,
}

/// One tag to be made: a circuit and one of its ends, or the ends that share a doubled cavity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Selected {
    /// Index of the circuit in [`Circuits::all`].
    pub circuit: usize,
    /// Indices of the ends in the circuit, which lie side by side; at least one, all at the same place.
    pub ends: Range<usize>,
}

/// The tags to be made for one purpose, in working order. Final tags thread on, so only free ends get them. Ends of one circuit in
/// one cavity are gathered on one tag, if asked for. On a stud or splice each wire keeps a tag of its own: there are many, and
/// they part again.
pub fn select(circuits: &Circuits, purpose: Purpose, reach: Reach, doubled: Doubled) -> Vec<Selected> {
    let mut tags: Vec<Selected> = Vec::new();
    for (index, end) in circuits.working_order() {
        let circuit = &circuits.all()[index];
        if !is_wanted(circuit, end, purpose, reach) {
            continue;
        }
        let place = &circuit.ends()[end].place;
        match tags.last_mut() {
            Some(last)
                if doubled == Doubled::Together
                    && last.circuit == index
                    && last.ends.end == end
                    && circuit.ends()[last.ends.start].place == *place
                    && place.cavity.is_some()
                    && !circuits.connector(&place.connector).is_some_and(gathers_wires) =>
            {
                last.ends.end += 1;
            }
            _ => tags.push(Selected { circuit: index, ends: end..end + 1 }),
        }
    }
    tags
}

fn is_wanted(circuit: &Circuit, end: usize, purpose: Purpose, reach: Reach) -> bool {
    let action = &circuit.ends()[end].action;
    let is_reached = match reach {
        Reach::All => true,
        Reach::WithRemoved => action.loses_housing() || *action == Action::Remove,
        Reach::Needed => action.loses_housing(),
    };
    match purpose {
        Purpose::Work => {
            let far = circuit.far_end(end);
            is_reached || matches!(far, FarEnd::End(far) if circuit.ends()[far].action.loses_housing())
        }
        Purpose::Final => is_reached && action.frees_the_end(),
    }
}

/// Whether many wires meet in the connector's places.
fn gathers_wires(connector: &Connector) -> bool {
    matches!(connector.kind, ConnectorKind::Stud | ConnectorKind::Splice)
}
