//! Sheets -> pages: each with its title, what it is, the symbol that leads to its record, and a foot that says of which job, of what
//! day and after which print run it is.

use super::flow::{Passage, flow};
use super::pen::{Align, Look, Pen};
use crate::base::{Length, Point, Size, Turn};
use crate::codes::link::Payload;
use crate::layout::text::Fonts;
use crate::pages::{Heading, Page};

/// White at the left, for the holes of a binder.
const LEFT: Length = Length::nm(16_000_000);
/// White on the other sides: no office printer leaves more.
const EDGE: Length = Length::nm(10_000_000);
/// Most of the head: the symbol with its quiet zone.
const HEAD: Length = Length::nm(19_000_000);
/// Height of the foot.
const FOOT: Length = Length::nm(6_000_000);
/// Height of the title's capitals, in millimetres.
const TITLE: f64 = 5.0;
/// Line under the head and above the foot.
const LINE: Length = Length::nm(250_000);

/// Paper of an office.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Paper {
    /// ISO 216: 210 mm x 297 mm.
    #[default]
    A4,
    /// ANSI/ASME Y14.1: 8.5 in x 11 in.
    Letter,
}

impl Paper {
    /// Words of the command line.
    pub const WORDS: [(&str, Self); 2] = [("a4", Self::A4), ("letter", Self::Letter)];

    /// Its size, upright.
    pub fn size(self) -> Size {
        match self {
            Self::A4 => Size::new(Length::mm(210.0), Length::mm(297.0)),
            Self::Letter => Size::new(Length::inch(8.5), Length::inch(11.0)),
        }
    }

    /// What of it sheets have for their passages.
    pub fn room(self) -> Size {
        let size = self.size();
        Size::new(size.width - LEFT - EDGE, size.height - EDGE * 2 - HEAD - FOOT)
    }
}

/// What stands on all sheets.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Letterhead {
    /// Title of the job.
    pub job: String,
    /// The day, as it is written.
    pub date: String,
    /// The last print run, in words; what the codes on the sheets agree with.
    pub run: String,
    /// The paper.
    pub paper: Paper,
    /// What the symbol of sheets says that have none of their own.
    pub symbol: String,
}

impl Letterhead {
    /// What leads to a whole job: the address of its records, else its title, in words for any phone.
    pub fn symbol_of_job(payload: &Payload, title: &str, date: &str) -> String {
        match payload {
            Payload::Link { base } => base.to_string(),
            Payload::Text | Payload::Code => format!("{title}, {date}").to_uppercase(),
        }
    }
}

/// One sheet, of as many pages as it needs.
#[derive(Clone, Debug, PartialEq)]
pub struct Sheet {
    /// Its title: a connector's designation, or what the sheet is.
    pub title: String,
    /// What stands behind the title: the connector's short name.
    pub subtitle: String,
    /// What sort of sheet it is: `work list`.
    pub sort: String,
    /// What its symbol says; without one, that of the job.
    pub symbol: Option<String>,
    /// What it shows.
    pub passages: Vec<Passage>,
}

/// Lays sheets out on pages. A sheet that shows nothing has no page.
pub fn pages(sheets: &[Sheet], letterhead: &Letterhead, fonts: &Fonts) -> Vec<Page> {
    sheets.iter().flat_map(|sheet| pages_of(sheet, letterhead, fonts)).collect()
}

fn pages_of(sheet: &Sheet, letterhead: &Letterhead, fonts: &Fonts) -> Vec<Page> {
    let (size, room) = (letterhead.paper.size(), letterhead.paper.room());
    let bodies = flow(&sheet.passages, room.height);
    let count = bodies.len();
    let page = |(nth, body): (usize, Vec<crate::layout::Item>)| {
        let mut pen = Pen::new(fonts);
        head(&mut pen, sheet, letterhead, size);
        foot(&mut pen, letterhead, size, &format!("{}, {}: page {} of {count}", sheet.title, sheet.sort, nth + 1));
        let corner = Point::new(LEFT, EDGE + HEAD);
        pen.items.extend(body.iter().map(|item| item.placed(Turn::Upright, Size::default(), corner)));
        let heading = Heading { words: format!("{}, {}", sheet.title, sheet.sort), at: Point::new(LEFT, EDGE) };
        let headings = if nth == 0 { vec![heading] } else { Vec::new() };
        Page { size, marks: pen.items, headings, ..Page::default() }
    };
    bodies.into_iter().enumerate().map(page).collect()
}

fn head(pen: &mut Pen<'_>, sheet: &Sheet, letterhead: &Letterhead, size: Size) {
    let right = size.width - EDGE;
    let text = sheet.symbol.as_ref().unwrap_or(&letterhead.symbol);
    let symbol = pen.symbol(Point::new(right, EDGE - Length::mm(1.0)), HEAD, text);
    let room = right - symbol.unwrap_or_default() - LEFT;
    let mut cap = TITLE;
    while cap > 2.0 && super::pen::width(pen.fonts(), Look::strong(cap), &sheet.title) > room {
        cap -= 0.5;
    }
    let baseline = EDGE + Length::mm(TITLE) + Length::mm(1.0);
    let title = Look::strong(cap);
    pen.words(Point::new(LEFT, baseline), &sheet.title, title, Align::Left);
    let (sort, words) = (Look::strong(2.4), Look::words(2.2));
    let below = baseline + Length::mm(5.0);
    pen.words(Point::new(LEFT, below), &sheet.sort, sort, Align::Left);
    let left = LEFT + super::pen::width(pen.fonts(), sort, &sheet.sort) + Length::mm(3.0);
    let rest = room - (left - LEFT);
    if let Some(first) = super::pen::wrapped(pen.fonts(), words, rest, &sheet.subtitle).first() {
        pen.shaped(Point::new(left, below), first, words, Align::Left);
    }
    let y = EDGE + HEAD - Length::mm(2.5);
    pen.rule(Point::new(LEFT, y), Point::new(right - symbol.unwrap_or_default(), y), LINE);
}

fn foot(pen: &mut Pen<'_>, letterhead: &Letterhead, size: Size, number: &str) {
    let (right, y) = (size.width - EDGE, size.height - EDGE - FOOT + Length::mm(2.0));
    pen.rule(Point::new(LEFT, y), Point::new(right, y), LINE);
    let look = Look::words(1.6);
    let baseline = size.height - EDGE;
    let left = format!("{} · {} · {}", letterhead.job, letterhead.date, letterhead.run);
    pen.words(Point::new(LEFT, baseline), &left, look, Align::Left);
    pen.words(Point::new(right, baseline), number, look, Align::Right);
}
