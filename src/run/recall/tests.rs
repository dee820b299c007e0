//! Trials of recall as a whole: every way to ask.

use proptest::prelude::*;

use super::entry::Question;
use super::*;
use crate::base::{Conductor, EndLetter};
use crate::circuits::{Action, Circuit, Circuits, FarEnd, Fuse, Supply};
use crate::codes::samples::{self, NOW};
use crate::codes::{LinkBase, Payload, Register};

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
    let records = register.records().expect("reads");
    let base = LinkBase::from_typed("http://tags.example").expect("an address");
    let texts = TagTexts::new(circuits, &issued, &records, &Payload::Link { base }, []);
    Recall::new(circuits, &issued, &records, texts)
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
    let tags = ["RTCQ", "FQGB", "3V86", "7KF4"].map(|typed| (code(typed), None));
    assert_eq!(both.one_circuit(&tags), [vec![tags[0], tags[2]], vec![tags[1]]]);
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
fn what_speaks_against_a_scan_stands_first() {
    let (_, recall) = job();
    let doubt = |text: &str| match recall.by_scanned(text) {
        Scanned::Known(found) => {
            found.in_words().lines().next().and_then(|line| line.strip_prefix("DOUBT: ").map(str::to_owned))
        }
        other => panic!("{text}: {other:?}"),
    };
    for own in ["HTTP://TAGS.EXAMPLE/3V86/A", "3V86 A BILGE PUMP FEED J1/14-X3/2", "3V86 A", "3V86"] {
        assert_eq!(doubt(own), None, "{own}");
    }
    assert!(doubt("HTTP://OTHER.EXAMPLE/3V86/A").is_some_and(|why| why.starts_with("this tag leads to")));
    assert!(doubt("3V86 A HORN D1/A1").is_some_and(|why| why.starts_with("the tag says")));
    for absent in ["3V86 ZZ", "HTTP://TAGS.EXAMPLE/3V86/ZZ"] {
        let told = "3V86 has no end ZZ; it has A, B: it may be another job's tag";
        assert_eq!(doubt(absent).as_deref(), Some(told), "{absent}");
    }
    let json = serde_json::to_value(recall.by_scanned("3V86 A HORN")).expect("is plain");
    assert!(json["doubt"].as_str().is_some_and(|why| why.contains("HORN")), "{json}");
}

