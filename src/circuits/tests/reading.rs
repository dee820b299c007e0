//! Lists as people keep them: own words, names that spreadsheets change, case, headers in two rows.

use crate::base::Problem;
use crate::base::{Origin, Stated};
use crate::circuits::{Circuits, JobLists, List, ListSettings, OwnWords, Supply, read};

fn list(name: &str, text: &str) -> List {
    List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
}

fn told(problems: &[Problem]) -> String {
    let line = |problem: &Problem| {
        let origin = problem.origin.as_ref().map(ToString::to_string).unwrap_or_default();
        let severity = format!("{:?}", problem.severity).to_lowercase();
        format!("{origin}: {severity}[{}]: {}", problem.id, problem.message)
    };
    problems.iter().filter(|problem| problem.id != "one-ended-circuit").map(line).collect::<Vec<_>>().join("\n")
}

/// Places, colours, actions and supplies of all ends.
fn ends(circuits: &Circuits) -> String {
    let mut lines = Vec::new();
    for circuit in circuits.all() {
        for end in circuit.ends() {
            let colour = end.colour.as_ref().map(ToString::to_string).unwrap_or_default();
            let supply = circuit.supply.map(Supply::word).unwrap_or_default();
            let line = format!("{} {} {colour} {} {supply}", end.place, circuit.id(), end.action);
            lines.push(line.split_whitespace().collect::<Vec<_>>().join(" "));
        }
    }
    lines.join("\n")
}

fn own(words: &[(&str, &str, &str)]) -> OwnWords {
    let source =
        crate::base::Source::new("job.toml", words.iter().map(|w| format!("{} = {}\n", w.1, w.2)).collect::<String>());
    let mut own = OwnWords::default();
    let mut at = 0;
    for (column, word, meaning) in words {
        let stated = Stated::written((*word).to_owned(), Origin::new(&source, at..at + word.len()));
        own.add(column, &stated, meaning).expect("a meaning");
        at += word.len() + meaning.len() + 4;
    }
    own
}

#[test]
fn own_words_go_before_those_everybody_knows() {
    let mut chart = list(
        "ecu.csv",
        "connector,cavity,circuit,colour,supply,insulation,tag,action\n\
         J1,1,101,BL/GR,UB,PVC-X,S,del\nJ1,2,102,RD,-,,F+S,out\nJ1,3,103,SB,?,,,\nJ1,4,104,GR,,,,umst. J4/7\n",
    );
    let words = [
        ("action", "del", "remove"),
        ("action", "out", "keep"),
        ("action", "umst", "move"),
        ("action", "", "reserve"),
        ("supply", "UB", "30"),
        ("supply", "?", "nothing"),
        ("colour", "BL", "BU"),
        ("colour", "GR", "grey"),
        ("insulation", "pvc-x", "TXL"),
        ("tag", "S", "strip"),
        ("tag", "F", "tie-on"),
    ];
    chart.settings.words = own(&words);
    chart.settings.action = chart.settings.words.blank_action();
    let checked = read(&JobLists::of(&[chart]));
    assert_eq!(
        ends(&checked.value),
        "J1/1 101 BU/GY remove constant\nJ1/2 102 RD keep\nJ1/3 103 SB reserve\nJ1/4 104 GY move to J4/7"
    );
    let end = &checked.value.all()[0].ends()[0];
    assert_eq!(end.insulation, Some(crate::base::Insulation::ThinWall));
    assert_eq!(end.tag.final_tag, Some(crate::base::TagKind::Strip));
    assert_eq!(end.colour.as_ref().and_then(|colour| colour.own_letters()), Some("BL/GR"));
    assert_eq!(
        told(&checked.problems),
        "ecu.csv:4:10: warning[unknown-colour]: `SB` is no colour of IEC 60757: it is printed as typed"
    );
}

