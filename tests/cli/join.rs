//! `join`: two codes that prove to be one circuit.

use crate::kit::{JobFolder, Tag};

/// The small job printed, with the codes of two circuits of one end each.
fn printed() -> (JobFolder, String, String) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    let code = |place: &str| tags.iter().find(|tag| tag.place() == place).map(Tag::code).expect("printed");
    let (keep, other) = (code("J2/5"), code("J2/9"));
    (folder, keep, other)
}

#[test]
fn both_codes_stay_valid_and_the_first_is_printed() {
    let (folder, keep, other) = printed();
    folder.done(&["join", &keep.to_lowercase(), &other]).says("one circuit").says("both stay valid");
    for code in [&keep, &other] {
        folder.done(&["find", code]).says("J2/5").says("J2/9").says(&keep).says(&other);
    }
    folder.done(&["reprint", &other]);
    let again = folder.tags("prints/run-0002");
    assert_eq!(again.iter().map(Tag::place).collect::<Vec<_>>(), ["J2/5", "J2/9"]);
    assert!(again.iter().all(|tag| tag.code() == keep), "{again:?}");
    let names: std::collections::BTreeSet<String> = again.iter().map(Tag::name).collect();
    assert_eq!(names.len(), 2, "each end has a letter of its own");
}

/// Joining cannot be undone: what the lists have as two circuits is not joined by a slip.
#[test]
fn what_the_lists_keep_apart_is_joined_on_request_only() {
    let (folder, other, by_place) = printed();
    let tags = folder.tags("prints/run-0001");
    let keep = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    let answer = folder.run(&["join", &keep, &other]).ends_with(1);
    answer
        .says(&format!("{keep}  rail pressure signal, circuit E14, blue, white stripe, J1/14, J2/3\n"))
        .says("not joined: the lists have them as two circuits, `E14` and `E33`")
        .says("not joined: one is blue, white stripe, the other red, blue stripe")
        .says("--sure joins them all the same");
    let json = folder.run(&["join", &keep, &other, "--json"]).ends_with(1).json();
    assert_eq!((&json["joined_now"], json["objections"].as_array().expect("a list").len()), (&false.into(), 2));
    folder.done(&["find", &keep, &other]).says("different circuits");
    // What is known by its place alone only learns.
    folder.done(&["join", &other, &by_place]).says(&format!("{other}  exhaust flap, circuit E33")).says("one circuit");
    folder.done(&["join", &keep, &other, "--sure"]).says("one circuit");
    folder.done(&["find", &keep, &by_place]).says("the same circuit");
}

#[test]
fn joining_twice_is_no_fault() {
    let (folder, keep, other) = printed();
    folder.done(&["join", &keep, &other]);
    folder.done(&["join", &keep, &other]).says("already");
    let json = folder.done(&["join", &other, &keep, "--json"]).json();
    assert_eq!(json, serde_json::json!({ "printed": keep, "joined_now": false }));
}

#[test]
fn what_cannot_be_joined_is_told() {
    let (folder, keep, _) = printed();
    folder.run(&["join", &keep, "7KF5"]).ends_with(2).says("`7KF5` is not a code");
    folder.run(&["join", &keep, "HELLO"]).ends_with(2).says("`HELLO` is not a code");
    // A code may fit and still never have been issued here.
    folder.run(&["join", &keep, "7KF4"]).ends_with(2).says("7KF4").says("help: ");
    let empty = JobFolder::small();
    empty.run(&["join", "7KF4", "2AA6"]).ends_with(2).says("no code was issued");
    assert_eq!(empty.names(), ["job.toml", "loom.csv"]);
}
