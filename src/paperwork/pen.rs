//! Words, bars, boxes and lines at their places: what tables, faces and heads are drawn with.

use std::sync::Arc;

use crate::base::{Length, Point, Rect, Size, Turn, WireColour};
use crate::layout::frame::Dash;
use crate::layout::panel::colour_bar;
use crate::layout::symbol::{Symbol, dots};
use crate::layout::text::{Fonts, Shaped};
use crate::layout::{Face, Frame, Ink, Item, Stretch, SymbolItem};

/// Thickness of the lines of a box to tick.
const BOX: Length = Length::nm(250_000);
/// Between baselines, in capitals' heights.
const LEADING: f64 = 1.75;
/// What stands for a character that no face has.
const UNDRAWABLE: &str = "?";
/// Office printers draw modules of whole dots at this resolution.
const DPI: u16 = 600;

/// How words look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// Typeface.
    pub face: Face,
    /// Height of capitals.
    pub cap: Length,
    /// In what.
    pub ink: Ink,
}

impl Look {
    /// Words of this height.
    pub fn words(cap_mm: f64) -> Self {
        Self { face: Face::Words, cap: Length::mm(cap_mm), ink: Ink::Black }
    }

    /// Words that stand out.
    pub fn strong(cap_mm: f64) -> Self {
        Self { face: Face::Strong, ..Self::words(cap_mm) }
    }

    /// Codes and cavity numbers.
    pub fn code(cap_mm: f64) -> Self {
        Self { face: Face::Code, ..Self::words(cap_mm) }
    }

    /// The same in white, on black ground.
    #[must_use]
    pub fn white(self) -> Self {
        Self { ink: Ink::White, ..self }
    }

    /// Between two baselines.
    pub fn leading(&self) -> Length {
        self.cap.scaled(LEADING)
    }
}

/// How words stand to a point or in a width.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Align {
    /// They begin there.
    #[default]
    Left,
    /// Their middle is there.
    Middle,
    /// They end there.
    Right,
}

/// Gathers items.
pub struct Pen<'a> {
    fonts: &'a Fonts,
    /// What was drawn so far.
    pub items: Vec<Item>,
}

impl<'a> Pen<'a> {
    /// With nothing drawn.
    pub fn new(fonts: &'a Fonts) -> Self {
        Self { fonts, items: Vec::new() }
    }

