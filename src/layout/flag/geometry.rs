//! A flag in numbers: stock and diameter in; wrap, faces, what may be printed on, and ticks out.
//!
//! With `L` the label's length across the wire, `d` the wire's diameter and `t` the stock's thickness, the wrap takes
//! `w = pi (d + t) + 2 s` with a slack `s = max(0.5 mm, 0.15 d)`, and each face is `f = (L - w) / 2` long.

use std::f64::consts::PI;

use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::LABEL_EDGE;
use crate::layout::frame::{Dash, Item};

/// White at free edges.
pub(super) const EDGE: Length = LABEL_EDGE;
/// White where the label bends round the wire.
pub(super) const BEND: Length = Length::nm(1_000_000);
/// Length of the ticks that mark the wire's seat.
const TICK: Length = Length::nm(900_000);
pub(super) const HAIRLINE: Length = Length::nm(100_000);

/// How the wire runs when the tag is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Posture {
    /// The wire stands, the flag flies sideways: both faces print the same way up.
    #[default]
    Standing,
    /// The wire lies, the flag hangs from it: the far face prints turned by 180 degrees.
    Hanging,
}

/// Label stock for flags.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FlagStock {
    /// Label as it lies on the sheet.
    pub label: Size,
    /// Thickness of the label.
    pub thickness: Length,
    /// How the wire runs.
    pub posture: Posture,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// A flag in numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Geometry {
    /// Length of the label across the wire.
    pub length: Length,
    /// Height of the label along the wire.
    pub height: Length,
    /// What goes round the wire, slack included.
    pub wrap: Length,
    /// Length of each face.
    pub face: Length,
    posture: Posture,
}

impl Geometry {
    /// A flag of this stock on a wire of this diameter. The face may come out negative: the caller judges.
    pub fn new(stock: &FlagStock, diameter: Length) -> Self {
        let (length, height) = match stock.posture {
            Posture::Standing => (stock.label.width, stock.label.height),
            Posture::Hanging => (stock.label.height, stock.label.width),
        };
        let wrap = wrap(diameter, stock.thickness);
        Self { length, height, wrap, face: (length - wrap).half(), posture: stock.posture }
    }

    /// The two faces on the label, each with the way it prints: first the near one.
    pub fn faces(&self) -> [(Rect, Turn); 2] {
        let (face, zero) = (self.face, Length::ZERO);
        match self.posture {
            Posture::Standing => [
                (Rect::new(zero, zero, face, self.height), Turn::Upright),
                (Rect::new(self.length - face, zero, face, self.height), Turn::Upright),
            ],
            // The fold lies above the near face when the flag hangs, so the near face is the lower one of the flat label.
            Posture::Hanging => [
                (Rect::new(zero, self.length - face, self.height, face), Turn::Upright),
                (Rect::new(zero, zero, self.height, face), Turn::Half),
            ],
        }
    }

    /// What of each face may be printed on, as it prints: free edges and bend kept clear.
    pub(super) fn panels(&self) -> [(Rect, Turn); 2] {
        let inside = |rect: Rect, near: bool| match (self.posture, near) {
            (Posture::Standing, true) => trimmed(rect, EDGE, BEND, EDGE, EDGE),
            (Posture::Standing, false) => trimmed(rect, BEND, EDGE, EDGE, EDGE),
            (Posture::Hanging, true) => trimmed(rect, EDGE, EDGE, BEND, EDGE),
            (Posture::Hanging, false) => trimmed(rect, EDGE, EDGE, EDGE, BEND),
        };
        let [(near, near_turn), (far, far_turn)] = self.faces();
        [(inside(near, true), near_turn), (inside(far, false), far_turn)]
    }

    /// Fine ticks at both ends of the wrap, and a dashed one in its middle where the wire lies.
    pub(super) fn ticks(&self) -> Vec<Item> {
        let mut items = Vec::new();
        let marks = [
            (self.face, Dash::Solid),
            (self.length.half(), Dash::Dashed(Length::mm(0.3))),
            (self.length - self.face, Dash::Solid),
        ];
        for (across, dash) in marks {
            for (from, to) in [(Length::ZERO, TICK), (self.height - TICK, self.height)] {
                let point = |along| match self.posture {
                    Posture::Standing => Point::new(across, along),
                    Posture::Hanging => Point::new(along, across),
                };
                items.push(Item::Rule { from: point(from), to: point(to), weight: HAIRLINE, dash });
            }
        }
        items
    }
}

/// What goes round a wire of this diameter: `pi (d + t) + 2 max(0.5 mm, 0.15 d)`.
pub fn wrap(diameter: Length, thickness: Length) -> Length {
    let slack = Length::mm(0.5).max(diameter.scaled(0.15));
    (diameter + thickness).scaled(PI) + slack * 2
}

fn trimmed(rect: Rect, left: Length, right: Length, top: Length, bottom: Length) -> Rect {
    let width = (rect.size.width - left - right).max(Length::ZERO);
    let height = (rect.size.height - top - bottom).max(Length::ZERO);
    Rect::new(rect.left() + left, rect.top() + top, width, height)
}
