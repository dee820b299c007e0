//! Flags: a label folded round the wire, its two faces back to back.
//!
//! With `L` the label's length across the wire, `d` the wire's diameter and `t` the stock's thickness, the wrap takes
//! `w = pi (d + t) + 2 s` with a slack `s = max(0.5 mm, 0.15 d)`, and each face is `f = (L - w) / 2` long.

use std::cell::OnceCell;
use std::f64::consts::PI;
use std::iter;

use super::fit::{Diameter, Facts, Fitted, Floors, Kind, Refusal, SymbolFacts};
use super::frame::{Dash, Frame, Item};
use super::panel::{Arrangement, Room, Wish};
use super::symbol::{Symbol, SymbolKind, dots, smallest_module_dots};
use super::text::Fonts;
use super::words::Words;
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::labels::{Field, Label};

/// White at free edges.
const EDGE: Length = Length::nm(1_500_000);
/// White where the label bends round the wire.
const BEND: Length = Length::nm(1_000_000);
/// Length of the ticks that mark the wire's seat.
const TICK: Length = Length::nm(900_000);
const HAIRLINE: Length = Length::nm(100_000);
/// Modules grow up to this size where there is room; beyond it a phone gains nothing.
const LARGEST_MODULE: Length = Length::nm(700_000);

/// How the wire runs when the tag is read.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Posture {
    /// The wire stands, the flag flies sideways: both faces print the same way up.
    #[default]
    Standing,
    /// The wire lies, the flag hangs from it: the far face prints turned by 180 degrees.
    Hanging,
}

/// Label stock for flags.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FlagStock {
    /// Label as it lies on the sheet.
    pub label: Size,
    /// Thickness of the label.
    pub thickness: Length,
    /// How the wire runs.
    pub posture: Posture,
    /// Resolution of the printer.
    pub dpi: u16,
}

/// A flag in numbers.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Geometry {
    /// Length of the label across the wire.
    pub length: Length,
    /// Height of the label along the wire.
    pub height: Length,
    /// What goes round the wire, slack included.
    pub wrap: Length,
    /// Length of each face.
    pub face: Length,
    posture: Posture,
}

impl Geometry {
    /// A flag of this stock on a wire of this diameter. The face may come out negative: the caller judges.
    pub fn new(stock: &FlagStock, diameter: Length) -> Self {
        let (length, height) = match stock.posture {
            Posture::Standing => (stock.label.width, stock.label.height),
            Posture::Hanging => (stock.label.height, stock.label.width),
        };
        let wrap = wrap(diameter, stock.thickness);
        Self { length, height, wrap, face: (length - wrap).half(), posture: stock.posture }
    }

    /// The two faces on the label, each with the way it prints: first the near one.
    pub fn faces(&self) -> [(Rect, Turn); 2] {
        let (face, zero) = (self.face, Length::ZERO);
        match self.posture {
            Posture::Standing => [
                (Rect::new(zero, zero, face, self.height), Turn::Upright),
                (Rect::new(self.length - face, zero, face, self.height), Turn::Upright),
            ],
            // The fold lies above the near face when the flag hangs, so the near face is the lower one of the flat label.
            Posture::Hanging => [
                (Rect::new(zero, self.length - face, self.height, face), Turn::Upright),
                (Rect::new(zero, zero, self.height, face), Turn::Half),
            ],
        }
    }

    /// What of each face may be printed on, as it prints: free edges and bend kept clear.
    fn panels(&self) -> [(Rect, Turn); 2] {
        let inside = |rect: Rect, near: bool| match (self.posture, near) {
            (Posture::Standing, true) => trimmed(rect, EDGE, BEND, EDGE, EDGE),
            (Posture::Standing, false) => trimmed(rect, BEND, EDGE, EDGE, EDGE),
            (Posture::Hanging, true) => trimmed(rect, EDGE, EDGE, BEND, EDGE),
            (Posture::Hanging, false) => trimmed(rect, EDGE, EDGE, EDGE, BEND),
        };
        let [(near, near_turn), (far, far_turn)] = self.faces();
        [(inside(near, true), near_turn), (inside(far, false), far_turn)]
    }

