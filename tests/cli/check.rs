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
    let problems = answer.out.split("\n\nwire, ").next().expect("the table comes after");
    insta::assert_snapshot!(problems, @r#"
    error[unknown-action]: `chop` is no action
     --> ecu.csv:2:54
      |
    2 | J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,chop,,3.9
      |                                                      ^^^^
      |
      = help: write keep, remove, cut, move, move to J4/7, add, extend or reserve, or nothing while undecided

    error[unknown-supply]: `grond` is no supply
     --> ecu.csv:3:31
      |
    3 | J1,2,E70,engine ground,BK,2.5,grond,,keep,,three
      |                               ^^^^^
      |
      = help: did you mean `ground`?

    error[bad-diameter]: `three` is no diameter
     --> ecu.csv:3:44
      |
    3 | J1,2,E70,engine ground,BK,2.5,grond,,keep,,three
      |                                            ^^^^^
      |
      = help: write it like `2.4` or `0.095 in`; a bare number is millimetres

    warning[one-ended-circuit]: circuit `E14` has one end only, `J1/14`
     --> ecu.csv:4:4
      |
    4 | J1,14,E14,"rail pressure, signal",BU/WH,0.5,signal,,cut,680,2.4
      |    ^^
      |
      = help: its tag leaves the other end blank; add the row of the other end when it is known

    warning[two-circuits-in-one-cavity]: `J1/14` holds circuits `E14` and `E15`
     --> ecu.csv:5:4
      |
    5 | J1,14,E15,rail pressure,BU/WH,0.5,signal,,cut,680,2.4
      |    ^^
      |
    note: circuit `E14` here
     --> ecu.csv:4:4
      |
    4 | J1,14,E14,"rail pressure, signal",BU/WH,0.5,signal,,cut,680,2.4
      |    ^^
      = help: mend the cavity of one, or give both one name if they are one circuit

    warning[one-ended-circuit]: circuit `E15` has one end only, `J1/14`
     --> ecu.csv:5:4
      |
    5 | J1,14,E15,rail pressure,BU/WH,0.5,signal,,cut,680,2.4
      |    ^^
      |
      = help: its tag leaves the other end blank; add the row of the other end when it is known

    error[bad-size]: `16` may be mm² or AWG
     --> ecu.csv:6:17
      |
    6 | X3,2,E14,,BU/WH,16,signal,,keep,680,2.4
      |                 ^^
      |
      = help: write `16 AWG` or `16 mm²`, or give the list its `size_unit` in job.toml

    error[missing-column]: `helm.csv` has no column `cavity`
     --> helm.csv:1:1
      |
    1 | connector,circuit,function
      | ^^^^^^^^^
      |
      = help: the headers found are `connector`, `circuit`, `function`; rename one, or name it in job.toml
    "#);
}

