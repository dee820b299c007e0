//! Circuits -> the wires that shall be removed: those that may serve again, and those that are held back.
//!
//! A wire is free when all its ends are removed. One whose other end stays or is undecided is told and not used, and so are
//! restraint and high-voltage wires, partners of a pair that stays, and wires found damaged or not found at all.

use std::collections::{HashMap, HashSet};

use crate::base::{Conductor, Finding, Insulation, Length, Step, WireColour};
use crate::circuits::caution::{danger_at, is_heavy_orange};
use crate::circuits::{Action, Circuit, Circuits, End, FarEnd, Supply};
use crate::labels::along::{WireEnds, wires};
use crate::paperwork::{Harness, OnBench};

/// How far the work at a removed wire is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// It lies in the harness.
    In,
    /// An end of it, or both, are pulled.
    Pulled,
    /// It is cut: what is left of it nobody has told.
    Cut,
}

/// A wire that shall be removed and may serve again.
#[derive(Clone, Debug, PartialEq)]
pub struct Spare {
    /// Its ends.
    pub wire: WireEnds,
    /// Its length, of two that differ the shorter; `None` where no list tells it or it has been cut since.
    pub length: Option<Length>,
    /// What it cannot be longer than: its length before it was cut.
    pub at_most: Option<Length>,
    /// Its conductor, of two that differ the smaller.
    pub conductor: Option<Conductor>,
    /// Its colour.
    pub colour: Option<WireColour>,
    /// Its insulation.
    pub insulation: Option<Insulation>,
    /// The partner of a twisted pair or the screen of its cable, which is removed with it.
    pub partner: Option<String>,
    /// Indices of its ends that are pulled already.
    pub pulled: Vec<usize>,
    /// How far the work at it is.
    pub standing: Standing,
}

/// A wire that is left out.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldBack {
    /// The wire.
    pub wire: WireEnds,
    /// Why.
    pub why: Why,
}

/// Why a wire is left out.
#[derive(Clone, Debug, PartialEq)]
pub enum Why {
    /// Airbags and belt tensioners: nothing of theirs is used for anything else, and nothing else for them.
    Restraint,
    /// High voltage: for trained persons only.
    HighVoltage,
    /// It is heavy and has an orange jacket: it may be of high voltage.
    HeavyOrange,
    /// Its other end, by its index, shall not be removed.
    OtherEnd(usize, Action),
    /// It is one of a pair or cable, of which something stays or is not in the lists.
    Partner(String),
    /// It shall be one of a pair or cable: a single wire does not do.
    WantedPair(String),
    /// It was found damaged (number of the note).
    Damaged(u32),
    /// Its cavity was found empty (number of the note).
    FoundEmpty(u32),
}

/// The removed wires, and those of them that are held back.
pub(super) fn spares(harness: &Harness<'_>, held_back: &mut Vec<HeldBack>) -> Vec<Spare> {
    let circuits = harness.circuits;
    let mut spares = Vec::new();
    let (removed_whole, partners_that_stay) = (removed_whole(circuits), partners_that_stay(circuits));
    for wire in wires(circuits) {
        let circuit = &circuits.all()[wire.circuit];
        let is_removed = |end: usize| circuit.ends()[end].action == Action::Remove;
        if !wire.ends().any(is_removed) {
            continue;
        }
        let on_bench: Vec<(usize, &OnBench)> =
            wire.ends().map(|end| (end, harness.on_bench((wire.circuit, end)))).collect();
        let why = why_held_back(&removed_whole, circuits, wire, &on_bench);
        let of_pair = || Some(Why::Partner((*partners_that_stay.get(circuit.id().as_str())?).to_owned()));
        match why.or_else(of_pair) {
            Some(why) => held_back.push(HeldBack { wire, why }),
            None => spares.push(spare(circuit, wire, &on_bench)),
        }
    }
    spares
}