    /// The faces.
    pub const fn fonts(&self) -> &'a Fonts {
        self.fonts
    }

    /// All that was drawn, as a frame of this size.
    pub fn framed(self, size: Size) -> Frame {
        Frame { size, items: self.items }
    }

    /// Words in one line, the baseline at `at`.
    pub fn words(&mut self, at: Point, words: &str, look: Look, align: Align) {
        let shaped = shape(self.fonts, look.face, words);
        self.shaped(at, &shaped, look, align);
    }

    /// The same of words that were shaped before.
    pub fn shaped(&mut self, at: Point, shaped: &Shaped, look: Look, align: Align) {
        let width = self.fonts.width(shaped, look.cap);
        let left = match align {
            Align::Left => at.x,
            Align::Middle => at.x - width.half(),
            Align::Right => at.x - width,
        };
        let at = Point::new(left, at.y);
        self.items.extend(self.fonts.place(shaped, look.cap, at, Turn::Upright, Stretch::NONE, look.ink));
    }

    /// Words in as many lines as they need, the top of the first line's capitals at `corner`; gives the height that they take.
    pub fn paragraph(&mut self, corner: Point, width: Length, words: &str, look: Look) -> Length {
        let lines = wrapped(self.fonts, look, width, words);
        for (line, shaped) in lines.iter().enumerate() {
            let baseline = corner.y + look.cap + look.leading() * i64::try_from(line).unwrap_or(i64::MAX);
            self.shaped(Point::new(corner.x, baseline), shaped, look, Align::Left);
        }
        height(look, lines.len())
    }

    /// A filled area.
    pub fn fill(&mut self, area: Rect, ink: Ink) {
        self.items.push(Item::Fill { area, ink });
    }

    /// An outline with square corners.
    pub fn outline(&mut self, area: Rect, weight: Length) {
        self.items.push(Item::Outline { area, weight, radius: Length::ZERO });
    }

    /// A solid line.
    pub fn rule(&mut self, from: Point, to: Point, weight: Length) {
        self.items.push(Item::Rule { from, to, weight, dash: Dash::Solid });
    }

    /// A line of dashes: where paper is folded.
    pub fn dashed(&mut self, from: Point, to: Point, weight: Length) {
        self.items.push(Item::Rule { from, to, weight, dash: Dash::Dashed(weight * 8) });
    }

    /// Marks outside the corners of an area that is cut out.
    pub fn cut_marks(&mut self, area: Rect) {
        let (weight, gap) = (Length::mm(0.15), Length::mm(0.8));
        for (x, outwards) in [(area.left(), -gap), (area.right(), gap)] {
            for y in [area.top(), area.bottom()] {
                self.rule(Point::new(x + outwards, y), Point::new(x + outwards * 4, y), weight);
            }
        }
        for (y, outwards) in [(area.top(), -gap), (area.bottom(), gap)] {
            for x in [area.left(), area.right()] {
                self.rule(Point::new(x, y + outwards), Point::new(x, y + outwards * 4), weight);
            }
        }
    }

    /// A box to tick.
    pub fn open_box(&mut self, area: Rect) {
        self.outline(area, BOX);
    }

    /// A box that is ticked, with two strokes.
    pub fn ticked_box(&mut self, area: Rect) {
        self.open_box(area);
        let at = |x: f64, y: f64| {
            Point::new(area.left() + area.size.width.scaled(x), area.top() + area.size.height.scaled(y))
        };
        self.rule(at(0.15, 0.55), at(0.42, 0.85), BOX * 2);
        self.rule(at(0.42, 0.85), at(0.9, 0.1), BOX * 2);
    }

    /// The colour bar of a wire; nothing where its colour is not understood.
    pub fn bar(&mut self, area: Rect, colour: &WireColour) {
        self.items.extend(colour_bar(area, colour));
    }

    /// A frame with its top left corner at `corner`.
    pub fn frame(&mut self, corner: Point, frame: &Frame) {
        self.items.extend(frame.items.iter().map(|item| item.placed(Turn::Upright, frame.size, corner)));
    }

    /// A QR code with its quiet zone, its top right corner at `corner`, at most so wide; gives the width that it takes, none where the
    /// text is too long.
    pub fn symbol(&mut self, corner: Point, most: Length, payload: &str) -> Option<Length> {
        let symbol = Symbol::qr(payload)?;
        let quiet_modules = symbol.kind.quiet_modules();
        let across = symbol.kind.columns() + quiet_modules * 2;
        let a_module = (1..=64).rev().map(|count| dots(count, DPI)).find(|module| *module * across <= most)?;
        let (quiet, side) = (a_module * quiet_modules, a_module * symbol.kind.columns());
        let area = Rect::new(corner.x - quiet - side, corner.y + quiet, side, side);
        self.items.push(Item::Symbol(SymbolItem {
            modules: symbol.modules,
            area,
            quiet,
            turn: Turn::Upright,
            payload: symbol.payload,
        }));
        Some(a_module * across)
    }
}

/// Words in as many lines as this width needs, as a frame with white below.
pub fn paragraph(fonts: &Fonts, width: Length, words: &str, look: Look) -> Frame {
    let mut pen = Pen::new(fonts);
    let height = pen.paragraph(Point::ORIGIN, width, words, look);
    pen.framed(Size::new(width, height + look.cap))
}

/// Words shaped; a character that no face has is shown as `?`, since a sheet, unlike a tag, is read beside the list.
pub fn shape(fonts: &Fonts, face: Face, words: &str) -> Arc<Shaped> {
    let mut missing = match fonts.shape(face, words) {
        Ok(shaped) => return shaped,
        Err(missing) => missing.0,
    };
    let mut words = words.to_owned();
    loop {
        // What is missing may be an equivalent of a character, in turn.
        words = if words.contains(missing) { words.replace(missing, UNDRAWABLE) } else { UNDRAWABLE.to_owned() };
        match fonts.shape(face, &words) {
            Ok(shaped) => return shaped,
            Err(next) => missing = next.0,
        }
    }
}

/// Width of words in one line.
pub fn width(fonts: &Fonts, look: Look, words: &str) -> Length {
    fonts.width(&shape(fonts, look.face, words), look.cap)
}