#[test]
fn a_meaning_that_is_none_is_told_with_the_nearest() {
    let mut own = OwnWords::default();
    let mut add = |column, word: &str, meaning| own.add(column, &Stated::default(word.to_owned()), meaning);
    assert_eq!(add("action", "del", "remov"), Err("did you mean `remove`?".to_owned()));
    assert_eq!(add("supply", "UB", "plus"), Err("choose from `constant`, `switched`, `start`, `ground`, `lighting`, `signal`, `data`, `restraint`, `high-voltage`, `nothing`".to_owned()));
    assert_eq!(add("colour", "BL", "BLU"), Err("write a colour of IEC 60757: `BU`, `BU/WH`, `blue`".to_owned()));
    assert_eq!(add("kind", "Dose", "fuse-box"), Err("did you mean `fuse box`?".to_owned()));
    assert!(add("colour", "", "BU").is_err(), "blank cells have no colour");
    assert_eq!(add("action", "Del", "remove"), Ok(()));
    assert!(add("action", "del.", "keep").is_err(), "the same word");
}

#[test]
fn a_words_of_a_list_go_before_those_of_the_job() {
    let job = own(&[("colour", "B", "BK"), ("colour", "GR", "GY"), ("action", "x", "cut")]);
    let lists: Vec<List> = [("one.csv", own(&[("colour", "b", "BU")]).before(&job)), ("two.csv", job.clone())]
        .into_iter()
        .map(|(name, words)| {
            let mut list = list(name, "connector,cavity,colour,action\nJ1,1,B/GR,x\n");
            list.settings.words = words;
            list
        })
        .collect();
    let checked = read(&JobLists::of(&lists));
    assert_eq!(ends(&checked.value), "J1/1 J1/1 BU/GY cut");
    assert_eq!(
        told(&checked.problems),
        "two.csv:2:6: warning[charts-disagree]: `J1/1` has colour `B/GR` here and `B/GR` elsewhere"
    );
}

/// Letters of which nobody has said what they mean cannot be compared; told once, not for every row.
#[test]
fn letters_of_two_makers() {
    let one = "connector,cavity,colour\nJ1,1,BL\nJ1,2,BL\nJ1,3,RD\nJ1,4,SB/W\n";
    let two = "connector,cavity,colour\nJ1,1,L\nJ1,2,L\nJ1,3,BU\nJ1,4,SB/W\n";
    let problems = read(&JobLists::of(&[list("one.csv", one), list("two.csv", two)])).problems;
    let problems: Vec<Problem> = problems.into_iter().filter(|problem| problem.id == "charts-disagree").collect();
    assert_eq!(
        told(&problems),
        "two.csv:2:6: warning[charts-disagree]: colour `L` here is `BL` elsewhere for the same end (2 such ends): whether they agree is not known\n\
         two.csv:4:6: warning[charts-disagree]: `J1/3` has colour `BU` here and `RD` elsewhere"
    );
}

#[test]
fn a_mapping_that_blurs_two_colours_is_told() {
    let text = "connector,cavity,colour\nJ1,1,GR/BL\nJ1,2,GY\nJ1,3,SB\nJ1,4,blue\nJ1,5,BU\n";
    let other = "connector,cavity,colour\nJ2,1,GY\nJ2,2,GR\n";
    let words = own(&[("colour", "GR", "GY"), ("colour", "BL", "BU"), ("colour", "SB", "BU")]);
    let mut lists = [list("one.csv", text), list("two.csv", other)];
    lists[0].settings.words = words.clone();
    let checked = read(&JobLists::of(&lists));
    assert_eq!(
        told(&checked.problems),
        "two.csv:3:6: warning[unknown-colour]: `GR` is no colour of IEC 60757: it is printed as typed\n\
         job.toml:1:1: warning[colours-blurred]: `GR` and `GY` both become grey, but one list has both\n\
         job.toml:2:1: warning[colours-blurred]: `BL` and `BU` both become blue, but one list has both\n\
         job.toml:2:1: warning[colours-blurred]: `BL` and `SB` both become blue, but one list has both"
    );
    let places: Vec<String> = checked.problems[3].related.iter().map(|related| related.origin.to_string()).collect();
    assert_eq!(places, ["one.csv:2:6", "one.csv:4:6", "job.toml:3:1"]);
    // Two lists may well have different letters for one colour.
    let mut lists =
        [list("one.csv", "connector,cavity,colour\nJ1,1,GR\n"), list("two.csv", "connector,cavity,colour\nJ2,1,GY\n")];
    lists.iter_mut().for_each(|list| list.settings.words = words.clone());
    assert_eq!(told(&read(&JobLists::of(&lists)).problems), "");
}

