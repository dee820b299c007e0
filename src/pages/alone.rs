//! One tag alone on its piece of stock, for a picture: no page of a print run.
//!
//! In: a stock and a finished frame. Out: a page a little larger than the piece, which lies white on gray. The frame is drawn as on
//! every page; only the outline of the piece, and the lines that go on with the ticks at its edges, are added.

use super::impose::in_place;
use super::{Geometry, LabelForm, Page, Placed, Stock};
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::frame::Dash;
use crate::layout::tie_on::{self, Punching, TieOnStock};
use crate::layout::{Frame, Ink, Item};

/// Ground that shows round the piece.
const GROUND: Length = Length::nm(2_000_000);
/// Gray of the ground.
const GRAY: Ink = Ink::Colour([214, 214, 214]);
/// Gray of what is clear.
const CLEAR: Ink = Ink::Colour([238, 238, 238]);
/// Stroke of outline and folds.
const HAIRLINE: Length = Length::nm(80_000);
/// Dashes of folds.
const DASH: Length = Length::nm(600_000);

/// The page for a tag of this frame on labels of this group; `None` when the piece is smaller than the frame.
pub fn alone(stock: &Stock, labels: usize, frame: Frame, name: &str) -> Option<Page> {
    let piece = stock.label(labels).unwrap_or_else(|| cut_out(stock, frame.size));
    let around = Point::new(GROUND, GROUND);
    let (at, turn) = in_place(frame.size, Rect { origin: around, size: piece })?;
    let area = Rect { origin: around, size: piece };
    // A slice of a split label has its round corners on one side or none.
    let is_slice =
        matches!(stock.geometry(), Geometry::Sheet(sheet) if sheet.slices_of(sheet.places_of(labels).start).len() > 1);
    let radius = if is_slice { Length::ZERO } else { stock.corner_radius(labels) };

    let size = Size::new(piece.width + GROUND * 2, piece.height + GROUND * 2);
    let mut ground = vec![Item::Fill { area: Rect { origin: Point::ORIGIN, size }, ink: GRAY }];
    ground.extend(white(area, radius));
    ground.extend(not_printed(stock, labels, &frame, area, (turn, at)));
    let ground = Frame { size, items: ground };
    let folds = folds(&frame).into_iter().map(|fold| fold.placed(turn, frame.size, at));
    let mut marks = vec![Item::Outline { area, weight: HAIRLINE, radius }];
    marks.extend(folds);
    let placed = |frame, at, turn| Placed { frame, at, turn, name: name.to_owned(), place: None };
    let tag = placed(frame, at, turn);
    Some(Page {
        size,
        placed: vec![placed(ground, Point::ORIGIN, Turn::Upright), tag],
        marks,
        headings: Vec::new(),
        sheet: None,
        piece: None,
    })
}

/// The piece of stock without labels that takes the frame: a length of flat tube, or what is cut of the paper.
fn cut_out(stock: &Stock, frame: Size) -> Size {
    stock.tube().map_or(frame, |tube| Size::new(frame.width, tube.size().lay_flat()))
}

/// What of the piece takes no print: the clear tail of a wrap, the holes of a plate.
fn not_printed(stock: &Stock, labels: usize, frame: &Frame, piece: Rect, (turn, at): (Turn, Point)) -> Vec<Item> {
    match (stock.form(labels), stock.label(labels)) {
        (LabelForm::Wrap { print }, _) => {
            let tail = Rect::new(piece.left(), piece.top() + print, piece.size.width, piece.size.height - print);
            vec![Item::Fill { area: tail, ink: CLEAR }]
        }
        (LabelForm::Plate(holes), Some(plate)) => {
            let plate = TieOnStock { plate, holes, punching: Punching::Done, dpi: 0 };
            let hole = |hole: Rect| {
                let radius = hole.size.width.half();
                let centre = Point::new(hole.left() + radius, hole.top() + radius);
                Item::Dot { centre, radius, ink: GRAY }.placed(turn, frame.size, at)
            };
            tie_on::Geometry::new(&plate).holes.into_iter().flatten().map(hole).collect()
        }
        _ => Vec::new(),
    }
}

