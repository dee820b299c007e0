//! Laying a table out: widths by what the cells hold, heights by how it breaks, the head repeated on every page.

use std::sync::Arc;

use super::super::flow::{Binding, Passage, Strip};
use super::super::pen::{self, Align, Look, Pen};
use super::{CAP, Cell, Column, Row, Table, Tick};
use crate::base::{Length, Point, Rect, Size};
use crate::layout::frame::Dash;
use crate::layout::text::{Fonts, Shaped};
use crate::layout::{Frame, Ink, Item};

/// Height of capitals in remarks.
const REMARK_CAP: f64 = 1.6;
/// How far remarks stand in.
const REMARK_LEFT: Length = Length::nm(3_000_000);
/// Thickness of the bar beside rows that are bound, and how far it stands out at the left.
pub(super) const BRACE: Length = Length::nm(700_000);
const BRACE_LEFT: Length = Length::nm(-1_000_000);
/// Height of capitals in heads.
const HEAD_CAP: f64 = 1.5;
/// White at the sides of a cell.
const SIDE: Length = Length::nm(900_000);
/// White above and below what a cell holds.
const ABOVE: Length = Length::nm(1_100_000);
/// Lines between rows and below the head.
const FINE: Length = Length::nm(100_000);
const STRONG: Length = Length::nm(350_000);
/// Boxes to tick.
const TICK: Length = Length::nm(3_400_000);
/// Between a box and its word, and between boxes.
const TICK_GAP: Length = Length::nm(800_000);
/// Length of a colour bar.
const BAR: Length = Length::nm(7_000_000);
/// A row of more lines is broken into several strips, so that none is higher than a page.
const MOST_LINES: usize = 40;
/// A column is no wider by itself than this; words beyond it break.
const WIDEST: Length = Length::nm(75_000_000);

impl Table {
    /// Lays it out in a width. A table without rows is a passage without strips.
    pub fn passage(&self, fonts: &Fonts, width: Length, before: Length) -> Passage {
        let widths = self.widths(fonts, width);
        let whole = widths.iter().fold(Length::ZERO, |sum, width| sum + *width);
        let mut strips = Vec::new();
        // Whether the row above is bound to what comes, and whether the bar beside bound rows runs on.
        let (mut binding, mut is_braced) = (Binding::Free, false);
        for (row, next) in self.rows.iter().zip(self.rows.iter().skip(1).map(Some).chain([None])) {
            let from = strips.len();
            let has_more = matches!(row, Row::Part(_)) || matches!(next, Some(Row::Remark(_)));
            let foot = if has_more { Foot::Open } else { Foot::Line };
            is_braced |= matches!(row, Row::Bound(_));
            match row {
                Row::Cells(cells) | Row::Bound(cells) | Row::Part(cells) => {
                    binding = if matches!(row, Row::Cells(_)) { Binding::Free } else { Binding::WithNext };
                    strips.extend(self.strips(fonts, cells, &widths, foot));
                }
                Row::Remark(words) => strips.extend(remark(fonts, words, whole)),
                Row::Heading(words) => strips.extend(across(fonts, words, whole, Look::strong(2.0))),
                Row::Caution(words) => strips.extend(across(fonts, words, whole, Look::strong(CAP).white())),
            }
            strips[from..].iter_mut().filter(|_| is_braced).for_each(|strip| brace(&mut strip.frame));
            if let (Some(last), false) = (strips.last_mut(), matches!(row, Row::Heading(_) | Row::Caution(_))) {
                last.binding = if has_more { Binding::WithNext } else { binding };
                if !has_more {
                    underline(&mut last.frame);
                    is_braced &= binding == Binding::WithNext;
                }
            }
        }
        let head = self.columns.iter().any(|column| !column.head.is_empty()).then(|| self.head(fonts, &widths));
        Passage { head, strips, before, begins_page: false }.without_orphans()
    }

