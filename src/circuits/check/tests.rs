//! Each check through lists given as text: what it tells, at which cells, and what it leaves alone.

use proptest::prelude::*;

use crate::base::Checked;
use crate::circuits::rating::{Protection, Rating};
use crate::circuits::{Circuits, JobLists, List, ListSettings, fuses, read};

fn list(name: &str, text: &str) -> List {
    List { name: name.to_owned(), bytes: text.as_bytes().to_vec(), settings: ListSettings::default() }
}

/// What is told under an id: `place message [other places]`, in the order of the lists.
fn told_of(id: &str, lists: &[(&str, &str)], connectors: Option<&str>) -> Vec<String> {
    let lists: Vec<List> = lists.iter().map(|(name, text)| list(name, text)).collect();
    let connectors = connectors.map(|text| list("connectors.csv", text));
    let read = read(&JobLists { connectors: connectors.as_ref(), ..JobLists::of(&lists) });
    let errors: Vec<&str> =
        read.problems.iter().filter(|problem| problem.severity == crate::base::Severity::Error).map(|p| p.id).collect();
    assert_eq!(errors, Vec::<&str>::new(), "the lists of a check have no errors");
    let of_kind = read.problems.iter().filter(|problem| problem.id == id);
    of_kind
        .map(|problem| {
            assert!(problem.remedy.is_some(), "{id} has a remedy");
            let at = problem.origin.as_ref().expect("a check names its cell");
            let others: Vec<String> = problem.related.iter().map(|related| related.origin.to_string()).collect();
            let others = if others.is_empty() { String::new() } else { format!(" [{}]", others.join(" ")) };
            format!("{at} {}{others}", problem.message)
        })
        .collect()
}

fn of_chart(id: &str, chart: &str) -> Vec<String> {
    told_of(id, &[("a.csv", chart)], None)
}

#[test]
fn two_circuits_in_one_cavity() {
    let chart = "connector,cavity,circuit\nJ1,1,E1\nJ1,1,E2\nJ1,2,E1\nJ1,2,E1\n";
    let told = of_chart("two-circuits-in-one-cavity", chart);
    assert_eq!(told, ["a.csv:3:4 `J1/1` holds circuits `E1` and `E2` [a.csv:2:4]"]);
}

#[test]
fn charts_that_disagree_on_the_function() {
    let charts = |other: &str| {
        let one = "connector,cavity,circuit,function\nJ1,1,E1,rail pressure signal\n";
        let two = format!("connector,cavity,circuit,function\nB1,2,E1,\"{other}\"\n");
        told_of("charts-disagree", &[("a.csv", one), ("b.csv", &two)], None)
    };
    assert_eq!(
        charts("fuel temperature"),
        [
            "b.csv:2:9 circuit `E1` has function `fuel temperature` here and `rail pressure signal` elsewhere [a.csv:2:9]"
        ]
    );
    for same in ["Signal, rail pressure", "rail pressure", "Rail press. signal", ""] {
        assert_eq!(charts(same), [""; 0], "{same}");
    }
}

/// Grounds, and wires without a circuit that meet at a stud, are many things at once.
#[test]
fn returns_may_each_say_whose_they_are() {
    let ground = "connector,cavity,circuit,function,supply\nP1,2,GND,pump return,ground\nL1,2,GND,lamp return,ground\n";
    assert_eq!(of_chart("charts-disagree", ground), [""; 0]);
    let wires =
        "function,from connector,from cavity,to connector,to cavity\npump return,G1,,P1,2\nlamp return,G1,,L1,2\n";
    let nameless = |chart: &str| {
        told_of("charts-disagree", &[("a.csv", wires), ("b.csv", chart)], Some("connector,kind\nG1,stud\n"))
    };
    assert_eq!(nameless("connector,cavity,function\nL1,2,lamp return\n"), [""; 0]);
}

