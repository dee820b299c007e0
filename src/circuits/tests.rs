//! Lists of the Marsh Hen read as a whole, and what no list may do.

mod dialects;
mod reading;

use std::fmt::Write;

use proptest::prelude::*;

use super::*;
use crate::base::{CircuitId, ConnectorId, Insulation, Length, Severity, TagKind};

fn read(lists: &[List], connectors: Option<&List>) -> Checked<Circuits> {
    super::read(&JobLists { connectors, ..JobLists::of(lists) })
}

const ECU: &str = "\
connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter,branch,with,note
J1,1,101,battery feed,RD,2.5,30,F1 30 A,cut,1450,3.0,engine,,
J1,2,102,ground,BK,2.5,31,,keep,900,,engine,,
J1,3,102,ground,BK,2.5,ground,,keep,900,,engine,,
J1,14,114,rail pressure signal,BN/WH,0.75 mm²,signal,,move to J4/7,\"1,2 m\",1.9,engine,115,check
J1,15,115,rail pressure return,BN,18 AWG,signal,,,,,engine,114,
J1,16,116,start request,VT,0.75,50,,extend,,,engine,,
";

const WIRES: &str = "\
circuit,function,from connector,from cavity,to connector,to cavity,colour,size,supply,fuse,from action,to action,length,diameter,branch,note
101,battery feed,FB,3,J1,1,RD,2.5,,,remove,,,,,
201,lighting feed,FB,7,S4,,GY,1.5,58,F7 10A,,,,,,
201,,S4,,X9,1,GY,0.75,,,,,,,,
201,,S4,,X9,2,GY,0.75,,,,,,,,
,,G1,,J7,4,BK,0.75,31,,,,,,,
";

const CONNECTORS: &str = "\
connector,kind,short name,rows,columns,numbering,latch,mates,branch,plug type,action
J1,plug,engine ECU,4,14,,,,engine,,
X3P,inline,,,,,,X3S,engine,,
X3S,inline,,,,,,X3P,helm,,
FB,fuse box,,,,,,,,,
S4,splice,,,,,,,,,
G1,stud,,,,,,,,,keep
";

fn list(name: &str, text: &str) -> List {
    List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
}

fn read_all(texts: &[(&str, &str)]) -> Checked<Circuits> {
    let lists: Vec<List> = texts.iter().map(|(name, text)| list(name, text)).collect();
    let mut checked = read(&lists, Some(&list("connectors.csv", CONNECTORS)));
    // One description serves all tests, and most of them have no list of its fuse box.
    checked.problems.retain(|problem| problem.id != "connector-in-no-list");
    checked
}

/// Each circuit on a line: its ends, each with its colour, action and far end.
fn shown(circuits: &Circuits) -> String {
    let mut text = String::new();
    for circuit in circuits.all() {
        write!(text, "{}:", circuit.id()).expect("written to memory");
        for (index, end) in circuit.ends().iter().enumerate() {
            let far = match circuit.far_end(index) {
                FarEnd::End(other) => circuit.ends()[other].place.to_string(),
                FarEnd::ImpliedSplice => "splice".to_owned(),
                FarEnd::Unknown => "?".to_owned(),
            };
            write!(text, " {}->{far}", end.place).expect("written to memory");
        }
        text.push('\n');
    }
    text
}

fn told(problems: &[Problem]) -> Vec<String> {
    let line = |problem: &Problem| {
        let origin = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
        format!("{origin}: {}: {}", problem.id, problem.message)
    };
    problems.iter().map(line).collect()
}

fn circuit<'a>(circuits: &'a Circuits, id: &str) -> &'a Circuit {
    circuits.get(&CircuitId::from_cell(id).expect("not empty")).expect("is there")
}

