//! Faces by hand, and what holds for all of them.

use std::collections::BTreeSet;

use proptest::prelude::*;

use super::{Arrangement, Certainty, FacePlan, PitchArea, Spot, Standing};
use crate::base::{Cavity, ConnectorId};
use crate::circuits::{self, Circuits, JobLists, List, ListSettings, View};

const HEADER: &str = "connector,kind,rows,columns,cavities,numbering,latch,view,stagger,missing,large,mates,case";

fn described(rows: &str) -> Circuits {
    let list = List {
        name: "connectors.csv".to_owned(),
        bytes: format!("{HEADER}\n{rows}\n").into_bytes(),
        settings: ListSettings::default(),
    };
    let checked = circuits::read(&JobLists { connectors: Some(&list), ..JobLists::default() });
    let is_meant = |id: &str| !["connector-in-no-list", "no-rows"].contains(&id);
    let told: Vec<_> = checked.problems.iter().filter(|problem| is_meant(problem.id)).collect();
    assert!(told.iter().all(|problem| problem.id == "unknown-mate"), "{told:?}");
    checked.value
}

fn cavities(names: &[&str]) -> Vec<Cavity> {
    names.iter().filter_map(|name| Cavity::from_cell(name)).collect()
}

fn numbers(numbers: impl IntoIterator<Item = u32>) -> Vec<Cavity> {
    numbers.into_iter().filter_map(|number| Cavity::from_cell(&number.to_string())).collect()
}

/// The plan of connector X, which mates with Y.
pub(super) fn plan_of(rows: &str, names: &[Cavity]) -> FacePlan {
    let circuits = described(rows);
    let connector = |name| ConnectorId::from_cell(name).and_then(|id| circuits.connector(&id).cloned());
    FacePlan::new(connector("X").as_ref(), connector("Y").as_ref(), names)
}

fn plan(row: &str, names: &[&str]) -> FacePlan {
    plan_of(row, &cavities(names))
}

fn name(spot: &Spot) -> &str {
    spot.cavity.as_ref().map_or("?", Cavity::as_str)
}

/// The rows as they are seen, those that stand apart behind a bar.
fn drawn(plan: &FacePlan, view: View) -> String {
    let mut rows: Vec<String> = Vec::new();
    let mut last = None;
    for spot in plan.spots(view) {
        if last != Some(spot.row) {
            rows.push(if spot.standing == Standing::Apart { "| ".to_owned() } else { String::new() });
            last = Some(spot.row);
        }
        if let Some(row) = rows.last_mut() {
            row.push_str(name(&spot));
            row.push(' ');
        }
    }
    rows.iter().map(|row| row.trim_end()).collect::<Vec<_>>().join("\n")
}

fn mating(plan: &FacePlan) -> String {
    drawn(plan, View::MatingFace)
}

