//! Wraps: a label wound round the wire, a printed block first, then a clear tail over it.
//!
//! With `d` the wire's diameter and `t` the stock's thickness, one turn of the block is `pi (d + t)` long, and no more of it is
//! printed on. A block that is longer winds under itself; the part next to the tail stays in sight, so that is the part that
//! is used. The tail goes once over the block with 3 mm to hold on: `pi (d + (2 n + 1) t) + 3 mm` with `n` turns of the block
//! beneath, which is `pi (d + 3t) + 3 mm` for the usual one.

use std::f64::consts::PI;

use super::fit::{Fitted, Fitting, Refusal};
use super::flat::{self, Flat, LABEL_EDGE};
use super::frame::{Dash, Frame, Item};
use super::panel::Room;
use super::round;
use super::symbol::largest_readable_module_dots;
use crate::base::{Length, Point, Rect, Size, TagKind, Turn};

/// White at the label's free edges.
const EDGE: Length = LABEL_EDGE;
/// White before the tail: print a little off must not run onto it (common practice).
const BEFORE_TAIL: Length = Length::nm(1_000_000);
/// White where the used part of a longer block begins.
const START: Length = Length::nm(500_000);
/// What the tail has to hold on beyond one turn over the block.
const HOLD: Length = Length::nm(3_000_000);
/// Length of the ticks that mark the used part of the block.
const TICK: Length = Length::nm(900_000);
const HAIRLINE: Length = Length::nm(100_000);
/// Thickest wire that a remedy speaks of.
const THICKEST: Length = Length::nm(40_000_000);
/// Steps in which a remedy speaks of wires.
const STEP: Length = Length::nm(100_000);

/// Label stock for wraps.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WrapStock {
    /// Label as it lies on the sheet: its width along the wire, its height round it.
    pub label: Size,
    /// Length of the printed block round the wire, from the upper edge on; what follows is clear.
    pub print: Length,
    /// Thickness of the label.
    pub thickness: Length,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// A wrap in numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Geometry {
    /// What of the block is printed on: one turn at most, next to the tail.
    pub used: Rect,
    /// Length of the tail.
    pub tail: Length,
    /// The least length of the tail.
    pub least_tail: Length,
    /// Outside diameter of the printed surface on the wire.
    pub over: Length,
}

impl Geometry {
    /// A wrap of this stock on a wire of this diameter. The tail may come out too short: the caller judges.
    pub fn new(stock: &WrapStock, diameter: Length) -> Self {
        let WrapStock { label, print, thickness, .. } = *stock;
        let turn = (diameter + thickness).scaled(PI).max(Length::nm(1));
        let turns = ((print.as_nm() + turn.as_nm() - 1) / turn.as_nm()).max(1);
        let used = print.min(turn);
        Self {
            used: Rect::new(Length::ZERO, print - used, label.width, used),
            tail: label.height - print,
            least_tail: (diameter + thickness * (2 * turns + 1)).scaled(PI) + HOLD,
            over: diameter + thickness * (2 * turns),
        }
    }

    /// What of the block takes words and symbol.
    pub(super) fn panel(&self) -> Rect {
        let top = (self.used.top() + START).max(EDGE);
        let size = |extent: Length| extent.max(Length::ZERO);
        let (width, height) = (self.used.size.width - EDGE * 2, self.used.bottom() - BEFORE_TAIL - top);
        Rect::new(EDGE, top, size(width), size(height))
    }

    /// Fine ticks at both sides where the tail begins, and dashed ones where a longer block begins to be used: the block is
    /// wound up to there first.
    fn ticks(&self) -> Vec<Item> {
        let half = HAIRLINE.half();
        let begins = (self.used.top() > START).then_some((self.used.top() + half, Dash::Dashed(Length::mm(0.3))));
        let tail = (self.used.bottom() - half, Dash::Solid);
        let mut ticks = Vec::new();
        for (y, dash) in begins.into_iter().chain([tail]) {
            for (from, to) in [(Length::ZERO, TICK), (self.used.right() - TICK, self.used.right())] {
                ticks.push(Item::Rule { from: Point::new(from, y), to: Point::new(to, y), weight: HAIRLINE, dash });
            }
        }
        ticks
    }

    fn room(&self) -> Room {
        Room { size: self.panel().size, border: START }
    }
}

/// Whether a label surely fits a wrap, which is quicker known than how.
pub fn surely_fits(fitting: &Fitting<'_>, stock: &WrapStock) -> bool {
    let Ok(diameter) = fitting.diameter.for_threading() else { return false };
    let geometry = Geometry::new(stock, diameter);
    geometry.tail >= geometry.least_tail && flat::holds(fitting, geometry.room(), stock.dpi)
}

