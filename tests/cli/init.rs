//! `init`: a job folder begun.

use std::fs;

use crate::kit::{JobFolder, SMALL_LIST, project};

#[test]
fn letters_of_german_colours_are_proposed_and_two_meanings_are_not_guessed() {
    let folder = JobFolder::empty();
    folder.write("pins.csv", "connector,cavity,colour\nJ1,1,sw/ge\nJ1,2,bl\n");
    folder.done(&["init"]);
    let job = String::from_utf8(folder.bytes("job.toml")).expect("text");
    for line in ["# [list.words.colour]", "# bl = \"\" ", "# ge = \"YE\" ", "# sw = \"BK\" "] {
        assert!(job.contains(&format!("\n{line}")), "{line} in {job}");
    }
    let taken = job
        .replace("# [list.words.colour]", "[list.words.colour]")
        .replace("# ge = ", "ge = ")
        .replace("# sw = ", "sw = ");
    folder.write("job.toml", taken);
    folder.done(&["find", "J1/1"]).says("BK/YE");
}

#[test]
fn an_empty_job_can_be_checked_at_once() {
    let folder = JobFolder::empty();
    folder.done(&["init", "--job", "boat"]).says("job.toml").says("next: loomtag check --job boat");
    assert_eq!(folder.names(), ["boat", "boat/job.toml", "boat/pinout.csv"]);
    folder.done(&["check", "--job", "boat"]).says("0 circuits");
    folder.run(&["tags", "--job", "boat"]).ends_with(1).says("no tags to print: the lists have no end");
}

#[test]
fn lists_from_elsewhere_are_copied_in() {
    let folder = JobFolder::empty().and("charts/loom.csv", SMALL_LIST);
    folder.done(&["init", "--job", "boat", "charts/loom.csv"]).says("loom.csv");
    assert_eq!(folder.bytes("boat/loom.csv"), SMALL_LIST.as_bytes());
    folder.done(&["tags", "--job", "boat", "--dry-run"]).says("would print");
}

#[test]
fn lists_that_lie_in_the_folder_are_taken() {
    let folder = JobFolder::empty().and("loom.csv", SMALL_LIST);
    folder.done(&["init"]).says("part of the job now: loom.csv");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
    folder.done(&["check", "--brief"]).says("5 circuits");
}

/// Whoever takes the `#` away from any line of a new job.toml gets what the line says.
#[test]
fn every_commented_setting_is_one() {
    let folder = JobFolder::empty().and("loom.csv", SMALL_LIST);
    folder.done(&["init"]);
    let settings = String::from_utf8(folder.bytes("job.toml")).expect("text");
    // Neither the font file, nor a workbook, nor the wordings, nor a list with such a column are there.
    let is_there = |line: &&str| {
        !line.contains("fallback")
            && !line.contains("sheet = ")
            && !line.contains("Signal no.")
            && !line.contains("\"mine")
    };
    let taken: Vec<&str> =
        settings.lines().filter(is_there).map(|line| line.strip_prefix("# ").unwrap_or(line)).collect();
    let is_setting =
        |line: &&&str| line.starts_with('[') || line.split_once(" = ").is_some_and(|(key, _)| !key.contains(' '));
    let taken: Vec<&str> = taken.iter().filter(is_setting).copied().collect();
    assert!(taken.len() > 30, "{taken:#?}");
    folder.write("job.toml", taken.join("\n"));
    let answer = folder.run(&["check", "--brief"]);
    assert!(!answer.out.contains("job.toml:"), "{}", answer.out);
    folder.done(&["tags", "--dry-run"]).says("1 wrap instead of a flag");
}

#[test]
fn the_example_is_the_one_of_the_project() {
    let folder = JobFolder::empty();
    folder.done(&["init", "--example", "--job", "boat"]);
    let example = project().join("examples/marsh-hen");
    let names = fs::read_dir(&example).expect("listed").map(|entry| entry.expect("listed").file_name());
    let mut names: Vec<String> = names.map(|name| name.to_string_lossy().into_owned()).collect();
    names.retain(|name| [".csv", ".toml", ".md"].iter().any(|end| name.ends_with(end)));
    names.sort();
    let written: Vec<String> =
        folder.names().iter().filter_map(|name| name.strip_prefix("boat/").map(str::to_owned)).collect();
    assert_eq!(written, names);
    for name in &names {
        assert_eq!(folder.bytes(&format!("boat/{name}")), fs::read(example.join(name)).expect("read"), "{name}");
    }
}

