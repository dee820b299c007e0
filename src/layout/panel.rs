//! One panel: a box on a label, filled with bands, symbol, code and lines.
//!
//! A flag's face is a panel, and so is the plate of a tie-on. Composing is cheap and tried many times with different
//! sizes; drawing is done once, for the sizes that were taken.

use std::slice;

use super::frame::{Dash, Face, Ink, Item, Stretch, SymbolItem};
use super::keep::Kept;
use super::symbol::{Symbol, dots};
use super::text::{Fonts, Reads, Shaped};
use super::words::{BandWords, LEAD_GAP, LineWords, Part, Words, break_rows};
use crate::base::{Length, Point, Rect, Size, Turn, WireColour};

/// Rows that a line may take before it counts as too long.
const MOST_ROWS: usize = 3;
/// Distance between baselines, in capitals' heights.
const LEADING: f64 = 1.55;
/// Least white between the ink of two rows, in capitals' heights.
const ROW_GAP: f64 = 0.16;
/// White left and right of the words of a band, and above and below, in capitals' heights.
const BAND_PADDING: f64 = 0.35;
/// Length of the colour bar, in capitals' heights.
const BAR_LENGTH: f64 = 2.4;
/// Stroke round the colour bar.
const BAR_OUTLINE: Length = Length::nm(100_000);
/// Stroke of a line to write on.
pub(super) const WRITING_STROKE: Length = Length::nm(150_000);
/// Least length of a line to write on: a place such as `J1/14` in small handwriting (common practice).
pub(super) const WRITING_LENGTH: Length = Length::nm(9_000_000);

/// What a panel shall hold, and how large. Lengths are capitals' heights.
#[derive(Clone, Debug)]
pub struct Wish<'a> {
    /// The symbol with the size of its module in printer dots.
    pub symbol: Option<(&'a Symbol, i64)>,
    /// Printer resolution, for whole dots.
    pub dpi: u16,
    /// Height of the code's capitals.
    pub code: Length,
    /// Height of the lines' capitals.
    pub line: Length,
    /// Least height of any line's capitals.
    pub least: Length,
    /// From one line to write on to the next.
    pub writing: Length,
    /// Which lines, and how much of them.
    pub kept: Kept,
    /// Where the code stands.
    pub arrangement: Arrangement,
}

/// How symbol and words share a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Arrangement {
    /// Symbol top left, code and words beside it and below.
    Beside,
    /// Code across the top, symbol below it, words beside and below.
    Stacked,
}

/// A panel worked out but not drawn: which words go where.
pub struct Composed<'w> {
    fills: Vec<Rect>,
    symbol: Option<(Rect, Length)>,
    rows: Vec<Row<'w>>,
    bar: Option<Rect>,
    /// Lines to write on, from left to right.
    rules: Vec<(Point, Point)>,
    /// How far down the panel is filled.
    pub bottom: Length,
}

struct Row<'w> {
    face: Face,
    text: RowText<'w>,
    cap: Length,
    baseline: Point,
    room: Length,
    ink: Ink,
}

/// What stands in a row: words shaped as one, or parts that are shaped as a row when it is drawn.
enum RowText<'w> {
    Ready(&'w Shaped),
    Parts {
        parts: &'w [Part],
        /// How the whole line reads, of which this is a row.
        reads: Reads,
        flush: Flush,
    },
}

/// On which side of its room a row stands.
#[derive(Clone, Copy, PartialEq)]
enum Flush {
    Left,
    Right,
}

/// The box that words and symbol must stay in.
#[derive(Clone, Copy, Debug)]
pub struct Room {
    /// Its size.
    pub size: Size,
    /// White that surely lies outside it on every side, and counts towards a quiet zone.
    pub border: Length,
}

