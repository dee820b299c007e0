//! Sleeves: heat-shrink tube printed flat, threaded on the free end and shrunk.

use super::along::AlongWords;
use super::fit::{Facts, Fitted, Floors, Refusal, SymbolFacts};
use super::frame::{Frame, Item, Stretch, SymbolItem};
use super::symbol::{Symbol, SymbolKind, dots, is_readable_round, smallest_module_dots};
use super::text::Fonts;
use super::tube::{self, TubeSize};
use super::wire::Diameter;
use crate::base::{Length, Point, Rect, Size, TagKind, Turn};
use crate::labels::{Field, Label};

/// White at both ends of a sleeve.
const MARGIN: Length = Length::nm(2_000_000);
/// Tube shrinks a little in its length too: sleeves are cut 5 % over (common practice).
const OVER_LENGTH: f64 = 1.05;
/// Sleeves are cut to whole half millimetres.
const CUT_STEP: Length = Length::nm(500_000);
/// White between two repeats round the wire, in capitals' heights.
const REPEAT_GAP: f64 = 0.5;

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
/// from the last until the sleeve is no longer than wanted, the line repeated round the wire where there is room.
///
/// # Errors
/// [`Refusal`] says why there can be no sleeve and what would do.
pub fn fit(
    fonts: &Fonts,
    floors: &Floors,
    label: &Label,
    known: Diameter,
    stock: &SleeveStock,
) -> Result<FittedSleeve, Refusal> {
    let words = AlongWords::of(fonts, label)?;
    let diameter = known.for_threading()?;
    let chosen = tube::choose(&stock.tubes, diameter)
        .ok_or_else(|| Refusal::NoTube { diameter, remedy: tube::wanted_for(diameter) }.resting_on(known))?;
    let tube_index = stock.tubes.iter().position(|tube| tube == chosen).expect("the tube was chosen from these");
    let shrink = chosen.shrink_on(diameter);
    let height = chosen.print_height();

    let symbol = label.payload.as_ref().and_then(|_| round_symbol(label, chosen, diameter, stock.dpi));
    let symbol_room = symbol.as_ref().map_or(Length::ZERO, |symbol| symbol.width + symbol.quiet);
    let room = stock.longest.scaled(1.0 / OVER_LENGTH) - MARGIN * 2 - symbol_room;

    let (caps, kept) = words.largest(fonts, floors, Size::new(room, height.scaled(shrink))).ok_or_else(|| {
        Refusal::CodeDoesNotFit {
            width: room,
            height: height.scaled(shrink),
            least: floors.round_least,
            remedy: "use a strip under clear tube or a flag".to_owned(),
        }
        .resting_on(known)
    })?;
    let stretch = Stretch { along: 1.0, across: 1.0 / shrink };
    let measured = words.measure(fonts, kept, caps);
    let row = (measured.rise + measured.fall).scaled(stretch.across);
    let pitch = row + caps.code.scaled(REPEAT_GAP * stretch.across);
    let repeats = 1 + ((height - row).as_nm() / pitch.as_nm()).max(0);

    let length = up_to_step((measured.length + symbol_room + MARGIN * 2).scaled(OVER_LENGTH));
    let left = (length - measured.length - symbol_room).half();
    let first_top = (height - row - pitch * (repeats - 1)).half();
    let mut items = Vec::new();
    if let Some(symbol) = &symbol {
        items.push(symbol.item(Point::new(left, (height - symbol.height).half())));
    }
    for repeat in 0..repeats {
        let baseline = first_top + pitch * repeat + measured.rise.scaled(stretch.across);
        items.extend(words.draw(fonts, kept, caps, Point::new(left + symbol_room, baseline), stretch));
    }

    let facts = Facts {
        kind: TagKind::Sleeve,
        diameter: known,
        code: caps.code,
        lines: (kept.lines > 0).then_some(caps.words),
        symbol: symbol.as_ref().map(|symbol| symbol.facts),
        symbol_note: (label.payload.is_some() && symbol.is_none()).then(|| {
            format!("no symbol: {:.1} over the sleeve is too thin to read one round it", chosen.outside_on(diameter))
        }),
        dropped: words.dropped(kept),
        undrawable: words.undrawable().to_vec(),
        shortened: if kept.function > 0 { vec![Field::Function] } else { Vec::new() },
        needs: Some(format!("{} tube, {length}", chosen.name)),
    };
    Ok(FittedSleeve {
        tag: Fitted { frame: Frame { size: Size::new(length, height), items }, facts },
        tube: tube_index,
    })
}

fn up_to_step(length: Length) -> Length {
    let down = length.floor_to(CUT_STEP);
    if down == length { length } else { down + CUT_STEP }
}