#[test]
fn chart_and_wires_of_the_marsh_hen() {
    let checked = read_all(&[("ecu.csv", ECU), ("wires.csv", WIRES)]);
    insta::assert_snapshot!(shown(&checked.value), @r#"
    101: FB/3->J1/1 J1/1->FB/3
    102: J1/2->? J1/3->?
    114: J1/14->?
    115: J1/15->?
    116: J1/16->?
    201: FB/7->S4 S4->FB/7 S4->X9/1 S4->X9/2 X9/1->S4 X9/2->S4
    G1: G1->J7/4 J7/4->G1
    "#);
    insta::assert_snapshot!(told(&checked.problems).join("\n"), @r#"
    ecu.csv:5:4: one-ended-circuit: circuit `114` has one end only, `J1/14`
    ecu.csv:5:4: move-to-unknown-connector: `114` moves to `J4/7`, but no list knows a connector `J4`
    ecu.csv:6:4: one-ended-circuit: circuit `115` has one end only, `J1/15`
    ecu.csv:7:4: one-ended-circuit: circuit `116` has one end only, `J1/16`
    wires.csv:2:26: far-end-removed: `J1/1` is cut and used on but `FB/3`, the other end of its wire, is removed
    wires.csv:2:26: live-end-without-cap: 1 constant-fed end of `J1` comes free without a word of a cap in the note: `J1/1`
    "#);
    let feed = circuit(&checked.value, "101");
    assert_eq!(feed.supply, Some(Supply::Constant));
    assert_eq!(feed.fuse.as_ref().and_then(Fuse::amperes), Some(30.0));
    assert_eq!(feed.ends()[0].action, Action::Remove);
    let ecu_end = &feed.ends()[1];
    assert_eq!((ecu_end.length, ecu_end.diameter), (Some(Length::mm(1450.0)), Some(Length::mm(3.0))));
    assert_eq!(ecu_end.action, Action::Cut);
    assert_eq!(ecu_end.origin.to_string(), "wires.csv:2:26");
    let signal = &circuit(&checked.value, "114").ends()[0];
    assert_eq!(signal.action.to_string(), "move to J4/7");
    assert_eq!(signal.length, Some(Length::mm(1200.0)));
    assert_eq!((signal.partner.as_deref(), signal.note.as_deref()), (Some("115"), Some("check")));
    let ground = circuit(&checked.value, "G1");
    assert_eq!((ground.naming(), ground.ends()[0].action.clone()), (Naming::ByPlace, Action::Keep));
}

#[test]
fn problems_of_all_lists_come_together() {
    let checked = read_all(&[
        (
            "ecu.csv",
            "connector,cavity,circuit,colour,size,supply,action,length,diameter\nJ1,1,7,BL,16,29,remvoe,long,1e3\nJ1,,8,,,,,,\nJ1,9,9,RD,,31,,1.200,\n",
        ),
        ("plan.xls", "PK\u{3}\u{4}"),
        ("wires.csv", "circuit,from,from pin,to,to pin\n10,J1,4,X9,\n11,J1,5,X9,1,9\n12,J1,6,J1,6\n,,,,\n13,X9,2,,\n"),
        ("engine.csv", "connector,pin\n"),
    ]);
    insta::assert_snapshot!(told(&checked.problems).join("\n"), @r#"
    ecu.csv:2:8: unknown-colour: `BL` is no colour of IEC 60757: it is printed as typed
    ecu.csv:2:11: bad-size: `16` may be mm² or AWG
    ecu.csv:2:14: unknown-supply: `29` is no supply
    ecu.csv:2:17: unknown-action: `remvoe` is no action
    ecu.csv:2:24: bad-length: `long` is no length
    ecu.csv:2:29: bad-diameter: `1e3` is no diameter
    ecu.csv:3:1: missing-place: this row does not say which cavity of `J1`
    ecu.csv:4:16: bad-length: `1.200` may be thousands or a fraction of a millimetre
    plan.xls: unreadable-file: `plan.xls` is damaged, or no workbook: the zip file is cut off or overwritten
    wires.csv:2:9: incomplete-far-end: this row does not say which cavity of `X9`
    wires.csv:3:14: row-too-long: `9` stands beyond the last column: the header has 5
    wires.csv:4:12: wire-to-itself: this wire begins and ends in `J1/6`
    wires.csv:6:7: one-ended-circuit: circuit `13` has one end only, `X9/2`
    engine.csv:1:1: no-rows: `engine.csv` has a header and no rows
    "#);
    assert!(checked.has_errors());
    assert_eq!(shown(&checked.value), "13: X9/2->?\n");
}

#[test]
fn lists_that_disagree() {
    let checked = read_all(&[
        (
            "a.csv",
            "connector,cavity,circuit,colour,size,supply,fuse,action\nJ1,1,7,RD,0.75,30,15 A,keep\nJ7,1,7,RD,,,,\n",
        ),
        (
            "b.csv",
            "connector,cavity,circuit,colour,size,supply,fuse,action\nJ1,1,7,BK,1.5,31,20 A,cut\nJ1,1,8,GN,,,,\nJ7,2,8,GN,,,,\n",
        ),
    ]);
    insta::assert_snapshot!(shown(&checked.value), @r#"
    7: J1/1->J7/1 J7/1->J1/1
    8: J1/1->J7/2 J7/2->J1/1
    "#);
    insta::assert_snapshot!(told(&checked.problems).join("\n"), @r#"
    b.csv:2:8: charts-disagree: `J1/1` has colour `BK` here and `RD` elsewhere
    b.csv:2:11: charts-disagree: `J1/1` has size `1.5` here and `0.75` elsewhere
    b.csv:2:15: charts-disagree: circuit `7` has supply `ground` here and `constant` elsewhere
    b.csv:2:18: charts-disagree: circuit `7` has fuse `20 A` here and `15 A` elsewhere
    b.csv:2:23: charts-disagree: `J1/1` has action `cut` here and `keep` elsewhere
    b.csv:3:4: two-circuits-in-one-cavity: `J1/1` holds circuits `7` and `8`
    "#);
    assert!(!checked.has_errors());
}

#[test]
fn charts_without_circuits_are_enough() {
    let checked = read_all(&[
        ("ecu.csv", "connector,cavity,function,colour\nJ1,17,alternator sense,YE\nJ1,18,,\nJ1,19,oil pressure,GN\n"),
        ("wires.csv", "from connector,from cavity,to connector,to cavity\nX9,4,J1,19\nJ1,20,X9,5\nX9,5,X8,1\n"),
    ]);
    insta::assert_snapshot!(shown(&checked.value), @r#"
    J1/17: J1/17->?
    J1/19: J1/19->X9/4 X9/4->J1/19
    J1/20: J1/20->X9/5 X8/1->X9/5 X9/5->J1/20 X9/5->X8/1
    "#);
    assert_eq!(
        told(&checked.problems).join("\n"),
        "ecu.csv:3:4: empty-cavity: this row names a cavity and nothing else: it counts as empty"
    );
}

#[test]
fn unnamed_rows_take_the_name_other_lists_give_their_place() {
    let checked = read_all(&[
        (
            "wires.csv",
            "circuit,from connector,from cavity,to connector,to cavity,colour\n,J1,14,X9,4,\n,J1,2,X9,5,BK\n",
        ),
        ("ecu.csv", "connector,cavity,circuit,colour\nJ1,14,114,BN\nJ1,2,102,BK\nJ1,2,103,GN\n"),
    ]);
    insta::assert_snapshot!(shown(&checked.value), @r#"
    102: J1/2->X9/5 X9/5->J1/2
    103: J1/2->?
    114: J1/14->X9/4 X9/4->J1/14
    "#);
    assert_eq!(circuit(&checked.value, "114").naming(), Naming::Designated);
    assert_eq!(checked.problems.len(), 2, "{:?}", told(&checked.problems));
}

#[test]
fn doubled_cavities_pair_by_colour_across_lists() {
    let checked = read_all(&[
        ("ecu.csv", "connector,cavity,circuit,colour\nJ1,5,7,RD\nJ1,5,7,RD\nJ1,5,7,BU\n"),
        (
            "wires.csv",
            "circuit,from connector,from cavity,to connector,to cavity,colour\n7,J1,5,X9,1,BU\n7,J1,5,X9,2,red\n7,J1,5,X9,3,RD\n",
        ),
    ]);
    assert_eq!(shown(&checked.value), "7: J1/5->X9/1 J1/5->X9/2 J1/5->X9/3 X9/1->J1/5 X9/2->J1/5 X9/3->J1/5\n");
    let ends = circuit(&checked.value, "7").ends();
    let numbers: Vec<_> = ends.iter().map(|end| (end.colour.as_ref().map(ToString::to_string), end.ordinal)).collect();
    let red = || Some("RD".to_owned());
    assert_eq!(numbers[..3], [(Some("BU".to_owned()), 0), (red(), 0), (red(), 1)]);
    assert_eq!(
        told(&checked.problems),
        ["ecu.csv:3:4: duplicate-row: this row repeats another one: it counts as a second wire"]
    );
}

#[test]
fn inline_pairs_part_the_ends_by_branch_or_by_elimination() {
    let far = |rows: &str| {
        let text = format!("connector,cavity,circuit,branch\n{rows}");
        shown(&read_all(&[("chart.csv", &text)]).value)
    };
    let pair = "X3P,7,9,engine\nX3S,7,9,helm\n";
    assert_eq!(far(pair), "9: X3P/7->? X3S/7->?\n");
    assert_eq!(far(&format!("{pair}J1,1,9,engine\n")), "9: J1/1->X3P/7 X3P/7->J1/1 X3S/7->?\n");
    let by_branch = far(&format!("{pair}J1,1,9,engine\nJ9,1,9,helm\n"));
    assert_eq!(by_branch, "9: J1/1->X3P/7 J9/1->X3S/7 X3P/7->J1/1 X3S/7->J9/1\n");
    assert_eq!(far(&format!("{pair}J1,1,9,engine\nJ9,1,9,\n")), by_branch, "by elimination");
    assert_eq!(
        far(&format!("{pair}J6,1,9,\nJ9,1,9,\n")),
        "9: J6/1->? J9/1->? X3P/7->? X3S/7->?\n",
        "neither side is known"
    );
    assert_eq!(
        far(&format!("{pair}J1,1,9,engine\nJ2,1,9,engine\nJ9,1,9,helm\n")),
        "9: J1/1->splice J2/1->splice J9/1->X3S/7 X3P/7->splice X3S/7->J9/1\n"
    );
    // Another cavity of the other half does not mate.
    assert_eq!(far("X3P,7,9,\nX3S,8,9,\n"), "9: X3P/7->X3S/8 X3S/8->X3P/7\n");
}

#[test]
fn an_absent_half_is_gone() {
    let chart = list("chart.csv", "connector,cavity,circuit\nX5P,1,9\nJ1,1,9\n");
    let connectors = list("connectors.csv", "connector,kind,mates\nX5P,inline,X5S\nJ1,plug,\n");
    let checked = read(&[chart], Some(&connectors));
    assert_eq!(shown(&checked.value), "9: J1/1->X5P/1 X5P/1->J1/1\n");
    assert_eq!(
        told(&checked.problems),
        ["connectors.csv:2:12: unknown-mate: `X5S`, the other half of `X5P`, stands in no list: it counts as gone"]
    );
}

#[test]
fn chains_of_pairs_and_two_ways_through_one_pair() {
    let far = |rows: &str| {
        let connectors = "connector,kind,mates,branch\nX3P,inline,X3S,engine\nX3S,inline,,bulkhead\n\
                          X7P,inline,X7S,bulkhead\nX7S,inline,,helm\nJ1,plug,,engine\nJ9,plug,,helm\n";
        let chart = list("chart.csv", &format!("connector,cavity,circuit\n{rows}"));
        shown(&read(&[chart], Some(&list("connectors.csv", connectors))).value)
    };
    assert_eq!(
        far("J1,1,9\nX3P,7,9\nX3S,7,9\nX7P,2,9\nX7S,2,9\nJ9,4,9\n"),
        "9: J1/1->X3P/7 J9/4->X7S/2 X3P/7->J1/1 X3S/7->X7P/2 X7P/2->X3S/7 X7S/2->J9/4\n"
    );
    assert_eq!(
        far("J1,1,9\nX3P,7,9\nX3P,8,9\nX3S,7,9\nX3S,8,9\n"),
        "9: J1/1->splice X3P/7->splice X3P/8->splice X3S/7->? X3S/8->?\n"
    );
}

#[test]
fn wires_on_one_side_of_a_pair_leave_the_other_side_to_be_found() {
    let checked = read_all(&[
        ("wires.csv", "circuit,from connector,from cavity,to connector,to cavity\n9,J1,1,X3P,7\n"),
        ("helm.csv", "connector,cavity,circuit\nX3S,7,9\nJ9,2,9\n"),
    ]);
    assert_eq!(shown(&checked.value), "9: J1/1->X3P/7 J9/2->X3S/7 X3P/7->J1/1 X3S/7->J9/2\n");
    // Without the pair, two more ends may go anywhere.
    let checked = read_all(&[
        ("wires.csv", "circuit,from connector,from cavity,to connector,to cavity\n9,J1,1,S4,\n9,S4,,J2,1\n"),
        ("helm.csv", "connector,cavity,circuit\nJ8,7,9\nJ9,2,9\n"),
    ]);
    assert_eq!(shown(&checked.value), "9: J1/1->S4 J2/1->S4 J8/7->? J9/2->? S4->J1/1 S4->J2/1\n");
}

#[test]
fn a_ground_circuit_may_have_twenty_ends() {
    let mut text = "connector,cavity,circuit\nG1,,31\n".to_owned();
    for cavity in 1..20 {
        writeln!(text, "J{cavity},1,31").expect("written to memory");
    }
    let checked = read_all(&[("grounds.csv", &text)]);
    assert_eq!(told(&checked.problems), <[String; 0]>::default());
    let ground = circuit(&checked.value, "31");
    assert_eq!(ground.ends().len(), 20);
    assert!((0..20).all(|end| ground.far_end(end) == FarEnd::ImpliedSplice));
}

#[test]
fn settings_of_a_list() {
    let mut chart = list("ecu.csv", "Pin;Ader;AWG\n1;sw;16\n2;BK;18\n");
    chart.settings.connector = ConnectorId::from_cell("J1");
    chart.settings.columns.insert("colour".to_owned(), "Ader".to_owned());
    let checked = read(&[chart], None);
    assert_eq!(shown(&checked.value), "J1/1: J1/1->?\nJ1/2: J1/2->?\n");
    assert_eq!(
        told(&checked.problems),
        ["ecu.csv:2:3: unknown-colour: `sw` is no colour of IEC 60757: it is printed as typed"]
    );
    let size = circuit(&checked.value, "J1/1").ends()[0].conductor.as_ref().map(ToString::to_string);
    assert_eq!(size.as_deref(), Some("16 AWG"));
}

#[test]
fn short_rows_and_columns_without_a_header_are_told_once() {
    let checked = read_all(&[
        ("ecu.csv", "connector,#,circuit,colour,,\nJ1,1,7,RD,odd,\nX9,1,7\nJ1,2,8\nX9,2,8,RD,odd,\n,,,,,\n"),
        ("empty.csv", "connector,cavity\n,\n"),
    ]);
    assert_eq!(
        told(&checked.problems),
        [
            "ecu.csv:1:1: missing-column: `ecu.csv` has no column `cavity`",
            "ecu.csv:1:11: unused-column: column `#` is not read",
            "empty.csv:1:1: no-rows: `empty.csv` has a header and no rows",
        ]
    );
    let mut chart =
        list("ecu.csv", "connector,#,circuit,colour,,\nJ1,1,7,RD,odd,\nX9,1,7\nJ1,2,8\nX9,2,8,RD,odd,\n,,,,,\n");
    chart.settings.columns.insert("cavity".to_owned(), "#".to_owned());
    let checked = read(&[chart], None);
    assert_eq!(shown(&checked.value), "7: J1/1->X9/1 X9/1->J1/1\n8: J1/2->X9/2 X9/2->J1/2\n");
    assert_eq!(
        told(&checked.problems),
        [
            "ecu.csv:2:11: unused-column: this column has no header and is not read",
            "ecu.csv:3:6: row-too-short: 2 rows have fewer cells than the header (4): the rest counts as blank",
        ]
    );
}

#[test]
fn the_order_of_rows_changes_nothing() {
    let (header, rows) = WIRES.split_once('\n').expect("has lines");
    let mut turned: Vec<&str> = rows.lines().collect();
    turned.reverse();
    let turned = format!("{header}\n{}\n", turned.join("\n"));
    let straight = shown(&read_all(&[("wires.csv", WIRES)]).value);
    let turned = shown(&read_all(&[("wires.csv", &turned)]).value);
    let sorted = |text: &str| {
        let mut words: Vec<String> = text.split_whitespace().map(str::to_owned).collect();
        words.sort();
        words
    };
    assert_eq!(sorted(&straight), sorted(&turned));
}

#[test]
fn doubled_cavities_join_wires_without_a_splice() {
    let far =
        |rows: &str| shown(&read_all(&[("chart.csv", &format!("connector,cavity,circuit,colour\n{rows}"))]).value);
    assert_eq!(far("J1,5,7,RD\nJ1,5,7,BU\n"), "7: J1/5->? J1/5->?\n");
    assert_eq!(far("J1,5,7,RD\nJ1,5,7,BU\nX8,1,7,RD\nX9,1,7,BU\n"), "7: J1/5->X9/1 J1/5->X8/1 X8/1->J1/5 X9/1->J1/5\n");
    assert_eq!(far("J1,5,7,RD\nJ1,5,7,RD\nX8,1,7,RD\nX9,1,7,RD\n"), "7: J1/5->? J1/5->? X8/1->? X9/1->?\n");
    assert_eq!(far("J1,5,7,RD\nX8,1,7,RD\nX9,1,7,RD\n"), "7: J1/5->splice X8/1->splice X9/1->splice\n");
    assert_eq!(far("J1,5,7,\nJ1,6,7,\n"), "7: J1/5->? J1/6->?\n", "two pins of one plug");
}

/// Reading must be linear: many wires at one stud, in two lists, would take for ever otherwise.
#[test]
fn one_place_may_have_very_many_ends() {
    let mut text = "circuit,from connector,from cavity,to connector,to cavity,colour\n".to_owned();
    for cavity in 1..=20_000 {
        writeln!(text, "31,G1,,J9,{cavity},BK").expect("written to memory");
    }
    let checked = read_all(&[("one.csv", &text), ("two.csv", &text)]);
    assert_eq!(circuit(&checked.value, "31").ends().len(), 40_000);
    assert!(checked.problems.is_empty());
}

/// A good list with a few bytes changed.
fn mutated() -> impl Strategy<Value = Vec<u8>> {
    let text = prop_oneof![Just(ECU), Just(WIRES), Just(CONNECTORS)];
    let edits = proptest::collection::vec(
        (
            any::<prop::sample::Index>(),
            prop_oneof![any::<u8>(), prop::sample::select(b",;\"\n\r\t|/- 0J".to_vec()),],
            0..3_u8,
        ),
        0..12,
    );
    (text, edits).prop_map(|(text, edits)| {
        let mut bytes = text.as_bytes().to_vec();
        for (at, byte, kind) in edits {
            let at = at.index(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => bytes.insert(at, byte),
                _ => drop(bytes.drain(at..(at + usize::from(byte % 40)).min(bytes.len() - 1))),
            }
        }
        bytes
    })
}

/// What holds whatever the input.
fn reads_without_panic(lists: Vec<Vec<u8>>, connectors: Vec<u8>) -> Result<(), TestCaseError> {
    let list = |(index, bytes)| List { name: format!("{index}.csv"), bytes, settings: ListSettings::default() };
    let lists: Vec<List> = lists.into_iter().enumerate().map(list).collect();
    let checked = read(&lists, Some(&list((99, connectors))));
    for problem in &checked.problems {
        let kind = problem_kinds().iter().find(|kind| kind.id == problem.id);
        // What a spreadsheet changed withholds the row only where it hides a place or a measure.
        let may_be_milder = problem.id == "changed-by-spreadsheet" && problem.severity == Severity::Warning;
        prop_assert!(may_be_milder || kind.map(|kind| kind.severity) == Some(problem.severity), "{:?}", problem);
        prop_assert!(problem.origin.is_some() && problem.remedy.is_some(), "{:?}", problem);
    }
    let ids: Vec<&CircuitId> = checked.value.all().iter().map(Circuit::id).collect();
    prop_assert!(ids.is_sorted() && ids.windows(2).all(|pair| pair[0] != pair[1]));
    for circuit in checked.value.all() {
        let mut keys = std::collections::HashSet::new();
        for end in circuit.ends() {
            let colour = end.colour.as_ref().map(|colour| colour.to_string());
            prop_assert!(keys.insert((&end.place, colour, end.ordinal)), "ends differ");
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn any_bytes_are_answered(one in any::<Vec<u8>>(), two in any::<Vec<u8>>()) {
        reads_without_panic(vec![one], two)?;
    }

    #[test]
    fn mutated_lists_are_answered(lists in proptest::collection::vec(mutated(), 1..4), connectors in mutated()) {
        reads_without_panic(lists, connectors)?;
    }
}

/// A row's own insulation stands before its list's; several lists fill each other's blanks, and are told where they differ.
#[test]
fn insulation_and_kinds_of_tags_join_as_other_columns_do() {
    let chart = "connector,cavity,circuit,size,insulation,tag\n\
                 J1,1,C1,0.75,,tie-on\nJ1,2,C2,0.75,GXL,\"Fahne, Streifen\"\nJ1,3,C3,,,\nJ1,4,C4,0.5,thin,wrap\n";
    let wires = "circuit,from connector,from cavity,to connector,to cavity,size,insulation,tag,to tag\n\
                 C1,J1,1,X1,1,,,strip,sleeve\nC3,J1,3,X1,3,1.5,,,\nC4,J1,4,X1,4,,thick,flag,\n";
    let mut lists = [list("ecu.csv", chart), list("wires.csv", wires)];
    lists[0].settings.insulation = Some(Insulation::BoatCable);
    lists[1].settings.insulation = Some(Insulation::UltraThinWall);
    let checked = read(&lists, None);
    let shown: Vec<String> = checked
        .value
        .all()
        .iter()
        .flat_map(Circuit::ends)
        .map(|end| {
            let kind = |kind: Option<TagKind>| kind.map_or("-", TagKind::word);
            let insulation = end.insulation.map_or("-", Insulation::word);
            format!("{} {insulation}, {} {}", end.place, kind(end.tag.work), kind(end.tag.final_tag))
        })
        .collect();
    assert_eq!(
        shown,
        [
            // The chart gives the size, so its insulation is meant; the wire list says the final tag of this end.
            "J1/1 boat cable, tie-on strip",
            "X1/1 ultra-thin-wall, - sleeve",
            "J1/2 thick-wall, flag strip",
            "J1/3 ultra-thin-wall, - -",
            "X1/3 ultra-thin-wall, - -",
            "J1/4 thick-wall, flag -",
            "X1/4 thick-wall, flag -",
        ]
    );
    let disagreements: Vec<_> =
        told(&checked.problems).into_iter().filter(|told| told.contains("charts-disagree")).collect();
    assert_eq!(
        disagreements,
        [
            "ecu.csv:5:13: charts-disagree: `J1/4` has insulation `thin-wall` here and `thick-wall` elsewhere",
            "ecu.csv:5:18: charts-disagree: `J1/4` has tag `wrap` here and `flag` elsewhere",
        ]
    );
}

#[test]
fn mistaken_kinds_of_tags_and_unknown_insulations_are_told() {
    let chart = "connector,cavity,circuit,insulation,tag\nJ1,1,C1,,flg\nJ1,2,C2,,\"flag, wrap\"\nJ1,3,C3,,sticker\n\
                 J1,4,C4,AVSS,sleeve\nJ1,5,C5,AVSS,\nJ1,6,C6,thinwal,\n";
    let wires = "circuit,from connector,from cavity,to connector,to cavity,tag,from tag\n\
                 C7,J1,7,X1,7,tag,\nC8,J1,8,X1,8,strip,sleve\n";
    let checked = read(&[list("ecu.csv", chart), list("wires.csv", wires)], None);
    let told: Vec<String> = checked
        .problems
        .iter()
        .filter(|problem| problem.id != "one-ended-circuit")
        .map(|problem| {
            let at = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
            format!("{at} {}: {}; {}", problem.id, problem.message, problem.remedy.as_deref().unwrap_or_default())
        })
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    ecu.csv:2:10 unknown-tag: `flg` is no kind of tag; did you mean `flag`?
    ecu.csv:3:10 two-tags-of-one-purpose: `flag` and `wrap` are both work tags; an end has at most one work tag (flag, wrap, tie-on) and one final tag (sleeve, strip)
    ecu.csv:4:10 unknown-tag: `sticker` is no kind of tag; choose from `flag`, `wrap`, `tie-on`, `sleeve`, `strip`
    ecu.csv:5:9 unknown-insulation: `AVSS` is no insulation whose wall is known: the diameter must be measured (in 2 rows); choose from `ultra-thin-wall`, `thin-wall`, `thick-wall`, `special-purpose`, `hook-up 300 V`, `hook-up 600 V`, `boat cable`
    ecu.csv:7:9 unknown-insulation: `thinwal` is no insulation whose wall is known: the diameter must be measured; did you mean `thinwall`?
    wires.csv:2:14 unknown-tag: `tag` is no kind of tag; choose from `flag`, `wrap`, `tie-on`, `sleeve`, `strip`
    wires.csv:3:20 unknown-tag: `sleve` is no kind of tag; did you mean `sleeve`?
    "#);
    let left: Vec<String> = checked.value.all().iter().map(|circuit| circuit.id().to_string()).collect();
    assert_eq!(left, ["C4", "C5", "C6"], "an unknown insulation leaves its row in");
}