impl Wish<'_> {
    /// Works out whether and where everything stands; `None` when it does not fit the room.
    ///
    /// As many lines as fit stand beside the symbol: all, or the vital ones, or the first if nothing leads it in, or none. Here
    /// and there are never parted.
    pub fn compose<'w>(&self, fonts: &'w Fonts, words: &'w Words, room: &'w Room) -> Option<Composed<'w>> {
        let lines = || words.kept(self.kept).map(|(line, _)| line);
        let all = lines().count();
        if self.symbol.is_none() {
            return self.compose_with(fonts, words, all, room);
        }
        let vital = lines().take_while(|line| line.is_vital()).count();
        let first = lines().take(1).filter(|line| line.lead.is_none()).count();
        let choices = [all, vital, first, 0];
        let is_new = |&(index, choice): &(usize, usize)| !choices[..index].contains(&choice);
        let choices = choices.into_iter().enumerate().filter(is_new);
        choices.into_iter().find_map(|(_, beside)| self.compose_with(fonts, words, beside, room))
    }

    fn compose_with<'w>(
        &self,
        fonts: &'w Fonts,
        words: &'w Words,
        beside: usize,
        room: &'w Room,
    ) -> Option<Composed<'w>> {
        let mut sheet = Composing { fonts, room, composed: Composed::empty(), y: Length::ZERO, previous: None };
        for band in &words.bands {
            sheet.band(band, self.line)?;
        }
        if self.arrangement == Arrangement::Stacked {
            sheet.code(words, self.code, Length::ZERO)?;
        }
        let notch = match self.symbol {
            Some((symbol, module_dots)) => sheet.symbol(symbol, module_dots, self.dpi)?,
            None => Notch::default(),
        };
        if self.arrangement == Arrangement::Beside {
            sheet.code(words, self.code, notch.left)?;
        }
        for (index, (line, parts)) in words.kept(self.kept).enumerate() {
            let colour = words.colour.as_ref().filter(|colour| colour.base().is_some());
            let bar = colour.filter(|_| line.line.look().colour_bar);
            let (left, not_above) =
                if index < beside { (notch.left, Length::ZERO) } else { (Length::ZERO, notch.below) };
            let cap = line.cap(self.line, self.least);
            if line.line.is_to_write_on() {
                sheet.line_to_write_on(line, cap, self.writing, left, not_above)?;
            } else {
                sheet.line(line, parts, cap, left, not_above, bar)?;
            }
        }
        sheet.composed.bottom = sheet.bottom_of_ink().max(notch.symbol_bottom);
        (sheet.composed.bottom <= room.size.height).then_some(sheet.composed)
    }
}

impl Composed<'_> {
    fn empty() -> Self {
        Self { fills: Vec::new(), symbol: None, rows: Vec::new(), bar: None, rules: Vec::new(), bottom: Length::ZERO }
    }

    /// How many rows of text there are.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Draws what was composed. `None` when shaping a whole row shows it wider than its words were together; then a
    /// smaller size must be tried.
    pub fn draw(&self, fonts: &Fonts, wish: &Wish<'_>, words: &Words) -> Option<Vec<Item>> {
        let mut items: Vec<Item> = self.fills.iter().map(|&area| Item::Fill { area, ink: Ink::Black }).collect();
        if let (Some((area, quiet)), Some((symbol, _))) = (self.symbol, wish.symbol) {
            items.push(Item::Symbol(SymbolItem {
                modules: symbol.modules.clone(),
                area,
                quiet,
                turn: Turn::Upright,
                payload: symbol.payload.clone(),
            }));
        }
        if let (Some(area), Some(colour)) = (self.bar, &words.colour) {
            items.extend(colour_bar(area, colour));
        }
        let rule = |&(from, to): &(Point, Point)| Item::Rule { from, to, weight: WRITING_STROKE, dash: Dash::Solid };
        items.extend(self.rules.iter().map(rule));
        for row in &self.rows {
            let whole;
            let shaped = match row.text {
                RowText::Ready(shaped) => shaped,
                RowText::Parts { parts, reads, .. } => {
                    let parts: Vec<&str> = parts.iter().map(|(part, _)| part.as_str()).collect();
                    whole = fonts.shape_row(row.face, &parts.join(" "), reads).ok()?;
                    &whole
                }
            };
            let width = fonts.width(shaped, row.cap);
            if width > row.room {
                return None;
            }
            let mut at = row.baseline;
            if matches!(row.text, RowText::Parts { flush: Flush::Right, .. }) {
                at.x += row.room - width;
            }
            items.extend(fonts.place(shaped, row.cap, at, Turn::Upright, Stretch::NONE, row.ink));
        }
        Some(items)
    }
}

/// The corner that a symbol takes out of the panel; nothing without a symbol.
#[derive(Default)]
struct Notch {
    /// Where words beside the symbol may start.
    left: Length,
    /// Where words may start at the left edge again.
    below: Length,
    /// Where the symbol itself ends, with the quiet zone that must lie inside the room.
    symbol_bottom: Length,
}

struct Composing<'w> {
    fonts: &'w Fonts,
    room: &'w Room,
    composed: Composed<'w>,
    /// Top of what is still free.
    y: Length,
    /// Baseline and fall of the row above, where there is one.
    previous: Option<(Length, Length)>,
}

