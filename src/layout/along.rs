//! One line along the wire: marks, code and words one after the other, for sleeves and strips.

use std::rc::Rc;

use super::fit::Floors;
use super::frame::{Face, Ink, Item, Stretch};
use super::text::{Fonts, MissingCharacter, Shaped};
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::labels::{Field, Label};

/// White between the parts of a line, in capitals' heights.
const GAP: f64 = 0.9;
/// White left and right inside a mark, in capitals' heights.
const MARK_PADDING: f64 = 0.4;
/// How far a mark reaches above and below the capitals, in capitals' heights.
const MARK_REACH: f64 = 0.18;

/// The words of a label shaped for one line, once for all tries.
pub struct AlongWords {
    code: Rc<Shaped>,
    marks: Vec<Rc<Shaped>>,
    lines: Vec<(Field, Vec<Rc<Shaped>>)>,
    undrawable: Vec<(Field, MissingCharacter)>,
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

    /// The height of a part: the code comes first.
    const fn of(self, part: usize) -> Length {
        if part == 0 { self.code } else { self.words }
    }
}

/// What one line keeps of its label.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AlongKept {
    /// How many of the lines, from the first.
    pub lines: usize,
    /// Which wording of the function: 0 is the full one.
    pub function: usize,
}

/// The line measured at a height of capitals.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct AlongSize {
    /// Length along the wire.
    pub length: Length,
    /// How far it rises above the baseline.
    pub rise: Length,
    /// How far it falls below the baseline.
    pub fall: Length,
}

impl AlongWords {
    /// Shapes the words of a label. A line with a character that no face can draw is left out, see
    /// [`AlongWords::undrawable`].
    ///
    /// # Errors
    /// [`MissingCharacter`] when code or marks cannot be drawn: without them there is no tag.
    pub fn of(fonts: &Fonts, label: &Label) -> Result<Self, MissingCharacter> {
        let (mut lines, mut undrawable) = (Vec::new(), Vec::new());
        for line in &label.lines {
            let (face, lead) = match line.field() {
                Field::Function => (Face::Strong, ""),
                Field::Here => (Face::Code, ""),
                Field::There => (Face::Code, "to "),
                Field::Move => (Face::Code, "move to "),
                _ => (Face::Words, ""),
            };
            let shape = |number| {
                let words = line.wording(number).join(" ").replace(" / ", "/");
                let left_out = if number > 0 { "…" } else { "" };
                fonts.shape(face, &format!("{lead}{words}{left_out}"))
            };
            match (0..line.wordings()).map(shape).collect() {
                Ok(wordings) => lines.push((line.field(), wordings)),
                Err(missing) => undrawable.push((line.field(), missing)),
            }
        }
        Ok(Self {
            code: fonts.shape(Face::Code, &label.name.to_string())?,
            marks: label.bands.iter().map(|(_, text)| fonts.shape(Face::Strong, text)).collect::<Result<_, _>>()?,
            lines,
            undrawable,
        })
    }

    /// What may be kept, from everything to code and marks alone. Designation, branch and note go first; then the
    /// function is shortened; then conductor and places go.
    pub fn kept(&self) -> Vec<AlongKept> {
        let shortest = self.lines.iter().find(|(field, _)| *field == Field::Function).map_or(0, |(_, w)| w.len() - 1);
        let mut all = Vec::new();
        for lines in (0..=self.lines.len()).rev() {
            all.push(AlongKept { lines, function: 0 });
            let next_given_up = lines.checked_sub(1).map(|last| self.lines[last].0);
            if next_given_up.is_some_and(|field| field <= Field::Conductor) {
                all.extend((1..=shortest).map(|function| AlongKept { lines, function }));
            }
        }
        all
    }

    /// Fields with a character that no face can draw, which are left out.
    pub fn undrawable(&self) -> &[(Field, MissingCharacter)] {
        &self.undrawable
    }

    /// The lines that are given up.
    pub fn dropped(&self, kept: AlongKept) -> Vec<Field> {
        self.lines[kept.lines.min(self.lines.len())..].iter().map(|(field, _)| *field).collect()
    }

