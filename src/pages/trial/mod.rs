//! The trial page of a stock: what a printer does to a page is measured on it, and a wire too.
//!
//! In: a stock, and whether the page measures the printer or checks what was measured. Out: one page of the stock's size. Whatever
//! is measured has a number: 1 and 2 are rulers, 3 and 4 distances of lines from the paper's edges, 5 the combs at its edges.

mod parts;
mod small;
mod whole;

use super::{Cut, Geometry, Heading, Page, Stock};
use crate::base::{Length, Point, Rect, Size};
use crate::layout::text::Fonts;
use crate::layout::{Face, Item};

use parts::{Drawing, Side, Stand, at, mm};

/// Length of a piece of tube that is tried.
const TUBE_LENGTH: Length = Length::nm(150_000_000);
/// Outlines of labels.
const OUTLINE: Length = Length::nm(100_000);
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
            let room = extent - inset * 2 - mm(12.0);
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
    let outlines = outlines(&mut drawing, stock);
    match stock.geometry() {
        Geometry::Tube(_) => small::tube(&mut drawing, size, &gauges, stock.name()),
        _ if size.width >= WHOLE.width && size.height >= WHOLE.height => {
            whole::sheet(&mut drawing, stock, size, &gauges, (trying, outlines), arguments)
        }
        _ => small::label(&mut drawing, size, &gauges, stock.name(), trying),
    }
    let headings = vec![Heading { words: format!("trial page · {}", stock.name()), at: Point::ORIGIN }];
    Page { size, marks: drawing.items, headings, ..Page::default() }
}

/// The outlines of labels on a trial page.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Outlines {
    Drawn,
    None,
}

