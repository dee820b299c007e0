//! Labels to try the kinds of tags with.

use super::fit::{Fitting, Floors};
use super::text::Fonts;
use super::wire::Diameter;
use crate::base::{EndLetter, Length, Place, Purpose, TagCode, WireColour};
use crate::labels::{Band, Field, Label, TagName, Wording};

/// A wire as it is usually thick.
const USUAL: Diameter = Diameter::Measured(Length::nm(2_400_000));

/// A wire measured in millimetres.
pub(super) fn measured(millimetres: f64) -> Diameter {
    Diameter::Measured(Length::mm(millimetres))
}

/// What fitting needs beside label and stock.
pub(super) struct Bench {
    pub(super) fonts: Fonts,
    pub(super) floors: Floors,
    pub(super) flat: Wording,
    pub(super) round: Wording,
}

impl Bench {
    pub(super) fn new() -> Self {
        let wording = |name| Wording::builtin(name).expect("comes with the program");
        Self { fonts: Fonts::new(), floors: Floors::default(), flat: wording("flat"), round: wording("round") }
    }

    /// A label for a flag, wrap or tie-on.
    pub(super) fn flat<'a>(&'a self, label: &'a Label) -> Fitting<'a> {
        Fitting { fonts: &self.fonts, floors: &self.floors, label, wording: &self.flat, diameter: USUAL }
    }

    /// A label for a sleeve or strip.
    pub(super) fn round<'a>(&'a self, label: &'a Label) -> Fitting<'a> {
        Fitting { fonts: &self.fonts, floors: &self.floors, label, wording: &self.round, diameter: USUAL }
    }
}

/// The label of one end, with all that is usually known of it.
pub(super) fn label(function: &str, payload: Option<&str>) -> Label {
    let fields = [
        (Field::Function, vec![function]),
        (Field::Here, vec!["J1 / 14"]),
        (Field::There, vec!["X3 / 2"]),
        (Field::Conductor, vec!["BN/WH", "0.75 mm²"]),
        (Field::Fuse, vec!["fuse F12 15 A"]),
        (Field::Circuit, vec!["EN-214"]),
        (Field::Branch, vec!["ENGINE LOOM"]),
    ];
    let owned = |parts: Vec<&str>| parts.into_iter().map(str::to_owned).collect();
    Label {
        name: TagName::Ends { code: TagCode::from_typed("7KF4").unwrap(), letters: vec![EndLetter::FIRST] },
        purpose: Purpose::Work,
        place: Place::from_typed("J1/14").unwrap(),
        at: None,
        payload: payload.map(str::to_owned),
        fields: fields.into_iter().map(|(field, parts)| (field, owned(parts))).collect(),
        colour: WireColour::from_cell("BN/WH"),
        bands: vec![(Band::LiveCap, "LIVE WITH BATTERY ON: CAP THIS END".to_owned())],
        wires: Vec::new(),
    }
}

/// The text of a symbol, as a job with an address of its own has it.
pub(super) const LINK: &str = "HTTP://MARSHHEN.LOCAL:7117/7KF4/A";
