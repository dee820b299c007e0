//! Where on the paper a printer puts what it is sent, as a trial page has shown.

use crate::base::{Length, Point, Rect, Size};

/// How a printer moves and stretches pages: what is sent for a point comes to lie at `scale` times its distance from the top left
/// corner, moved by `offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Landing {
    /// How far everything is moved, to the right and down.
    offset: Point,
    /// How everything is stretched, across and down: 1 where it keeps its size.
    scale: (f64, f64),
}

impl Landing {
    /// A printer that prints true.
    pub const TRUE: Self = Self { offset: Point::ORIGIN, scale: (1.0, 1.0) };

    /// Bounds of the scale: what lies beyond is a page that was fitted to the paper, and no printer. A page of A4 that is fitted
    /// into edges of 3 mm comes out at 0.971; printers are within 0.02 (common practice).
    pub const SCALES: std::ops::RangeInclusive<f64> = 0.975..=1.025;

    /// A printer by its offset and scales; a scale beyond [`Self::SCALES`] is brought to the nearest one.
    pub fn new(offset: Point, across: f64, down: f64) -> Self {
        let bounded =
            |scale: f64| if scale.is_finite() { scale.clamp(*Self::SCALES.start(), *Self::SCALES.end()) } else { 1.0 };
        Self { offset, scale: (bounded(across), bounded(down)) }
    }

    /// How far everything is moved, to the right and down.
    pub const fn offset(&self) -> Point {
        self.offset
    }

    /// How everything is stretched, across and down.
    pub const fn scale(&self) -> (f64, f64) {
        self.scale
    }

    /// Where a point comes to lie that is sent.
    pub fn lands(&self, sent: Point) -> Point {
        Point::new(sent.x.scaled(self.scale.0), sent.y.scaled(self.scale.1)).plus(self.offset)
    }

    /// What must be sent for a point to come to lie there.
    pub fn sent_for(&self, wanted: Point) -> Point {
        let back = |wanted: Length, offset: Length, scale: f64| (wanted - offset).scaled(1.0 / scale);
        Point::new(back(wanted.x, self.offset.x, self.scale.0), back(wanted.y, self.offset.y, self.scale.1))
    }

    /// What must be sent for a symbol to come to lie on an area: its middle is moved, its size is kept, so that its modules stay
    /// whole numbers of dots. On paper it is then off by half its size times the scale's distance from 1, at its edges.
    pub fn symbol_sent(&self, wanted: Rect) -> Rect {
        let (width, height) = (wanted.size.width.half(), wanted.size.height.half());
        let middle = self.sent_for(wanted.origin.plus(Point::new(width, height)));
        Rect { origin: middle.plus(Point::new(-width, -height)), size: wanted.size }
    }

    /// The quiet zone round a symbol as it is sent. Where a printer stretches, what stands round the symbol is drawn smaller and the
    /// symbol is not, so that a little of it is lost.
    pub fn quiet_sent(&self, symbol: Rect, quiet: Length) -> Length {
        let left = |extent: Length, scale: f64| (extent.half() + quiet).scaled(1.0 / scale) - extent.half();
        quiet.min(left(symbol.size.width, self.scale.0)).min(left(symbol.size.height, self.scale.1))
    }

    /// This printer followed by what it is still off: what is sent for a point by this one lands by `rest`.
    pub fn then(&self, rest: &Self) -> Self {
        let (across, down) = (rest.scale.0 * self.scale.0, rest.scale.1 * self.scale.1);
        Self::new(rest.lands(self.offset), across, down)
    }

    /// Where an area comes to lie that is sent.
    pub fn area_lands(&self, sent: Rect) -> Rect {
        let size = Size::new(sent.size.width.scaled(self.scale.0), sent.size.height.scaled(self.scale.1));
        Rect { origin: self.lands(sent.origin), size }
    }
}

impl Default for Landing {
    fn default() -> Self {
        Self::TRUE
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_sent_for_a_point_lands_on_it() {
        let mm = Length::mm;
        let printer = Landing::new(Point::new(mm(1.3), mm(-0.8)), 0.985, 0.985);
        let wanted = Point::new(mm(100.0), mm(200.0));
        let landed = printer.lands(printer.sent_for(wanted));
        assert!((landed.x - wanted.x).abs() <= Length::nm(1) && (landed.y - wanted.y).abs() <= Length::nm(1));
        assert_eq!(Landing::TRUE.sent_for(wanted), wanted);
    }

    #[test]
    fn a_symbol_keeps_its_size_and_its_middle_lands() {
        let mm = Length::mm;
        let printer = Landing::new(Point::new(mm(1.3), mm(-0.8)), 0.985, 0.99);
        let wanted = Rect::new(mm(40.0), mm(60.0), mm(12.0), mm(12.0));
        let sent = printer.symbol_sent(wanted);
        assert_eq!(sent.size, wanted.size);
        let landed = printer.area_lands(sent);
        // Half of 12 mm, 1.5 % of it.
        assert!((landed.left() - wanted.left() - mm(0.09)).abs() <= Length::nm(2), "{landed:?}");
        assert!((landed.right() - wanted.right() + mm(0.09)).abs() <= Length::nm(2), "{landed:?}");
        assert_eq!(Landing::TRUE.symbol_sent(wanted), wanted);
        let quiet = |scale| Landing::new(Point::ORIGIN, scale, 1.0).quiet_sent(wanted, mm(2.0)).as_mm();
        assert!((quiet(1.02) - (8.0 / 1.02 - 6.0)).abs() < 1e-5 && quiet(0.98) == 2.0);
    }

    #[test]
    fn what_a_corrected_page_is_still_off_is_added() {
        let mm = Length::mm;
        let first = Landing::new(Point::new(mm(1.3), mm(-0.8)), 0.985, 0.985);
        let rest = Landing::new(Point::new(mm(0.2), mm(0.1)), 1.001, 0.999);
        let (wanted, both) = (Point::new(mm(100.0), mm(50.0)), first.then(&rest));
        let landed = both.lands(first.sent_for(wanted));
        let should = rest.lands(wanted);
        assert!((landed.x - should.x).abs() <= Length::nm(2) && (landed.y - should.y).abs() <= Length::nm(2));
    }
}