/// A white piece with round corners: two bars crossed, and a dot in each corner.
fn white(area: Rect, radius: Length) -> Vec<Item> {
    let ink = Ink::White;
    let Size { width, height } = area.size;
    let radius = radius.min(width.half()).min(height.half());
    if radius <= Length::ZERO {
        return vec![Item::Fill { area, ink }];
    }
    let across = Rect::new(area.left(), area.top() + radius, width, height - radius * 2);
    let down = Rect::new(area.left() + radius, area.top(), width - radius * 2, height);
    let mut items: Vec<Item> = [across, down].map(|area| Item::Fill { area, ink }).into();
    for x in [area.left() + radius, area.right() - radius] {
        for y in [area.top() + radius, area.bottom() - radius] {
            items.push(Item::Dot { centre: Point::new(x, y), radius, ink });
        }
    }
    items
}

/// Lines from each tick at an edge of the frame to the one that faces it: where a tag is bent or its wire lies.
fn folds(frame: &Frame) -> Vec<Item> {
    let rules: Vec<(Point, Point)> = frame.items.iter().filter_map(ends_of_rule).collect();
    let (right, bottom) = (frame.size.width, frame.size.height);
    let line = |from, to| Item::Rule { from, to, weight: HAIRLINE, dash: Dash::Dashed(DASH) };
    let mut lines = Vec::new();
    for (near, near_end) in &rules {
        for (far_end, far) in &rules {
            let is_down = near.y == Length::ZERO && far.y == bottom && near.x == far.x && near_end.x == far_end.x;
            let is_across = near.x == Length::ZERO && far.x == right && near.y == far.y && near_end.y == far_end.y;
            if is_down || is_across {
                lines.push(line(*near_end, *far_end));
            }
        }
    }
    lines
}

fn ends_of_rule(item: &Item) -> Option<(Point, Point)> {
    match item {
        Item::Rule { from, to, .. } => Some((*from, *to)),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tick(from: (f64, f64), to: (f64, f64)) -> Item {
        let point = |(x, y)| Point::new(Length::mm(x), Length::mm(y));
        Item::Rule { from: point(from), to: point(to), weight: HAIRLINE, dash: Dash::Solid }
    }

    #[test]
    fn ticks_that_face_each_other_are_joined() {
        let size = Size::new(Length::mm(40.0), Length::mm(20.0));
        let items = vec![
            tick((15.0, 0.0), (15.0, 1.0)),
            tick((15.0, 19.0), (15.0, 20.0)),
            tick((0.0, 8.0), (1.0, 8.0)),
            tick((39.0, 8.0), (40.0, 8.0)),
            tick((5.0, 5.0), (9.0, 5.0)),
        ];
        let joined: Vec<_> = folds(&Frame { size, items }).iter().filter_map(ends_of_rule).collect();
        let point = |x, y| Point::new(Length::mm(x), Length::mm(y));
        assert_eq!(joined, [(point(15.0, 1.0), point(15.0, 19.0)), (point(1.0, 8.0), point(39.0, 8.0))]);
    }

    #[test]
    fn the_page_is_the_piece_and_its_ground() {
        let millimetre = Length::mm(1.0);
        for (name, piece) in
            [("a4-24-64x34", (63.5, 33.9)), ("a4-8-99x68-split4", (99.1, 16.925)), ("roll-62x29", (62.0, 29.0))]
        {
            let stock = Stock::builtin(name).expect("builtin");
            let frame = Frame { size: stock.label(0).expect("a label"), items: Vec::new() };
            let page = alone(&stock, 0, frame.clone(), "7KF4 A").expect("it fits");
            assert_eq!(page.size, Size::new(Length::mm(piece.0 + 4.0), Length::mm(piece.1 + 4.0)), "{name}");
            assert_eq!(page.placed[1].area(), Rect { origin: Point::new(GROUND, GROUND), size: frame.size });
            let wider = Frame { size: Size::new(frame.size.width + millimetre, frame.size.height), ..frame };
            assert_eq!(alone(&stock, 0, wider, "7KF4 A"), None);
        }
    }
}