#[test]
fn charts_that_disagree_on_the_length() {
    let charts = |one: &str, two: &str| {
        let one = format!("connector,cavity,circuit,length\nJ1,1,E1,{one}\n");
        told_of("charts-disagree", &[("a.csv", &one), ("b.csv", two)], None)
    };
    let of_one_end = "connector,cavity,circuit,length\nJ1,1,E1,1.4 m\n";
    let told = charts("680", of_one_end);
    assert_eq!(told, ["b.csv:2:9 `J1/1` has length `1400 mm` here and `680 mm` elsewhere [a.csv:2:9]"]);
    let of_far_end = "connector,cavity,circuit,length\nB1,2,E1,1400\n";
    assert_eq!(
        charts("680", of_far_end),
        ["a.csv:2:9 the wire from `J1/1` to `B1/2` has length `680 mm` here and `1400 mm` there [b.csv:2:9]"]
    );
    assert_eq!(charts("55.1 in", of_one_end), [""; 0], "inches are rounded");
    // Three ends are three wires.
    let three = "connector,cavity,circuit,length\nB1,2,E1,1400\nB2,2,E1,900\n";
    assert_eq!(charts("680", three), [""; 0]);
}

#[test]
fn cavities_outside_their_connector() {
    let connectors = "connector,kind,rows,columns,cavities,numbering\nJ1,plug,2,3,,\nH1,plug,2,3,,rows lettered\n\
                      R1,plug,,,4,\nK1,relay,1,5,,\nG1,stud,1,1,,\nQ1,plug,,,,\n";
    let chart = "connector,cavity,circuit,action\nJ1,7,E1,\nJ1,06,E2,\nJ1,B3,E3,\nJ1,+,E4,\nJ1,9,E5,\nH1,B3,E6,\nH1,C1,E7,\n\
                 H1,7,E8,\nR1,4,E9,\nR1,05,E10,\nK1,87,E11,\nQ1,99,E12,\nJ1,1,E13,move to R1/6\n";
    assert_eq!(
        told_of("cavity-outside-connector", &[("a.csv", chart)], Some(connectors)),
        [
            "a.csv:2:4 `J1/7` and `J1/9` lie outside `J1`, which has 2 x 3 = 6 cavities [connectors.csv:2:1 a.csv:6:4]",
            "a.csv:8:4 `H1/C1` lies outside `H1`, which has rows A to B of 3 [connectors.csv:3:1]",
            "a.csv:11:4 `R1/05` and `R1/6` lie outside `R1`, which has 4 cavities [connectors.csv:4:1 a.csv:14:4]",
        ]
    );
}

/// A face that meets another is its mirror image: 1 at the top left of one meets what is at the top right of the other.
#[test]
fn halves_that_cannot_mate_as_they_are_told() {
    let told = |one: &str, other: &str| {
        let connectors =
            format!("connector,kind,rows,columns,numbering,view,mates\nX3P,inline,{one},X3S\nX3S,inline,{other},X3P\n");
        told_of("halves-disagree", &[("a.csv", "connector,cavity\nX3P,1\nX3S,1\n")], Some(&connectors))
    };
    assert_eq!(
        told("2,9,by rows,", "2,9,by rows,"),
        ["connectors.csv:3:1 `X3P/1` would meet `X3S/9`, as the faces of the two halves are told [connectors.csv:2:1]"]
    );
    assert_eq!(
        told("2,9,by rows,", "3,6,by rows,wire side"),
        ["connectors.csv:3:1 `X3P` and `X3S` mate, but have different rows or columns [connectors.csv:2:1]"]
    );
    for other in ["2,9,by rows,wire side", "2,9,by rows from top right,", ",,,", "2,9,\"by rows, wire side\","] {
        assert_eq!(told("2,9,by rows,", other), [""; 0], "{other}");
    }
    assert_eq!(told("2,1,by rows,", "2,1,by rows,"), [""; 0], "one column is its own mirror image");
    assert_eq!(told("1,6,rings,", "1,6,rings counterclockwise,"), [""; 0]);
}

