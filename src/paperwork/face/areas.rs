//! A face that is too large for its room -> areas, each of which has room for it at a readable size.

use super::plan::{FacePlan, Spot};
use super::{Arrangement, PitchArea, Pitches};
use crate::base::{Length, Size};
use crate::circuits::View;

/// No pitch is larger on paper: it would not read better.
pub(super) const LARGEST: Length = Length::nm(13_500_000);

/// How large a pitch is on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Scale {
    pub(super) across: Length,
    pub(super) down: Length,
}

/// A part of a face, or all of it.
#[derive(Clone, Debug)]
pub(super) struct Area {
    /// Its cavities.
    pub(super) spots: Vec<Spot>,
    /// The box round them.
    pub(super) extent: PitchArea,
}

/// Splits a face so that every pitch is at least of the size `least` on paper, and no area larger than `room`.
pub(super) fn split(plan: &FacePlan, view: View, room: Size, least: Size) -> (Scale, Vec<Area>) {
    let is_grid = plan.arrangement() == Arrangement::Grid;
    let square = least.width.max(least.height);
    let least = if is_grid { least } else { Size::new(square, square) };
    let spots = plan.spots(view);
    let columns = slices(&spots, room.width, least.width, |area| (area.left, area.right()));
    let rows = slices(&spots, room.height, least.height, |area| (area.top, area.bottom()));
    let mut areas = Vec::new();
    for &(top, bottom) in &rows {
        for &(left, right) in &columns {
            let is_in = |spot: &&Spot| {
                let (x, y) = middle(&spot.area);
                left <= x && x < right && top <= y && y < bottom
            };
            let spots: Vec<Spot> = spots.iter().filter(is_in).cloned().collect();
            if let Some(extent) = extent(&spots) {
                areas.push(Area { spots, extent });
            }
        }
    }
    let widest = areas.iter().map(|area| area.extent.width).max().unwrap_or(Pitches::ONE);
    let highest = areas.iter().map(|area| area.extent.height).max().unwrap_or(Pitches::ONE);
    let across = of_room(room.width, widest).min(LARGEST).max(least.width);
    let down = of_room(room.height, highest);
    let scale = match is_grid {
        true => Scale { across, down: down.min(across.scaled(0.9)).max(least.height) },
        // Rings stay round.
        false => {
            let both = across.min(down).max(square);
            Scale { across: both, down: both }
        }
    };
    (scale, areas)
}

/// The pitch of which so many go into a room: whole micrometres, so that no rounding makes them more.
fn of_room(room: Length, pitches: Pitches) -> Length {
    room.scaled(1.0 / pitches.count().max(1.0)).floor_to(Length::nm(1000))
}

const fn middle(area: &PitchArea) -> (Pitches, Pitches) {
    (area.middle_across(), area.middle_down())
}

/// The box round these cavities; `None` where there are none.
pub(super) fn extent(spots: &[Spot]) -> Option<PitchArea> {
    let left = spots.iter().map(|spot| spot.area.left).min()?;
    let top = spots.iter().map(|spot| spot.area.top).min()?;
    let right = spots.iter().map(|spot| spot.area.right()).max()?;
    let bottom = spots.iter().map(|spot| spot.area.bottom()).max()?;
    Some(PitchArea { left, top, width: right - left, height: bottom - top })
}

/// The fewest slices of one width, each of which has room for the cavities whose middle lies in it.
fn slices(
    spots: &[Spot],
    room: Length,
    least: Length,
    edges: impl Fn(&PitchArea) -> (Pitches, Pitches),
) -> Vec<(Pitches, Pitches)> {
    let whole = spots.iter().map(|spot| edges(&spot.area).1).max().unwrap_or(Pitches::ONE);
    let most = Pitches::of(room.ratio(least)).max(Pitches::of(1.5));
    // Each has at least a pitch; more slices than that are never needed.
    let enough = (whole.count().ceil() as i64).max(1);
    let sliced = |count: i64| -> Vec<(Pitches, Pitches)> {
        let edge = |index: i64| if index == count { whole + Pitches::ONE } else { whole * index / count };
        (0..count).map(|index| (edge(index), edge(index + 1))).collect()
    };
    let fits = |slices: &[(Pitches, Pitches)]| {
        slices.iter().all(|&(from, to)| {
            let inside = spots.iter().map(|spot| edges(&spot.area)).filter(|(low, high)| {
                let middle = (*low + *high) / 2;
                from <= middle && middle < to
            });
            let (mut low, mut high) = (None, None);
            for (start, end) in inside {
                low = Some(low.map_or(start, |low: Pitches| low.min(start)));
                high = Some(high.map_or(end, |high: Pitches| high.max(end)));
            }
            low.zip(high).is_none_or(|(low, high)| high - low <= most)
        })
    };
    let fewest = ((whole.count() / most.count()).floor() as i64).max(1);
    (fewest..enough).map(sliced).find(|slices| fits(slices)).unwrap_or_else(|| sliced(enough))
}
