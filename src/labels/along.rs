//! Marks along a wire, between its ends: where they sit, which wires have none, and what they say.
//!
//! The rule is that of FAA AC 43.13-1B, 11-208 (common practice on vehicles and boats too): a mark within 3 inches of each end
//! and at most 15 inches between marks; wires under 3 inches need none, wires of 3 to 7 inches have one about the centre.
//! An end that comes free is stripped and crimped, so that its tag sits further back, and the wire is cut between two tags.

use std::collections::{HashMap, HashSet};

use super::caution;
use super::end::{self, BLANK, TEXT_PAYLOAD, designation, spaced, told};
use super::field::Field;
use super::label::{Label, Position, TagName};
use super::select::Selected;
use super::subject::{Selection, Subject};
use crate::base::{EndLetter, Length, Purpose};
use crate::circuits::caution::danger_at;
use crate::circuits::{Circuit, Circuits, End, FarEnd};
use crate::codes::Issued;
use crate::codes::link::Payload;

/// How far from its end a mark sits at most (AC 43.13-1B, 11-208: 3 in).
const FROM_END: Length = Length::nm(76_000_000);
/// The longest stretch without a mark (AC 43.13-1B, 11-208: 15 in).
const BETWEEN: Length = Length::nm(381_000_000);
/// A shorter wire has no mark (AC 43.13-1B, 11-208: 3 in).
const SHORTEST: Length = FROM_END;
/// A wire up to this length has one mark about its centre (AC 43.13-1B, 11-208: 7 in).
const SHORT: Length = Length::nm(178_000_000);

/// Where the marks of a wire sit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Spots {
    /// It is too short for any.
    None,
    /// One for both ends, so far from either.
    Centre(Length),
    /// One near each end, and others between them.
    Spread {
        /// Of the mark at the first end, from this end.
        first: Length,
        /// Of the mark at the other end, from that end.
        other: Length,
        /// Of the marks between them, from the first end.
        between: Vec<Length>,
    },
}

/// Whether an end comes free.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Freed {
    /// It is cut, stripped or crimped.
    Yes,
    /// It stays in its housing.
    No,
}

/// Where the marks of a wire of this length sit. The mark of an end that is freed sits `setback` from it.
pub fn spots(length: Length, ends: [Freed; 2], setback: Length) -> Spots {
    let is_freed = ends.contains(&Freed::Yes);
    // Where the wire will be cut both sides keep a tag, however short it is: tag both sides, then cut between the tags.
    if !is_freed && length < SHORTEST {
        return Spots::None;
    }
    if !is_freed && length <= SHORT {
        return Spots::Centre(length.half());
    }
    let [mut first, mut other] = ends.map(|end| distance(end, setback));
    // A third of the wire stays between them to cut in.
    let most = length * 2 / 3;
    if is_freed && first + other > most {
        let share = most.ratio(first + other);
        (first, other) = (first.scaled(share), other.scaled(share));
    }
    let span = length - first - other;
    let gaps = (span.as_nm() + BETWEEN.as_nm() - 1) / BETWEEN.as_nm();
    let between = (1..gaps).map(|gap| first + span * gap / gaps).collect();
    Spots::Spread { first, other, between }
}

/// How far from its end the tag of an end sits on a wire that is long enough.
fn distance(end: Freed, setback: Length) -> Length {
    match end {
        Freed::Yes => setback,
        Freed::No => FROM_END,
    }
}

/// A wire by its ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct WireEnds {
    /// Index of the circuit in [`Circuits::all`].
    pub circuit: usize,
    /// Index of the end that distances are told from: the first in working order.
    pub first: usize,
    /// Index of the other end; `None` where no list names it.
    pub other: Option<usize>,
}

impl WireEnds {
    /// The wire that arrives at an end of a circuit, by their indices.
    pub fn of(circuits: &Circuits, circuit: usize, end: usize) -> Self {
        match circuits.all()[circuit].far_end(end) {
            FarEnd::End(far) => Self { circuit, first: end.min(far), other: Some(end.max(far)) },
            FarEnd::ImpliedSplice | FarEnd::Unknown => Self { circuit, first: end, other: None },
        }
    }

    /// Indices of its ends.
    pub fn ends(self) -> impl Iterator<Item = usize> {
        std::iter::once(self.first).chain(self.other)
    }

