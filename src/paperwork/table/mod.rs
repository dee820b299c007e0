//! Columns and rows of cells -> a passage. What a table is stands here, how it is laid out in `laying`.

use super::pen::{Align, Look};
use crate::base::{Length, WireColour};
use crate::layout::Frame;

mod laying;
#[cfg(test)]
mod tests;

pub use laying::paragraph;

/// Height of capitals in cells, in millimetres.
pub const CAP: f64 = 1.8;
/// Height of capitals in large cells.
const LARGE_CAP: f64 = 2.6;

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub struct Column {
    /// What stands above it.
    pub head: String,
    /// Its width, where the cells do not decide it.
    pub fixed: Option<Length>,
    /// How its words stand.
    pub align: Align,
    /// Whether it takes the width that is left.
    pub grows: bool,
    /// Whether its cells keep their lines whole where others must break.
    pub is_whole: bool,
}

impl Column {
    /// A column as wide as its cells.
    pub fn new(head: &str) -> Self {
        Self { head: head.to_owned(), fixed: None, align: Align::Left, grows: false, is_whole: false }
    }

    /// The same, so many millimetres wide whatever it holds.
    #[must_use]
    pub fn wide(self, millimetres: f64) -> Self {
        Self { fixed: Some(Length::mm(millimetres)), ..self }
    }

    /// The same, of numbers.
    #[must_use]
    pub fn right(self) -> Self {
        Self { align: Align::Right, ..self }
    }

    /// The same, its cells not broken where others can be.
    #[must_use]
    pub fn whole(self) -> Self {
        Self { is_whole: true, ..self }
    }

    /// The same, taking what width is left.
    #[must_use]
    pub fn growing(self) -> Self {
        Self { grows: true, ..self }
    }
}

/// A box to tick.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tick {
    /// What stands behind it; may be empty.
    pub word: String,
    /// Whether it is done by now.
    pub is_done: bool,
}

/// What a cell holds.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Cell {
    /// Nothing.
    #[default]
    Empty,
    /// Words.
    Words(String),
    /// Words that stand out.
    Strong(String),
    /// A code or a cavity.
    Code(String),
    /// What is looked for first in its row, large.
    Large(String),
    /// A wire's colour: bar and letters.
    Colour(WireColour),
    /// Boxes, one below the other where they do not fit side by side.
    Ticks(Vec<Tick>),
    /// A line to write on.
    Write,
    /// A drawing.
    Drawn(Frame),
}

impl Cell {
    /// Words, or nothing.
    pub fn words(words: Option<impl ToString>) -> Self {
        match words.map(|words| words.to_string()).filter(|words| !words.is_empty()) {
            Some(words) => Self::Words(words),
            None => Self::Empty,
        }
    }

    /// A wire's colour, or nothing.
    pub fn colour(colour: Option<&WireColour>) -> Self {
        colour.map_or(Self::Empty, |colour| Self::Colour(colour.clone()))
    }

    /// One box without a word, to be ticked by hand.
    pub fn open_box() -> Self {
        Self::Ticks(vec![Tick::default()])
    }

    fn text(&self) -> Option<(&str, Look)> {
        match self {
            Self::Words(words) => Some((words, Look::words(CAP))),
            Self::Strong(words) => Some((words, Look::strong(CAP))),
            Self::Code(words) => Some((words, Look::code(CAP))),
            Self::Large(words) => Some((words, Look::code(LARGE_CAP))),
            _ => None,
        }
    }
}

/// A row.
#[derive(Clone, Debug, PartialEq)]
pub enum Row {
    /// A cell for each column; missing ones are empty.
    Cells(Vec<Cell>),
    /// The same, which stays with the next row: partners of a pair. A bar at the left joins them.
    Bound(Vec<Cell>),
    /// Words across all columns that belong to the row above.
    Remark(String),
    /// The same, which stays with the next row and has no line below: both are lines of one row.
    Part(Vec<Cell>),
    /// Words across all columns that head the rows below them.
    Heading(String),
    /// A caution across all columns, white on black; stays with the row below.
    Caution(String),
}

/// A table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Table {
    /// The columns.
    pub columns: Vec<Column>,
    /// The rows.
    pub rows: Vec<Row>,
}

impl Table {
    /// A table with these columns, and no row yet.
    pub fn new(columns: Vec<Column>) -> Self {
        Self { columns, rows: Vec::new() }
    }

    /// Adds a row of cells.
    pub fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(Row::Cells(cells));
    }

    /// Takes out columns in which no row has anything.
    pub fn drop_empty_columns(&mut self) {
        let is_empty = |at: usize| {
            self.rows.iter().all(|row| match row {
                Row::Cells(cells) | Row::Bound(cells) | Row::Part(cells) => {
                    cells.get(at).is_none_or(|cell| *cell == Cell::Empty)
                }
                Row::Remark(_) | Row::Heading(_) | Row::Caution(_) => true,
            })
        };
        let empty: Vec<usize> = (0..self.columns.len()).filter(|at| is_empty(*at)).collect();
        for at in empty.into_iter().rev() {
            self.columns.remove(at);
            for row in &mut self.rows {
                if let Row::Cells(cells) | Row::Bound(cells) | Row::Part(cells) = row
                    && at < cells.len()
                {
                    cells.remove(at);
                }
            }
        }
    }
}
