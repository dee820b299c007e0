//! Rings of positions -> where each lies: the first of every ring at the top, the others clockwise.

use std::collections::BTreeMap;
use std::f64::consts::{PI, SQRT_2, TAU};

use super::grid::Laid;
use super::{PitchArea, Pitches};

/// From the middle of one cavity to the next, in pitches: squares of a pitch that are as far apart do not touch, however they
/// lie to each other. A little is added for rounding.
const APART: f64 = SQRT_2 + 0.005;

/// Lays out rings, the outermost first.
pub(super) fn lay(lengths: &[u16]) -> Laid {
    let mut radii = vec![0.0_f64; lengths.len()];
    let mut inner: Option<f64> = None;
    for (radius, &length) in radii.iter_mut().zip(lengths).rev() {
        let room = match length {
            0 | 1 => 0.0,
            length => APART / 2.0 / (PI / f64::from(length)).sin(),
        };
        *radius = inner.map_or(room, |inner| room.max(inner + APART));
        inner = Some(*radius);
    }
    let middle = radii.first().copied().unwrap_or_default() + 0.5;
    let mut areas = BTreeMap::new();
    for (ring, (&length, &radius)) in lengths.iter().zip(&radii).enumerate() {
        for place in 0..usize::from(length) {
            let angle = TAU * place as f64 / f64::from(length);
            let (left, top) = (middle + radius * angle.sin() - 0.5, middle - radius * angle.cos() - 0.5);
            let area =
                PitchArea { left: Pitches::of(left), top: Pitches::of(top), width: Pitches::ONE, height: Pitches::ONE };
            areas.insert((ring, place), area);
        }
    }
    let across = Pitches::of(middle * 2.0);
    Laid { areas, width: across, height: across }
}
