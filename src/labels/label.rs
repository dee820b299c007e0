//! The finished hand-over type of this step: all that one tag can say.

use std::fmt;

use super::field::Field;
use crate::base::{
    ConductorSize, ConnectorId, EndLetter, Insulation, Length, Place, Purpose, TagCode, TagKind, WireColour,
};
use crate::circuits::{Action, Supply};
use crate::codes::link::between;

/// What stands largest on a tag, and names it in lists and messages.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TagName {
    /// An end, or the ends that share a doubled cavity: `7KF4 A`, `7KF4 A+B`.
    Ends {
        /// The circuit's code.
        code: TagCode,
        /// Letters of the ends; none on a tag whose end is not known yet.
        letters: Vec<EndLetter>,
    },
    /// A mark along a wire, between its ends: `7KF4 A-B`.
    Between {
        /// The circuit's code.
        code: TagCode,
        /// Letters of the wire's ends, as far as they are known.
        letters: Vec<EndLetter>,
    },
    /// A connector that stays whole: `J1`.
    Connector(ConnectorId),
    /// A blank: a code that belongs to nothing yet.
    Blank(TagCode),
}

impl TagName {
    /// The circuit's code; a connector has none.
    pub const fn code(&self) -> Option<TagCode> {
        match self {
            Self::Ends { code, .. } | Self::Between { code, .. } | Self::Blank(code) => Some(*code),
            Self::Connector(_) => None,
        }
    }

    /// Letters of the ends.
    pub fn letters(&self) -> &[EndLetter] {
        match self {
            Self::Ends { letters, .. } | Self::Between { letters, .. } => letters,
            Self::Connector(_) | Self::Blank(_) => &[],
        }
    }

    /// The letters as printed: `A`, `A+B`, `A-B`, `A-`; empty where there are none.
    pub fn lettered(&self) -> String {
        match self {
            Self::Between { letters, .. } => between(letters),
            _ => self.letters().iter().map(EndLetter::to_string).collect::<Vec<_>>().join("+"),
        }
    }

    /// What the least symbol says: the code alone, or the connector.
    pub fn least(&self) -> &str {
        match self {
            Self::Ends { code, .. } | Self::Between { code, .. } | Self::Blank(code) => code.as_str(),
            Self::Connector(id) => id.as_str(),
        }
    }
}

impl fmt::Display for TagName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.least())?;
        if !self.letters().is_empty() {
            write!(f, " {}", self.lettered())?;
        }
        Ok(())
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

/// All that one tag can say, free of kind, stock and geometry. Which of its fields are printed, and how, is decided by the
/// [`Wording`](super::Wording) of its kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// Code and letters, or a connector.
    pub name: TagName,
    /// Work tag or final tag.
    pub purpose: Purpose,
    /// The place it is for; a blank has none yet.
    pub place: Option<Place>,
    /// Where on its wire it sits, when tags are spread along wires.
    pub at: Option<Position>,
    /// Text of the symbol; `None` when the tag carries none.
    pub payload: Option<String>,
    /// What is known of each field, in parts that are never broken. A field that nothing is known of is absent.
    pub fields: Vec<(Field, Vec<String>)>,
    /// Colour of the wire, for the colour bar.
    pub colour: Option<WireColour>,
    /// Marks that are never given up, with their printed words.
    pub bands: Vec<(Band, String)>,
    /// The wires it goes on: one for each end of the tag.
    pub wires: Vec<Wire>,
    /// The kind of tag that the list asks for.
    pub wish: Option<TagKind>,
    /// What shall be done with the end, the first of them where there are several.
    pub action: Option<Action>,
    /// How the circuit is fed, or the graver thing that its function's words say.
    pub supply: Option<Supply>,
}

/// A place on a wire: `359 mm from J1/14`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// How far from there.
    pub distance: Length,
    /// The end that the distance is told from.
    pub from: Place,
    /// The wire, by its ends: `J1/14-X3/2`.
    pub wire: String,
}

impl Position {
    /// The distance in millimetres, to a tenth: nobody places a tag more exactly.
    pub fn at_mm(&self) -> f64 {
        (self.distance.as_mm() * 10.0).round() / 10.0
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} from {}", self.distance, self.from)
    }
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
    /// Outside diameter of what a threaded tag must pass: terminal, seal, crimp.
    pub slides_over: Option<Length>,
}

impl Label {
    /// The thickest thing that a threaded tag must pass, where the lists say it.
    pub fn slides_over(&self) -> Option<Length> {
        self.wires.iter().filter_map(|wire| wire.slides_over).max()
    }

    /// The parts of a field; none when nothing is known of it.
    pub fn says(&self, field: Field) -> &[String] {
        self.fields.iter().find(|(known, _)| *known == field).map_or(&[], |(_, parts)| parts)
    }

    /// The place it is for as one text; empty where it has none.
    pub fn place_text(&self) -> String {
        self.place.as_ref().map(ToString::to_string).unwrap_or_default()
    }

    /// A field as one text; empty when nothing is known of it.
    pub fn text(&self, field: Field) -> String {
        self.says(field).join(" ")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_as_printed() {
        let code = TagCode::from_typed("7KF4").unwrap();
        let letters = vec![EndLetter::nth(0), EndLetter::nth(1)];
        assert_eq!(TagName::Ends { code, letters: letters.clone() }.to_string(), "7KF4 A+B");
        assert_eq!(TagName::Between { code, letters }.to_string(), "7KF4 A-B");
        assert_eq!(TagName::Ends { code, letters: Vec::new() }.to_string(), "7KF4");
        assert_eq!(TagName::Connector(ConnectorId::from_cell("X3P").unwrap()).to_string(), "X3P");
    }
}
