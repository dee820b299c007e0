//! Trials of recall as a whole: every way to ask.

use proptest::prelude::*;

use super::*;
use crate::base::Conductor;
use crate::circuits::{Action, FarEnd, Fuse, Supply};
use crate::codes::Register;
use crate::codes::samples::{self, NOW};

fn circuit(id: &str, function: &str, supply: Option<Supply>, ends: &[&str]) -> Circuit {
    let plain = samples::circuit(id, ends);
    let far = match ends.len() {
        2 => vec![FarEnd::End(1), FarEnd::End(0)],
        1 => vec![FarEnd::Unknown],
        more => vec![FarEnd::ImpliedSplice; more],
    };
    let mut told = plain.ends().to_vec();
    told[0].action = Action::Cut;
    told[0].branch = Some("engine".to_owned());
    told[0].conductor = Conductor::from_cell("0.75", None).ok();
    let mut circuit = Circuit::new(plain.id().clone(), plain.naming(), told, far).expect("equally long");
    circuit.function = Some(function.to_owned()).filter(|function| !function.is_empty());
    circuit.supply = supply;
    circuit
}

fn harness() -> Vec<Circuit> {
    let mut pump = circuit("W12", "bilge pump feed", Some(Supply::Constant), &["J1/14 RD/BU", "X3/2 RD/BU"]);
    pump.fuse = Fuse::from_cell("F3 15 A");
    vec![
        pump,
        circuit("RPS", "rail pressure signal", Some(Supply::Signal), &["J1/15 BN/WH", "J2/01 BN/WH", "X3/3 BN"]),
        circuit("J2/7", "", None, &["J2/7"]),
        circuit("SQ", "belt tensioner", Some(Supply::Restraint), &["J9/1 YE", "J9/2 YE"]),
    ]
}

fn recall_of(register: &Register, circuits: &Circuits) -> Recall {
    let issued = register.preview(circuits).expect("previews");
    Recall::new(circuits, &issued, &register.records().expect("reads"))
}

/// In natural order: J2/7 FQGB, RPS RTCQ, SQ 8GMK, W12 3V86.
fn job() -> (Register, Recall) {
    let mut register = Register::in_memory().expect("in memory");
    let circuits = samples::circuits(harness());
    register.issue(&circuits, NOW).expect("issues");
    let recall = recall_of(&register, &circuits);
    (register, recall)
}

fn ask(recall: &Recall, question: &str) -> Vec<String> {
    let words: Vec<String> = question.split(' ').map(str::to_owned).collect();
    let answer = recall.find(&words).into_iter().map(|found| {
        let ends: Vec<&str> = found.ends.iter().filter_map(|&end| found.record.ends[end].letter.as_deref()).collect();
        format!("{} {} by {:?}", found.record.designations[0], ends.concat(), found.by)
    });
    answer.collect()
}

#[test]
fn a_code_is_found_however_it_is_typed() {
    let (_, recall) = job();
    for typed in ["3V86", "3v86", "3 v-8.6", "http://tags.example/3v86"] {
        assert_eq!(ask(&recall, typed), ["W12 AB by Code"], "{typed}");
    }
    for typed in ["3V86 B", "3v86/b", "HTTP://TAGS.EXAMPLE/3V86/B", "3v86 b+a"] {
        assert_eq!(ask(&recall, typed), ["W12 B by Code"], "{typed}");
    }
    assert_eq!(ask(&recall, "3V85"), [""; 0]);
}

#[test]
fn a_place_is_found_however_it_is_typed() {
    let (_, recall) = job();
    for typed in ["J1/14", "j1 14", "j1-14", " J1/14 ", "j1.14"] {
        assert_eq!(ask(&recall, typed), ["W12 A by Place"], "{typed}");
    }
    assert_eq!(ask(&recall, "j2 1"), ["RPS B by Place"]);
    assert_eq!(ask(&recall, "j2 7"), ["J2/7 A by Place"]);
    assert_eq!(ask(&recall, "J2"), ["J2/7 A by Words", "RPS B by Words"]);
}