#[test]
fn cells_that_a_spreadsheet_changed() {
    let chart = "connector,cavity,circuit,function,size,length\n\
                 J1,1-Mar,1,,,\n1. Mai,2,2,,,\nJ1,3.00E+05,3,,,\nJ1,3E5,4,,,\nJ1,4E5,1E3,#NAME?,,\nJ1,5,01.03.2024,,,\n\
                 J1,6,6,,01. Mai,\nJ1,7,7,,1-Apr,Jan 75\nJ1,8,8,,Apr-00,\nJ1,\"MAR1\",9,,,\nJ1,1E,10,,,\n";
    let wires = "circuit,from,to\n22,03.02.2024,J3/1\n";
    let checked = read(&JobLists::of(&[list("ecu.csv", chart), list("wires.csv", wires)]));
    insta::assert_snapshot!(told(&checked.problems), @r#"
    ecu.csv:2:4: error[changed-by-spreadsheet]: a spreadsheet has made the date `1-Mar` of what was typed: it may have been `1-3`, `1/3`, `3/1` or `1.3`
    ecu.csv:3:1: error[changed-by-spreadsheet]: a spreadsheet has made the date `1. Mai` of what was typed: it may have been `1-5`, `1/5`, `5/1` or `1.5`
    ecu.csv:4:4: error[changed-by-spreadsheet]: a spreadsheet has made the number `3.00E+05` of what was typed: it may have been `3E5`
    ecu.csv:5:4: warning[changed-by-spreadsheet]: `3E5` is read as it stands, but a spreadsheet takes it for a number
    ecu.csv:6:8: warning[changed-by-spreadsheet]: `1E3` is read as it stands, but a spreadsheet takes it for a number
    ecu.csv:6:12: warning[changed-by-spreadsheet]: `#NAME?` is what a spreadsheet shows where it cannot calculate or has no room
    ecu.csv:7:6: warning[changed-by-spreadsheet]: a spreadsheet has made the date `01.03.2024` of what was typed: it may have been `1-3`, `1/3`, `3/1` or `1.3`
    ecu.csv:8:9: error[changed-by-spreadsheet]: a spreadsheet has made the date `01. Mai` of what was typed: it may have been `1.5`
    ecu.csv:9:9: error[changed-by-spreadsheet]: a spreadsheet has made the date `1-Apr` of what was typed: it may have been `1.4`
    ecu.csv:9:15: error[changed-by-spreadsheet]: a spreadsheet has made the date `Jan 75` of what was typed: it may have been `1.75`
    ecu.csv:10:9: error[changed-by-spreadsheet]: a spreadsheet has made the date `Apr-00` of what was typed: it may have been `4/0` or `4.00`
    wires.csv:2:4: error[changed-by-spreadsheet]: a spreadsheet has made the date `03.02.2024` of what was typed: it may have been `3-2`, `3/2`, `2/3` or `3.2`
    "#);
    let places: Vec<String> = checked
        .value
        .working_order()
        .iter()
        .map(|(at, end)| checked.value.all()[*at].ends()[*end].place.to_string())
        .collect();
    assert_eq!(
        places,
        ["J1/1E", "J1/3E5", "J1/4E5", "J1/5", "J1/MAR1"],
        "rows with warnings are read, rows with errors are not"
    );
}

#[test]
fn case_of_cavities() {
    let chart =
        "connector,cavity,circuit,action\nX1,a,1,\nX1,A,2,\nX1,b,3,\nX2,c,4,\nX3,d,5,\nX1,01,6,\nX1,1,7,move to X2/c\n";
    let wires = "circuit,from connector,from cavity,to connector,to cavity\n3,X1,B,X2,C\n,X3,D,X4,e\n4,X2,C,X4,f\n";
    let lists = [list("ecu.csv", chart), list("wires.csv", wires)];
    let read_with = |text: &str| {
        let connectors = list("connectors.csv", text);
        read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&lists) })
    };
    let checked = read_with("connector,case\nX2,same\nX3,matters\n");
    assert_eq!(
        told(&checked.problems).lines().next().unwrap_or_default(),
        "ecu.csv:3:4: warning[differ-by-case]: cavities of `X1` differ in case only and count as two: `a` and `A`, `b` and `B`"
    );
    assert_eq!(
        checked
            .problems
            .iter()
            .find(|problem| problem.id == "differ-by-case")
            .and_then(|problem| problem.remedy.as_deref()),
        Some("in connectors.csv give `X1` the `case` `matters` where they are two, `same` where they are one")
    );
    let shown = ends(&checked.value);
    for line in
        ["X1/a 1", "X1/A 2", "X1/b 3", "X1/B 3", "X2/c 3", "X2/c 4", "X3/d 5", "X3/D X3/D", "X1/01 6", "move to X2/c"]
    {
        assert!(shown.contains(line), "{line}:\n{shown}");
    }
    assert!(!shown.contains("X2/C"), "{shown}");
    let checked = read_with("connector,case\nX1,same\nX3,zählt\n");
    let shown = ends(&checked.value);
    assert!(shown.contains("X1/a 2") && shown.contains("X2/c 4") && shown.contains("X2/C 3"), "{shown}");
    let checked = read_with("connector,Groß-/Kleinschreibung\nX1,mattters\n");
    assert!(told(&checked.problems).contains("error[unknown-case]: `mattters` does not say what case means"));
}