    /// `J1/14-X3/2`; `J1/14-` while nobody knows where it goes.
    pub fn name(self, circuits: &Circuits) -> String {
        let ends = circuits.all()[self.circuit].ends();
        let other = self.other.map(|other| ends[other].place.to_string()).unwrap_or_default();
        format!("{}-{other}", ends[self.first].place)
    }

    /// Charts may tell the length at either end; of two that differ the longer, so that no stretch is left unmarked.
    fn length(self, circuit: &Circuit) -> Option<Length> {
        self.ends().filter_map(|end| circuit.ends()[end].length).max()
    }

    fn spots(self, circuit: &Circuit, setback: Length) -> Option<Spots> {
        let freed = |end: usize| if circuit.ends()[end].action.frees_the_end() { Freed::Yes } else { Freed::No };
        let ends = [freed(self.first), self.other.map_or(Freed::No, freed)];
        Some(spots(self.length(circuit)?, ends, setback))
    }
}

/// A mark along a wire.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Mark {
    /// The wire.
    pub wire: WireEnds,
    /// How far from its first end it sits.
    pub at: Length,
}

/// Puts marks between the tags of a selection, of which those that `is_wanted` are made. A short wire has one mark in place of the
/// tags of its ends, and a very short one has none, unless an end of it comes free.
pub fn along_wires(
    circuits: &Circuits,
    selected: Vec<Selected>,
    is_wanted: impl Fn(&Selected) -> bool,
    setback: Length,
) -> Selection {
    // A tag of several wires stays for the sake of the others, and then so do the tags of their other ends.
    let shared = selected.iter().filter(|tag| tag.ends.len() > 1);
    let shared: HashSet<WireEnds> = shared.flat_map(|tag| wires_of(circuits, tag)).collect();
    let mut along = Selection::default();
    let mut known: HashMap<WireEnds, Option<Spots>> = HashMap::new();
    for tag in selected.into_iter().filter(is_wanted) {
        let circuit = &circuits.all()[tag.circuit];
        let wires: Vec<WireEnds> = wires_of(circuits, &tag).collect();
        let mut new = Vec::new();
        for &wire in &wires {
            known.entry(wire).or_insert_with(|| {
                new.push(wire);
                wire.spots(circuit, setback)
            });
        }
        let stays =
            |wire: &WireEnds| shared.contains(wire) || !matches!(known[wire], Some(Spots::None | Spots::Centre(_)));
        if wires.iter().any(stays) {
            let at = tag
                .ends
                .clone()
                .zip(&wires)
                .map(|(end, wire)| end_spot(circuit, end, *wire, known[wire].as_ref(), setback));
            along.subjects.push(match at.min() {
                Some(at) => Subject::EndsAt(tag, at),
                None => Subject::Ends(tag),
            });
        }
        for wire in new {
            let mut mark = |at| along.subjects.push(Subject::Mark(Mark { wire, at }));
            match &known[&wire] {
                None => along.of_no_length.push(wire),
                Some(Spots::None) if !shared.contains(&wire) => along.too_short.push(wire),
                Some(Spots::Centre(at)) if !shared.contains(&wire) => mark(*at),
                Some(Spots::None | Spots::Centre(_)) => {}
                Some(Spots::Spread { other, between, .. }) => {
                    between.iter().copied().for_each(&mut mark);
                    // An end that no list names has no tag, so a mark stands in for it.
                    if let (None, Some(length)) = (wire.other, wire.length(circuit)) {
                        mark(length - *other);
                    }
                }
            }
        }
    }
    along
}

/// All wires, in the order of the circuits.
pub fn wires(circuits: &Circuits) -> impl Iterator<Item = WireEnds> {
    let each = circuits.all().iter().enumerate();
    let ends = each.flat_map(|(index, circuit)| (0..circuit.ends().len()).map(move |end| (index, end)));
    ends.map(|(circuit, end)| (end, WireEnds::of(circuits, circuit, end)))
        .filter(|(end, wire)| wire.first == *end)
        .map(|(_, wire)| wire)
}

/// The wires that a tag of ends goes on.
pub(super) fn wires_of(circuits: &Circuits, tag: &Selected) -> impl Iterator<Item = WireEnds> {
    let circuit = tag.circuit;
    tag.ends.clone().map(move |end| WireEnds::of(circuits, circuit, end))
}

