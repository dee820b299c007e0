//! Charts are read back: what they say is what is built, or it is told.

use proptest::prelude::*;

use super::tests::{Bench, any_job, noted};
use super::*;
use crate::circuits::{JobLists, List, ListSettings, read};

/// What a person would read from the files: all lists but connectors.csv, which describes.
fn read_files(charts: &Charts) -> Circuits {
    let (mut lists, mut connectors) = (Vec::new(), None);
    for file in &charts.files {
        let list = List { name: file.name.clone(), bytes: file.bytes.clone(), settings: ListSettings::default() };
        if file.name == "connectors.csv" { connectors = Some(list) } else { lists.push(list) }
    }
    read(&JobLists { connectors: connectors.as_ref(), ..JobLists::of(&lists) }).value
}

/// All that is known of circuits, without the rows that say it and who decided.
fn known(circuits: &Circuits) -> Vec<String> {
    let mut known = Vec::new();
    for circuit in circuits.all() {
        known.push(format!("{} {:?} {:?} {:?}", circuit.id(), circuit.function, circuit.supply, circuit.fuse));
        for (at, end) in circuit.ends().iter().enumerate() {
            let colour = end.colour.as_ref().map(ToString::to_string);
            let size = end.conductor.as_ref().map(|conductor| conductor.size());
            let measures = (end.diameter, end.slides_over, end.length, end.extend_by);
            let words = (&end.branch, &end.partner, &end.note, &end.terminal);
            known.push(format!(
                "  {} {} {colour:?} {size:?} {:?} {measures:?} {} {:?} {words:?} {:?}",
                end.place,
                end.ordinal,
                end.insulation,
                end.action,
                end.tag,
                circuit.far_end(at)
            ));
        }
    }
    known
}

fn text(file: &ChartFile) -> &str {
    std::str::from_utf8(&file.bytes).expect("UTF-8").strip_prefix('\u{feff}').expect("a byte order mark")
}

#[test]
fn charts_have_the_columns_that_are_in_use() {
    let list = "circuit,connector,cavity,function,colour,size,supply,fuse,action,tag,length,diameter,with,note\n\
                W10,J1,10,sender,BN/WH,0.75,signal,,cut,,1.2 m,2.4,W9,\n\
                W9,J1,9,=sender-,BN,18 AWG,30,F1 15 A,keep,\"tie-on, strip\",1234 mm,,,\"two, words\"\n\
                W9,G1,,,BN,,,,,,,,,\n";
    let built = Bench::of(list, "connector,kind,short name,action\nG1,stud,ground,\nJ1,plug,engine,cut\n").built();
    let charts = charts(&built.circuits);
    let names: Vec<(&str, usize)> = charts.files.iter().map(|file| (file.name.as_str(), file.rows)).collect();
    assert_eq!(names, [("G1.csv", 1), ("J1.csv", 2), ("connectors.csv", 2)]);
    assert_eq!(
        text(&charts.files[1]),
        "connector,cavity,circuit,function,colour,size,supply,fuse,action,tag,length,diameter,with,note\r\n\
         J1,9,W9,'=sender-,BN,18 AWG,constant,F1 15 A,keep,\"tie-on, strip\",1234 mm,,,\"two, words\"\r\n\
         J1,10,W10,sender,BN/WH,0.75 mm²,signal,,cut,,1200 mm,2.4 mm,W9,\r\n"
    );
    assert_eq!(
        text(&charts.files[0]),
        "connector,cavity,circuit,function,colour,supply,fuse\r\nG1,,W9,'=sender-,BN,constant,F1 15 A\r\n"
    );
    assert_eq!(text(&charts.files[2]), "connector,kind,short name\r\nG1,stud,ground\r\nJ1,plug,engine\r\n");
    assert_eq!(charts.untold, [""; 0]);
    assert_eq!(known(&read_files(&charts)), known(&built.circuits));
}

