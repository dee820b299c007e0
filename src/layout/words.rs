//! The words of a label, shaped once, before panels are composed with them many times.

use std::rc::Rc;
use std::slice;

use super::frame::Face;
use super::text::{Fonts, MissingCharacter, Shaped};
use crate::base::{Length, WireColour};
use crate::labels::label::Line;
use crate::labels::{Field, Label};

/// White between "here" or "there" and the place, in capitals' heights.
pub(super) const LEAD_GAP: f64 = 0.5;
/// What stands where words were left out.
const ELLIPSIS: char = '…';

/// A part of a line that is never broken, and its text for shaping whole rows.
pub(super) type Part = (String, Rc<Shaped>);

/// All words of a label.
pub struct Words {
    pub(super) code: Rc<Shaped>,
    pub(super) bands: Vec<BandWords>,
    pub(super) lines: Vec<LineWords>,
    pub(super) colour: Option<WireColour>,
    undrawable: Vec<(Field, MissingCharacter)>,
    too_wide: Vec<Field>,
}

/// The words of a band.
pub(super) struct BandWords {
    /// In one row, broken at the colon, or in halves: a part for each row.
    choices: Vec<Vec<Part>>,
    /// Word by word, a clause each, for bands that are narrower still.
    clauses: Vec<Vec<Part>>,
    space: Rc<Shaped>,
}

/// The words of a line.
pub(super) struct LineWords {
    pub(super) field: Field,
    /// "here" or "there".
    pub(super) lead: Option<Rc<Shaped>>,
    pub(super) face: Face,
    /// The parts of each wording, the full one first. A shortened wording ends in an ellipsis.
    wordings: Vec<Vec<Part>>,
    /// A place without the blanks round its slash, for when they do not fit.
    pub(super) compact: Option<Part>,
    pub(super) space: Rc<Shaped>,
}

impl Words {
    /// Shapes all the words of a label. A line with a character that no face can draw is left out, see
    /// [`Words::undrawable`].
    ///
    /// # Errors
    /// [`MissingCharacter`] when code or marks cannot be drawn: without them there is no tag.
    pub fn of(fonts: &Fonts, label: &Label) -> Result<Self, MissingCharacter> {
        let code = fonts.shape(Face::Code, &label.name.to_string())?;
        let bands = label.bands.iter().map(|(_, text)| BandWords::of(fonts, text)).collect::<Result<_, _>>()?;
        let (mut lines, mut undrawable) = (Vec::new(), Vec::new());
        for line in &label.lines {
            match LineWords::of(fonts, line) {
                Ok(words) => lines.push(words),
                Err(missing) => undrawable.push((line.field(), missing)),
            }
        }
        Ok(Self { code, bands, lines, colour: label.colour.clone(), undrawable, too_wide: Vec::new() })
    }

    /// Leaves out the lines that cannot fit a width even with the smallest letters, so that no long word takes other lines
    /// along.
    pub(super) fn leave_out_wider(&mut self, fonts: &Fonts, width: Length, least: Length) {
        let fits = |line: &LineWords| line.narrowest(fonts, least) <= width;
        self.too_wide.extend(self.lines.iter().filter(|line| !fits(line)).map(|line| line.field));
        self.lines.retain(fits);
    }

    /// Fields in the order in which they are given up, the last first.
    pub fn fields(&self) -> impl DoubleEndedIterator<Item = Field> + '_ {
        self.lines.iter().map(|line| line.field)
    }

    /// Fields that cannot fit at all.
    pub fn too_wide(&self) -> &[Field] {
        &self.too_wide
    }

    /// Fields with a character that no face can draw, which are left out.
    pub fn undrawable(&self) -> &[(Field, MissingCharacter)] {
        &self.undrawable
    }

    /// How many wordings the line of this field has; 0 when there is no such line.
    pub fn wordings(&self, field: Field) -> usize {
        self.lines.iter().find(|line| line.field == field).map_or(0, |line| line.wordings.len())
    }
}

impl BandWords {
    fn of(fonts: &Fonts, text: &str) -> Result<Self, MissingCharacter> {
        let clauses: Vec<&str> = text.split(": ").collect();
        let halves: Vec<String> = clauses.iter().flat_map(|clause| halved(clause)).collect();
        let mut choices = vec![vec![text.to_owned()], clauses.iter().map(|&row| row.to_owned()).collect(), halves];
        choices.dedup();
        let part = |text: &str| fonts.shape(Face::Strong, text).map(|shaped| (text.to_owned(), shaped));
        let rows = |rows: Vec<String>| rows.iter().map(|row| part(row)).collect::<Result<_, _>>();
        let words = |clause: &&str| clause.split_whitespace().map(part).collect::<Result<_, _>>();
        Ok(Self {
            choices: choices.into_iter().map(rows).collect::<Result<_, _>>()?,
            clauses: clauses.iter().map(words).collect::<Result<_, _>>()?,
            space: fonts.shape(Face::Strong, " ")?,
        })
    }

