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

/// What the mark of a wire that is fed with the battery on says, and black round it, beside its height.
const LIVE: &str = "LIVE";
const LIVE_EDGE: f64 = 0.2;

type Stroke = ((f64, f64), (f64, f64));

/// How the marks stand in the legend, in its order.
const LEGEND_WORDS: [&str; 15] = [
    "high voltage: stop, do not cut",
    "restraint: stop, do not cut",
    "with battery on",
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
            Self::HighVoltage => 0,
            Self::Restraint => 1,
            Self::Live => 2,
            Self::Keep => 3,
            Self::Remove => 4,
            Self::Cut => 5,
            Self::Move(_) => 6,
            Self::Arrives(_) => 7,
            Self::Add => 8,
            Self::Extend => 9,
            Self::Reserve => 10,
            Self::Undecided => 11,
            Self::Empty => 12,
            Self::FoundEmpty => 13,
            Self::FoundIn(_) => 14,
        }
    }

    /// What stands beside the mark in a cavity that is large enough; a place tells more than a word.
    pub(super) fn word(&self) -> String {
        match self {
            Self::Move(Some(to)) => to.to_string(),
            Self::Arrives(from) => from.to_string(),
            Self::FoundIn(place) => place.clone(),
            Self::Move(None) => "move".to_owned(),
            Self::HighVoltage => "HIGH VOLTAGE".to_owned(),
            Self::Restraint => "RESTRAINT".to_owned(),
            Self::Empty => String::new(),
            other => LEGEND_WORDS[other.order()].to_owned(),
        }
    }

    /// Whether nothing may be done here.
    pub(super) const fn is_stop(&self) -> bool {
        matches!(self, Self::HighVoltage | Self::Restraint)
    }

    /// What stands in a cavity that is too narrow for the word; no stop goes without.
    pub(super) const fn short_word(&self) -> Option<&'static str> {
        match self {
            Self::HighVoltage => Some("HV"),
            Self::Restraint => Some("RESTR."),
            _ => None,
        }
    }

    /// Its width, when it is so high.
    pub(super) fn width(&self, fonts: &Fonts, height: Length) -> Length {
        match self {
            Self::Live => pen::width(fonts, strong(height), LIVE) + height.scaled(LIVE_EDGE * 2.0),
            _ => height,
        }
    }

    /// Whether somebody has to do something here, or found something: the cavity gets a heavy outline.
    pub(super) const fn is_heavy(&self) -> bool {
        !matches!(self, Self::Live | Self::Keep | Self::Undecided | Self::Empty)
    }

    /// Draws it in a square, or beside the top left of one where it is wider.
    pub(super) fn draw(&self, pen: &mut Pen<'_>, area: Rect) {
        let side = area.size.width;
        let at = |(x, y): (f64, f64)| Point::new(area.left() + side.scaled(x), area.top() + side.scaled(y));
        let dot = |radius: f64, ink| Item::Dot { centre: at((0.5, 0.5)), radius: side.scaled(radius), ink };
        let strokes: &[Stroke] = match self {
            Self::HighVoltage | Self::Restraint => {
                // White on black, and black within: as the sign that forbids to enter, without its red.
                pen.fill(area, Ink::Black);
                pen.items.push(dot(0.4, Ink::White));
                let corner = at((0.22, 0.4));
                pen.fill(Rect::new(corner.x, corner.y, side.scaled(0.56), side.scaled(0.2)), Ink::Black);
                &[]
            }
            Self::Live => {
                let edge = side.scaled(LIVE_EDGE);
                let ground = Rect::new(area.left(), area.top() - edge, self.width(pen.fonts(), side), side + edge * 2);
                pen.fill(ground, Ink::Black);
                pen.words(Point::new(area.left() + edge, area.bottom()), LIVE, strong(side).white(), Align::Left);
                &[]
            }
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
            let across = mark.width(fonts, look.cap) + look.cap.scaled(0.4) + pen::width(fonts, look, word);
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
            let right = area.left() + mark.width(pen.fonts(), look.cap) + look.cap.scaled(0.4);
            pen.words(Point::new(right, baseline), word, look, Align::Left);
        }
    }
}
