//! Sleeves: heat-shrink tube printed flat, threaded on the free end and shrunk.

use super::fit::{Facts, Fitted, Fitting, Refusal, TubeNeed, TubeUse};
use super::frame::{Frame, Item, Stretch};
use super::round::{Round, RoundLine, RoundSymbol};
use super::tube::{self, TubeSize};
use crate::base::{Length, Point, Size, TagKind};

/// White at both ends of a sleeve.
const MARGIN: Length = Length::nm(2_000_000);
/// Tube shrinks a little in its length too: sleeves are cut 5 % over (common practice).
const OVER_LENGTH: f64 = 1.05;
/// Sleeves are cut to whole half millimetres.
const CUT_STEP: Length = Length::nm(500_000);
/// White between two repeats round the wire, in capitals' heights; more where each has several rows.
const REPEAT_GAP: f64 = 0.5;
const REPEAT_GAP_OF_ROWS: f64 = 1.0;

/// Tubes and printer for sleeves.
#[derive(Clone, Debug)]
pub struct SleeveStock {
    /// The tubes at hand.
    pub tubes: Vec<TubeSize>,
    /// Longest sleeve, before words are given up.
    pub longest: Length,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// A sleeve and the tube it is printed on.
#[derive(Clone, Debug, PartialEq)]
pub struct FittedSleeve {
    /// The tag. Its frame is as high as the print area of the flat tube and as long as the sleeve is cut.
    pub tag: Fitted,
    /// The tube, by its place in [`SleeveStock::tubes`].
    pub tube: usize,
}

/// Fits a label to a sleeve: the tube that fits best, letters as high as wanted after shrinking or smaller, words given up
/// from the last until the sleeve is no longer than wanted, in one row or in several round a thick wire, repeated where there is
/// room. The symbol is the best that can be read round the wire, as large as costs no words.
///
/// # Errors
/// [`Refusal`] says why there can be no sleeve and what would do.
pub fn fit(fitting: &Fitting<'_>, stock: &SleeveStock) -> Result<FittedSleeve, Refusal> {
    let label = fitting.label;
    let diameter = fitting.diameter.for_threading()?;
    let slides_over = label.slides_over();
    let chosen = tube::choose(&stock.tubes, diameter, slides_over).ok_or_else(|| {
        let remedy = tube::wanted_for(diameter, slides_over);
        Refusal::NoTube { diameter, remedy }.resting_on(fitting.diameter)
    })?;
    let tube_index = stock.tubes.iter().position(|tube| tube == chosen).expect("the tube was chosen from these");
    let shrink = chosen.shrink_on(diameter);
    let height = chosen.print_height();
    let whole_room = stock.longest.scaled(1.0 / OVER_LENGTH) - MARGIN * 2;

    let over = chosen.outside_on(diameter);
    let round = Round { kind: TagKind::Sleeve, over, height, shrink, dpi: stock.dpi };
    let room_beside = |symbol: Option<&RoundSymbol>| Size::new(whole_room - width_of(symbol), height.scaled(shrink));
    let RoundLine { words, caps, kept, block, symbol, facts } =
        RoundLine::fit(fitting, round, room_beside, "use a strip under clear tube or a flag")?;
    let symbol = symbol.as_ref();
    let symbol_room = width_of(symbol);
    let stretch = Stretch { along: 1.0, across: 1.0 / shrink };
    let row = block.height().scaled(stretch.across);
    let gap = if block.rows() > 1 { REPEAT_GAP_OF_ROWS } else { REPEAT_GAP };
    let pitch = row + caps.code.scaled(gap * stretch.across);
    let repeats = 1 + ((height - row).as_nm() / pitch.as_nm()).max(0);

    let length = up_to_step((block.length() + symbol_room + MARGIN * 2).scaled(OVER_LENGTH));
    let left = (length - block.length() - symbol_room).half();
    let first_top = (height - row - pitch * (repeats - 1)).half();
    let mut items = Vec::new();
    if let Some(symbol) = symbol {
        let at = Point::new(left + before(symbol), (height - symbol.size().height).half());
        items.push(Item::Symbol(symbol.item(at)));
    }
    for repeat in 0..repeats {
        let at = Point::new(left + symbol_room, first_top + pitch * repeat);
        items.extend(words.draw(&block, kept, caps, at, stretch));
    }

    let tube = Some(TubeNeed { size: chosen.name.clone(), length, tube: TubeUse::Printed });
    let facts = Facts { tube, ..facts };
    Ok(FittedSleeve {
        tag: Fitted { frame: Frame { size: Size::new(length, height), items }, facts },
        tube: tube_index,
    })
}

/// What a symbol takes of the length: its modules, the white before the words, and what it needs beyond the sleeve's margin.
fn width_of(symbol: Option<&RoundSymbol>) -> Length {
    symbol.map_or(Length::ZERO, |symbol| before(symbol) + symbol.size().width + symbol.kept_clear())
}

fn before(symbol: &RoundSymbol) -> Length {
    (symbol.kept_clear() - MARGIN).max(Length::ZERO)
}

fn up_to_step(length: Length) -> Length {
    let down = length.floor_to(CUT_STEP);
    if down == length { length } else { down + CUT_STEP }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::{EndLetter, Rect, TagCode};
    use crate::labels::{Band, Label, TagName};
    use crate::layout::Diameter;
    use crate::layout::samples::{self, Bench, measured};
    use crate::layout::symbol::{SymbolKind, is_readable_round};
    use crate::layout::tube::TubeFit;

    fn label(function: &str, is_live: bool, letters: u16) -> Label {
        let mut label = samples::label(function, Some(samples::LINK));
        label.name = TagName::Ends {
            code: TagCode::from_typed("7KF4").unwrap(),
            letters: (0..letters).map(EndLetter::nth).collect(),
        };
        label.bands = is_live.then(|| (Band::Live, "LIVE WITH BATTERY ON".to_owned())).into_iter().collect();
        label
    }

    /// Tubes 2:1 as supplied and recovered, in inches (`tests/data/heat_shrink.csv`).
    fn tubes() -> Vec<TubeSize> {
        let sizes = [
            (0.063, 0.031, 0.017),
            (0.125, 0.062, 0.020),
            (0.187, 0.093, 0.020),
            (0.250, 0.125, 0.025),
            (0.500, 0.250, 0.025),
            (1.000, 0.500, 0.035),
        ];
        let tube = |(expanded, recovered, wall)| TubeSize {
            name: format!("{expanded} in 2:1"),
            expanded: Length::inch(expanded),
            recovered: Length::inch(recovered),
            recovered_wall: Length::inch(wall),
        };
        sizes.into_iter().map(tube).collect()
    }

    fn stock(dpi: u16) -> SleeveStock {
        SleeveStock { tubes: tubes(), longest: Length::mm(60.0), dpi }
    }

    #[test]
    fn a_wire_of_unknown_diameter_gets_no_sleeve() {
        let (bench, label) = (Bench::new(), label("rail pressure signal", false, 1));
        let fitting = Fitting { diameter: Diameter::assumed(), ..bench.round(&label) };
        let refusal = fit(&fitting, &stock(300)).unwrap_err();
        assert_eq!(refusal, Refusal::DiameterUnknown);
    }

    #[test]
    fn a_wire_too_thick_for_all_tubes_is_told_which_would_do() {
        let (bench, label) = (Bench::new(), label("feed", false, 1));
        let refusal = fit(&Fitting { diameter: measured(30.0), ..bench.round(&label) }, &stock(300)).unwrap_err();
        assert!(matches!(refusal, Refusal::NoTube { .. }) && refusal.to_string().contains("37.5 mm"), "{refusal}");
    }

    /// What is too long for one row stands in several where the wire is thick, in letters of the wanted height.
    #[test]
    fn thick_wires_take_rows() {
        let (bench, label) = (Bench::new(), label("battery main to the starter", true, 1));
        let facts = |diameter| {
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            fit(&fitting, &stock(300)).unwrap().tag.facts
        };
        let (thin, thick) = (facts(2.4), facts(10.0));
        assert!(thin.code < bench.floors.round_wanted && !thin.dropped.is_empty(), "{thin:?}");
        assert_eq!((thick.code, thick.dropped, thick.shortened), (bench.floors.round_wanted, vec![], vec![]));
    }

    /// At 300 dots an inch 8x18 can be read from 5.7 mm over the sleeve, 14x14 from 9.1 mm.
    #[test]
    fn thin_wires_carry_words_alone() {
        let symbol = |diameter| {
            let (bench, label) = (Bench::new(), label("rail pressure signal", false, 1));
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            let fitted = fit(&fitting, &stock(300)).unwrap();
            (fitted.tag.facts.symbol.map(|symbol| symbol.kind), fitted.tag.facts.symbol_note)
        };
        assert!(matches!(symbol(2.4), (None, Some(note)) if note.contains("is read round 5.7 mm or more")));
        assert_eq!(symbol(5.0).0, Some(SymbolKind::DataMatrixLow));
        assert_eq!(symbol(10.0).0, Some(SymbolKind::DataMatrixSquare));
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(300))]