impl<'w> Composing<'w> {
    fn bottom_of_ink(&self) -> Length {
        self.previous.map_or(self.y, |(baseline, fall)| baseline + fall)
    }

    /// The baseline of a next row with this rise.
    fn next_baseline(&self, cap: Length, rise: Length, not_above: Length) -> Length {
        let free = match self.previous {
            Some((baseline, fall)) => {
                (baseline + cap.scaled(LEADING)).max(baseline + fall + cap.scaled(ROW_GAP) + rise)
            }
            None => self.y + rise,
        };
        free.max(not_above + rise)
    }

    fn band(&mut self, band: &'w BandWords, cap: Length) -> Option<()> {
        let padding = cap.scaled(BAND_PADDING);
        let room = self.room.size.width - padding * 2;
        let rows = band.rows(self.fonts, cap, room)?;
        let top = self.y;
        let mut baseline = top + padding + cap;
        for (index, &(parts, width)) in rows.iter().enumerate() {
            if index > 0 {
                baseline += cap.scaled(LEADING);
            }
            let left = (self.room.size.width - width).half();
            let (at, room) = (Point::new(left, baseline), room - (left - padding));
            let text = RowText::Parts { parts, reads: Reads::Rightwards, flush: Flush::Left };
            self.lay(Face::Strong, text, cap, at, room, Ink::White);
        }
        let fall = |parts: &[Part]| parts.iter().map(|(_, shaped)| self.fonts.fall(shaped, cap)).max();
        let fall = rows.last().and_then(|(parts, _)| fall(parts)).unwrap_or_default();
        let bottom = baseline + fall.max(padding);
        self.composed.fills.push(Rect::new(Length::ZERO, top, self.room.size.width, bottom - top));
        self.y = bottom + cap.scaled(0.4);
        Some(())
    }

    fn symbol(&mut self, symbol: &Symbol, module_dots: i64, dpi: u16) -> Option<Notch> {
        let side = |modules: u16| dots(module_dots * i64::from(modules), dpi);
        let size = Size::new(side(symbol.modules.columns), side(symbol.modules.rows));
        let quiet = dots(module_dots * symbol.kind.quiet_modules(), dpi);
        // A dot more than the quiet zone: print that begins where it ends would bleed into its last dots.
        let kept_clear = quiet + dots(1, dpi);
        let inset = (kept_clear - self.room.border).max(Length::ZERO);
        let is_topmost = self.composed.fills.is_empty() && self.previous.is_none();
        let top = if is_topmost { inset } else { self.bottom_of_ink() + kept_clear };
        let area = Rect { origin: Point::new(inset, top), size };
        if area.right() + inset > self.room.size.width || area.bottom() + inset > self.room.size.height {
            return None;
        }
        self.composed.symbol = Some((area, quiet));
        if !is_topmost && self.previous.is_none() {
            // A band lies above: words beside the symbol start where its free room starts, not at its quiet zone's end.
            self.y = self.bottom_of_ink();
        }
        Some(Notch {
            left: area.right() + kept_clear,
            below: area.bottom() + kept_clear,
            symbol_bottom: area.bottom() + inset,
        })
    }

    fn code(&mut self, words: &'w Words, cap: Length, left: Length) -> Option<()> {
        let room = self.room.size.width - left;
        if self.fonts.width(&words.code, cap) > room {
            return None;
        }
        let baseline = self.next_row(std::iter::once(&*words.code), cap, Length::ZERO)?;
        self.lay(Face::Code, RowText::Ready(&words.code), cap, Point::new(left, baseline), room, Ink::Black);
        Some(())
    }

