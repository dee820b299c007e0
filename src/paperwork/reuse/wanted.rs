//! Circuits -> the wires that are wanted: new ones, and pieces that make a wire longer.
//!
//! A piece that makes an end longer has the conductor and the colour of its wire. Its length is what the row says in `extend by`.
//! Where it leads on to an added end of its circuit, the two are one piece, and the length of that end's row is its length too.

use crate::base::{Conductor, Insulation, Length, Step, WireColour};
use crate::circuits::{Action, Circuit, End, FarEnd};
use crate::labels::along::{WireEnds, wires};
use crate::paperwork::Harness;

use super::spare::{HeldBack, Why, area, danger};

/// What sort of wire is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// A new wire.
    New(WireEnds),
    /// A piece that makes a wire longer.
    Extension {
        /// Index of the circuit.
        circuit: usize,
        /// Index of the end that is too short.
        end: usize,
        /// Index of the added end that it leads to, where there is but one.
        on_to: Option<usize>,
    },
}

impl What {
    /// Index of the circuit.
    pub const fn circuit(self) -> usize {
        match self {
            Self::New(wire) => wire.circuit,
            Self::Extension { circuit, .. } => circuit,
        }
    }

    /// Indices of the ends between which it goes, as far as they are known.
    pub fn ends(self) -> impl Iterator<Item = usize> {
        let (one, other) = match self {
            Self::New(wire) => (wire.first, wire.other),
            Self::Extension { end, on_to, .. } => (end, on_to),
        };
        std::iter::once(one).chain(other)
    }
}

/// A wire that is wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Wanted {
    /// What it is for.
    pub what: What,
    /// Its way, of two lengths that differ the longer.
    pub length: Option<Length>,
    /// Its conductor at least, of two that differ the larger.
    pub conductor: Option<Conductor>,
    /// Its colour, if it can be had.
    pub colour: Option<WireColour>,
    /// Its insulation, or a better one.
    pub insulation: Option<Insulation>,
}

/// All that is wanted and not yet done.
pub(super) fn wanted(harness: &Harness<'_>, held_back: &mut Vec<HeldBack>) -> Vec<Wanted> {
    let circuits = harness.circuits;
    let mut wanted = Vec::new();
    let leads: Vec<Option<(usize, usize)>> = circuits.all().iter().map(lead).collect();
    for wire in wires(circuits) {
        let circuit = &circuits.all()[wire.circuit];
        for what in wants(circuit, wire, leads[wire.circuit]) {
            let done = |end: usize| &harness.on_bench((what.circuit(), end)).done;
            if what.ends().any(|end| done(end).contains(&Step::Added) || done(end).contains(&Step::Extended)) {
                continue;
            }
            let partner = what.ends().find_map(|end| circuit.ends()[end].partner.clone());
            match danger(circuits, (wire.circuit, wire.first)).or_else(|| partner.map(Why::WantedPair)) {
                Some(why) => held_back.push(HeldBack { wire, why }),
                None => wanted.push(facts(circuit, what)),
            }
        }
    }
    wanted
}

/// What one wire of the lists asks for.
fn wants(circuit: &Circuit, wire: WireEnds, lead: Option<(usize, usize)>) -> Vec<What> {
    let action = |end: usize| &circuit.ends()[end].action;
    let has = |wanted: &Action| wire.ends().any(|end| action(end) == wanted);
    if has(&Action::Remove) {
        // Held back with the removed wires, as the two ends speak against each other.
        return Vec::new();
    }
    if has(&Action::Add) {
        let is_led_to = wire.other.is_none() && lead.is_some_and(|(_, to)| to == wire.first);
        return if is_led_to { Vec::new() } else { vec![What::New(wire)] };
    }
    let extended = wire.ends().filter(|end| *action(*end) == Action::Extend);
    let on_to = |end| lead.filter(|(from, _)| *from == end).map(|(_, to)| to);
    extended.map(|end| What::Extension { circuit: wire.circuit, end, on_to: on_to(end) }).collect()
}

/// The end of a circuit that is made longer and the added end it must lead to: where there is one of each, and no list tells
/// where the wire of the added end comes from.
fn lead(circuit: &Circuit) -> Option<(usize, usize)> {
    let ends = || circuit.ends().iter().enumerate();
    let only = |wanted: Action, holds: &dyn Fn(usize) -> bool| {
        let mut found = ends().filter(|(at, end)| end.action == wanted && holds(*at)).map(|(at, _)| at);
        found.next().filter(|_| found.next().is_none())
    };
    let from = only(Action::Extend, &|_| true)?;
    let to = only(Action::Add, &|end| !matches!(circuit.far_end(end), FarEnd::End(_)))?;
    Some((from, to))
}

fn facts(circuit: &Circuit, what: What) -> Wanted {
    let ends: Vec<&End> = what.ends().map(|end| &circuit.ends()[end]).collect();
    // The length of an end that is made longer is that of its wire as it is.
    let lengths = ends.iter().filter_map(|end| if end.action == Action::Extend { end.extend_by } else { end.length });
    let sizes = ends.iter().filter_map(|end| end.conductor.as_ref());
    Wanted {
        what,
        length: lengths.max(),
        conductor: sizes.max_by(|one, other| area(one).total_cmp(&area(other))).cloned(),
        colour: ends.iter().find_map(|end| end.colour.clone()),
        insulation: ends.iter().find_map(|end| end.insulation),
    }
}