    /// Widths of the columns, with the white at their sides.
    fn widths(&self, fonts: &Fonts, room: Length) -> Vec<Length> {
        let look = Look::strong(HEAD_CAP);
        let each = self.columns.iter().enumerate().map(|(at, column)| {
            if let Some(fixed) = column.fixed {
                return (fixed, fixed);
            }
            let longest = |words: &str| words.split_whitespace().map(|word| pen::width(fonts, look, word)).max();
            let head = longest(&column.head).unwrap_or_default();
            let cells = self.rows.iter().filter_map(|row| match row {
                Row::Cells(cells) | Row::Bound(cells) | Row::Part(cells) => cells.get(at),
                Row::Remark(_) | Row::Heading(_) | Row::Caution(_) => None,
            });
            let widest = cells
                .map(|cell| cell.widths(fonts))
                .fold((head, head), |most, widths| (most.0.max(widths.0), most.1.max(widths.1)));
            let least = if column.is_whole { widest.0 } else { widest.1 };
            (widest.0 + SIDE * 2, least + SIDE * 2)
        });
        let (wanted, least): (Vec<Length>, Vec<Length>) = each.unzip();
        let sum = |widths: &[Length]| widths.iter().fold(Length::ZERO, |sum, width| sum + *width);
        let (all, needed) = (sum(&wanted), sum(&least));
        if all <= room {
            let growing = self.columns.iter().filter(|column| column.grows).count();
            let share = (room - all).scaled(1.0 / growing.max(1) as f64);
            let grown = |(width, column): (&Length, &Column)| if column.grows { *width + share } else { *width };
            return wanted.iter().zip(&self.columns).map(grown).collect();
        }
        if needed >= room {
            let factor = room.ratio(needed);
            return least.iter().map(|width| width.scaled(factor)).collect();
        }
        let factor = (room - needed).ratio(all - needed);
        wanted.iter().zip(&least).map(|(wanted, least)| *least + (*wanted - *least).scaled(factor)).collect()
    }

    fn head(&self, fonts: &Fonts, widths: &[Length]) -> Frame {
        let look = Look::strong(HEAD_CAP);
        let lines = |(column, width): (&Column, &Length)| pen::wrapped(fonts, look, *width - SIDE * 2, &column.head);
        let heads: Vec<_> = self.columns.iter().zip(widths).map(lines).collect();
        let most = heads.iter().map(Vec::len).max().unwrap_or(0);
        let height = pen::height(look, most) + ABOVE * 2;
        let mut pen = Pen::new(fonts);
        let mut left = Length::ZERO;
        for ((lines, width), column) in heads.iter().zip(widths).zip(&self.columns) {
            let first = height - ABOVE - pen::height(look, lines.len()) + look.cap;
            for (nth, line) in (0i64..).zip(lines) {
                let at = Point::new(anchor(left, *width, column.align), first + look.leading() * nth);
                pen.shaped(at, line, look, column.align);
            }
            left += *width;
        }
        pen.rule(Point::new(Length::ZERO, height), Point::new(left, height), STRONG);
        pen.framed(Size::new(left, height))
    }

    /// The strips of one row: one, or several where a cell is very long.
    fn strips(&self, fonts: &Fonts, cells: &[Cell], widths: &[Length], foot: Foot) -> Vec<Strip> {
        let empty = Cell::Empty;
        let cells: Vec<(&Cell, &Column, Length)> = self
            .columns
            .iter()
            .zip(widths)
            .enumerate()
            .map(|(at, (column, width))| (cells.get(at).unwrap_or(&empty), column, *width))
            .collect();
        let broken: Vec<_> = cells
            .iter()
            .map(|(cell, _, width)| {
                cell.text().map(|(words, look)| pen::wrapped(fonts, look, *width - SIDE * 2, words)).unwrap_or_default()
            })
            .collect();
        let most = broken.iter().map(Vec::len).max().unwrap_or(0).max(1);
        let parts = most.div_ceil(MOST_LINES);
        let below = foot.white();
        let mut strips = Vec::with_capacity(parts);
        for part in 0..parts {
            let lines = |at: usize| broken[at].iter().skip(part * MOST_LINES).take(MOST_LINES);
            let inner = cells.iter().enumerate().map(|(at, (cell, _, width))| match cell.text() {
                Some((_, look)) => pen::height(look, lines(at).len()),
                None if part == 0 => drawn_height(fonts, cell, *width - SIDE * 2),
                None => Length::ZERO,
            });
            let height = inner.max().unwrap_or_default().max(Length::mm(CAP)) + ABOVE + below;
            // Words stand beside the middle of the first box.
            let has_boxes = part == 0 && cells.iter().any(|(cell, ..)| matches!(cell, Cell::Ticks(_)));
            let first = if has_boxes { TICK } else { Length::mm(CAP) };
            let mut pen = Pen::new(fonts);
            let mut left = Length::ZERO;
            for (at, (cell, column, width)) in cells.iter().enumerate() {
                if let Some((_, look)) = cell.text() {
                    let shift = if lines(at).len() == 1 { (first - look.cap).half() } else { Length::ZERO };
                    for (nth, line) in (0i64..).zip(lines(at)) {
                        let baseline = ABOVE + shift + look.cap + look.leading() * nth;
                        let at = Point::new(anchor(left, *width, column.align), baseline);
                        pen.shaped(at, line, look, column.align);
                    }
                } else if part == 0 {
                    let shift =
                        if matches!(cell, Cell::Colour(_)) { (first - Length::mm(CAP)).half() } else { Length::ZERO };
                    let room = Rect::new(left + SIDE, ABOVE + shift, *width - SIDE * 2, height - ABOVE - below - shift);
                    draw(&mut pen, cell, room);
                }
                left += *width;
            }
            strips.push(Strip { frame: pen.framed(Size::new(left, height)), binding: Binding::Free });
        }
        strips
    }
}