#[test]
fn wires_that_charts_do_not_tell_stand_in_a_list() {
    // A splice with three wires, and two wires side by side from a cavity to another.
    let list = "circuit,from connector,from cavity,to connector,to cavity,colour\nW1,J1,1,SP1,,BN\nW1,J1,2,SP1,,BN\n\
                W1,SP1,,J2,1,BN\nW2,J1,5,J2,5,RD\nW2,J1,5,J2,6,GN\nW3,J1,7,J2,7,BU\n";
    let built = Bench::of(list, "connector,kind\nSP1,splice\n").built();
    let charts = charts(&built.circuits);
    assert_eq!(charts.untold, [""; 0]);
    assert_eq!(known(&read_files(&charts)), known(&built.circuits));
    let wires = charts.files.iter().find(|file| file.name == "wires.csv").expect("is there");
    assert!(text(wires).contains("W1,J1,1,SP1,\r\n") && !text(wires).contains("W3"), "{}", text(wires));
}

#[test]
fn what_no_list_can_say_is_told() {
    // Two legs of a splice without name are left of three: a chart of two ends is one wire.
    let list = "circuit,connector,cavity,action\nW1,J1,1,keep\nW1,J2,1,keep\nW1,J3,1,remove\n";
    let built = Bench::of(list, "").note("J3/1", "done pulled").note("J3/1", "done untagged").built();
    let charts = charts(&built.circuits);
    assert_eq!(
        charts.untold,
        [
            "other end of `J1/1` (circuit `W1`): the charts say `J2/1` instead of `a splice without name`",
            "other end of `J2/1` (circuit `W1`): the charts say `J1/1` instead of `a splice without name`",
        ]
    );
}

#[test]
fn file_names_are_those_of_connectors_as_far_as_disks_allow() {
    let list = "connector,cavity,colour\nJ1,1,BN\nj1,1,BN\nX/3,1,BN\nX_3,1,BN\nwires,1,BN\ncon,1,BN\nCOM1,1,BN\nMotor 3ü,1,BN\n";
    let built = Bench::of(list, "").built();
    let names: Vec<String> = charts(&built.circuits).files.into_iter().map(|file| file.name).collect();
    assert_eq!(
        names,
        ["COM1_.csv", "con_.csv", "J1.csv", "j1-2.csv", "Motor 3ü.csv", "wires_.csv", "X/3", "X_3"].map(|name| {
            match name {
                "X/3" => "X_3.csv",
                "X_3" => "X_3-2.csv",
                name => name,
            }
        })
    );
}

#[test]
fn free_ends_and_ends_somewhere_have_charts_of_their_own() {
    let list =
        "circuit,connector,cavity,colour,action\nW1,J1,1,BN,cut\nW1,J2,1,BN,keep\nW2,J1,2,RD,move\nW2,J2,2,RD,keep\n";
    let built = Bench::of(list, "").note("J1/1", "done cut").note("J1/2", "done moved").built();
    let charts = charts(&built.circuits);
    assert_eq!(charts.untold, [""; 0]);
    assert_eq!(text(&charts.files[0]), "connector,cavity,circuit,colour,action\r\nFREE,FQGB A,W1,BN,keep\r\n");
    assert_eq!(charts.files[2].name, "SOMEWHERE.csv");
    assert_eq!(known(&read_files(&charts)), known(&built.circuits));
}

