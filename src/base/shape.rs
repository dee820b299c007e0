//! Points, sizes, rectangles and quarter turns. The origin is the top left corner; x grows right, y grows down.

use super::Length;

/// A position on a label or page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Point {
    /// Distance from the left edge.
    pub x: Length,
    /// Distance from the top edge.
    pub y: Length,
}

impl Point {
    /// The top left corner.
    pub const ORIGIN: Self = Self { x: Length::ZERO, y: Length::ZERO };

    /// A point from its two distances.
    pub const fn new(x: Length, y: Length) -> Self {
        Self { x, y }
    }

    /// This point moved by another one's distances.
    pub fn plus(self, other: Self) -> Self {
        Self { x: self.x + other.x, y: self.y + other.y }
    }
}

/// A width and a height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Size {
    /// Extent along x.
    pub width: Length,
    /// Extent along y.
    pub height: Length,
}

impl Size {
    /// A size from its two extents.
    pub const fn new(width: Length, height: Length) -> Self {
        Self { width, height }
    }

    /// Width and height exchanged.
    pub const fn exchanged(self) -> Self {
        Self { width: self.height, height: self.width }
    }
}

/// An upright rectangle.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Rect {
    /// Top left corner.
    pub origin: Point,
    /// Width and height.
    pub size: Size,
}

impl Rect {
    /// A rectangle from left, top, width and height.
    pub const fn new(left: Length, top: Length, width: Length, height: Length) -> Self {
        Self { origin: Point::new(left, top), size: Size::new(width, height) }
    }

    /// Left edge.
    pub const fn left(&self) -> Length {
        self.origin.x
    }

    /// Top edge.
    pub const fn top(&self) -> Length {
        self.origin.y
    }

    /// Right edge.
    pub fn right(&self) -> Length {
        self.origin.x + self.size.width
    }

    /// Bottom edge.
    pub fn bottom(&self) -> Length {
        self.origin.y + self.size.height
    }

    /// The same rectangle moved.
    pub fn moved(&self, by: Point) -> Self {
        Self { origin: self.origin.plus(by), size: self.size }
    }

    /// The rectangle left when the same margin is taken off on all four sides; never negative in extent. A negative margin
    /// is added.
    pub fn inset(&self, margin: Length) -> Self {
        let width = (self.size.width - margin * 2).max(Length::ZERO);
        let height = (self.size.height - margin * 2).max(Length::ZERO);
        Self::new(self.left() + margin, self.top() + margin, width, height)
    }

    /// Whether `other` lies wholly inside this rectangle, edges included.
    pub fn holds(&self, other: &Self) -> bool {
        self.left() <= other.left()
            && self.top() <= other.top()
            && self.right() >= other.right()
            && self.bottom() >= other.bottom()
    }

    /// Whether the two share more than an edge.
    pub fn overlaps(&self, other: &Self) -> bool {
        self.left() < other.right()
            && other.left() < self.right()
            && self.top() < other.bottom()
            && other.top() < self.bottom()
    }
}

/// A quarter turn, clockwise as seen on the page.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Turn {
    /// Not turned: text runs left to right.
    #[default]
    Upright,
    /// By 90 degrees: text runs top to bottom.
    Clockwise,
    /// By 180 degrees: text stands on its head.
    Half,
    /// By 270 degrees: text runs bottom to top.
    Anticlockwise,
}

impl Turn {
    /// Both turns one after the other.
    pub fn then(self, other: Self) -> Self {
        Self::from_quarters(self.quarters() + other.quarters())
    }

    /// Number of clockwise quarters, 0 to 3.
    pub const fn quarters(self) -> u8 {
        match self {
            Self::Upright => 0,
            Self::Clockwise => 1,
            Self::Half => 2,
            Self::Anticlockwise => 3,
        }
    }

    /// The turn by a number of clockwise quarters.
    pub const fn from_quarters(quarters: u8) -> Self {
        match quarters % 4 {
            0 => Self::Upright,
            1 => Self::Clockwise,
            2 => Self::Half,
            _ => Self::Anticlockwise,
        }
    }

    /// Size of the box that a thing of this size fills once turned.
    pub fn turned_size(self, size: Size) -> Size {
        match self {
            Self::Upright | Self::Half => size,
            Self::Clockwise | Self::Anticlockwise => size.exchanged(),
        }
    }

    /// Where a point of a thing of `size` lands, measured from the top left corner of the turned thing's box.
    pub fn turned_point(self, point: Point, size: Size) -> Point {
        match self {
            Self::Upright => point,
            Self::Clockwise => Point::new(size.height - point.y, point.x),
            Self::Half => Point::new(size.width - point.x, size.height - point.y),
            Self::Anticlockwise => Point::new(point.y, size.width - point.x),
        }
    }

    /// Where a rectangle of a thing of `size` lands, measured as in [`Turn::turned_point`].
    pub fn turned_rect(self, rect: Rect, size: Size) -> Rect {
        let one = self.turned_point(rect.origin, size);
        let other = self.turned_point(Point::new(rect.right(), rect.bottom()), size);
        let left = one.x.min(other.x);
        let top = one.y.min(other.y);
        Rect::new(left, top, (one.x - other.x).abs(), (one.y - other.y).abs())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mm(v: f64) -> Length {
        Length::mm(v)
    }

    #[test]
    fn four_quarters_come_home() {
        let size = Size::new(mm(40.0), mm(10.0));
        let rect = Rect::new(mm(1.0), mm(2.0), mm(5.0), mm(3.0));
        let mut turned = rect;
        let mut box_size = size;
        for _ in 0..4 {
            turned = Turn::Clockwise.turned_rect(turned, box_size);
            box_size = Turn::Clockwise.turned_size(box_size);
        }
        assert_eq!((turned, box_size), (rect, size));
    }

    #[test]
    fn clockwise_moves_the_top_left_to_the_top_right() {
        let size = Size::new(mm(40.0), mm(10.0));
        assert_eq!(Turn::Clockwise.turned_point(Point::ORIGIN, size), Point::new(mm(10.0), mm(0.0)));
        assert_eq!(Turn::Anticlockwise.turned_point(Point::ORIGIN, size), Point::new(mm(0.0), mm(40.0)));
    }

    #[test]
    fn sharing_an_edge_is_not_overlapping() {
        let one = Rect::new(mm(0.0), mm(0.0), mm(5.0), mm(5.0));
        assert!(!one.overlaps(&one.moved(Point::new(mm(5.0), mm(0.0)))));
        assert!(one.overlaps(&one.moved(Point::new(mm(4.9), mm(0.0)))));
    }
}