/// Fits a label to a wrap: lines run along the wire, and a symbol is no larger than can be read round it.
///
/// # Errors
/// [`Refusal`] says by how much it fails and what would do. The diameter must be known: on a thinner wire the block would wind
/// over its own print.
pub fn fit(fitting: &Fitting<'_>, stock: &WrapStock) -> Result<Fitted, Refusal> {
    let diameter = fitting.diameter.for_threading()?;
    let geometry = Geometry::new(stock, diameter);
    if geometry.tail < geometry.least_tail {
        let needed = stock.print + geometry.least_tail;
        let refusal = Refusal::TailTooShort { diameter, tail: geometry.tail, least: geometry.least_tail, needed };
        return Err(refusal.resting_on(fitting.diameter));
    }
    let (faces, facts) = flat::fill(
        fitting,
        Flat {
            kind: TagKind::Wrap,
            room: geometry.room(),
            dpi: stock.dpi,
            sharings: &flat::ONE_FACE,
            most_dots: &|kind| largest_readable_module_dots(kind, geometry.over, stock.dpi),
            no_symbol: round::too_thin(geometry.over, stock.dpi),
        },
    )
    .map_err(|refusal| thicker(refusal, fitting, stock, &geometry))?;
    let [face, _] = faces;
    let mut items = geometry.ticks();
    let panel = geometry.panel();
    items.extend(face.iter().map(|item| item.placed(Turn::Upright, panel.size, panel.origin)));
    Ok(Fitted { frame: Frame { size: stock.label, items }, facts })
}

