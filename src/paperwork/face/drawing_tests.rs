//! What holds for every drawing of a face, whatever the connector and the paper.

use std::collections::{BTreeMap, BTreeSet};

use proptest::prelude::*;

use super::tests::{any_names, any_row, plan_of};
use super::{Arrangement, FacePlan, FilledFace, Mark, Occupant, drawings, faces};
use crate::base::{Cavity, ConnectorId, EndLetter, Length, Place, Rect, Size, WireColour};
use crate::circuits::{self, Circuit, JobLists, List, ListSettings, View};
use crate::codes::issued::CircuitCodes;
use crate::codes::link::Payload;
use crate::codes::{Issued, mint};
use crate::labels::Band;
use crate::layout::text::Fonts;
use crate::layout::{Face, Frame, Item, TextItem};
use crate::paperwork::Harness;

thread_local! {
    static FONTS: Fonts = Fonts::new();
}

/// No capitals are lower, but for the rounding of em squares.
const LEAST_MM: f64 = 1.299;

fn marks() -> Vec<Mark> {
    let place = || Place::from_typed("J4/17").expect("a place");
    vec![
        Mark::Keep,
        Mark::Remove,
        Mark::Cut,
        Mark::Move(Some(place())),
        Mark::Move(None),
        Mark::Arrives(place()),
        Mark::Add,
        Mark::Extend,
        Mark::Reserve,
        Mark::Undecided,
        Mark::FoundEmpty,
        Mark::FoundIn("J1/9".to_owned()),
        Mark::Restraint,
        Mark::HighVoltage,
    ]
}

/// Every named cavity holds one to three wires, with marks and colours of every sort.
fn filled(plan: FacePlan, names: &[Cavity]) -> FilledFace {
    let marks = marks();
    let occupant = |number: usize| Occupant {
        tag: ["7KF4 A", "WMQ8 AB", "2222 B"][number % 3].to_owned(),
        colour: WireColour::from_cell(["RD", "BU/WH", "green and yellow", "mauve", ""][number % 5]),
        mark: marks[number % marks.len()].clone(),
        danger: match &marks[number % marks.len()] {
            Mark::Restraint => Some(Band::Restraint),
            Mark::HighVoltage => Some(Band::HighVoltage),
            _ => (number % 4 == 1).then_some(Band::Live),
        },
    };
    let wires = |index: usize| (0..1 + index % 3).map(|wire| occupant(index + wire)).collect::<Vec<_>>();
    FilledFace {
        id: ConnectorId::from_cell("X12").expect("a name"),
        short_name: Some("bulkhead, engine half".to_owned()),
        plan,
        held: names
            .iter()
            .enumerate()
            .map(|(index, name)| (Some(name.clone()), wires(index)))
            .collect::<BTreeMap<_, _>>(),
    }
}

fn drawn(face: &FilledFace, view: View, room: Size) -> Vec<Frame> {
    FONTS.with(|fonts| drawings(face, &[view], room, fonts))
}

fn texts(frame: &Frame) -> impl Iterator<Item = (&TextItem, String)> {
    frame.items.iter().filter_map(|item| match item {
        Item::Text(text) => Some((text, text.glyphs.iter().map(|glyph| &*glyph.text).collect())),
        _ => None,
    })
}

fn cap_mm(text: &TextItem) -> f64 {
    FONTS.with(|fonts| {
        let typeface = fonts.typeface(text.face);
        typeface.units(typeface.cap_height, text.em).as_mm()
    })
}

/// The box that an item fills.
fn bounds(item: &Item) -> Rect {
    let around = |x: Length, y: Length, r: Length| Rect::new(x - r, y - r, r * 2, r * 2);
    match item {
        Item::Text(text) => text.bounds,
        Item::Symbol(symbol) => symbol.area,
        Item::Fill { area, .. } => *area,
        Item::Outline { area, weight, .. } => area.inset(-weight.half()),
        Item::Rule { from, to, .. } => {
            let (left, top) = (from.x.min(to.x), from.y.min(to.y));
            Rect::new(left, top, (from.x - to.x).abs(), (from.y - to.y).abs())
        }
        Item::Dot { centre, radius, .. } => around(centre.x, centre.y, *radius),
    }
}