    /// The rows in which the band fits a room, as few as can be, each with its width. `None` when a word is wider than the
    /// room.
    pub(super) fn rows(&self, fonts: &Fonts, cap: Length, room: Length) -> Option<Vec<(&[Part], Length)>> {
        let width = |shaped: &Shaped| fonts.width(shaped, cap);
        let space = width(&self.space);
        let measured = |row| (row, row_width(row, space, width));
        let fits = |rows: &&Vec<Part>| rows.iter().all(|(_, shaped)| width(shaped) <= room);
        if let Some(rows) = self.choices.iter().find(fits) {
            return Some(rows.iter().map(slice::from_ref).map(measured).collect());
        }
        let mut rows = Vec::new();
        for clause in &self.clauses {
            rows.extend(break_rows(clause, room, space, width)?.into_iter().map(measured));
        }
        Some(rows)
    }
}

/// The words in two rows, broken where the longer one is shortest.
fn halved(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let length = |words: &[&str]| words.iter().map(|word| word.chars().count() + 1).sum::<usize>();
    let at = (1..words.len()).min_by_key(|&at| length(&words[..at]).max(length(&words[at..])));
    match at {
        Some(at) => vec![words[..at].join(" "), words[at..].join(" ")],
        None => vec![text.to_owned()],
    }
}

impl LineWords {
    fn of(fonts: &Fonts, line: &Line) -> Result<Self, MissingCharacter> {
        let field = line.field();
        let (lead, face) = match field {
            Field::Function => (None, Face::Strong),
            Field::Here => (Some("here"), Face::Code),
            Field::There => (Some("there"), Face::Code),
            Field::Move => (Some("move to"), Face::Code),
            Field::Conductor | Field::Circuit | Field::Branch | Field::Note => (None, Face::Words),
        };
        let lead = lead.map(|lead| fonts.shape(Face::Words, lead)).transpose()?;
        let shape = |word: &str| fonts.shape(face, word).map(|shaped| (word.to_owned(), shaped));
        let full: Vec<Part> = line.parts().iter().map(|part| shape(part)).collect::<Result<_, _>>()?;
        let mut wordings = Vec::with_capacity(line.wordings());
        for number in 1..line.wordings() {
            let (last, kept) = full[..full.len() - number].split_last().expect("a wording has parts");
            wordings.push([kept, &[shape(&format!("{}{ELLIPSIS}", last.0))?]].concat());
        }
        wordings.insert(0, full);
        let space = fonts.shape(face, " ")?;
        let is_place = matches!(field, Field::Here | Field::There | Field::Move);
        let compact = is_place.then(|| shape(&line.text().replace(" / ", "/"))).transpose()?;
        Ok(Self { field, lead, face, wordings, compact, space })
    }

    /// The parts of a wording; 0 is the full one, and past the shortest it is the shortest.
    pub(super) fn wording(&self, number: usize) -> &[Part] {
        &self.wordings[number.min(self.wordings.len() - 1)]
    }

    /// The least width this line takes, whatever is left out of it.
    fn narrowest(&self, fonts: &Fonts, cap: Length) -> Length {
        let width = |shaped: &Rc<Shaped>| fonts.width(shaped, cap);
        let lead = self.lead.as_ref().map_or(Length::ZERO, width);
        let place = self.compact.as_ref().map(|(_, shaped)| width(shaped));
        let widest = || self.wording(usize::MAX).iter().map(|(_, shaped)| width(shaped)).max().unwrap_or_default();
        lead.max(place.unwrap_or_else(widest))
    }
}

/// Width of a row of parts with spaces between them.
fn row_width(row: &[Part], space: Length, width: impl Fn(&Shaped) -> Length) -> Length {
    let parts: Length = row.iter().map(|(_, shaped)| width(shaped)).sum();
    parts + space * (row.len() as i64 - 1)
}

/// Breaks parts into rows no wider than `room`; `None` when a single one is wider.
pub(super) fn break_rows(
    parts: &[Part],
    room: Length,
    space: Length,
    width: impl Fn(&Shaped) -> Length,
) -> Option<Vec<&[Part]>> {
    let mut rows = Vec::new();
    let (mut start, mut used) = (0, Length::ZERO);
    for (index, (_, shaped)) in parts.iter().enumerate() {
        let part = width(shaped);
        if part > room {
            return None;
        }
        if index > start && used + space + part > room {
            rows.push(&parts[start..index]);
            (start, used) = (index, part);
        } else {
            used = if index == start { part } else { used + space + part };
        }
    }
    rows.push(&parts[start..]);
    Some(rows)
}