/// What the columns of connectors.csv come to, worked out by hand.
#[test]
fn faces_as_they_are_told() {
    for (row, names, seen) in [
        ("X,,2,3,,by rows,,,,,,,", &["1", "6"][..], "1 2 3\n4 5 6"),
        ("X,,2,3,,,,,,,,,", &["1", "6"], "1 2 3\n4 5 6"),
        ("X,,2,3,,by columns,,,,,,,", &["1"], "1 3 5\n2 4 6"),
        ("X,,3,3,,back and forth,,,,,,,", &["1"], "1 2 3\n6 5 4\n7 8 9"),
        ("X,,2,3,,by rows,,wire side,,,,,", &["1"], "3 2 1\n6 5 4"),
        ("X,,2,3,,\"by rows, wire side\",,,,,,,", &["1"], "3 2 1\n6 5 4"),
        ("X,,2,3,,by rows from bottom right,,,,,,,", &["1"], "6 5 4\n3 2 1"),
        ("X,,2,3,,rows lettered,,,,,,,", &["a1", "B3"], "a1 A2 A3\nB1 B2 B3"),
        ("X,,2,3,,columns lettered,,,,,,,", &["A1"], "A1 B1 C1\nA2 B2 C2"),
        ("X,,2,3,,,,,,,,,", &["A1", "B3"], "A1 A2 A3\nB1 B2 B3"),
        ("X,,2,3,,,,,,,,,", &["A1", "C2"], "A1 B1 C1\nA2 B2 C2"),
        ("X,,2,3,,,,,,,,,", &["A1", "B6"], "A1 A2 A3\nB4 B5 B6"),
        ("X,,2,3,,,,,,,,,", &["1A", "3B"], "1A 2A 3A\n1B 2B 3B"),
        ("X,,2,3,,lettered,,,,,,,", &["A", "F"], "A B C\nD E F"),
        ("X,,2,3,,lettered,,,,,,,", &["B2", "A3"], "A1 A2 A3\nB1 B2 B3"),
        ("X,,2,5,,lettered,,,,,,,", &["A", "K"], "A B C D E\nF G H J K"),
        ("X,,2,5,,\"lettered, all letters\",,,,,,,", &["A"], "A B C D E\nF G H I J"),
        ("X,,1,3,,,,,,,,,", &["01", "03"], "01 02 03"),
        ("X,,1,3,,,,,,,,,", &["0", "2"], "0 1 2"),
        ("X,,2,3,5,,,,,,,,", &["1"], "1 2 3\n4 5"),
        ("X,,,3 2 3,,,,,,,,,", &["1"], "1 2 3\n4 5\n6 7 8"),
        ("X,,2,4,,,,,,2 7,,,", &["1"], "1 3 4\n5 6 8"),
        ("X,,2,,6,,,,,,,,", &["1"], "1 2 3\n4 5 6"),
        ("X,fuse box,2,4,,,,,,,,,", &["F1", "F8", "F3"], "F1 F2 F3 F4\nF5 F6 F7 F8"),
        ("X,,2,3,,,,,,,,,", &["1", "9", "GND"], "1 2 3\n4 5 6\n| 9 GND"),
        ("X,,2,3,,,,,,2,,,", &["1", "2"], "1 3\n4 5 6\n| 2"),
        ("X,,,6 1,,rings,,,,,,,", &["1"], "1 2 3 4 5 6\n7"),
        ("X,,,6 1,,\"rings, lettered, counterclockwise\",,,,,,,", &["A"], "A F E D C B\nG"),
        ("X,,1,3,,lettered,,,,,,,matters", &["a", "A"], "A B C\n| a"),
    ] {
        assert_eq!(mating(&plan(row, names)), seen, "{row} {names:?}");
    }
}

/// Nothing is told: what the names let guess.
#[test]
fn faces_from_names_alone() {
    for (names, seen, remark) in [
        (&["1", "2", "3"][..], "1 2 3", "the grid is a guess"),
        (&["1", "2", "3", "4", "6"], "1 2 3\n4 5 6", "the grid is a guess"),
        (&["A1", "A3", "B2"], "A1 A2 A3\nB1 B2 B3", "the grid is a guess"),
        (&["A", "B", "D"], "A B C D", "the grid is a guess"),
        (&["F1", "F2", "F4"], "F1 F2 F3 F4", "the grid is a guess"),
        (&["B+", "L", "S1x"], "B+ L S1x", "do not tell how the cavities lie"),
        (&["L"], "L", "do not tell how the cavities lie"),
        (&["3", "117"], "3 117", "do not tell how the cavities lie"),
        (&["99999999999999999999", "1"], "1\n| 99999999999999999999", ""),
        // The largest number that fits, with nothing above it to count to.
        (&["1", "18446744073709551615"], "1 18446744073709551615", "do not tell how the cavities lie"),
    ] {
        let plan = plan("", names);
        assert_eq!(mating(&plan), seen, "{names:?}");
        assert!(plan.remarks().iter().any(|told| told.contains(remark)), "{names:?}: {:?}", plan.remarks());
    }
    assert_eq!(plan("", &["1", "2"]).certainty(), Certainty::Guessed);
    assert_eq!(plan("", &["1"]).certainty(), Certainty::Told);
}

/// Lists that ask for more than a connector can be: no face has more places than connectors.csv may tell of, and none takes long.
#[test]
fn faces_stay_bounded() {
    for (row, names) in [
        ("X,,999,,,rows lettered,,,,,,,", &["A1", "A999"][..]),
        ("X,,,999,,rows lettered,,,,,,,", &["A1", "ZZZ1"]),
        ("X,,999,,9999,,,,,,,,", &["1", "9999"]),
        ("X,,,,9999,rows lettered,,,,,,,", &["A1", "ZZZ999"]),
    ] {
        let plan = plan(row, names);
        assert!(plan.spots(View::MatingFace).len() <= 10_001, "{row}");
        assert!(plan.lengths.iter().map(|&length| usize::from(length)).sum::<usize>() <= 10_998, "{row}");
    }
    let missing = "2-9999 ".repeat(20);
    assert_eq!(mating(&plan(&format!("X,,11,909,,,,,,{missing},,,"), &["1"])), "1");
}

