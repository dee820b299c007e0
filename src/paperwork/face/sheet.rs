//! The sheet of faces: both views of every connector, small ones beside each other.

use super::drawing::drawings;
use super::{Arrangement, FilledFace};
use crate::base::{Length, Point, Size};
use crate::circuits::View;
use crate::layout::Frame;
use crate::layout::text::Fonts;
use crate::paperwork::pen::Pen;
use crate::paperwork::{Binding, Letterhead, Passage, Sheet, Strip};

/// White between drawings beside each other, and below each other.
const BESIDE: Length = Length::nm(6_000_000);
const BELOW: Length = Length::nm(7_000_000);

/// The sheet of these connectors, in their order. Places without a face are left out, and connectors of one cavity, where there is
/// nothing to count; `None` where nothing is left.
pub fn sheet<'f>(faces: impl Iterator<Item = &'f FilledFace>, letterhead: &Letterhead, fonts: &Fonts) -> Option<Sheet> {
    let faces: Vec<&FilledFace> = faces.filter(|face| is_worth_drawing(face)).collect();
    let (title, subtitle) = match &faces[..] {
        [] => return None,
        [face] => (face.id.to_string(), face.short_name.clone().unwrap_or_default()),
        several => (letterhead.job.clone(), format!("{} connectors", several.len())),
    };
    let passages = passages(faces.into_iter(), letterhead, fonts);
    Some(Sheet { title, subtitle, sort: "connector faces".to_owned(), symbol: None, passages })
}

/// The same as passages, for a sheet that shows more.
pub fn passages<'f>(
    faces: impl Iterator<Item = &'f FilledFace>,
    letterhead: &Letterhead,
    fonts: &Fonts,
) -> Vec<Passage> {
    let room = letterhead.paper.room();
    let drawn =
        faces.filter(|face| is_worth_drawing(face)).map(|face| drawings(face, &View::ALL, room, fonts)).collect();
    shelves(drawn, room.width).into_iter().map(|shelves| passage(&shelves, fonts)).collect()
}

/// Whether there is something to count.
fn is_worth_drawing(face: &FilledFace) -> bool {
    face.plan.arrangement() != Arrangement::Point && face.plan.spots(View::MatingFace).len() > 1
}

/// Drawings that stand beside each other.
type Shelf = Vec<Frame>;

/// The drawings of each connector beside each other, and beside those of others, as far as they fit. What belongs to one passage is of
/// one connector.
fn shelves(connectors: Vec<Vec<Frame>>, room: Length) -> Vec<Vec<Shelf>> {
    let mut passages: Vec<Vec<Shelf>> = Vec::new();
    let mut used = room;
    for frames in connectors {
        let needed = width(&frames);
        match passages.last_mut().and_then(|shelves| shelves.last_mut()) {
            Some(shelf) if used + BESIDE + needed <= room => {
                used += BESIDE + needed;
                shelf.extend(frames);
            }
            _ if needed <= room => {
                used = needed;
                passages.push(vec![frames]);
            }
            _ => {
                used = room;
                passages.push(frames.into_iter().map(|frame| vec![frame]).collect());
            }
        }
    }
    passages
}

fn width(frames: &[Frame]) -> Length {
    let gaps = i64::try_from(frames.len().saturating_sub(1)).unwrap_or(i64::MAX);
    frames.iter().map(|frame| frame.size.width).sum::<Length>() + BESIDE * gaps
}

/// Shelves that stay on one page if they can.
fn passage(shelves: &[Shelf], fonts: &Fonts) -> Passage {
    let last = shelves.len().saturating_sub(1);
    let strip = |(index, shelf): (usize, &Shelf)| Strip {
        frame: side_by_side(shelf, fonts),
        binding: if index == last { Binding::Free } else { Binding::WithNext },
    };
    Passage { strips: shelves.iter().enumerate().map(strip).collect(), before: BELOW, ..Passage::default() }
}

/// A shelf as one frame, with white below it.
fn side_by_side(shelf: &[Frame], fonts: &Fonts) -> Frame {
    let mut pen = Pen::new(fonts);
    let mut left = Length::ZERO;
    for frame in shelf {
        pen.frame(Point::new(left, Length::ZERO), frame);
        left += frame.size.width + BESIDE;
    }
    let height = shelf.iter().map(|frame| frame.size.height).max().unwrap_or_default();
    pen.framed(Size::new(width(shelf), height + BELOW.half()))
}
