//! A stock drawn by its measures: what a sheet, roll or tube looks like, with its numbers, before anything is printed on it.
//!
//! In: a stock. Out: a page, at true size, that shows labels with corners, holes, knife lines and clear tails, the number of each
//! place, and the measures by which it was described.

use super::impose::Words;
use super::marks::{self, moved};
use super::{Cut, Geometry, Heading, LabelForm, Labels, Page, Sheet, Stock};
use crate::base::{Length, Point, Rect, Size};
use crate::layout::frame::Dash;
use crate::layout::tie_on::{self, Punching, TieOnStock};
use crate::layout::{Ink, Item};

/// White round the stock, for its measures.
const AROUND: Length = Length::nm(22_000_000);
/// Width of outlines.
const OUTLINE: Length = Length::nm(150_000);
/// Width of the lines of measures.
const FINE: Length = Length::nm(80_000);
/// Dashes of knife lines and folds.
const DASH: Length = Length::nm(1_000_000);
/// Height of words and numbers.
const WORDS: Length = Length::nm(2_600_000);
/// Ticks at the ends of measures.
const TICK: Length = Length::nm(1_200_000);
/// As many groups beyond the first have room for their measures.
const MOST_TOLD: usize = 3;
/// A tube is drawn no longer than this.
const SHOWN: Length = Length::nm(150_000_000);
const CLEAR: Ink = Ink::Colour([236, 236, 236]);

/// The unit of a measure.
#[derive(Clone, Copy)]
enum Unit {
    /// It stands behind the number.
    Told,
    /// Another measure has it.
    Known,
}

/// The drawing of a stock; `words` sets numbers and words.
pub fn drawing(stock: &Stock, words: Words<'_>) -> Page {
    let mut pen = Pen { items: Vec::new(), words };
    let size = match stock.geometry() {
        Geometry::Sheet(sheet) => pen.sheet(sheet),
        Geometry::Roll(roll) => {
            let area = Rect { origin: Point::new(AROUND, AROUND), size: roll.label() };
            pen.label(area, roll.corner_radius(), roll.form(), 1);
            pen.across(area.left(), area.right(), area.top(), Unit::Told);
            pen.down(area.top(), area.bottom(), area.left());
            roll.label()
        }
        Geometry::Tube(tube) => {
            let (flat, shown) = (tube.size().lay_flat(), tube.piece().min(SHOWN));
            let area = Rect::new(AROUND, AROUND, shown, flat);
            pen.outline(area, Length::ZERO);
            let print = tube.size().print_height();
            let top = area.top() + (flat - print).half();
            for y in [top, top + print] {
                pen.dashed(Point::new(area.left(), y), Point::new(area.right(), y));
            }
            pen.down(area.top(), area.bottom(), area.left());
            let size = tube.size();
            let told = format!(
                "{}: {} as supplied, {} recovered, {} flat, {} takes print; a piece of {}",
                size.name,
                size.expanded,
                size.recovered,
                flat,
                print,
                tube.piece()
            );
            pen.note(Point::new(area.left(), area.bottom() + TICK), shown.max(Length::mm(120.0)), &told);
            Size::new(shown.max(Length::mm(120.0)), flat)
        }
        Geometry::Paper(page) => {
            let area = Rect { origin: Point::new(AROUND, AROUND), size: *page };
            pen.outline(area, Length::ZERO);
            pen.across(area.left(), area.right(), area.top(), Unit::Told);
            pen.down(area.top(), area.bottom(), area.left());
            pen.note(
                Point::new(area.left() + TICK, area.top() + TICK),
                page.width,
                "strips are cut from it, as long as each tag",
            );
            *page
        }
    };
    let size = Size::new(size.width + AROUND * 2, size.height + AROUND * 2);
    pen.note(Point::new(AROUND, size.height - WORDS - TICK), size.width - AROUND * 2, &title(stock));
    let headings = vec![Heading { words: stock.name().to_owned(), at: Point::ORIGIN }];
    Page { size, marks: pen.items, headings, ..Page::default() }
}

/// The measures of a group of labels in words.
fn measured(group: usize, labels: &Labels) -> String {
    let (block, label, pitch) = (labels.block(), labels.label(), labels.pitch());
    let many = |count: u32, word: &str, pitch: Length| match count {
        1 => format!("1 {word}"),
        count => format!("{count} {word}s every {}", number(pitch)),
    };
    format!(
        "group {group}: left {}, top {}; labels {} x {}; {}, {}",
        number(block.left()),
        number(block.top()),
        number(label.width),
        number(label.height),
        many(labels.columns(), "column", pitch.width),
        many(labels.rows(), "row", pitch.height)
    )
}

fn title(stock: &Stock) -> String {
    let printers: Vec<String> = stock.printers().iter().map(ToString::to_string).collect();
    let heat = stock.highest_temperature().map(|celsius| format!(", up to {celsius} °C")).unwrap_or_default();
    format!("{}, {} thick, for {}{heat}", stock.name(), stock.thickness(), printers.join(", "))
}

/// Draws items in their order.
struct Pen<'a> {
    items: Vec<Item>,
    words: Words<'a>,
}