/// Where the wire, not the label, leaves too little room, a refusal says from which diameter on there is enough.
fn thicker(refusal: Refusal, fitting: &Fitting<'_>, stock: &WrapStock, geometry: &Geometry) -> Refusal {
    let Refusal::CodeDoesNotFit { width, height, least, remedy } = refusal else { return refusal };
    if geometry.used.size.height >= stock.print {
        return Refusal::CodeDoesNotFit { width, height, least, remedy };
    }
    let from = fitting.diameter.length().floor_to(STEP) + STEP;
    let thicker = (0..).map(|step| from + STEP * step).take_while(|diameter| *diameter < THICKEST);
    let enough = thicker
        .map(|diameter| (diameter, Geometry::new(stock, diameter)))
        .find(|(_, geometry)| geometry.tail >= geometry.least_tail && flat::holds(fitting, geometry.room(), stock.dpi));
    let remedy = match enough {
        Some((diameter, _)) => format!("one turn round a wire of {diameter} or more holds them"),
        None => "no wire that this label goes round holds them".to_owned(),
    };
    Refusal::CodeDoesNotFit { width, height, least, remedy }.resting_on(fitting.diameter)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::layout::samples::{self, Bench, LINK, label, measured};
    use crate::layout::symbol::{SymbolKind, is_readable_round};
    use crate::layout::wire::Diameter;

    fn stock(width: f64, height: f64, print: f64) -> WrapStock {
        let label = Size::new(Length::mm(width), Length::mm(height));
        WrapStock { label, print: Length::mm(print), thickness: Length::mm(0.1), dpi: 300 }
    }

    /// The worked wrap of the design: a wire of 2.4 mm, stock of 0.1 mm. `pi * 2.5 = 7.854`, `pi * 2.7 + 3 = 11.482`.
    #[test]
    fn the_worked_wrap() {
        let on = |print| Geometry::new(&stock(25.0, 40.0, print), Length::mm(2.4));
        let short = on(7.0);
        assert_eq!(
            format!("{:.2} {:.2} {:.1}", short.used.size.height, short.least_tail, short.over),
            "7.00 mm 11.48 mm 2.6 mm"
        );
        // Two turns and a half: the last one before the tail is printed on, and three layers lie under the tail.
        let long = on(19.0);
        assert_eq!(format!("{:.2} {:.2}", long.used.size.height, long.used.top()), "7.85 mm 11.15 mm");
        assert_eq!(format!("{:.2} {:.1}", long.least_tail, long.over), "12.74 mm 3.0 mm");
        assert_eq!(long.used.bottom(), Length::mm(19.0));
        assert_eq!(long.tail, Length::mm(21.0));
    }

    #[test]
    fn a_refusal_says_by_how_much_and_what_would_do() {
        let bench = Bench::new();
        let label = label("rail pressure signal", Some(LINK));
        let refused = |diameter, stock: &WrapStock| {
            let fitting = Fitting { diameter, ..bench.flat(&label) };
            assert!(!surely_fits(&fitting, stock));
            fit(&fitting, stock).unwrap_err().to_string()
        };
        assert_eq!(
            refused(measured(12.0), &stock(25.4, 38.0, 13.0)),
            "round a wire of 12 mm a wrap needs a clear tail of 41.6 mm, and the label has 25.0 mm; a label at least 54.6 mm \
             long would do"
        );
        assert_eq!(
            refused(measured(1.6), &stock(25.4, 38.0, 13.0)),
            "code and marks do not fit in 22.4 mm x 3.8 mm at 1.8 mm letter height; one turn round a wire of 2.5 mm or more \
             holds them"
        );
        assert!(refused(Diameter::assumed(), &stock(25.4, 38.0, 13.0)).starts_with("the wire's diameter is not known"));
        // What is named as enough is enough, and a tenth less is not.
        let on = |millimetres| {
            let fitting = Fitting { diameter: measured(millimetres), ..bench.flat(&label) };
            fit(&fitting, &stock(25.4, 38.0, 13.0)).is_ok()
        };
        assert!(on(2.5) && !on(2.4));
    }

    #[test]
    fn a_wrap_too_thin_for_its_symbol_says_so() {
        let bench = Bench::new();
        let mut label = label("rail pressure signal", Some(LINK));
        label.bands.clear();
        let on = |millimetres, stock: &WrapStock| {
            let fitting = Fitting { diameter: measured(millimetres), ..bench.flat(&label) };
            fit(&fitting, stock).unwrap().facts
        };
        let thin = on(3.0, &stock(38.0, 40.0, 19.0));
        assert_eq!(thin.symbol, None);
        let note = "no symbol: 3.4 mm over the tag, and Data Matrix 8x18 is read round 5.7 mm or more";
        assert_eq!(thin.symbol_note.as_deref(), Some(note));
        let thick = on(9.0, &stock(38.0, 102.0, 32.0));
        assert_eq!(thick.symbol.map(|symbol| symbol.kind), Some(SymbolKind::DataMatrixSquare));
        let note = "Data Matrix 14x14 with the code alone: QR 2-M is not read round so thin a wire";
        assert_eq!(thick.symbol_note.as_deref(), Some(note));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// What is printed stays on the part of the block that is seen, clear of the tail.
        #[test]
        fn a_fitted_wrap_holds_together(
            width in 12.0..60.0_f64,
            print in 4.0..40.0_f64,
            tail in 12.0..90.0_f64,
            diameter in 0.8..24.0_f64,
            words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
            has_symbol: bool,
            is_marked: bool,
            dpi in prop::sample::select(vec![203_u16, 300, 600]),
        ) {
            let stock = WrapStock { dpi, ..stock(width, print + tail, print) };
            let mut label = label(&words, has_symbol.then_some(LINK));
            if !is_marked {
                label.bands.clear();
            }
            let bench = Bench::new();
            let fitting = Fitting { diameter: measured(diameter), ..bench.flat(&label) };
            let fitted = fit(&fitting, &stock);
            prop_assert_eq!(fitted.is_ok(), surely_fits(&fitting, &stock));
            let Ok(fitted) = fitted else { return Ok(()) };
            let geometry = Geometry::new(&stock, Length::mm(diameter));
            let once_round = (Length::mm(diameter) + stock.thickness).scaled(PI);
            prop_assert!(geometry.used.size.height <= once_round && geometry.used.bottom() <= stock.print);
            prop_assert!(geometry.tail >= (Length::mm(diameter) + stock.thickness * 3).scaled(PI) + Length::mm(3.0));
            samples::holds_together(&fitted, &bench, dpi, |area| geometry.used.holds(area));
            for item in &fitted.frame.items {
                if let Item::Rule { from, to, .. } = item {
                    prop_assert!(from.y.max(to.y) <= stock.print, "a tick on the tail");
                }
            }
            if let Some(symbol) = fitted.facts.symbol {
                prop_assert!(is_readable_round(symbol.kind, symbol.module, geometry.over));
            }
        }

        /// On a thicker tag a symbol may be readable that takes the room of a line of least worth.
        #[test]
        fn a_larger_wrap_never_says_less(
            width in 20.0..50.0_f64, print in 7.0..30.0_f64, wider in 0.0..20.0_f64, longer in 0.0..20.0_f64,
            diameter in 2.0..12.0_f64, thicker in 0.0..4.0_f64,
        ) {
            let bench = Bench::new();
            let label = label("rail pressure sensor signal to control unit", Some(LINK));
            let on = |width, print, diameter| {
                let fitting = Fitting { diameter: measured(diameter), ..bench.flat(&label) };
                fit(&fitting, &stock(width, print + 120.0, print)).ok().map(|fitted| fitted.facts)
            };
            if let Some(small) = on(width, print, diameter) {
                let larger = [on(width + wider, print + longer, diameter), on(width, print, diameter + thicker)];
                for large in larger.map(|large| large.expect("a larger wrap fits too")) {
                    let is_alike = large.symbol.map(|symbol| symbol.kind) == small.symbol.map(|symbol| symbol.kind);
                    prop_assert!(!is_alike || large.dropped.len() <= small.dropped.len());
                    prop_assert!(large.symbol.is_some() >= small.symbol.is_some());
                }
            }
        }
    }
}