        #[test]
        fn a_fitted_sleeve_holds_together(
            diameter in 0.7..24.0_f64,
            words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
            is_live: bool,
            letters in 1..3_u16,
            longest in 20.0..90.0_f64,
            dpi in prop::sample::select(vec![203_u16, 300, 600]),
        ) {
            let bench = Bench::new();
            let Bench { fonts, floors, .. } = &bench;
            let stock = SleeveStock { longest: Length::mm(longest), ..stock(dpi) };
            let label = label(&words, is_live, letters);
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            let Ok(FittedSleeve { tag, tube }) = fit(&fitting, &stock) else {
                return Err(TestCaseError::reject("no sleeve"));
            };
            let (tube, diameter) = (&stock.tubes[tube], Length::mm(diameter));

            prop_assert!(tube.fit(diameter) != TubeFit::No);
            prop_assert_eq!(tag.frame.size.height, tube.print_height());
            prop_assert!(tag.frame.size.width <= stock.longest + CUT_STEP, "{} long", tag.frame.size.width);
            prop_assert_eq!(tag.frame.size.width.floor_to(CUT_STEP), tag.frame.size.width);

            let frame = Rect { origin: Point::ORIGIN, size: tag.frame.size };
            let (mut texts, mut fills, mut zones) = (Vec::new(), Vec::new(), Vec::new());
            for item in &tag.frame.items {
                match item {
                    Item::Text(text) => {
                        texts.push(text.bounds);
                        let typeface = fonts.typeface(text.face);
                        // Stretched before printing, shrunk after it: what is left is what was asked for.
                        let printed = typeface.units(typeface.cap_height, text.em).scaled(text.stretch.across);
                        let shrunk = printed.scaled(tube.shrink_on(diameter));
                        prop_assert!(shrunk + Length::nm(100) >= floors.round_least, "{shrunk} after shrinking");
                    }
                    Item::Fill { area, .. } => fills.push(*area),
                    Item::Symbol(symbol) => {
                        prop_assert!(frame.holds(&symbol.area));
                        zones.push(symbol.area.inset(-symbol.quiet));
                    }
                    other => prop_assert!(false, "{other:?}"),
                }
            }
            for area in texts.iter().chain(&fills) {
                prop_assert!(frame.holds(area), "{area:?} leaves {frame:?}");
                prop_assert!(!zones.iter().any(|zone| zone.overlaps(area)), "{area:?} in a quiet zone");
            }
            for (index, one) in texts.iter().enumerate() {
                prop_assert!(!texts[index + 1..].iter().any(|other| one.overlaps(other)), "{one:?} is printed on");
                prop_assert!(fills.iter().all(|fill| fill.holds(one) || !fill.overlaps(one)), "{one:?} half on a mark");
            }
            prop_assert_eq!(!fills.is_empty(), is_live, "marks are never given up");

            match tag.facts.symbol {
                Some(symbol) => {
                    prop_assert!(is_readable_round(symbol.kind, symbol.module, tube.outside_on(diameter)));
                    prop_assert_eq!(zones.len(), 1);
                    prop_assert_eq!(tag.facts.symbol_note, None);
                }
                None => prop_assert!(zones.is_empty() && tag.facts.symbol_note.is_some()),
            }
        }

        #[test]
        fn a_longer_sleeve_never_says_less(
            diameter in 0.8..12.0_f64,
            words in "[a-z]{1,12}( [a-z]{1,10}){0,6}",
            longest in 20.0..90.0_f64,
            longer in 0.0..40.0_f64,
        ) {
            let (bench, label) = (Bench::new(), label(&words, false, 1));
            let fitting = Fitting { diameter: measured(diameter), ..bench.round(&label) };
            let fit = |longest| fit(&fitting, &SleeveStock { longest: Length::mm(longest), ..stock(300) });
            if let Ok(short) = fit(longest) {
                let (short, long) = (short.tag.facts, fit(longest + longer).expect("a longer sleeve fits too").tag.facts);
                prop_assert!(long.dropped.len() <= short.dropped.len());
                prop_assert!(long.symbol.is_some() >= short.symbol.is_some());
                if long.dropped == short.dropped {
                    prop_assert!(long.said.concat().len() >= short.said.concat().len());
                }
            }
        }
    }
}