/// As a relay's socket is seen from above: the usual arrangement (ISO 7588-1, from memory).
#[test]
fn relays_and_points() {
    let relay = plan("X,relay,,,,,,,,,,,", &["30", "85", "87a"]);
    assert_eq!(mating(&relay), "87\n85 87a 86\n30");
    assert_eq!(drawn(&relay, View::WireSide), "87\n86 87a 85\n30");
    assert_eq!(mating(&plan("X,relay,,,,,,,,,,,", &["30", "87b"])), "87\n85 87b 86\n30");
    assert_eq!(mating(&plan("X,relay,,,,,,,,,,,", &["1", "2", "3"])), "1 2 3");
    let stud = plan("X,stud,,,,,,,,,,,", &[]);
    assert_eq!((stud.arrangement(), mating(&stud).as_str()), (Arrangement::Point, "?"));
    assert_eq!(mating(&plan("X,stud,,,,,,,,,,,", &["30", "50"])), "30 50");
}

/// The half that is not described is the mirror image of the other.
#[test]
fn halves_mate_cavity_for_cavity() {
    let rows = "Y,inline,2,3,,by rows,left,,right,,,X,\nX,inline,,,,,,,,,,,";
    let half = plan(rows, &["1"]);
    assert_eq!(mating(&half), "3 2 1\n6 5 4");
    assert_eq!(drawn(&half, View::WireSide), "1 2 3\n4 5 6");
    assert_eq!(
        half.aid(&cavities(&["1"])[0], View::MatingFace).as_deref(),
        Some("row 1, first from the latch, mating face")
    );
    assert!(half.remarks()[0].contains("the mirror image of Y"));
}

#[test]
fn counting_to_a_cavity() {
    let aid = |row: &str, name: &str, view| plan(row, &[name]).aid(&cavities(&[name])[0], view);
    let (front, back) = (View::MatingFace, View::WireSide);
    for (row, name, view, words) in [
        ("X,,2,5,,,,,,,,,", "8", front, "row 2, third from left, mating face"),
        ("X,,2,5,,,,,,,,,", "7", front, "row 2, second from left, mating face"),
        ("X,,2,5,,,,,,,,,", "7", back, "row 2, second from right, wire side"),
        ("X,,2,5,,,top,,,,,,", "7", back, "row 2, second from right, latch up, wire side"),
        ("X,,2,5,,,left,,,,,,", "7", back, "row 2, second from the latch, wire side"),
        ("X,,2,5,,,left,,,,,,", "9", back, "row 2, second from left, latch right, wire side"),
        ("X,,2,5,,rows lettered,,,,,,,", "B4", front, "row B, second from right, mating face"),
        ("X,,1,15,,,,,,,,,", "2", front, "second from left, mating face"),
        ("X,,1,5,,,,,,2,,,", "3", front, "second from left, mating face"),
        ("X,,1,1,,,,,,,,,", "1", front, "the only one, mating face"),
        ("X,,,6 1,,rings,top,,,,,,", "3", front, "outer ring, second clockwise after the top, key up, mating face"),
        ("X,,,6 1,,rings,top,,,,,,", "3", back, "outer ring, second counterclockwise after the top, key up, wire side"),
        ("X,,,6 1,,rings,top,,,,,,", "7", back, "inner ring, the only one, key up, wire side"),
        // A key that nobody told of must not be looked for.
        ("X,,,6 1,,rings,,,,,,,", "3", front, "outer ring, second clockwise after the top, mating face"),
        ("X,,,6 1,,rings,none,,,,,,", "1", back, "outer ring, at the top, wire side"),
        // Gaps do not count, and the top stays where it is.
        ("X,,1,6,,rings,top,,,1,,,", "2", front, "first clockwise after the top, key up, mating face"),
        ("X,,1,6,,rings,top,,,1,,,", "6", front, "first counterclockwise after the top, key up, mating face"),
        ("X,,1,6,,rings,top,,,1,,,", "2", back, "first counterclockwise after the top, key up, wire side"),
        ("X,,1,6,,rings,top,,,2,,,", "3", front, "first clockwise after the top, key up, mating face"),
        ("X,,1,6,5,rings,top,,,,,,", "5", front, "first counterclockwise after the top, key up, mating face"),
    ] {
        assert_eq!(aid(row, name, view).as_deref(), Some(words), "{row} {name}");
    }
    assert_eq!(aid("", "7", front), None, "a guess must not be counted by");
    assert_eq!(aid("X,,2,5,,,,,,,,,", "77", front), None);
}