/// Draws the outlines of labels that come off their sheet along them.
fn outlines(drawing: &mut Drawing<'_>, stock: &Stock) -> Outlines {
    match stock.geometry() {
        Geometry::Sheet(sheet) if sheet.cut() == Cut::Die => {
            let outline = |(area, radius)| Item::Outline { area, weight: OUTLINE, radius };
            drawing.items.extend(sheet.outlines().map(outline));
            Outlines::Drawn
        }
        _ => Outlines::None,
    }
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

/// The area between two corners.
fn between(one: Point, other: Point) -> Rect {
    let (left, top) = (one.x.min(other.x), one.y.min(other.y));
    Rect::new(left, top, (one.x - other.x).abs(), (one.y - other.y).abs())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pages() -> Vec<(Stock, Trying, Page)> {
        let stocks = crate::pages::builtin().iter().filter_map(|(name, _)| Stock::builtin(name));
        let fonts = Fonts::new();
        let both = stocks.flat_map(|stock| [Trying::Printer, Trying::Correction].map(|trying| (stock.clone(), trying)));
        both.map(|(stock, trying)| {
            let page = trial(&stock, trying, &format!(" {}", stock.name()), &fonts);
            (stock, trying, page)
        })
        .collect()
    }

    fn rules(page: &Page) -> Vec<(f64, f64, f64, f64)> {
        let rules = page.marks.iter().filter_map(|mark| match mark {
            Item::Rule { from, to, .. } => Some((from.x.as_mm(), from.y.as_mm(), to.x.as_mm(), to.y.as_mm())),
            _ => None,
        });
        rules.collect()
    }

    #[test]
    fn words_lie_on_the_page_and_not_on_each_other() {
        for (stock, trying, page) in pages() {
            let whole = Rect { origin: Point::ORIGIN, size: page.size };
            let texts: Vec<Rect> = page
                .marks
                .iter()
                .filter_map(|mark| match mark {
                    Item::Text(text) => Some(text.bounds),
                    _ => None,
                })
                .collect();
            for (index, text) in texts.iter().enumerate() {
                assert!(whole.holds(text), "{} {trying:?}: {text:?}", stock.name());
                let crossed = texts[..index].iter().find(|other| other.overlaps(text));
                assert_eq!(crossed, None, "{} {trying:?}: {text:?}", stock.name());
            }
            for (x, y, to_x, to_y) in rules(&page) {
                let (width, height) = (page.size.width.as_mm(), page.size.height.as_mm());
                let is_inside = |x: f64, y: f64| (0.0..=width).contains(&x) && (0.0..=height).contains(&y);
                assert!(is_inside(x, y) && is_inside(to_x, to_y), "{}: {x} {y} {to_x} {to_y}", stock.name());
            }
        }
    }

    /// Rulers and lines are where the measures of the page say.
    #[test]
    fn gauges_are_as_long_as_they_say() {
        for (stock, trying, page) in pages() {
            let (gauges, rules) = (Gauges::of(&stock), rules(&page));
            let name = stock.name();
            let long = |length: Option<Length>, along: fn(&(f64, f64, f64, f64)) -> f64| {
                length.is_none_or(|length| rules.iter().any(|rule| (along(rule) - length.as_mm()).abs() < 1e-6))
            };
            assert!(long(gauges.across, |rule| rule.2 - rule.0) && long(gauges.down, |rule| rule.3 - rule.1), "{name}");
            let near = |value: f64, length: Length| (value - length.as_mm()).abs() < 1e-5;
            assert!(rules.iter().any(|rule| near(rule.0, gauges.left) && near(rule.2, gauges.left)), "{name}");
            assert!(rules.iter().any(|rule| near(rule.1, gauges.top) && near(rule.3, gauges.top)), "{name}");
            let count = gauges.combs.filter(|_| trying == Trying::Printer).unwrap_or_default();
            let (width, height) = (page.size.width.as_mm(), page.size.height.as_mm());
            let upright = rules.iter().filter(|rule| (rule.3 - rule.1 - 2.4).abs() < 1e-6).map(|rule| rule.0);
            let level = rules.iter().filter(|rule| (rule.2 - rule.0 - 2.4).abs() < 1e-6).map(|rule| rule.1);
            let (upright, level): (Vec<f64>, Vec<f64>) = (upright.collect(), level.collect());
            for number in (1..=count).map(f64::from) {
                for (places, extent) in [(&upright, width), (&level, height)] {
                    for wanted in [number, extent - number] {
                        assert!(places.iter().any(|place| near(*place, mm(wanted))), "{name}: {wanted} of {extent}");
                    }
                }
            }
        }
    }

    /// The wedge is as wide as the number below it, and the strip's scale as long as the way round a wire of that number with half
    /// the paper's thickness on either side.
    #[test]
    fn wires_are_measured_as_geometry_has_it() {
        let stock = Stock::builtin("a4-24-64x34").expect("it comes with the program");
        let page = trial(&stock, Trying::Printer, "", &Fonts::new());
        let rules = rules(&page);
        let slanted: Vec<_> = rules.iter().filter(|rule| rule.2 - rule.0 > 100.0 && rule.1 != rule.3).collect();
        let [upper, lower] = slanted[..] else { panic!("{slanted:?}") };
        for diameter in [1.0, 3.5, 12.0] {
            let x = upper.0 + (diameter - 1.0) * 10.0;
            let height = |rule: &(f64, f64, f64, f64)| rule.1 + (x - rule.0) / (rule.2 - rule.0) * (rule.3 - rule.1);
            assert!((height(lower) - height(upper) - diameter).abs() < 1e-3, "{diameter}");
            assert!(rules.iter().any(|rule| (rule.0 - x).abs() < 1e-3 && rule.0 == rule.2 && rule.1 > height(lower)));
        }
        let strips: Vec<Rect> = page
            .marks
            .iter()
            .filter_map(|mark| match mark {
                Item::Outline { area, radius, .. } if *radius == Length::ZERO => Some(*area),
                _ => None,
            })
            .collect();
        let [strip] = strips[..] else { panic!("{strips:?}") };
        for diameter in [2.0, 7.5, 20.0] {
            let round = strip.left().as_mm() + std::f64::consts::PI * (diameter + 0.1);
            let is_tick = |rule: &&(f64, f64, f64, f64)| (rule.0 - round).abs() < 1e-3 && rule.1 == strip.top().as_mm();
            assert_eq!(rules.iter().filter(is_tick).count(), 1, "{diameter}");
        }
    }
}
