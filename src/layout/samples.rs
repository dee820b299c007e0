//! Labels to try the kinds of tags with, and what must hold on flat ones of any kind.

use super::fit::{Fitted, Fitting, Floors};
use super::frame::Item;
use super::panel::WRITING_STROKE;
use super::symbol::dots;
use super::text::Fonts;
use super::wire::Diameter;
use crate::base::{EndLetter, Length, Place, Point, Purpose, Rect, TagCode, WireColour};
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
    blank: Wording,
}

impl Bench {
    pub(super) fn new() -> Self {
        let wording = |name| Wording::builtin(name).expect("comes with the program");
        let [flat, round, blank] = ["flat", "round", "blank"].map(wording);
        Self { fonts: Fonts::new(), floors: Floors::default(), flat, round, blank }
    }

    /// A label for a flag, wrap or tie-on.
    pub(super) fn flat<'a>(&'a self, label: &'a Label) -> Fitting<'a> {
        Fitting { fonts: &self.fonts, floors: &self.floors, label, wording: &self.flat, diameter: USUAL }
    }

    /// A blank for a flag, wrap or tie-on.
    pub(super) fn blank<'a>(&'a self, label: &'a Label) -> Fitting<'a> {
        Fitting { wording: &self.blank, ..self.flat(label) }
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
        place: Place::from_typed("J1/14"),
        at: None,
        payload: payload.map(str::to_owned),
        fields: fields.into_iter().map(|(field, parts)| (field, owned(parts))).collect(),
        colour: WireColour::from_cell("BN/WH"),
        bands: vec![(Band::LiveCap, "LIVE WITH BATTERY ON: CAP THIS END".to_owned())],
        wires: Vec::new(),
        wish: None,
        action: None,
        supply: None,
    }
}

/// The label of a blank.
pub(super) fn blank(code: &str, payload: Option<&str>) -> Label {
    let name = TagName::Blank(TagCode::from_typed(code).unwrap());
    Label { name, place: None, fields: Vec::new(), colour: None, bands: Vec::new(), ..label("", payload) }
}

/// The text of a symbol, as a job with an address of its own has it.
pub(super) const LINK: &str = "HTTP://MARSHHEN.LOCAL:7117/7KF4/A";

/// What holds on every flat tag: nothing leaves its frame, nothing but ticks what may be printed on, no text overlaps another,
/// quiet zones are clear and inside what may be printed on, letters are not below the floors.
pub(super) fn holds_together(fitted: &Fitted, bench: &Bench, dpi: u16, may_print: impl Fn(&Rect) -> bool) {
    let Fitted { frame, facts } = fitted;
    let (fonts, floors) = (&bench.fonts, &bench.floors);
    let whole = Rect { origin: Point::ORIGIN, size: frame.size };
    let zone = |item: &Item| match item {
        // Nearly a dot more, so that nothing bleeds into the quiet zone's last dots.
        Item::Symbol(symbol) => Some(symbol.area.inset(-symbol.quiet - dots(1, dpi).scaled(0.99))),
        _ => None,
    };
    let zones: Vec<Rect> = frame.items.iter().filter_map(zone).collect();
    let mut texts: Vec<Rect> = Vec::new();
    for item in &frame.items {
        let area = bounds(item);
        assert!(whole.holds(&area), "{item:?} leaves the label");
        // Ticks and the circles of holes guide the hand; lines to write on are thicker than those.
        let guides = matches!(item, Item::Rule { weight, .. } if *weight < WRITING_STROKE)
            || matches!(item, Item::Outline { radius, .. } if *radius > Length::ZERO);
        assert!(guides || may_print(&area), "{item:?} stands where nothing may be printed");
        if !matches!(item, Item::Symbol(_)) {
            assert!(!zones.iter().any(|zone| zone.overlaps(&area)), "{item:?} in a quiet zone");
        }
        if let Item::Text(text) = item {
            let typeface = fonts.typeface(text.face);
            let cap = typeface.units(typeface.cap_height, text.em);
            assert!(cap + Length::nm(100) >= floors.line_least, "{cap} is below the floor");
            assert!(!texts.iter().any(|other| other.overlaps(&area)), "{text:?} over another text");
            texts.push(area);
        }
    }
    assert!(zones.iter().all(may_print), "a quiet zone stands where nothing may be printed");
    assert_eq!(facts.symbol.is_some(), !zones.is_empty());
    assert!(facts.code + Length::nm(100) >= floors.code_least, "the code is below its floor");
}

/// What an item covers.
fn bounds(item: &Item) -> Rect {
    match item {
        Item::Text(text) => text.bounds,
        Item::Symbol(symbol) => symbol.area,
        Item::Fill { area, .. } => *area,
        Item::Outline { area, weight, .. } => area.inset(-weight.half()),
        // Rules run along the axes, and their stroke ends where they do.
        Item::Rule { from, to, weight, .. } => {
            let half = |runs: bool| if runs { Length::ZERO } else { weight.half() };
            let (across, up) = (half(from.x != to.x), half(from.y != to.y));
            let (left, top) = (from.x.min(to.x) - across, from.y.min(to.y) - up);
            let size = ((from.x - to.x).abs() + across * 2, (from.y - to.y).abs() + up * 2);
            Rect::new(left, top, size.0, size.1)
        }
        Item::Dot { centre, radius, .. } => Rect::new(centre.x - *radius, centre.y - *radius, *radius * 2, *radius * 2),
    }
}
