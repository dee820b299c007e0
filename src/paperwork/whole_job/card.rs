//! Faces -> a card: one face below the other, dashed lines where it is folded, marks outside the corners where it is cut out.

use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::text::Fonts;
use crate::layout::{Frame, Item};
use crate::paperwork::Pen;

/// Room for the marks around the card.
const MARKS: Length = Length::nm(4_000_000);
/// White inside a face.
const MARGIN: Length = Length::nm(4_000_000);

/// The card with its marks. Each face has its items from the corner of its [`inner`] room.
pub fn folded(fonts: &Fonts, face: Size, faces: &[Vec<Item>]) -> Frame {
    let mut pen = Pen::new(fonts);
    let count = i64::try_from(faces.len()).unwrap_or(1);
    let card = Rect::new(MARKS, MARKS, face.width, face.height * count);
    pen.cut_marks(card);
    for (nth, items) in (0i64..).zip(faces) {
        let top = card.top() + face.height * nth;
        if nth > 0 {
            pen.dashed(Point::new(card.left(), top), Point::new(card.right(), top), Length::mm(0.15));
        }
        let corner = Point::new(card.left() + MARGIN, top + MARGIN);
        pen.items.extend(items.iter().map(|item| item.placed(Turn::Upright, Size::default(), corner)));
    }
    pen.framed(Size::new(card.right() + MARKS, card.bottom() + MARKS))
}

/// What of a face words may cover.
pub fn inner(face: Size) -> Size {
    Size::new(face.width - MARGIN * 2, face.height - MARGIN * 2)
}

/// A face no larger than fits with its marks into this room, and how many of them fit one below the other.
pub fn within(face: Size, room: Size) -> (Size, usize) {
    let most = Size::new(room.width - MARKS * 2, room.height - MARKS * 2);
    let face = Size::new(face.width.min(most.width), face.height.min(most.height));
    (face, (most.height.ratio(face.height).floor() as usize).max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_faces_as_the_paper_has_room_for() {
        let mm = |width: f64, height: f64| Size::new(Length::mm(width), Length::mm(height));
        // 240 mm less 2 x 4 mm of marks are 232 mm: two faces of 90 mm, and three of 77 mm.
        assert_eq!(within(mm(140.0, 90.0), mm(184.0, 240.0)), (mm(140.0, 90.0), 2));
        assert_eq!(within(mm(140.0, 77.0), mm(184.0, 240.0)), (mm(140.0, 77.0), 3));
        assert_eq!(within(mm(300.0, 300.0), mm(184.0, 240.0)), (mm(176.0, 232.0), 1));
    }

    #[test]
    fn folds_lie_between_faces() {
        let fonts = Fonts::new();
        let face = Size::new(Length::mm(100.0), Length::mm(50.0));
        let card = folded(&fonts, face, &[Vec::new(), Vec::new(), Vec::new()]);
        assert_eq!(card.size, Size::new(Length::mm(108.0), Length::mm(158.0)));
        let dashed = card.items.iter().filter_map(|item| match item {
            Item::Rule { from, dash: crate::layout::frame::Dash::Dashed(_), .. } => Some(from.y.as_mm()),
            _ => None,
        });
        assert_eq!(dashed.collect::<Vec<_>>(), [54.0, 104.0]);
    }
}