/// Rows shifted by half a pitch, and a large cavity that takes the room of one and a half.
#[test]
fn places_in_pitches() {
    let lefts = |row: &str| {
        let spots = plan(row, &[]).spots(View::MatingFace);
        spots.iter().map(|spot| spot.area.left.count()).collect::<Vec<_>>()
    };
    assert_eq!(lefts("X,,2,2,,,,,right,,,,"), [0.0, 1.0, 0.5, 1.5]);
    assert_eq!(lefts("X,,2,2,,,,,left,,,,"), [0.5, 1.5, 0.0, 1.0]);
    assert_eq!(lefts("X,,2,2,,,,wire side,right,,,,"), [0.5, 1.5, 0.0, 1.0]);
    assert_eq!(lefts("X,,,3 2,,,,,,,,,"), [0.0, 1.0, 2.0, 0.5, 1.5]);
    assert_eq!(lefts("X,,1,3,,,,,,,1,,"), [0.0, 1.5, 2.5]);
}

#[test]
fn what_the_columns_name_and_the_face_lacks_is_told() {
    let plan = plan("X,,1,3,,,,,,9,7,,", &["1"]);
    let told = plan.remarks().join("; ");
    assert!(told.contains("`missing` of connectors.csv names 9") && told.contains("`large` of connectors.csv names 7"));
}

pub(super) fn any_row() -> impl Strategy<Value = String> {
    let numbering = prop_oneof![
        Just(""),
        Just("by rows"),
        Just("by columns"),
        Just("back and forth"),
        Just("back and forth by columns from bottom right"),
        Just("rows lettered"),
        Just("columns lettered from top right"),
        Just("lettered"),
        Just("lettered by columns without I and O"),
        Just("rows lettered numbers run on"),
        Just("rings"),
        Just("rings lettered counterclockwise from inside"),
        Just("by rows from 0"),
    ];
    let columns = prop_oneof![
        (1_u16..24, 1_u16..18).prop_map(|(rows, columns)| format!("{rows},{columns}")),
        proptest::collection::vec(1_u16..24, 2..14).prop_map(|lengths| {
            let lengths: Vec<String> = lengths.iter().map(u16::to_string).collect();
            format!(",{}", lengths.join(" "))
        }),
        (1_u16..24).prop_map(|rows| format!("{rows},")),
        Just(",".to_owned()),
    ];
    let cavities = proptest::option::of(1_u16..400).prop_map(|n| n.map(|n| n.to_string()).unwrap_or_default());
    let word = |words: &'static [&'static str]| proptest::sample::select(words);
    (
        columns,
        cavities,
        numbering,
        word(&["", "top", "bottom", "left", "right", "none"]),
        word(&["", "wire side"]),
        word(&["", "left", "right", "no"]),
        word(&["", "2", "3-5", "A1"]),
        word(&["", "1", "2 7", "A A2 B1"]),
        word(&["", "matters", "same"]),
        word(&["", "relay", "fuse box", "stud", "inline"]),
    )
        .prop_map(|(columns, cavities, numbering, latch, view, stagger, missing, large, case, kind)| {
            format!("X,{kind},{columns},{cavities},{numbering},{latch},{view},{stagger},{missing},{large},,{case}")
        })
}

pub(super) fn any_names() -> impl Strategy<Value = Vec<Cavity>> {
    let name = prop_oneof![
        4 => (0_u32..80).prop_map(|number| number.to_string()),
        2 => "[A-F][1-9]",
        1 => "[A-Ka-k]",
        1 => "F[0-9]{1,2}",
        1 => "0[0-9]",
        1 => proptest::sample::select(&["30", "85", "86", "87", "87a", "B+", "GND", "9999999999"][..]).prop_map(str::to_owned),
        1 => "[ -~]{1,5}",
    ];
    let of_one_sort = prop_oneof![
        (1_u32..400).prop_map(|count| (1..=count).map(|number| number.to_string()).collect()),
        proptest::collection::vec("[A-H][1-9]", 0..40),
        proptest::collection::vec("[A-Z]", 0..26),
    ];
    prop_oneof![proptest::collection::vec(name, 0..40), of_one_sort]
        .prop_map(|names: Vec<String>| names.iter().filter_map(|name| Cavity::from_cell(name)).collect())
}

