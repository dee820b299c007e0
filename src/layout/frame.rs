//! The finished hand-over type of this step: a frame, that is, items at fixed places on one piece of stock.
//!
//! A frame knows nothing of wires or lists. Whoever draws it needs no decisions: every glyph and every module has its
//! place.

use std::sync::Arc;

use crate::base::{Length, Point, Rect, Size, Turn};

/// A typeface: of the repository's `fonts` folder, or one that the job brings.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Face {
    /// Words: Fira Sans Condensed Medium.
    Words,
    /// Words that must stand out: Fira Sans Condensed Bold.
    Strong,
    /// Codes and cavity numbers: Atkinson Hyperlegible Next Bold, whose look-alikes differ most.
    Code,
    /// A font file of the job, by its place among them, for characters that the others lack.
    Fallback(u8),
}

/// What an item is drawn in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Ink {
    /// Black, as the printer's black alone.
    #[default]
    Black,
    /// Left white on a black ground.
    White,
    /// A colour bar's colour: red, green, blue.
    Colour([u8; 3]),
}

/// One shaped glyph. Advances and offsets are in the face's own units, along the baseline and across it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Glyph {
    /// Glyph number in the font file.
    pub id: u16,
    /// How far the pen moves on.
    pub advance: i32,
    /// Shift of the drawn glyph along and across the baseline (up is positive).
    pub offset: (i32, i32),
    /// The characters it stands for; empty when an earlier glyph of the same cluster carries them.
    pub text: String,
}

/// Distortion of print that shrinking undoes: factors along the baseline and across it; 1 is undistorted.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    /// Along the baseline.
    pub along: f64,
    /// Across the baseline.
    pub across: f64,
}

impl Stretch {
    /// No distortion.
    pub const NONE: Self = Self { along: 1.0, across: 1.0 };
}

/// A run of shaped text in one face on one baseline. A line of several scripts is several of them.
#[derive(Clone, Debug, PartialEq)]
pub struct TextItem {
    /// Typeface.
    pub face: Face,
    /// Size of the em square before stretching.
    pub em: Length,
    /// Where the baseline starts.
    pub at: Point,
    /// Which way the baseline runs.
    pub turn: Turn,
    /// Pre-stretch against shrinking.
    pub stretch: Stretch,
    /// Colour of the print.
    pub ink: Ink,
    /// The glyphs in drawing order.
    pub glyphs: Arc<[Glyph]>,
    /// Extent of the ink and advances, in the frame: for checks that nothing leaves the label or overlaps.
    pub bounds: Rect,
}

/// A grid of dark and light modules, quiet zone not included.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Modules {
    /// Modules a row.
    pub columns: u16,
    /// Rows.
    pub rows: u16,
    /// Row by row from the top left; `true` is dark.
    pub dark: Vec<bool>,
}

impl Modules {
    /// Whether the module is dark; outside the grid all is light.
    pub fn is_dark(&self, column: u16, row: u16) -> bool {
        column < self.columns
            && row < self.rows
            && self.dark[usize::from(row) * usize::from(self.columns) + usize::from(column)]
    }
}

/// A symbol on its place.
#[derive(Clone, Debug, PartialEq)]
pub struct SymbolItem {
    /// The dark and light modules.
    pub modules: Arc<Modules>,
    /// The area of the modules without the quiet zone, after the turn.
    pub area: Rect,
    /// Width of the quiet zone that is kept clear on every side.
    pub quiet: Length,
    /// How the grid is turned within its area.
    pub turn: Turn,
    /// What the symbol says: what the proof must read back.
    pub payload: String,
}

/// Anything drawn.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// A run of text.
    Text(TextItem),
    /// A symbol.
    Symbol(SymbolItem),
    /// A filled rectangle.
    Fill {
        /// Where.
        area: Rect,
        /// In what.
        ink: Ink,
    },
    /// A rectangle's outline.
    Outline {
        /// The middle of the stroke.
        area: Rect,
        /// Width of the stroke.
        weight: Length,
        /// Radius of the corners; zero for square ones.
        radius: Length,
    },
    /// A straight line: fold tick, cut line, line to write on.
    Rule {
        /// From here.
        from: Point,
        /// To here.
        to: Point,
        /// Width of the stroke.
        weight: Length,
        /// Solid or dashed.
        dash: Dash,
    },
    /// A filled circle: a hole to punch, a mark.
    Dot {
        /// Its centre.
        centre: Point,
        /// Its radius.
        radius: Length,
        /// In what.
        ink: Ink,
    },
}

/// How a rule is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Dash {
    /// In one stroke.
    #[default]
    Solid,
    /// Dashes and gaps of this length.
    Dashed(Length),
}

/// Items at fixed places on one piece of stock. Items are drawn in order, later ones over earlier ones.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Frame {
    /// Extent of the piece; no item leaves it.
    pub size: Size,
    /// What is drawn.
    pub items: Vec<Item>,
}

impl Item {
    /// This item of a box of `size`, with the box turned and then moved so that its top left corner lies at `at`.
    pub fn placed(&self, turn: Turn, size: Size, at: Point) -> Self {
        let point = |p: Point| turn.turned_point(p, size).plus(at);
        let rect = |r: Rect| turn.turned_rect(r, size).moved(at);
        match self {
            Self::Text(text) => Self::Text(TextItem {
                at: point(text.at),
                turn: text.turn.then(turn),
                bounds: rect(text.bounds),
                ..text.clone()
            }),
            Self::Symbol(symbol) => {
                Self::Symbol(SymbolItem { area: rect(symbol.area), turn: symbol.turn.then(turn), ..symbol.clone() })
            }
            Self::Fill { area, ink } => Self::Fill { area: rect(*area), ink: *ink },
            Self::Outline { area, weight, radius } => {
                Self::Outline { area: rect(*area), weight: *weight, radius: *radius }
            }
            Self::Rule { from, to, weight, dash } => {
                Self::Rule { from: point(*from), to: point(*to), weight: *weight, dash: *dash }
            }
            Self::Dot { centre, radius, ink } => Self::Dot { centre: point(*centre), radius: *radius, ink: *ink },
        }
    }
}
