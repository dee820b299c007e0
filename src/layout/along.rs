//! Words along the wire, for sleeves and strips: code, marks and lines one after the other in one row, or in several side by side
//! round a wire that is thick enough.

use std::sync::Arc;

use super::fit::{Fitting, Floors};
use super::frame::{Face, Ink, Item, Stretch};
use super::keep::{Keeping, Kept};
use super::text::{Fonts, MissingCharacter, Shaped};
use super::words::face_of;
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::labels::{Field, Line, Worth};

/// White between the parts of a line, in capitals' heights.
const GAP: f64 = 0.9;
/// White left and right inside a mark, in capitals' heights.
const MARK_PADDING: f64 = 0.4;
/// White between two rows, in capitals' heights of the words.
const ROW_GAP: f64 = 0.3;
/// How far a mark reaches above and below the capitals, in capitals' heights.
const MARK_REACH: f64 = 0.18;

/// The words of a label shaped for one line, once for all tries.
pub struct AlongWords<'f> {
    fonts: &'f Fonts,
    floors: &'f Floors,
    code: Arc<Shaped>,
    marks: Vec<(String, Arc<Shaped>)>,
    lines: Vec<AlongLine>,
    keeping: Keeping,
    undrawable: Vec<(Field, MissingCharacter)>,
}

/// A line, with the text of each of its wordings, the full one first.
struct AlongLine {
    line: Line,
    wordings: Vec<(String, Arc<Shaped>)>,
}

/// What stands in the row.
struct Part<'w> {
    shaped: &'w Shaped,
    sort: Sort,
    cap: Length,
}

#[derive(Clone, Copy, PartialEq)]
enum Sort {
    Code,
    Mark,
    Line,
}

/// Heights of capitals: the code is larger than the words, so that more words stay on a short tag.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Caps {
    /// Of the code.
    pub code: Length,
    /// Of marks and words.
    pub words: Length,
}

impl Caps {
    /// The words at three quarters of the code's height, not below the floor.
    fn with_code(code: Length, floors: &Floors) -> Self {
        Self { code, words: code.scaled(0.75).max(floors.round_least) }
    }
}

/// The words measured at a height of capitals, in rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlongBlock {
    rows: Vec<AlongRow>,
    /// White between rows.
    gap: Length,
}

/// One row: so many parts.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct AlongRow {
    parts: usize,
    length: Length,
    /// How far it rises above its baseline.
    rise: Length,
    /// How far it falls below its baseline.
    fall: Length,
}

impl AlongBlock {
    /// How many rows there are.
    pub fn rows(&self) -> usize {
        self.rows.len()
    }

    /// Length along the wire.
    pub fn length(&self) -> Length {
        self.rows.iter().map(|row| row.length).max().unwrap_or_default()
    }

    /// How much room it takes across the wire.
    pub fn height(&self) -> Length {
        let rows: Length = self.rows.iter().map(|row| row.rise + row.fall).sum();
        rows + self.gap * (self.rows.len() as i64 - 1)
    }
}

impl<'f> AlongWords<'f> {
    /// Shapes the words of a label. A line with a character that no face can draw is left out, see
    /// [`AlongWords::undrawable`].
    ///
    /// # Errors
    /// [`MissingCharacter`] when code or marks cannot be drawn: without them there is no tag.
    pub fn of(fitting: &Fitting<'f>) -> Result<Self, MissingCharacter> {
        let Fitting { fonts, floors, label, .. } = *fitting;
        let (mut lines, mut undrawable) = (Vec::new(), Vec::new());
        for line in fitting.wording.lines(label) {
            match AlongLine::wordings(fonts, &line) {
                Ok(wordings) => lines.push(AlongLine { line, wordings }),
                Err(missing) => undrawable.extend(line.fields().iter().map(|&field| (field, missing))),
            }
        }
        let mark = |text: &str| fonts.shape(Face::Strong, text).map(|shaped| (text.to_owned(), shaped));
        Ok(Self {
            fonts,
            floors,
            code: fonts.shape(Face::Code, &label.name.to_string())?,
            marks: label.bands.iter().map(|(_, text)| mark(text)).collect::<Result<_, _>>()?,
            keeping: Keeping::of(lines.iter().map(|along| &along.line)),
            lines,
            undrawable,
        })
    }

    /// The heights and what is kept, so that the words hold in the room.
    ///
    /// First extra and useful lines are given up; then the letters become smaller, down to the floor; then words are left
    /// out; the vital lines go last. `None` when not even code and marks hold at the floor.
    pub fn largest(&self, room: Size) -> Option<(Caps, Kept)> {
        let floors = self.floors;
        let between = |share: f64| floors.round_least + (floors.round_wanted - floors.round_least).scaled(share);
        let caps = [1.0, 0.8, 0.6, 0.4, 0.2, 0.0].map(|share| Caps::with_code(between(share), floors));
        let holds = |kept: Kept, caps: Caps| {
            let block = self.measure(kept, caps, room.width);
            block.height() <= room.height && block.length() <= room.width
        };
        let is_more_than_vital =
            |kept: &Kept| self.keeping.least_worth(*kept).is_some_and(|worth| worth > Worth::Vital);
        let (more, fewer): (Vec<_>, Vec<_>) = self.keeping.tries().into_iter().partition(is_more_than_vital);
        let wanted = more.into_iter().filter(|kept| kept.words_cut == 0).map(|kept| (kept, caps[0]));
        let smaller = fewer.into_iter().flat_map(|kept| caps.map(|caps| (kept, caps)));
        wanted.chain(smaller).find(|&(kept, caps)| holds(kept, caps)).map(|(kept, caps)| (caps, kept))
    }

