//! REUSE: which wires that shall be removed will do for circuits that are added or extended, told before any is pulled.
//!
//! In: the harness, with what the bench knows of its ends, and the slack. Out: [`Reuse`]: the removed wires ([`Spare`]), the wires that are
//! wanted ([`Wanted`]), which of the one serves which of the other, what must be measured before more can be said, what is held
//! back and why, and what is to be bought.
//!
//! A wire serves where it is long enough with its slack, its conductor at least of the size that is asked for, and its
//! insulation not worse, as far as the lists tell. What they do not tell is never taken for granted: such wires are told as ones
//! to measure. Of all ways to match, one that meets the most wants is taken, and of these one that costs least (`fit.rs`). A wire
//! serves one want first; what is left of it may serve others afterwards.

mod assign;
mod buy;
mod fit;
pub mod sheet;
mod spare;
#[cfg(test)]
mod tests;
mod wanted;
pub mod words;

use super::Harness;
use crate::base::{Insulation, Length};

pub use assign::{Match, Possible, best};
pub use buy::Purchase;
pub use fit::{ColourMatch, Route};
pub use spare::{HeldBack, Spare, Standing, Why};
pub use wanted::{Wanted, What};

/// What a wire is cut longer than the way it goes, at each end, where the job does not say: to strip, to crimp, and once again
/// (common practice).
pub const USUAL_SLACK: Length = Length::nm(100_000_000);

/// As many removed and as many wanted wires are compared; the time that takes grows with the third power.
pub const MOST_WIRES: usize = 500;

/// What holds for all wires of a job.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// What a wire is cut longer than its way, at each end.
    pub slack: Length,
    /// The insulation of wires of which no list tells it.
    pub insulation: Option<Insulation>,
}

impl Default for Settings {
    fn default() -> Self {
        Self { slack: USUAL_SLACK, insulation: None }
    }
}

/// Which removed wire is for what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Reuse {
    /// Removed wires that may serve, in the order of the circuits.
    pub spares: Vec<Spare>,
    /// Wires that are wanted, in the order of the circuits.
    pub wanted: Vec<Wanted>,
    /// What serves what, in the order of the removed wires.
    pub matches: Vec<Match>,
    /// For wants that nothing serves, what might: the likeliest first.
    pub measure_first: Vec<Possible>,
    /// Wires that shall be removed or are wanted, and are left out.
    pub held_back: Vec<HeldBack>,
    /// What is to be bought for the wants that nothing serves.
    pub to_buy: Vec<Purchase>,
    /// Removed wires and wants beyond [`MOST_WIRES`], which were not compared: these wants are to be bought, these removed wires are
    /// in no list here.
    pub not_compared: (usize, usize),
}

impl Reuse {
    /// Removed wires that serve nothing.
    pub fn left_for_stock(&self) -> impl Iterator<Item = (usize, &Spare)> {
        let serves = |spare: usize| self.matches.iter().any(|one| one.spare == spare);
        self.spares.iter().enumerate().filter(move |(at, _)| !serves(*at))
    }

    /// What is left of a removed wire after all that is cut from it; `None` where its length is not known.
    pub fn rest(&self, spare: usize) -> Option<Length> {
        let cut: Length = self.matches.iter().filter(|one| one.spare == spare).map(|one| one.piece).sum();
        Some(self.spares.get(spare)?.length? - cut)
    }

    /// Wants that nothing serves.
    pub fn unmet(&self) -> impl Iterator<Item = (usize, &Wanted)> {
        let is_met = |wanted: usize| self.matches.iter().any(|one| one.wanted == wanted);
        self.wanted.iter().enumerate().filter(move |(at, _)| !is_met(*at))
    }
}

/// Matches removed wires to wanted ones. Of the wants those count that `is_chosen` holds for.
pub fn reuse(harness: &Harness<'_>, settings: Settings, is_chosen: &dyn Fn(&Wanted) -> bool) -> Reuse {
    let (circuits, slack) = (harness.circuits, settings.slack);
    let mut held_back = Vec::new();
    let mut spares = spare::spares(harness, &mut held_back);
    let mut wanted = wanted(harness, settings, &mut held_back);
    wanted.retain(is_chosen);
    for spare in &mut spares {
        spare.insulation = spare.insulation.or(settings.insulation);
    }
    let over = |count: usize| count.saturating_sub(MOST_WIRES);
    let not_compared = (over(spares.len()), over(wanted.len()));
    spares.truncate(MOST_WIRES);
    let compared = &wanted[..wanted.len().min(MOST_WIRES)];
    let (matches, pieces) = assign::assign(circuits, &spares, compared, slack);
    let mut reuse = Reuse { spares, wanted, matches, held_back, not_compared, ..Reuse::default() };
    reuse.measure_first = assign::possible(circuits, &reuse, &pieces, slack);
    reuse.to_buy = buy::purchases(&reuse, slack);
    reuse
}

/// All that is wanted, as if no wire were removed: every want is to be bought. What is wanted and cannot be bought by its length
/// alone is held back.
pub fn all_new(harness: &Harness<'_>, settings: Settings) -> Reuse {
    let mut held_back = Vec::new();
    let wanted = wanted(harness, settings, &mut held_back);
    let mut reuse = Reuse { wanted, held_back, ..Reuse::default() };
    reuse.to_buy = buy::purchases(&reuse, settings.slack);
    reuse
}

fn wanted(harness: &Harness<'_>, settings: Settings, held_back: &mut Vec<HeldBack>) -> Vec<Wanted> {
    let mut wanted = wanted::wanted(harness, held_back);
    for wanted in &mut wanted {
        wanted.insulation = wanted.insulation.or(settings.insulation);
    }
    wanted
}