#[test]
fn designations_that_look_alike() {
    let one = "connector,cavity,circuit\nJ1,1,E14\nJ 2,1,E15\nB+,1,B+\n1-1,1,E16\n";
    let two = "connector,cavity,circuit\nj1,1,E-14\nJ2,1,e15\nB-,1,B-\n11,1,E17\nX1,1,e 14\n";
    assert_eq!(
        told_of("designations-look-alike", &[("a.csv", one), ("b.csv", two)], Some("connector\nX-1\n")),
        [
            "b.csv:2:1 connectors `J1` and `j1` differ only in case, spaces or punctuation [a.csv:2:1]",
            "b.csv:2:6 circuits `E14` and `E-14` differ only in case, spaces or punctuation [a.csv:2:6]",
            "b.csv:3:1 connectors `J 2` and `J2` differ only in case, spaces or punctuation [a.csv:3:1]",
            "b.csv:3:6 circuits `E15` and `e15` differ only in case, spaces or punctuation [a.csv:3:7]",
            "b.csv:6:6 circuits `E14` and `e 14` differ only in case, spaces or punctuation [a.csv:2:6]",
            "connectors.csv:2:1 connectors `X1` and `X-1` differ only in case, spaces or punctuation [b.csv:6:1]",
        ]
    );
    // Circuits named by their place repeat the connector's designation, and are not told for it.
    let nameless = "connector,cavity\nJ1,1\nj1,1\n";
    let told = of_chart("designations-look-alike", nameless);
    assert_eq!(told, ["a.csv:3:1 connectors `J1` and `j1` differ only in case, spaces or punctuation [a.csv:2:1]"]);
}

#[test]
fn wires_used_at_one_end_and_removed_at_the_other() {
    let chart = |here: &str, there: &str| {
        of_chart("far-end-removed", &format!("connector,cavity,circuit,action\nJ1,1,E1,{here}\nB1,2,E1,{there}\n"))
    };
    assert_eq!(
        chart("keep", "remove"),
        ["a.csv:2:4 `J1/1` is kept but `B1/2`, the other end of its wire, is removed [a.csv:3:4]"]
    );
    for action in ["cut", "move", "extend", "reserve", "add"] {
        assert_eq!(chart("remove", action).len(), 1, "{action}");
    }
    for (here, there) in [("remove", "remove"), ("", "remove"), ("keep", "cut")] {
        assert_eq!(chart(here, there), [""; 0], "{here} {there}");
    }
    // The whole connector goes.
    let told = told_of(
        "far-end-removed",
        &[("a.csv", "connector,cavity,circuit,action\nJ1,1,E1,keep\nB1,2,E1,\n")],
        Some("connector,action\nB1,remove\n"),
    );
    assert_eq!(told, ["a.csv:2:4 `J1/1` is kept but `B1/2`, the other end of its wire, is removed [a.csv:3:4]"]);
    // Round a splice that no list names it takes all others.
    let splice = |last: &str| {
        of_chart(
            "far-end-removed",
            &format!("connector,cavity,circuit,action\nJ1,1,E1,keep\nB1,2,E1,remove\nB2,1,E1,{last}\n"),
        )
    };
    assert_eq!(
        splice("remove"),
        ["a.csv:2:4 `J1/1` is kept but every other end of circuit `E1` is removed [a.csv:3:4]"]
    );
    assert_eq!(splice("keep"), [""; 0]);
}

