//! Marks that must be seen before anything is done to a wire.
//!
//! They come from the supply column or from plain words in the function, never from the colour of the insulation. A tag
//! without a mark does not mean that a wire is dead.

use super::label::Band;
use crate::circuits::{Action, Circuit, End, Supply};

/// Words of a function that say restraint whatever the supply column says (common practice).
const RESTRAINT_WORDS: [&str; 6] =
    ["airbag", "air bag", "restraint", "belt tensioner", "belt pretensioner", "gurtstraffer"];

/// Words of a function that say high voltage (common practice).
const HIGH_VOLTAGE_WORDS: [&str; 4] = ["high voltage", "high-voltage", "hochvolt", "traction battery"];

/// The words of the mark of a circuit that is fed with every switch off.
pub(super) const LIVE: &str = "LIVE WITH BATTERY ON";

/// How the circuit counts for safety: its supply, or what its function's words say where they are graver.
pub fn graver_supply(circuit: &Circuit) -> Option<Supply> {
    let function = circuit.function.as_deref().unwrap_or_default().to_lowercase();
    let says = |words: &[&str]| words.iter().any(|word| function.contains(word));
    if circuit.supply == Some(Supply::HighVoltage) || says(&HIGH_VOLTAGE_WORDS) {
        Some(Supply::HighVoltage)
    } else if circuit.supply == Some(Supply::Restraint) || says(&RESTRAINT_WORDS) {
        Some(Supply::Restraint)
    } else {
        circuit.supply
    }
}

/// The mark of the circuit itself, whatever is done with its ends.
pub fn danger(circuit: &Circuit) -> Option<Band> {
    match graver_supply(circuit)? {
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

/// The marks of an end, gravest first, with the words that are printed.
pub fn bands(circuit: &Circuit, end: &End) -> Vec<(Band, String)> {
    let mut bands = Vec::new();
    match danger(circuit) {
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
