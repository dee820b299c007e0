//! Which ends of a list get a tag, and what stands on it.

use super::*;
use crate::base::{Length, Purpose};
use crate::circuits::{self, Circuits, JobLists, List, ListSettings};
use crate::codes::link::Payload;
use crate::codes::{Issued, Register};

const HEAD: &str = "connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter,branch,note\n";
const CONNECTORS: &str = "connector,kind,short name,rows,columns,mates,branch\nJ1,plug,engine control unit,4,15,,ENG-LOOM\n\
    X3,inline,bulkhead,,,X4,\nG2,stud,,,,,\nSP1,splice,,,,,\n\
    A70,plug,restraint control unit,,,,\n";

fn read(rows: &str) -> Circuits {
    let list = |name: &str, text: String| List {
        name: name.to_owned(),
        bytes: text.into_bytes(),
        settings: ListSettings::default(),
    };
    let lists = [list("loom.csv", format!("{HEAD}{rows}"))];
    let connectors = list("connectors.csv", CONNECTORS.to_owned());
    let read = circuits::read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) });
    assert!(!crate::base::problem::has_errors(&read.problems), "{:?}", read.problems);
    read.value
}

fn issued(circuits: &Circuits) -> Issued {
    Register::in_memory().and_then(|register| register.preview(circuits)).expect("there is memory")
}

/// The labels of a selection.
fn labels(rows: &str, purpose: Purpose, reach: Reach, doubled: Doubled) -> Vec<Label> {
    let circuits = read(rows);
    let issued = issued(&circuits);
    let selected = select(&circuits, purpose, reach, doubled);
    selected.iter().map(|selected| label(&circuits, &issued, &Payload::Text, purpose, selected)).collect()
}

/// `J1/14 A`: place and letters of each tag, in the order of the tags.
fn tags(rows: &str, purpose: Purpose, reach: Reach) -> Vec<String> {
    labels(rows, purpose, reach, Doubled::Together).iter().map(shown).collect()
}

fn shown(label: &Label) -> String {
    let name = label.name.to_string();
    format!("{} {}", label.place_text(), name.split_once(' ').map_or("", |(_, letters)| letters))
}

/// The labels of all subjects when marks along wires are wanted.
fn along(rows: &str, reach: Reach) -> Vec<Label> {
    let (circuits, payload) = (read(rows), Payload::Text);
    let issued = issued(&circuits);
    let selected = select(&circuits, Purpose::Work, reach, Doubled::Together);
    let selection = along_wires(&circuits, selected, |_| true, Length::mm(150.0));
    let sources = Sources { circuits: &circuits, issued: &issued, payload: &payload, title: "Marsh Hen" };
    selection.subjects.iter().map(|subject| sources.label(Purpose::Work, subject)).collect()
}

/// `A 76 mm from J1/1`: letters and position of each tag.
fn positions(rows: &str, reach: Reach) -> Vec<String> {
    let told = |label: &Label| {
        let at = label.at.as_ref().expect("all have a position");
        format!("{} {at}", label.name.lettered())
    };
    along(rows, reach).iter().map(told).collect()
}

/// The one label of a single row.
fn one(row: &str) -> Label {
    let mut labels = labels(row, Purpose::Work, Reach::All, Doubled::Together);
    assert_eq!(labels.len(), 1);
    labels.remove(0)
}

fn line(label: &Label, field: Field) -> Option<String> {
    (!label.says(field).is_empty()).then(|| label.text(field))
}

/// The marks of a label, each of which is known again by its words.
fn bands(label: &Label) -> Vec<&str> {
    for (band, words) in &label.bands {
        assert_eq!(super::caution::mark_of(words), Some(*band), "{words}");
    }
    label.bands.iter().map(|(_, words)| words.as_str()).collect()
}

#[test]
fn ends_that_lose_their_housing_and_their_far_ends() {
    let rows = "J1,1,E1,,,,,,cut,,,,\nX3,1,E1,,,,,,keep,,,,\n\
                J1,2,E2,,,,,,keep,,,,\nX3,2,E2,,,,,,,,,,\n\
                J1,3,E3,,,,,,remove,,,,\nX3,3,E3,,,,,,remove,,,,\n";
    assert_eq!(tags(rows, Purpose::Work, Reach::Needed), ["J1/1 A", "X3/1 B"]);
    assert_eq!(tags(rows, Purpose::Work, Reach::WithRemoved), ["J1/1 A", "J1/3 A", "X3/1 B", "X3/3 B"]);
    assert_eq!(tags(rows, Purpose::Work, Reach::All).len(), 6);
}

