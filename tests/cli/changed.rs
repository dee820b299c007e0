//! `tags --changed`, and what `check`, `find` and `scan` say of tags that hang on wires and are not so any more.

use std::collections::BTreeMap;

use proptest::prelude::*;
use proptest::test_runner::FileFailurePersistence;
use serde_json::Value;

use crate::kit::{Answer, JobFolder, SMALL_LIST, Tag, text};

/// The small job with the work and final tags of every end printed as run 1.
fn printed() -> (JobFolder, Vec<Tag>) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all"]);
    let tags = folder.tags("prints/run-0001");
    (folder, tags)
}

const CHANGED: &[&str] = &["tags", "--all", "--changed", "--json"];

/// What `tags --changed` prints: `J1/14 work`, in the order of the run's files.
fn changed(folder: &JobFolder) -> Vec<String> {
    let answer = folder.done(CHANGED).json();
    if answer["run"].is_null() {
        assert_eq!(answer["changed"], Value::Array(Vec::new()));
        return Vec::new();
    }
    let run = format!("prints/run-{:04}", answer["run"].as_u64().expect("a number"));
    let mut tags: Vec<String> = folder
        .tags(&run)
        .iter()
        .map(|tag| format!("{} {}", tag.place(), tag.file.split_once('-').expect("it begins so").0))
        .collect();
    tags.sort();
    tags
}

/// What `check` finds stale: `J1/14: what`.
fn stale(folder: &JobFolder) -> Vec<String> {
    let stale = &folder.run(&["check", "--json"]).json()["stale"];
    let tags = stale["tags"].as_array().expect("a list").iter().map(|tag| {
        let whats: Vec<String> = tag["changes"].as_array().expect("a list").iter().map(|c| text(&c["what"])).collect();
        format!("{} {}: {}", text(&tag["place"]), text(&tag["purpose"]), whats.join(", "))
    });
    let left = stale["left_the_lists"].as_array().expect("a list").iter();
    tags.chain(left.map(|left| format!("{} left", text(&left["designations"][0])))).collect()
}

fn edit(folder: &JobFolder, from: &str, to: &str) {
    let list = String::from_utf8(folder.bytes("loom.csv")).expect("a text");
    assert!(list.contains(from), "{from}");
    folder.write("loom.csv", list.replace(from, to));
}

#[track_caller]
fn nothing(folder: &JobFolder) -> Answer {
    assert_eq!(stale(folder), Vec::<String>::new());
    folder.done(&["check", "--brief"]).says_nothing_of("the truth");
    let before = folder.names();
    let answer = folder.done(&["tags", "--all", "--changed"]).says("nothing has changed");
    folder.done(&["tags", "--all", "--changed", "--dry-run"]).says("nothing has changed");
    assert_eq!(folder.names(), before, "no run is begun");
    answer
}

#[test]
fn after_printing_nothing_is_due() {
    let (folder, _) = printed();
    nothing(&folder);
    let example = JobFolder::example();
    example.done(&["tags"]);
    example.done(&["tags", "--changed"]).says("nothing has changed");
    example.done(&["check"]).says_nothing_of("the truth");
    // Marks along wires say where they sit, and so do then the tags of the ends.
    example.done(&["tags", "--along"]);
    example.done(&["tags", "--along", "--changed"]).says("nothing has changed");
    example.done(&["tags", "--changed"]).says("nothing has changed");
    example.done(&["check"]).says_nothing_of("the truth");
}

#[test]
fn a_changed_function_brings_back_the_tags_of_its_circuit() {
    let (folder, tags) = printed();
    edit(&folder, "rail pressure signal", "oil pressure signal");
    let code = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    assert_eq!(stale(&folder), ["J1/14 final: function", "J1/14 work: function", "J2/3 work: function"]);
    folder
        .done(&["check"])
        .says("3 printed tags on wires no longer tell the truth")
        .says(&format!("{code} A final  J1/14"))
        .says("function: `rail pressure signal` -> `oil pressure signal`")
        .says("tags --changed");
    folder.done(&["check", "--brief"]).says("3 printed tags on wires no longer tell the truth");
    folder.done(&["find", &code]).says(&format!("the work tag {code} A at J1/14, printed in run 1, no longer tells"));
    folder
        .done(&["tags", "--all", "--changed", "--dry-run"])
        .says("0 tags new, 3 changed")
        .says("J1/14: function: `rail pressure signal` -> `oil pressure signal`");
    assert_eq!(changed(&folder), ["J1/14 final", "J1/14 work", "J2/3 work"]);
    nothing(&folder);
}

