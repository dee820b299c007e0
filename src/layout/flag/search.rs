//! What the faces of a flag hold: arrangements tried in a stated order, the first that holds taken, and grown where there is
//! room.

use std::cell::OnceCell;
use std::iter;

use crate::base::{Length, Size};
use crate::labels::Field;
use crate::layout::fit::{Floors, Refusal};
use crate::layout::frame::Item;
use crate::layout::panel::{Arrangement, Room, Wish};
use crate::layout::symbol::{Symbol, SymbolKind, dots, smallest_module_dots};
use crate::layout::text::Fonts;
use crate::layout::words::Words;

/// Modules grow up to this size where there is room; beyond it a phone gains nothing.
const LARGEST_MODULE: Length = Length::nm(700_000);

/// What is kept of a label: so many lines, and this wording of the function.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Kept {
    pub(super) lines: usize,
    pub(super) function: usize,
}

/// What stands on the two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sharing {
    /// Each face holds the whole tag.
    Whole(Arrangement),
    /// Words on the near face, symbol with code on the far one.
    Split,
}

/// The symbols to try.
pub(super) struct Symbols<'a> {
    pub(super) asked: Option<Symbol>,
    pub(super) code: &'a str,
    /// The code alone, in ever smaller ones; encoded when the one that was asked for has no room, which is seldom.
    pub(super) lesser: OnceCell<Vec<Symbol>>,
}

impl Symbols<'_> {
    fn each(&self) -> impl Iterator<Item = &Symbol> {
        let lesser = iter::once_with(|| self.lesser.get_or_init(|| lesser_symbols(self.code)));
        self.asked.iter().chain(lesser.flatten())
    }
}

fn lesser_symbols(code: &str) -> Vec<Symbol> {
    let square = Symbol::data_matrix(code, SymbolKind::DataMatrixSquare);
    let low = Symbol::data_matrix(code, SymbolKind::DataMatrixLow);
    [Symbol::qr(code), square, low].into_iter().flatten().collect()
}

pub(super) struct Search<'a> {
    pub(super) fonts: &'a Fonts,
    pub(super) floors: &'a Floors,
    pub(super) words: &'a Words,
    pub(super) dpi: u16,
    pub(super) room: Room,
}

/// What the search took.
pub(super) struct Found {
    pub(super) faces: [Vec<Item>; 2],
    pub(super) symbol: Option<Symbol>,
    pub(super) module_dots: Option<i64>,
    pub(super) code: Length,
    pub(super) line: Length,
    pub(super) kept: Kept,
}