/// Rows with every column, some as wires.
fn any_rows() -> impl Strategy<Value = String> {
    let cell = |values: &'static [&'static str]| prop::sample::select(values);
    let place = (cell(&["J1", "J2", "J3", "-X4", "G1"]), cell(&["1", "2", "01", "A", "+"]));
    let wire = (
        cell(&["W1", "W2", "W3", "=W4", "", ""]),
        place.clone(),
        prop::option::of(place),
        cell(&["BN", "brown/white", "L/R", "", "GNYE"]),
        cell(&["0.75", "1,5 mm2", "AWG 18", "2/0", ""]),
        cell(&["thin-wall", "boat cable", ""]),
    );
    let facts = (
        cell(&["sender", "+12 V", "@ the helm; =1", "it's", ""]),
        cell(&["30", "signal", "ground", ""]),
        cell(&["15", "F1 7,5 A", "-", ""]),
        cell(&["keep", "cut", "move to J1/2", "move", "?", ""]),
        cell(&["flag, sleeve", "strip", ""]),
        cell(&["1.2345 mm", "47 in", "1,234.5", "6' 3\"", ""]),
        cell(&["2.125", "0.095 in", ""]),
        cell(&["ENG", "-LOOM", ""]),
        cell(&["W9", "", "\"x, \"\"y\"\"\""]),
    );
    prop::collection::vec((wire, facts), 1..14).prop_map(|rows| {
        let mut text =
            "circuit,from connector,from cavity,to connector,to cavity,colour,size,insulation,function,supply,\
                        fuse,action,tag,length,slides over,branch,with,note\n"
                .to_owned();
        for ((circuit, from, to, colour, size, insulation), facts) in rows {
            let cavity = |(connector, cavity): (&'static str, &'static str)| {
                (connector, if connector == "G1" { "" } else { cavity })
            };
            let ((from, from_cavity), (to, to_cavity)) = (cavity(from), to.map_or(("", ""), cavity));
            let (function, supply, fuse, action, tag, length, over, branch, note) = facts;
            let quoted = |cell: &str| format!("\"{}\"", cell.replace('"', "\"\""));
            text += &[
                circuit,
                from,
                from_cavity,
                to,
                to_cavity,
                colour,
                &quoted(size),
                insulation,
                function,
                supply,
                &quoted(fuse),
                action,
                &quoted(tag),
                &quoted(length),
                &quoted(over),
                branch,
                circuit,
                note,
            ]
            .join(",");
            text.push('\n');
        }
        text
    })
}

#[test]
fn faces_of_connectors_are_written_in_words_that_are_understood() {
    let connectors = "connector,kind,short name,rows,columns,cavities,numbering,latch,view,stagger,missing,large,mates,case\n\
        J1,plug,ECU,4,15,,by rows,top,,,,,,\nJ2,plug,,3,8 7 8,,\"rows lettered, numbers run on, without I and O, from 0\",left,\
        wire side,right,H1 A2,\"B1, B3\",,matters\nX3P,inline,,,,12,lettered,none,,no,,,X3S,same\nX3S,inline,,,,,,,,,,,,\n\
        R1,relay,,,6 12,,\"rings, counterclockwise, from inside\",,,left,,,,\nJ4,plug,,2,6,,from top left,,,,,,,\n\
        J5,plug,,2,6,,\"by columns back and forth from bottom right, all letters\",right,,,,,,\n\
        J6,plug,,2,6,,\"columns lettered, from top right, without I O Q, from 1\",bottom,,,,,,\n\
        J7,plug,,2,6,,\"numbered, from bottom left, without I\",,,,,,,\nF1,fuse box,,,,,,,,,,,,\n";
    let built = Bench::of("circuit,connector,cavity\nW1,J1,1\n", connectors).built();
    assert_eq!(built.circuits.connectors().count(), 10);
    let charts = charts(&built.circuits);
    assert_eq!(charts.untold, [""; 0]);
    let back = read_files(&charts);
    for connector in built.circuits.connectors() {
        let read = back.connector(&connector.id).expect("is there");
        assert_eq!(
            (&read.face, read.kind, &read.mates, read.case),
            (&connector.face, connector.kind, &connector.mates, connector.case)
        );
    }
}

proptest! {
    #[test]
    fn what_charts_say_is_what_is_built_or_it_is_told((text, notes) in any_job()) {
        let built = noted(&text, &notes).built();
        let charts = charts(&built.circuits);
        if charts.untold.is_empty() {
            prop_assert_eq!(known(&read_files(&charts)), known(&built.circuits));
        }
    }

    #[test]
    fn every_column_survives(text in any_rows()) {
        let bench = Bench::of(&text, "connector,kind\nG1,stud\n");
        let built = bench.built();
        let charts = charts(&built.circuits);
        if charts.untold.is_empty() {
            prop_assert_eq!(known(&read_files(&charts)), known(&built.circuits));
        } else {
            // Wires that cross in one cavity, and a formula behind another separator.
            let is_known = |untold: &String| untold.contains("other end") || untold.starts_with("function");
            prop_assert!(charts.untold.iter().any(is_known), "{:?}", charts.untold);
        }
    }
}