impl Cell {
    /// The width it would like, without white; and the least in which nothing is broken inside a word.
    fn widths(&self, fonts: &Fonts) -> (Length, Length) {
        let both = |width: Length| (width, width);
        if let Some((words, look)) = self.text() {
            let widest = |parts: &mut dyn Iterator<Item = &str>| {
                parts.map(|part| pen::width(fonts, look, part)).max().unwrap_or_default()
            };
            return (widest(&mut words.lines()).min(WIDEST), widest(&mut words.split_whitespace()).min(WIDEST));
        }
        match self {
            Self::Colour(colour) => both(BAR + TICK_GAP + pen::width(fonts, Look::words(CAP), &colour.to_string())),
            Self::Ticks(ticks) => {
                let each: Vec<Length> = ticks.iter().map(|tick| tick_width(fonts, tick)).collect();
                let gaps = TICK_GAP * 2 * i64::try_from(ticks.len().saturating_sub(1)).unwrap_or_default();
                let wanted = each.iter().fold(gaps, |sum, width| sum + *width);
                (wanted, each.into_iter().max().unwrap_or_default())
            }
            Self::Drawn(frame) => both(frame.size.width),
            Self::Write => both(Length::mm(18.0)),
            _ => both(Length::ZERO),
        }
    }
}

/// What is below a row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Foot {
    /// A line.
    Line,
    /// More of it.
    Open,
}

impl Foot {
    /// White above it: lines of one row are as far apart as those of one cell.
    fn white(self) -> Length {
        match self {
            Self::Line => ABOVE,
            Self::Open => Look::words(CAP).leading() - Length::mm(CAP) - ABOVE,
        }
    }
}

fn tick_width(fonts: &Fonts, tick: &Tick) -> Length {
    match tick.word.as_str() {
        "" => TICK,
        word => TICK + TICK_GAP + pen::width(fonts, Look::words(CAP), word),
    }
}

/// Where words of a cell stand.
fn anchor(left: Length, width: Length, align: Align) -> Length {
    match align {
        Align::Left => left + SIDE,
        Align::Middle => left + width.half(),
        Align::Right => left + width - SIDE,
    }
}

/// Rows of boxes: how many stand side by side.
fn tick_rows<'t>(fonts: &Fonts, ticks: &'t [Tick], width: Length) -> Vec<Vec<(&'t Tick, Length)>> {
    let mut rows: Vec<Vec<(&Tick, Length)>> = Vec::new();
    let mut used = Length::ZERO;
    for tick in ticks {
        let wide = tick_width(fonts, tick);
        match rows.last_mut() {
            Some(row) if used + wide <= width => row.push((tick, used)),
            _ => {
                used = Length::ZERO;
                rows.push(vec![(tick, used)]);
            }
        }
        used += wide + TICK_GAP * 2;
    }
    rows
}

fn drawn_height(fonts: &Fonts, cell: &Cell, width: Length) -> Length {
    match cell {
        Cell::Drawn(frame) => frame.size.height,
        Cell::Ticks(ticks) => {
            let rows = i64::try_from(tick_rows(fonts, ticks, width).len()).unwrap_or(1);
            TICK * rows + TICK_GAP * (rows - 1).max(0)
        }
        Cell::Write => Length::mm(5.0),
        _ => Length::ZERO,
    }
}

