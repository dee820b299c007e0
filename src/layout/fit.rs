//! What fitting answers: a frame with the facts about it, or a refusal with its numbers and what would fit.

use std::fmt;

use thiserror::Error;

use super::frame::{Face, Frame};
use super::symbol::SymbolKind;
use super::text::{Fonts, MissingCharacter};
use super::wire::{Diameter, MEASURE_FIRST, Tabled};
use crate::base::{Length, TagKind};
use crate::labels::{Field, Label, Wording};

/// Cap heights: what is wanted, and below which nothing is printed.
///
/// 1.3 mm is the least letter height on wires and sleeves of an Army text on vehicle wiring (0.05 in); the others are
/// 16 to 20 minutes of arc at reading distance (NUREG-0700).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Floors {
    /// Code on a flat tag, wanted.
    pub code_wanted: Length,
    /// Code on a flat tag, at least.
    pub code_least: Length,
    /// Other lines, wanted.
    pub line_wanted: Length,
    /// Other lines, at least.
    pub line_least: Length,
    /// Anything round a wire, after shrinking, wanted.
    pub round_wanted: Length,
    /// Anything round a wire, after shrinking, at least.
    pub round_least: Length,
    /// Length of a flag's face, at least.
    pub face: Length,
    /// Length of a flag's face that carries a symbol, at least.
    pub face_with_symbol: Length,
}

impl Default for Floors {
    fn default() -> Self {
        Self {
            code_wanted: Length::mm(2.5),
            code_least: Length::mm(1.8),
            line_wanted: Length::mm(1.8),
            line_least: Length::mm(1.3),
            round_wanted: Length::mm(2.0),
            round_least: Length::mm(1.3),
            face: Length::mm(12.0),
            face_with_symbol: Length::mm(14.0),
        }
    }
}

impl Floors {
    /// These floors, raised where this printer needs larger letters: an upright stem is at least a dot wide, so that none is
    /// lost between two dots. Codes stand in the code's face, lines in any.
    pub fn at(self, dpi: u16, fonts: &Fonts) -> Self {
        let code = fonts.least_cap(Face::Code, dpi);
        let line = Face::ALL.into_iter().map(|face| fonts.least_cap(face, dpi)).max().unwrap_or_default();
        Self {
            code_wanted: self.code_wanted.max(code),
            code_least: self.code_least.max(code),
            line_wanted: self.line_wanted.max(line),
            line_least: self.line_least.max(line),
            round_wanted: self.round_wanted.max(line),
            round_least: self.round_least.max(line),
            ..self
        }
    }
}

/// What a tag of any kind is fitted from.
#[derive(Clone, Copy)]
pub struct Fitting<'a> {
    /// The faces.
    pub fonts: &'a Fonts,
    /// Letter heights.
    pub floors: &'a Floors,
    /// What the tag can say.
    pub label: &'a Label,
    /// Which of it is printed, and how.
    pub wording: &'a Wording,
    /// Outside diameter of the wires it goes on.
    pub diameter: Diameter,
}

/// A symbol as it was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SymbolFacts {
    /// Symbology and size.
    pub kind: SymbolKind,
    /// Side of a module, whole printer dots.
    pub module: Length,
}

/// What came out of a fit, for the fit table and for warnings.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// Sort of tag.
    pub kind: TagKind,
    /// Wire diameter it was made for.
    pub diameter: Diameter,
    /// Height of the code's capitals, after shrinking.
    pub code: Length,
    /// Height of the other lines' capitals, after shrinking; `None` when there are none.
    pub lines: Option<Length>,
    /// The symbol.
    pub symbol: Option<SymbolFacts>,
    /// Why there is no symbol, or a lesser one than asked for.
    pub symbol_note: Option<String>,
    /// The marks and lines as printed, below the code.
    pub said: Vec<String>,
    /// Fields that were given up.
    pub dropped: Vec<Field>,
    /// Fields that are left out because of a character that no face can draw.
    pub undrawable: Vec<(Field, MissingCharacter)>,
    /// Fields that were shortened.
    pub shortened: Vec<Field>,
    /// The tube that belongs to the tag.
    pub tube: Option<TubeNeed>,
    /// The usual kind of tag in whose place this one stands in, and why that cannot be made.
    pub instead_of: Option<(TagKind, String)>,
}

