//! The parts of a trial page: combs at the edges, rulers, the wedge that a wire is laid on, the strip that is wound round one.

use std::f64::consts::PI;

use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::frame::Dash;
use crate::layout::text::Fonts;
use crate::layout::{Face, Ink, Item, Stretch, flag};

/// Strokes that are measured from or read at.
const FINE: Length = Length::nm(100_000);
/// Strokes of rulers and combs.
const STROKE: Length = Length::nm(150_000);
/// Capitals of numbers.
pub(super) const NUMBER: Length = Length::nm(1_500_000);
/// White between words and what they stand by.
const GAP: Length = Length::nm(800_000);
/// Length of the ticks of a comb.
pub(super) const TOOTH: Length = Length::nm(2_400_000);

/// How much longer than wide the wedge is: a tenth of a millimetre of diameter becomes a millimetre.
const WEDGE_STEEPNESS: f64 = 10.0;
/// The widest wire that the wedge measures.
const WIDEST_WIRE: u16 = 12;
/// Length of the wedge with its numbers.
pub(super) const WEDGE: Size = Size::new(Length::nm(126_000_000), Length::nm(19_000_000));

/// Thickness of the paper of the fold gauge: common copy paper (common practice).
const PAPER: Length = Length::nm(100_000);
/// The widest wire of the fold gauge.
const WIDEST_WOUND: u16 = 20;
/// Height of the strip of the fold gauge.
pub(super) const STRIP_HEIGHT: Length = Length::nm(10_000_000);
/// What of the strip is held while it is wound.
const STRIP_TAIL: Length = Length::nm(14_000_000);

/// An edge of the paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Side {
    Left,
    Right,
    Top,
    Bottom,
}

impl Side {
    pub(super) const ALL: [Self; 4] = [Self::Left, Self::Right, Self::Top, Self::Bottom];

    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
            Self::Top => "top",
            Self::Bottom => "bottom",
        }
    }

    /// A point so far from this edge of the paper and so far along it, from the left or from the top.
    pub(super) fn point(self, page: Size, from_edge: Length, along: Length) -> Point {
        match self {
            Self::Left => Point::new(from_edge, along),
            Self::Right => Point::new(page.width - from_edge, along),
            Self::Top => Point::new(along, from_edge),
            Self::Bottom => Point::new(along, page.height - from_edge),
        }
    }

    pub(super) const fn is_upright(self) -> bool {
        matches!(self, Self::Left | Self::Right)
    }
}

/// Where words stand from the point they are given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Stand {
    RightOf,
    LeftOf,
    Middle,
}

/// What has been drawn so far.
pub(super) struct Drawing<'a> {
    pub(super) fonts: &'a Fonts,
    pub(super) items: Vec<Item>,
}

pub(super) fn mm(millimetres: f64) -> Length {
    Length::mm(millimetres)
}

pub(super) fn at(x: Length, y: Length) -> Point {
    Point::new(x, y)
}