fn draw(pen: &mut Pen<'_>, cell: &Cell, room: Rect) {
    match cell {
        Cell::Colour(colour) => {
            let look = Look::words(CAP);
            let bar = Rect::new(room.left(), room.top(), BAR.min(room.size.width.half()), look.cap);
            let known = colour.base().is_some();
            pen.bar(bar, colour);
            let left = if known { bar.right() + TICK_GAP } else { room.left() };
            pen.words(Point::new(left, room.top() + look.cap), &colour.to_string(), look, Align::Left);
        }
        Cell::Ticks(ticks) => {
            let look = Look::words(CAP);
            let mut top = room.top();
            for row in tick_rows(pen.fonts(), ticks, room.size.width) {
                for (tick, left) in row {
                    let square = Rect::new(room.left() + left, top, TICK, TICK);
                    match tick.is_done {
                        true => pen.ticked_box(square),
                        false => pen.open_box(square),
                    }
                    let baseline = top + (TICK + look.cap).half();
                    pen.words(Point::new(square.right() + TICK_GAP, baseline), &tick.word, look, Align::Left);
                }
                top += TICK + TICK_GAP;
            }
        }
        Cell::Write => {
            let y = room.bottom() - FINE;
            pen.rule(Point::new(room.left(), y), Point::new(room.right(), y), FINE);
        }
        Cell::Drawn(frame) => pen.frame(room.origin, frame),
        Cell::Empty | Cell::Words(_) | Cell::Strong(_) | Cell::Code(_) | Cell::Large(_) => {}
    }
}

/// The line below a row.
fn underline(frame: &mut Frame) {
    let Size { width, height } = frame.size;
    let (from, to) = (Point::new(Length::ZERO, height), Point::new(width, height));
    frame.items.push(Item::Rule { from, to, weight: FINE, dash: Dash::Solid });
}

/// The bar beside rows that are bound.
fn brace(frame: &mut Frame) {
    let area = Rect::new(BRACE_LEFT, Length::ZERO, BRACE, frame.size.height);
    frame.items.push(Item::Fill { area, ink: Ink::Black });
}

/// A paragraph of any length: as many strips as it takes so that none is higher than a page.
pub fn paragraph(fonts: &Fonts, width: Length, words: &str, look: Look) -> Vec<Strip> {
    let strip = |lines: &[Arc<Shaped>]| {
        let mut pen = Pen::new(fonts);
        let height = set(&mut pen, Point::ORIGIN, lines, look);
        Strip { frame: pen.framed(Size::new(width, height + look.cap)), binding: Binding::Free }
    };
    pen::wrapped(fonts, look, width, words).chunks(MOST_LINES).map(strip).collect()
}

/// Draws lines, the top of the first one's capitals at `corner`; gives the height that they take.
fn set(pen: &mut Pen<'_>, corner: Point, lines: &[Arc<Shaped>], look: Look) -> Length {
    for (nth, line) in (0i64..).zip(lines) {
        let at = Point::new(corner.x, corner.y + look.cap + look.leading() * nth);
        pen.shaped(at, line, look, Align::Left);
    }
    pen::height(look, lines.len())
}

/// Words that belong to the row above, close below it; several strips where they are very long.
fn remark(fonts: &Fonts, words: &str, width: Length) -> Vec<Strip> {
    let (look, room) = (Look::words(REMARK_CAP), width - REMARK_LEFT - SIDE);
    let strip = |lines: &[Arc<Shaped>]| {
        let mut pen = Pen::new(fonts);
        let height = set(&mut pen, Point::new(REMARK_LEFT, ABOVE), lines, look) + ABOVE * 2;
        Strip { frame: pen.framed(Size::new(width, height)), binding: Binding::Free }
    };
    pen::wrapped(fonts, look, room, words).chunks(MOST_LINES).map(strip).collect()
}

/// Words across the whole table, on black where they are white; they stay with what is below. Several strips where they are very
/// long.
fn across(fonts: &Fonts, words: &str, width: Length, look: Look) -> Vec<Strip> {
    let is_on_black = look.ink == Ink::White;
    let strip = |lines: &[Arc<Shaped>]| {
        let mut pen = Pen::new(fonts);
        let height = pen::height(look, lines.len()) + ABOVE * 2;
        if is_on_black {
            pen.fill(Rect::new(Length::ZERO, Length::ZERO, width, height), Ink::Black);
        }
        set(&mut pen, Point::new(SIDE, ABOVE), lines, look);
        Strip { frame: pen.framed(Size::new(width, height)), binding: Binding::WithNext }
    };
    let mut strips: Vec<Strip> =
        pen::wrapped(fonts, look, width - SIDE * 2, words).chunks(MOST_LINES).map(strip).collect();
    if let (Some(last), false) = (strips.last_mut(), is_on_black) {
        underline(&mut last.frame);
    }
    strips
}