#[test]
fn every_action_is_selected_or_not() {
    for (action, work, is_free) in [
        ("", false, false),
        ("keep", false, false),
        ("remove", false, false),
        ("cut", true, true),
        ("move", true, false),
        ("add", true, false),
        ("extend", true, false),
        ("reserve", true, true),
    ] {
        let row = format!("J1,1,E1,,,,,,{action},,2,,\n");
        let count = |purpose, reach| tags(&row, purpose, reach).len();
        assert_eq!(count(Purpose::Work, Reach::Needed), usize::from(work), "{action}");
        // Cut and reserved ends are free for certain; what is moved, added or extended may come free on the way.
        assert!(count(Purpose::Final, Reach::Needed) >= usize::from(is_free), "{action}");
        assert!(count(Purpose::Final, Reach::Needed) <= usize::from(work), "{action}");
        assert_eq!(count(Purpose::Work, Reach::All), 1, "{action}");
    }
}

#[test]
fn the_far_end_gets_a_work_tag_but_no_final_one() {
    let rows = "J1,1,E1,,,,,,cut,,2,,\nX3,1,E1,,,,,,keep,,2,,\n";
    assert_eq!(tags(rows, Purpose::Work, Reach::Needed), ["J1/1 A", "X3/1 B"]);
    assert_eq!(tags(rows, Purpose::Final, Reach::Needed), ["J1/1 A"]);
}

#[test]
fn a_doubled_cavity_gets_one_tag_or_one_each() {
    let rows =
        "J1,1,E1,,BK,,,,cut,,2.1,,\nJ1,1,E1,,BN,,,,cut,,2.6,,\nX3,1,E1,,BK,,,,keep,,,,\nX3,2,E1,,BN,,,,keep,,,,\n";
    let together = labels(rows, Purpose::Work, Reach::Needed, Doubled::Together);
    assert_eq!(shown(&together[0]), "J1/1 A+B");
    let measured: Vec<_> = together[0].wires.iter().map(|wire| wire.measured).collect();
    assert_eq!(measured, [2.1, 2.6].map(|diameter| Some(Length::mm(diameter))), "both wires are told");
    let apart = labels(rows, Purpose::Work, Reach::Needed, Doubled::Apart);
    assert_eq!(apart.iter().map(shown).collect::<Vec<_>>()[..2], ["J1/1 A", "J1/1 B"]);
}

#[test]
fn each_wire_of_a_stud_or_splice_keeps_a_tag_of_its_own() {
    let rows = "G2,,GND,,BK,,,,cut,,,,\nG2,,GND,,BN,,,,cut,,,,\nG2,,GND,,YE,,,,cut,,,,\nSP1,,E15,,BN,,,,cut,,,,\nSP1,,E15,,BN,,,,cut,,,,\n";
    assert_eq!(tags(rows, Purpose::Work, Reach::Needed), ["G2 A", "G2 B", "G2 C", "SP1 A", "SP1 B"]);
}

#[test]
fn tags_come_in_working_order() {
    let rows = "J10,1,E4,,,,,,cut,,,,\nJ2,10,E3,,,,,,cut,,,,\nJ2,9,E2,,,,,,cut,,,,\nJ2,B1,E1,,,,,,cut,,,,\n";
    assert_eq!(tags(rows, Purpose::Work, Reach::Needed), ["J2/9 A", "J2/10 A", "J2/B1 A", "J10/1 A"]);
}

#[test]
fn lines_stand_in_the_order_in_which_they_are_kept() {
    let label =
        one("J1,14,E14,rail pressure signal,BU/WH,0.5,signal,F3 5 A,move to J4/7,,,ENG-LOOM,to the left of the pump\n");
    let lines = Wording::builtin("flat").expect("comes with the program").lines(&label);
    let texts: Vec<String> = lines.iter().map(Line::text).collect();
    let wanted = [
        "rail pressure signal",
        "J1 / 14",
        "________",
        "J4 / 7",
        "BU/WH 0.5 mm² fuse F3 5 A",
        "E14",
        "ENG-LOOM",
        "to the left of the pump",
    ];
    assert_eq!(texts, wanted);
    // The function may be shortened by words from its end, places never.
    assert_eq!((lines[0].wordings(), lines[1].wordings()), (3, 1));
}

