//! Which rows stand together, and in which order: cavity by cavity, partners of twisted pairs and screens side by side.

use std::collections::BTreeMap;

use super::At;
use super::contents::Content;
use super::seats::Seats;
use crate::base::Cavity;
use crate::circuits::Action;
use crate::circuits::partner::partners_beside;
use crate::paperwork::Harness;

/// What is in one cavity, or at one end of a place without cavities.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Slot<'a> {
    /// Its name.
    pub(super) cavity: Option<&'a Cavity>,
    /// The ends in it.
    pub(super) ends: Vec<At>,
    /// The ends that move into it.
    pub(super) arrivals: Vec<At>,
}

/// Cavities whose rows stay together: one, or those of a twisted pair and its screen.
pub(super) type Group<'a> = Vec<Slot<'a>>;

/// All rows of a list in their order.
pub(super) fn groups<'a>(harness: &Harness<'a>, content: Content<'_>, seats: &Seats) -> Vec<Group<'a>> {
    let slots = slots(harness, content, seats);
    let mut joined: Vec<usize> = (0..slots.len()).collect();
    let slot_of: BTreeMap<At, usize> =
        slots.iter().enumerate().flat_map(|(nth, slot)| slot.ends.iter().map(move |at| (*at, nth))).collect();
    for (&at, &slot) in &slot_of {
        let partners = partners_beside(harness.circuits, harness.end(at), content.ends);
        let mut nearest: BTreeMap<usize, usize> = BTreeMap::new();
        for partner in partners.into_iter().filter(|partner| partner.0 != at.0) {
            let there = slot_of[&partner];
            let best = nearest.entry(partner.0).or_insert(there);
            if there.abs_diff(slot) < best.abs_diff(slot) {
                *best = there;
            }
        }
        for there in nearest.into_values() {
            join(&mut joined, slot, there);
        }
    }
    let mut groups: BTreeMap<usize, Group<'a>> = BTreeMap::new();
    for (nth, slot) in slots.into_iter().enumerate() {
        groups.entry(root(&joined, nth)).or_default().push(slot);
    }
    groups.into_values().collect()
}

/// Cavities in the order of the face, else in natural order; where there are none, every end by itself.
fn slots<'a>(harness: &Harness<'a>, content: Content<'_>, seats: &Seats) -> Vec<Slot<'a>> {
    let mut slots: BTreeMap<&Cavity, Slot<'a>> = BTreeMap::new();
    let mut without: Vec<Slot<'a>> = Vec::new();
    for &at in content.ends {
        match &harness.end(at).place.cavity {
            Some(cavity) => slots.entry(cavity).or_default().ends.push(at),
            None => without.push(Slot { ends: vec![at], ..Slot::default() }),
        }
    }
    for &at in content.arrivals {
        let Action::Move(Some(to)) = &harness.end(at).action else { continue };
        match &to.cavity {
            Some(cavity) => slots.entry(cavity).or_default().arrivals.push(at),
            None => without.push(Slot { arrivals: vec![at], ..Slot::default() }),
        }
    }
    let named = slots.into_iter().map(|(cavity, slot)| Slot { cavity: Some(cavity), ..slot });
    let mut slots: Vec<Slot<'a>> = named.chain(without).collect();
    slots.sort_by_key(|slot| seats.rank(slot.cavity));
    slots
}

/// The first slot of the group that a slot is in.
fn root(joined: &[usize], mut slot: usize) -> usize {
    while joined[slot] != slot {
        slot = joined[slot];
    }
    slot
}

fn join(joined: &mut [usize], one: usize, other: usize) {
    let (one, other) = (root(joined, one), root(joined, other));
    joined[one.max(other)] = one.min(other);
}
