//! What the tag of an end can say: its label, made from circuit and code.

use super::along;
use super::caution;
use super::field::Field;
use super::label::{Band, Label, Position, TagName, Wire};
use super::select::Selected;
use crate::base::{Conductor, EndLetter, Length, Place, Purpose};
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, Circuit, Circuits, End, FarEnd, Naming};
use crate::codes::Issued;
use crate::codes::link::Payload;

/// A line to write on, for what is not known yet.
pub(super) const BLANK: &str = "________";

/// Longest text of a text symbol: what QR 2-M holds (ISO/IEC 18004, table 7), so that modules stay large.
pub(super) const TEXT_PAYLOAD: usize = 38;

/// The label of one selected tag.
pub fn label(circuits: &Circuits, issued: &Issued, payload: &Payload, purpose: Purpose, selected: &Selected) -> Label {
    let circuit = &circuits.all()[selected.circuit];
    let codes = &issued.circuits[selected.circuit];
    let ends: Vec<&End> = selected.ends.clone().map(|end| &circuit.ends()[end]).collect();
    let first = ends[0];
    let letters: Vec<EndLetter> = selected.ends.clone().map(|end| codes.letters[end]).collect();

    let there: Vec<Option<String>> = selected.ends.clone().map(|end| there(circuit, end)).collect();
    let has_there = there.iter().any(Option::is_some);
    let there: Vec<&str> = there.iter().map(|place| place.as_deref().unwrap_or(BLANK)).collect();
    let there = if has_there { there.join(" + ") } else { BLANK.to_owned() };
    let function = circuit.function.as_deref().unwrap_or_default();
    let fields = [
        (Field::Function, told(circuit.function.as_deref())),
        (Field::Here, vec![spaced(&first.place)]),
        (Field::There, vec![there.clone()]),
        (Field::Move, move_target(first).into_iter().collect()),
        (Field::Conductor, each_wire(&ends, &letters, |end| [colour(end), size(end)])),
        (Field::Colour, each_wire(&ends, &letters, |end| [colour(end), None])),
        (Field::Size, each_wire(&ends, &letters, |end| [size(end), None])),
        (Field::Fuse, circuit.fuse.iter().map(|fuse| format!("fuse {fuse}")).collect()),
        (Field::Supply, circuit.supply.iter().map(ToString::to_string).collect()),
        (Field::Length, each_wire(&ends, &letters, |end| [end.length.map(|length| length.to_string()), None])),
        (Field::Partner, told(first.partner.as_deref())),
        (Field::Circuit, told(designation(circuit))),
        (Field::Branch, told(first.branch.as_deref())),
        (Field::Note, told(first.note.as_deref())),
    ];

    let route =
        if has_there { format!("{}-{}", first.place, there.replace(" / ", "/")) } else { first.place.to_string() };
    Label {
        payload: Some(payload.text(codes.code, &letters, &[function, &route], TEXT_PAYLOAD)),
        name: TagName::Ends { code: codes.code, letters },
        purpose,
        place: Some(first.place.clone()),
        at: None,
        fields: fields.into_iter().filter(|(_, parts)| !parts.is_empty()).collect(),
        colour: if are_alike(&ends) { first.colour.clone() } else { None },
        bands: bands(circuits, selected.circuit, selected.ends.clone()),
        wires: ends.iter().map(|end| wire(end)).collect(),
        wish: ends.iter().find_map(|end| match purpose {
            Purpose::Work => end.tag.work,
            Purpose::Final => end.tag.final_tag,
        }),
        action: Some(first.action.clone()),
        supply: danger_at(circuits, (selected.circuit, selected.ends.start)),
    }
}

/// A field of one text, or of none.
pub(super) fn told(text: Option<&str>) -> Vec<String> {
    text.map(str::to_owned).into_iter().collect()
}

/// The circuit's designation, where a list gives it.
pub(super) fn designation(circuit: &Circuit) -> Option<&str> {
    (circuit.naming() == Naming::Designated).then(|| circuit.id().as_str())
}

/// The label of a tag that sits so far from its end.
pub(super) fn at(circuits: &Circuits, mut label: Label, selected: &Selected, distance: Length) -> Label {
    let wires: Vec<String> = along::wires_of(circuits, selected).map(|wire| wire.name(circuits)).collect();
    let from = circuits.all()[selected.circuit].ends()[selected.ends.start].place.clone();
    let position = Position { distance, from, wire: wires.join(" + ") };
    label.fields.push((Field::At, vec![position.to_string()]));
    label.at = Some(position);
    label
}

/// What is known of the wire of an end.
pub(super) fn wire(end: &End) -> Wire {
    let size = end.conductor.as_ref().map(Conductor::size);
    Wire { measured: end.diameter, size, insulation: end.insulation, slides_over: end.slides_over }
}

/// `J1 / 14`: spaced, so that designation and cavity do not run together.
pub(super) fn spaced(place: &Place) -> String {
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

fn colour(end: &End) -> Option<String> {
    end.colour.as_ref().map(ToString::to_string)
}

fn size(end: &End) -> Option<String> {
    end.conductor.as_ref().map(ToString::to_string)
}

/// What is known of the wires of a tag, in parts: `BN/WH`, `0.75 mm²`. Where the wires of a doubled cavity differ, each is told
/// with its letter: `A BK 1.5 mm²`, `B GNYE 2.5 mm²`.
fn each_wire(ends: &[&End], letters: &[EndLetter], known: impl Fn(&End) -> [Option<String>; 2]) -> Vec<String> {
    let of = |end: &End| known(end).into_iter().flatten().collect::<Vec<_>>();
    if are_alike(ends) {
        return of(ends[0]);
    }
    let lettered = |(end, letter): (&&End, &EndLetter)| {
        let parts = of(end);
        (!parts.is_empty()).then(|| format!("{letter} {}", parts.join(" ")))
    };
    ends.iter().zip(letters).filter_map(lettered).collect()
}

/// Whether the wires of a tag have the same colour and size.
fn are_alike(ends: &[&End]) -> bool {
    ends.windows(2).all(|two| two[0].colour == two[1].colour && two[0].conductor == two[1].conductor)
}

/// The marks of all wires of a tag, each once, gravest first.
pub(super) fn bands(circuits: &Circuits, circuit: usize, ends: impl Iterator<Item = usize>) -> Vec<(Band, String)> {
    let mut bands: Vec<(Band, String)> = ends.flat_map(|end| caution::bands(circuits, (circuit, end))).collect();
    bands.sort();
    bands.dedup();
    // A free end says all that a fixed one says, and more.
    if bands.iter().any(|(band, _)| *band == Band::LiveCap) {
        bands.retain(|(band, _)| *band != Band::Live);
    }
    bands
}