    /// Measures the words with capitals of these heights, in as few rows of at most this length as their parts allow. A part that is
    /// longer still has a row of its own.
    pub fn measure(&self, kept: Kept, caps: Caps, longest: Length) -> AlongBlock {
        let mut block = AlongBlock { rows: Vec::new(), gap: caps.words.scaled(ROW_GAP) };
        for part in self.parts(kept, caps) {
            let padding = if part.sort == Sort::Mark { part.cap.scaled(MARK_PADDING * 2.0) } else { Length::ZERO };
            let width = self.fonts.width(part.shaped, part.cap) + padding;
            let reach = if part.sort == Sort::Mark { part.cap.scaled(MARK_REACH) } else { Length::ZERO };
            let rise = self.fonts.rise(part.shaped, part.cap).max(part.cap + reach);
            let fall = self.fonts.fall(part.shaped, part.cap).max(reach);
            let gap = part.cap.scaled(GAP);
            match block.rows.last_mut() {
                Some(row) if row.length + gap + width <= longest => {
                    row.parts += 1;
                    row.length += gap + width;
                    row.rise = row.rise.max(rise);
                    row.fall = row.fall.max(fall);
                }
                _ => block.rows.push(AlongRow { parts: 1, length: width, rise, fall }),
            }
        }
        block
    }

    /// Draws measured words with their upper left corner at a place.
    pub fn draw(&self, block: &AlongBlock, kept: Kept, caps: Caps, at: Point, stretch: Stretch) -> Vec<Item> {
        let mut items = Vec::new();
        let across = |length: Length| length.scaled(stretch.across);
        let mut parts = self.parts(kept, caps);
        let mut top = at.y;
        for row in &block.rows {
            let (mut x, y) = (at.x, top + across(row.rise));
            for (index, Part { shaped, sort, cap }) in parts.by_ref().take(row.parts).enumerate() {
                if index > 0 {
                    x += cap.scaled(GAP);
                }
                let width = self.fonts.width(shaped, cap);
                let mut ink = Ink::Black;
                if sort == Sort::Mark {
                    let (padding, reach) = (cap.scaled(MARK_PADDING), cap.scaled(MARK_REACH));
                    let area = Rect::new(x, y - across(cap + reach), width + padding * 2, across(cap + reach * 2));
                    items.push(Item::Fill { area, ink: Ink::Black });
                    x += padding;
                    ink = Ink::White;
                }
                items.extend(self.fonts.place(shaped, cap, Point::new(x, y), Turn::Upright, stretch, ink));
                x += width;
                if sort == Sort::Mark {
                    x += cap.scaled(MARK_PADDING);
                }
            }
            top += across(row.rise + row.fall + block.gap);
        }
        items
    }

    /// Marks and lines as printed, after the code.
    pub fn said(&self, kept: Kept) -> Vec<String> {
        let marks = self.marks.iter().map(|(text, _)| text.clone());
        marks.chain(self.kept(kept).map(|(_, (text, _))| text.clone())).collect()
    }

    /// Fields that are given up.
    pub fn dropped(&self, kept: Kept) -> Vec<Field> {
        self.fields_of(|line| !self.keeping.keeps(line, kept))
    }

    /// Fields that lose words.
    pub fn shortened(&self, kept: Kept) -> Vec<Field> {
        self.fields_of(|line| self.keeping.keeps(line, kept) && self.keeping.wording(line, kept) > 0)
    }

    /// Fields with a character that no face can draw, which are left out.
    pub fn undrawable(&self) -> &[(Field, MissingCharacter)] {
        &self.undrawable
    }

    fn fields_of(&self, is_meant: impl Fn(usize) -> bool) -> Vec<Field> {
        let lines = self.lines.iter().enumerate().filter(|(index, _)| is_meant(*index));
        lines.flat_map(|(_, along)| along.line.fields()).copied().collect()
    }

    /// The lines that are kept, each with the wording that is printed.
    fn kept(&self, kept: Kept) -> impl Iterator<Item = (&AlongLine, &(String, Arc<Shaped>))> {
        let lines = self.lines.iter().enumerate().filter(move |(index, _)| self.keeping.keeps(*index, kept));
        lines.filter_map(move |(index, along)| Some((along, along.wordings.get(self.keeping.wording(index, kept))?)))
    }

    fn parts(&self, kept: Kept, caps: Caps) -> impl Iterator<Item = Part<'_>> {
        let code = Part { shaped: &self.code, sort: Sort::Code, cap: caps.code };
        let marks = self.marks.iter().map(move |(_, shaped)| Part { shaped, sort: Sort::Mark, cap: caps.words });
        let lines = self.kept(kept).map(move |(along, (_, shaped))| {
            let cap = caps.words.scaled(along.line.look().size).max(self.floors.round_least);
            Part { shaped, sort: Sort::Line, cap }
        });
        std::iter::once(code).chain(marks).chain(lines)
    }
}

impl AlongLine {
    /// The wordings of a line, its lead before each.
    fn wordings(fonts: &Fonts, line: &Line) -> Result<Vec<(String, Arc<Shaped>)>, MissingCharacter> {
        let face = face_of(line.look().lettering);
        let lead = line.look().lead.as_ref().map_or_else(String::new, |lead| format!("{lead} "));
        let is_place = line.fields().iter().all(|field| field.is_place());
        let wording = |number| {
            let words = line.wording(number).join(" ");
            let words = if is_place { words.replace(" / ", "/") } else { words };
            let left_out = if number > 0 { "…" } else { "" };
            let text = format!("{lead}{words}{left_out}");
            fonts.shape(face, &text).map(|shaped| (text, shaped))
        };
        (0..line.wordings()).map(wording).collect()
    }
}
