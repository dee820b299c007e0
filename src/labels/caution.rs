//! Marks that must be seen before anything is done to a wire.
//!
//! They come from the supply column or from plain words (`circuits::caution`), never from the colour of the insulation. A tag
//! without a mark does not mean that a wire is dead.

use super::label::Band;
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, Circuits, Supply};

/// The words of the mark of a circuit that is fed with every switch off.
pub(super) const LIVE: &str = "LIVE WITH BATTERY ON";

/// The mark of a supply, whatever is done with the ends.
pub fn danger(supply: Supply) -> Option<Band> {
    match supply {
        Supply::HighVoltage => Some(Band::HighVoltage),
        Supply::Restraint => Some(Band::Restraint),
        Supply::Constant => Some(Band::Live),
        _ => None,
    }
}

/// The marks of both ends of a wire, as they stand between them: there no end is to be capped.
pub fn between_ends(bands: Vec<(Band, String)>) -> Vec<(Band, String)> {
    let plain = |(band, words)| if band == Band::LiveCap { (Band::Live, LIVE.to_owned()) } else { (band, words) };
    bands.into_iter().map(plain).collect()
}

/// The mark that is printed with these words; `None` when they are no mark.
pub fn mark_of(words: &str) -> Option<Band> {
    let is_of =
        |what: &str| words.strip_prefix(what).is_some_and(|rest| [" DO NOT CUT", " DO NOT OPEN"].contains(&rest));
    let is_length = |rest: &str| rest.ends_with(" mm");
    match words {
        _ if is_of("HIGH VOLTAGE") => Some(Band::HighVoltage),
        _ if is_of("RESTRAINT") => Some(Band::Restraint),
        LIVE => Some(Band::Live),
        _ if words.starts_with(LIVE) => Some(Band::LiveCap),
        "NEW" => Some(Band::New),
        "SPARE" => Some(Band::Spare),
        _ => words.strip_prefix("OUT ").filter(|rest| is_length(rest)).map(|_| Band::Out),
    }
}

/// The marks of an end, by circuit and end, gravest first, with the words that are printed.
pub fn bands(circuits: &Circuits, at: (usize, usize)) -> Vec<(Band, String)> {
    let Some(end) = circuits.all().get(at.0).and_then(|circuit| circuit.ends().get(at.1)) else { return Vec::new() };
    let mut bands = Vec::new();
    match danger_at(circuits, at).and_then(danger) {
        Some(Band::Live) if end.action.loses_housing() => bands.push((Band::LiveCap, format!("{LIVE}: CAP THIS END"))),
        Some(Band::Live) => bands.push((Band::Live, LIVE.to_owned())),
        Some(Band::Restraint) => bands.push((Band::Restraint, "RESTRAINT DO NOT CUT".to_owned())),
        Some(Band::HighVoltage) => bands.push((Band::HighVoltage, "HIGH VOLTAGE DO NOT CUT".to_owned())),
        _ => {}
    }
    match end.action {
        Action::Remove => {
            let length = end.length.map_or_else(|| "____ mm".to_owned(), |length| length.to_string());
            bands.push((Band::Out, format!("OUT {length}")));
        }
        Action::Add => bands.push((Band::New, "NEW".to_owned())),
        Action::Reserve => bands.push((Band::Spare, "SPARE".to_owned())),
        _ => {}
    }
    bands
}