#[test]
fn nothing_that_exists_is_overwritten() {
    let folder = JobFolder::small();
    let before = folder.bytes("job.toml");
    for arguments in [&["init"][..], &["init", "--example"], &["init", "loom.csv"]] {
        folder.run(arguments).ends_with(2).says("is a job folder already");
    }
    assert_eq!((folder.bytes("job.toml"), folder.names().len()), (before, 2));

    let folder = JobFolder::empty().and("helm.csv", "mine");
    folder.run(&["init", "--example"]).ends_with(2).says("helm.csv").says("not overwritten");
    assert_eq!((folder.bytes("helm.csv"), folder.names().len()), (b"mine".to_vec(), 1));
}

#[test]
fn a_missing_list_leaves_nothing_behind() {
    let folder = JobFolder::empty();
    folder.run(&["init", "--job", "boat", "nowhere.csv"]).ends_with(2).says("there is no file `nowhere.csv`");
    assert_eq!(folder.names(), Vec::<String>::new());
    folder.run(&["init", "--example", "nowhere.csv"]).ends_with(2);
}

/// A chart as a control unit's maker hands it out: German, semicolons, Windows-1252, no column for the connector.
const PINOUT: &[u8] = b"Motorsteuerger\xe4t;;;;;\r\n\r\nPin-Nr.;Signal;Adernfarbe;Querschnitt;Anmerkg.;Drehmoment\r\n\
    1;Dauerplus;RT;2,5;;\r\n2;\"Masse, Motor\";BR;2,5;;\r\n1-Mrz;Raildruck;BL;0,5;;\r\n";
/// A wire list with merged header cells, in gauges.
const WIRES: &str =
    "Wires,,,,,,\n,From,,To,,,\nWire no.,Plug,Pin,Plug,Pin,Gauge,Color\nE14,J1,2,J2,3,18,BU/WH\nE15,J1,4,J2,4,16,BN\n";

