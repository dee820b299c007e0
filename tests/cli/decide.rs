//! `decide`: what shall be done with ends, beside the lists.

use crate::kit::{JobFolder, SMALL_LIST, text};

/// The action of a place, as `find` tells it.
fn plan(folder: &JobFolder, place: &str) -> (String, Option<String>) {
    let found = folder.done(&["find", place, "--json"]).json();
    let record = &found["found"][0]["record"];
    let ends = record["ends"].as_array().expect("ends");
    let end = ends.iter().find(|end| end["here"] == place).unwrap_or_else(|| panic!("{found}"));
    (text(&end["action"]), end["decided_by"].as_str().map(str::to_owned))
}

#[test]
fn a_decision_counts_until_it_is_taken_back_and_the_list_stays() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]);
    let answer = folder.done(&["decide", "J2/3", "cut", "--note", "cap it"]);
    answer.says("decision 1: ").says("at J2/3, rail pressure signal").says(": cut, before keep (the list says keep)");
    let (action, by) = plan(&folder, "J2/3");
    assert_eq!(action, "cut");
    assert!(by.is_some_and(|by| by.starts_with("a decision of ") && by.ends_with("; the list says keep")));
    folder.done(&["find", "J2/3"]).says("note: cap it (the list says nothing)");
    assert_eq!(folder.bytes("loom.csv"), SMALL_LIST.as_bytes());
    folder.done(&["decide", "--list"]).says("cut").says("the list says").says("loom.csv:5").says("counts");
    let csv = folder.done(&["decide", "--csv"]).out;
    assert!(csv.lines().any(|line| line == "J2/3,E14,cut,cap it,keep,,loom.csv:5"), "{csv}");
    // The export carries it, and so does a register that is put together again from it.
    folder.done(&["export", "kept"]);
    std::fs::remove_file(folder.path().join("register.db")).expect("removed");
    folder.done(&["import", "kept"]);
    assert_eq!(plan(&folder, "J2/3").0, "cut");
    folder
        .done(&["decide", "--undo"])
        .says("decision 1 is taken back")
        .says("decision 2 is taken back")
        .says("now J2/3: `keep`, as the list says");
    assert_eq!(plan(&folder, "J2/3"), ("keep".to_owned(), None));
    folder.done(&["decide", "--list"]).says("nothing is decided beside the lists");
    folder.done(&["decide", "--list", "--all"]).says("taken back by 3").says("takes 1 back");
    folder.run(&["decide", "--undo"]).ends_with(2);
}

#[test]
fn connectors_are_decided_as_a_whole_and_only_what_is_open() {
    let folder = JobFolder::small();
    let answer = folder.done(&["decide", "--connector", "J2", "keep", "--undecided-only", "--json"]).json();
    let places: Vec<String> =
        answer["decided"].as_array().expect("a list").iter().map(|one| text(&one["place"])).collect();
    assert_eq!(places, ["J2/9"]);
    assert_ne!(answer["issued"], 0, "codes are issued as for tags");
    let cut = folder.done(&["decide", "--connector", "J2", "cut", "--json"]).json();
    assert_eq!((&cut["act"], cut["decided"].as_array().map(Vec::len)), (&2.into(), Some(3)));
    folder.done(&["decide", "J2/9", "list"]).says("undecided, before cut (as the list says)");
}

#[test]
fn tags_follow_and_stale_ones_are_counted() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    folder.done(&["decide", "J2/5", "move", "J1/7"]).says("move to J1/7, before remove").says("on wires no longer");
    folder.done(&["check"]).says("tags --changed");
    folder.done(&["decide", "J1/1", "reserve"]).says("! LIVE WITH BATTERY ON");
}

#[test]
fn what_cannot_be_followed_is_told_with_a_remedy() {
    let folder = JobFolder::small();
    for (words, code, said) in [
        (&["J1/1", "cutt"][..], 2, "did you mean `cut`?"),
        (&["J1/1", "move"], 2, "name the one it moves to"),
        (&["J1/1"], 2, "nothing is said of it"),
        (&["J7/1", "keep"], 1, "is neither a code nor a place"),
    ] {
        let answer = folder.run(&[&["decide"], words].concat()).ends_with(code);
        assert!(answer.out.contains(said) || answer.err.contains(said), "{words:?}: {}{}", answer.out, answer.err);
    }
    assert!(!folder.names().contains(&"register.db".to_owned()), "nothing is issued where nothing is decided");
}