#[test]
fn moves_that_collide() {
    let chart = "connector,cavity,circuit,action\nJ1,1,E1,move to J2/1\nJ2,1,E2,keep\nJ1,2,E3,move to J2/2\nJ2,2,E4,remove\n\
                 J1,3,E5,move to J2/3\nJ2,3,E6,move to J2/4\nJ1,4,E7,move to J2/5\nJ2,5,E7,keep\nJ1,5,E8,move to J2/6\n\
                 J1,6,E9,move to J2/6\nJ1,7,E10,move to J2/7\nJ2,7,E11,\nJ1,8,E12,move to G1\nG1,,E13,keep\n";
    let told = |id: &str| told_of(id, &[("a.csv", chart)], Some("connector,kind\nG1,stud\n"));
    assert_eq!(
        told("move-into-occupied-cavity"),
        [
            "a.csv:2:4 `E1` moves to `J2/1`, where circuit `E2` stays (keep) [a.csv:3:4]",
            "a.csv:12:4 `E10` moves to `J2/7`, where circuit `E11` stays (undecided) [a.csv:13:4]",
        ]
    );
    assert_eq!(
        told("two-moves-into-one-cavity"),
        ["a.csv:11:4 circuits `E8` and `E9` both move to `J2/6` [a.csv:10:4]"]
    );
    assert_eq!(told("move-to-unknown-connector"), [""; 0]);
}

#[test]
fn both_ends_of_a_wire_move_into_one_cavity() {
    let chart = "connector,cavity,circuit,action\nJ1,1,E1,move to J2/9\nJ3,1,E1,move to J2/9\nJ1,2,E2,move to J2/8\n\
                 J2,8,E2,keep\nJ1,3,E3,move to J2/7\nJ3,3,E3,move to J2/6\nJ1,4,E4,move to J2/5\nJ2,5,E4,remove\n\
                 J1,5,E5,move to J2/4\nJ1,6,E5,move to J2/4\nJ1,7,E5,keep\n";
    assert_eq!(
        of_chart("both-ends-into-one-cavity", chart),
        [
            "a.csv:2:4 `E1` moves to `J2/9`, where the other end of its wire moves too [a.csv:3:4]",
            "a.csv:4:4 `E2` moves to `J2/8`, where the other end of its wire is too [a.csv:5:4]",
        ]
    );
}

#[test]
fn connectors_that_no_list_has() {
    let told = |connectors: &str| {
        let chart = "connector,cavity,circuit,action\nJ1,1,E1,move to X7/1\nJ2,1,E1,keep\n";
        told_of("connector-in-no-list", &[("a.csv", chart)], Some(connectors))
    };
    // A new one that wires move to, the half of a pair that is gone, studs and splices are described by right.
    let by_right = "connector,kind,mates\nJ1,,X3P\nX7,,\nX3P,,\nG9,stud,\nSP4,splice,\n";
    assert_eq!(told(by_right), [""; 0]);
    assert_eq!(
        told("connector\nJ1\nJ22\n"),
        ["connectors.csv:3:1 no list has a wire in `J22`, which is described here"]
    );
    assert_eq!(
        told("connector\nJ22\nJ23\n"),
        ["connectors.csv:2:1 no list has a wire in `J22` and `J23`, which are described here [connectors.csv:3:1]"]
    );
}

#[test]
fn cells_that_name_several_cavities() {
    let told = |chart: &str| of_chart("several-cavities", &format!("connector,cavity,colour\n{chart}"));
    assert_eq!(
        told("J1,1,RD\nJ1,\"8, 9\",BK\nJ1,12-14,BU\n"),
        ["a.csv:3:4 `8, 9` and `12-14` of `J1` look like several cavities each, and count as one each [a.csv:4:4]"]
    );
    assert_eq!(told("J1,A1+A2,RD\n"), ["a.csv:2:4 `A1+A2` of `J1` looks like several cavities, and counts as one"]);
    // Where most cavities have such names, they are names.
    assert_eq!(told("J1,1-2,RD\nJ1,1-3,BK\nJ1,2-3,BU\nJ1,5,WH\n"), [""; 0]);
    for name in ["14", "B7", "a", "1.2", "14-12", "A-B", "12V-3", "+", "1/2", "2-"] {
        assert_eq!(told(&format!("J1,1,RD\nJ1,2,RD\nJ1,{name},BK\n")), [""; 0], "{name}");
    }
}

