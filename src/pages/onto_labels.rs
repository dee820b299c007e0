//! Placing on sheets of labels and on rolls.

use super::impose::{Filling, PageContext, in_place};
use super::marks::{self, CLEAR, TICK_ROOM};
use super::{Cut, Roll, Sheet};
use crate::base::{Point, Rect, Size, Turn};
use crate::layout::Item;

/// Sheet after sheet, each from its first place on. A sheet that is partly used would start at another place.
pub(super) struct OntoSheets<'a> {
    sheet: &'a Sheet,
    /// Number of the next free place of the open sheet.
    next: usize,
}

impl<'a> OntoSheets<'a> {
    pub(super) fn new(sheet: &'a Sheet) -> Self {
        Self { sheet, next: 0 }
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
    fn place(&mut self, frame: Size) -> Option<(Point, Turn)> {
        let placed = in_place(frame, self.sheet.place(self.next)?)?;
        self.next += 1;
        Some(placed)
    }

    fn largest(&self) -> Size {
        self.sheet.slice()
    }

    fn takes(&self, frame: Size) -> bool {
        in_place(frame, Rect { origin: Point::ORIGIN, size: self.sheet.slice() }).is_some()
    }

    fn close(&mut self, context: &PageContext<'_>) -> (Size, Vec<Item>) {
        let (page, settings) = (self.sheet.page(), context.settings);
        let printable = settings.edges.printable(page);
        let mut items = self.cuts(printable);
        let block = match self.sheet.cut() {
            Cut::Die => self.sheet.block(),
            Cut::Lines => self.sheet.block().inset(CLEAR - TICK_ROOM),
        };
        items.extend(marks::margin(printable, block, &context.title(), settings.head));
        self.next = 0;
        (page, items)
    }
}

/// Label after label, each a page.
pub(super) struct OntoRoll {
    label: Size,
    is_taken: bool,
}

impl OntoRoll {
    pub(super) fn new(roll: &Roll) -> Self {
        Self { label: roll.label(), is_taken: false }
    }
}

impl Filling for OntoRoll {
    fn place(&mut self, frame: Size) -> Option<(Point, Turn)> {
        if self.is_taken {
            return None;
        }
        let placed = in_place(frame, Rect { origin: Point::ORIGIN, size: self.label })?;
        self.is_taken = true;
        Some(placed)
    }

    fn largest(&self) -> Size {
        self.label
    }

    fn takes(&self, frame: Size) -> bool {
        in_place(frame, Rect { origin: Point::ORIGIN, size: self.label }).is_some()
    }

    fn close(&mut self, _: &PageContext<'_>) -> (Size, Vec<Item>) {
        self.is_taken = false;
        (self.label, Vec::new())
    }
}