fn in_view(plan: &FacePlan, view: View) -> Vec<(String, PitchArea)> {
    let mut all: Vec<_> = plan.spots(view).iter().map(|spot| (name(spot).to_owned(), spot.area)).collect();
    all.sort_by(|a, b| a.0.cmp(&b.0));
    all
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// Every name of the lists once, every cavity once, none on another, all within the face.
    #[test]
    fn every_cavity_has_its_own_place(row in any_row(), names in any_names()) {
        let plan = plan_of(&row, &names);
        let (width, height) = plan.extent();
        for view in View::ALL {
            let spots = plan.spots(view);
            let drawn: Vec<&Cavity> = spots.iter().filter_map(|spot| spot.cavity.as_ref()).collect();
            let distinct: BTreeSet<&Cavity> = drawn.iter().copied().collect();
            prop_assert_eq!(distinct.len(), drawn.len(), "{:?}", drawn);
            for name in &names {
                prop_assert!(distinct.contains(name), "{} is not drawn", name);
            }
            let mut by_left: Vec<&Spot> = spots.iter().collect();
            by_left.sort_by_key(|spot| spot.area.left);
            for (index, spot) in by_left.iter().enumerate() {
                let near = by_left[index + 1..].iter().take_while(|other| other.area.left < spot.area.right());
                for other in near {
                    prop_assert!(!spot.area.overlaps(&other.area), "{} on {}", name(spot), name(other));
                }
                if spot.standing == Standing::OnFace {
                    let area = spot.area;
                    prop_assert!(area.left.count() >= 0.0 && area.top.count() >= 0.0);
                    prop_assert!(area.right() <= width && area.bottom() <= height, "{:?}", area);
                }
            }
        }
    }

    /// The two views hold the same cavities, left and right exchanged.
    #[test]
    fn views_are_mirror_images(row in any_row(), names in any_names()) {
        let plan = plan_of(&row, &names);
        let (width, _) = plan.extent();
        let mirror = |spot: Spot| match spot.standing {
            Standing::OnFace => (name(&spot).to_owned(), spot.area.mirrored(width)),
            Standing::Apart => (name(&spot).to_owned(), spot.area),
        };
        let mut turned: Vec<_> = plan.spots(View::MatingFace).into_iter().map(mirror).collect();
        turned.sort_by(|a, b| a.0.cmp(&b.0));
        prop_assert_eq!(&turned, &in_view(&plan, View::WireSide));
        for (_, area) in turned {
            prop_assert_eq!(area.mirrored(width).mirrored(width), area);
        }
    }

    /// Told from the wire side, a face is the mirror image of the same face told from the mating face.
    #[test]
    fn a_face_told_from_the_wire_side_is_the_other_way_round(rows in 1_u16..9, columns in 1_u16..9, at in 0..5_usize) {
        let numbering = ["by rows", "by columns", "back and forth", "rows lettered", "rings"][at];
        let front = plan(&format!("X,,{rows},{columns},,{numbering},left,,,,,,"), &[]);
        let back = plan(&format!("X,,{rows},{columns},,{numbering},left,wire side,,,,,"), &[]);
        prop_assert_eq!(in_view(&front, View::MatingFace), in_view(&back, View::WireSide));
        prop_assert_eq!(front.latch(View::MatingFace), back.latch(View::WireSide));
    }

    /// What an aid counts to is where the cavity lies, in both views.
    #[test]
    fn aids_tell_cavities_apart(row in any_row(), names in any_names()) {
        let plan = plan_of(&row, &names);
        for view in View::ALL {
            let spots = plan.spots(view);
            let aids: Vec<String> = spots.iter().filter_map(|spot| plan.aid(spot.cavity.as_ref()?, view)).collect();
            let distinct: BTreeSet<&String> = aids.iter().collect();
            prop_assert_eq!(distinct.len(), aids.len(), "{:?}", aids);
        }
    }

    #[test]
    fn numbers_alone_are_all_drawn(count in 1_u32..400) {
        let plan = plan_of("", &numbers(1..=count));
        prop_assert_eq!(plan.spots(View::MatingFace).len(), count as usize);
    }
}