#[test]
fn moves_to_connectors_that_nobody_knows() {
    let chart = "connector,cavity,circuit,action\nJ1,1,E1,move to S90/1\nJ1,2,E2,move to S90/2\nJ1,3,E3,move to X7/1\n";
    let told = told_of("move-to-unknown-connector", &[("a.csv", chart)], Some("connector\nX7\n"));
    assert_eq!(told, ["a.csv:2:4 `E1` moves to `S90/1`, but no list knows a connector `S90`"]);

    let read =
        read(&JobLists::of(&[list("a.csv", "connector,cavity,circuit,action\nJ1,1,E1,move to 34\nJ1,2,E2,keep\n")]));
    let remedies: Vec<&str> = read.problems.iter().filter_map(|problem| problem.remedy.as_deref()).collect();
    let expected = "name the connector too: `move to J1/34`, or add `34` to connectors.csv if it is new";
    assert!(remedies.contains(&expected), "{remedies:?}");
}

#[test]
fn added_circuits_that_nobody_could_build() {
    let chart = "connector,cavity,circuit,supply,size,action\nJ1,1,E1,,,add\nJ1,2,E2,constant,,add\nJ1,3,E3,,0.75,add\n\
                 J1,4,E4,signal,,add\nB1,4,E4,,0.75,add\nJ1,5,E5,,,keep\n";
    assert_eq!(
        of_chart("added-circuit-incomplete", chart),
        [
            "a.csv:2:4 circuit `E1` gets a new wire at `J1/1` and has no supply and no conductor size",
            "a.csv:3:4 circuit `E2` gets a new wire at `J1/2` and has no conductor size",
            "a.csv:4:4 circuit `E3` gets a new wire at `J1/3` and has no supply",
        ]
    );
}

#[test]
fn connectors_that_are_left_empty() {
    let chart = "connector,cavity,circuit,action\nJ1,1,E1,remove\nJ1,2,E2,cut\nJ1,3,E3,move to J2/1\nJ2,2,E4,remove\n\
                 J3,1,E5,remove\nJ3,2,E6,\nJ4,1,E7,move\nJ5,1,E8,move to J5/2\nG1,,E9,remove\nJ6,1,E10,reserve\n";
    let told = told_of("connector-left-empty", &[("a.csv", chart)], Some("connector,kind\nG1,stud\n"));
    assert_eq!(told, ["a.csv:2:4 no wire stays in `J1`: 1 removed, 1 cut, 1 moved away"]);
}

#[test]
fn pairs_that_are_broken() {
    let chart = "connector,cavity,circuit,action,with\nJ1,1,E1,remove,E2\nJ1,2,E2,keep,E1\nJ1,3,E3,remove,E4\n\
                 J1,4,E4,remove,E3\nJ1,5,E5,remove,6\nJ1,6,E6,,J1/5\nJ1,7,E7,keep,\"E8, E9\"\nJ1,8,E8,keep,\nJ1,9,E9,keep,\n";
    assert_eq!(
        of_chart("pair-broken", chart),
        [
            "a.csv:2:4 `E1` is removed at `J1/1`, but its partner `E2` is not (keep) [a.csv:3:4]",
            "a.csv:6:4 `E5` is removed at `J1/5`, but its partner `E6` is not (undecided) [a.csv:7:4]",
        ]
    );
    assert_eq!(of_chart("unknown-partner", chart), [""; 0]);
    // Where the two share no connector, their ends elsewhere are looked at.
    let apart = "connector,cavity,circuit,action,with\nJ1,1,E1,keep,E2\nB1,2,E2,remove,\n";
    assert_eq!(of_chart("pair-broken", apart).len(), 1);
}

#[test]
fn partners_that_are_not_there() {
    let chart = "connector,cavity,circuit,with\nJ1,1,E1,E22\nJ1,2,E2,E-1\nJ1,3,E3,screen of cable 44\nJ1,4,E4,screen of cable 44\n";
    let told = of_chart("unknown-partner", chart);
    assert_eq!(
        told,
        [
            "a.csv:2:4 `E1` goes with `E22`, which is no circuit or place of the lists",
            "a.csv:3:4 `E2` goes with `E-1`, which is no circuit or place of the lists",
            "a.csv:4:4 `E3` goes with `screen of cable 44`, which is no circuit or place of the lists",
        ]
    );
}

