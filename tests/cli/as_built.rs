//! `sheets --as-built`: what is, by the notes; and its charts, read by an independent reader and by the program itself.

use serde_json::Value;

use crate::kit::{JobFolder, program, script, text};

const LIST: &str = "\
connector,cavity,circuit,function,colour,size,supply,action,note
J1,1,E65,glow plug supply,RD/BK,4.0,constant,cut,
J1,2,-X7,+ of the siren,BK,2.5,ground,keep,=1+2
J1,14,E14,rail pressure signal,BU/WH,0.5,signal,move to J3/1,
J2,3,E14,,BU/WH,0.5,signal,keep,
J2,5,E33,exhaust flap,RD/BU,1.0,signal,remove,
J2,9,E34,flap return,GY,0.5,,keep,
J3,2,E40,new feed,RD,1.5,constant,add,
";

/// A job at which some was done and found.
fn worked() -> JobFolder {
    let folder = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", LIST)]);
    folder.done(&["tags", "--all", "--work", "--no-proof"]);
    for note in [
        &["note", "J1/1", "done", "cut", "capped"][..],
        &["note", "J1/14", "done", "pulled", "moved"],
        &["note", "J2/5", "done", "pulled", "sealed", "untagged"],
        &["note", "J2/9", "found", "place", "J2/8"],
        &["note", "J2/3", "found", "colour", "BN/WH"],
    ] {
        folder.done(note);
    }
    folder
}

/// The tag of an end: `7KF4 A`.
fn tag(folder: &JobFolder, place: &str) -> String {
    let found = &folder.done(&["find", place, "--json"]).json()["found"][0];
    let record = &found["record"];
    let ends = record["ends"].as_array().expect("ends");
    let end = ends.iter().find(|end| end["here"] == place).unwrap_or_else(|| panic!("{found}"));
    format!("{} {}", text(&record["code"]), text(&end["letter"]))
}

fn differences(json: &Value) -> Vec<(String, String, String)> {
    let all = json["differences"].as_array().expect("differences");
    all.iter().map(|one| (text(&one["group"]), text(&one["planned"]), text(&one["is"]))).collect()
}

#[test]
fn what_is_and_where_it_differs_is_shown() {
    let folder = worked();
    let json = folder.done(&["sheets", "--as-built", "--json"]).json();
    assert!(text(&json["file"]).ends_with("sheets/as-built.pdf"));
    let told = differences(&json);
    let told: Vec<_> =
        told.iter().map(|(group, planned, is)| (group.as_str(), planned.as_str(), is.as_str())).collect();
    assert_eq!(
        told,
        [
            ("otherwise", "colour BU/WH", "colour BN/WH"),
            ("otherwise", "J2/9", "J2/8"),
            ("open", "J1/1, cut", "free, capped"),
            ("open", "J3/2, add", "not there yet"),
            ("as planned", "J1/14, move to J3/1", "J3/1"),
            ("as planned", "J2/5, remove", "gone"),
        ]
    );
    assert_eq!(
        (text(&json["differences"][1]["row"]), &json["differences"][1]["notes"][0]["number"]),
        ("loom.csv:7:4".to_owned(), &8.into())
    );
    let pdf = folder.path().join("sheets/as-built.pdf");
    let words = program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    for said in
        ["overview, as built 2", "differences to the plan", "otherwise than planned (2)", "free, capped", "FREE"]
    {
        assert!(words.contains(said), "`{said}` in\n{words}");
    }
    assert!(!words.contains("new feed"), "what is not added yet is not there:\n{words}");
    folder.done(&["sheets", "--as-built"]).says("differences to the plan: 2 otherwise, 2 open, 2 as planned");
    // The plan is still the plan.
    let plan = folder.done(&["sheets", "--json"]).json();
    assert!(text(&plan["file"]).ends_with("sheets/bench.pdf"));
    assert_eq!(plan["differences"], Value::Array(Vec::new()));
}

#[test]
fn an_independent_reader_reads_the_charts_and_so_do_we() {
    let folder = worked();
    folder.run(&["sheets", "--charts", "built"]).ends_with(2).says("--as-built");
    let free = tag(&folder, "J1/1");
    let answer = folder.done(&["sheets", "--as-built", "--charts", "built"]);
    answer.says("built: 4 files").says_nothing_of("not in the charts");
    let read: Value =
        serde_json::from_str(&script("charts.py", &[&folder.path().join("built").to_string_lossy()])).expect("JSON");
    let head = "connector cavity circuit function colour size supply action";
    let rows = |file: &str| -> Vec<String> {
        let rows = read[file].as_array().unwrap_or_else(|| panic!("{file} in {read}"));
        rows.iter().map(|row| row.as_array().expect("cells").iter().map(text).collect::<Vec<_>>().join("|")).collect()
    };
    assert_eq!(
        rows("FREE.csv"),
        [head.replace(' ', "|"), format!("FREE|{free}|E65|glow plug supply|RD/BK|4.0 mm²|constant|keep")]
    );
    assert_eq!(rows("J1.csv")[1], "J1|2|'-X7|'+ of the siren|BK|2.5 mm²|ground|keep|'=1+2");
    assert_eq!(
        rows("J2.csv")[1..],
        ["J2|3|E14|rail pressure signal|BN/WH|0.5 mm²|signal|keep", "J2|8|E34|flap return|GY|0.5 mm²||keep"]
    );
    assert_eq!(rows("J3.csv")[1], "J3|1|E14|rail pressure signal|BU/WH|0.5 mm²|signal|keep");
    // Nothing is written over, not even charts.
    folder.run(&["sheets", "--as-built", "--charts", "built"]).ends_with(2).says("is there already and not empty");
    // A job of the charts has what is, and nothing is left of the marks.
    folder.done(&["init", "--job", "built"]);
    folder.done(&["check", "--job", "built", "--brief"]).says("4 circuits, 5 ends: 5 keep");
    folder.done(&["find", "--job", "built", "siren"]).says("-X7").says("+ of the siren").says_nothing_of("'+");
}

/// What the sheet says of putting rows right is enough for an end to keep its tag.
#[test]
fn rows_that_are_put_right_keep_their_tags() {
    let folder = worked();
    let (moved, found) = (tag(&folder, "J1/14"), tag(&folder, "J2/9"));
    let json = folder.done(&["sheets", "--as-built", "--json"]).json();
    let put_right = |at: usize| text(&json["differences"][at]["put_right"]);
    assert_eq!(put_right(1), "write `J2/8`");
    assert_eq!(put_right(4), format!("write `J3/1`, and `loomtag rename {} J3/1`", moved.replace(' ', "/")));
    folder.done(&["rename", &moved.replace(' ', "/"), "J3/1"]);
    let right = LIST.replace("J1,14,E14", "J3,1,E14").replace("move to J3/1", "keep").replace("J2,9,", "J2,8,");
    folder.write("loom.csv", right.replace("J2,5,E33,exhaust flap,RD/BU,1.0,signal,remove,\n", ""));
    assert_eq!((tag(&folder, "J3/1"), tag(&folder, "J2/8")), (moved, found));
    let json = folder.done(&["sheets", "--as-built", "--json"]).json();
    let groups: Vec<String> = differences(&json).into_iter().map(|(group, _, is)| format!("{group}: {is}")).collect();
    assert_eq!(groups, ["otherwise: colour BN/WH", "open: free, capped", "open: not there yet"]);
}