/// Height of so many lines, from the top of the first capitals to the last baseline.
pub fn height(look: Look, lines: usize) -> Length {
    let between = i64::try_from(lines.saturating_sub(1)).unwrap_or(i64::MAX);
    if lines == 0 { Length::ZERO } else { look.cap + look.leading() * between }
}

/// Words broken into lines of at most this width: at blanks, else behind `/`, `-` and commas, else between any two characters. Line
/// breaks in the words are kept.
pub fn wrapped(fonts: &Fonts, look: Look, width: Length, words: &str) -> Vec<Arc<Shaped>> {
    let mut lines = Vec::new();
    for paragraph in words.lines() {
        // Most words fit, and need not be tried one by one.
        let is_spaced = !paragraph.contains("  ") && paragraph.trim() == paragraph;
        if is_spaced && self::width(fonts, look, paragraph) <= width {
            lines.push(paragraph.to_owned());
            continue;
        }
        let mut line = String::new();
        for word in paragraph.split_whitespace() {
            let joined = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
            if self::width(fonts, look, &joined) <= width {
                line = joined;
                continue;
            }
            if !line.is_empty() {
                lines.push(std::mem::take(&mut line));
            }
            line = broken(fonts, look, width, word, &mut lines);
        }
        lines.push(line);
    }
    lines.iter().map(|line| shape(fonts, look.face, line)).collect()
}

/// Breaks a word that may be wider than a line; the last piece is given back, for more words to follow.
fn broken(fonts: &Fonts, look: Look, width: Length, word: &str, lines: &mut Vec<String>) -> String {
    let mut rest = word;
    while self::width(fonts, look, rest) > width {
        let fits = |end: &usize| self::width(fonts, look, &rest[..*end]) <= width;
        let ends: Vec<usize> = rest.char_indices().skip(1).map(|(at, _)| at).collect();
        let behind_a_joint = |end: &&usize| rest[..**end].ends_with(['/', '-', ',', ';', '_']);
        let most = ends.partition_point(fits);
        let Some(&last) = ends[..most].last().or(ends.first()) else { break };
        let end = ends[..most].iter().rev().find(behind_a_joint).copied().unwrap_or(last);
        lines.push(rest[..end].to_owned());
        rest = &rest[end..];
    }
    rest.to_owned()
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn texts(fonts: &Fonts, width_mm: f64, words: &str) -> Vec<String> {
        let look = Look::words(2.0);
        wrapped(fonts, look, Length::mm(width_mm), words)
            .iter()
            .map(|line| {
                let items = fonts.place(line, look.cap, Point::ORIGIN, Turn::Upright, Stretch::NONE, Ink::Black);
                items
                    .iter()
                    .filter_map(|item| match item {
                        Item::Text(text) => Some(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>()),
                        _ => None,
                    })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn words_break_at_blanks_then_at_joints_then_anywhere() {
        let fonts = Fonts::new();
        assert_eq!(texts(&fonts, 200.0, "rail pressure signal"), ["rail pressure signal"]);
        assert_eq!(texts(&fonts, 20.0, "rail pressure signal"), ["rail pressure", "signal"]);
        assert_eq!(texts(&fonts, 11.0, "X3P/7-X3S/7"), ["X3P/7-", "X3S/7"]);
        assert_eq!(texts(&fonts, 200.0, "one\ntwo"), ["one", "two"]);
        assert_eq!(texts(&fonts, 200.0, ""), [""; 0]);
        assert_eq!(texts(&fonts, 200.0, "\u{1F6A2}"), ["?"]);
    }

    proptest! {
        #[test]
        fn no_line_is_too_wide_and_no_letter_is_lost(words in "[a-zA-Z/ -]{0,60}", width_mm in 4.0..60.0f64) {
            let fonts = Fonts::new();
            let (look, width) = (Look::words(2.0), Length::mm(width_mm));
            for line in wrapped(&fonts, look, width, &words) {
                prop_assert!(fonts.width(&line, look.cap) <= width);
            }
            let joined: String = texts(&fonts, width_mm, &words).concat().split_whitespace().collect();
            prop_assert_eq!(joined, words.split_whitespace().collect::<String>());
        }
    }
}