#[test]
fn an_unknown_far_end_is_a_line_to_write_on() {
    let there = line(&one("J1,14,E14,,,,,,cut,,,,\n"), Field::There).expect("a line");
    assert!(there.len() >= 6 && there.chars().all(|c| c == '_'), "{there}");
    let rows = "J1,14,E14,,,,,,cut,,,,\nX3,2,E14,,,,,,,,,,\n";
    let both = labels(rows, Purpose::Work, Reach::Needed, Doubled::Together);
    assert_eq!(line(&both[0], Field::There).as_deref(), Some("X3 / 2"));
    assert_eq!(line(&both[1], Field::There).as_deref(), Some("J1 / 14"));
    let spliced = "J1,1,E1,,,,,,cut,,,,\nX3,1,E1,,,,,,,,,,\nX3,2,E1,,,,,,,,,,\n";
    let first = &labels(spliced, Purpose::Work, Reach::Needed, Doubled::Together)[0];
    assert_eq!(line(first, Field::There).as_deref(), Some("splice"));
}

#[test]
fn a_circuit_that_no_list_names_does_not_print_its_place_twice() {
    assert_eq!(line(&one("J1,14,,tank sender,,,,,cut,,,,\n"), Field::Circuit), None);
}

#[test]
fn the_supply_column_sets_the_marks() {
    for (supply, action, wanted) in [
        ("constant", "keep", &["LIVE WITH BATTERY ON"][..]),
        ("constant", "cut", &["LIVE WITH BATTERY ON: CAP THIS END"]),
        ("30", "cut", &["LIVE WITH BATTERY ON: CAP THIS END"]),
        ("restraint", "cut", &["RESTRAINT DO NOT CUT"]),
        ("high-voltage", "", &["HIGH VOLTAGE DO NOT CUT"]),
        ("switched", "cut", &[]),
        ("ground", "cut", &[]),
        ("", "cut", &[]),
        ("constant", "add", &["LIVE WITH BATTERY ON: CAP THIS END", "NEW"]),
        ("signal", "reserve", &["SPARE"]),
        ("restraint", "remove", &["RESTRAINT DO NOT CUT", "OUT ____ mm"]),
    ] {
        let label = one(&format!("J1,1,E1,,,,{supply},,{action},,,,\n"));
        assert_eq!(bands(&label), wanted, "{supply} {action}");
    }
    assert_eq!(bands(&one("J1,1,E1,,,,signal,,remove,1050,,,\n")), ["OUT 1050 mm"]);
}

#[test]
fn graver_words_of_the_function_set_a_mark_too() {
    for (function, supply, wanted) in [
        ("airbag squib left", "", &["RESTRAINT DO NOT CUT"][..]),
        ("Gurtstraffer rechts", "signal", &["RESTRAINT DO NOT CUT"]),
        ("belt tensioner", "constant", &["RESTRAINT DO NOT CUT"]),
        ("pre-tensioner right", "", &["RESTRAINT DO NOT CUT"]),
        ("SRS warning lamp", "signal", &["RESTRAINT DO NOT CUT"]),
        ("Zündpille Fahrer", "", &["RESTRAINT DO NOT CUT"]),
        ("Steuergerät Rückhaltesystem", "30", &["RESTRAINT DO NOT CUT"]),
        ("high voltage interlock", "restraint", &["HIGH VOLTAGE DO NOT CUT"]),
        ("HV-Pilotlinie", "", &["HIGH VOLTAGE DO NOT CUT"]),
        ("Hochvolt-Heizer", "switched", &["HIGH VOLTAGE DO NOT CUT"]),
        ("Hochspannung!", "", &["HIGH VOLTAGE DO NOT CUT"]),
        ("radio", "", &[]),
        ("exhaust pyrometer", "signal", &[]),
        ("NHV sensor", "signal", &[]),
        ("fan belt switch", "signal", &[]),
    ] {
        let label = one(&format!("J1,1,E1,{function},,,{supply},,keep,,,,\n"));
        assert_eq!(bands(&label), wanted, "{function} {supply}");
    }
}