#[test]
fn lists_are_looked_at_and_a_mapping_is_proposed() {
    let folder = JobFolder::empty().and("charts/wires.csv", WIRES);
    folder.write("charts/pinout-j1.csv", PINOUT);
    let answer = folder.done(&["init", "--job", "boat", "charts/pinout-j1.csv", "charts/wires.csv"]);
    insta::assert_snapshot!(answer.out, @r"
    wrote pinout-j1.csv, wires.csv, job.toml in boat

    pinout-j1.csv: a chart, one row per cavity; 3 rows, semicolons, Windows-1252
      read: Pin-Nr. as cavity, Signal as function, Adernfarbe as colour, Querschnitt as size
      not read: Anmerkg. (as note?), Drehmoment
      connector: J1, as its name says; put it right in job.toml if it is another

      place  circuit  function      colour  size     supply  action
      J1/1   J1/1     Dauerplus     RT      2,5 mm²          undecided
      J1/2   J1/2     Masse, Motor  BR      2,5 mm²          undecided
      2 ends as understood; rows with errors are left out

    wires.csv: a wire list, one row per wire; 2 rows, commas, UTF-8
      read: Wire no. as circuit, From Plug as from connector, From Pin as from cavity, To Plug as to
        connector, To Pin as to cavity, Gauge as size, Color as colour
      size unit: awg, as the bare numbers look; put it right in job.toml if they are mm²

      place  circuit  function  colour  size    supply  action
      J1/2   E14                BU/WH   18 AWG          undecided
      J2/3   E14                BU/WH   18 AWG          undecided
      J1/4   E15                BN      16 AWG          undecided
      J2/4   E15                BN      16 AWG          undecided
      4 ends as understood

    what was not read, or not rightly, can be said in job.toml: its lines explain themselves
    next: loomtag check --job boat, then loomtag tags --job boat
    ");
    // What is wrong in them is told at once, and the job is written all the same.
    assert!(
        answer.err.contains("changed-by-spreadsheet") && answer.err.contains("pinout-j1.csv:6:1"),
        "{}",
        answer.err
    );
    assert!(!answer.err.contains("unused-column"), "told list by list: {}", answer.err);
    let settings = String::from_utf8(folder.bytes("boat/job.toml")).expect("text");
    let lists = settings.split("\n# [wires]").next().expect("the lists come first");
    insta::assert_snapshot!(lists, @r##"
    title = "boat"

    [[list]]
    file = "pinout-j1.csv"        # a chart, one row per cavity; 3 rows, semicolons, Windows-1252
    connector = "J1"              # of rows that name none: from the list's name, put it right if it is another
    # read: Pin-Nr. = cavity, Signal = function, Adernfarbe = colour, Querschnitt = size
    [list.columns]                # our column = the list's own; not read so far: take the # away where one matters
    # note = "Anmerkg."
    # nor read: Drehmoment
    # [list.words.colour]         # German letters, from common practice: take the # away here and below
    # bl = ""                     # means different colours in different charts: write which
    # br = "BN"                   # brown
    # rt = "RD"                   # red

    [[list]]
    file = "wires.csv"            # a wire list, one row per wire; 2 rows, commas, UTF-8
    size_unit = "awg"             # of bare sizes: 16, 18 look like it, put it right if they are mm²
    # sheet = "J1"                # of a workbook (.xlsx, .ods), one sheet; else all its sheets that are lists
    # connector = "J1"            # for rows that name none; or blank_connector = "above": as the row above
    # form = "chart"              # one row per cavity, or "wire": one row per wire; else told by the columns
    # branch = "ENGINE"           # for rows that name none; likewise insulation, supply and action
    # columns = { circuit = "Signal no." }  # our column name = the list's own
    # read: Wire no. = circuit, From Plug = from connector, From Pin = from cavity, To Plug = to connector
    # read: To Pin = to cavity, Gauge = size, Color = colour
    "##);
    folder.run(&["check", "--job", "boat", "--brief"]).ends_with(1).says("1 error");

    // Whoever takes the `#` away from what is not read gets it read.
    let taken = settings.replace("# note = \"Anmerkg.\"", "note = \"Anmerkg.\"");
    assert_ne!(taken, settings);
    folder.write("boat/job.toml", taken);
    let told = folder.run(&["check", "--job", "boat", "--brief"]).out;
    assert!(told.contains("`Drehmoment` is not read") && !told.contains("`Anmerkg.` is not read"), "{told}");
}

#[test]
fn init_answers_programs() {
    let folder =
        JobFolder::empty().and("wires.csv", WIRES).and("engine.csv", "one\ntwo\n").and("f21.csv", "pin;colour\n1;RD\n");
    let answer = folder.done(&["init", "--json"]);
    let answer: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    assert_eq!(answer["found"], serde_json::json!(["engine.csv", "f21.csv", "wires.csv"]));
    let lists = &answer["lists"];
    assert_eq!(lists[0]["form"], serde_json::Value::Null);
    assert_eq!((&lists[1]["connector"], &lists[1]["separator"]), (&"F21".into(), &"semicolons".into()));
    assert_eq!(
        (&lists[2]["form"], &lists[2]["size_unit"], &lists[2]["ends"]),
        (&"wire".into(), &"awg".into(), &4.into())
    );
    assert_eq!(lists[2]["columns"][1], serde_json::json!({ "header": "From Plug", "column": "from connector" }));
    assert_eq!(lists[2]["first_ends"][0]["place"], "J1/2");
    let ids: Vec<&str> =
        answer["problems"].as_array().expect("a list").iter().filter_map(|p| p["id"].as_str()).collect();
    assert!(ids.contains(&"missing-column"), "{ids:?}");
}

/// The size unit and the connector of a new job are proposals: every line around them is valid whichever is taken.
#[test]
fn proposals_leave_valid_settings() {
    let lists = [
        ("j1.csv", "pin,size\n1,16\n"),
        ("odd.csv", "pin,size,\"a\ncomment\",\"wire\nkind\nof\",\"say \"\"hi\"\"\",slides ovr\n1,16,,,,\n"),
        ("none.csv", "nothing\n"),
    ];
    for (name, text) in lists {
        let folder = JobFolder::empty().and(name, text);
        folder.done(&["init"]);
        let settings = String::from_utf8(folder.bytes("job.toml")).expect("text");
        let lists = settings.split("\n# [wires]").next().expect("the lists come first");
        let taken: String = lists
            .lines()
            .map(|line| match line.strip_prefix("# ") {
                Some(setting) if setting.split_once(" = ").is_some_and(|(key, _)| !key.contains(": ")) => {
                    format!("{setting}\n")
                }
                _ => format!("{line}\n"),
            })
            .collect();
        folder.write("job.toml", &taken);
        let told = folder.run(&["check", "--brief"]).out;
        assert!(!told.contains("toml-syntax") && !told.contains("unknown-setting"), "{told}\n{taken}");
    }
}

/// A chart that names the other end of each wire is a wire list, and its name tells where they begin.
#[test]
fn a_chart_with_far_ends_gets_its_connector_from_its_name() {
    let folder = JobFolder::empty().and("j1 engine.csv", "Pin;Signal;Ziel Stecker;Ziel Pin\n1;rail pressure;X3P;7\n");
    folder.done(&["init", "j1 engine.csv"]).says("J1/1").says("X3P/7");
    folder.done(&["check", "--brief"]).says("1 circuit, 2 ends");
}
