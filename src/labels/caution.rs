//! Marks that must be seen before anything is done to a wire.
//!
//! They come from the supply column or from plain words, never from the colour of the insulation: the words of the function for
//! the whole circuit, those of branch and note for the wire whose end has them. Words only ever make it graver. A tag without
//! a mark does not mean that a wire is dead.

use super::label::Band;
use crate::circuits::{Action, Circuit, End, FarEnd, Supply};

/// Words that say restraint whatever the supply column says (common practice); also as part of a longer word.
const RESTRAINT_WORDS: [&str; 15] = [
    "airbag",
    "air bag",
    "air-bag",
    "restraint",
    "squib",
    "pretensioner",
    "pre-tensioner",
    "belt tensioner",
    "pyrotechn",
    "gurtstraffer",
    "rückhalte",
    "rueckhalte",
    "insassenschutz",
    "zündpille",
    "zuendpille",
];

/// Words that say high voltage (common practice); also as part of a longer word.
const HIGH_VOLTAGE_WORDS: [&str; 6] =
    ["high voltage", "high-voltage", "hochvolt", "hochspannung", "traction battery", "traktionsbatterie"];

/// Short forms that say so only when they stand alone: restraint, and high voltage.
const RESTRAINT_ALONE: &str = "srs";
const HIGH_VOLTAGE_ALONE: &str = "hv";

/// The words of the mark of a circuit that is fed with every switch off.
pub(super) const LIVE: &str = "LIVE WITH BATTERY ON";

/// How a circuit counts for safety: its supply, or what its function's words say where they are graver.
pub fn graver_supply(circuit: &Circuit) -> Option<Supply> {
    graver(circuit.supply, circuit.function.as_deref())
}

/// How the wire of an end counts for safety: as its circuit, or as branch or note of either of its ends say where they are graver.
pub fn graver_supply_at(circuit: &Circuit, end: usize) -> Option<Supply> {
    let far = match circuit.far_end(end) {
        FarEnd::End(far) => Some(far),
        FarEnd::ImpliedSplice | FarEnd::Unknown => None,
    };
    let ends = [Some(end), far].into_iter().flatten().filter_map(|end| circuit.ends().get(end));
    let words = ends.flat_map(|end: &End| [end.branch.as_deref(), end.note.as_deref()]);
    words.fold(graver_supply(circuit), graver)
}

/// A supply, or what words say where they are graver.
fn graver(supply: Option<Supply>, words: Option<&str>) -> Option<Supply> {
    match (supply, words.and_then(said_by)) {
        (Some(Supply::HighVoltage), _) | (_, Some(Supply::HighVoltage)) => Some(Supply::HighVoltage),
        (_, Some(said)) => Some(said),
        (supply, None) => supply,
    }
}

/// Restraint or high voltage, where plain words say so.
pub(super) fn said_by(words: &str) -> Option<Supply> {
    let lower = words.to_lowercase();
    let says = |known: &[&str], alone: &str| {
        let mut parts = lower.split(|c: char| !c.is_alphanumeric());
        known.iter().any(|word| lower.contains(word)) || parts.any(|part| part == alone)
    };
    if says(&HIGH_VOLTAGE_WORDS, HIGH_VOLTAGE_ALONE) {
        Some(Supply::HighVoltage)
    } else if says(&RESTRAINT_WORDS, RESTRAINT_ALONE) {
        Some(Supply::Restraint)
    } else {
        None
    }
}

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

/// The marks of an end, gravest first, with the words that are printed.
pub fn bands(circuit: &Circuit, index: usize) -> Vec<(Band, String)> {
    let Some(end) = circuit.ends().get(index) else { return Vec::new() };
    let mut bands = Vec::new();
    match graver_supply_at(circuit, index).and_then(danger) {
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
