//! Placing on sheets of labels and on rolls.

use std::collections::BTreeSet;

use super::impose::{Closed, Filling, Imposing, PageContext, Piece, in_place};
use super::marks::{self, CLEAR, TICK_ROOM};
use super::reach::unprintable_places;
use super::{Cut, LabelForm, Placed, Roll, Sheet};
use crate::base::{Point, Rect, Size};
use crate::layout::Item;

/// Sheet after sheet, each from its first place on, without those that the printer cannot reach. A sheet that is partly used would
/// start at another place.
pub(super) struct OntoSheets<'a> {
    sheet: &'a Sheet,
    /// Numbers of the places that take tags.
    places: Vec<usize>,
    placed: Vec<Placed>,
}

impl<'a> OntoSheets<'a> {
    pub(super) fn new(sheet: &'a Sheet, form: LabelForm, settings: &Imposing<'_>) -> Self {
        let lost = unprintable_places(sheet, form, settings.printable(sheet.page()));
        let is_lost = |place: &usize| lost.binary_search_by_key(place, |(lost, _)| *lost).is_ok();
        let places = (0..sheet.places()).filter(|place| !is_lost(place)).collect();
        Self { sheet, places, placed: Vec::new() }
    }

    /// Knife lines of split labels of which at least one slice is used, or cut lines round the places used.
    fn cuts(&self, printable: Rect) -> Vec<Item> {
        let numbers = self.places.iter().take(self.placed.len());
        match self.sheet.cut() {
            Cut::Lines => {
                let used: Vec<_> = numbers.filter_map(|number| self.sheet.place(*number)).collect();
                marks::cut_lines(&used, printable)
            }
            Cut::Die => {
                let split = self.sheet.split() as usize;
                let labels: BTreeSet<usize> = numbers.map(|number| number / split).collect();
                let lines = labels.into_iter().flat_map(|label| {
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
        let next = self.places.get(self.placed.len()).copied();
        let place = next.and_then(|next| self.sheet.place(next)).and_then(|place| in_place(piece.frame.size, place));
        let Some((at, turn)) = place else { return Err(piece) };
        self.placed.push(Placed { place: next, ..piece.placed(at, turn) });
        Ok(())
    }

    fn largest(&self) -> Size {
        if self.places.is_empty() { Size::default() } else { self.sheet.slice() }
    }

    fn takes(&self, frame: Size) -> bool {
        !self.places.is_empty() && in_place(frame, Rect { origin: Point::ORIGIN, size: self.sheet.slice() }).is_some()
    }

    fn close(&mut self, context: &PageContext<'_>) -> Closed {
        let (size, settings) = (self.sheet.page(), context.settings);
        let printable = settings.printable(size);
        let mut marks = self.cuts(printable);
        let block = match self.sheet.cut() {
            Cut::Die => self.sheet.block(),
            Cut::Lines => self.sheet.block().inset(CLEAR - TICK_ROOM),
        };
        marks.extend(marks::margin(printable, block, &context.title(), settings.head));
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