    /// Sets a line from `left` on, its first row not above `not_above`, behind the bar of a colour where there is one.
    fn line(
        &mut self,
        line: &'w LineWords,
        words: &'w [Part],
        cap: Length,
        left: Length,
        not_above: Length,
        bar: Option<&WireColour>,
    ) -> Option<()> {
        let width = |shaped: &Shaped| self.fonts.width(shaped, cap);
        let free = self.room.size.width - left;
        let indent = match (&line.lead, bar) {
            (Some(lead), _) => width(lead) + cap.scaled(LEAD_GAP),
            (None, Some(_)) => cap.scaled(BAR_LENGTH + 0.6),
            (None, None) => Length::ZERO,
        };
        // A place that does not fit loses its blanks; then it goes below its lead, but not in the narrow room beside a symbol.
        let compact = line.compact.as_ref().map(slice::from_ref);
        let below = compact.filter(|_| left == Length::ZERO).map(|part| (part, Length::ZERO));
        let tries = [Some((words, indent)), compact.map(|part| (part, indent)), below];
        let (rows, indent) = tries.into_iter().flatten().find_map(|(parts, indent)| {
            let rows = break_rows(parts, free - indent, width(&line.space), width)?;
            Some((rows, indent))
        })?;
        if rows.len() > MOST_ROWS {
            return None;
        }
        // A line that reads leftwards begins at the right edge, unless it goes with something at its left.
        let is_alone = line.lead.is_none() && indent == Length::ZERO;
        let flush = if is_alone && line.reads == Reads::Leftwards { Flush::Right } else { Flush::Left };
        let mut not_above = not_above;
        let mut lead = line.lead.as_deref();
        if indent == Length::ZERO
            && let Some(above) = lead.take()
        {
            let baseline = self.next_row(std::iter::once(above), cap, not_above)?;
            self.lay(Face::Words, RowText::Ready(above), cap, Point::new(left, baseline), free, Ink::Black);
        }
        for (index, row) in rows.into_iter().enumerate() {
            let beside = lead.take();
            let baseline = self.next_row(row.iter().map(|(_, shaped)| &**shaped).chain(beside), cap, not_above)?;
            not_above = Length::ZERO;
            if let Some(beside) = beside {
                self.lay(Face::Words, RowText::Ready(beside), cap, Point::new(left, baseline), indent, Ink::Black);
            }
            if index == 0 && bar.is_some() {
                self.composed.bar = Some(Rect::new(left, baseline - cap, cap.scaled(BAR_LENGTH), cap));
            }
            let at = Point::new(left + indent, baseline);
            let text = RowText::Parts { parts: row, reads: line.reads, flush };
            self.lay(line.face, text, cap, at, free - indent, Ink::Black);
        }
        Some(())
    }

    /// Sets a line to write on, its lead at the left, as `line` does; above it there is room for handwriting.
    fn line_to_write_on(
        &mut self,
        line: &'w LineWords,
        cap: Length,
        writing: Length,
        left: Length,
        not_above: Length,
    ) -> Option<()> {
        let right = self.room.size.width;
        let indent = line.lead.as_ref().map_or(Length::ZERO, |lead| self.fonts.width(lead, cap) + cap.scaled(LEAD_GAP));
        let baseline = self.bottom_of_ink().max(not_above) + writing;
        if right - left - indent < WRITING_LENGTH || baseline + WRITING_STROKE > self.room.size.height {
            return None;
        }
        self.previous = Some((baseline, WRITING_STROKE.half()));
        if let Some(lead) = &line.lead {
            self.lay(Face::Words, RowText::Ready(lead), cap, Point::new(left, baseline), indent, Ink::Black);
        }
        self.composed.rules.push((Point::new(left + indent, baseline), Point::new(right, baseline)));
        Some(())
    }

    /// The baseline of a next row that holds all these; `None` when it would leave the room.
    fn next_row<'s>(
        &mut self,
        shaped: impl Iterator<Item = &'s Shaped> + Clone,
        cap: Length,
        not_above: Length,
    ) -> Option<Length> {
        let rise = shaped.clone().map(|shaped| self.fonts.rise(shaped, cap)).max().unwrap_or(cap);
        let fall = shaped.map(|shaped| self.fonts.fall(shaped, cap)).max().unwrap_or_default();
        let baseline = self.next_baseline(cap, rise, not_above);
        self.previous = Some((baseline, fall));
        (baseline + fall <= self.room.size.height).then_some(baseline)
    }

    fn lay(&mut self, face: Face, text: RowText<'w>, cap: Length, baseline: Point, room: Length, ink: Ink) {
        self.composed.rows.push(Row { face, text, cap, baseline, room, ink });
    }
}

/// The colour bar: base colour, stripe along the middle, thin outline so that white shows.
pub fn colour_bar(area: Rect, colour: &WireColour) -> Vec<Item> {
    let Some(base) = colour.base() else { return Vec::new() };
    // The outline's stroke stays inside the bar's place.
    let area = area.inset(BAR_OUTLINE.half());
    let mut items = vec![Item::Fill { area, ink: Ink::Colour(base.print_colour()) }];
    if let Some(stripe) = colour.bar_stripe() {
        let third = area.size.height / 3;
        let stripe_area = Rect::new(area.left(), area.top() + third, area.size.width, third);
        items.push(Item::Fill { area: stripe_area, ink: Ink::Colour(stripe.print_colour()) });
    }
    items.push(Item::Outline { area, weight: BAR_OUTLINE, radius: Length::ZERO });
    items
}
