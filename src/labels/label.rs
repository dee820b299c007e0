//! The finished hand-over type of this step: one tag's words, in the order in which they may be given up.

use std::fmt;

use crate::base::{ConductorSize, EndLetter, Insulation, Length, Place, Purpose, TagCode, WireColour};

/// The code and the letters that stand on one tag: `7KF4 A`, or `7KF4 A+B` for a doubled cavity.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct TagName {
    /// The circuit's code.
    pub code: TagCode,
    /// Letters of the ends, at least one except on connector tags and blanks.
    pub letters: Vec<EndLetter>,
}

impl fmt::Display for TagName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.code)?;
        for (index, letter) in self.letters.iter().enumerate() {
            write!(f, "{}{letter}", if index == 0 { ' ' } else { '+' })?;
        }
        Ok(())
    }
}

/// What a line of a tag tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Field {
    /// What the circuit does.
    Function,
    /// This end's place.
    Here,
    /// The place of the wire's other end.
    There,
    /// The place it shall be moved to.
    Move,
    /// Colour, size, fuse.
    Conductor,
    /// Designation of the circuit.
    Circuit,
    /// Leg of the harness.
    Branch,
    /// The list's own remark.
    Note,
}

impl Field {
    /// What the field is called in messages.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Function => "function",
            Self::Here => "here",
            Self::There => "there",
            Self::Move => "move to",
            Self::Conductor => "conductor",
            Self::Circuit => "circuit",
            Self::Branch => "branch",
            Self::Note => "note",
        }
    }
}

/// One line of a tag: its full wording, and shorter ones that may stand for it.
///
/// A wording is made of parts. A part is never broken; between parts a line may go on in the next row.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Line {
    field: Field,
    parts: Vec<String>,
    fewest: usize,
}

impl Line {
    /// A line that is all or nothing: its parts may stand in several rows but none may be left out. `None` when there is
    /// nothing to say.
    pub fn whole(field: Field, parts: impl IntoIterator<Item = String>) -> Option<Self> {
        let clean = |part: String| part.split_whitespace().collect::<Vec<_>>().join(" ");
        let parts: Vec<String> = parts.into_iter().map(clean).filter(|part| !part.is_empty()).collect();
        (!parts.is_empty()).then_some(Self { field, fewest: parts.len(), parts })
    }

    /// A line that may be shortened from its end by whole words, down to the first.
    pub fn shortened_by_words(field: Field, text: &str) -> Option<Self> {
        let parts: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
        (!parts.is_empty()).then_some(Self { field, parts, fewest: 1 })
    }

    /// What it tells.
    pub const fn field(&self) -> Field {
        self.field
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

/// A mark that must be seen before anything is done to the wire. Printed white on black, never given up; in order of
/// urgency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Band {
    /// High voltage: stop, trained persons only.
    HighVoltage,
    /// Airbag or belt tensioner: never cut, probe or tap into.
    Restraint,
    /// Fed with every switch off.
    Live,
    /// Fed with every switch off, and the end is free.
    LiveCap,
    /// Leaves the harness.
    Out,
    /// A wire that was not there.
    New,
    /// Stays for a possible use.
    Spare,
}

/// All that one tag says, free of stock and geometry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Code and letters.
    pub name: TagName,
    /// Work tag or final tag.
    pub purpose: Purpose,
    /// The place it is for.
    pub place: Place,
    /// Text of the symbol; `None` when the tag carries none.
    pub payload: Option<String>,
    /// The words below the code, most important first: the last is given up first.
    pub lines: Vec<Line>,
    /// Colour of the wire, for the colour bar on the conductor's line.
    pub colour: Option<WireColour>,
    /// Marks that are never given up, with their printed words.
    pub bands: Vec<(Band, String)>,
    /// The wires it goes on: one for each end of the tag.
    pub wires: Vec<Wire>,
}

/// What the list says of a wire that helps to know its outside diameter.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Wire {
    /// Measured outside diameter.
    pub measured: Option<Length>,
    /// Conductor size.
    pub size: Option<ConductorSize>,
    /// Sort of insulation.
    pub insulation: Option<Insulation>,
}

impl Wire {
    /// A wire of which the diameter alone is known.
    pub fn measured(diameter: Length) -> Self {
        Self { measured: Some(diameter), ..Self::default() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn functions_lose_whole_words_from_their_end() {
        let line = Line::shortened_by_words(Field::Function, " rail  pressure signal ").unwrap();
        let wordings: Vec<String> = (0..line.wordings()).map(|number| line.wording(number).join(" ")).collect();
        assert_eq!(wordings, ["rail pressure signal", "rail pressure", "rail"]);
        assert_eq!(line.wording(9), ["rail"]);
        assert_eq!(Line::shortened_by_words(Field::Function, "  "), None);
    }

    #[test]
    fn other_lines_are_all_or_nothing() {
        let line = Line::whole(Field::Conductor, ["BN/WH", "", " 0.75  mm²"].map(str::to_owned)).unwrap();
        assert_eq!((line.wordings(), line.text().as_str()), (1, "BN/WH 0.75 mm²"));
    }

    #[test]
    fn a_doubled_cavity_carries_both_letters() {
        let name =
            TagName { code: TagCode::from_typed("7KF4").unwrap(), letters: vec![EndLetter::nth(0), EndLetter::nth(1)] };
        assert_eq!(name.to_string(), "7KF4 A+B");
    }
}