#[test]
fn mistakes_are_shown_in_brief() {
    let answer = mistaken().run(&["check", "--brief"]).ends_with(1);
    insta::assert_snapshot!(answer.out, @r#"
    ecu.csv:2:54: error[unknown-action]: `chop` is no action; write keep, remove, cut, move, move to J4/7, add, extend or reserve, or nothing while undecided
    ecu.csv:3:31: error[unknown-supply]: `grond` is no supply; did you mean `ground`?
    ecu.csv:3:44: error[bad-diameter]: `three` is no diameter; write it like `2.4` or `0.095 in`; a bare number is millimetres
    ecu.csv:4:4: warning[one-ended-circuit]: circuit `E14` has one end only, `J1/14`; its tag leaves the other end blank; add the row of the other end when it is known
    ecu.csv:5:4: warning[two-circuits-in-one-cavity]: `J1/14` holds circuits `E14` and `E15`; mend the cavity of one, or give both one name if they are one circuit
    ecu.csv:5:4: warning[one-ended-circuit]: circuit `E15` has one end only, `J1/14`; its tag leaves the other end blank; add the row of the other end when it is known
    ecu.csv:6:17: error[bad-size]: `16` may be mm² or AWG; write `16 AWG` or `16 mm²`, or give the list its `size_unit` in job.toml
    helm.csv:1:1: error[missing-column]: `helm.csv` has no column `cavity`; the headers found are `connector`, `circuit`, `function`; rename one, or name it in job.toml
    2 circuits, 2 ends: 2 cut
    2 flags, 2 strips; 2 with a symbol
    2 strips carry no symbol: wire too thin for a strip symbol
    5 errors, 3 warnings
    "#);
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
    let (work, last) = answer.out.split_once("\nfinal strips on a4-paper-strips: 2\n").expect("final tags come second");
    let (_, work) = work.split_once("\nwork flags on a4-paper-33-60x24: 3\n").expect("work tags come first");
    let row = |part: &str| part.lines().find(|line| line.contains(" J1/14 ")).map(str::to_owned).expect("a row");
    assert!(row(work).contains("QR "), "{}", row(work));
    assert!(row(last).contains("3/16 in 2:1"), "{}", row(last));
    assert!(answer.out.lines().skip_while(|line| !line.starts_with("wire, ")).all(|line| line.chars().count() <= 100));
    answer
        .says("is read round 5.7 mm or more")
        .says("5 circuits, 7 ends: 2 cut, 3 keep, 1 remove, 1 undecided")
        .says("1 end still undecided");
}

#[test]
fn the_example_counts_what_is_undecided() {
    let answer = JobFolder::example().done(&["check"]);
    answer
        .says("20 undecided")
        .says("20 ends still undecided")
        .says("20 warnings")
        .says("diameter not known, 3 mm assumed");
}

/// A 1/8 in tube fits 2.4 mm best, but does not pass a seal of 4 mm; nothing at hand passes 9 mm and shrinks so far.
#[test]
fn a_sleeve_passes_what_it_must_slide_over() {
    let job = "[sleeve_printer]\nkind = \"thermal-transfer\"\n[tags]\nfinal = \"sleeve\"\n";
    let list = "connector,cavity,circuit,action,diameter,slides over\n\
                J1,1,E1,cut,2.4,\nJ1,2,E2,cut,2.4,4\nJ1,3,E3,cut,2.4,9\n";
    let folder = JobFolder::with(&[("job.toml", job), ("loom.csv", list)]);
    let answer = folder.run(&["check", "--final", "--json"]);
    let (fits, refused) = (&answer.json()["fits"], &answer.json()["refused"]);
    assert_eq!((&fits[0]["stock"], &fits[1]["stock"]), (&"tube-3.2-1.6".into(), &"tube-4.8-2.4".into()), "{fits}");
    let why = text(&refused[0]["why"]);
    assert!(why.contains("a tube of more than 9.0 mm as supplied, to slide over what is there"), "{why}");
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

/// 33 CFR 183.425 Table 5 and 183.455: 16 AWG of 105 °C bears 25 A, so that the largest fuse below 50 V is 37.5 A.
#[test]
fn fuses_are_compared_by_the_table_that_the_job_names_and_by_no_other() {
    let list = "connector,cavity,circuit,size,supply,fuse\nJ1,1,E1,16 AWG,constant,F1 40 A\nB1,1,E1,16 AWG,constant,\n";
    let table = "[rating]\ntable = \"33-cfr-183.425\"\ninsulation_temperature = 105\n";
    let folder = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", list)]);
    folder.done(&["check"]).says_nothing_of("fuse-above-rating");
    let folder = folder.and("job.toml", table);
    let answer = folder.done(&["check"]);
    answer
        .says("fuse `F1 40 A` of circuit `E1` is above the 37.5 A that `16 AWG` at `B1/1` bears (33 CFR 183.425 Table 5, 105 °C)")
        .says("loom.csv:2:25")
        .says("local codes come first")
        .says("`loomtag explain fuse-above-rating`");
    let folder = folder.and("job.toml", &format!("{table}protection = \"fuse\"\n"));
    folder.run(&["check", "--brief"]).ends_with(1).says("job.toml:4:14: error[unfit-for-rating-table]");
}

/// Kinds of problems that seldom come: each is told at its place all the same.
#[test]
fn what_seldom_is_wrong_is_told_too() {
    let told = |job: &str, list: &str, message: &str| {
        JobFolder::with(&[("job.toml", job), ("loom.csv", list)]).run(&["check", "--brief"]).ends_with(1).says(message);
    };
    let list = "connector,cavity\nJ1,1\n";
    told("", "connector,cavity\n\"J\n1\",1\nJ1,2\n", "loom.csv:2:1: error[bad-designation]: ");
    told("[payload]\nbase = \"no address\"\n", list, "job.toml:2:8: error[bad-link-base]: ");
    let folder = JobFolder::with(&[("job.toml", "[[list]]\nfile = \"charts\"\n"), ("charts/j1.csv", list)]);
    folder
        .run(&["check", "--brief"])
        .ends_with(1)
        .says("job.toml:2:8: error[unreadable-list]: `charts` cannot be read");
    let own = "[tags]\nwork_stock = \"own\"\n";
    let folder = JobFolder::with(&[("job.toml", own), ("loom.csv", list), ("stock/own.toml/in-the-way", "")]);
    folder.run(&["check", "--brief"]).ends_with(1).says("job.toml:2:14: error[unreadable-template]: ");
}

/// A code that is not issued may yet become another's: what cannot be made is told by its place.
#[test]
fn what_would_not_be_made_is_told_without_a_code_that_is_not_issued() {
    let folder = JobFolder::small();
    folder.write("../new.csv", "connector,cavity,circuit,function,colour,action\nJ1,20,E90,horn,RD,cut\n");
    let told = folder.run(&["check", "--with", "../new.csv"]);
    told.says("J1/20: the wire's diameter").says_nothing_of(" at J1/20: the wire");
}