#[test]
fn a_far_end_that_sits_elsewhere_brings_back_the_ends_that_name_it() {
    let (folder, _) = printed();
    edit(&folder, "J2,3,E14", "J2,4,E14");
    assert_eq!(stale(&folder), ["J1/14 final: there", "J1/14 work: there", "J2/3 work: place"]);
    folder.done(&["check"]).says("J2/3   take off").says("`J2/3` -> no longer in the lists");
    assert_eq!(changed(&folder), ["J1/14 final", "J1/14 work", "J2/4 work"]);
    // The old tag is still out there.
    assert_eq!(stale(&folder), ["J2/3 work: place"]);
    folder.done(&["tags", "--all", "--changed"]).says("nothing has changed");
}

#[test]
fn what_is_not_on_tags_changes_nothing() {
    let (folder, _) = printed();
    let rows: Vec<&str> = SMALL_LIST.lines().collect();
    // Sorted otherwise, with a column that no tag tells.
    let mut sorted: Vec<String> = rows[1..].iter().map(|row| format!("{row},W-77")).collect();
    sorted.sort_by(|a, b| b.cmp(a));
    let list = |rows: &[String]| format!("{},drawing\n{}\n", rows_head(), rows.join("\n"));
    folder.write("loom.csv", list(&sorted));
    folder.done(&["tags", "--all", "--changed"]).says("nothing has changed");
    // Two lists instead of one.
    folder.write("a-other.csv", list(&sorted[..3]));
    folder.write("loom.csv", list(&sorted[3..]));
    nothing(&folder);
}

fn rows_head() -> &'static str {
    SMALL_LIST.lines().next().expect("a heading")
}

/// With less room words are given up, with more there are more of them: either way those that hang there are as true as before.
#[test]
fn other_stock_makes_no_tag_stale() {
    let (folder, _) = printed();
    let job = String::from_utf8(folder.bytes("job.toml")).expect("a text");
    for stock in ["a4-65-38x21", "a4-24-64x34"] {
        folder.write("job.toml", format!("{job}\n[tags]\nwork_stock = \"{stock}\"\n"));
        nothing(&folder);
    }
    // Printed small, and then large again.
    let small = JobFolder::small();
    small.write("job.toml", format!("{job}\n[tags]\nwork_stock = \"a4-65-38x21\"\n"));
    small.done(&["tags", "--all"]);
    small.write("job.toml", job);
    nothing(&small);
}

#[test]
fn a_title_is_on_tags_of_connectors_alone() {
    let (folder, _) = printed();
    let job = String::from_utf8(folder.bytes("job.toml")).expect("a text");
    folder.write("job.toml", job.replace("Marsh Hen bench", "Marsh Hen afloat"));
    assert_eq!(stale(&folder), Vec::<String>::new(), "no connector stays whole here");
    nothing(&folder);
    let example = JobFolder::example();
    example.done(&["tags"]);
    let job = String::from_utf8(example.bytes("job.toml")).expect("a text");
    let title = job.lines().find(|line| line.starts_with("title")).expect("it has one");
    example.write("job.toml", job.replace(title, "title = \"Another\""));
    let answer = example.done(&["tags", "--changed", "--json"]).json();
    let due = answer["changed"].as_array().expect("a list");
    assert!(!due.is_empty());
    for tag in due {
        assert_eq!(tag["changes"][0]["what"], "job", "{tag}");
    }
}

#[test]
fn another_address_is_another_symbol() {
    let (folder, tags) = printed();
    let with_address = tags.iter().filter(|tag| tag.says().is_some_and(|says| says.contains("://"))).count();
    let job = String::from_utf8(folder.bytes("job.toml")).expect("a text");
    folder.write("job.toml", job.replace("MARSHHEN.LOCAL:7117", "MARSHHEN.EXAMPLE"));
    assert_eq!(stale(&folder).len(), with_address);
    folder.done(&["check"]).says("symbol: `HTTP://MARSHHEN.LOCAL:7117/");
    assert_eq!(changed(&folder).len(), with_address);
    nothing(&folder);
}

