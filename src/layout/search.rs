//! What flat faces hold: arrangements tried in a stated order, the first that holds taken, and grown where there is room.

use std::cell::OnceCell;
use std::iter;

use super::fit::{Floors, Refusal};
use super::frame::Item;
use super::keep::Kept;
use super::panel::{Arrangement, Room, Wish};
use super::symbol::{Symbol, SymbolKind, dots, smallest_module_dots};
use super::text::Fonts;
use super::words::Words;
use crate::base::{Length, Size};
use crate::labels::Worth;

/// How the words and the symbol share the faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sharing {
    /// Each face holds the whole tag.
    Whole(Arrangement),
    /// Words on the near face, symbol with code on the far one.
    Split,
}

/// Modules grow up to this size where there is room; beyond it a phone gains nothing.
const LARGEST_MODULE: Length = Length::nm(700_000);

/// The symbols to try.
pub(super) struct Symbols<'a> {
    pub(super) asked: Option<Symbol>,
    /// What the lesser ones say: the code alone.
    pub(super) code: &'a str,
    /// The largest module, in dots, that can be read in a symbol of this kind; `None` where none can.
    pub(super) most_dots: &'a dyn Fn(SymbolKind) -> Option<i64>,
    /// The code alone, in ever smaller ones; encoded when the one that was asked for has no room, which is seldom.
    pub(super) lesser: OnceCell<Vec<Symbol>>,
}

impl Symbols<'_> {
    fn each(&self) -> impl Iterator<Item = &Symbol> {
        let lesser = iter::once_with(|| self.lesser.get_or_init(|| lesser_symbols(self.code)));
        self.asked.iter().chain(lesser.flatten()).filter(|symbol| (self.most_dots)(symbol.kind).is_some())
    }
}

fn lesser_symbols(code: &str) -> Vec<Symbol> {
    let square = Symbol::data_matrix(code, SymbolKind::DataMatrixSquare);
    let low = Symbol::data_matrix(code, SymbolKind::DataMatrixLow);
    [Symbol::qr(code), square, low].into_iter().flatten().collect()
}

/// From one line to write on to the next, wanted: as forms have it that are filled in by pen (common practice).
const WRITING_WANTED: Length = Length::nm(5_000_000);
/// The same, at least: small handwriting.
const WRITING_LEAST: Length = Length::nm(4_200_000);

/// Heights to try.
#[derive(Clone, Copy)]
struct Sizes {
    code: Length,
    line: Length,
    /// From one line to write on to the next.
    writing: Length,
}

/// A search over equal faces.
pub(super) struct Search<'a> {
    pub(super) fonts: &'a Fonts,
    pub(super) floors: &'a Floors,
    pub(super) words: &'a Words,
    pub(super) dpi: u16,
    pub(super) room: Room,
    /// How a symbol may share the faces with the words, in the order to be tried.
    pub(super) sharings: &'a [Sharing],
}

/// What the search took.
pub(super) struct Found {
    /// The near face and the far one; they are alike unless they share.
    pub(super) faces: [Vec<Item>; 2],
    pub(super) symbol: Option<Symbol>,
    pub(super) module_dots: Option<i64>,
    pub(super) code: Length,
    pub(super) line: Length,
    pub(super) kept: Kept,
}

