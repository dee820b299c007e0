//! Placing on sheets of labels and on rolls.

use super::impose::{Closed, Filling, PageContext, Piece, in_place};
use super::marks::{self, CLEAR, TICK_ROOM};
use super::{Cut, Placed, Roll, Sheet};
use crate::base::{Point, Rect, Size};
use crate::layout::Item;

/// Sheet after sheet, each from its first place on. A sheet that is partly used would start at another place.
pub(super) struct OntoSheets<'a> {
    sheet: &'a Sheet,
    /// Number of the next free place of the open sheet.
    next: usize,
    placed: Vec<Placed>,
}

impl<'a> OntoSheets<'a> {
    pub(super) fn new(sheet: &'a Sheet) -> Self {
        Self { sheet, next: 0, placed: Vec::new() }
    }

    /// Knife lines of split labels of which at least one slice is used, or cut lines round the places used.
    fn cuts(&self, printable: Rect) -> Vec<Item> {
        let used = || (0..self.next).filter_map(|number| self.sheet.place(number));
        match self.sheet.cut() {
            Cut::Lines => marks::cut_lines(&used().collect::<Vec<_>>(), printable),
            Cut::Die => {
                let split = self.sheet.split() as usize;
                let lines = (0..self.next.div_ceil(split)).flat_map(|label| {
                    let slices = (label * split + 1..(label + 1) * split).filter_map(|number| self.sheet.place(number));
                    slices.map(move |slice| marks::knife_line(self.sheet.label_of(label * split), slice.top()))
                });
                lines.collect()
            }
        }
    }
}

impl Filling for OntoSheets<'_> {
    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let place = self.sheet.place(self.next).and_then(|place| in_place(piece.frame.size, place));
        let Some((at, turn)) = place else { return Err(piece) };
        self.placed.push(Placed { place: Some(self.next), ..piece.placed(at, turn) });
        self.next += 1;
        Ok(())
    }

    fn largest(&self) -> Size {
        self.sheet.slice()
    }

    fn takes(&self, frame: Size) -> bool {
        in_place(frame, Rect { origin: Point::ORIGIN, size: self.sheet.slice() }).is_some()
    }

    fn close(&mut self, context: &PageContext<'_>) -> Closed {
        let (size, settings) = (self.sheet.page(), context.settings);
        let printable = settings.edges.printable(size);
        let mut marks = self.cuts(printable);
        let block = match self.sheet.cut() {
            Cut::Die => self.sheet.block(),
            Cut::Lines => self.sheet.block().inset(CLEAR - TICK_ROOM),
        };
        marks.extend(marks::margin(printable, block, &context.title(), settings.head));
        self.next = 0;
        Closed { size, placed: std::mem::take(&mut self.placed), marks }
    }
}

/// Label after label, each a page.
pub(super) struct OntoRoll {
    label: Size,
    placed: Option<Placed>,
}

impl OntoRoll {
    pub(super) fn new(roll: &Roll) -> Self {
        Self { label: roll.label(), placed: None }
    }
}

impl Filling for OntoRoll {
    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let place = in_place(piece.frame.size, Rect { origin: Point::ORIGIN, size: self.label });
        match place.filter(|_| self.placed.is_none()) {
            Some((at, turn)) => {
                self.placed = Some(piece.placed(at, turn));
                Ok(())
            }
            None => Err(piece),
        }
    }

    fn largest(&self) -> Size {
        self.label
    }

    fn takes(&self, frame: Size) -> bool {
        in_place(frame, Rect { origin: Point::ORIGIN, size: self.label }).is_some()
    }

    fn close(&mut self, _: &PageContext<'_>) -> Closed {
        Closed { size: self.label, placed: self.placed.take().into_iter().collect(), marks: Vec::new() }
    }
}
