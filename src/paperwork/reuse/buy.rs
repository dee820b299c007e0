//! Wants that nothing serves -> what is to be bought for them, by size, colour and insulation as the lists write them.

use std::collections::BTreeMap;

use super::Reuse;
use super::fit::piece;
use super::spare::area;
use crate::base::{Conductor, ConductorSize, Insulation, Length, WireColour};

/// Wire to buy.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// Its conductor; `None` where no list tells it.
    pub conductor: Option<Conductor>,
    /// Its colour.
    pub colour: Option<WireColour>,
    /// Its insulation.
    pub insulation: Option<Insulation>,
    /// How much: all ways that are known, with their slack.
    pub length: Length,
    /// Indices of the wants it is for.
    pub wanted: Vec<usize>,
    /// How many of these have a way that nobody has measured: they come on top.
    pub unmeasured: usize,
    /// For how many of these a removed wire may do yet.
    pub may_be_served: usize,
}

/// Thicker wire last; a size in mm² and one in AWG are never one, and neither are two colours.
pub(super) fn purchases(reuse: &Reuse, slack: Length) -> Vec<Purchase> {
    let mut by_sort: BTreeMap<(u64, u8, Option<Insulation>, String), Purchase> = BTreeMap::new();
    for (at, wanted) in reuse.unmet() {
        let size = wanted.conductor.as_ref().map(Conductor::size);
        let unit = match size {
            None => 0_u8,
            Some(ConductorSize::CrossSection(_)) => 1,
            Some(ConductorSize::Awg(_)) => 2,
        };
        // Thousandths of a square millimetre tell all sizes of one unit apart.
        let thousandths = wanted.conductor.as_ref().map_or(0, |conductor| (area(conductor) * 1e6).round() as u64);
        let colour = wanted.colour.as_ref().map(ToString::to_string).unwrap_or_default();
        let sort = (thousandths, unit, wanted.insulation, colour);
        let purchase = by_sort.entry(sort).or_insert_with(|| Purchase {
            conductor: wanted.conductor.clone(),
            colour: wanted.colour.clone(),
            insulation: wanted.insulation,
            length: Length::ZERO,
            wanted: Vec::new(),
            unmeasured: 0,
            may_be_served: 0,
        });
        purchase.wanted.push(at);
        match wanted.length {
            Some(way) => purchase.length += piece(way, slack),
            None => purchase.unmeasured += 1,
        }
        purchase.may_be_served += usize::from(reuse.measure_first.iter().any(|possible| possible.wanted == at));
    }
    by_sort.into_values().collect()
}