/// A mark of danger is never given up, so a tag without it tells less than the truth.
#[test]
fn a_new_danger_makes_a_tag_stale() {
    let (folder, _) = printed();
    edit(
        &folder,
        "J1,14,E14,rail pressure signal,BU/WH,0.5,signal",
        "J1,14,E14,rail pressure signal,BU/WH,0.5,constant",
    );
    edit(&folder, "J2,3,E14,,BU/WH,0.5,signal", "J2,3,E14,,BU/WH,0.5,constant");
    assert_eq!(stale(&folder), ["J1/14 final: mark", "J1/14 work: mark", "J2/3 work: mark"]);
    folder.done(&["check"]).says("mark: not on the tag -> `LIVE WITH BATTERY ON");
    assert_eq!(changed(&folder), ["J1/14 final", "J1/14 work", "J2/3 work"]);
}

/// What is learnt makes no tag untrue, but worth printing.
#[test]
fn what_is_learnt_is_due_and_not_stale() {
    let (folder, _) = printed();
    edit(&folder, "J2,9,,,GY", "J2,9,,tank sender,GY");
    assert_eq!(stale(&folder), Vec::<String>::new());
    assert_eq!(changed(&folder), ["J2/9 work"]);
    nothing(&folder);
    // A line to write on may have been written on.
    edit(&folder, "J1,1,E65", "A40,2,E65,,RD/BK,4.0,,,keep,,3.9\nJ1,1,E65");
    assert_eq!(stale(&folder), Vec::<String>::new());
    assert_eq!(changed(&folder), ["A40 work", "A40/2 work", "J1/1 final", "J1/1 work"]);
    nothing(&folder);
}

#[test]
fn a_circuit_that_has_left_the_lists_is_told_with_its_tags() {
    let (folder, tags) = printed();
    let code = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    let left = |row: &&str| !row.contains("E14");
    folder.write("loom.csv", SMALL_LIST.lines().filter(left).map(|row| format!("{row}\n")).collect::<String>());
    assert_eq!(stale(&folder), ["E14 left"]);
    folder.done(&["check"]).says("circuit E14 has left the lists").says(&format!("{code}  J1/14, J2/3  take off"));
    folder.done(&["check", "--brief"]).says("1 code has printed tags, and its circuit has left the lists");
    folder.done(&["find", &code]).says(&format!("take off the work tag {code} A at J1/14, printed in run 1"));
    folder.done(&["tags", "--all", "--changed"]).says("nothing has changed");
    // Back again, and all is as it was.
    folder.write("loom.csv", SMALL_LIST);
    nothing(&folder);
}

#[test]
fn the_tags_of_a_circuit_that_is_likely_renamed_stay_on() {
    let (folder, _) = printed();
    folder.write("loom.csv", SMALL_LIST.replace("E14", "S14"));
    folder.done(&["check"]).says("rename E14 S14").says("circuit E14 is likely S14 now").says_nothing_of("take off");
}

#[test]
fn a_connector_that_is_called_otherwise_makes_its_tag_stale() {
    let folder = JobFolder::small().and("connectors.csv", "connector,short name\nJ2,engine loom\n");
    let job = String::from_utf8(folder.bytes("job.toml")).expect("a text");
    folder.write("job.toml", job.replace("base = \"HTTP://MARSHHEN.LOCAL:7117\"", "symbol = \"text\""));
    folder.write("loom.csv", SMALL_LIST.replace(",remove,", ",keep,").replace("GY,0.5,,,,,", "GY,0.5,,,keep,,"));
    folder.done(&["tags", "--connector", "J2"]);
    folder.write("connectors.csv", "connector,short name\nJ2,body loom\n");
    assert_eq!(stale(&folder), ["J2 work: function, symbol"]);
    folder
        .done(&["tags", "--changed", "--connector", "J2", "--dry-run"])
        .says("function: `engine loom` -> `body loom`");
}

