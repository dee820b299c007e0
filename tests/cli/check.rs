//! `check`: problems of the lists, each with its place and what to write instead, and how each tag fits.

use serde_json::Value;

use crate::kit::{JobFolder, text};

/// Mistakes of every sort, over two lists.
fn mistaken() -> JobFolder {
    JobFolder::with(&[
        ("job.toml", "title = \"Marsh Hen bench\"\n"),
        (
            "ecu.csv",
            "connector,cavity,circuit,function,colour,size,supply,fuse,action,length,diameter\n\
             J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,chop,,3.9\n\
             J1,2,E70,engine ground,BK,2.5,grond,,keep,,three\n\
             J1,14,E14,\"rail pressure, signal\",BU/WH,0.5,signal,,cut,680,2.4\n\
             J1,14,E15,rail pressure,BU/WH,0.5,signal,,cut,680,2.4\n\
             X3,2,E14,,BU/WH,16,signal,,keep,680,2.4\n",
        ),
        ("helm.csv", "connector,circuit,function\nH1,M1,horn\n"),
    ])
}

#[test]
fn mistakes_are_shown_in_full() {
    let answer = mistaken().run(&["check"]).ends_with(1);
    let problems = answer.out.split("\n\ntag ").next().expect("the table comes after");
    insta::assert_snapshot!(problems, @"");
}

#[test]
fn mistakes_are_shown_in_brief() {
    let answer = mistaken().run(&["check", "--brief"]).ends_with(1);
    insta::assert_snapshot!(answer.out, @"");
}

#[test]
fn mistakes_are_told_to_programs() {
    let answer = mistaken().run(&["check", "--json"]).ends_with(1);
    assert_eq!(answer.err, "");
    let json = answer.json();
    let problems = json["problems"].as_array().expect("a list");
    let of = |severity: &str| problems.iter().filter(|problem| problem["severity"] == severity).count();
    assert_eq!(of("error"), 5, "{json:#}");
    assert_eq!(of("error") + of("warning"), problems.len());
    let bad = problems.iter().find(|problem| problem["id"] == "bad-diameter").expect("it is told");
    assert_eq!(bad["place"], serde_json::json!({ "file": "ecu.csv", "line": 3, "column": 44 }));
    assert!(text(&bad["message"]).contains("`three`") && !text(&bad["remedy"]).is_empty());
    assert_eq!(json["circuits"], 2);
}

/// What a spreadsheet calls the column, the line and the cell: the named place holds the named value.
#[test]
fn every_place_holds_what_is_complained_of() {
    let folder = mistaken();
    let json = folder.run(&["check", "--json"]).json();
    for (id, wanted) in [
        ("unknown-action", "chop"),
        ("unknown-supply", "grond"),
        ("bad-diameter", "three"),
        ("bad-size", "16"),
        ("missing-column", "connector"),
    ] {
        let problem = json["problems"].as_array().expect("a list").iter().find(|problem| problem["id"] == id);
        let place = &problem.unwrap_or_else(|| panic!("{id} is told"))["place"];
        let list = String::from_utf8(folder.bytes(&text(&place["file"]))).expect("text");
        let number = |value: &Value| usize::try_from(value.as_u64().expect("a number")).expect("small");
        let line = list.lines().nth(number(&place["line"]) - 1).expect("the line is there");
        let from: String = line.chars().skip(number(&place["column"]) - 1).collect();
        assert!(from.starts_with(wanted), "{id}: {from}");
    }
}

#[test]
fn a_clean_job_tells_how_each_tag_fits() {
    let answer = JobFolder::small().done(&["check"]);
    let row = answer.out.lines().find(|line| line.contains("J1/14 ") && line.contains("work flag"));
    let row = row.unwrap_or_else(|| panic!("J1/14 has a row:\n{}", answer.out));
    assert!(row.contains("a4-paper-33-60x24") && row.contains("QR "), "{row}");
    answer
        .says("tag ")
        .says("final strip")
        .says("no symbol: a strip is")
        .says("5 circuits, 7 ends: 2 cut, 3 keep, 1 remove, 1 undecided")
        .says("1 end still undecided");
}

#[test]
fn the_example_counts_what_is_undecided() {
    let answer = JobFolder::example().done(&["check"]);
    answer.says("20 undecided").says("20 ends still undecided").says("7 warnings").says("diameter not known, 3 mm assumed");
}

#[test]
fn check_neither_issues_nor_writes() {
    let folder = JobFolder::small();
    folder.done(&["check"]);
    folder.done(&["check", "--json"]);
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn settings_are_checked_too() {
    let folder = JobFolder::small().and(
        "job.toml",
        "title = \"x\"\n[printer]\nkind = \"lazer\"\n[tags]\nwork_stock = \"a4-24-64x43\"\n[colours]\n",
    );
    let answer = folder.run(&["check", "--brief"]).ends_with(1);
    answer
        .says("job.toml:3:8: error[unknown-word]: `kind` cannot be `lazer`; did you mean `laser`?")
        .says("did you mean `a4-24-64x34`?")
        .says("`colours`");
}

#[test]
fn settings_that_are_no_toml_are_told_with_their_place() {
    let folder = JobFolder::small().and("job.toml", "title = \"x\nkind = 3\n");
    folder.run(&["check"]).ends_with(1).says("job.toml:1:").says("help: ");
}
