//! Sleeves: heat-shrink tube printed flat, threaded on the free end and shrunk.

use super::along::AlongWords;
use super::fit::{Diameter, Facts, Fitted, Floors, Kind, Refusal, SymbolFacts};
use super::frame::{Frame, Item, Stretch, SymbolItem};
use super::symbol::{Symbol, SymbolKind, dots, is_readable_round, smallest_module_dots};
use super::text::Fonts;
use super::tube::{self, TubeSize};
use crate::base::{Length, Point, Rect, Size, Turn};
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
pub fn fit(fonts: &Fonts, floors: &Floors, label: &Label, stock: &SleeveStock) -> Result<FittedSleeve, Refusal> {
    let words = AlongWords::of(fonts, label)?;
    let diameter = label.diameter.ok_or(Refusal::DiameterUnknown)?;
    let chosen = tube::choose(&stock.tubes, diameter)
        .ok_or_else(|| Refusal::NoTube { diameter, remedy: tube::wanted_for(diameter) })?;
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
        kind: Kind::Sleeve,
        diameter: Diameter::Measured(diameter),
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
