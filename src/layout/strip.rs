//! Strips: paper or film cut from a sheet, laid along the wire under clear heat-shrink tube.

use std::f64::consts::PI;

use super::fit::{Facts, Fitted, Fitting, Refusal, TubeNeed, TubeUse};
use super::frame::{Frame, Item, Stretch};
use super::round::{Round, RoundLine, RoundSymbol};
use super::tube::{self, TubeSize};
use crate::base::{Length, Point, Size, TagKind};

/// White at both ends of a strip.
const MARGIN: Length = Length::nm(1_500_000);
/// White along both sides, so that a cut a little off takes no ink.
const SIDE: Length = Length::nm(250_000);
/// The clear tube reaches this far beyond each end of the strip.
const TUBE_BEYOND: Length = Length::nm(4_000_000);
/// A strip wider than this gains little: two rows of letters as high as is wanted.
const WIDEST: Length = Length::nm(6_000_000);
/// Nor does one with a symbol that is wider than this.
const WIDEST_WITH_SYMBOL: Length = Length::nm(12_000_000);
/// Strips are cut to whole half millimetres, so that many share a guillotine line.
const CUT_STEP: Length = Length::nm(500_000);

/// Paper and clear tubes for strips.
#[derive(Clone, Debug)]
pub struct StripStock {
    /// Thickness of the paper or film.
    pub thickness: Length,
    /// Clear tubes at hand.
    pub clear_tubes: Vec<TubeSize>,
    /// Longest strip, before words are given up.
    pub longest: Length,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// Fits a label to a strip at most half the wire's circumference wide: a wider one springs open.
///
/// # Errors
/// [`Refusal`] says why there can be no strip and what would do.
pub fn fit(fitting: &Fitting<'_>, stock: &StripStock) -> Result<Fitted, Refusal> {
    let label = fitting.label;
    let diameter = fitting.diameter.for_threading()?;
    let over_strip = diameter + stock.thickness * 2;
    let slides_over = label.slides_over();
    let clear_tube = tube::choose(&stock.clear_tubes, over_strip, slides_over).ok_or_else(|| {
        let remedy = format!("clear: {}", tube::wanted_for(over_strip, slides_over));
        Refusal::NoTube { diameter: over_strip, remedy }.resting_on(fitting.diameter)
    })?;
    let half_round = diameter.scaled(0.5 * PI).floor_to(CUT_STEP);
    let widest = half_round.min(WIDEST);

    let height = half_round.min(WIDEST_WITH_SYMBOL) - SIDE * 2;
    let over = clear_tube.outside_on(over_strip);
    let round = Round { kind: TagKind::Strip, over, height, shrink: 1.0, dpi: stock.dpi };
    let whole_room = stock.longest - MARGIN * 2;
    let room_beside = |symbol: Option<&RoundSymbol>| Size::new(whole_room - room_of(symbol), widest - SIDE * 2);
    let RoundLine { words, caps, kept, block, symbol, facts } =
        RoundLine::fit(fitting, round, room_beside, "use a flag")?;
    let symbol = symbol.as_ref();
    let symbol_height = symbol.map_or(Length::ZERO, |symbol| symbol.size().height + symbol.kept_clear() * 2);
    let needed = block.height().max(symbol_height) + SIDE * 2;
    let width = if needed.floor_to(CUT_STEP) == needed { needed } else { needed.floor_to(CUT_STEP) + CUT_STEP };
    let width = width.min(half_round);
    let length = block.length() + room_of(symbol) + MARGIN * 2;
    let mut items = Vec::new();
    if let Some(symbol) = symbol {
        let left = MARGIN + symbol.kept_clear();
        items.push(Item::Symbol(symbol.item(Point::new(left, (width - symbol.size().height).half()))));
    }
    let at = Point::new(MARGIN + room_of(symbol), (width - block.height()).half());
    items.extend(words.draw(&block, kept, caps, at, Stretch::NONE));

    let length_of_tube = length + TUBE_BEYOND * 2;
    let tube = Some(TubeNeed { size: clear_tube.name.clone(), length: length_of_tube, tube: TubeUse::Clear });
    let facts = Facts { tube, ..facts };
    Ok(Fitted { frame: Frame { size: Size::new(length, width), items }, facts })
}

/// What a symbol takes of the length: its modules, and the white on both sides.
fn room_of(symbol: Option<&RoundSymbol>) -> Length {
    symbol.map_or(Length::ZERO, |symbol| symbol.size().width + symbol.kept_clear() * 2)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::Rect;
    use crate::labels::{Band, Label};
    use crate::layout::samples::{self, Bench, measured};
    use crate::layout::{Diameter, wire};

    fn label(function: &str, is_live: bool) -> Label {
        let mut label = samples::label(function, Some("7KF4 A"));
        label.bands = is_live.then(|| (Band::Live, "LIVE WITH BATTERY ON".to_owned())).into_iter().collect();
        label
    }

    /// Clear tubes 2:1, in inches (`tests/data/heat_shrink.csv`).
    fn stock(longest: f64) -> StripStock {
        let tube = |(expanded, recovered)| TubeSize {
            name: format!("{expanded} in 2:1"),
            expanded: Length::inch(expanded),
            recovered: Length::inch(recovered),
            recovered_wall: Length::inch(0.02),
        };
        let sizes = [(0.125, 0.062), (0.187, 0.093), (0.250, 0.125), (0.500, 0.250), (1.0, 0.5)];
        let clear_tubes = sizes.into_iter().map(tube).collect();
        StripStock { thickness: Length::mm(0.1), clear_tubes, longest: Length::mm(longest), dpi: 600 }
    }

    #[test]
    fn what_cannot_be_made_is_told() {
        let bench = Bench::new();
        let label = label("feed", false);
        let fit = |diameter| fit(&Fitting { diameter, ..bench.round(&label) }, &stock(80.0)).unwrap_err();
        assert_eq!(fit(Diameter::assumed()), Refusal::DiameterUnknown);
        assert!(matches!(fit(measured(40.0)), Refusal::NoTube { .. }));
        let told = fit(Diameter::Tabled(Length::mm(40.0), &wire::table()[0])).to_string();
        assert!(told.contains("40.2 mm") && told.contains("40 mm is a table value"), "{told}");
    }

    /// How much a strip says; in more rows there are fewer spaces between words.
    fn letters(facts: &Facts) -> usize {
        facts.said.iter().flat_map(|line| line.chars()).filter(|c| !c.is_whitespace()).count()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn a_fitted_strip_holds_together(
            diameter in 0.7..24.0_f64,
            words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
            is_live: bool,
            longest in 20.0..120.0_f64,
        ) {
            let bench = Bench::new();
            let Bench { fonts, floors, .. } = &bench;
            let stock = stock(longest);
            let label = label(&words, is_live);
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            let Ok(strip) = fit(&fitting, &stock) else {
                return Err(TestCaseError::reject("no strip"));
            };

            // A strip wider than half the circumference springs open.
            prop_assert!(strip.frame.size.height <= Length::mm(diameter).scaled(0.5 * PI));
            prop_assert_eq!(strip.frame.size.height.floor_to(CUT_STEP), strip.frame.size.height, "guillotine lines are shared");
            prop_assert!(strip.frame.size.width <= stock.longest);
            prop_assert!(strip.facts.tube.is_some_and(|tube| tube.to_string().contains("clear")));

            let inside = Rect { origin: Point::ORIGIN, size: strip.frame.size };
            let mut texts: Vec<Rect> = Vec::new();
            let zone = |item: &Item| match item {
                Item::Symbol(symbol) => Some(symbol.area.inset(-symbol.quiet)),
                _ => None,
            };
            let zones: Vec<Rect> = strip.frame.items.iter().filter_map(zone).collect();
            prop_assert_eq!(strip.facts.symbol.is_some(), !zones.is_empty());
            for item in &strip.frame.items {
                let area = match item {
                    Item::Text(text) => {
                        let typeface = fonts.typeface(text.face);
                        let cap = typeface.units(typeface.cap_height, text.em);
                        prop_assert!(cap + Length::nm(100) >= floors.round_least, "{cap} is below the floor");
                        prop_assert!(!texts.iter().any(|other| other.overlaps(&text.bounds)), "{text:?} is printed on");
                        texts.push(text.bounds);
                        text.bounds
                    }
                    Item::Fill { area, .. } => *area,
                    Item::Symbol(symbol) => symbol.area.inset(-symbol.quiet),
                    other => return Err(TestCaseError::fail(format!("{other:?}"))),
                };
                prop_assert!(inside.holds(&area), "{item:?} leaves the strip");
                prop_assert!(zones.iter().all(|zone| *zone == area || !zone.overlaps(&area)), "{item:?} in a quiet zone");
            }
        }

        #[test]
        fn a_longer_strip_never_says_less(
            diameter in 0.8..12.0_f64,
            words in "[a-z]{1,12}( [a-z]{1,10}){0,6}",
            longest in 20.0..90.0_f64,
            longer in 0.0..40.0_f64,
        ) {
            let (bench, label) = (Bench::new(), label(&words, false));
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            let fit = |longest| fit(&fitting, &stock(longest)).map(|strip| strip.facts);
            if let Ok(short) = fit(longest) {
                let long = fit(longest + longer).expect("a longer strip fits too");
                prop_assert!(long.dropped.len() <= short.dropped.len());
                prop_assert!(long.symbol.is_some() >= short.symbol.is_some());
                if long.dropped == short.dropped {
                    prop_assert!(letters(&long) >= letters(&short), "{:?} and {:?}", long.said, short.said);
                }
            }
        }
    }
}
