//! Which ends get a tag.

use std::collections::BTreeSet;

use super::label::Purpose;
use crate::circuits::{Action, Circuits, Connector, ConnectorKind, FarEnd};

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
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Selected {
    /// Index of the circuit in [`Circuits::all`].
    pub circuit: usize,
    /// Indices of the ends in the circuit; at least one, all at the same place.
    pub ends: Vec<usize>,
}

/// The tags to be made for one purpose, in working order. Final tags thread on, so only free ends get them.
pub fn select(circuits: &Circuits, purpose: Purpose, reach: Reach, doubled: Doubled) -> Vec<Selected> {
    let mut wanted = BTreeSet::new();
    for (circuit_index, circuit) in circuits.all().iter().enumerate() {
        for (end_index, end) in circuit.ends().iter().enumerate() {
            let is_reached = match reach {
                Reach::All => true,
                Reach::WithRemoved => end.action.loses_housing() || end.action == Action::Remove,
                Reach::Needed => end.action.loses_housing(),
            };
            match purpose {
                Purpose::Work if is_reached => {
                    wanted.insert((circuit_index, end_index));
                    if let FarEnd::End(far) = circuit.far_end(end_index)
                        && end.action.loses_housing()
                    {
                        wanted.insert((circuit_index, far));
                    }
                }
                Purpose::Final if is_reached && end.action.frees_the_end() => {
                    wanted.insert((circuit_index, end_index));
                }
                Purpose::Work | Purpose::Final => {}
            }
        }
    }
    gather_doubled(circuits, &wanted, doubled)
}

/// Wanted ends in working order, those of one circuit in one cavity gathered on one tag. On a stud or splice each wire keeps
/// a tag of its own: there are many, and they part again.
fn gather_doubled(circuits: &Circuits, wanted: &BTreeSet<(usize, usize)>, doubled: Doubled) -> Vec<Selected> {
    let mut tags: Vec<Selected> = Vec::with_capacity(wanted.len());
    for (circuit, end) in circuits.working_order().into_iter().filter(|at| wanted.contains(at)) {
        let ends = circuits.all()[circuit].ends();
        let place = &ends[end].place;
        match tags.last_mut() {
            Some(last)
                if doubled == Doubled::Together
                    && last.circuit == circuit
                    && ends[last.ends[0]].place == *place
                    && place.cavity.is_some()
                    && !circuits.connector(&place.connector).is_some_and(gathers_wires) =>
            {
                last.ends.push(end);
            }
            _ => tags.push(Selected { circuit, ends: vec![end] }),
        }
    }
    tags
}

/// Whether many wires meet in the connector's places.
fn gathers_wires(connector: &Connector) -> bool {
    matches!(connector.kind, ConnectorKind::Stud | ConnectorKind::Splice)
}