/// Each list with what it is understood as, and the problems.
fn understood(text: &str) -> String {
    let checked = read(&JobLists::of(&[list("list.csv", text)]));
    let mut lines = vec![ends(&checked.value)];
    lines.extend(
        checked.value.all().iter().flat_map(|circuit| circuit.ends().iter().map(|end| format!("at {}", end.origin))),
    );
    lines.push(told(&checked.problems));
    lines.retain(|line| !line.is_empty());
    lines.join("\n")
}

#[test]
fn headers_in_two_rows() {
    // Merged cells of a spreadsheet, exported: a value followed by blanks.
    let wires = "Wires of the engine,,,,,,,\nWire,,From,,To,,Wire,\nno.,colour,connector,cavity,connector,cavity,length,note\n\
                 E1,RD,J1,1,J2,\"2\",120,\n";
    let read = "J1/1 E1 RD undecided\nJ2/2 E1 RD undecided\nat list.csv:4:10\nat list.csv:4:15";
    assert_eq!(understood(wires), read);
    let german = "Von;;Nach;;;\nStecker;Kammer;Stecker;Kammer;Leitung;Maßnahme\nJ1;1;J2;2;E1;schneiden\n";
    assert_eq!(understood(german), "J1/1 E1 cut\nJ2/2 E1 cut\nat list.csv:3:4\nat list.csv:3:9");
    // Each side has an action of its own where both sides name one.
    let both = "From,,,To,,\nplug,pin,action,plug,pin,action\nJ1,1,cut,J2,2,keep\n";
    assert_eq!(understood(both), "J1/1 J1/1 cut\nJ2/2 J1/1 keep\nat list.csv:3:4\nat list.csv:3:13");
    // Upper cells over blanks are headers of their own, units may stand below them.
    let units = "Connector,Cavity,Colour,Length,Size\n,,,[cm],[mm²]\nJ1,1,RD,12,16\n";
    assert_eq!(understood(units), "J1/1 J1/1 RD undecided\nat list.csv:3:4");
    // A title is no header, and neither is the first row of data.
    for text in ["Connector J1,,\nconnector,cavity,colour\nJ1,1,RD\n", "connector,cavity,colour\nA,1,RD\nJ1,1,RD\n"] {
        assert!(understood(text).contains("J1/1 J1/1 RD undecided"), "{text}");
    }
}

#[test]
fn messages_of_headers_in_two_rows_point_at_the_lower_one() {
    let text = "From,,To,,Torque\nconnector,cavity,connector,cavity,of the screw\nJ1,1,J2,2,x\n";
    assert_eq!(
        understood(text),
        "J1/1 J1/1 undecided\nJ2/2 J1/1 undecided\nat list.csv:3:4\nat list.csv:3:9\n\
         list.csv:2:35: warning[unused-column]: column `Torque of the screw` is not read"
    );
}

