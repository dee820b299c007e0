//! What must be seen before a wire is touched: the words of the marks on tags, above the rows and at the head of the list.

use std::collections::BTreeMap;

use super::contents::Content;
use super::{At, RULES, RULES_UNCUT};
use crate::base::ConnectorId;
use crate::circuits::Supply;
use crate::circuits::caution::{NEVER, danger_at, is_heavy_orange, said_by};
use crate::labels::Band;
use crate::labels::caution::{bands, between_ends, danger};
use crate::labels::connector::words_on_connector;
use crate::paperwork::Harness;
use crate::paperwork::whole_job::safety::{BATTERY_OFF, HIGH_VOLTAGE, RESTRAINT};

/// Of heavy cable in an orange jacket. It is no mark: the jacket neither proves nor clears high voltage.
const ORANGE: &str = "HEAVY ORANGE CABLE: STOP UNTIL THE MAKER'S DIAGRAM SAYS WHAT IT IS";

/// Whether a mark tells of a danger.
const fn is_danger(band: Band) -> bool {
    matches!(band, Band::HighVoltage | Band::Restraint | Band::Live | Band::LiveCap)
}

/// What stands above the row of an end.
pub(super) fn of_end(harness: &Harness<'_>, at: At) -> Vec<String> {
    let marks = bands(harness.circuits, at);
    with_orange(harness, at, marks.into_iter().filter(|(band, _)| is_danger(*band)).collect())
}

/// What stands above the row of an end that arrives: it is in its cavity then, and needs no cap.
pub(super) fn of_arrival(harness: &Harness<'_>, at: At) -> Vec<String> {
    let marks = bands(harness.circuits, at).into_iter().filter(|(band, _)| is_danger(*band)).collect();
    with_orange(harness, at, between_ends(marks))
}

fn with_orange(harness: &Harness<'_>, at: At, marks: Vec<(Band, String)>) -> Vec<String> {
    let is_known = marks.iter().any(|(band, _)| *band == Band::HighVoltage);
    let orange = (!is_known && is_heavy_orange(harness.end(at))).then(|| ORANGE.to_owned());
    marks.into_iter().map(|(_, words)| words).chain(orange).collect()
}

/// What is said at the head of a list: of what may hurt first, in the words of the safety page, and of cutting only where something
/// may be cut.
pub(super) fn rules(harness: &Harness<'_>, id: &ConnectorId, content: Content<'_>) -> Vec<String> {
    let short_name = harness.circuits.connector(id).and_then(|connector| connector.short_name.as_deref());
    let danger = |at: &At| danger_at(harness.circuits, *at);
    let dangers: Vec<Supply> =
        content.ends.iter().chain(content.arrivals).filter_map(danger).chain(short_name.and_then(said_by)).collect();
    let stops = |at: &At| {
        matches!(danger(at), Some(Supply::Restraint | Supply::HighVoltage)) || is_heavy_orange(harness.end(*at))
    };
    let mut rules = of_dangers(&dangers);
    let is_worked = content.ends.iter().any(|at| !stops(at));
    rules.push(if is_worked { RULES } else { RULES_UNCUT }.to_owned());
    rules
}

/// The same for one end: what is not for everybody first, else that the battery comes off.
pub(super) fn rules_of_end(harness: &Harness<'_>, at: At) -> Vec<String> {
    let dangers: Vec<Supply> = danger_at(harness.circuits, at).into_iter().collect();
    match of_dangers(&dangers) {
        rules if rules.is_empty() => vec![BATTERY_OFF.to_owned()],
        rules => rules,
    }
}

fn of_dangers(dangers: &[Supply]) -> Vec<String> {
    let high_voltage = || format!("High voltage: {}", HIGH_VOLTAGE.join(" "));
    let restraint = || format!("Restraint: {} {}", RESTRAINT[0], RESTRAINT[1]);
    let all = [
        dangers.contains(&Supply::HighVoltage).then(high_voltage),
        dangers.contains(&Supply::Restraint).then(restraint),
    ];
    all.into_iter().flatten().collect()
}

/// What stands at the head: each danger of the wires in it, or of its own name, with the cavities.
pub(super) fn of_connector(harness: &Harness<'_>, id: &ConnectorId, content: Content<'_>) -> Vec<String> {
    let mut places: BTreeMap<Band, Vec<String>> = BTreeMap::new();
    let short_name = harness.circuits.connector(id).and_then(|connector| connector.short_name.as_deref());
    if let Some(band) = short_name.and_then(said_by).and_then(danger) {
        places.entry(band).or_default();
    }
    for &at in content.ends {
        for (band, _) in between_ends(bands(harness.circuits, at)) {
            if is_danger(band) {
                let cavities = places.entry(band).or_default();
                let cavity = harness.end(at).place.cavity.as_ref().map(ToString::to_string).unwrap_or_default();
                if !cavity.is_empty() && cavities.last() != Some(&cavity) {
                    cavities.push(cavity);
                }
            }
        }
    }
    let told = |(band, cavities): (Band, Vec<String>)| {
        let what = match band {
            Band::HighVoltage => "stop, trained persons only",
            Band::Restraint => NEVER,
            _ => "cap each end as soon as it is free",
        };
        match &cavities[..] {
            [] => format!("{}: {what}", words_on_connector(band)),
            [one] => format!("{}. Cavity {one}: {what}", words_on_connector(band)),
            several => format!("{}. Cavities {}: {what}", words_on_connector(band), several.join(" ")),
        }
    };
    places.into_iter().map(told).collect()
}
