//! Where the cavities of a connector sit: the order of its face, how to count to each, and those that no list names.

use std::collections::{BTreeMap, BTreeSet};

use super::contents::Content;
use crate::base::{Cavity, ConnectorId};
use crate::circuits::{Action, View};
use crate::paperwork::Harness;
use crate::paperwork::face::{Arrangement, Certainty, FacePlan, Spot, Standing};

/// Nobody counts to a cavity among more than so many.
const MOST_COUNTED: usize = 400;

/// Where cavities sit; empty where connectors.csv does not tell.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Seats {
    order: BTreeMap<Cavity, usize>,
    aids: BTreeMap<Cavity, String>,
    /// What holds of all aids: from which side they count, and where the latch is.
    pub(super) seen: String,
    /// Cavities that connectors.csv describes and no list names, in the order of the face.
    pub(super) unnamed: Vec<Cavity>,
}

impl Seats {
    /// Of a connector. Rows come as they lie, from the top; within a row as numbers run on.
    pub(super) fn of(harness: &Harness<'_>, id: &ConnectorId) -> Self {
        let connector = harness.circuits.connector(id);
        let mate = connector.and_then(|connector| connector.mates.as_ref());
        let own = Content::of(harness.circuits, id).map(|content| named(harness, content)).unwrap_or_default();
        let of_mate = mate.and_then(|mate| Content::of(harness.circuits, mate)).map(|content| named(harness, content));
        let names: Vec<Cavity> = own.iter().cloned().chain(of_mate.unwrap_or_default()).collect();
        let plan = FacePlan::new(connector, mate.and_then(|mate| harness.circuits.connector(mate)), &names);
        let lies = matches!(plan.arrangement(), Arrangement::Grid | Arrangement::Rings);
        if plan.certainty() == Certainty::Guessed || !lies {
            return Self::default();
        }
        // In the view in which numbers run on: some are told from behind.
        let [mating, behind] = [View::MatingFace, View::WireSide].map(|view| plan.spots(view));
        let first = |spots: &[Spot]| spots.first().and_then(|spot| spot.cavity.clone());
        let spots = if first(&behind) < first(&mating) { behind } else { mating };
        let on_face =
            spots.iter().filter(|spot| spot.standing == Standing::OnFace).filter_map(|spot| spot.cavity.clone());
        let order: BTreeMap<Cavity, usize> = on_face.clone().enumerate().map(|(nth, cavity)| (cavity, nth)).collect();
        let counted = |cavity: &Cavity| Some((cavity.clone(), plan.aid(cavity, View::WireSide)?));
        let aids = if spots.len() <= MOST_COUNTED { own.iter().filter_map(counted).collect() } else { BTreeMap::new() };
        let (aids, seen) = without_shared(aids);
        let seen = upright(&plan, seen);
        Self { order, aids, seen, unnamed: on_face.filter(|cavity| !own.contains(cavity)).collect() }
    }

    /// Its place in the order of the face; those that have none come last.
    pub(super) fn rank(&self, cavity: Option<&Cavity>) -> usize {
        cavity.and_then(|cavity| self.order.get(cavity)).copied().unwrap_or(usize::MAX)
    }

    /// How to count to it: `row 2, third from left`.
    pub(super) fn aid(&self, cavity: Option<&Cavity>) -> Option<&str> {
        cavity.and_then(|cavity| self.aids.get(cavity)).map(String::as_str)
    }
}

/// What is seen, and which way up where no latch tells it: counting upside down finds another cavity.
fn upright(plan: &FacePlan, seen: String) -> String {
    let is_turned = plan.arrangement() == Arrangement::Grid && plan.latch(View::WireSide).is_none();
    let spots = plan.spots(View::WireSide);
    match spots
        .first()
        .filter(|spot| is_turned && spot.standing == Standing::OnFace)
        .and_then(|spot| spot.cavity.as_ref())
    {
        Some(cavity) if !seen.is_empty() => format!("{seen}, {cavity} top left"),
        _ => seen,
    }
}

/// The cavities of ends and of arrivals.
fn named(harness: &Harness<'_>, content: Content<'_>) -> BTreeSet<Cavity> {
    let ends = content.ends.iter().filter_map(|at| harness.end(*at).place.cavity.clone());
    let arrivals = content.arrivals.iter().filter_map(|at| match &harness.end(*at).action {
        Action::Move(Some(to)) => to.cavity.clone(),
        _ => None,
    });
    ends.chain(arrivals).collect()
}

/// The aids without what all of them say at their ends of the side and the latch, and this.
fn without_shared(mut aids: BTreeMap<Cavity, String>) -> (BTreeMap<Cavity, String>, String) {
    let mut shared: Vec<String> = Vec::new();
    while let Some(last) = aids.values().next().and_then(|aid| Some(aid.rsplit_once(", ")?.1.to_owned())) {
        let ending = format!(", {last}");
        let is_of_all = ["wire side", "latch ", "key "].iter().any(|words| last.starts_with(words));
        if !is_of_all || !aids.values().all(|aid| aid.ends_with(&ending)) {
            break;
        }
        aids.values_mut().for_each(|aid| aid.truncate(aid.len() - ending.len()));
        shared.push(last);
    }
    // A latch at a side: some count from it, and the others need not say where it is.
    for latch in ["latch left", "latch right"] {
        let ending = format!(", {latch}");
        let with_it: Vec<&mut String> = aids.values_mut().filter(|aid| aid.ends_with(&ending)).collect();
        if !with_it.is_empty() {
            shared.push(latch.to_owned());
        }
        with_it.into_iter().for_each(|aid| aid.truncate(aid.len() - ending.len()));
    }
    (aids, shared.join(", "))
}