impl Facts {
    /// Whether the tag is made for a diameter that is only assumed. A tie-on needs none.
    pub fn is_for_assumed_diameter(&self) -> bool {
        self.kind != TagKind::TieOn && matches!(self.diameter, Diameter::Assumed(_))
    }
}

impl Facts {
    /// What is left out for want of a font, in words: `note left out: the fonts have no ...`.
    pub fn undrawn(&self) -> impl Iterator<Item = String> + '_ {
        self.undrawable.iter().map(|(field, missing)| format!("{} left out: {missing}", field.word()))
    }
}

/// Tube that a tag takes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TubeNeed {
    /// Name of the size.
    pub size: String,
    /// What is cut of it.
    pub length: Length,
    /// Printed tube, or clear tube over a strip.
    pub tube: TubeUse,
}

/// What tube is used for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum TubeUse {
    /// It is the tag.
    Printed,
    /// It holds a strip.
    Clear,
}

/// `clear 1/4 in 2:1 tube, 41 mm`
impl fmt::Display for TubeNeed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.tube {
            TubeUse::Printed => write!(f, "{} tube, {}", self.size, self.length),
            TubeUse::Clear => write!(f, "clear {} tube, {:.0}", self.size, self.length),
        }
    }
}

/// A tag fitted to its stock.
#[derive(Clone, Debug, PartialEq)]
pub struct Fitted {
    /// What is printed.
    pub frame: Frame,
    /// What came out.
    pub facts: Facts,
}

/// Faces in words; a wire may be too thick to leave any.
fn faces(face: &Length) -> String {
    if *face < Length::mm(1.0) { "no faces".to_owned() } else { format!("faces of {face:.1}") }
}

/// Why no tag can be made, in numbers, and what would do.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum Refusal {
    /// The faces of a flag are too short.
    #[error(
        "a wire of {diameter} leaves {} on a label {length} long; a flag needs faces of {least}, that is a label at least {needed:.1} long",
        faces(face)
    )]
    FaceTooShort {
        /// Diameter of the wire.
        diameter: Length,
        /// Length of a face.
        face: Length,
        /// Length of the label across the wire.
        length: Length,
        /// Least length of a face.
        least: Length,
        /// Length of the label that would do.
        needed: Length,
    },
    /// The clear tail of a wrap does not go over its block.
    #[error(
        "round a wire of {diameter} a wrap needs a clear tail of {least:.1}, and the label has {tail:.1}; a label at least {needed:.1} long would do"
    )]
    TailTooShort {
        /// Diameter of the wire.
        diameter: Length,
        /// Length of the tail.
        tail: Length,
        /// Least length of the tail.
        least: Length,
        /// Length of the label that would do with this block.
        needed: Length,
    },
    /// Not even code and marks fit.
    #[error("code and marks do not fit in {width:.1} x {height:.1} at {least} letter height; {remedy}")]
    CodeDoesNotFit {
        /// Width of the room.
        width: Length,
        /// Height of the room.
        height: Length,
        /// Least height of the code.
        least: Length,
        /// What would do.
        remedy: String,
    },
    /// A threaded tag needs the diameter.
    #[error(
        "the wire's diameter is not known; measure it and fill the diameter column, or give its size and insulation"
    )]
    DiameterUnknown,
    /// No tube at hand goes over the wire and shrinks tight on it.
    #[error("no tube at hand fits a diameter of {diameter}; {remedy}")]
    NoTube {
        /// Diameter the tube must shrink on.
        diameter: Length,
        /// Which tubes would do.
        remedy: String,
    },
    /// No face has the character.
    #[error("{0}, or write it in other words")]
    Character(#[from] MissingCharacter),
    /// The job names nothing to make tags of this kind with.
    #[error("there is nothing to make a {kind} with; {remedy}")]
    NotAtHand {
        /// The kind.
        kind: TagKind,
        /// What job.toml must name.
        remedy: &'static str,
    },
    /// A refusal that something else would lift.
    #[error("{refusal}; {} would do", .would_do.join(" or "))]
    Otherwise {
        /// Why no tag can be made.
        refusal: Box<Refusal>,
        /// What would do.
        would_do: Vec<String>,
    },
    /// None of the kinds that were tried can be made.
    #[error("{}", each(.0))]
    Each(Vec<(TagKind, Refusal)>),
    /// A refusal that a measured diameter might lift.
    #[error("{refusal}; {diameter} is a table value ({row}): {MEASURE_FIRST}")]
    ByTable {
        /// Why no tag can be made.
        refusal: Box<Refusal>,
        /// Diameter of the wire.
        diameter: Length,
        /// The row it is taken from.
        row: &'static Tabled,
    },
}

