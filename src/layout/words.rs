//! The words of a label, shaped once, before panels are composed with them many times.

use std::slice;
use std::sync::Arc;

use super::frame::Face;
use super::keep::{Keeping, Kept};
use super::panel::WRITING_LENGTH;
use super::text::{Fonts, MissingCharacter, Reads, Shaped};
use crate::base::{Length, WireColour};
use crate::labels::{Field, Label, Lettering, Line, Worth};

/// White between "here" or "there" and the place, in capitals' heights.
pub(super) const LEAD_GAP: f64 = 0.5;
/// What stands where words were left out.
const ELLIPSIS: char = '…';

/// A part of a line that is never broken, and its text for shaping whole rows.
pub(super) type Part = (String, Arc<Shaped>);

/// All words of a label.
pub struct Words {
    pub(super) code: Arc<Shaped>,
    pub(super) bands: Vec<BandWords>,
    pub(super) lines: Vec<LineWords>,
    pub(super) colour: Option<WireColour>,
    pub(super) keeping: Keeping,
    undrawable: Vec<(Field, MissingCharacter)>,
    too_wide: Vec<Field>,
}

/// The words of a band.
pub(super) struct BandWords {
    /// In one row, broken at the colon, or in halves: a part for each row.
    choices: Vec<Vec<Part>>,
    /// Word by word, a clause each, for bands that are narrower still.
    clauses: Vec<Vec<Part>>,
    space: Arc<Shaped>,
}

/// The words of a line.
pub(super) struct LineWords {
    pub(super) line: Line,
    /// "here" or "there".
    pub(super) lead: Option<Arc<Shaped>>,
    pub(super) face: Face,
    /// How the line reads, whatever its rows begin with.
    pub(super) reads: Reads,
    /// The parts of each wording, the full one first. A shortened wording ends in an ellipsis.
    wordings: Vec<Vec<Part>>,
    /// A place without the blanks round its slash, for when they do not fit.
    pub(super) compact: Option<Part>,
    pub(super) space: Arc<Shaped>,
}

impl Words {
    /// Shapes the words of a label: its code, its marks and these lines. A line with a character that no face can draw is left
    /// out, see [`Words::undrawable`].
    ///
    /// # Errors
    /// [`MissingCharacter`] when code or marks cannot be drawn: without them there is no tag.
    pub fn of(fonts: &Fonts, label: &Label, lines: Vec<Line>) -> Result<Self, MissingCharacter> {
        let code = fonts.shape(Face::Code, &label.name.to_string())?;
        let bands = label.bands.iter().map(|(_, text)| BandWords::of(fonts, text)).collect::<Result<_, _>>()?;
        let (mut drawable, mut undrawable) = (Vec::with_capacity(lines.len()), Vec::new());
        for line in lines {
            let fields = line.fields().to_vec();
            match LineWords::of(fonts, line) {
                Ok(words) => drawable.push(words),
                Err(missing) => undrawable.extend(fields.into_iter().map(|field| (field, missing))),
            }
        }
        let mut words = Self {
            code,
            bands,
            lines: drawable,
            colour: label.colour.clone(),
            keeping: Keeping::default(),
            undrawable,
            too_wide: Vec::new(),
        };
        words.keep_all();
        Ok(words)
    }

    fn keep_all(&mut self) {
        self.keeping = Keeping::of(self.lines.iter().map(|words| &words.line));
    }

    /// Leaves out the lines that cannot fit a width even with the smallest letters, so that no long word takes other lines
    /// along.
    pub(super) fn leave_out_wider(&mut self, fonts: &Fonts, width: Length, least: Length) {
        let fits = |words: &LineWords| words.narrowest(fonts, least) <= width;
        let wider = self.lines.iter().filter(|words| !fits(words));
        self.too_wide.extend(wider.flat_map(|words| words.line.fields()));
        self.lines.retain(fits);
        self.keep_all();
    }

    /// The lines that are kept, in the order of printing, each with the wording that is printed.
    pub(super) fn kept(&self, kept: Kept) -> impl Iterator<Item = (&LineWords, &[Part])> {
        let lines = self.lines.iter().enumerate().filter(move |(index, _)| self.keeping.keeps(*index, kept));
        lines.map(move |(index, words)| (words, words.wording(self.keeping.wording(index, kept))))
    }