    /// Fine ticks at both ends of the wrap, and a dashed one in its middle where the wire lies.
    fn ticks(&self) -> Vec<Item> {
        let mut items = Vec::new();
        let marks = [
            (self.face, Dash::Solid),
            (self.length.half(), Dash::Dashed(Length::mm(0.3))),
            (self.length - self.face, Dash::Solid),
        ];
        for (across, dash) in marks {
            for (from, to) in [(Length::ZERO, TICK), (self.height - TICK, self.height)] {
                let point = |along| match self.posture {
                    Posture::Standing => Point::new(across, along),
                    Posture::Hanging => Point::new(along, across),
                };
                items.push(Item::Rule { from: point(from), to: point(to), weight: HAIRLINE, dash });
            }
        }
        items
    }
}

/// What goes round a wire of this diameter: `pi (d + t) + 2 max(0.5 mm, 0.15 d)`.
pub fn wrap(diameter: Length, thickness: Length) -> Length {
    let slack = Length::mm(0.5).max(diameter.scaled(0.15));
    (diameter + thickness).scaled(PI) + slack * 2
}

fn trimmed(rect: Rect, left: Length, right: Length, top: Length, bottom: Length) -> Rect {
    let width = (rect.size.width - left - right).max(Length::ZERO);
    let height = (rect.size.height - top - bottom).max(Length::ZERO);
    Rect::new(rect.left() + left, rect.top() + top, width, height)
}

/// What is kept of a label: so many lines, and this wording of the function.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Kept {
    lines: usize,
    function: usize,
}

/// What stands on the two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Sharing {
    /// Each face holds the whole tag.
    Whole(Arrangement),
    /// Words on the near face, symbol with code on the far one.
    Split,
}

/// Fits a label to a flag.
///
/// Tried in this order, the first that holds is taken: the symbol as asked for, then the code alone in QR 1, then in Data
/// Matrix 14x14 and 8x18, then none; for each all lines, then fewer from the last; for each the wanted letter heights, then
/// smaller ones; for each the whole tag on both faces, then words on one and symbol on the other. What was taken then
/// grows as far as there is room.
///
/// # Errors
/// [`Refusal`] says by how much it fails and what would do.
pub fn fit(fonts: &Fonts, floors: &Floors, label: &Label, stock: &FlagStock) -> Result<Fitted, Refusal> {
    let mut words = Words::of(fonts, label)?;
    let diameter = label.diameter.map_or_else(Diameter::assumed, Diameter::Measured);
    let geometry = Geometry::new(stock, diameter.length());
    if geometry.face < floors.face {
        return Err(Refusal::FaceTooShort {
            diameter: diameter.length(),
            face: geometry.face,
            length: geometry.length,
            least: floors.face,
            needed: geometry.wrap + floors.face * 2,
        });
    }
    let panels = geometry.panels();
    words.leave_out_wider(fonts, panels[0].0.size.width, floors.line_least);
    let search = Search {
        fonts,
        floors,
        words: &words,
        dpi: stock.dpi,
        // The ticks of the fold are print too: a quiet zone ends before their stroke begins.
        room: Room { size: panels[0].0.size, border: EDGE.min(BEND) - HAIRLINE },
    };

    let mut symbol_note = None;
    let mut symbols = None;
    if let Some(payload) = &label.payload {
        if geometry.face < floors.face_with_symbol {
            symbol_note = Some(format!(
                "no symbol: faces of {:.2} are below {} (a label {:.1} long would do)",
                geometry.face,
                floors.face_with_symbol,
                geometry.wrap + floors.face_with_symbol * 2
            ));
        } else {
            let asked = Symbol::qr(payload);
            if asked.is_none() {
                symbol_note = Some("the symbol says the code alone: its text is too long".to_owned());
            }
            symbols = Some(Symbols { asked, code: label.name.code.as_str(), lesser: OnceCell::new() });
        }
    }
    let found = search.first(symbols.as_ref()).ok_or_else(|| search.refusal())?;
    if let Some(asked) = symbols.and_then(|symbols| symbols.asked).filter(|asked| found.symbol.as_ref() != Some(asked))
    {
        symbol_note = Some(match &found.symbol {
            Some(taken) => format!("{} with the code alone: the face has no room for {}", taken.kind, asked.kind),
            None => format!("no symbol: the face of {:.1} x {:.1} has no room", geometry.face, geometry.height),
        });
    }

    let mut frame = Frame { size: stock.label, items: geometry.ticks() };
    for ((room, turn), items) in panels.into_iter().zip(&found.faces) {
        let size = turn.turned_size(room.size);
        frame.items.extend(items.iter().map(|item| item.placed(turn, size, room.origin)));
    }
    let fields: Vec<Field> = words.fields().collect();
    let facts = Facts {
        kind: Kind::Flag,
        diameter,
        code: found.code,
        lines: (found.kept.lines > 0).then_some(found.line),
        symbol: found
            .symbol
            .as_ref()
            .zip(found.module_dots)
            .map(|(symbol, count)| SymbolFacts { kind: symbol.kind, module: dots(count, stock.dpi) }),
        symbol_note,
        dropped: [words.too_wide(), &fields[found.kept.lines.min(fields.len())..]].concat(),
        undrawable: words.undrawable().to_vec(),
        shortened: if found.kept.function > 0 { vec![Field::Function] } else { Vec::new() },
        needs: None,
    };
    Ok(Fitted { frame, facts })
}

