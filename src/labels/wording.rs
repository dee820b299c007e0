//! The words of a tag, in the order in which they are given up: the last goes first.

use super::caution;
use super::label::{Band, Field, Label, Line, TagName, Wire};
use super::select::Selected;
use crate::base::{Conductor, Place, Purpose};
use crate::circuits::{Action, Circuit, Circuits, End, FarEnd, Naming};
use crate::codes::Issued;
use crate::codes::link::Payload;

/// A line to write on, for what is not known yet.
const BLANK: &str = "________";

/// Longest text of a text symbol: what QR 2-M holds (ISO/IEC 18004, table 7), so that modules stay large.
const TEXT_PAYLOAD: usize = 38;

/// The label of one selected tag.
pub fn label(circuits: &Circuits, issued: &Issued, payload: &Payload, purpose: Purpose, selected: &Selected) -> Label {
    let circuit = &circuits.all()[selected.circuit];
    let codes = &issued.circuits[selected.circuit];
    let ends: Vec<&End> = selected.ends.clone().map(|end| &circuit.ends()[end]).collect();
    let first = ends[0];
    let name = TagName { code: codes.code, letters: selected.ends.clone().map(|end| codes.letters[end]).collect() };

    let there: Vec<Option<String>> = selected.ends.clone().map(|end| there(circuit, end)).collect();
    let has_there = there.iter().any(Option::is_some);
    let there: Vec<&str> = there.iter().map(|place| place.as_deref().unwrap_or(BLANK)).collect();
    let there = if has_there { there.join(" + ") } else { BLANK.to_owned() };
    let function = circuit.function.as_deref().unwrap_or_default();
    let whole = |field, text: &str| Line::whole(field, [text.to_owned()]);
    let lines = [
        Line::shortened_by_words(Field::Function, function),
        whole(Field::Here, &spaced(&first.place)),
        whole(Field::There, &there),
        move_target(first).and_then(|place| whole(Field::Move, &place)),
        Line::whole(Field::Conductor, conductors(circuit, &ends, &name)),
        (circuit.naming() == Naming::Designated).then(|| whole(Field::Circuit, circuit.id().as_str())).flatten(),
        first.branch.as_deref().and_then(|branch| whole(Field::Branch, branch)),
        first.note.as_deref().and_then(|note| Line::shortened_by_words(Field::Note, note)),
    ];

    let route =
        if has_there { format!("{}-{}", first.place, there.replace(" / ", "/")) } else { first.place.to_string() };
    Label {
        payload: Some(payload.text(name.code, &name.letters, &[function, &route], TEXT_PAYLOAD)),
        purpose,
        place: first.place.clone(),
        lines: lines.into_iter().flatten().collect(),
        colour: if are_alike(&ends) { first.colour.clone() } else { None },
        bands: bands(circuit, &ends),
        wires: ends.iter().map(|end| wire(end)).collect(),
        name,
    }
}

/// What is known of the wire of an end.
fn wire(end: &End) -> Wire {
    let size = end.conductor.as_ref().map(Conductor::size);
    Wire { measured: end.diameter, size, insulation: end.insulation }
}

/// `J1 / 14`: spaced, so that designation and cavity do not run together.
fn spaced(place: &Place) -> String {
    match &place.cavity {
        Some(cavity) => format!("{} / {cavity}", place.connector),
        None => place.connector.to_string(),
    }
}

/// Where the end shall be moved to, when that is decided.
fn move_target(end: &End) -> Option<String> {
    match &end.action {
        Action::Move(target) => target.as_ref().map(spaced),
        _ => None,
    }
}

/// The place of the wire's other end; `None` while nobody knows.
fn there(circuit: &Circuit, end: usize) -> Option<String> {
    match circuit.far_end(end) {
        FarEnd::End(far) => Some(spaced(&circuit.ends()[far].place)),
        FarEnd::ImpliedSplice => Some("splice".to_owned()),
        FarEnd::Unknown => None,
    }
}

/// Colour, size and fuse: `BN/WH`, `0.75 mm²`, `fuse F12 15 A`. Where the wires of a doubled cavity differ, each is told with
/// its letter: `A BK 1.5 mm²`, `B GNYE 2.5 mm²`.
fn conductors(circuit: &Circuit, ends: &[&End], name: &TagName) -> Vec<String> {
    let fuse = circuit.fuse.as_ref().map(|fuse| format!("fuse {fuse}"));
    let wire = |end: &End| {
        let parts = [end.colour.as_ref().map(ToString::to_string), end.conductor.as_ref().map(ToString::to_string)];
        parts.into_iter().flatten().collect::<Vec<_>>()
    };
    let mut parts = if are_alike(ends) {
        wire(ends[0])
    } else {
        ends.iter().zip(&name.letters).map(|(end, letter)| format!("{letter} {}", wire(end).join(" "))).collect()
    };
    parts.extend(fuse);
    parts
}

/// Whether the wires of a tag have the same colour and size.
fn are_alike(ends: &[&End]) -> bool {
    ends.windows(2).all(|two| two[0].colour == two[1].colour && two[0].conductor == two[1].conductor)
}

/// The marks of all wires of a tag, each once, gravest first.
fn bands(circuit: &Circuit, ends: &[&End]) -> Vec<(Band, String)> {
    let mut bands: Vec<(Band, String)> = ends.iter().flat_map(|end| caution::bands(circuit, end)).collect();
    bands.sort();
    bands.dedup();
    // A free end says all that a fixed one says, and more.
    if bands.iter().any(|(band, _)| *band == Band::LiveCap) {
        bands.retain(|(band, _)| *band != Band::Live);
    }
    bands
}