/// Branch and note speak of the wire whose end has them, and of no other wire of a circuit of many.
#[test]
fn graver_words_of_branch_and_note_mark_the_wire() {
    for (branch, note, wanted) in [
        ("AIRBAG-LOOM", "", &["RESTRAINT DO NOT CUT"][..]),
        ("ENG-LOOM", "to the squib: yellow plug", &["RESTRAINT DO NOT CUT"]),
        ("HV", "", &["HIGH VOLTAGE DO NOT CUT"]),
        ("", "orange jacket: Hochvolt?", &["HIGH VOLTAGE DO NOT CUT"]),
        ("ENG-LOOM", "orange jacket: yellow plug", &[]),
    ] {
        let rows = format!("J1,1,E1,,,,,,cut,,,{branch},{note}\nX3,1,E1,,,,,,keep,,,,\n");
        for label in labels(&rows, Purpose::Work, Reach::Needed, Doubled::Together) {
            assert_eq!(bands(&label), wanted, "{branch} {note} at {}", label.place_text());
        }
    }
    let ground = "J1,1,GND,ground,,,ground,,cut,,,,beside the airbag\nX3,1,GND,,,,,,cut,,,,\nG2,,GND,,,,,,cut,,,,\n";
    let all = labels(ground, Purpose::Work, Reach::Needed, Doubled::Together);
    let marked: Vec<String> =
        all.iter().filter(|label| !label.bands.is_empty()).map(|label| label.place_text()).collect();
    assert_eq!(marked, ["J1/1"]);
}

/// Yellow is no restraint and orange no high voltage: the insulation neither sets nor clears a mark.
#[test]
fn colour_never_sets_or_clears_a_mark() {
    for colour in ["OG", "YE", "YE/BK", "RD", "orange"] {
        assert_eq!(bands(&one(&format!("J1,1,E1,horn,{colour},,signal,,keep,,,,\n"))), Vec::<&str>::new(), "{colour}");
    }
    for colour in ["", "BK", "GNYE", "WH"] {
        let row = format!("J1,1,E1,,{colour},,high-voltage,,keep,,,,\n");
        assert_eq!(bands(&one(&row)), ["HIGH VOLTAGE DO NOT CUT"], "{colour}");
    }
}

#[test]
fn the_text_of_a_symbol_fits_version_2() {
    let label = one("J1,14,E14,exhaust gas recirculation cooler bypass valve position feedback,BU/WH,0.5,,,cut,,,,\n");
    let payload = label.payload.expect("a payload");
    assert!(payload.len() <= 38 && payload.starts_with(&label.name.to_string().to_uppercase()), "{payload}");
}

/// Two wires of one circuit in one cavity, of different colour and size: each is told, and no bar shows one of them for both.
#[test]
fn a_doubled_cavity_tells_each_of_its_wires() {
    let rows = "J1,16,E70,engine ground,BK,1.5,ground,,cut,,,,\nJ1,16,E70,,BN,2.5,ground,,reserve,,,,\n";
    let labels = labels(rows, Purpose::Work, Reach::Needed, Doubled::Together);
    assert_eq!(labels.len(), 1);
    let mut parts = labels[0].says(Field::Conductor).to_vec();
    parts.sort();
    assert_eq!(parts, ["A BK 1.5 mm²", "B BN 2.5 mm²"]);
    assert_eq!(labels[0].colour, None);
    assert!(labels[0].bands.iter().any(|(band, _)| *band == Band::Spare), "the mark of the second wire");
}

#[test]
fn marks_stand_behind_the_first_tag_of_their_wire() {
    let rows =
        "J1,1,E1,rail pressure,BU/WH,0.5,,,cut,1000,,,\nX3,1,E1,,BU/WH,0.5,,,keep,1000,,,\nJ1,2,E2,,,,,,keep,400,,,\n";
    let needed = ["A 150 mm from J1/1", "A-B 408 mm from J1/1", "A-B 666 mm from J1/1", "B 76 mm from X3/1"];
    assert_eq!(positions(rows, Reach::Needed), needed);
    // Where the other end is not known, a mark stands in for its tag.
    let all = positions(rows, Reach::All);
    assert_eq!(all[3..5], ["A 76 mm from J1/2", "A- 324 mm from J1/2"]);
    let mark = &along(rows, Reach::Needed)[1];
    let lines = Wording::builtin("along").expect("comes with the program").lines(mark);
    let texts: Vec<String> = lines.iter().map(Line::text).collect();
    assert_eq!(texts, ["rail pressure", "J1 / 1", "X3 / 1", "408 mm from J1/1", "BU/WH 0.5 mm²", "E1"]);
    let code = mark.name.code().expect("a code");
    assert_eq!(mark.payload, Some(format!("{code} A-B RAIL PRESSURE J1/1-X3/1")));
    assert_eq!(mark.at.as_ref().map(|at| at.wire.as_str()), Some("J1/1-X3/1"));
}

