//! What stands round a wire, on sleeves and strips: one line of words, and a symbol where the surface turns away from the camera
//! so little that it can be read.

use super::along::{AlongBlock, AlongWords, Caps};
use super::fit::{Facts, Fitting, Refusal, SymbolFacts};
use super::frame::SymbolItem;
use super::keep::Kept;
use super::symbol::{
    Symbol, SymbolKind, dots, largest_readable_module_dots, smallest_module_dots, smallest_round_diameter,
};
use crate::base::{Length, Point, Rect, Size, TagKind, Turn};
use crate::labels::{Label, Wording};

/// Symbols that may stand round a wire, the one that holds most first.
const KINDS: [SymbolKind; 3] = [SymbolKind::Qr { version: 1 }, SymbolKind::DataMatrixSquare, SymbolKind::DataMatrixLow];

/// The finished tag round which a symbol shall stand.
#[derive(Clone, Copy, Debug)]
pub(super) struct Round {
    /// Sleeve or strip.
    pub(super) kind: TagKind,
    /// Outside diameter over it.
    pub(super) over: Length,
    /// What may be printed on of its circumference, flat.
    pub(super) height: Length,
    /// The factor by which print shrinks round the wire.
    pub(super) shrink: f64,
    /// Resolution of the printer.
    pub(super) dpi: u16,
}

/// The line and the symbol that were taken, with the facts about them.
pub(super) struct RoundLine<'f> {
    pub(super) words: AlongWords<'f>,
    pub(super) caps: Caps,
    pub(super) kept: Kept,
    pub(super) block: AlongBlock,
    pub(super) symbol: Option<RoundSymbol>,
    /// No tube is named yet.
    pub(super) facts: Facts,
}

impl<'f> RoundLine<'f> {
    /// The line that holds beside the smallest symbol that can be read, and the best symbol that costs it no words.
    ///
    /// # Errors
    /// [`Refusal`] when not even code and marks hold.
    pub(super) fn fit(
        fitting: &Fitting<'f>,
        round: Round,
        room_beside: impl Fn(Option<&RoundSymbol>) -> Size,
        remedy: &str,
    ) -> Result<Self, Refusal> {
        let words = AlongWords::of(fitting)?;
        let (symbols, symbol_note) = match symbols(fitting.wording, fitting.label, round) {
            Ok(symbols) => (symbols, None),
            Err(reason) => (Vec::new(), Some(reason)),
        };
        let room = room_beside(symbols.last());
        let (caps, kept) = words.largest(room).ok_or_else(|| {
            let (width, height, least) = (room.width, room.height, fitting.floors.round_least);
            Refusal::CodeDoesNotFit { width, height, least, remedy: remedy.to_owned() }.resting_on(fitting.diameter)
        })?;
        let block = words.measure(kept, caps, room.width);
        let symbol = symbols.into_iter().find(|symbol| block.length() <= room_beside(Some(symbol)).width);
        let said = words.said(kept);
        let facts = Facts {
            kind: round.kind,
            diameter: fitting.diameter,
            code: caps.code,
            lines: (said.len() > fitting.label.bands.len()).then_some(caps.words),
            symbol: symbol.as_ref().map(RoundSymbol::facts),
            symbol_note,
            said,
            dropped: words.dropped(kept),
            undrawable: words.undrawable().to_vec(),
            shortened: words.shortened(kept),
            tube: None,
            instead_of: None,
        };
        Ok(Self { words, caps, kept, block, symbol, facts })
    }
}

/// A symbol of a size, stretched round the wire so that shrinking makes it square.
pub(super) struct RoundSymbol {
    symbol: Symbol,
    module_dots: i64,
    round: Round,
}

/// The symbols that can be read round the tag, the best first: those that hold more, then those of larger modules.
///
/// # Errors
/// Why there is none, in numbers.
fn symbols(wording: &Wording, label: &Label, round: Round) -> Result<Vec<RoundSymbol>, String> {
    let Some(payload) = wording.payload(label) else { return Ok(Vec::new()) };
    let least = smallest_module_dots(round.dpi);
    let encoded = |kind: SymbolKind, text: &str| match kind {
        SymbolKind::Qr { .. } => Symbol::qr(text).filter(|symbol| symbol.kind == kind),
        _ => Symbol::data_matrix(text, kind),
    };
    let mut found = Vec::new();
    for kind in KINDS {
        let Some(most) = largest_readable_module_dots(kind, round.over, round.dpi) else { continue };
        let Some(symbol) = encoded(kind, payload).or_else(|| encoded(kind, label.name.least())) else { continue };
        let sized = (least..=most).rev().map(|module_dots| RoundSymbol { symbol: symbol.clone(), module_dots, round });
        found.extend(sized.filter(|symbol| symbol.size().height + symbol.kept_clear() * 2 <= round.height));
    }
    if found.is_empty() { Err(reason(round)) } else { Ok(found) }
}

/// Why no symbol at all is read round a finished tag of this outside diameter; `None` where the least one is.
pub(super) fn too_thin(over: Length, dpi: u16) -> Option<String> {
    let kind = SymbolKind::DataMatrixLow;
    let needed = smallest_round_diameter(kind, dots(smallest_module_dots(dpi), dpi));
    let is_too_thin = largest_readable_module_dots(kind, over, dpi).is_none();
    is_too_thin.then(|| format!("no symbol: {over:.1} over the tag, and {kind} is read round {needed:.1} or more"))
}

/// Why nothing can be read: the wire is too thin, or its tag too narrow.
fn reason(round: Round) -> String {
    if let Some(reason) = too_thin(round.over, round.dpi) {
        return reason;
    }
    let (kind, module) = (SymbolKind::DataMatrixLow, dots(smallest_module_dots(round.dpi), round.dpi));
    let rows = kind.rows() + 2 * kind.quiet_modules();
    format!("no symbol: {:.1} across, and {kind} needs {:.1}", round.height, (module * rows).scaled(1.0 / round.shrink))
}

impl RoundSymbol {
    /// Dots of a module round the wire: stretched to the whole dots that come nearest.
    fn stretched_dots(&self) -> i64 {
        (self.module_dots as f64 / self.round.shrink).round() as i64
    }

    /// Extent of its modules as printed.
    pub(super) fn size(&self) -> Size {
        let modules = &self.symbol.modules;
        let width = dots(self.module_dots * i64::from(modules.columns), self.round.dpi);
        Size::new(width, dots(self.stretched_dots() * i64::from(modules.rows), self.round.dpi))
    }

    fn quiet(&self) -> Length {
        dots(self.module_dots * self.symbol.kind.quiet_modules(), self.round.dpi)
    }

    /// What is kept clear on every side: a dot more than the quiet zone, into which print beside it would bleed.
    pub(super) fn kept_clear(&self) -> Length {
        self.quiet() + dots(1, self.round.dpi)
    }

    /// What it is.
    fn facts(&self) -> SymbolFacts {
        SymbolFacts { kind: self.symbol.kind, module: dots(self.module_dots, self.round.dpi) }
    }

    /// The symbol with its top left module at a place.
    pub(super) fn item(&self, at: Point) -> SymbolItem {
        SymbolItem {
            modules: self.symbol.modules.clone(),
            area: Rect { origin: at, size: self.size() },
            quiet: self.quiet(),
            turn: Turn::Upright,
            payload: self.symbol.payload.clone(),
        }
    }
}
