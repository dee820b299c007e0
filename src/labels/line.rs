//! One line of a tag: its full wording, the shorter ones that may stand for it, and how it looks.

use super::end::BLANK;
use super::field::Field;

/// One line of a tag.
///
/// A wording is made of parts. A part is never broken; between parts a line may go on in the next row.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    fields: Vec<Field>,
    look: Look,
    worth: Worth,
    parts: Vec<String>,
    fewest: usize,
    is_to_write_on: bool,
}

/// How a line is set.
#[derive(Clone, Debug, PartialEq)]
pub struct Look {
    /// A small word before it: `here`.
    pub lead: Option<String>,
    /// In which letters.
    pub lettering: Lettering,
    /// Height of its letters as a multiple of the tag's line height.
    pub size: f64,
    /// Whether the bar in the wire's colours stands before it.
    pub colour_bar: bool,
}

/// In which letters a line is set.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Lettering {
    /// Narrow and plain: most words fit.
    #[default]
    Words,
    /// The same, bold.
    Strong,
    /// As codes: letters and digits that look alike differ most.
    Code,
}

/// How hard the fit tries to keep a line. Lines of least worth are given up first, of one worth the last first.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Worth {
    /// A lesser symbol is taken before the line is given up.
    Vital,
    /// Other lines are shortened and letters made small before it is given up.
    #[default]
    Useful,
    /// Printed where there is room.
    Extra,
}

impl Line {
    /// A line that is all or nothing: its parts may stand in several rows but none may be left out. `None` when there is
    /// nothing to say.
    pub fn whole(
        fields: &[Field],
        look: Look,
        worth: Worth,
        parts: impl IntoIterator<Item = impl AsRef<str>>,
    ) -> Option<Self> {
        let clean = |part: &str| part.split_whitespace().collect::<Vec<_>>().join(" ");
        let parts: Vec<String> = parts.into_iter().map(|part| clean(part.as_ref())).filter(|p| !p.is_empty()).collect();
        (!parts.is_empty()).then(|| Self {
            fields: fields.to_vec(),
            look,
            worth,
            fewest: parts.len(),
            parts,
            is_to_write_on: false,
        })
    }

    /// A line that may be shortened from its end by whole words, down to the first. `None` when there is nothing to say.
    pub fn shortened_by_words(
        fields: &[Field],
        look: Look,
        worth: Worth,
        parts: impl IntoIterator<Item = impl AsRef<str>>,
    ) -> Option<Self> {
        let words = |part: &str| part.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        let parts: Vec<String> = parts.into_iter().flat_map(|part| words(part.as_ref())).collect();
        (!parts.is_empty()).then(|| Self {
            fields: fields.to_vec(),
            look,
            worth,
            parts,
            fewest: 1,
            is_to_write_on: false,
        })
    }

    /// A line that is left to be written by hand.
    pub fn to_write_on(fields: &[Field], look: Look, worth: Worth) -> Self {
        let parts = vec![BLANK.to_owned()];
        Self { fields: fields.to_vec(), look, worth, parts, fewest: 1, is_to_write_on: true }
    }

    /// Whether it is left to be written by hand.
    pub const fn is_to_write_on(&self) -> bool {
        self.is_to_write_on
    }

    /// What it tells.
    pub fn fields(&self) -> &[Field] {
        &self.fields
    }

    /// How it is set.
    pub const fn look(&self) -> &Look {
        &self.look
    }

    /// How hard it is kept.
    pub const fn worth(&self) -> Worth {
        self.worth
    }

    /// The parts of the full wording; never empty.
    pub fn parts(&self) -> &[String] {
        &self.parts
    }

    /// How many wordings there are: the full one, and those with ever fewer parts.
    pub fn wordings(&self) -> usize {
        self.parts.len() - self.fewest + 1
    }

    /// The parts of a wording; 0 is the full one. Past the shortest one it is the shortest.
    pub fn wording(&self, number: usize) -> &[String] {
        &self.parts[..self.parts.len() - number.min(self.parts.len() - self.fewest)]
    }

    /// The full wording as a text.
    pub fn text(&self) -> String {
        self.parts.join(" ")
    }
}

impl Default for Look {
    fn default() -> Self {
        Self { lead: None, lettering: Lettering::Words, size: 1.0, colour_bar: false }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn functions_lose_whole_words_from_their_end() {
        let text = [" rail  pressure signal "];
        let line = Line::shortened_by_words(&[Field::Function], Look::default(), Worth::Vital, text).unwrap();
        let wordings: Vec<String> = (0..line.wordings()).map(|number| line.wording(number).join(" ")).collect();
        assert_eq!(wordings, ["rail pressure signal", "rail pressure", "rail"]);
        assert_eq!(line.wording(9), ["rail"]);
        assert_eq!(Line::shortened_by_words(&[Field::Function], Look::default(), Worth::Vital, ["  "]), None);
    }

    #[test]
    fn other_lines_are_all_or_nothing() {
        let parts = ["BN/WH", "", " 0.75  mm²"];
        let line = Line::whole(&[Field::Conductor], Look::default(), Worth::Useful, parts).unwrap();
        assert_eq!((line.wordings(), line.text().as_str()), (1, "BN/WH 0.75 mm²"));
    }
}