#[test]
fn a_short_wire_has_one_mark_for_both_its_ends_and_a_shorter_one_none() {
    let wire = |length: &str, action: &str| {
        positions(&format!("J1,1,E1,,,,,,{action},{length},,,\nX3,1,E1,,,,,,keep,,,,\n"), Reach::All)
    };
    assert_eq!(wire("75", "keep"), [""; 0]);
    assert_eq!(wire("150", "keep"), ["A-B 75 mm from J1/1"]);
    assert_eq!(wire("179", "keep"), ["A 76 mm from J1/1", "B 76 mm from X3/1"]);
    // Where it will be cut both sides keep their tag.
    assert_eq!(wire("150", "cut"), ["A 66 mm from J1/1", "B 34 mm from X3/1"]);
    assert_eq!(wire("60", "cut").len(), 2);
    // Of no length: the tags of the ends, and nothing between them.
    assert_eq!(wire("", "cut"), ["A 150 mm from J1/1", "B 76 mm from X3/1"]);
}

#[test]
fn wires_without_marks_are_told() {
    let rows = "J1,1,E1,,,,,,keep,60,,,\nX3,1,E1,,,,,,keep,60,,,\nJ1,2,E2,,,,,,keep,,,,\nX3,2,E2,,,,,,keep,,,,\n";
    let circuits = read(rows);
    let selected = || select(&circuits, Purpose::Work, Reach::All, Doubled::Together);
    let told = |wires: &[WireEnds]| wires.iter().map(|wire| wire.name(&circuits)).collect::<Vec<_>>();
    let selection = along_wires(&circuits, selected(), |_| true, Length::mm(150.0));
    assert_eq!(told(&selection.too_short), ["J1/1-X3/1"]);
    assert_eq!(told(&selection.of_no_length), ["J1/2-X3/2"]);
    assert_eq!(selection.subjects.len(), 2);
    let none = along_wires(&circuits, selected(), |_| false, Length::mm(150.0));
    assert_eq!(none, Selection::default());
}

/// The tag of a doubled cavity stays for the sake of its other wire.
#[test]
fn a_short_wire_of_a_doubled_cavity_keeps_its_tags() {
    let rows = "J1,1,E1,,BK,,,,keep,150,,,\nJ1,1,E1,,BN,,,,keep,1000,,,\nX3,1,E1,,BK,,,,keep,150,,,\nX3,2,E1,,BN,,,,keep,1000,,,\n";
    assert_eq!(
        positions(rows, Reach::All),
        [
            "A+B 50 mm from J1/1",
            "B-D 359 mm from J1/1",
            "B-D 641 mm from J1/1",
            "C 50 mm from X3/1",
            "D 76 mm from X3/2"
        ]
    );
}

#[test]
fn a_mark_warns_of_what_both_ends_do() {
    let rows = "J1,1,E1,,,,constant,,cut,500,,,\nX3,1,E1,,,,,,reserve,500,,,\nG2,,E1,,,,,,keep,500,,,\n\
                J1,2,E2,airbag squib,,,,,keep,600,,,\nX3,2,E2,,,,,,keep,,,,\n";
    let marks: Vec<Label> =
        along(rows, Reach::All).into_iter().filter(|label| matches!(label.name, TagName::Between { .. })).collect();
    assert_eq!(bands(&marks[0]), ["LIVE WITH BATTERY ON"], "no end is to be capped there");
    let squib = marks.iter().find(|mark| mark.text(Field::Function) == "airbag squib").expect("it has a mark");
    assert_eq!(bands(squib), ["RESTRAINT DO NOT CUT"]);
    // A wire to a splice that no list names.
    assert_eq!(line(&marks[0], Field::There).as_deref(), Some("splice"));
    assert_eq!(marks[0].name.lettered(), "A-");
}

fn whole(rows: &str) -> Vec<String> {
    whole_connectors(&read(rows)).into_iter().map(|connector| connector.id.to_string()).collect()
}