/// The symbols to try.
struct Symbols<'a> {
    asked: Option<Symbol>,
    code: &'a str,
    /// The code alone, in ever smaller ones; encoded when the one that was asked for has no room, which is seldom.
    lesser: OnceCell<Vec<Symbol>>,
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

struct Search<'a> {
    fonts: &'a Fonts,
    floors: &'a Floors,
    words: &'a Words,
    dpi: u16,
    room: Room,
}

/// What the search took.
struct Found {
    faces: [Vec<Item>; 2],
    symbol: Option<Symbol>,
    module_dots: Option<i64>,
    code: Length,
    line: Length,
    kept: Kept,
}

impl Search<'_> {
    fn first(&self, symbols: Option<&Symbols<'_>>) -> Option<Found> {
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

    fn refusal(&self) -> Refusal {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{EndLetter, Place, TagCode, WireColour};
    use crate::labels::label::Line;
    use crate::labels::{Band, Purpose, TagName};
    use proptest::prelude::*;

    fn label(function: &str, payload: Option<&str>) -> Label {
        Label {
            name: TagName { code: TagCode::from_typed("7KF4").unwrap(), letters: vec![EndLetter::FIRST] },
            purpose: Purpose::Work,
            place: Place::from_typed("J1/14").unwrap(),
            payload: payload.map(str::to_owned),
            lines: [
                Line::shortened_by_words(Field::Function, function),
                Line::whole(Field::Here, ["J1 / 14".to_owned()]),
                Line::whole(Field::There, ["________".to_owned()]),
                Line::whole(Field::Conductor, ["BN/WH", "0.75 mm²", "fuse F12 15 A"].map(str::to_owned)),
                Line::whole(Field::Circuit, ["EN-214".to_owned()]),
                Line::whole(Field::Branch, ["ENGINE LOOM".to_owned()]),
            ]
            .into_iter()
            .flatten()
            .collect(),
            colour: WireColour::from_cell("BN/WH"),
            bands: vec![(Band::LiveCap, "LIVE WITH BATTERY ON: CAP THIS END".to_owned())],
            diameter: Some(Length::mm(2.4)),
        }
    }

    fn stock(width: f64, height: f64, posture: Posture) -> FlagStock {
        let label = Size::new(Length::mm(width), Length::mm(height));
        FlagStock { label, thickness: Length::mm(0.1), posture, dpi: 600 }
    }

    const LINK: &str = "HTTP://MARSHHEN.LOCAL:7117/7KF4/A";

    fn bounds(item: &Item) -> Rect {
        match item {
            Item::Text(text) => text.bounds,
            Item::Symbol(symbol) => symbol.area,
            Item::Fill { area, .. } => *area,
            Item::Outline { area, weight, .. } => area.inset(-weight.half()),
            // Rules run along the axes, and their stroke ends where they do.
            Item::Rule { from, to, weight, .. } => {
                let half = |runs: bool| if runs { Length::ZERO } else { weight.half() };
                let (across, up) = (half(from.x != to.x), half(from.y != to.y));
                let (left, top) = (from.x.min(to.x) - across, from.y.min(to.y) - up);
                let size = ((from.x - to.x).abs() + across * 2, (from.y - to.y).abs() + up * 2);
                Rect::new(left, top, size.0, size.1)
            }
            Item::Dot { centre, radius, .. } => {
                Rect::new(centre.x - *radius, centre.y - *radius, *radius * 2, *radius * 2)
            }
        }
    }

    /// The worked label of the design: 38.1 x 21.2 mm, 0.1 mm thick, on a wire of 2.4 mm.
    #[test]
    fn a_small_label_stands_but_does_not_hang() {
        let across = Geometry::new(&stock(38.1, 21.2, Posture::Standing), Length::mm(2.4));
        let hanging = Geometry::new(&stock(38.1, 21.2, Posture::Hanging), Length::mm(2.4));
        assert_eq!(format!("{:.1} {:.1}", across.face, hanging.face), "14.6 mm 6.2 mm");
        let fonts = Fonts::new();
        let label = label("rail pressure signal", Some(LINK));
        let standing = fit(&fonts, &Floors::default(), &label, &stock(38.1, 21.2, Posture::Standing));
        assert!(standing.is_ok(), "{standing:?}");
        let refusal = fit(&fonts, &Floors::default(), &label, &stock(38.1, 21.2, Posture::Hanging)).unwrap_err();
        assert_eq!(
            refusal.to_string(),
            "a wire of 2.4 mm leaves faces of 6.2 mm on a label 21.2 mm long; a flag needs faces of 12 mm, that is a \
             label at least 32.9 mm long"
        );
    }

    /// Folds the label in arithmetic: the plane of the print, its right and its up are turned about the wire by half a
    /// turn for the far face, and whoever looks at that face from behind must see text upright.
    #[test]
    fn both_faces_read_upright_after_folding() {
        let fonts = Fonts::new();
        for posture in [Posture::Standing, Posture::Hanging] {
            let stock = stock(63.5, 63.5, posture);
            let label = label("rail pressure signal", Some(LINK));
            let geometry = Geometry::new(&stock, Length::mm(2.4));
            let fitted = fit(&fonts, &Floors::default(), &label, &stock).unwrap();
            let [near, far] = geometry.faces();
            let mut seen = [0, 0];
            for item in &fitted.frame.items {
                let Item::Text(text) = item else { continue };
                // Right and up of the text in the flat label, y downwards, z out of the print.
                let (right, up) = match text.turn {
                    Turn::Upright => ([1, 0], [0, -1]),
                    Turn::Clockwise => ([0, 1], [1, 0]),
                    Turn::Half => ([-1, 0], [0, 1]),
                    Turn::Anticlockwise => ([0, -1], [-1, 0]),
                };
                let is_near = near.0.holds(&text.bounds);
                assert!(is_near || far.0.holds(&text.bounds), "text stays on its face");
                // Folding about the wire mirrors the coordinate across it; whoever walks round to the back sees left and
                // right exchanged once more.
                let seen_by_reader = |v: [i32; 2]| match (is_near, posture) {
                    (true, _) => v,
                    (false, Posture::Standing) => [-(-v[0]), v[1]],
                    (false, Posture::Hanging) => [-v[0], -v[1]],
                };
                assert_eq!((seen_by_reader(right), seen_by_reader(up)), ([1, 0], [0, -1]), "{posture:?}");
                seen[usize::from(!is_near)] += 1;
            }
            assert!(seen[0] > 2 && seen[1] > 2, "both faces carry text: {seen:?}");
        }
    }

    #[test]
    fn an_unknown_diameter_is_assumed_and_told() {
        let mut label = label("rail pressure signal", None);
        label.diameter = None;
        let fitted = fit(&Fonts::new(), &Floors::default(), &label, &stock(63.5, 33.9, Posture::Standing)).unwrap();
        assert_eq!(fitted.facts.diameter, Diameter::Assumed(Length::mm(3.0)));
    }

    #[test]
    fn a_line_that_cannot_be_drawn_is_left_out_and_told() {
        let fitted =
            fit(&Fonts::new(), &Floors::default(), &label("油圧", None), &stock(63.5, 33.9, Posture::Standing));
        let facts = fitted.unwrap().facts;
        let told: Vec<String> =
            facts.undrawable.iter().map(|(field, why)| format!("{}: {why}", field.word())).collect();
        assert_eq!(told, ["function: the fonts have no `油` (U+6CB9)"]);
    }

    #[test]
    fn a_word_too_long_takes_no_other_line_along() {
        let long = "Kraftstoffvorlaufdrucküberwachungsschalter".repeat(3);
        let fitted = fit(&Fonts::new(), &Floors::default(), &label(&long, None), &stock(63.5, 33.9, Posture::Standing));
        assert_eq!(fitted.unwrap().facts.dropped, [Field::Function]);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        #[test]
        fn a_fitted_flag_holds_together(
            width in 20.0..110.0_f64,
            height in 8.0..70.0_f64,
            diameter in 0.8..9.0_f64,
            words in "[a-zA-Zäöü]{1,12}( [a-z]{1,10}){0,6}",
            has_symbol: bool,
            hangs: bool,
            dpi in prop::sample::select(vec![203_u16, 300, 600]),
        ) {
            let posture = if hangs { Posture::Hanging } else { Posture::Standing };
            let stock = FlagStock { dpi, ..stock(width, height, posture) };
            let mut label = label(&words, has_symbol.then_some(LINK));
            label.diameter = Some(Length::mm(diameter));
            let floors = Floors::default();
            let fonts = Fonts::new();
            let Ok(fitted) = fit(&fonts, &floors, &label, &stock) else { return Ok(()) };

            let geometry = Geometry::new(&stock, Length::mm(diameter));
            let frame = Rect { origin: Point::ORIGIN, size: fitted.frame.size };
            let faces = geometry.faces().map(|(face, _)| face);
            let quiet_zones: Vec<Rect> = fitted.frame.items.iter().filter_map(|item| match item {
                // Nearly a dot more, so that nothing bleeds into the quiet zone's last dots.
                Item::Symbol(symbol) => Some(symbol.area.inset(-symbol.quiet - dots(1, dpi).scaled(0.99))),
                _ => None,
            }).collect();
            let items: Vec<(Rect, &Item)> = fitted.frame.items.iter().map(|item| (bounds(item), item)).collect();
            for (area, item) in &items {
                prop_assert!(frame.holds(area), "{item:?} leaves the label");
                if !matches!(item, Item::Rule { .. }) {
                    prop_assert!(faces.iter().any(|face| face.holds(area)), "{item:?} leaves its face");
                }
                if !matches!(item, Item::Symbol(_)) {
                    prop_assert!(!quiet_zones.iter().any(|zone| zone.overlaps(area)), "{item:?} in a quiet zone");
                }
                if let Item::Text(text) = item {
                    let typeface = fonts.typeface(text.face);
                    let cap = typeface.units(typeface.cap_height, text.em);
                    prop_assert!(cap + Length::nm(100) >= floors.line_least, "{cap} is below the floor");
                }
            }
            for zone in &quiet_zones {
                prop_assert!(faces.iter().any(|face| face.holds(zone)), "a quiet zone leaves its face");
            }
            let texts: Vec<&Rect> =
                items.iter().filter(|(_, item)| matches!(item, Item::Text(_))).map(|(area, _)| area).collect();
            for (index, one) in texts.iter().enumerate() {
                for other in &texts[index + 1..] {
                    prop_assert!(!one.overlaps(other), "{one:?} over {other:?}");
                }
            }
            prop_assert_eq!(fitted.facts.symbol.is_some(), !quiet_zones.is_empty());
            prop_assert!(fitted.facts.code + Length::nm(100) >= floors.code_least);
        }

        #[test]
        fn a_larger_label_never_says_less(
            width in 36.0..80.0_f64,
            height in 12.0..50.0_f64,
            wider in 0.0..20.0_f64,
            higher in 0.0..20.0_f64,
        ) {
            let fonts = Fonts::new();
            let label = label("rail pressure sensor signal to control unit", Some(LINK));
            let fit = |width, height| {
                fit(&fonts, &Floors::default(), &label, &stock(width, height, Posture::Standing)).ok()
            };
            if let Some(small) = fit(width, height) {
                let large = fit(width + wider, height + higher).expect("a larger label fits too");
                prop_assert!(large.facts.dropped.len() <= small.facts.dropped.len());
                prop_assert!(large.facts.symbol.is_some() >= small.facts.symbol.is_some());
            }
        }
    }
}
