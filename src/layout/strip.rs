//! Strips: paper or film cut from a sheet, laid along the wire under clear heat-shrink tube.

use std::f64::consts::PI;

use super::along::AlongWords;
use super::fit::{Facts, Fitted, Floors, Refusal};
use super::frame::{Frame, Stretch};
use super::text::Fonts;
use super::tube::{self, TubeSize};
use super::wire::Diameter;
use crate::base::{Length, Point, Size, TagKind};
use crate::labels::{Field, Label};

/// White at both ends of a strip.
const MARGIN: Length = Length::nm(1_500_000);
/// White along both sides, so that a cut a little off takes no ink.
const SIDE: Length = Length::nm(250_000);
/// The clear tube reaches this far beyond each end of the strip.
const TUBE_BEYOND: Length = Length::nm(4_000_000);
/// A strip wider than this gains nothing: the line is as high as is wanted.
const WIDEST: Length = Length::nm(6_000_000);
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
}

/// Fits a label to a strip half the wire's circumference wide: a wider one springs open.
///
/// # Errors
/// [`Refusal`] says why there can be no strip and what would do.
pub fn fit(
    fonts: &Fonts,
    floors: &Floors,
    label: &Label,
    known: Diameter,
    stock: &StripStock,
) -> Result<Fitted, Refusal> {
    let words = AlongWords::of(fonts, label)?;
    let diameter = known.for_threading()?;
    let over_strip = diameter + stock.thickness * 2;
    let clear_tube = tube::choose(&stock.clear_tubes, over_strip).ok_or_else(|| {
        let remedy = format!("clear: {}", tube::wanted_for(over_strip));
        Refusal::NoTube { diameter: over_strip, remedy }.resting_on(known)
    })?;
    let widest = diameter.scaled(0.5 * PI).min(WIDEST).floor_to(CUT_STEP);
    let room = Size::new(stock.longest - MARGIN * 2, widest - SIDE * 2);

    let (caps, kept) = words.largest(fonts, floors, room).ok_or_else(|| {
        Refusal::CodeDoesNotFit {
            width: room.width,
            height: room.height,
            least: floors.round_least,
            remedy: "use a flag".to_owned(),
        }
        .resting_on(known)
    })?;
    let measured = words.measure(fonts, kept, caps);
    let needed = measured.rise + measured.fall + SIDE * 2;
    let width = if needed.floor_to(CUT_STEP) == needed { needed } else { needed.floor_to(CUT_STEP) + CUT_STEP };
    let width = width.min(widest);
    let length = measured.length + MARGIN * 2;
    let baseline = (width - measured.rise - measured.fall).half() + measured.rise;
    let items = words.draw(fonts, kept, caps, Point::new(MARGIN, baseline), Stretch::NONE);
    let facts = Facts {
        kind: TagKind::Strip,
        diameter: known,
        code: caps.code,
        lines: (kept.lines > 0).then_some(caps.words),
        symbol: None,
        symbol_note: label.payload.is_some().then(|| format!("no symbol: a strip is {width} wide")),
        dropped: words.dropped(kept),
        undrawable: words.undrawable().to_vec(),
        shortened: if kept.function > 0 { vec![Field::Function] } else { Vec::new() },
        needs: Some(format!("clear {} tube, {:.0}", clear_tube.name, length + TUBE_BEYOND * 2)),
    };
    Ok(Fitted { frame: Frame { size: Size::new(length, width), items }, facts })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::{EndLetter, Place, Purpose, Rect, TagCode};
    use crate::labels::label::Line;
    use crate::labels::{Band, TagName};
    use crate::layout::{Item, wire};

    fn label(function: &str, is_live: bool) -> Label {
        let lines = [
            Line::shortened_by_words(Field::Function, function),
            Line::whole(Field::Here, ["J1 / 14".to_owned()]),
            Line::whole(Field::There, ["X3 / 2".to_owned()]),
            Line::whole(Field::Conductor, ["BN/WH", "0.75 mm²"].map(str::to_owned)),
        ];
        Label {
            name: TagName { code: TagCode::from_typed("7KF4").unwrap(), letters: vec![EndLetter::FIRST] },
            purpose: Purpose::Final,
            place: Place::from_typed("J1/14").unwrap(),
            payload: Some("7KF4 A".to_owned()),
            lines: lines.into_iter().flatten().collect(),
            colour: None,
            bands: is_live.then(|| (Band::Live, "LIVE WITH BATTERY ON".to_owned())).into_iter().collect(),
            wires: Vec::new(),
        }
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
        StripStock { thickness: Length::mm(0.1), clear_tubes, longest: Length::mm(longest) }
    }

    #[test]
    fn what_cannot_be_made_is_told() {
        let (fonts, floors) = (Fonts::new(), Floors::default());
        let fit = |diameter| fit(&fonts, &floors, &label("feed", false), diameter, &stock(80.0));
        assert_eq!(fit(Diameter::assumed()).unwrap_err(), Refusal::DiameterUnknown);
        assert!(matches!(fit(Diameter::Measured(Length::mm(40.0))).unwrap_err(), Refusal::NoTube { .. }));
        let row = &wire::table()[0];
        let refusal = fit(Diameter::Tabled(Length::mm(40.0), row)).unwrap_err().to_string();
        assert!(refusal.contains("40.2 mm") && refusal.contains("table value"), "{refusal}");
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
            let (fonts, floors) = (Fonts::new(), Floors::default());
            let (stock, on) = (stock(longest), Diameter::Measured(Length::mm(diameter)));
            let Ok(strip) = fit(&fonts, &floors, &label(&words, is_live), on, &stock) else {
                return Err(TestCaseError::reject("no strip"));
            };

            // A strip wider than half the circumference springs open.
            prop_assert!(strip.frame.size.height <= Length::mm(diameter).scaled(0.5 * PI));
            prop_assert_eq!(strip.frame.size.height.floor_to(CUT_STEP), strip.frame.size.height, "guillotine lines are shared");
            prop_assert!(strip.frame.size.width <= stock.longest);
            prop_assert!(strip.facts.needs.is_some_and(|needs| needs.contains("clear")));
            prop_assert_eq!(strip.facts.symbol, None);

            let inside = Rect { origin: Point::ORIGIN, size: strip.frame.size };
            let mut texts: Vec<Rect> = Vec::new();
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
                    other => return Err(TestCaseError::fail(format!("{other:?}"))),
                };
                prop_assert!(inside.holds(&area), "{item:?} leaves the strip");
            }
        }
    }
}
