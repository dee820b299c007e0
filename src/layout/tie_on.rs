//! Tie-ons: a plate with one hole or two, tied to a wire, a branch or a connector.
//!
//! The plate holds the whole tag on one face. No diameter is needed.

use super::fit::{Fitted, Fitting, Refusal};
use super::flat::{self, Flat, LABEL_EDGE};
use super::frame::{Frame, Item};
use super::panel::Room;
use super::search::largest_flat_module;
use crate::base::{Length, Rect, Size, TagKind, Turn};

/// White at the plate's edges.
const EDGE: Length = LABEL_EDGE;
/// White round a hole: punching by hand is a little off (common practice).
const CLEARANCE: Length = Length::nm(1_000_000);
const HAIRLINE: Length = Length::nm(100_000);

/// The holes of a plate, in the middle of its short sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Holes {
    /// Diameter.
    pub diameter: Length,
    /// From the short side to the middle of the hole.
    pub inset: Length,
    /// How many.
    pub count: HoleCount,
}

/// How many holes a plate has.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum HoleCount {
    /// One, at the left of the words.
    One,
    /// One at each end.
    Two,
}

/// Whether the plates come with their holes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Punching {
    /// The stock is punched.
    Done,
    /// The user punches: a circle shows where.
    ToDo,
}

/// Stock for tie-ons.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct TieOnStock {
    /// The plate as it lies on the sheet.
    pub plate: Size,
    /// Its holes.
    pub holes: Holes,
    /// Whether they are there.
    pub punching: Punching,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// A plate in numbers. Its longer side lies level: where the stock has it upright, the frame is turned when it is placed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Geometry {
    /// Extent of the plate.
    pub size: Size,
    /// The holes, each by the square round it: the left one, and the right one where there are two.
    pub holes: [Option<Rect>; 2],
    /// What may be printed on.
    pub panel: Rect,
}

impl Geometry {
    /// A plate of this stock.
    pub fn new(stock: &TieOnStock) -> Self {
        let Size { width, height } = stock.plate;
        let size = if height > width { stock.plate.exchanged() } else { stock.plate };
        let Holes { diameter, inset, count } = stock.holes;
        let top = (size.height - diameter).half();
        let left = Rect::new(inset - diameter.half(), top, diameter, diameter);
        let right = Rect::new(size.width - inset - diameter.half(), top, diameter, diameter);
        let right = (count == HoleCount::Two).then_some(right);
        let start = left.right() + CLEARANCE;
        let end = right.map_or(size.width - EDGE, |hole| hole.left() - CLEARANCE);
        let extent = |length: Length| length.max(Length::ZERO);
        let panel = Rect::new(start, EDGE, extent(end - start), extent(size.height - EDGE * 2));
        Self { size, holes: [Some(left), right], panel }
    }

    fn room(&self) -> Room {
        // Cut lines and circles are print too: a quiet zone ends before their stroke begins.
        Room { size: self.panel.size, border: EDGE.min(CLEARANCE) - HAIRLINE }
    }
}

/// Whether a label surely fits a plate, which is quicker known than how.
pub fn surely_fits(fitting: &Fitting<'_>, stock: &TieOnStock) -> bool {
    flat::holds(fitting, Geometry::new(stock).room(), stock.dpi)
}