#[test]
fn designation_colour_and_words_are_found_and_all_must_fit() {
    let (_, recall) = job();
    assert_eq!(ask(&recall, "rps"), ["RPS ABC by Designation"]);
    assert_eq!(ask(&recall, "brown"), ["RPS ABC by Words"]);
    assert_eq!(ask(&recall, "brown white"), ["RPS AB by Words"]);
    assert_eq!(ask(&recall, "BN/WH"), ["RPS AB by Words"]);
    assert_eq!(ask(&recall, "brown stripe"), ["RPS AB by Words"]);
    assert_eq!(ask(&recall, "blue"), ["W12 AB by Words"]);
    assert_eq!(ask(&recall, "pressure j2"), ["RPS B by Words"]);
    assert_eq!(ask(&recall, "press brown j1 15"), ["RPS A by Words"]);
    assert_eq!(ask(&recall, "engine, red"), ["W12 A by Words"]);
    let all = ["J2/7 A by Words", "RPS A by Words", "SQ A by Words", "W12 A by Words"];
    assert_eq!(ask(&recall, "cut"), all);
    assert_eq!(ask(&recall, "pump green"), [""; 0]);
    assert_eq!(ask(&recall, ""), [""; 0]);
}

#[test]
fn joined_and_removed_circuits_still_answer() {
    let (mut register, _) = job();
    let code = |typed| TagCode::from_typed(typed).expect("a code");
    register.join(code("3V86"), code("RTCQ"), NOW).expect("joins");
    // Still listed apart: one record of both.
    let both = recall_of(&register, &samples::circuits(harness()));
    let groups = both.one_circuit(&["RTCQ", "FQGB", "3V86", "7KF4"].map(code));
    assert_eq!(groups, [vec!["RTCQ", "3V86"], vec!["FQGB"], vec!["7KF4"]]);
    let found = both.by_code(code("RTCQ"), EndLetter::from_typed("B")).expect("is there");
    assert_eq!(found.record.designations, ["RPS", "W12"]);
    assert_eq!(found.record.ends[found.ends[0]].here, "J2/01");
    assert_eq!(found.record.ends.len(), 5);

    let left = recall_of(&register, &samples::circuits(harness().into_iter().skip(2)));
    let found = left.by_code(code("RTCQ"), None).expect("is there");
    assert!(!found.record.listed);
    assert!(found.in_words().contains("take it as live"));
    assert_eq!(ask(&left, "j1 14"), ["RPS A by Place"]);
}

#[test]
fn an_end_that_left_the_lists_is_told_of() {
    let (register, _) = job();
    let mut fewer = harness();
    fewer[1] = circuit("RPS", "rail pressure signal", Some(Supply::Signal), &["J1/15 BN/WH", "J2/01 BN/WH"]);
    let recall = recall_of(&register, &samples::circuits(fewer));
    let found = recall.find(&["X3/3".to_owned()]);
    let end = &found[0].record.ends[found[0].ends[0]];
    assert_eq!((end.letter.as_deref(), end.listed), (Some("C"), false));
    assert!(found[0].in_words().contains("not in the lists any more"));
}

#[test]
fn what_was_never_issued_has_no_code_yet() {
    let register = Register::in_memory().expect("in memory");
    let recall = recall_of(&register, &samples::circuits(harness()));
    let found = recall.find(&["bilge".to_owned()]);
    assert_eq!((found[0].record.code.as_deref(), found[0].record.ends[0].letter.as_deref()), (None, None));
    assert!(found[0].in_words().starts_with("(no code yet)  bilge pump feed"));
    assert_eq!(recall.find(&["3V86".to_owned()]), []);
}