/// A symbol for a sleeve, stretched round the wire so that shrinking makes it square.
struct RoundSymbol {
    symbol: Symbol,
    width: Length,
    height: Length,
    quiet: Length,
    facts: SymbolFacts,
}

/// The code alone in the largest symbol that can be read round the finished sleeve; `None` where none can.
fn round_symbol(label: &Label, tube: &TubeSize, diameter: Length, dpi: u16) -> Option<RoundSymbol> {
    let shrink = tube.shrink_on(diameter);
    let count = smallest_module_dots(dpi);
    let module = dots(count, dpi);
    let kinds = [SymbolKind::DataMatrixSquare, SymbolKind::DataMatrixLow];
    kinds.into_iter().find_map(|kind| {
        if !is_readable_round(kind, module, tube.outside_on(diameter)) {
            return None;
        }
        let symbol = Symbol::data_matrix(label.name.code.as_str(), kind)?;
        // Round the wire a module is stretched to the whole dots that come nearest.
        let stretched = (count as f64 / shrink).round() as i64;
        let width = dots(count * i64::from(symbol.modules.columns), dpi);
        let height = dots(stretched * i64::from(symbol.modules.rows), dpi);
        let quiet = dots(count * kind.quiet_modules(), dpi);
        (height + quiet * 2 <= tube.print_height()).then_some(RoundSymbol {
            symbol,
            width,
            height,
            quiet,
            facts: SymbolFacts { kind, module },
        })
    })
}

impl RoundSymbol {
    fn item(&self, at: Point) -> Item {
        Item::Symbol(SymbolItem {
            modules: self.symbol.modules.clone(),
            area: Rect::new(at.x, at.y, self.width, self.height),
            quiet: self.quiet,
            turn: Turn::Upright,
            payload: self.symbol.payload.clone(),
        })
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::base::{EndLetter, Place, Purpose, TagCode};
    use crate::labels::label::Line;
    use crate::labels::{Band, TagName};
    use crate::layout::tube::TubeFit;

    fn label(function: &str, is_live: bool, letters: u16) -> Label {
        let lines = [
            Line::shortened_by_words(Field::Function, function),
            Line::whole(Field::Here, ["J1 / 14".to_owned()]),
            Line::whole(Field::There, ["X3 / 2".to_owned()]),
            Line::whole(Field::Conductor, ["BN/WH", "0.75 mm²"].map(str::to_owned)),
        ];
        Label {
            name: TagName {
                code: TagCode::from_typed("7KF4").unwrap(),
                letters: (0..letters).map(EndLetter::nth).collect(),
            },
            purpose: Purpose::Final,
            place: Place::from_typed("J1/14").unwrap(),
            payload: Some("HTTP://MARSHHEN.LOCAL:7117/7KF4/A".to_owned()),
            lines: lines.into_iter().flatten().collect(),
            colour: None,
            bands: is_live.then(|| (Band::Live, "LIVE WITH BATTERY ON".to_owned())).into_iter().collect(),
            wires: Vec::new(),
        }
    }

    fn on(diameter: f64) -> Diameter {
        Diameter::Measured(Length::mm(diameter))
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
        let label = label("rail pressure signal", false, 1);
        let refusal = fit(&Fonts::new(), &Floors::default(), &label, Diameter::assumed(), &stock(300)).unwrap_err();
        assert_eq!(refusal, Refusal::DiameterUnknown);
    }

    #[test]
    fn a_wire_too_thick_for_all_tubes_is_told_which_would_do() {
        let label = label("feed", false, 1);
        let refusal = fit(&Fonts::new(), &Floors::default(), &label, on(30.0), &stock(300)).unwrap_err();
        assert!(matches!(refusal, Refusal::NoTube { .. }) && refusal.to_string().contains("37.5 mm"), "{refusal}");
    }

    /// At 300 dots an inch 8x18 can be read from 5.7 mm over the sleeve, 14x14 from 9.1 mm.
    #[test]
    fn thin_wires_carry_words_alone() {
        let symbol = |diameter| {
            let label = label("rail pressure signal", false, 1);
            let fitted = fit(&Fonts::new(), &Floors::default(), &label, on(diameter), &stock(300)).unwrap();
            (fitted.tag.facts.symbol.map(|symbol| symbol.kind), fitted.tag.facts.symbol_note)
        };
        assert!(matches!(symbol(2.4), (None, Some(note)) if note.contains("too thin")));
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
            let (fonts, floors) = (Fonts::new(), Floors::default());
            let stock = SleeveStock { longest: Length::mm(longest), ..stock(dpi) };
            let label = label(&words, is_live, letters);
            let Ok(FittedSleeve { tag, tube }) = fit(&fonts, &floors, &label, on(diameter), &stock) else {
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
    }
}