/// Fits a label to a plate.
///
/// # Errors
/// [`Refusal`] says by how much it fails and what would do.
pub fn fit(fitting: &Fitting<'_>, stock: &TieOnStock) -> Result<Fitted, Refusal> {
    let geometry = Geometry::new(stock);
    let (faces, facts) = flat::fill(
        fitting,
        Flat {
            kind: TagKind::TieOn,
            room: geometry.room(),
            dpi: stock.dpi,
            sharings: &flat::ONE_FACE,
            most_dots: &|_| Some(largest_flat_module(stock.dpi)),
            no_symbol: None,
        },
    )?;
    let mut items = Vec::new();
    if stock.punching == Punching::ToDo {
        // The stroke lies inside the hole.
        let stroke = |hole: Rect| hole.inset(HAIRLINE.half());
        let circle = |area: Rect| Item::Outline { area, weight: HAIRLINE, radius: area.size.width.half() };
        items.extend(geometry.holes.into_iter().flatten().map(stroke).map(circle));
    }
    let [face, _] = faces;
    items.extend(face.iter().map(|item| item.placed(Turn::Upright, geometry.panel.size, geometry.panel.origin)));
    Ok(Fitted { frame: Frame { size: geometry.size, items }, facts })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::layout::samples::{self, Bench, LINK, label};

    fn stock(width: f64, height: f64, count: HoleCount) -> TieOnStock {
        let holes = Holes { diameter: Length::mm(5.0), inset: Length::mm(6.0), count };
        let plate = Size::new(Length::mm(width), Length::mm(height));
        TieOnStock { plate, holes, punching: Punching::ToDo, dpi: 300 }
    }

    #[test]
    fn the_hole_is_kept_clear_and_drawn_where_it_is_to_be_punched() {
        let bench = Bench::new();
        let label = label("rail pressure signal", Some(LINK));
        let fitted = |stock| fit(&bench.flat(&label), &stock).unwrap();
        let circles = |fitted: &Fitted| {
            let items = fitted.frame.items.iter();
            items.filter(|item| matches!(item, Item::Outline { radius, .. } if *radius == Length::mm(2.45))).count()
        };
        let one = stock(60.0, 30.0, HoleCount::One);
        let geometry = Geometry::new(&one);
        // 6 + 2.5 + 1 at the hole, 1.5 at the other edges.
        assert_eq!(geometry.panel, Rect::new(Length::mm(9.5), EDGE, Length::mm(49.0), Length::mm(27.0)));
        assert_eq!(circles(&fitted(one)), 1);
        assert_eq!(circles(&fitted(TieOnStock { punching: Punching::Done, ..one })), 0);
        let two = stock(60.0, 30.0, HoleCount::Two);
        assert_eq!(Geometry::new(&two).panel.right(), Length::mm(50.5));
        assert_eq!(circles(&fitted(two)), 2);
        // An upright plate is turned: its hole comes to lie at its head.
        let upright = stock(30.0, 60.0, HoleCount::One);
        assert_eq!(Geometry::new(&upright), geometry);
        assert_eq!(fitted(upright).frame, fitted(one).frame);
    }

    #[test]
    fn a_plate_too_small_is_refused_with_what_would_do() {
        let bench = Bench::new();
        let label = label("rail pressure signal", Some(LINK));
        let refused = |stock| fit(&bench.flat(&label), &stock).unwrap_err().to_string();
        assert_eq!(
            refused(stock(20.0, 9.0, HoleCount::One)),
            "code and marks do not fit in 9.0 mm x 6.0 mm at 1.8 mm letter height; a plate 5 mm longer and higher would do"
        );
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn a_fitted_plate_holds_together(
            width in 15.0..110.0_f64,
            height in 8.0..110.0_f64,
            hole in 1.0..8.0_f64,
            beyond in 0.0..6.0_f64,
            has_two: bool,
            words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
            has_symbol: bool,
            dpi in prop::sample::select(vec![203_u16, 300, 600]),
        ) {
            prop_assume!(hole < width.min(height) && hole + beyond < width.max(height) / 2.0);
            let count = if has_two { HoleCount::Two } else { HoleCount::One };
            let holes = Holes { diameter: Length::mm(hole), inset: Length::mm(hole / 2.0 + beyond), count };
            let stock = TieOnStock { dpi, holes, ..stock(width, height, count) };
            let label = label(&words, has_symbol.then_some(LINK));
            let bench = Bench::new();
            let fitted = fit(&bench.flat(&label), &stock);
            prop_assert_eq!(fitted.is_ok(), surely_fits(&bench.flat(&label), &stock));
            let Ok(fitted) = fitted else { return Ok(()) };
            let geometry = Geometry::new(&stock);
            let keeps_clear = |area: &Rect| {
                let mut holes = geometry.holes.iter().flatten();
                !holes.any(|hole| hole.inset(-CLEARANCE + Length::nm(1)).overlaps(area))
            };
            samples::holds_together(&fitted, &bench, dpi, |area| {
                // A quiet zone is white, and so are the edge and the clearance that it may reach into.
                let whole = Rect { origin: geometry.panel.origin, size: geometry.panel.size }.inset(-CLEARANCE);
                whole.holds(area)
            });
            for item in &fitted.frame.items {
                if let Item::Text(text) = item {
                    prop_assert!(keeps_clear(&text.bounds) && geometry.panel.holds(&text.bounds), "{text:?}");
                }
                if let Item::Symbol(symbol) = item {
                    prop_assert!(keeps_clear(&symbol.area) && geometry.panel.holds(&symbol.area));
                }
            }
        }

        #[test]
        fn a_larger_plate_never_says_less(
            width in 36.0..80.0_f64, height in 12.0..36.0_f64, wider in 0.0..20.0_f64, higher in 0.0..20.0_f64,
        ) {
            let bench = Bench::new();
            let label = label("rail pressure sensor signal to control unit", Some(LINK));
            let fit = |width: f64, height| fit(&bench.flat(&label), &stock(width, height, HoleCount::One)).ok();
            prop_assume!(height + higher < width);
            if let Some(small) = fit(width, height) {
                let large = fit(width + wider, height + higher).expect("a larger plate fits too");
                prop_assert!(large.facts.dropped.len() <= small.facts.dropped.len());
                prop_assert!(large.facts.symbol.is_some() >= small.facts.symbol.is_some());
            }
        }
    }
}
