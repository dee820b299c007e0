//! The face of a connector as connectors.csv describes it: how many cavities, how they lie, and how they are named.
//!
//! `row` reads what a row says of it, `words` its cells; `order` says which cavity is which. Nothing is guessed here: what the file leaves out stays open.

use std::fmt;

mod order;
pub(super) mod row;
pub(super) mod words;

pub use order::{LETTERS_LEFT_OUT, Position, letter_index, letter_name};

/// Most cavities a connector may have.
pub const MOST_CAVITIES: u16 = 9_999;

/// From which side a connector is looked at. The two are mirror images of each other: left and right change places, top and
/// bottom stay.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum View {
    /// Against the face that meets the other half.
    #[default]
    MatingFace,
    /// Against the side where the wires go in.
    WireSide,
}

impl View {
    /// Both, the mating face first.
    pub const ALL: [Self; 2] = [Self::MatingFace, Self::WireSide];

    /// The other side.
    pub const fn other(self) -> Self {
        match self {
            Self::MatingFace => Self::WireSide,
            Self::WireSide => Self::MatingFace,
        }
    }
}

impl fmt::Display for View {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(match self {
            Self::MatingFace => "mating face",
            Self::WireSide => "wire side",
        })
    }
}

/// What connectors.csv says of a connector's face.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ConnectorFace {
    /// Number of rows, or of rings.
    pub rows: Option<u16>,
    /// Cavities a row.
    pub columns: Option<Columns>,
    /// The number of cavities.
    pub cavities: Option<u16>,
    /// How they are named.
    pub numbering: Option<Numbering>,
    /// On which side the latch is; of rings, the key.
    pub latch: Option<Latch>,
    /// In which view all this is told.
    pub view: View,
    /// How every second row is shifted.
    pub stagger: Option<Stagger>,
    /// Names of positions that have no cavity, as typed.
    pub missing: Vec<String>,
    /// Names of cavities that are larger than the others, as typed.
    pub large: Vec<String>,
}

impl ConnectorFace {
    /// Whether it tells how the cavities lie: how many rows or columns there are, or that there is one ring.
    pub const fn tells_grid(&self) -> bool {
        self.rows.is_some() || self.columns.is_some()
    }

    /// Cavities in each row from the top, or in each ring from the outermost; `None` where rows or columns are not told.
    pub fn row_lengths(&self) -> Option<Vec<u16>> {
        match (&self.columns, self.rows) {
            (Some(Columns::OfRows(lengths)), _) => Some(lengths.clone()),
            (Some(Columns::Alike(columns)), Some(rows)) => Some(vec![*columns; usize::from(rows)]),
            _ => None,
        }
    }

    /// Number of cavities, where it is told; positions without cavity do not count.
    pub fn count(&self) -> Option<usize> {
        let positions = || Some(self.row_lengths()?.iter().map(|&length| usize::from(length)).sum::<usize>());
        let told = self.cavities.map(usize::from);
        told.or_else(|| positions().map(|count| count.saturating_sub(self.missing.len())))
    }

    /// The same face told from the other side: of the half that mates with this one, cavity meets cavity, so that it is its
    /// mirror image.
    pub fn of_mate(&self) -> Self {
        Self { view: self.view.other(), ..self.clone() }
    }
}

/// Cavities a row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Columns {
    /// The same in all rows.
    Alike(u16),
    /// Of each row by itself, from the top.
    OfRows(Vec<u16>),
}

/// How cavities are named. What is `None` is left to the names that the lists use.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Numbering {
    /// What the names are made of.
    pub names: Option<CavityNames>,
    /// Along what they are counted.
    pub course: Option<Course>,
    /// Which way every second row goes.
    pub turns: Turns,
    /// Where the count begins.
    pub start: Corner,
    /// Which way rings go.
    pub rotation: Rotation,
    /// Which ring comes first.
    pub rings_from: RingsFrom,
    /// Letters that are left out.
    pub left_out: Option<LeftOut>,
    /// The first number.
    pub first: Option<u8>,
}