#[test]
fn live_ends_without_a_cap() {
    let chart = "connector,cavity,circuit,supply,action,note\nJ1,1,E1,constant,cut,\nJ1,2,E2,30,reserve,for a clock\n\
                 J1,3,E3,constant,cut,capped\nJ1,4,E4,constant,reserve,mit Endkappe isoliert\nJ1,5,E5,switched,cut,\n\
                 J1,6,E6,constant,keep,\nJ1,7,E7,constant,extend,\nJ2,1,E8,constant,cut,capacitor\n";
    assert_eq!(
        of_chart("live-end-without-cap", chart),
        [
            "a.csv:2:4 2 constant-fed ends of `J1` come free without a word of a cap in the note: `J1/1` and `J1/2` [a.csv:3:4]",
            "a.csv:9:4 1 constant-fed end of `J2` comes free without a word of a cap in the note: `J2/1`",
        ]
    );
}

#[test]
fn work_on_restraint_and_high_voltage_circuits() {
    let chart = "connector,cavity,circuit,function,supply,action,note\nJ1,1,E1,igniter,restraint,remove,\nJ1,2,E2,Gurtstraffer +,,cut,\n\
                 J1,3,E3,igniter,restraint,keep,\nJ1,4,E4,pump,signal,move,in the HV cable\nJ1,5,E5,inverter,high-voltage,add,\n\
                 J1,6,E6,airbag,,reserve,\n";
    assert_eq!(
        of_chart("work-on-restraint", chart),
        [
            "a.csv:2:4 `E1` is a restraint circuit, and there is work on it: `remove J1/1`",
            "a.csv:3:4 `E2` is a restraint circuit by its words, and there is work on it: `cut J1/2`",
        ]
    );
    assert_eq!(
        of_chart("work-on-high-voltage", chart),
        [
            "a.csv:5:4 `E4` is a high-voltage circuit by its words, and there is work on it: `move J1/4`",
            "a.csv:6:4 `E5` is a high-voltage circuit, and there is work on it: `add J1/5`",
        ]
    );
}

#[test]
fn green_and_yellow_for_anything_but_protective_earth() {
    let chart = "connector,cavity,circuit,function,colour,supply\nJ1,1,E1,lamp,GNYE,signal\nJ1,2,E2,lamp,green/yellow,\n\
                 J1,3,E3,engine ground,GNYE,ground\nJ1,4,E4,Schutzleiter,GNYE,\nJ1,5,PE,,GNYE,\nJ1,6,E6,lamp,YE/GN,\n";
    assert_eq!(
        of_chart("green-and-yellow-misused", chart),
        [
            "a.csv:2:4 circuit `E1` is green-and-yellow at `J1/1`, and nothing says that it is protective earth",
            "a.csv:3:4 circuit `E2` is green-and-yellow at `J1/2`, and nothing says that it is protective earth",
        ]
    );
}

/// Fuses by a table; what is told of them comes after everything else, so that no table is needed to read lists.
fn told_of_fuses(chart: &str, rating: Rating) -> Vec<String> {
    let read = read(&JobLists::of(&[list("a.csv", chart)]));
    let problems = fuses(&read.value, rating);
    let told = problems.iter().map(|problem| {
        let at = problem.origin.as_ref().expect("a check names its cell");
        let others: String = problem.related.iter().map(|related| format!(" [{}]", related.origin)).collect();
        format!("{at} {} {}{others}", problem.id, problem.message)
    });
    told.collect()
}