    fn parts(&self, kept: AlongKept) -> impl Iterator<Item = (&Rc<Shaped>, bool)> {
        let lines = self.lines.iter().take(kept.lines).filter_map(move |(field, wordings)| {
            let wording = if *field == Field::Function { kept.function.min(wordings.len() - 1) } else { 0 };
            wordings.get(wording).map(|shaped| (shaped, false))
        });
        std::iter::once((&self.code, false)).chain(self.marks.iter().map(|mark| (mark, true))).chain(lines)
    }

    /// The heights and what is kept, so that the line holds in the room.
    ///
    /// First note, branch, designation and conductor are given up; then the letters become smaller, down to the floor; then
    /// the function is shortened; the places go last. `None` when not even code and marks hold at the floor.
    pub fn largest(&self, fonts: &Fonts, floors: &Floors, room: Size) -> Option<(Caps, AlongKept)> {
        let between = |share: f64| floors.round_least + (floors.round_wanted - floors.round_least).scaled(share);
        let caps = [1.0, 0.8, 0.6, 0.4, 0.2, 0.0].map(|share| Caps::with_code(between(share), floors));
        let holds = |kept: AlongKept, caps: Caps| {
            let size = self.measure(fonts, kept, caps);
            size.rise + size.fall <= room.height && size.length <= room.width
        };
        let places = self.lines.iter().take_while(|(field, _)| *field <= Field::Move).count();
        let all = self.kept();
        let (more, fewer): (Vec<_>, Vec<_>) = all.into_iter().partition(|kept| kept.lines > places);
        let wanted = more.into_iter().filter(|kept| kept.function == 0).map(|kept| (kept, caps[0]));
        let smaller = fewer.into_iter().flat_map(|kept| caps.map(|caps| (kept, caps)));
        wanted.chain(smaller).find(|&(kept, caps)| holds(kept, caps)).map(|(kept, caps)| (caps, kept))
    }

    /// Measures the line with capitals of these heights.
    pub fn measure(&self, fonts: &Fonts, kept: AlongKept, caps: Caps) -> AlongSize {
        let mut size = AlongSize { length: Length::ZERO, rise: caps.code, fall: Length::ZERO };
        for (index, (shaped, is_mark)) in self.parts(kept).enumerate() {
            let cap = caps.of(index);
            if index > 0 {
                size.length += cap.scaled(GAP);
            }
            size.length += fonts.width(shaped, cap);
            size.rise = size.rise.max(fonts.rise(shaped, cap));
            size.fall = size.fall.max(fonts.fall(shaped, cap));
            if is_mark {
                size.length += cap.scaled(MARK_PADDING * 2.0);
                size.rise = size.rise.max(cap + cap.scaled(MARK_REACH));
                size.fall = size.fall.max(cap.scaled(MARK_REACH));
            }
        }
        size
    }

    /// Draws the line with its baseline starting at `at`.
    pub fn draw(&self, fonts: &Fonts, kept: AlongKept, caps: Caps, at: Point, stretch: Stretch) -> Vec<Item> {
        let mut items = Vec::new();
        let across = |length: Length| length.scaled(stretch.across);
        let mut x = at.x;
        for (index, (shaped, is_mark)) in self.parts(kept).enumerate() {
            let cap = caps.of(index);
            if index > 0 {
                x += cap.scaled(GAP);
            }
            let width = fonts.width(shaped, cap);
            let mut ink = Ink::Black;
            if is_mark {
                let (padding, reach) = (cap.scaled(MARK_PADDING), cap.scaled(MARK_REACH));
                let area = Rect::new(x, at.y - across(cap + reach), width + padding * 2, across(cap + reach * 2));
                items.push(Item::Fill { area, ink: Ink::Black });
                x += padding;
                ink = Ink::White;
            }
            items.extend(fonts.place(shaped, cap, Point::new(x, at.y), Turn::Upright, stretch, ink));
            x += width;
            if is_mark {
                x += cap.scaled(MARK_PADDING);
            }
        }
        items
    }
}