impl Numbering {
    /// The same numbering as told from the other side.
    pub const fn mirrored(self) -> Self {
        let start = match self.start {
            Corner::TopLeft => Corner::TopRight,
            Corner::TopRight => Corner::TopLeft,
            Corner::BottomLeft => Corner::BottomRight,
            Corner::BottomRight => Corner::BottomLeft,
        };
        let rotation = match self.rotation {
            Rotation::Clockwise => Rotation::Counterclockwise,
            Rotation::Counterclockwise => Rotation::Clockwise,
        };
        Self { start, rotation, ..self }
    }
}

/// What names of cavities are made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum CavityNames {
    /// 1, 2, 3 …
    Numbers,
    /// A, B, C …
    Letters,
    /// A1, A2 … B1, B2 …: a letter a row, a number a column.
    LetteredRows,
    /// A1, B1 … A2, B2 …: a letter a column, a number a row.
    LetteredColumns,
    /// A1 … A8, B9 … B16: a letter a row, and numbers that run on.
    RunningOn,
}

impl CavityNames {
    /// Whether a letter stands before a number.
    pub const fn are_pairs(self) -> bool {
        matches!(self, Self::LetteredRows | Self::LetteredColumns | Self::RunningOn)
    }
}

/// Along what cavities are counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Course {
    /// Row after row.
    #[default]
    Rows,
    /// Column after column.
    Columns,
    /// Ring after ring, as on round connectors.
    Rings,
}

/// Which way every second row or column is counted.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Turns {
    /// The same way as the first.
    #[default]
    SameWay,
    /// Back again.
    BackAndForth,
}

/// The corner where the count begins, in the view in which the face is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Corner {
    /// Top left.
    #[default]
    TopLeft,
    /// Top right.
    TopRight,
    /// Bottom left.
    BottomLeft,
    /// Bottom right.
    BottomRight,
}

impl Corner {
    /// Whether it lies at the right.
    pub const fn is_right(self) -> bool {
        matches!(self, Self::TopRight | Self::BottomRight)
    }

    /// Whether it lies at the bottom.
    pub const fn is_bottom(self) -> bool {
        matches!(self, Self::BottomLeft | Self::BottomRight)
    }
}

/// Which way rings are counted, in the view in which the face is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Rotation {
    /// As a clock goes.
    #[default]
    Clockwise,
    /// Against it.
    Counterclockwise,
}

/// Which ring is counted first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum RingsFrom {
    /// The outermost.
    #[default]
    Outside,
    /// The innermost.
    Inside,
}

/// Letters that a connector leaves out, in upper case.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct LeftOut(pub(super) &'static str);

impl LeftOut {
    /// None is left out.
    pub const NONE: Self = Self("");

    /// The letters, in upper case.
    pub const fn letters(self) -> &'static str {
        self.0
    }
}

/// A side of a connector as it is looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Side {
    /// Above the first row.
    Top,
    /// Below the last row.
    Bottom,
    /// At the left.
    Left,
    /// At the right.
    Right,
}

impl Side {
    /// The same side as seen from the other side of the connector.
    pub const fn mirrored(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
            Self::Top | Self::Bottom => self,
        }
    }
}

/// Where the latch is, in the view in which the face is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Latch {
    /// There is none.
    Absent,
    /// On this side.
    At(Side),
}

impl Latch {
    /// The same latch as told from the other side.
    pub const fn mirrored(self) -> Self {
        match self {
            Self::At(side) => Self::At(side.mirrored()),
            Self::Absent => Self::Absent,
        }
    }
}

/// How every second row lies beside the first, in the view in which the face is told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Stagger {
    /// Not shifted.
    Straight,
    /// Half a pitch to the left.
    Left,
    /// Half a pitch to the right.
    Right,
}