#[test]
fn a_connector_that_is_opened_is_told() {
    let folder = JobFolder::small();
    folder.write("loom.csv", SMALL_LIST.replace(",remove,", ",keep,").replace("GY,0.5,,,,,", "GY,0.5,,,keep,,"));
    folder.done(&["tags"]);
    let tags = folder.tags("prints/run-0001");
    assert!(tags.iter().any(|tag| tag.connector().as_deref() == Some("J2")));
    folder.done(&["tags", "--changed"]).says("nothing has changed");
    edit(&folder, "J2,9,,,GY,0.5,,,keep", "J2,9,,,GY,0.5,,,cut");
    assert_eq!(stale(&folder), ["J2 work: connector"]);
    folder.done(&["check"]).says("its ends have tags of their own: J2/9 is cut");
    folder.done(&["tags", "--changed"]).says("1 tag new, 0 changed");
}

/// What a run printed that was cut off may hang there or not.
#[test]
fn a_run_that_was_cut_off_counts_both_ways() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all"]);
    let register = rusqlite::Connection::open(folder.path().join("register.db")).expect("opened");
    // As the register is left when the program is killed between the journal of the tags and that of the end.
    register
        .execute_batch("DROP TRIGGER outcomes_stay; DELETE FROM print_run_outcome;")
        .expect("it is a database like any other");
    drop(register);
    edit(&folder, "rail pressure signal", "oil pressure signal");
    assert_eq!(stale(&folder).len(), 3);
    folder.done(&["check"]).says("(cut off: it may not exist)");
    let all = folder.done(&["tags", "--all", "--changed", "--json"]).json();
    assert!(all["changed"].as_array().expect("a list").iter().all(|tag| tag["standing"] == "new"));
    nothing(&folder);
}

#[test]
fn a_joined_code_keeps_its_tags() {
    let (folder, tags) = printed();
    let code = |place: &str| tags.iter().find(|tag| tag.place() == place).expect("printed").code();
    folder.done(&["join", &code("J1/14"), &code("J2/9")]);
    // They may learn of each other, and nothing that hangs there is false.
    assert_eq!(stale(&folder), Vec::<String>::new());
}

#[test]
fn it_can_be_narrowed() {
    let (folder, _) = printed();
    edit(&folder, "rail pressure signal", "oil pressure signal");
    let tags = |arguments: &[&str]| {
        let arguments = [&["tags", "--changed", "--dry-run", "--json"], arguments].concat();
        let mut places: Vec<String> = folder.done(&arguments).json()["changed"]
            .as_array()
            .expect("a list")
            .iter()
            .map(|tag| format!("{} {}", text(&tag["place"]), text(&tag["purpose"])))
            .collect();
        places.sort();
        places
    };
    assert_eq!(tags(&["--connector", "J2", "--this-end"]), ["J2/3 work"]);
    // Tags go on both sides of a wire.
    assert_eq!(tags(&["--connector", "J2", "--work"]), ["J1/14 work", "J2/3 work"]);
    // Of those that `tags` prints without --all.
    assert_eq!(tags(&["--connector", "J1", "--final"]), ["J1/14 final"]);
    let stale = folder.done(&["check", "--connector", "J2", "--json"]).json();
    assert_eq!(stale["stale"]["tags"].as_array().expect("a list").len(), 1);
}

/// Words and symbol of every tag of a run, by name and kind of tag.
fn said(folder: &JobFolder, run: &str) -> BTreeMap<String, (Vec<String>, Option<String>)> {
    let tags = folder.tags(run);
    tags.iter().map(|tag| (format!("{} {}", tag.name(), tag.file), (tag.words(), tag.says()))).collect()
}

/// What a row may say in a column of the small list: its number, and the texts.
const EDITS: [(usize, &[&str]); 8] = [
    (2, &["E14", "E33", "E65", "E70", "N1", ""]),
    (3, &["bilge pump", "rail pressure switch", "horn", "airbag squib", ""]),
    (4, &["BU/WH", "RD/BK", "GN", ""]),
    (5, &["0.5", "4.0", "AWG 18", ""]),
    (6, &["constant", "signal", "switched", ""]),
    (7, &["F2 10 A", ""]),
    (8, &["cut", "keep", "remove", "reserve", ""]),
    (1, &["1", "2", "3", "14", "21"]),
];