    /// The lines that are kept, as printed.
    pub fn said(&self, kept: Kept) -> Vec<String> {
        let said = |parts: &[Part]| parts.iter().map(|(part, _)| part.as_str()).collect::<Vec<_>>().join(" ");
        self.kept(kept).map(|(_, parts)| said(parts)).collect()
    }

    /// Fields that are given up, those that cannot fit at all first.
    pub fn dropped(&self, kept: Kept) -> Vec<Field> {
        let given_up = self.lines.iter().enumerate().filter(|(index, _)| !self.keeping.keeps(*index, kept));
        let given_up = given_up.flat_map(|(_, words)| words.line.fields());
        self.too_wide.iter().chain(given_up).copied().collect()
    }

    /// Fields that lose words.
    pub fn shortened(&self, kept: Kept) -> Vec<Field> {
        let is_shorter = |index: usize| self.keeping.keeps(index, kept) && self.keeping.wording(index, kept) > 0;
        let shorter = self.lines.iter().enumerate().filter(|(index, _)| is_shorter(*index));
        shorter.flat_map(|(_, words)| words.line.fields()).copied().collect()
    }

    /// Fields with a character that no face can draw, which are left out.
    pub fn undrawable(&self) -> &[(Field, MissingCharacter)] {
        &self.undrawable
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
    fn of(fonts: &Fonts, line: Line) -> Result<Self, MissingCharacter> {
        let face = face_of(line.look().lettering);
        let lead = line.look().lead.as_deref().map(|lead| fonts.shape(Face::Words, lead)).transpose()?;
        let shape = |word: &str| fonts.shape(face, word).map(|shaped| (word.to_owned(), shaped));
        let full: Vec<Part> = line.parts().iter().map(|part| shape(part)).collect::<Result<_, _>>()?;
        let mut wordings = Vec::with_capacity(line.wordings());
        for number in 1..line.wordings() {
            let (last, kept) = full[..full.len() - number].split_last().expect("a wording has parts");
            wordings.push([kept, &[shape(&format!("{}{ELLIPSIS}", last.0))?]].concat());
        }
        wordings.insert(0, full);
        let space = fonts.shape(face, " ")?;
        let is_place = line.fields().iter().all(|field| field.is_place());
        let compact = is_place.then(|| shape(&line.text().replace(" / ", "/"))).transpose()?;
        let reads = Reads::of(&line.text());
        Ok(Self { line, lead, face, reads, wordings, compact, space })
    }

    /// The parts of a wording; 0 is the full one, and past the shortest it is the shortest.
    fn wording(&self, number: usize) -> &[Part] {
        &self.wordings[number.min(self.wordings.len() - 1)]
    }

    /// Height of its capitals on a tag whose lines have this height, not below the least.
    pub(super) fn cap(&self, line: Length, least: Length) -> Length {
        line.scaled(self.line.look().size).max(least)
    }

    /// Whether it is vital.
    pub(super) fn is_vital(&self) -> bool {
        self.line.worth() == Worth::Vital
    }

    /// The least width this line takes, whatever is left out of it.
    fn narrowest(&self, fonts: &Fonts, least: Length) -> Length {
        let cap = self.cap(least, least);
        let width = |shaped: &Arc<Shaped>| fonts.width(shaped, cap);
        let lead = self.lead.as_ref().map_or(Length::ZERO, width);
        if self.line.is_to_write_on() {
            return lead + cap.scaled(LEAD_GAP) + WRITING_LENGTH;
        }
        let place = self.compact.as_ref().map(|(_, shaped)| width(shaped));
        let widest = || self.wording(usize::MAX).iter().map(|(_, shaped)| width(shaped)).max().unwrap_or_default();
        lead.max(place.unwrap_or_else(widest))
    }
}

/// The face that letters of this sort are drawn in.
pub(super) const fn face_of(lettering: Lettering) -> Face {
    match lettering {
        Lettering::Words => Face::Words,
        Lettering::Strong => Face::Strong,
        Lettering::Code => Face::Code,
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
