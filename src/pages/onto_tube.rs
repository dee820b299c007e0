//! Placing on heat-shrink tube: a page is a piece of it pressed flat, a head first, then sleeve after sleeve.

use super::impose::{Closed, Filling, Imposing, PageContext, Piece, in_a_row};
use super::marks::{self, CLEAR};
use super::{Placed, Tube};
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::Item;

/// Most length of tube that a head may take, and never more than a third of the piece.
const LONGEST_HEAD: Length = Length::nm(80_000_000);

/// Piece after piece of a tube. Sleeves keep their order; whoever nests them so as to waste least orders them before they come
/// here.
///
/// A page ends where its last sleeve ends: the rest of the piece stays whole.
pub(super) struct OntoTube<'a> {
    tube: &'a Tube,
    stock: &'a str,
    settings: &'a Imposing<'a>,
    /// Number of the piece, from 1.
    number: usize,
    open: Option<OpenPiece>,
}

/// What lies on the piece so far.
struct OpenPiece {
    head: Vec<Item>,
    /// Where the first sleeve begins and each ends.
    cuts: Vec<Length>,
    placed: Vec<Placed>,
}

impl<'a> OntoTube<'a> {
    pub(super) fn new(tube: &'a Tube, stock: &'a str, settings: &'a Imposing<'a>) -> Self {
        Self { tube, stock, settings, number: 1, open: None }
    }

    /// Upper edge of what takes print.
    fn print_top(&self) -> Length {
        (self.tube.size().lay_flat() - self.tube.size().print_height()).half()
    }

    /// What the printer reaches of a whole piece.
    fn printable(&self) -> Rect {
        self.settings.printable(Size::new(self.tube.piece(), self.tube.size().lay_flat()))
    }

    /// Length of a page that ends where a sleeve ends: the printer must be sent all of it, and reach it.
    fn page_length(&self, used: Length) -> Length {
        let sent = self.settings.landing.sent_for(Point::new(used, Length::ZERO)).x;
        (sent.max(used) + self.settings.edges.right).min(self.tube.piece())
    }

    fn longest_head(&self) -> Length {
        LONGEST_HEAD.min(self.tube.piece() / 3)
    }

    /// Begins a piece with its head: tube, stock, print run, job and number of the piece.
    fn begin(&self) -> OpenPiece {
        let left = self.printable().left();
        let number = format!("piece {}", self.number);
        let text = in_a_row([&self.tube.size().name, self.stock, &self.settings.run, &self.settings.title, &number]);
        let room = Size::new(self.longest_head() - CLEAR * 2, self.tube.size().print_height());
        let frame = (self.settings.head)(room, &text);
        let fits = frame.size.width <= room.width && frame.size.height <= room.height && !frame.items.is_empty();
        let first = if fits { left + frame.size.width + CLEAR * 2 } else { left };
        let lower = (self.tube.size().lay_flat() - frame.size.height).half();
        let by = Point::new(left + CLEAR, lower);
        let items = frame.items.into_iter().filter(|_| fits).map(|item| marks::moved(item, by));
        OpenPiece { head: items.collect(), cuts: vec![first], placed: Vec::new() }
    }
}

impl Filling for OntoTube<'_> {
    fn largest(&self) -> Size {
        let room = self.printable().size.width - self.longest_head();
        Size::new(room.max(Length::ZERO), self.tube.size().print_height())
    }

    fn takes(&self, frame: Size) -> bool {
        let largest = self.largest();
        frame.width <= largest.width && frame.height <= largest.height
    }

    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let frame = piece.frame.size;
        let end = self.printable().right();
        let lower = (self.tube.size().lay_flat() - frame.height).half();
        let begun = self.open.take();
        let open = self.open.insert(begun.unwrap_or_else(|| self.begin()));
        let x = open.cuts.last().copied().unwrap_or(end);
        if x + frame.width > end {
            return Err(piece);
        }
        open.cuts.push(x + frame.width);
        open.placed.push(piece.placed(Point::new(x, lower), Turn::Upright));
        Ok(())
    }

    fn close(&mut self, _: &PageContext<'_>) -> Closed {
        let OpenPiece { head: mut marks, cuts, placed } = self.open.take().unwrap_or_else(|| self.begin());
        self.number += 1;
        let used = cuts.last().copied().unwrap_or_default();
        let across = Rect::new(Length::ZERO, self.print_top(), used, self.tube.size().print_height());
        let lines = cuts.iter().map(|&x| marks::cut_line(Point::new(x, across.top()), Point::new(x, across.bottom())));
        marks.extend(lines);
        Closed { size: Size::new(self.page_length(used), self.tube.size().lay_flat()), placed, marks, sheet: None }
    }
}