/// A chart that names connector and cavity of the other end is a wire list.
#[test]
fn charts_that_lead_on() {
    let text = "Connector,Pin,Colour,Destination connector,Destination pin\nJ1,1,RD,J2,7\nJ1,2,BK,,\n";
    assert_eq!(
        understood(text),
        "J1/1 J1/1 RD undecided\nJ2/7 J1/1 RD undecided\nJ1/2 J1/2 BK undecided\nat list.csv:2:4\nat list.csv:2:12\nat list.csv:3:4"
    );
    // Words of where a wire goes are no place.
    assert_eq!(
        understood("Stecker,Pin,Farbe,Ziel\nJ1,1,RD,Kraftstoffpumpe\n"),
        "J1/1 J1/1 RD undecided\nat list.csv:2:4\n\
         list.csv:1:19: warning[unused-column]: column `Ziel` is not read: this list has one row per cavity, and no columns for where a wire begins and where it ends"
    );
}

#[test]
fn what_holds_for_a_whole_list() {
    let mut chart = list(
        "ecu.csv",
        "connector,cavity,circuit,supply,action,branch\nJ1,1,1,,,\nJ1,2,2,signal,keep,HELM\nJ2,3,3,,,\n",
    );
    chart.settings.branch = Some("ENGINE".to_owned());
    chart.settings.action = Some(crate::circuits::Action::Remove);
    chart.settings.supply = Some(Supply::Ground);
    let connectors = list("connectors.csv", "connector,branch,action\nJ2,AFT,reserve\n");
    let checked = read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&[chart]) });
    assert_eq!(ends(&checked.value), "J1/1 1 remove ground\nJ1/2 2 keep signal\nJ2/3 3 reserve ground");
    let branches: Vec<_> =
        checked.value.all().iter().map(|circuit| circuit.ends()[0].branch.clone().unwrap_or_default()).collect();
    assert_eq!(branches, ["ENGINE", "HELM", "AFT"], "the row, then connectors.csv, then the list");
}

#[test]
fn zeros_that_a_spreadsheet_dropped() {
    let chart = "connector,cavity,circuit\nJ1,01,1\nJ1,02,2\nJ2,1,3\nJ3,0,4\nJ3,00,5\nJ4,010,6\n";
    let wires = "circuit,from,from pin,to,to pin\n1,J1,1,J2,01\n2,J1,02,J4,10\n";
    let problems = read(&JobLists::of(&[list("ecu.csv", chart), list("wires.csv", wires)])).problems;
    assert_eq!(
        told(&problems),
        "wires.csv:2:6: warning[differ-by-zeros]: cavities of `J1` differ in leading zeros only and count as two: `01` and `1`\n\
         wires.csv:2:11: warning[differ-by-zeros]: cavities of `J2` differ in leading zeros only and count as two: `1` and `01`\n\
         wires.csv:3:12: warning[differ-by-zeros]: cavities of `J4` differ in leading zeros only and count as two: `010` and `10`"
    );
}

/// Lists made for printing: the header again on every page, the connector in the first of its rows only.
#[test]
fn lists_made_for_printing() {
    let text = "connector,cavity,colour\nJ1,1,RD\n,2,BK\n\nconnector,cavity,colour\n,3,BU\nJ2,1,WH\n,2,YE\n";
    let mut printed = list("list.csv", text);
    assert!(told(&read(&JobLists::of(std::slice::from_ref(&printed))).problems).contains("error[missing-place]"));
    printed.settings.connector_above = true;
    let checked = read(&JobLists::of(&[printed]));
    assert_eq!(told(&checked.problems), "");
    assert_eq!(
        ends(&checked.value),
        "J1/1 J1/1 RD undecided\nJ1/2 J1/2 BK undecided\nJ1/3 J1/3 BU undecided\n\
         J2/1 J2/1 WH undecided\nJ2/2 J2/2 YE undecided"
    );
}