impl Search<'_> {
    pub(super) fn first(&self, symbols: Option<&Symbols<'_>>) -> Option<Found> {
        let all = self.kept();
        // Losing the places costs more than a lesser symbol does, so lesser symbols are tried before places are given up.
        let places = self.words.fields().take_while(|field| *field <= Field::Move).count();
        let (with_places, without): (Vec<Kept>, Vec<Kept>) = all.iter().copied().partition(|kept| kept.lines >= places);
        for stage in [&with_places, &without] {
            for symbol in symbols.into_iter().flat_map(Symbols::each) {
                if let Some(found) = stage.iter().find_map(|&kept| self.try_kept(Some(symbol), kept)) {
                    return Some(found);
                }
            }
        }
        all.into_iter().find_map(|kept| self.try_kept(None, kept))
    }

    /// What may be kept, from everything to the code alone. Designation, branch and note go before the function is
    /// shortened; conductor and places go only after that.
    fn kept(&self) -> Vec<Kept> {
        let fields: Vec<Field> = self.words.fields().collect();
        let shortest = self.words.wordings(Field::Function).saturating_sub(1);
        let mut all = Vec::new();
        for lines in (0..=fields.len()).rev() {
            all.push(Kept { lines, function: 0 });
            let next_given_up = lines.checked_sub(1).map(|last| fields[last]);
            if next_given_up.is_some_and(|field| field <= Field::Conductor) {
                all.extend((1..=shortest).map(|function| Kept { lines, function }));
            }
        }
        all
    }

    fn try_kept(&self, symbol: Option<&Symbol>, kept: Kept) -> Option<Found> {
        let sharings: &[Sharing] = match symbol {
            Some(_) => &[Sharing::Whole(Arrangement::Beside), Sharing::Whole(Arrangement::Stacked), Sharing::Split],
            None => &[Sharing::Whole(Arrangement::Beside)],
        };
        let last = kept.lines.checked_sub(1).and_then(|last| self.words.fields().nth(last));
        for sizes in self.sizes(last) {
            for sharing in sharings {
                for &(code, line) in &sizes {
                    if let Some(found) = self.try_sharing(symbol, kept, *sharing, code, line) {
                        return Some(found);
                    }
                }
            }
        }
        None
    }

    /// Pairs of heights of code and lines to begin with: what is wanted, then smaller ones. Designation, branch and note are
    /// not worth the smallest letters.
    fn sizes(&self, last: Option<Field>) -> [Vec<(Length, Length)>; 2] {
        let between = |wanted: Length, least: Length, share: f64| least + (wanted - least).scaled(share);
        let pair = |share| {
            (
                between(self.floors.code_wanted, self.floors.code_least, share),
                between(self.floors.line_wanted, self.floors.line_least, share),
            )
        };
        let smaller: &[f64] =
            if last.is_some_and(|last| last > Field::Conductor) { &[0.75, 0.5] } else { &[0.75, 0.5, 0.25, 0.0] };
        [vec![pair(1.0)], smaller.iter().copied().map(pair).collect()]
    }

    fn try_sharing(
        &self,
        symbol: Option<&Symbol>,
        kept: Kept,
        sharing: Sharing,
        code: Length,
        line: Length,
    ) -> Option<Found> {
        let least_dots = smallest_module_dots(self.dpi);
        let wish = |symbol, lines, arrangement| {
            let symbol = Option::map(symbol, |symbol| (symbol, least_dots));
            Wish { symbol, dpi: self.dpi, code, line, lines, function: kept.function, arrangement }
        };
        match sharing {
            Sharing::Whole(arrangement) => {
                let (wish, items) = self.settle(wish(symbol, kept.lines, arrangement))?;
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
                let (near_wish, near) = self.settle(wish(None, kept.lines, Arrangement::Beside))?;
                let (far_wish, far) = [Arrangement::Stacked, Arrangement::Beside]
                    .into_iter()
                    .find_map(|arrangement| self.settle(wish(symbol, 0, arrangement)))?;
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
    fn settle<'s>(&self, wish: Wish<'s>) -> Option<(Wish<'s>, Vec<Item>)> {
        let composed = wish.compose(self.fonts, self.words, &self.room)?;
        let mut taken = (wish, composed);
        for step in growth(&taken.0) {
            let mut larger = taken.0.clone();
            if !step.apply(&mut larger, self.dpi) {
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
                let items =
                    smaller.compose(self.fonts, self.words, &self.room)?.draw(self.fonts, &smaller, self.words)?;
                Some((smaller, items))
            }
        }
    }

    pub(super) fn refusal(&self) -> Refusal {
        let least = Wish {
            symbol: None,
            dpi: self.dpi,
            code: self.floors.code_least,
            line: self.floors.line_least,
            lines: 0,
            function: 0,
            arrangement: Arrangement::Beside,
        };
        let holds = |grown: i64| {
            let more = Length::mm(1.0) * grown;
            let size = Size::new(self.room.size.width + more, self.room.size.height + more);
            least.compose(self.fonts, self.words, &Room { size, ..self.room }).is_some()
        };
        let remedy = (1..200).find(|&grown| holds(grown)).map_or_else(
            || "take a larger label".to_owned(),
            |grown| format!("faces {grown} mm longer and higher would do"),
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
    Module(f64),
}

impl Grow {
    /// Whether this made the wish larger.
    fn apply(self, wish: &mut Wish<'_>, dpi: u16) -> bool {
        match self {
            Self::Code(mm) => grow(&mut wish.code, Length::mm(mm)),
            Self::Line(mm) => grow(&mut wish.line, Length::mm(mm)),
            Self::Module(mm) => {
                let Some((_, count)) = &mut wish.symbol else { return false };
                let mut larger = (mm * f64::from(dpi) / 25.4).floor() as i64;
                while larger > *count && dots(larger, dpi) > LARGEST_MODULE {
                    larger -= 1;
                }
                grow(count, larger)
            }
        }
    }
}

fn grow<T: PartialOrd>(size: &mut T, to: T) -> bool {
    let is_larger = to > *size;
    if is_larger {
        *size = to;
    }
    is_larger
}

/// Steps of growing, a little of each in turn, so that neither symbol nor words take all the room.
fn growth(wish: &Wish<'_>) -> Vec<Grow> {
    let mut steps = Vec::new();
    let rounds = [
        (0.34, 2.0, 1.4),
        (0.34, 2.2, 1.6),
        (0.34, 2.5, 1.8),
        (0.40, 3.0, 1.9),
        (0.45, 3.4, 2.0),
        (0.50, 3.8, 2.1),
        (0.56, 4.2, 2.2),
        (0.62, 4.6, 2.2),
        (0.70, 5.0, 2.2),
    ];
    for (module, code, line) in rounds {
        if wish.symbol.is_some() {
            steps.push(Grow::Module(module));
        }
        steps.push(Grow::Code(code));
        if wish.lines > 0 {
            steps.push(Grow::Line(line));
        }
    }
    steps
}