impl Search<'_> {
    pub(super) fn first(&self, symbols: Option<&Symbols<'_>>) -> Option<Found> {
        let all = self.words.keeping.tries();
        // Losing a vital line costs more than a lesser symbol does, so lesser symbols are tried before one is given up.
        let vital = self.words.keeping.vital();
        let (with_vital, without): (Vec<Kept>, Vec<Kept>) = all.iter().copied().partition(|kept| kept.lines >= vital);
        for stage in [&with_vital, &without] {
            for symbol in symbols.into_iter().flat_map(Symbols::each) {
                let most = symbols.and_then(|symbols| (symbols.most_dots)(symbol.kind)).unwrap_or_default();
                if let Some(found) = stage.iter().find_map(|&kept| self.try_kept(Some((symbol, most)), kept)) {
                    return Some(found);
                }
            }
        }
        all.into_iter().find_map(|kept| self.try_kept(None, kept))
    }

    fn try_kept(&self, symbol: Option<(&Symbol, i64)>, kept: Kept) -> Option<Found> {
        let sharings = if symbol.is_some() { self.sharings } else { &[Sharing::Whole(Arrangement::Beside)] };
        for sizes in self.sizes(self.words.keeping.least_worth(kept)) {
            for sharing in sharings {
                for &sizes in &sizes {
                    if let Some(found) = self.try_sharing(symbol, kept, *sharing, sizes) {
                        return Some(found);
                    }
                }
            }
        }
        None
    }

    /// Heights of code and lines to begin with: what is wanted, then smaller ones. Extra lines are not worth the
    /// smallest letters.
    fn sizes(&self, last: Option<Worth>) -> [Vec<Sizes>; 2] {
        let between = |wanted: Length, least: Length, share: f64| least + (wanted - least).scaled(share);
        let sizes = |share| Sizes {
            code: between(self.floors.code_wanted, self.floors.code_least, share),
            line: between(self.floors.line_wanted, self.floors.line_least, share),
            writing: between(WRITING_WANTED, WRITING_LEAST, share),
        };
        let smaller: &[f64] = if last == Some(Worth::Extra) { &[0.75, 0.5] } else { &[0.75, 0.5, 0.25, 0.0] };
        [vec![sizes(1.0)], smaller.iter().copied().map(sizes).collect()]
    }

    fn try_sharing(
        &self,
        symbol: Option<(&Symbol, i64)>,
        kept: Kept,
        sharing: Sharing,
        Sizes { code, line, writing }: Sizes,
    ) -> Option<Found> {
        let least_dots = smallest_module_dots(self.dpi);
        let most_dots = symbol.map_or(0, |(_, most)| most);
        let symbol = symbol.map(|(symbol, _)| symbol);
        let none = Kept { lines: 0, words_cut: 0 };
        let wish = |symbol: Option<_>, kept, arrangement| {
            let (symbol, least) = (symbol.map(|symbol| (symbol, least_dots)), self.floors.line_least);
            Wish { symbol, dpi: self.dpi, code, line, least, writing, kept, arrangement }
        };
        match sharing {
            Sharing::Whole(arrangement) => {
                let (wish, items) = self.settle(wish(symbol, kept, arrangement), most_dots)?;
                Some(Found {
                    faces: [items.clone(), items],
                    symbol: symbol.cloned(),
                    module_dots: wish.symbol.map(|(_, count)| count),
                    code: wish.code,
                    line: wish.line,
                    kept,
                })
            }
            Sharing::Split => {
                let (near_wish, near) = self.settle(wish(None, kept, Arrangement::Beside), most_dots)?;
                let (far_wish, far) = [Arrangement::Stacked, Arrangement::Beside]
                    .into_iter()
                    .find_map(|arrangement| self.settle(wish(symbol, none, arrangement), most_dots))?;
                Some(Found {
                    faces: [near, far],
                    symbol: symbol.cloned(),
                    module_dots: far_wish.symbol.map(|(_, count)| count),
                    code: near_wish.code.min(far_wish.code),
                    line: near_wish.line,
                    kept,
                })
            }
        }
    }

    /// Lets a wish that fits grow as far as there is room, and draws it.
    fn settle<'s>(&self, wish: Wish<'s>, most_dots: i64) -> Option<(Wish<'s>, Vec<Item>)> {
        let composed = wish.compose(self.fonts, self.words, &self.room)?;
        let mut taken = (wish.clone(), composed);
        for step in growth(&taken.0, self.words) {
            let mut larger = taken.0.clone();
            if !step.apply(&mut larger, self.dpi, most_dots) {
                continue;
            }
            // Letters do not grow at the price of more rows.
            if let Some(composed) = larger.compose(self.fonts, self.words, &self.room)
                && composed.rows() <= taken.1.rows()
            {
                taken = (larger, composed);
            }
        }
        let items = taken.1.draw(self.fonts, &taken.0, self.words);
        match items {
            Some(items) => Some((taken.0, items)),
            // A whole row came out wider than its words: a little smaller holds.
            None => {
                let mut smaller = taken.0;
                smaller.line = smaller.line.scaled(0.97).max(self.floors.line_least);
                smaller.code = smaller.code.scaled(0.97).max(self.floors.code_least);
                self.drawn(&smaller).map(|items| (smaller, items)).or_else(|| {
                    let items = self.drawn(&wish)?;
                    Some((wish, items))
                })
            }
        }
    }

    fn drawn(&self, wish: &Wish<'_>) -> Option<Vec<Item>> {
        wish.compose(self.fonts, self.words, &self.room)?.draw(self.fonts, wish, self.words)
    }

    /// Whether code and marks alone have room: then [`Search::first`] surely finds something.
    pub(super) fn holds(&self) -> bool {
        let [wanted, smaller] = self.sizes(None);
        let mut sizes = wanted.into_iter().chain(smaller);
        sizes.any(|sizes| self.drawn(&self.code_alone(sizes.code, sizes.line)).is_some())
    }

    /// The code and the marks that are never given up, and nothing else.
    fn code_alone(&self, code: Length, line: Length) -> Wish<'static> {
        Wish {
            symbol: None,
            dpi: self.dpi,
            code,
            line,
            least: self.floors.line_least,
            writing: WRITING_LEAST,
            kept: Kept { lines: 0, words_cut: 0 },
            arrangement: Arrangement::Beside,
        }
    }

    /// Why not even code and marks fit; `what` must be larger, such as `faces`.
    pub(super) fn refusal(&self, what: &str) -> Refusal {
        let least = self.code_alone(self.floors.code_least, self.floors.line_least);
        let holds = |grown: i64| {
            let more = Length::mm(1.0) * grown;
            let size = Size::new(self.room.size.width + more, self.room.size.height + more);
            least.compose(self.fonts, self.words, &Room { size, ..self.room }).is_some()
        };
        let remedy = (1..200).find(|&grown| holds(grown)).map_or_else(
            || "take a larger label".to_owned(),
            |grown| format!("{what} {grown} mm longer and higher would do"),
        );
        Refusal::CodeDoesNotFit {
            width: self.room.size.width,
            height: self.room.size.height,
            least: self.floors.code_least,
            remedy,
        }
    }
}

