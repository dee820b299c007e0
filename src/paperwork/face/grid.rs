//! Rows of positions -> where each lies.

use std::collections::{BTreeMap, BTreeSet};

use super::{PitchArea, Pitches};
use crate::circuits::face::{Position, Stagger};

/// Side of a cavity that is larger than the others. How large it is nobody tells; on the face it must be seen.
const LARGE: Pitches = Pitches::thousandths(1500);

/// Positions laid out.
pub(super) struct Laid {
    pub(super) areas: BTreeMap<Position, PitchArea>,
    pub(super) width: Pitches,
    pub(super) height: Pitches,
}

/// Lays out rows. A row that is shorter than the others lies in their middle, unless the stagger is told.
pub(super) fn lay(lengths: &[u16], large: &BTreeSet<Position>, stagger: Option<Stagger>) -> Laid {
    let side = |at: Position| if large.contains(&at) { LARGE } else { Pitches::ONE };
    let width_of = |(row, &length): (usize, &u16)| {
        (0..usize::from(length)).fold(Pitches::ZERO, |sum, place| sum + side((row, place)))
    };
    let widths: Vec<Pitches> = lengths.iter().enumerate().map(width_of).collect();
    let widest = widths.iter().copied().max().unwrap_or_default();
    // One row is not shifted against another.
    let stagger = stagger.filter(|_| lengths.len() > 1);
    let start = |row: usize| match (stagger, row % 2) {
        (Some(Stagger::Right), 1) | (Some(Stagger::Left), 0) => Pitches::HALF,
        (Some(_), _) => Pitches::ZERO,
        (None, _) => (widest - widths[row]) / 2,
    };
    let mut laid = Laid { areas: BTreeMap::new(), width: Pitches::ZERO, height: Pitches::ZERO };
    for (row, &length) in lengths.iter().enumerate() {
        let mut left = start(row);
        let sides = (0..usize::from(length)).map(|place| side((row, place)));
        let height = sides.max().unwrap_or(Pitches::ONE);
        for place in 0..usize::from(length) {
            let side = side((row, place));
            let top = laid.height + (height - side) / 2;
            laid.areas.insert((row, place), PitchArea { left, top, width: side, height: side });
            left = left + side;
        }
        laid.width = laid.width.max(left);
        laid.height = laid.height + height;
    }
    laid
}