#[test]
fn a_letter_that_no_end_has_is_told() {
    let (_, recall) = job();
    for typed in ["3V86/ZZ", "3v86 zz", "http://tags.example/3v86/zz"] {
        let found = recall.find(&[typed.to_owned()]);
        assert!(found[0].doubt.as_deref().is_some_and(|why| why.starts_with("3V86 has no end ZZ; it has A, B")));
        assert!(!found[0].in_words().contains('>'));
    }
    // A word of the record is no letter.
    assert_eq!(ask(&recall, "3v86 cut"), ["W12 A by Words"]);
    assert_eq!(ask(&recall, "3v86 b"), ["W12 B by Code"]);
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

/// Whoever names one thing wants that alone.
#[test]
fn what_is_named_is_not_followed_by_what_merely_holds_the_word() {
    let mut other = circuit("E52", "pump", None, &["BH1/20", "BH1/21"]);
    let mut ends = other.ends().to_vec();
    ends[0].partner = Some("E51".to_owned());
    other = Circuit::new(other.id().clone(), other.naming(), ends, vec![FarEnd::End(1), FarEnd::End(0)]).expect("fits");
    other.function = Some("rtcq relay".to_owned());
    let circuits = samples::circuits([circuit("E51", "CAN low", None, &["BH1/2", "J2/1"]), other]);
    let mut register = Register::in_memory().expect("in memory");
    register.issue(&circuits, NOW).expect("issues");
    let recall = recall_of(&register, &circuits);
    assert_eq!(ask(&recall, "e51"), ["E51 AB by Designation"]);
    assert_eq!(ask(&recall, "BH1/2"), ["E51 A by Place"]);
    assert_eq!(ask(&recall, "fqgb"), ["E51 AB by Code"]);
    // Part of a designation, word of a function: nothing is named, or two things are.
    assert_eq!(ask(&recall, "E5").len(), 0);
    assert_eq!(ask(&recall, "BH1"), ["E51 A by Words", "E52 AB by Words"]);
    let mut word = circuit("E53", "fqgb relay", None, &["J3/1"]);
    word.function = Some("fqgb relay".to_owned());
    let more = samples::circuits(circuits.all().iter().cloned().chain([word]));
    assert_eq!(ask(&recall_of(&register, &more), "fqgb"), ["E51 AB by Code", "E53  by Words"]);
}

#[test]
fn several_codes_are_told_apart() {
    let (_, recall) = job();
    let tags = |typed: &str| {
        let words: Vec<String> = typed.split(' ').map(str::to_owned).collect();
        let circuits = recall.one_circuit(&recall.tags_named(&words));
        circuits.iter().map(|tags| (tags.len(), recall.record_of(tags).expect("known").ends)).collect::<Vec<_>>()
    };
    assert_eq!(tags("8gmk 3v86"), [(1, vec![]), (1, vec![])]);
    assert_eq!(tags("8gmk a, 3v86/b 8GMK b"), [(2, vec![0, 1]), (1, vec![1])]);
    assert_eq!(tags("3v86 3v86"), [(1, vec![])]);
    for other in ["3v86", "3v86 b", "3v86 7kf4", "3v86 rail", "a 3v86"] {
        assert_eq!(tags(other), [], "{other}");
    }
}

#[test]
fn misspelt_words_are_offered_the_nearest() {
    let (_, recall) = job();
    let unknown = |typed: &str| {
        let unknown = recall.unknown_words(&[typed.to_owned()]);
        unknown.into_iter().map(|one| (one.word, one.near.unwrap_or_default())).collect::<Vec<_>>()
    };
    let pair = |word: &str, near: &str| (word.to_owned(), near.to_owned());
    assert_eq!(unknown("rail presure"), [pair("presure", "pressure")]);
    assert_eq!(unknown("tensoiner browm"), [pair("tensoiner", "tensioner"), pair("browm", "brown")]);
    assert_eq!(unknown("windlass"), [pair("windlass", "")]);
    assert_eq!(unknown("pump brown"), []);
}

/// What the tag of a circuit warns of, its record warns of: also where only the words of its function say it.
#[test]
fn a_function_may_say_restraint() {
    let register = Register::in_memory().expect("in memory");
    let circuits = samples::circuits([circuit("SQ", "driver airbag squib", None, &["J9/1 YE", "J9/2 YE"])]);
    let found = &recall_of(&register, &circuits).find(&["airbag".to_owned()])[0];
    assert_eq!(
        found.record.cautions,
        ["RESTRAINT: never cut, probe or tap into; disarm and wait as the maker's manual says"]
    );
    assert_eq!(found.record.ends[0].caution.as_deref(), Some("DO NOT CUT, although the plan is `cut`"));
    assert_eq!(found.record.ends[1].caution, None);
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

    history
      1970-01-01 00:00 UTC  code issued

    no mark does not mean dead: test
    ");
    let found = &recall.find(&["tensioner".to_owned()])[0];
    insta::assert_snapshot!(found.in_words(), @r"
    8GMK  belt tensioner
    circuit SQ, restraint
    !! RESTRAINT: never cut, probe or tap into; disarm and wait as the maker's manual says

      A  J9/1  to J9/2  YE (yellow)  0.75 mm²
         plan: cut, branch engine
         !! DO NOT CUT, although the plan is `cut`
      B  J9/2  to J9/1  YE (yellow)
         plan: undecided

    history
      1970-01-01 00:00 UTC  code issued

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

proptest! {
    /// With the index as without it: whatever answers is among the few that are looked at.
    #[test]
    fn the_index_leaves_out_nothing_that_answers(
        words in prop::collection::vec(
            "(j1|j1/14|14|01|bn|wh|bn/wh|brown|white|stripe|press|essur|rail|3v86|a|rps|w12|12|engine|eng|cut|constant|f3|15|\\(|:|.{0,3})",
            1..4,
        ),
    ) {
        let (_, recall) = job();
        if let Some(question) = Question::from_typed(&words.join(" ")) {
            let candidates = recall.candidates(&question);
            prop_assert!(candidates.is_sorted());
            for (at, entry) in recall.entries.iter().enumerate() {
                prop_assert!(entry.answer(&question).is_none() || candidates.contains(&at), "{words:?} leaves out {at}");
            }
        }
    }

    /// Whoever wants a few gets the first of all, and is told how many there are.
    #[test]
    fn a_few_are_the_first_of_all(words in prop::collection::vec("(j1|cut|brown|3v86|engine|rail|a|j1/14|j1/15)", 0..3), most in 0_usize..4) {
        let (_, recall) = job();
        let (few, count) = recall.find_most(&words, most);
        let all = recall.find(&words);
        prop_assert_eq!(count, all.len());
        prop_assert_eq!(&few[..], &all[..most.min(count)]);
    }
}

#[test]
fn a_mark_along_a_wire_names_its_circuit() {
    let (_, recall) = job();
    for typed in ["3V86 A-B", "3v86 a-b", "3V86 A-"] {
        assert_eq!(ask(&recall, typed), ["W12 AB by Code"], "{typed}");
    }
    let doubt = |text: &str| match recall.by_scanned(text) {
        Scanned::Known(found) => found.doubt,
        other => panic!("{text}: {other:?}"),
    };
    for own in ["3V86 A-B BILGE PUMP FEED J1/14-X3/2", "3v86 a-b", "RTCQ A- RAIL PRESSURE SIGNAL J1/15"] {
        assert_eq!(doubt(own), None, "{own}");
    }
    let stale = doubt("3V86 A-B HORN J1/14-X3/2").expect("it says something else");
    assert!(stale.contains("`3V86 A-B BILGE PUMP FEED J1/14-X3/2`"), "{stale}");
}

#[test]
fn a_connectors_tag_gives_its_ends() {
    let (_, recall) = job();
    let answer = |text: &str| match recall.by_scanned(text) {
        Scanned::Connector { connector, doubt, found } => {
            let here = found.iter().flat_map(|one| one.ends.iter().map(|&end| one.record.ends[end].here.clone()));
            (connector, doubt, here.collect::<Vec<_>>())
        }
        other => panic!("{text}: {other:?}"),
    };
    for text in ["HTTP://TAGS.EXAMPLE/C/J1", "http://tags.example/c/j1/", "J1:", "J1", " j1 "] {
        assert_eq!(answer(text), ("J1".to_owned(), None, vec!["J1/14".to_owned(), "J1/15".to_owned()]), "{text}");
    }
    let (_, other_job, _) = answer("HTTP://OTHER.EXAMPLE/BOATS/C/J1");
    assert!(other_job.is_some_and(|why| why.starts_with("this tag leads to `HTTP://OTHER.EXAMPLE/BOATS`")));
    let (_, stale, _) = answer("J1: ENGINE");
    assert!(stale.is_some_and(|why| why.ends_with("it is stale, or another job's tag")));
    assert_eq!(answer("HTTP://TAGS.EXAMPLE/C/J7"), ("J7".to_owned(), None, vec![]));
    assert_eq!(ask(&recall, "http://tags.example/c/j1"), ["W12 A by Place", "RPS A by Place"]);
    let json = serde_json::to_value(recall.by_scanned("J1:")).expect("is plain");
    assert_eq!((&json["scan"], &json["connector"]), (&"connector".into(), &"J1".into()));
    assert_eq!(json["found"][0]["record"]["code"], "3V86");
}

#[test]
fn an_end_of_a_record_is_found_in_the_lists_again() {
    let circuits = samples::circuits(harness());
    let ahead = recall_of(&Register::in_memory().expect("in memory"), &circuits);
    let (mut register, recall) = job();
    let code = |typed| TagCode::from_typed(typed).expect("a code");
    register.join(code("3V86"), code("RTCQ"), NOW).expect("joins");
    let joined = recall_of(&register, &circuits);
    for recall in [&ahead, &recall, &joined] {
        for (circuit, own) in circuits.all().iter().enumerate() {
            for end in 0..own.ends().len() {
                let (record, seat) = recall.seat((circuit, end));
                assert_eq!(recall.listed_end(recall.record(record), seat), Some((circuit, end)), "{:?}", own.id());
            }
        }
    }
    assert_eq!(joined.listed_end(joined.record(joined.seat((0, 0)).0), 99), None);
}