fn edited(edits: &[(usize, usize, usize)]) -> String {
    let mut rows: Vec<Vec<&str>> = SMALL_LIST.lines().map(|row| row.split(',').collect()).collect();
    for &(row, column, text) in edits {
        let (column, texts) = EDITS[column];
        rows[1 + row][column] = texts[text % texts.len()];
    }
    rows.iter().map(|row| format!("{}\n", row.join(","))).collect()
}

/// Each case is five runs of the program. One that fails is printed, and kept under `target/tmp`, where the next test begins with it.
fn few_cases() -> ProptestConfig {
    const KEPT: &str = concat!(env!("CARGO_TARGET_TMPDIR"), "/exactly_what_differs.txt");
    let cases = std::env::var("LOOMTAG_CASES").ok().and_then(|cases| cases.parse().ok()).unwrap_or(12);
    let failure_persistence = Some(Box::new(FileFailurePersistence::Direct(KEPT)) as Box<_>);
    ProptestConfig { cases, failure_persistence, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(few_cases())]

    /// What is printed again is what differs, no more and no less; and then nothing differs any more.
    #[test]
    fn exactly_what_differs_is_printed(
        edits in prop::collection::vec((0_usize..7, 0_usize..EDITS.len(), 0_usize..6), 1..4),
    ) {
        let folder = JobFolder::small();
        folder.done(&["tags", "--all", "--no-proof", "--out", "before"]);
        folder.write("loom.csv", edited(&edits));
        let rest = ["--all", "--no-proof", "--skip-problems"];
        let answer = folder.run(&[&["tags", "--changed", "--out", "changed", "--json"], &rest[..]].concat()).json();
        let changed = if answer["run"].is_null() { BTreeMap::new() } else { said(&folder, "changed") };
        folder.run(&[&["tags", "--changed"], &rest[..]].concat()).says("nothing has changed");
        // What is stale after that has nothing to hang on any more.
        let stale = &folder.run(&["check", "--json"]).json()["stale"]["tags"];
        for tag in stale.as_array().expect("a list") {
            prop_assert_eq!(&tag["what_to_do"], "take off", "{:?} {}", edits, tag);
        }
        folder.run(&[&["tags", "--out", "after"], &rest[..]].concat());
        let (before, after) = (said(&folder, "before"), said(&folder, "after"));
        let differ = after.into_iter().filter(|(name, says)| before.get(name) != Some(says));
        let differ: BTreeMap<_, _> = differ.collect();
        prop_assert_eq!(&changed, &differ, "{:?}\n{}", edits, edited(&edits));
    }
}

/// A list that is missing, or has lost its rows, says nothing of the tags of its ends; nor does a connector stay whole because
/// its other rows are not there.
#[test]
fn what_cannot_be_read_gives_no_verdicts() {
    let head = "connector,cavity,circuit,colour,action,diameter\n";
    let (one, two) =
        (format!("{head}J1,1,E1,RD,keep,2.4\nJ1,2,E2,GN,keep,2.4\n"), format!("{head}J1,3,E3,BU,cut,2.4\n"));
    let job = "[[list]]\nfile = \"one.csv\"\n[[list]]\nfile = \"two.csv\"\n";
    let folder = JobFolder::with(&[("job.toml", job), ("one.csv", &one), ("two.csv", &two)]);
    folder.done(&["tags", "--no-proof"]);
    for (text, code) in [(head, 0), ("", 1)] {
        folder.write("two.csv", text);
        let told = folder.run(&["check"]).ends_with(code);
        told.says("of ends in no row that could be read: leave them on").says_nothing_of("take off");
        folder.run(&["find", "E3"]).says_nothing_of("take off the");
        let arguments = ["tags", "--work", "--dry-run", "--skip-problems"];
        folder.run(&arguments).says_nothing_of("of connectors");
    }
    folder.write("two.csv", &two);
    folder.done(&["tags", "--changed"]).says("nothing has changed");
}