impl Pen<'_> {
    fn sheet(&mut self, sheet: &Sheet) -> Size {
        let around = Point::new(AROUND, AROUND);
        let page = Rect { origin: around, size: sheet.page() };
        self.outline(page, Length::ZERO);
        for (labels, group) in sheet.groups().iter().enumerate() {
            for number in sheet.places_of(labels) {
                let Some(place) = sheet.place(number) else { continue };
                if let Some(label) = sheet.label_of(number).filter(|label| label.origin == place.origin) {
                    self.outline(label.moved(around), group.corner_radius());
                } else {
                    let corner = place.origin.plus(around);
                    self.dashed(corner, corner.plus(Point::new(place.size.width, Length::ZERO)));
                }
                self.inside(place.moved(around), group.form(), number + 1);
            }
        }
        self.across(page.left(), page.right(), page.top() - WORDS * 2, Unit::Told);
        self.down(page.top(), page.bottom(), page.left() - Length::nm(10_000_000));
        if let Some(group) = sheet.groups().first() {
            self.measures(page, sheet, group);
        }
        let told = match sheet.cut() {
            Cut::Die => "the trailing end: a run takes the last labels first",
            Cut::Lines => "plain paper, cut along printed lines",
        };
        self.note(Point::new(page.left(), page.bottom() + TICK), page.size.width, told);
        // Lines of the other groups would lie over those of the first: they are told in words.
        for (at, group) in sheet.groups().iter().enumerate().skip(1).take(MOST_TOLD) {
            let down = TICK + (WORDS + TICK) * i64::try_from(at).unwrap_or(0);
            self.note(Point::new(page.left(), page.bottom() + down), page.size.width, &measured(at + 1, group));
        }
        sheet.page()
    }

    /// Where the labels begin, how large the first is, and how far the next lies.
    fn measures(&mut self, page: Rect, sheet: &Sheet, group: &Labels) {
        let around = Point::new(AROUND, AROUND);
        let Some(first) = sheet.label_of(0).map(|label| label.moved(around)) else { return };
        self.across(page.left(), first.left(), page.top(), Unit::Known);
        self.across(first.left(), first.right(), page.top(), Unit::Known);
        self.down(page.top(), first.top(), page.left());
        self.down(first.top(), first.bottom(), page.left());
        if group.columns() > 1 {
            let next = first.left() + group.pitch().width;
            self.across(first.right(), next, page.top(), Unit::Known);
        }
        if group.rows() > 1 {
            let next = first.top() + group.pitch().height;
            self.down(first.bottom(), next, page.left());
        }
    }

    fn label(&mut self, area: Rect, radius: Length, form: LabelForm, number: usize) {
        self.outline(area, radius);
        self.inside(area, form, number);
    }

    /// What of a place takes no print, and its number.
    fn inside(&mut self, area: Rect, form: LabelForm, number: usize) {
        match form {
            LabelForm::Plain => {}
            LabelForm::Wrap { print } => {
                let tail = Rect::new(area.left(), area.top() + print, area.size.width, area.size.height - print);
                self.items.push(Item::Fill { area: tail.inset(OUTLINE), ink: CLEAR });
                let y = area.top() + print;
                self.dashed(Point::new(area.left(), y), Point::new(area.right(), y));
            }
            LabelForm::Plate(holes) => {
                let plate = TieOnStock { plate: area.size, holes, punching: Punching::Done, dpi: 0 };
                for hole in tie_on::Geometry::new(&plate).holes.into_iter().flatten() {
                    let hole = hole.moved(area.origin);
                    let radius = hole.size.width.half();
                    self.items.push(Item::Outline { area: hole, weight: OUTLINE, radius });
                }
            }
        }
        let room = Size::new(area.size.width, WORDS.min(area.size.height));
        let frame = (self.words)(room, &number.to_string());
        let by = Point::new(
            area.left() + (area.size.width - frame.size.width).half(),
            area.top() + (area.size.height - frame.size.height).half(),
        );
        if frame.size.width <= area.size.width {
            self.items.extend(frame.items.into_iter().map(|item| moved(item, by)));
        }
    }

    fn outline(&mut self, area: Rect, radius: Length) {
        self.items.push(Item::Outline { area, weight: OUTLINE, radius });
    }

    fn dashed(&mut self, from: Point, to: Point) {
        self.items.push(Item::Rule { from, to, weight: FINE, dash: Dash::Dashed(DASH) });
    }

    fn line(&mut self, from: Point, to: Point) {
        self.items.push(Item::Rule { from, to, weight: FINE, dash: Dash::Solid });
    }

    /// A measure across, above `y`; with its unit where it stands alone.
    fn across(&mut self, from: Length, to: Length, y: Length, unit: Unit) {
        let y = y - TICK * 2;
        if to <= from {
            return;
        }
        self.line(Point::new(from, y), Point::new(to, y));
        for x in [from, to] {
            self.line(Point::new(x, y - TICK.half()), Point::new(x, y + TICK.half()));
        }
        let told = match unit {
            Unit::Told => (to - from).to_string(),
            Unit::Known => number(to - from),
        };
        let frame = (self.words)(Size::new(AROUND, WORDS), &told);
        let by = Point::new((from + to - frame.size.width).half(), y - TICK.half() - frame.size.height);
        self.items.extend(frame.items.into_iter().map(|item| moved(item, by)));
    }

    /// A measure down, left of `x`.
    fn down(&mut self, from: Length, to: Length, x: Length) {
        let x = x - TICK * 2;
        if to <= from {
            return;
        }
        self.line(Point::new(x, from), Point::new(x, to));
        for y in [from, to] {
            self.line(Point::new(x - TICK.half(), y), Point::new(x + TICK.half(), y));
        }
        let frame = (self.words)(Size::new(AROUND, WORDS), &number(to - from));
        let by = Point::new(x - TICK - frame.size.width, (from + to - frame.size.height).half());
        self.items.extend(frame.items.into_iter().map(|item| moved(item, by)));
    }

    fn note(&mut self, at: Point, width: Length, text: &str) {
        self.items.extend(marks::words_in(Rect { origin: at, size: Size::new(width, WORDS) }, text, self.words));
    }
}

/// A length in mm without its unit.
fn number(length: Length) -> String {
    length.to_string().trim_end_matches(" mm").to_owned()
}
