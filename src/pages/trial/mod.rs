//! The trial page of a stock: what a printer does to a page is measured on it, and a wire too.
//!
//! In: a stock, and whether the page measures the printer or checks what was measured. Out: one page of the stock's size. Whatever
//! is measured has a number: 1 and 2 are rulers, 3 and 4 distances of lines from the paper's edges, 5 the combs at its edges.

mod parts;
mod small;
mod whole;

use super::{Geometry, Page, Stock};
use crate::base::{Length, Point, Rect, Size};
use crate::layout::Face;
use crate::layout::text::Fonts;

use parts::{Drawing, Side, Stand, at, mm};

/// Length of a piece of tube that is tried.
const TUBE_LENGTH: Length = Length::nm(150_000_000);
/// Least page that takes all parts.
const WHOLE: Size = Size::new(Length::nm(190_000_000), Length::nm(250_000_000));

/// What a trial page is printed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trying {
    /// To measure the printer: it is sent as it stands, without correction.
    Printer,
    /// To check what was measured: it is sent corrected.
    Correction,
}

/// What can be measured on the trial page of a stock: where its lines stand, and how long its rulers are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gauges {
    /// From the left edge of the paper to line 3.
    pub left: Length,
    /// From its upper edge to line 4.
    pub top: Length,
    /// Ruler 1, across, where there is room for one.
    pub across: Option<Length>,
    /// Ruler 2, down.
    pub down: Option<Length>,
    /// How many millimetres from each edge its comb goes; none where there is no comb.
    pub combs: Option<u16>,
}

impl Gauges {
    /// What the trial page of a stock has.
    pub fn of(stock: &Stock) -> Self {
        let size = page_size(stock);
        if matches!(stock.geometry(), Geometry::Tube(_)) {
            let (left, top) = (mm(10.0), size.height.half());
            return Self { left, top, across: Some(mm(100.0)), down: None, combs: None };
        }
        let least = size.width.min(size.height);
        let inset = if least >= mm(60.0) { mm(10.0) } else { mm(5.0) };
        let inset = inset.min(least / 3);
        let ruler = |extent: Length| {
            let room = extent - inset * 2 - mm(8.0);
            [100.0, 50.0].into_iter().map(mm).find(|length| *length <= room)
        };
        let combs = match least {
            _ if least >= mm(100.0) => Some(15),
            _ if least >= mm(60.0) => Some(8),
            _ if least >= mm(24.0) => Some(4),
            _ => None,
        };
        Self { left: inset, top: inset, across: ruler(size.width), down: ruler(size.height), combs }
    }
}

/// Size of the page that is tried: the sheet, the label of a roll, a short piece of tube.
fn page_size(stock: &Stock) -> Size {
    match stock.geometry() {
        Geometry::Sheet(sheet) => sheet.page(),
        Geometry::Roll(roll) => roll.label(),
        Geometry::Tube(tube) => Size::new(TUBE_LENGTH.min(tube.piece()), tube.size().lay_flat()),
        Geometry::Paper(size) => *size,
    }
}

/// The trial page of a stock. `arguments` are what `stock measured` and `stock trial` are told beside the measures.
pub fn trial(stock: &Stock, trying: Trying, arguments: &str, fonts: &Fonts) -> Page {
    let (size, gauges) = (page_size(stock), Gauges::of(stock));
    let mut drawing = Drawing { fonts, items: Vec::new() };
    match stock.geometry() {
        Geometry::Tube(_) => small::tube(&mut drawing, size, &gauges, stock.name()),
        _ if size.width >= WHOLE.width && size.height >= WHOLE.height => {
            whole::sheet(&mut drawing, stock, size, &gauges, trying, arguments)
        }
        _ => small::label(&mut drawing, size, &gauges, stock.name(), trying),
    }
    let heading = Some(format!("trial page · {}", stock.name()));
    Page { size, placed: Vec::new(), marks: drawing.items, heading }
}

/// One side of the frame, but for the stretch where its comb stands.
fn frame_side(drawing: &mut Drawing<'_>, page: Size, side: Side, inset: Length, combed: Option<(Length, Length)>) {
    let end = if side.is_upright() { page.height } else { page.width } - inset;
    let (stop, go_on) = combed.map_or((end, end), |(from, to)| (from - mm(2.0), to + mm(2.0)));
    for (from, to) in [(inset, stop), (go_on, end)] {
        if from < to {
            drawing.rule(side.point(page, inset, from), side.point(page, inset, to));
        }
    }
}

/// A line with a head at its end, from the paper's edge to what is measured.
fn arrow(drawing: &mut Drawing<'_>, from: Point, to: Point) {
    drawing.fine(from, to);
    let (x, y) = ((to.x - from.x).as_nm().signum(), (to.y - from.y).as_nm().signum());
    for across in [-1, 1] {
        let back = at(to.x - mm(1.2) * x + mm(0.5) * (across * y), to.y - mm(1.2) * y + mm(0.5) * (across * x));
        drawing.fine(to, back);
    }
}

/// What a measure is called: its number, large.
fn label(drawing: &mut Drawing<'_>, point: Point, stand: Stand, name: &str) {
    let cap = mm(2.4);
    let width = drawing.width(Face::Code, cap, name);
    let left = if stand == Stand::LeftOf { point.x - width } else { point.x };
    drawing.white(Rect::new(left, point.y - cap, width, cap).inset(mm(-0.6)));
    drawing.words(Face::Code, cap, point, stand, name);
}