#[test]
fn scans_of_known_unknown_and_damaged_codes() {
    let (_, recall) = job();
    assert!(matches!(recall.by_scanned("HTTP://TAGS.EXAMPLE/3V86/A"), Scanned::Known(found) if found.ends == [0]));
    assert!(matches!(recall.by_scanned("3V86 A+B BILGE PUMP"), Scanned::Known(found) if found.ends == [0]));
    assert!(matches!(recall.by_scanned("7KF4 A"), Scanned::Unknown { code, .. } if code == "7KF4"));
    for damaged in ["3V85", "3VB6 A", "HTTP://TAGS.EXAMPLE/3VB6/A", "http://tags.example/3vb6"] {
        match recall.by_scanned(damaged) {
            Scanned::Nothing { nearest, .. } => {
                assert_eq!(nearest[0], Near { code: "3V86".to_owned(), what: "bilge pump feed".to_owned() });
            }
            other => panic!("{damaged}: {other:?}"),
        }
    }
}

#[test]
fn programs_read_the_same_answer() {
    let (_, recall) = job();
    let json = serde_json::to_value(recall.by_scanned("3V86 B")).expect("is plain");
    assert_eq!((&json["scan"], &json["by"], &json["ends"][0]), (&"known".into(), &"code".into(), &1.into()));
    let record = &json["record"];
    assert_eq!((&record["code"], &record["fuse"]), (&"3V86".into(), &"F3 15 A".into()));
    assert_eq!(record["cautions"][0], "LIVE WITH BATTERY ON");
    assert_eq!((&record["ends"][0]["letter"], &record["ends"][0]["there"]), (&"A".into(), &"X3/2".into()));
    let json = serde_json::to_value(recall.by_scanned("7KF4")).expect("is plain");
    assert_eq!((&json["scan"], &json["code"]), (&"unknown".into(), &"7KF4".into()));
    let json = serde_json::to_value(recall.by_scanned("3V85")).expect("is plain");
    assert_eq!((&json["scan"], &json["nearest"][0]["code"]), (&"nothing".into(), &"3V86".into()));
}

/// What the tag of a circuit warns of, its record warns of: also where only the words of its function say it.
#[test]
fn a_function_may_say_restraint() {
    let register = Register::in_memory().expect("in memory");
    let circuits = samples::circuits([circuit("SQ", "driver airbag squib", None, &["J9/1 YE", "J9/2 YE"])]);
    let found = &recall_of(&register, &circuits).find(&["airbag".to_owned()])[0];
    assert_eq!(found.record.cautions, ["RESTRAINT: never cut, probe or tap into"]);
}

#[test]
fn a_record_reads_well() {
    let (_, recall) = job();
    let found = &recall.find(&["3V86".to_owned(), "A".to_owned()])[0];
    insta::assert_snapshot!(found.in_words(), @r"
    3V86  bilge pump feed
    circuit W12, constant, fuse F3 15 A
    !! LIVE WITH BATTERY ON

    > A  J1/14  to X3/2  RD/BU (red, blue stripe)  0.75 mm²
         plan: cut, branch engine
         !! LIVE WITH BATTERY ON: cap this end
      B  X3/2   to J1/14  RD/BU (red, blue stripe)
         plan: undecided

    no mark does not mean dead: test
    ");
    let found = &recall.find(&["tensioner".to_owned()])[0];
    insta::assert_snapshot!(found.in_words(), @r"
    8GMK  belt tensioner
    circuit SQ, restraint
    !! RESTRAINT: never cut, probe or tap into

      A  J9/1  to J9/2  YE (yellow)  0.75 mm²
         plan: cut, branch engine
      B  J9/2  to J9/1  YE (yellow)
         plan: undecided

    no mark does not mean dead: test
    ");
}

proptest! {
    #[test]
    fn any_question_is_answered(question in ".{0,20}") {
        let (_, recall) = job();
        let words: Vec<String> = question.split(' ').map(str::to_owned).collect();
        for found in recall.find(&words) {
            let _ = found.in_words();
        }
        let _ = recall.by_scanned(&question);
    }
}