impl Drawing<'_> {
    pub(super) fn rule(&mut self, from: Point, to: Point) {
        self.items.push(Item::Rule { from, to, weight: STROKE, dash: Dash::Solid });
    }

    pub(super) fn fine(&mut self, from: Point, to: Point) {
        self.items.push(Item::Rule { from, to, weight: FINE, dash: Dash::Solid });
    }

    /// White under what is drawn next, over the outlines of labels.
    pub(super) fn white(&mut self, area: Rect) {
        self.items.push(Item::Fill { area, ink: Ink::White });
    }

    pub(super) fn width(&self, face: Face, cap: Length, words: &str) -> Length {
        self.fonts.shape(face, words).map_or(Length::ZERO, |shaped| self.fonts.width(&shaped, cap))
    }

    /// Words in one line on this baseline. Characters that no face has leave the words out.
    pub(super) fn words(&mut self, face: Face, cap: Length, point: Point, stand: Stand, words: &str) {
        let Ok(shaped) = self.fonts.shape(face, words) else { return };
        let width = self.fonts.width(&shaped, cap);
        let back = match stand {
            Stand::RightOf => Length::ZERO,
            Stand::LeftOf => width,
            Stand::Middle => width.half(),
        };
        let start = at(point.x - back, point.y);
        self.items.extend(self.fonts.place(&shaped, cap, start, Turn::Upright, Stretch::NONE, Ink::Black));
    }

    /// The words broken into lines of this width.
    pub(super) fn broken(&self, face: Face, cap: Length, width: Length, words: &str) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in words.split_whitespace() {
            let longer = lines.last().map(|line| format!("{line} {word}"));
            match longer.filter(|longer| self.width(face, cap, longer) <= width) {
                Some(longer) => *lines.last_mut().expect("it was made longer") = longer,
                None => lines.push(word.to_owned()),
            }
        }
        lines
    }

    /// Words in lines below `top`; gives where the next line would have its top.
    pub(super) fn paragraph(&mut self, face: Face, cap: Length, corner: Point, width: Length, words: &str) -> Length {
        let mut top = corner.y;
        for line in self.broken(face, cap, width, words) {
            self.words(face, cap, at(corner.x, top + cap), Stand::RightOf, &line);
            top += cap.scaled(1.9);
        }
        top
    }

    /// Ticks at 1, 2, 3 … mm from an edge of the paper, each with its number; the first begins at `start` along the edge.
    pub(super) fn comb(&mut self, page: Size, side: Side, count: u16, start: Length, pitch: Length) {
        for number in 1..=count {
            let from_edge = mm(f64::from(number));
            let along = start + pitch * i64::from(number - 1);
            self.rule(side.point(page, from_edge, along), side.point(page, from_edge, along + TOOTH));
            let by = side.point(page, from_edge + GAP, along + TOOTH.half());
            let lower = NUMBER.half();
            let (point, stand) = match side {
                Side::Left => (at(by.x, by.y + lower), Stand::RightOf),
                Side::Right => (at(by.x, by.y + lower), Stand::LeftOf),
                Side::Top => (at(by.x, by.y + NUMBER), Stand::Middle),
                Side::Bottom => (by, Stand::Middle),
            };
            self.words(Face::Code, NUMBER, point, stand, &number.to_string());
        }
    }

    /// A ruler to the right of `zero`, its ticks and numbers above it.
    pub(super) fn ruler_across(&mut self, zero: Point, length: Length, numbers: Numbers) {
        self.rule(zero, at(zero.x + length, zero.y));
        for (number, tick) in ruler_ticks(length) {
            let x = zero.x + mm(f64::from(number));
            self.rule(at(x, zero.y), at(x, zero.y - tick));
            if number % 10 == 0 && numbers == Numbers::Shown {
                let above = at(x, zero.y - tick - GAP);
                self.words(Face::Code, NUMBER, above, Stand::Middle, &number.to_string());
            }
        }
    }

    /// A ruler downwards from `zero`, its ticks and numbers to the left.
    pub(super) fn ruler_down(&mut self, zero: Point, length: Length) {
        self.rule(zero, at(zero.x, zero.y + length));
        for (number, tick) in ruler_ticks(length) {
            let y = zero.y + mm(f64::from(number));
            self.rule(at(zero.x, y), at(zero.x - tick, y));
            if number % 10 == 0 {
                let beside = at(zero.x - tick - GAP, y + NUMBER.half());
                self.words(Face::Code, NUMBER, beside, Stand::LeftOf, &number.to_string());
            }
        }
    }

    /// A wedge that opens to the right, a tenth of its length wide: a wire that is laid along its middle hides both lines as far as
    /// they are closer than it is thick.
    ///
    /// Seen with one eye from `h` above, a wire of radius `r` hides `h r / sqrt((h - r)^2 - r^2)` of the paper on either side: at
    /// 300 mm 1.0 % too much of a wire of 6 mm, 2.1 % of one of 12 mm. A line of 0.1 mm comes out within 1 mm of length, which is
    /// 0.1 mm of diameter.
    pub(super) fn wedge(&mut self, apex: Point) {
        let place = |diameter: f64| apex.x + mm(diameter * WEDGE_STEEPNESS);
        let half = |diameter: f64| mm(diameter / 2.0);
        let (first, last) = (1.0, f64::from(WIDEST_WIRE));
        for sign in [-1, 1] {
            let line = |diameter: f64| at(place(diameter), apex.y + half(diameter) * sign);
            self.fine(line(first), line(last));
        }
        for tenths in 10..=WIDEST_WIRE * 10 {
            let diameter = f64::from(tenths) / 10.0;
            let tick = match tenths % 10 {
                0 => 2.4,
                5 => 1.6,
                _ => 0.8,
            };
            let (x, y) = (place(diameter), apex.y + half(diameter) + mm(0.3));
            self.fine(at(x, y), at(x, y + mm(tick)));
            if tenths % 10 == 0 {
                let below = at(x, y + mm(tick) + GAP + NUMBER);
                self.words(Face::Code, NUMBER, below, Stand::Middle, &(tenths / 10).to_string());
            }
        }
        // The middle, where the wire lies.
        let middle = |from: f64, to: f64| (at(place(from), apex.y), at(place(to), apex.y));
        let ((from, to), dash) = (middle(first, last + 0.4), Dash::Dashed(mm(1.5)));
        self.items.push(Item::Rule { from, to, weight: FINE, dash });
    }

    /// A strip to wind round a wire: where its beginning comes to lie, the upper scale has the wire's diameter. The lower scale has
    /// the distance of a flag's folds on that wire.
    ///
    /// Wound, the middle of the paper's thickness keeps its length: `pi (d + t)` goes once round.
    pub(super) fn fold_gauge(&mut self, corner: Point, thickness: Length) -> Size {
        let round = |diameter: f64| (mm(diameter) + PAPER).scaled(PI);
        let folds = |diameter: f64| flag::wrap(mm(diameter), thickness);
        let length = folds(f64::from(WIDEST_WOUND)) + STRIP_TAIL;
        let size = Size::new(length, STRIP_HEIGHT);
        self.items.push(Item::Outline { area: Rect { origin: corner, size }, weight: FINE, radius: Length::ZERO });
        let (top, bottom) = (corner.y, corner.y + STRIP_HEIGHT);
        for halves in 2..=WIDEST_WOUND * 2 {
            let diameter = f64::from(halves) / 2.0;
            let (is_whole, tick) = (halves % 2 == 0, if halves % 2 == 0 { mm(1.8) } else { mm(1.0) });
            let (upper, lower) = (corner.x + round(diameter), corner.x + folds(diameter));
            self.fine(at(upper, top), at(upper, top + tick));
            self.fine(at(lower, bottom), at(lower, bottom - tick));
            if is_whole {
                let number = (halves / 2).to_string();
                let cap = mm(1.3);
                self.words(Face::Code, cap, at(upper, top + tick + mm(0.5) + cap), Stand::Middle, &number);
                self.words(Face::Code, cap, at(lower, bottom - tick - mm(0.5)), Stand::Middle, &number);
            }
        }
        let words = at(corner.x + length - STRIP_TAIL + mm(3.0), top + mm(3.2));
        self.words(Face::Words, mm(1.2), words, Stand::RightOf, "round wire");
        self.words(Face::Words, mm(1.2), at(words.x, bottom - mm(2.0)), Stand::RightOf, "folds");
        size
    }
}

/// Whether a ruler has room for numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Numbers {
    Shown,
    LeftOut,
}

/// Every millimetre of a ruler with the length of its tick.
fn ruler_ticks(length: Length) -> impl Iterator<Item = (u16, Length)> {
    let tick = |number: u16| match number % 10 {
        0 => mm(3.0),
        5 => mm(2.2),
        _ => mm(1.3),
    };
    (0..=length.as_mm().round() as u16).map(move |number| (number, tick(number)))
}
