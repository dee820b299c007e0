//! Gray pixels to words.

use rxing::DecodeHints;
use rxing::helpers::{detect_in_luma_slice_with_hints, detect_multiple_in_luma_with_hints};

use super::gray::{Gray, Pixels};

/// What the one symbol in the picture says: looked for at full size, then at half.
pub fn one(gray: &Gray) -> Option<String> {
    once(gray).or_else(|| once(&gray.halved()))
}

fn once(gray: &Gray) -> Option<String> {
    let (width, height) = (u32::try_from(gray.width).ok()?, u32::try_from(gray.height).ok()?);
    let mut hints = DecodeHints::default();
    let found = detect_in_luma_slice_with_hints(&gray.luma, width, height, None, &mut hints).ok()?;
    Some(found.getText().to_owned())
}

/// A symbol found in a picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// What it says.
    pub text: String,
    /// Where it is, roughly.
    pub area: Pixels,
}

/// Whether something was looked through to the end.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Search {
    /// It was.
    Whole,
    /// It took too long: there may be more in it.
    BrokenOff,
}

/// How often a picture is looked through at one size. A pass that finds nothing ends the search; this only bounds the work on a picture that
/// seems to hold something without end.
const MOST_PASSES: usize = 200;

/// All symbols in the picture, from top to bottom, and whether it was looked through to the end. What was found is whitened and the
/// picture looked through again, at half size (where most is found, quickly), full size and quarter size.
pub fn all(mut gray: Gray, goes_on: &dyn Fn() -> bool) -> (Vec<Found>, Search) {
    let mut found: Vec<Found> = Vec::new();
    let mut search = Search::Whole;
    'all: for halvings in [1, 0, 2] {
        for _ in 0..MOST_PASSES {
            if !goes_on() {
                search = Search::BrokenOff;
                break 'all;
            }
            let fresh = pass(&gray, halvings);
            let before = found.len();
            for symbol in fresh {
                gray.whiten(&symbol.area);
                if !found.iter().any(|known| is_same(known, &symbol)) {
                    found.push(symbol);
                }
            }
            if found.len() == before {
                break;
            }
        }
    }
    found.sort_by(|a, b| (a.area.top, a.area.left, &a.text).cmp(&(b.area.top, b.area.left, &b.text)));
    (found, search)
}

/// The symbols that one look at the picture finds at a size halved so many times, in pixels of the full size.
fn pass(gray: &Gray, halvings: u32) -> Vec<Found> {
    let mut small = None;
    for _ in 0..halvings {
        small = Some(small.as_ref().unwrap_or(gray).halved());
    }
    let small = small.unwrap_or_else(|| gray.clone());
    let (Ok(width), Ok(height)) = (u32::try_from(small.width), u32::try_from(small.height)) else {
        return Vec::new();
    };
    let results = detect_multiple_in_luma_with_hints(small.luma, width, height, &mut DecodeHints::default());
    let scale = (1u32 << halvings) as f32;
    let place = |result: &rxing::RXingResult| {
        let points = result.getPoints().iter().filter(|point| point.x.is_finite() && point.y.is_finite());
        let corners = points.fold(None, |corners: Option<[f32; 4]>, point| {
            let [left, top, right, bottom] = corners.unwrap_or([point.x, point.y, point.x, point.y]);
            Some([left.min(point.x), top.min(point.y), right.max(point.x), bottom.max(point.y)])
        });
        let [left, top, right, bottom] = corners?.map(|edge| edge * scale);
        // The points are the corners, or the middles of the corner marks, which lie 3.5 modules inside a symbol of at
        // least 21 modules: a quarter of the distance between them reaches the edge. Beyond lie four modules of quiet zone.
        let reach = (right - left).max(bottom - top) * 0.25 + scale;
        let whole = |edge: f32, most: usize| (edge.max(0.0) as usize).min(most);
        Some(Pixels {
            left: whole(left - reach, gray.width),
            top: whole(top - reach, gray.height),
            right: whole(right + reach, gray.width),
            bottom: whole(bottom + reach, gray.height),
        })
    };
    let results = results.unwrap_or_default();
    results
        .iter()
        .filter_map(|result| Some(Found { text: result.getText().to_owned(), area: place(result)? }))
        .collect()
}

/// Whether both are one symbol that was found twice: the same words, the middle of one within the other.
pub fn is_same(one: &Found, other: &Found) -> bool {
    let x = (other.area.left + other.area.right) / 2;
    let y = (other.area.top + other.area.bottom) / 2;
    one.text == other.text
        && (one.area.left..one.area.right).contains(&x)
        && (one.area.top..one.area.bottom).contains(&y)
}