/// How far from its end the tag of an end sits.
fn end_spot(circuit: &Circuit, end: usize, wire: WireEnds, spots: Option<&Spots>, setback: Length) -> Length {
    match spots {
        Some(Spots::Spread { first, other, .. }) => {
            if end == wire.first {
                *first
            } else {
                *other
            }
        }
        // On a short wire that shares its tag with others.
        Some(Spots::None | Spots::Centre(_)) => wire.length(circuit).unwrap_or_default() / 3,
        None if circuit.ends()[end].action.frees_the_end() => setback,
        None => FROM_END,
    }
}

/// The label of a mark.
pub fn mark_label(circuits: &Circuits, issued: &Issued, payload: &Payload, mark: &Mark) -> Label {
    let wire = mark.wire;
    let circuit = &circuits.all()[wire.circuit];
    let codes = &issued.circuits[wire.circuit];
    let ends: Vec<&End> = wire.ends().map(|end| &circuit.ends()[end]).collect();
    let letters: Vec<EndLetter> = wire.ends().map(|end| codes.letters[end]).collect();
    let first = ends[0];
    let there = match (ends.get(1), circuit.far_end(wire.first)) {
        (Some(other), _) => spaced(&other.place),
        (None, FarEnd::ImpliedSplice) => "splice".to_owned(),
        (None, _) => BLANK.to_owned(),
    };
    // The two ends are one wire: what one chart leaves blank the other may tell.
    let known =
        |tell: fn(&End) -> Option<String>| ends.iter().find_map(|end| tell(end)).into_iter().collect::<Vec<_>>();
    let position = Position { distance: mark.at, from: first.place.clone(), wire: wire.name(circuits) };
    let colour = known(|end| end.colour.as_ref().map(ToString::to_string));
    let size = known(|end| end.conductor.as_ref().map(ToString::to_string));
    let fields = [
        (Field::Function, told(circuit.function.as_deref())),
        (Field::Here, vec![spaced(&first.place)]),
        (Field::There, vec![there]),
        (Field::At, vec![position.to_string()]),
        (Field::Conductor, [&colour[..], &size[..]].concat()),
        (Field::Colour, colour),
        (Field::Size, size),
        (Field::Fuse, circuit.fuse.iter().map(|fuse| format!("fuse {fuse}")).collect()),
        (Field::Supply, circuit.supply.iter().map(ToString::to_string).collect()),
        (Field::Length, wire.length(circuit).iter().map(ToString::to_string).collect()),
        (Field::Partner, known(|end| end.partner.clone())),
        (Field::Circuit, told(designation(circuit))),
        (Field::Branch, known(|end| end.branch.clone())),
        (Field::Note, known(|end| end.note.clone())),
    ];
    Label {
        payload: Some(mark_text(circuits, issued, payload, wire)),
        name: TagName::Between { code: codes.code, letters },
        purpose: Purpose::Work,
        place: Some(first.place.clone()),
        at: Some(position),
        fields: fields.into_iter().filter(|(_, parts)| !parts.is_empty()).collect(),
        colour: ends.iter().find_map(|end| end.colour.clone()),
        bands: caution::between_ends(end::bands(circuits, wire.circuit, wire.ends())),
        wires: ends.iter().map(|end| end::wire(end)).collect(),
        // What a row wishes for its end says nothing of the wire between.
        wish: None,
        action: None,
        supply: danger_at(circuits, (wire.circuit, wire.first)),
    }
}