/// Planned work does not show where a wire of grave danger is, and the heading tells of a connector that is of it alone.
#[test]
fn dangers_stand_where_actions_would() {
    let list = |name: &str, text: &str| List {
        name: name.to_owned(),
        bytes: text.as_bytes().to_vec(),
        settings: ListSettings::default(),
    };
    let connectors = "connector,short name,rows,columns\nA70,crash unit,1,2\nB1,,1,4\nC9,airbag control unit,1,2\n";
    let ends = "connector,cavity,circuit,supply,action\nA70,1,E1,restraint,cut\nA70,2,E2,restraint,move to B1/2\n\
                B1,1,E3,high voltage,remove\nB1,3,E4,constant,extend\nB1,4,E5,,keep\nC9,1,E6,,cut\n";
    let (connectors, lists) = (list("connectors.csv", connectors), [list("loom.csv", ends)]);
    let circuits = circuits::read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) }).value;
    let codes = |(nth, circuit): (usize, &Circuit)| CircuitCodes {
        code: mint::nth(nth as u32).expect("not used up"),
        also: Vec::new(),
        letters: (0..circuit.ends().len()).map(|end| EndLetter::nth(end as u16)).collect(),
    };
    let issued = Issued { circuits: circuits.all().iter().enumerate().map(codes).collect() };
    let faces = faces(&Harness::new(&circuits, &issued, &Payload::Code));
    let face = |name: &str| &faces[&ConnectorId::from_cell(name).expect("a name")];
    let words = |name: &str| -> Vec<String> {
        let frames = drawn(face(name), View::WireSide, Size::new(Length::mm(184.0), Length::mm(252.0)));
        frames.iter().flat_map(texts).map(|(_, words)| words).collect()
    };
    let says =
        |words: &[String], wanted: &[&str]| wanted.iter().any(|wanted| words.iter().any(|words| words == wanted));

    assert_eq!(face("A70").stops(), BTreeSet::from([Band::Restraint]));
    let (unit, other, described) = (words("A70"), words("B1"), words("C9"));
    assert!(says(&unit, &["RESTRAINT: DO NOT OPEN"]) && says(&unit, &["RESTRAINT", "RESTR."]), "{unit:?}");
    assert!(says(&unit, &["restraint: stop, do not cut"]) && !says(&unit, &["cut", "moves to", "B1/2"]), "{unit:?}");
    assert!(says(&described, &["RESTRAINT: DO NOT OPEN"]) && !says(&described, &["cut"]), "{described:?}");

    let held = &face("B1").held;
    let mark = |cavity: &str| &held[&Cavity::from_cell(cavity)][0].mark;
    let marks = ["1", "2", "3", "4"].map(mark);
    assert_eq!(marks, [&Mark::HighVoltage, &Mark::Restraint, &Mark::Extend, &Mark::Keep]);
    assert!(says(&other, &["HIGH VOLTAGE", "HV"]) && says(&other, &["RESTRAINT", "RESTR."]), "{other:?}");
    assert!(says(&other, &["LIVE"]) && says(&other, &["with battery on"]) && !says(&other, &["remove"]), "{other:?}");
    assert!(!other.iter().any(|words| words.contains("DO NOT OPEN")), "{other:?}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn every_name_is_drawn_where_it_can_be_read(
        row in any_row(),
        names in any_names(),
        width in 120_u16..200,
        height in 160_u16..260,
        is_behind: bool,
    ) {
        let face = filled(plan_of(&row, &names), &names);
        let view = if is_behind { View::WireSide } else { View::MatingFace };
        let room = Size::new(Length::mm(width.into()), Length::mm(height.into()));
        let frames = drawn(&face, view, room);
        if face.plan.arrangement() == Arrangement::Point {
            prop_assert!(frames.is_empty());
            return Ok(());
        }
        let mut said: Vec<String> = Vec::new();
        for frame in &frames {
            let (size, edge) = (frame.size, Length::mm(0.01));
            prop_assert!(size.width <= room.width && size.height <= room.height, "{:?} in {:?}", size, room);
            let inside = Rect::new(Length::ZERO, Length::ZERO, size.width, size.height).inset(-edge);
            for item in &frame.items {
                prop_assert!(inside.holds(&bounds(item)), "{:?} leaves {:?}", item, size);
            }
            let mut placed: Vec<(Rect, String)> = Vec::new();
            for (text, words) in texts(frame) {
                prop_assert!(cap_mm(text) >= LEAST_MM, "`{}` is {} mm high", words, cap_mm(text));
                placed.push((text.bounds, words.clone()));
                if text.face == Face::Code {
                    said.push(words);
                }
            }
            placed.sort_by_key(|(area, _)| area.left());
            for (index, (area, words)) in placed.iter().enumerate() {
                for (other, its_words) in placed[index + 1..].iter().take_while(|(other, _)| other.left() < area.right()) {
                    prop_assert!(!area.overlaps(other), "`{}` on `{}`", words, its_words);
                }
            }
        }
        for spot in face.plan.spots(view) {
            let name = spot.cavity.expect("a face has names");
            prop_assert!(said.iter().any(|said| said == name.as_str()), "{} is not drawn", name);
        }
    }

    /// However many cavities: their numbers stay at least as high as the least, and in their order.
    #[test]
    fn one_to_four_hundred_cavities_are_readable(rows in 1_u16..20, columns in 1_u16..21) {
        let names: Vec<Cavity> =
            (1..=rows * columns).filter_map(|number| Cavity::from_cell(&number.to_string())).collect();
        let face = filled(plan_of(&format!("X,,{rows},{columns},,by rows,top,,,,,,"), &names), &names);
        let frames = drawn(&face, View::WireSide, Size::new(Length::mm(184.0), Length::mm(252.0)));
        let all: Vec<String> = frames.iter().flat_map(texts).map(|(_, words)| words).collect();
        for name in &names {
            prop_assert!(all.iter().any(|words| words == name.as_str()));
        }
        let least = frames.iter().flat_map(texts).map(|(text, _)| cap_mm(text)).fold(f64::MAX, f64::min);
        prop_assert!(least >= LEAST_MM);
    }
}
