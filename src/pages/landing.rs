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

    /// Bounds of the scale: what lies beyond is a page that was fitted to the paper, and no printer.
    pub const SCALES: std::ops::RangeInclusive<f64> = 0.9..=1.1;

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
}