/// 16 AWG of 105 °C bears 25 A, and 150 % of it is 37.5 A: 33 CFR 183.425 and 183.455.
#[test]
fn fuses_above_the_rating_of_their_conductor() {
    let chart = "connector,cavity,circuit,size,supply,fuse\nJ1,1,E1,16 AWG,constant,37.5 A\nJ1,2,E2,16 AWG,constant,F2 40 A\n\
                 J1,3,E3,10 AWG,switched,40 A\nB1,3,E3,16 AWG,switched,\nJ1,4,E4,18 AWG,start,100 A\n\
                 J1,5,E5,1.5 mm²,constant,60 A\nJ1,6,E6,20 AWG,constant,60 A\nJ1,7,E7,16 AWG,constant,F7\n";
    let rating = Rating::Cfr { insulation: 105, engine_space: false };
    assert_eq!(
        told_of_fuses(chart, rating),
        [
            "a.csv:3:25 fuse-above-rating fuse `F2 40 A` of circuit `E2` is above the 37.5 A that `16 AWG` at `J1/2` bears (33 CFR \
             183.425 Table 5, 105 °C) [a.csv:3:4]",
            "a.csv:4:25 fuse-above-rating fuse `40 A` of circuit `E3` is above the 37.5 A that `16 AWG` at `B1/3` bears (33 CFR \
             183.425 Table 5, 105 °C) [a.csv:5:4]",
            "a.csv:7:4 size-not-in-rating-table 33 CFR 183.425 Table 5, 105 °C has no `1.5 mm²` and `20 AWG`: 2 ends not \
             compared with a fuse",
        ]
    );
    let in_engine_space = told_of_fuses(chart, Rating::Cfr { insulation: 105, engine_space: true });
    assert!(in_engine_space[0].contains("fuse `37.5 A` of circuit `E1` is above the 31.875 A"), "{in_engine_space:?}");
    let by_ac = told_of_fuses(chart, Rating::Ac { protection: Protection::Breaker });
    assert!(
        by_ac[0].contains("above the 15 A that `16 AWG` at `J1/1` bears (AC 43.13-1B table 11-3, breaker)"),
        "{by_ac:?}"
    );
}

/// A job in which nothing clashes is told nothing by these checks.
#[test]
fn a_sound_list_is_left_in_peace() {
    let chart = "connector,cavity,circuit,function,colour,size,supply,fuse,action,length,with,note\n\
                 J1,1,E1,battery feed,RD,2.5,constant,F1 30 A,keep,900,,\nFB1,1,E1,battery feed,RD,2.5,constant,F1 30 A,keep,900,,\n\
                 J1,2,E2,CAN high,YE,0.5,data,,keep,900,E3,\nB1,1,E2,CAN high,YE,0.5,data,,keep,900,E3,\n\
                 J1,3,E3,CAN low,GN,0.5,data,,keep,900,E2,\nB1,2,E3,CAN low,GN,0.5,data,,keep,900,E2,\n";
    let connectors = "connector,kind,rows,columns\nJ1,plug,1,3\nB1,plug,1,2\nFB1,fuse box,1,2\n";
    let connectors = list("connectors.csv", connectors);
    let read = read(&JobLists { connectors: Some(&connectors), ..JobLists::of(&[list("a.csv", chart)]) });
    assert_eq!(read.problems, []);
}

/// A row of a small harness, so that everything clashes with everything.
fn any_row() -> impl Strategy<Value = String> {
    let words = |words: &'static [&'static str]| proptest::sample::select(words);
    (
        words(&["J1", "j1", "J2", "G1", "X 1"]),
        words(&["1", "2", "07", "A1", "9"]),
        words(&["E1", "E2", "e-1", "", "E3"]),
        words(&["horn", "airbag", "hv pump", "", "wiper, PE"]),
        words(&["GNYE", "RD", ""]),
        words(&["constant", "restraint", "ground", ""]),
        words(&["keep", "remove", "cut", "add", "reserve", "move", "move to J1/2", "move to J7/1", "move to G1", ""]),
        words(&["E2", "1", "J1/2", "E1 E3", "none", ""]),
    )
        .prop_map(|(connector, cavity, circuit, function, colour, supply, action, with)| {
            format!("{connector},{cavity},{circuit},\"{function}\",{colour},{supply},{action},{with}\n")
        })
}