fn why_held_back(
    removed_whole: &HashSet<&str>,
    circuits: &Circuits,
    wire: WireEnds,
    on_bench: &[(usize, &OnBench)],
) -> Option<Why> {
    let circuit = &circuits.all()[wire.circuit];
    if let Some(danger) = danger(circuits, (wire.circuit, wire.first)) {
        return Some(danger);
    }
    if let Some(stays) = wire.ends().find(|end| circuit.ends()[*end].action != Action::Remove) {
        return Some(Why::OtherEnd(stays, circuit.ends()[stays].action.clone()));
    }
    let mut found = on_bench.iter().flat_map(|(_, on_bench)| &on_bench.found);
    let found = found.find_map(|found| match found.finding {
        Finding::Damaged => Some(Why::Damaged(found.note)),
        Finding::Empty => Some(Why::FoundEmpty(found.note)),
        _ => None,
    });
    found.or_else(|| {
        let partners = wire.ends().filter_map(|end| circuit.ends()[end].partner.as_deref());
        partners.into_iter().find(|partner| !removed_whole.contains(partner)).map(|name| Why::Partner(name.to_owned()))
    })
}

/// Circuits that wires which stay name as the partner of their pair, each with the circuit that names it.
fn partners_that_stay(circuits: &Circuits) -> HashMap<&str, &str> {
    let each = circuits.all().iter().flat_map(|circuit| circuit.ends().iter().map(move |end| (circuit, end)));
    let staying = each.filter(|(_, end)| !matches!(end.action, Action::Remove | Action::Add));
    staying.filter_map(|(circuit, end)| Some((end.partner.as_deref()?, circuit.id().as_str()))).collect()
}

/// Why nothing is taken from this wire's circuit, nor given to it, whatever else holds.
pub(super) fn danger(circuits: &Circuits, at: (usize, usize)) -> Option<Why> {
    match danger_at(circuits, at) {
        Some(Supply::Restraint) => Some(Why::Restraint),
        Some(Supply::HighVoltage) => Some(Why::HighVoltage),
        _ => circuits.all()[at.0].ends().get(at.1).filter(|end| is_heavy_orange(end)).map(|_| Why::HeavyOrange),
    }
}

/// Circuits that are removed with all their ends, and of which nothing is held back for danger.
fn removed_whole(circuits: &Circuits) -> HashSet<&str> {
    let is_removed = |(index, circuit): &(usize, &Circuit)| {
        let ends = circuit.ends();
        let is_safe = |end: usize| danger(circuits, (*index, end)).is_none();
        ends.iter().all(|end| end.action == Action::Remove) && (0..ends.len()).all(is_safe)
    };
    circuits.all().iter().enumerate().filter(is_removed).map(|(_, circuit)| circuit.id().as_str()).collect()
}

fn spare(circuit: &Circuit, wire: WireEnds, on_bench: &[(usize, &OnBench)]) -> Spare {
    let ends: Vec<&End> = wire.ends().map(|end| &circuit.ends()[end]).collect();
    let done = |step: Step| on_bench.iter().filter(move |(_, at)| at.done.contains(&step)).map(|(end, _)| *end);
    let pulled: Vec<usize> = done(Step::Pulled).collect();
    let standing = if done(Step::Cut).next().is_some() {
        Standing::Cut
    } else if pulled.is_empty() {
        Standing::In
    } else {
        Standing::Pulled
    };
    let told = ends.iter().filter_map(|end| end.length).min();
    // A size that was found to be another than the list's is one that nobody has told for sure.
    let is_size_in_doubt = on_bench.iter().any(|(_, at)| at.found.iter().any(|found| found.finding == Finding::Size));
    let sizes = ends.iter().filter_map(|end| end.conductor.as_ref()).filter(|_| !is_size_in_doubt);
    Spare {
        wire,
        length: told.filter(|_| standing != Standing::Cut),
        at_most: told,
        conductor: sizes.min_by(|one, other| area(one).total_cmp(&area(other))).cloned(),
        colour: ends.iter().find_map(|end| end.colour.clone()),
        insulation: ends.iter().find_map(|end| end.insulation),
        partner: ends.iter().find_map(|end| end.partner.clone()),
        pulled,
        standing,
    }
}

/// Cross-section in mm², for comparing alone.
pub(super) fn area(conductor: &Conductor) -> f64 {
    conductor.size().square_millimetres()
}

impl Spare {
    /// Whether no list names its other end: where it comes out must be traced first.
    pub fn is_untraced(&self, circuits: &Circuits) -> bool {
        self.wire.other.is_none() && circuits.all()[self.wire.circuit].far_end(self.wire.first) == FarEnd::Unknown
    }
}
