//! Sheets -> pages: each with its title, what it is, the symbol that leads to its record, and a foot that says of which job, of what
//! day and after which print run it is.

use super::flow::{Passage, flow};
use super::pen::{Align, Look, Pen, width};
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
/// White between what stands at the left and at the right of the foot, at least.
const BETWEEN: Length = Length::nm(4_000_000);
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
    // The same on every page: its symbol is encoded once.
    let mut top = Pen::new(fonts);
    head(&mut top, sheet, letterhead, size);
    let page = |(nth, body): (usize, Vec<crate::layout::Item>)| {
        let mut pen = Pen::new(fonts);
        pen.items.clone_from(&top.items);
        foot(&mut pen, sheet, letterhead, size, &format!("{}: page {} of {count}", sheet.sort, nth + 1));
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
    while cap > 2.0 && width(pen.fonts(), Look::strong(cap), &sheet.title) > room {
        cap -= 0.5;
    }
    let baseline = EDGE + Length::mm(TITLE) + Length::mm(1.0);
    let title = Look::strong(cap);
    let words = shortened(pen.fonts(), title, room, &sheet.title);
    pen.words(Point::new(LEFT, baseline), &words, title, Align::Left);
    let (sort, words) = (Look::strong(2.4), Look::words(2.2));
    let below = baseline + Length::mm(5.0);
    pen.words(Point::new(LEFT, below), &sheet.sort, sort, Align::Left);
    let left = LEFT + width(pen.fonts(), sort, &sheet.sort) + Length::mm(3.0);
    let subtitle = shortened(pen.fonts(), words, room - (left - LEFT), &sheet.subtitle);
    pen.words(Point::new(left, below), &subtitle, words, Align::Left);
    let y = EDGE + HEAD - Length::mm(2.5);
    pen.rule(Point::new(LEFT, y), Point::new(right - symbol.unwrap_or_default(), y), LINE);
}

/// Job, day and run at the left, sheet and page at the right; what is too long loses its end, but never the page, the day and the run.
fn foot(pen: &mut Pen<'_>, sheet: &Sheet, letterhead: &Letterhead, size: Size, page: &str) {
    let (right, y) = (size.width - EDGE, size.height - EDGE - FOOT + Length::mm(2.0));
    pen.rule(Point::new(LEFT, y), Point::new(right, y), LINE);
    let look = Look::words(1.6);
    let baseline = size.height - EDGE;
    let fonts = pen.fonts();
    // A sheet of the whole job has its title at the left already.
    let number = if sheet.title == letterhead.job {
        page.to_owned()
    } else {
        let behind = format!(", {page}");
        let room = (right - LEFT).half() - width(fonts, look, &behind);
        shortened(fonts, look, room, &sheet.title) + &behind
    };
    let behind = format!(" · {} · {}", letterhead.date, letterhead.run);
    let taken = width(fonts, look, &number) + BETWEEN + width(fonts, look, &behind);
    let left = shortened(fonts, look, right - LEFT - taken, &letterhead.job) + &behind;
    pen.words(Point::new(LEFT, baseline), &left, look, Align::Left);
    pen.words(Point::new(right, baseline), &number, look, Align::Right);
}

/// Words in one line, of which the end is left out where they are wider than the room.
fn shortened(fonts: &Fonts, look: Look, room: Length, words: &str) -> String {
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    if width(fonts, look, &words) <= room {
        return words;
    }
    let ends: Vec<usize> = words.char_indices().map(|(at, _)| at).collect();
    let start = |end: usize| format!("{}…", words[..end].trim_end());
    let fitting = ends.partition_point(|end| width(fonts, look, &start(*end)) <= room);
    start(fitting.checked_sub(1).and_then(|last| ends.get(last)).copied().unwrap_or_default())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Rect;
    use crate::layout::Item;
    use crate::paperwork::flow::Binding;

    /// Words of the one page of a sheet, with their bounds.
    fn printed(title: &str, subtitle: &str, job: &str) -> Vec<(String, Rect)> {
        let fonts = Fonts::new();
        let body = super::super::pen::paragraph(&fonts, Length::mm(50.0), "body", Look::words(2.0));
        let sheet = Sheet {
            title: title.to_owned(),
            subtitle: subtitle.to_owned(),
            sort: "work list".to_owned(),
            symbol: None,
            passages: vec![Passage::of(body, Length::ZERO, Binding::Free)],
        };
        let letterhead = Letterhead {
            job: job.to_owned(),
            date: "2026-11-28".to_owned(),
            run: "before the first print run".to_owned(),
            paper: Paper::A4,
            symbol: "MARSH HEN".to_owned(),
        };
        let pages = pages(&[sheet], &letterhead, &fonts);
        let of_text = |item: &Item| match item {
            Item::Text(text) => Some((text.glyphs.iter().map(|glyph| &*glyph.text).collect(), text.bounds)),
            _ => None,
        };
        pages[0].marks.iter().filter_map(of_text).collect()
    }

    fn has(words: &[(String, Rect)], wanted: &str) -> bool {
        words.iter().any(|(words, _)| words == wanted)
    }

    #[test]
    fn the_foot_names_the_job_once() {
        let words = printed("Marsh Hen", "12 lines", "Marsh Hen");
        assert!(has(&words, "work list: page 1 of 1"), "{words:?}");
        assert!(has(&words, "Marsh Hen · 2026-11-28 · before the first print run"), "{words:?}");
        assert!(has(&printed("J1", "engine", "Marsh Hen"), "J1, work list: page 1 of 1"));
    }

    /// Nothing is printed over anything else nor leaves the paper, and what was left out is told.
    #[test]
    fn long_titles_are_shortened() {
        let long = "repower of the workboat Marsh Hen with the engine of a van and its whole loom ".repeat(3);
        for (title, job) in [(&*long, &*long), ("J1", &*long), (&*long, "Marsh Hen"), ("X", "W")] {
            let words = printed(title, &long, job);
            for (nth, (one, bounds)) in words.iter().enumerate() {
                assert!(bounds.left() >= LEFT - Length::mm(0.5), "{one}");
                assert!(bounds.right() <= Paper::A4.size().width - EDGE + Length::mm(0.5), "{one}");
                for (other, other_bounds) in &words[nth + 1..] {
                    let is_beside = bounds.right() <= other_bounds.left() || other_bounds.right() <= bounds.left();
                    let is_above = bounds.bottom() <= other_bounds.top() || other_bounds.bottom() <= bounds.top();
                    assert!(is_beside || is_above, "{one} lies over {other}");
                }
            }
            let behind = "2026-11-28 · before the first print run";
            assert!(words.iter().any(|(words, _)| words.ends_with(behind)), "{words:?}");
            assert!(words.iter().any(|(words, _)| words.ends_with("work list: page 1 of 1")), "{words:?}");
            let subtitle = words.iter().find(|(words, _)| words.starts_with("repower") && words.ends_with('…'));
            assert!(subtitle.is_some(), "{words:?}");
        }
    }
}