#[test]
fn a_connector_that_none_of_its_ends_leaves_stays_whole() {
    for (action, is_whole) in [
        ("", true),
        ("keep", true),
        ("remove", false),
        ("cut", false),
        ("move", false),
        ("add", false),
        ("extend", false),
        ("reserve", false),
    ] {
        let rows = format!("J1,1,E1,,,,,,keep,,,,\nJ1,2,E2,,,,,,{action},,,,\n");
        assert_eq!(whole(&rows).len(), usize::from(is_whole), "{action}");
    }
    // In natural order; K9 stands in no other list, and S9 has no cavities there.
    let rows = "X10,1,E1,,,,,,keep,,,,\nX3,1,E1,,,,,,keep,,,,\nK9,85,E2,,,,,,keep,,,,\n\
                G2,,E3,,,,,,keep,,,,\nSP1,,E4,,,,,,keep,,,,\nS9,,E5,,,,,,keep,,,,\n";
    assert_eq!(whole(rows), ["K9", "X3", "X10"]);
    let circuits = read("J1,2,E1,,,,,,move to J1/7,,,,\nJ1,1,E2,,,,,,keep,,,,\n");
    let why = |name: &str| whole_connector(&circuits, &crate::base::ConnectorId::from_cell(name).expect("a name"));
    assert!(matches!(why("J1"), Err(NotWhole::Opened(place, _)) if place.to_string() == "J1/2"));
    assert_eq!(why("J9"), Err(NotWhole::Empty));
}

/// A70 is the restraint control unit of connectors.csv: so are its wires, at both ends.
#[test]
fn the_name_of_a_connector_marks_its_wires() {
    let labels = labels(
        "A70,1,E1,,,,switched,,cut,,,,\nJ1,1,E1,,,,switched,,cut,,,,\n",
        Purpose::Work,
        Reach::All,
        Doubled::Together,
    );
    assert_eq!(labels.len(), 2);
    for label in &labels {
        assert_eq!(bands(label), ["RESTRAINT DO NOT CUT"], "{}", label.place_text());
    }
}

#[test]
fn the_tag_of_a_connector_tells_what_it_is() {
    let label = |rows: &str, id: &str| {
        let (circuits, payload) = (read(rows), Payload::Text);
        let whole =
            whole_connectors(&circuits).into_iter().find(|connector| connector.id.as_str() == id).expect("whole");
        connector::connector_label(&circuits, &payload, "Marsh Hen", &whole)
    };
    let lines = |label: &Label| {
        let lines = Wording::builtin("connector").expect("comes with the program").lines(label);
        lines.iter().map(Line::text).collect::<Vec<_>>()
    };
    let rows =
        "J1,1,E1,,,,signal,,keep,,,,\nJ1,2,E2,,,,constant,,keep,,,,\nJ1,2,E2,,BK,,,,keep,,,,\nX3,1,E3,,,,,,,,,,\n";
    let j1 = label(rows, "J1");
    assert_eq!((j1.name.to_string(), j1.place_text()), ("J1".to_owned(), "J1".to_owned()));
    assert_eq!(lines(&j1), ["engine control unit", "3 wires in 60 cavities", "ENG-LOOM", "Marsh Hen"]);
    assert_eq!(bands(&j1), ["LIVE WITH BATTERY ON"]);
    assert_eq!(j1.payload.as_deref(), Some("J1: ENGINE CONTROL UNIT"));
    let x3 = label(rows, "X3");
    assert_eq!(lines(&x3), ["bulkhead", "X4", "1 wire", "Marsh Hen"]);
    assert_eq!((bands(&x3), x3.payload.as_deref()), (vec![], Some("X3: BULKHEAD MATES X4")));
    // The gravest of what its ends carry.
    let grave = "J1,1,E1,,,,constant,,keep,,,,\nJ1,2,E2,belt tensioner,,,,,keep,,,,\n";
    assert_eq!(bands(&label(grave, "J1")), ["RESTRAINT DO NOT OPEN"]);
    let gravest = format!("{grave}J1,3,E3,,,,high-voltage,,keep,,,,\n");
    assert_eq!(bands(&label(&gravest, "J1")), ["HIGH VOLTAGE DO NOT OPEN"]);
    // Its own name counts too.
    assert_eq!(bands(&label("A70,1,E1,,,,switched,,keep,,,,\n", "A70")), ["RESTRAINT DO NOT OPEN"]);
}
