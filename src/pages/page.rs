//! The finished hand-over type of this step: a page, that is, frames and marks at fixed places.

use super::OnSheet;
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::{Frame, Item, SymbolItem};

/// A frame on its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Placed {
    /// What is drawn.
    pub frame: Frame,
    /// Top left corner of the turned frame's box on the page.
    pub at: Point,
    /// How the frame is turned.
    pub turn: Turn,
    /// The tag's name (`7KF4 A`), for messages about it.
    pub name: String,
    /// Number of its place on a sheet of labels, from 0.
    pub place: Option<usize>,
}

impl Placed {
    /// The box that the frame fills on the page.
    pub fn area(&self) -> Rect {
        Rect { origin: self.at, size: self.turn.turned_size(self.frame.size) }
    }

    /// Its symbols, each with its area on the page.
    pub fn symbols(&self) -> impl Iterator<Item = (Rect, &SymbolItem)> {
        self.frame.items.iter().filter_map(|item| match item {
            Item::Symbol(symbol) => Some((self.turn.turned_rect(symbol.area, self.frame.size).moved(self.at), symbol)),
            _ => None,
        })
    }
}

/// A bookmark.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Heading {
    /// What it says: a connector.
    pub words: String,
    /// Where on the page it leads: the top left corner of the first tag.
    pub at: Point,
}

/// One page of a PDF.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Page {
    /// Exact size of the stock.
    pub size: Size,
    /// The tags.
    pub placed: Vec<Placed>,
    /// What is drawn on the page itself: rulers, cut lines, heads.
    pub marks: Vec<Item>,
    /// Its bookmarks, in their order: what begins on it.
    pub headings: Vec<Heading>,
    /// The sheet of labels that it is printed on, where sheets are numbered.
    pub sheet: Option<OnSheet>,
    /// Length of the piece of tube that it is cut from.
    pub piece: Option<Length>,
}