/// `no sleeve: ...; no strip: ...`; once where all say the same.
fn each(refusals: &[(TagKind, Refusal)]) -> String {
    let said: Vec<String> = refusals.iter().map(|(_, refusal)| refusal.to_string()).collect();
    match said.split_first() {
        Some((first, others)) if others.iter().all(|other| other == first) => first.clone(),
        _ => refusals.iter().map(|(kind, refusal)| format!("no {kind}: {refusal}")).collect::<Vec<_>>().join("; "),
    }
}

impl Refusal {
    /// The same, with something that would do.
    pub fn otherwise(self, what: impl Into<String>) -> Self {
        match self {
            Self::Otherwise { refusal, mut would_do } => {
                would_do.push(what.into());
                Self::Otherwise { refusal, would_do }
            }
            refusal => Self::Otherwise { refusal: Box::new(refusal), would_do: vec![what.into()] },
        }
    }

    /// The same, with a word about the diameter where that is a table value.
    pub fn resting_on(self, diameter: Diameter) -> Self {
        match diameter {
            Diameter::Tabled(diameter, row) => Self::ByTable { refusal: Box::new(self), diameter, row },
            Diameter::Measured(_) | Diameter::Assumed(_) => self,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Stem and capitals' height in units as fontTools measures the bar and the H of the font files.
    #[test]
    fn a_stem_is_a_dot_wide_at_the_least_height() {
        let fonts = Fonts::new();
        for (face, stem, cap) in [(Face::Words, 116.0, 691.0), (Face::Strong, 144.0, 693.0), (Face::Code, 134.0, 668.0)]
        {
            for dpi in [203, 300, 600] {
                let expected = 25.4 / f64::from(dpi) * cap / stem;
                assert!((fonts.least_cap(face, dpi).as_mm() - expected).abs() < 1e-4, "{face:?} at {dpi}");
            }
        }
    }

    #[test]
    fn coarse_printers_raise_the_floors() {
        let fonts = Fonts::new();
        for dpi in [203, 300, 600, 1200] {
            assert_eq!(
                Floors::default().at(dpi, &fonts),
                Floors::default(),
                "stems of 1.3 mm letters are wide enough at {dpi}"
            );
        }
        // 25.4 / 100 * 691 / 116 = 1.513
        let coarse = Floors::default().at(100, &fonts);
        assert!((coarse.line_least.as_mm() - 1.513).abs() < 1e-3);
        assert_eq!((coarse.round_least, coarse.code_least), (coarse.line_least, Floors::default().code_least));
        let coarser = Floors::default().at(50, &fonts);
        assert!(coarser.line_wanted == coarser.line_least && coarser.code_least > Floors::default().code_least);
    }
}
