//! Marks that say what is to be done in a cavity: shapes that are told apart without colour, and their legend.

use super::filled::Mark;
use crate::base::{Length, Point, Rect};
use crate::layout::text::Fonts;
use crate::layout::{Ink, Item};
use crate::paperwork::pen::{self, Align, Look, Pen};

/// Width of the strokes of a mark, beside its side.
const STROKE: f64 = 0.15;
/// Height of the legend's capitals, in millimetres.
const LEGEND: f64 = 1.6;

type Stroke = ((f64, f64), (f64, f64));

/// How the marks stand in the legend, in its order.
const LEGEND_WORDS: [&str; 12] = [
    "keep",
    "remove",
    "cut",
    "moves to",
    "comes from",
    "add",
    "extend",
    "reserve",
    "undecided",
    "no wire in the lists",
    "found empty",
    "found in another place",
];

impl Mark {
    /// Its place in the legend.
    const fn order(&self) -> usize {
        match self {
            Self::Keep => 0,
            Self::Remove => 1,
            Self::Cut => 2,
            Self::Move(_) => 3,
            Self::Arrives(_) => 4,
            Self::Add => 5,
            Self::Extend => 6,
            Self::Reserve => 7,
            Self::Undecided => 8,
            Self::Empty => 9,
            Self::FoundEmpty => 10,
            Self::FoundIn(_) => 11,
        }
    }

    /// What stands beside the mark in a cavity that is large enough; a place tells more than a word.
    pub(super) fn word(&self) -> String {
        match self {
            Self::Move(Some(to)) => to.to_string(),
            Self::Arrives(from) => from.to_string(),
            Self::FoundIn(place) => place.clone(),
            Self::Move(None) => "move".to_owned(),
            Self::Empty => String::new(),
            other => LEGEND_WORDS[other.order()].to_owned(),
        }
    }

    /// Whether somebody has to do something here, or found something: the cavity gets a heavy outline.
    pub(super) const fn is_heavy(&self) -> bool {
        !matches!(self, Self::Keep | Self::Undecided | Self::Empty)
    }

    /// Draws it in a square.
    pub(super) fn draw(&self, pen: &mut Pen<'_>, area: Rect) {
        let side = area.size.width;
        let at = |(x, y): (f64, f64)| Point::new(area.left() + side.scaled(x), area.top() + side.scaled(y));
        let dot = |radius: f64, ink| Item::Dot { centre: at((0.5, 0.5)), radius: side.scaled(radius), ink };
        let strokes: &[Stroke] = match self {
            Self::Keep => {
                pen.items.push(dot(0.36, Ink::Black));
                &[]
            }
            Self::Reserve | Self::FoundEmpty => {
                pen.items.extend([dot(0.48, Ink::Black), dot(0.32, Ink::White)]);
                if *self == Self::Reserve { &[] } else { &[((0.1, 0.9), (0.9, 0.1))] }
            }
            Self::Undecided => {
                pen.words(at((0.5, 1.0)), "?", strong(side), Align::Middle);
                &[]
            }
            Self::FoundIn(_) => {
                pen.words(at((0.5, 1.0)), "!", strong(side), Align::Middle);
                &[]
            }
            Self::Remove => &[((0.1, 0.1), (0.9, 0.9)), ((0.1, 0.9), (0.9, 0.1))],
            Self::Cut => &[((0.0, 0.5), (0.3, 0.5)), ((0.7, 0.5), (1.0, 0.5)), ((0.3, 1.0), (0.7, 0.0))],
            Self::Move(_) => &[((0.0, 0.5), (0.95, 0.5)), ((0.55, 0.1), (0.95, 0.5)), ((0.55, 0.9), (0.95, 0.5))],
            Self::Arrives(_) => &[
                ((0.5, 0.0), (0.5, 0.7)),
                ((0.15, 0.35), (0.5, 0.7)),
                ((0.85, 0.35), (0.5, 0.7)),
                ((0.0, 0.95), (1.0, 0.95)),
            ],
            Self::Add => &[((0.5, 0.05), (0.5, 0.95)), ((0.05, 0.5), (0.95, 0.5))],
            Self::Extend => &[
                ((0.05, 0.5), (0.95, 0.5)),
                ((0.65, 0.2), (0.95, 0.5)),
                ((0.65, 0.8), (0.95, 0.5)),
                ((0.35, 0.2), (0.05, 0.5)),
                ((0.35, 0.8), (0.05, 0.5)),
            ],
            Self::Empty => &[((0.1, 0.5), (0.9, 0.5))],
        };
        for &(from, to) in strokes {
            pen.rule(at(from), at(to), side.scaled(STROKE));
        }
    }
}

const fn strong(cap: Length) -> Look {
    Look { face: crate::layout::Face::Strong, cap, ink: Ink::Black }
}

/// The marks that occur, each once and with its word, in as many lines as the width needs.
pub(super) struct Legend {
    /// Mark, word, where the mark begins in its line, and the line.
    entries: Vec<(Mark, &'static str, Length, i64)>,
    lines: i64,
}

impl Legend {
    /// Lays it out.
    pub(super) fn of(marks: impl Iterator<Item = Mark>, width: Length, fonts: &Fonts) -> Self {
        let mut all: Vec<Mark> = marks.collect();
        all.sort_by_key(Mark::order);
        all.dedup_by_key(|mark| mark.order());
        let look = Look::words(LEGEND);
        let (mut entries, mut left, mut line) = (Vec::new(), Length::ZERO, 0);
        for mark in all {
            let word = LEGEND_WORDS[mark.order()];
            let across = look.cap.scaled(1.4) + pen::width(fonts, look, word);
            if left > Length::ZERO && left + across > width {
                (left, line) = (Length::ZERO, line + 1);
            }
            entries.push((mark, word, left, line));
            left += across + look.cap * 2;
        }
        let lines = if entries.is_empty() { 0 } else { line + 1 };
        Self { entries, lines }
    }

    /// Its height.
    pub(super) fn height(&self) -> Length {
        Look::words(LEGEND).leading() * self.lines
    }

    /// Draws it below a corner.
    pub(super) fn draw(&self, pen: &mut Pen<'_>, corner: Point) {
        let look = Look::words(LEGEND);
        for (mark, word, left, line) in &self.entries {
            let baseline = corner.y + look.cap + look.leading() * *line;
            let area = Rect::new(corner.x + *left, baseline - look.cap, look.cap, look.cap);
            mark.draw(pen, area);
            pen.words(Point::new(area.right() + look.cap.scaled(0.4), baseline), word, look, Align::Left);
        }
    }
}
