//! Placing strips on plain paper: rows of one height, strips end to end, rows edge to edge, so that one cut serves two.

use super::Placed;
use super::impose::{Closed, Filling, PageContext, Piece};
use super::marks::{self, CLEAR, RULER_ROOM, TICK_ROOM, UPRIGHT_RULER_ROOM};
use crate::base::{Length, Point, Rect, Size, Turn};

/// Sheet after sheet of strips. They come in order of their height: a strip of another height begins a row.
pub(super) struct OntoStrips {
    page: Size,
    /// What strips may cover: the page without unprintable edges, cut ticks and rulers.
    area: Rect,
    placed: Vec<Placed>,
}

impl OntoStrips {
    pub(super) fn new(page: Size, printable: Rect) -> Self {
        let (left, top) = (printable.left() + UPRIGHT_RULER_ROOM + TICK_ROOM, printable.top() + RULER_ROOM + TICK_ROOM);
        let width = (printable.right() - TICK_ROOM - left).max(Length::ZERO);
        let height = (printable.bottom() - TICK_ROOM - top).max(Length::ZERO);
        Self { page, area: Rect::new(left, top, width, height), placed: Vec::new() }
    }

    /// Where a strip goes on after the last one: in its row, or at the start of the next.
    fn next(&self, frame: Size) -> Point {
        let Some(last) = self.placed.last().map(Placed::area) else { return self.area.origin };
        if last.size.height == frame.height && last.right() + frame.width <= self.area.right() {
            return Point::new(last.right(), last.top());
        }
        Point::new(self.area.left(), last.bottom())
    }
}

impl Filling for OntoStrips {
    fn largest(&self) -> Size {
        self.area.size
    }

    fn takes(&self, piece: &Piece) -> bool {
        let frame = piece.frame.size;
        frame.width <= self.area.size.width && frame.height <= self.area.size.height
    }

    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let size = piece.frame.size;
        let place = Rect { origin: self.next(size), size };
        if !self.area.holds(&place) {
            return Err(piece);
        }
        self.placed.push(piece.placed(place.origin, Turn::Upright));
        Ok(())
    }

    fn close(&mut self, context: &PageContext<'_>) -> Closed {
        let printable = context.settings.printable(self.page);
        let placed = std::mem::take(&mut self.placed);
        let areas: Vec<Rect> = placed.iter().map(Placed::area).collect();
        let mut marks = marks::row_lines(&areas, self.area, printable);
        let block = self.area.inset(CLEAR - TICK_ROOM);
        marks.extend(marks::margin(printable, block, &[context.title()], context.settings.head).marks);
        Closed { size: self.page, placed, marks, sheet: None, piece: None }
    }
}

#[cfg(test)]
mod tests {
    use super::super::Edges;
    use super::*;
    use crate::layout::Frame;

    #[test]
    fn strips_of_one_height_fill_rows() {
        let mm = Length::mm;
        let page = Size::new(mm(210.0), mm(297.0));
        let mut strips = OntoStrips::new(page, Edges::all(mm(5.0)).printable(page));
        let area = strips.area;
        let mut at = |width: f64, height: f64| {
            let frame = Frame { size: Size::new(mm(width), mm(height)), items: Vec::new() };
            let piece = Piece { frame, name: String::new(), heading: None, group: None, labels: 0 };
            strips.offer(piece).expect("room");
            strips.placed.last().expect("placed").at
        };
        assert_eq!(at(100.0, 3.0), area.origin);
        assert_eq!(at(90.0, 3.0), area.origin.plus(Point::new(mm(100.0), mm(0.0))));
        assert_eq!(at(20.0, 3.0), area.origin.plus(Point::new(mm(0.0), mm(3.0))));
        assert_eq!(at(20.0, 4.0), area.origin.plus(Point::new(mm(0.0), mm(6.0))));
    }
}