proptest! {
    /// Whatever clashes is told the same each time, at a cell, with a remedy, and nothing falls over.
    #[test]
    fn any_harness_is_answered_and_always_alike(rows in proptest::collection::vec(any_row(), 0..24)) {
        let chart = format!("connector,cavity,circuit,function,colour,supply,action,with\n{}", rows.concat());
        let (one, other) = rows.split_at(rows.len() / 2);
        let head = "connector,cavity,circuit,function,colour,supply,action,with\n";
        let lists = [list("all.csv", &chart), list("a.csv", &format!("{head}{}", one.concat())), list("b.csv", &format!("{head}{}", other.concat()))];
        let connectors = list("connectors.csv", "connector,kind,rows,columns,action\nJ1,plug,2,3,\nJ2,,,,remove\nG1,stud,,,\n");
        let job = JobLists { connectors: Some(&connectors), ..JobLists::of(&lists[1..]) };
        let told = |read: &Checked<Circuits>| format!("{:?}", read.problems);
        let (first, again) = (read(&job), read(&job));
        prop_assert_eq!(told(&first), told(&again));
        for problem in &first.problems {
            prop_assert!(problem.origin.is_some() && problem.remedy.is_some(), "{}", problem.id);
        }
        let _ = read(&JobLists::of(&lists[..1]));
    }
}

/// What meets in an inline pair goes to the same cavity of both halves, or nowhere.
#[test]
fn halves_that_part() {
    let connectors = "connector,kind,mates\nX3P,inline,X3S\nX3S,inline,X3P\nJ1,plug,\n";
    let told = |one: &str, other: &str| {
        let list =
            format!("connector,cavity,circuit,action\nX3P,16,W1,{one}\nX3S,16,W1,{other}\nJ1,1,W1,\nX3P,4,W2,\n");
        told_of("halves-part", &[("a.csv", &list)], Some(connectors))
    };
    assert_eq!(
        told("keep", "move to X3S/13"),
        [
            "a.csv:3:5 `W1` moves from `X3S/16` to cavity `13`, and would not meet its other half in `X3P/16` any more (keep) [a.csv:2:5]"
        ]
    );
    assert_eq!(told("move to X3P/12", "move to X3S/13").len(), 2);
    for (one, other) in
        [("move to X3P/13", "move to X3S/13"), ("keep", "keep"), ("keep", "move to J1/7"), ("remove", "remove")]
    {
        assert_eq!(told(one, other), [""; 0], "{one}, {other}");
    }
}

/// One wire has one colour and one size; a splice, an extension or letters that nobody explained make no such claim.
#[test]
fn two_ends_of_a_wire_that_differ() {
    let wire = |one: &str, two: &str| {
        let chart = format!("connector,cavity,circuit,colour,size,action\nP7,1,E1,{one}\nFB1,6,E1,{two}\n");
        of_chart("wire-ends-differ", &chart)
    };
    assert_eq!(
        wire("BK/VT,0.75,keep", "BK/GN,0.75,keep"),
        ["a.csv:2:4 the two ends of one wire differ in colour: `P7/1` is `BK/VT`, and `FB1/6` is `BK/GN` [a.csv:3:5]"]
    );
    let told = wire("BK/VT,0.75,", "BK/VT,0.5,");
    assert!(told.len() == 1 && told[0].contains("conductor size: `P7/1` is `0.75"), "{told:?}");
    for (one, two) in [
        ("BK/VT,0.75,keep", "bk-vt,0.75 mm2,cut"),
        ("BK/VT,0.75,", ",,"),
        ("BK/VT,0.75,extend", "RD,1.5,"),
        ("S/V,0.75,", "BK,0.75,"),
        ("BK,18 AWG,", "BK,0.75,"),
    ] {
        assert_eq!(wire(one, two), [""; 0], "{one} and {two}");
    }
    let splice = "connector,cavity,circuit,colour\nP7,1,E1,BK\nFB1,6,E1,RD\nJ1,2,E1,GN\n";
    assert_eq!(of_chart("wire-ends-differ", splice), [""; 0]);
}
