//! Placing on heat-shrink tube: a page is a piece of it pressed flat, a head first, then sleeve after sleeve.

use super::impose::{Closed, Filling, Imposing, PageContext, Piece, in_a_row};
use super::marks::{self, CLEAR};
use super::{Placed, Tube};
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::Item;

/// Most length of tube that a head may take, and never more than a third of the piece.
const LONGEST_HEAD: Length = Length::nm(80_000_000);

/// More pieces than a run prints of one tube: the head that names it is the longest.
const MANY_PIECES: usize = 999;

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
    /// Off-cuts that were too short for what came.
    passed_over: usize,
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
        Self { tube, stock, settings, number: 1, passed_over: 0, open: None }
    }

    /// Upper edge of what takes print.
    fn print_top(&self) -> Length {
        (self.tube.size().lay_flat() - self.tube.size().print_height()).half()
    }

    /// Length of the piece that is open or comes next: off-cuts first, then whole ones.
    fn piece(&self) -> Length {
        self.settings.off_cuts.get(self.number - 1 + self.passed_over).copied().unwrap_or(self.tube.piece())
    }

    /// What the printer reaches of it.
    fn printable(&self) -> Rect {
        self.printable_of(self.piece())
    }

    fn printable_of(&self, piece: Length) -> Rect {
        self.settings.printable(Size::new(piece, self.tube.size().lay_flat()))
    }

    /// Room for sleeves behind the head of the next piece.
    fn room(&self) -> Length {
        let first = self.begin().cuts.first().copied().unwrap_or_default();
        (self.printable().right() - first).max(Length::ZERO)
    }

    /// Room for sleeves on each off-cut, and on whole pieces; heads differ by the digits of their numbers alone.
    pub(super) fn rooms(&self) -> (Vec<Length>, Length) {
        let room = |number: usize| {
            Self { tube: self.tube, stock: self.stock, settings: self.settings, number, passed_over: 0, open: None }
                .room()
        };
        let off_cuts = self.settings.off_cuts.len();
        ((1..=off_cuts).map(room).collect(), room(off_cuts + MANY_PIECES))
    }

    /// Length of a page that ends where a sleeve ends: the printer must be sent all of it, and reach it.
    fn page_length(&self, used: Length) -> Length {
        let sent = self.settings.landing.sent_for(Point::new(used, Length::ZERO)).x;
        (sent.max(used) + self.settings.edges.right).min(self.piece())
    }

    fn longest_head(&self, piece: Length) -> Length {
        LONGEST_HEAD.min(piece / 3)
    }

    /// Begins a piece with its head: tube, stock, print run, job and number of the piece.
    fn begin(&self) -> OpenPiece {
        let left = self.printable().left();
        let number = format!("piece {}", self.number);
        let text = in_a_row([&self.tube.size().name, self.stock, &self.settings.run, &self.settings.title, &number]);
        let room = Size::new(self.longest_head(self.piece()) - CLEAR * 2, self.tube.size().print_height());
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
        let piece = self.tube.piece();
        let room = self.printable_of(piece).size.width - self.longest_head(piece);
        Size::new(room.max(Length::ZERO), self.tube.size().print_height())
    }

    fn takes(&self, piece: &Piece) -> bool {
        let frame = piece.frame.size;
        let largest = self.largest();
        frame.width <= largest.width && frame.height <= largest.height
    }

    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let frame = piece.frame.size;
        // An off-cut that is too short for the first sleeve stays as it is.
        while self.open.is_none()
            && self.number - 1 + self.passed_over < self.settings.off_cuts.len()
            && self.room() < frame.width
        {
            self.passed_over += 1;
        }
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
        let piece = Some(self.piece());
        let used = cuts.last().copied().unwrap_or_default();
        let across = Rect::new(Length::ZERO, self.print_top(), used, self.tube.size().print_height());
        let lines = cuts.iter().map(|&x| marks::cut_line(Point::new(x, across.top()), Point::new(x, across.bottom())));
        marks.extend(lines);
        let size = Size::new(self.page_length(used), self.tube.size().lay_flat());
        self.number += 1;
        Closed { size, placed, marks, sheet: None, piece }
    }
}