/// What the symbol of a mark says: alike for all marks of a wire.
pub fn mark_text(circuits: &Circuits, issued: &Issued, payload: &Payload, wire: WireEnds) -> String {
    let circuit = &circuits.all()[wire.circuit];
    let codes = &issued.circuits[wire.circuit];
    let letters: Vec<EndLetter> = wire.ends().map(|end| codes.letters[end]).collect();
    let function = circuit.function.as_deref().unwrap_or_default();
    let places: Vec<String> = wire.ends().map(|end| circuit.ends()[end].place.to_string()).collect();
    payload.mark_text(codes.code, &letters, &[function, &places.join("-")], TEXT_PAYLOAD)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const SETBACK: Length = Length::nm(150_000_000);

    fn mm(millimetres: f64) -> Length {
        Length::mm(millimetres)
    }

    fn spread(length: f64, ends: [Freed; 2]) -> (f64, f64, Vec<f64>) {
        match spots(mm(length), ends, SETBACK) {
            Spots::Spread { first, other, between } => {
                let between = between.iter().map(|at| at.as_mm().round()).collect();
                (first.as_mm(), other.as_mm(), between)
            }
            other => panic!("{length}: {other:?}"),
        }
    }

    /// FAA AC 43.13-1B, 11-208: wires under 3 in need no mark, wires of 3 to 7 in have one about the centre, longer ones a mark
    /// within 3 in of each end and marks at most 15 in apart.
    #[test]
    fn the_rule_of_the_advisory_circular() {
        let none = [Freed::No; 2];
        assert_eq!(spots(mm(75.0), none, SETBACK), Spots::None);
        assert_eq!(spots(mm(76.0), none, SETBACK), Spots::Centre(mm(38.0)));
        assert_eq!(spots(mm(150.0), none, SETBACK), Spots::Centre(mm(75.0)));
        assert_eq!(spots(mm(178.0), none, SETBACK), Spots::Centre(mm(89.0)));
        assert_eq!(spread(179.0, none), (76.0, 76.0, vec![]));
        assert_eq!(spread(1000.0, none), (76.0, 76.0, vec![359.0, 641.0]));
        // 533 mm: the gap is the longest there may be.
        assert_eq!(spread(533.0, none), (76.0, 76.0, vec![]));
        assert_eq!(spread(534.0, none), (76.0, 76.0, vec![267.0]));
    }

    /// Tag both sides, then cut between the tags.
    #[test]
    fn an_end_that_comes_free_has_its_tag_further_back() {
        assert_eq!(spread(1000.0, [Freed::Yes, Freed::No]), (150.0, 76.0, vec![408.0, 666.0]));
        assert_eq!(spread(1000.0, [Freed::No, Freed::Yes]), (76.0, 150.0, vec![334.0, 592.0]));
        assert_eq!(spread(500.0, [Freed::Yes; 2]), (150.0, 150.0, vec![]));
        assert_eq!(spread(300.0, [Freed::Yes; 2]), (100.0, 100.0, vec![]));
        let (first, other, between) = spread(60.0, [Freed::Yes, Freed::No]);
        assert!(first > other && first + other < 41.0 && between.is_empty(), "{first} {other}");
        // A job may do without a setback.
        let spots = spots(mm(300.0), [Freed::Yes; 2], Length::ZERO);
        assert_eq!(spots, Spots::Spread { first: mm(0.0), other: mm(0.0), between: vec![] });
    }

    proptest! {
        #[test]
        fn no_stretch_is_left_unmarked(
            length in 1_i64..20_000_000_000,
            freed in prop::array::uniform2(any::<bool>()),
            setback in 0_i64..1_000_000_000,
        ) {
            let length = Length::nm(length);
            let ends = freed.map(|is_freed| if is_freed { Freed::Yes } else { Freed::No });
            match spots(length, ends, Length::nm(setback)) {
                Spots::None => prop_assert!(length < mm(76.0) && ends == [Freed::No; 2]),
                Spots::Centre(at) => {
                    prop_assert!(ends == [Freed::No; 2] && length >= mm(76.0) && length <= mm(178.0));
                    prop_assert!((at * 2 - length).abs() <= Length::nm(1));
                }
                Spots::Spread { first, other, between } => {
                    for (end, at) in ends.iter().zip([first, other]) {
                        let most = if *end == Freed::Yes { Length::nm(setback) } else { mm(76.0) };
                        prop_assert!(at >= Length::ZERO && at <= most, "{at}");
                    }
                    let mut all = vec![first];
                    all.extend(&between);
                    all.push(length - other);
                    let gaps: Vec<Length> = all.windows(2).map(|two| two[1] - two[0]).collect();
                    prop_assert!(gaps.iter().all(|gap| *gap <= mm(381.0) && *gap >= Length::ZERO), "{gaps:?}");
                    // Evenly spread, and no more of them than needed.
                    let least = gaps.iter().min().copied().unwrap_or_default();
                    prop_assert!(gaps.iter().all(|gap| *gap - least <= Length::nm(1)));
                    let span = length - first - other;
                    prop_assert!(between.is_empty() || span > mm(381.0) * between.len() as i64);
                    if freed.contains(&true) {
                        prop_assert!(span * 3 >= length - Length::nm(9), "{span} of {length}");
                    }
                }
            }
        }
    }
}