/// One step of growing.
#[derive(Clone, Copy, Debug)]
enum Grow {
    Code(f64),
    Line(f64),
    Writing(f64),
    Module(f64),
}

impl Grow {
    /// Whether this made the wish larger.
    fn apply(self, wish: &mut Wish<'_>, dpi: u16, most_dots: i64) -> bool {
        match self {
            Self::Code(mm) => grow(&mut wish.code, Length::mm(mm)),
            Self::Line(mm) => grow(&mut wish.line, Length::mm(mm)),
            Self::Writing(mm) => grow(&mut wish.writing, Length::mm(mm)),
            Self::Module(mm) => {
                let Some((_, count)) = &mut wish.symbol else { return false };
                let larger = ((mm * f64::from(dpi) / 25.4).floor() as i64).min(most_dots);
                grow(count, larger)
            }
        }
    }
}

/// The largest module of a flat symbol, in dots: beyond it a phone gains nothing.
pub(super) fn largest_flat_module(dpi: u16) -> i64 {
    let most = (LARGEST_MODULE.as_mm() * f64::from(dpi) / 25.4).floor() as i64;
    if dots(most, dpi) > LARGEST_MODULE { most - 1 } else { most }
}

fn grow<T: PartialOrd>(size: &mut T, to: T) -> bool {
    let is_larger = to > *size;
    if is_larger {
        *size = to;
    }
    is_larger
}

/// Steps of growing, a little of each in turn, so that neither symbol nor words take all the room.
fn growth(wish: &Wish<'_>, words: &Words) -> Vec<Grow> {
    let is_to_write_on = |wanted: bool| words.kept(wish.kept).any(|(words, _)| words.line.is_to_write_on() == wanted);
    let (has_writing, has_words) = (is_to_write_on(true), is_to_write_on(false));
    let mut steps = Vec::new();
    let rounds = [
        (0.34, 2.0, 1.4, 4.6),
        (0.34, 2.2, 1.6, 5.0),
        (0.34, 2.5, 1.8, 5.0),
        (0.40, 3.0, 1.9, 5.5),
        (0.45, 3.4, 2.0, 6.0),
        (0.50, 3.8, 2.1, 6.0),
        (0.56, 4.2, 2.2, 6.5),
        (0.62, 4.6, 2.2, 7.0),
        (0.70, 5.0, 2.2, 8.0),
    ];
    for (module, code, line, writing) in rounds {
        if wish.symbol.is_some() {
            steps.push(Grow::Module(module));
        }
        steps.push(Grow::Code(code));
        // Words before a line to write on would only take room from it.
        steps.extend(has_writing.then_some(Grow::Writing(writing)));
        steps.extend(has_words.then_some(Grow::Line(line)));
    }
    steps
}
