//! `rename`: another designation, the same code.

use crate::kit::{JobFolder, SMALL_LIST, Tag};

/// The small job printed, and the code of `E14`.
fn printed() -> (JobFolder, String) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let code = code_at(&folder, "prints/run-0001", "J1/14");
    (folder, code)
}

fn code_at(folder: &JobFolder, run: &str, place: &str) -> String {
    folder.tags(run).iter().find(|tag| tag.place() == place).map(Tag::code).expect("printed")
}

fn rename_in_list(folder: &JobFolder, old: &str, new: &str) {
    folder.write("loom.csv", SMALL_LIST.replace(old, new));
}

#[test]
fn the_register_first_then_the_list() {
    let (folder, code) = printed();
    let answer = folder.done(&["rename", "E14", "S14"]);
    assert_eq!(
        answer.out,
        format!(
            "E14 is S14 now, its code stays {code}\nthe lists still say E14: write S14 at loom.csv:4, loom.csv:5\n"
        )
    );
    folder.done(&["rename", "e14", "S14"]).says(&format!("{code} is S14 already")).says("the lists still say E14");
    // Both names lead there, and the lists have the last word on tags.
    for name in ["E14", "S14", &code] {
        folder
            .done(&["find", name])
            .says("renamed S14, which the lists do not say yet")
            .says("renamed S14, before E14");
    }
    let check = folder.done(&["check"]);
    check.says("warning[old-designation]: circuit `E14` was renamed `S14`").says("loom.csv:4").says("write `S14`");
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(code_at(&folder, "prints/run-0002", "J1/14"), code);
    folder.done(&["find", "S14"]).says(&code).says("circuit E14, ").says("renamed S14, which");

    rename_in_list(&folder, "E14", "S14");
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(code_at(&folder, "prints/run-0003", "J1/14"), code);
    folder.done(&["find", "S14"]).says("circuit S14").says("before: E14").says_nothing_of("do not say yet");
    folder.done(&["check", "--brief"]).says_nothing_of("old-designation");
}

#[test]
fn the_list_first_then_the_register() {
    let (folder, code) = printed();
    rename_in_list(&folder, "E14", "S14");
    let answer = folder.done(&["rename", "E14", "S14"]);
    assert_eq!(answer.out, format!("E14 is S14 now, its code stays {code}\n"));
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(code_at(&folder, "prints/run-0002", "J1/14"), code);
}

#[test]
fn a_code_issued_meanwhile_names_it_too() {
    let (folder, code) = printed();
    rename_in_list(&folder, "E14", "S14");
    folder.done(&["tags", "--all", "--work"]);
    let meanwhile = code_at(&folder, "prints/run-0002", "J1/14");
    assert_ne!(meanwhile, code);
    // The other way round would go on with the wrong code.
    folder.run(&["rename", "S14", "E14"]).ends_with(1).says("`loomtag rename E14 S14` goes on with its code");
    let json = folder.done(&["rename", "E14", "S14", "--json"]).json();
    assert_eq!((json["code"].as_str(), json["joined"].as_str()), (Some(&*code), Some(&*meanwhile)));
    folder.done(&["find", &meanwhile]).says(&code).says("J2/3");
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(code_at(&folder, "prints/run-0003", "J1/14"), code);
    let letters = |run: &str| folder.tags(run).iter().find(|tag| tag.place() == "J2/3").map(Tag::name);
    assert_eq!(letters("prints/run-0003"), letters("prints/run-0001"));
}

#[test]
fn a_place_learns_its_name() {
    let (folder, _) = printed();
    let code = code_at(&folder, "prints/run-0001", "J2/9");
    folder
        .done(&["rename", "J2/9", "S9"])
        .says("J2/9 is S9 now")
        .says("the lists give it no designation: write S9 at loom.csv:8");
    folder.done(&["find", "S9"]).says(&code);
    folder.write("loom.csv", SMALL_LIST.replace("J2,9,,", "J2,9,S9,"));
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(code_at(&folder, "prints/run-0002", "J2/9"), code);
    // By the place of an end of a circuit that has a name, and by its code.
    folder.done(&["rename", "J1/1", "P65"]).says("E65 is P65 now");
    folder.done(&["rename", &code.to_lowercase(), "S9A"]).says("S9 is S9A now");
}

#[test]
fn what_cannot_be_renamed_is_told() {
    let (folder, _) = printed();
    let refused = |old: &str, new: &str, why: &str| {
        folder.run(&["rename", old, new]).ends_with(1).says("nothing is renamed: ").says(why);
    };
    refused("E14", "E33", "the lists have `E14` and `E33` as two circuits");
    refused("E14", "J1/1", "it is a place");
    refused("E14", " ", "it is empty");
    refused("E14", "E\n15", "a line break");
    refused("windlass", "E15", "`windlass` is no circuit, code or place of this job");
    folder.done(&["rename", "E14", "E14"]).says("is E14 already");
    let json = folder.run(&["rename", "E14", "E33", "--json"]).ends_with(1).json();
    assert_eq!(json["renamed"], false);
    let unprinted = JobFolder::small();
    unprinted.run(&["rename", "E14", "S14"]).ends_with(1).says("no code was issued for `E14` yet");
    assert_eq!(unprinted.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn what_has_no_place_in_common_is_renamed_on_request_only() {
    let (folder, code) = printed();
    // The row of E33 is taken away, and another circuit comes.
    folder.write("loom.csv", SMALL_LIST.replace("J2,5,E33", "J4,1,S33"));
    folder.run(&["rename", "E33", "S33"]).ends_with(1).says("no place in common").says("--sure");
    folder.done(&["rename", "E33", "S33", "--sure"]).says("E33 is S33 now");
    // Other case, and back again.
    folder.done(&["rename", "E14", "e14"]).says(&format!("E14 is e14 now, its code stays {code}"));
    folder.done(&["rename", "e14", "E14"]).says(&code);
    folder.done(&["check", "--brief"]).says_nothing_of("old-designation");
}

#[test]
fn a_former_name_leads_to_the_circuit() {
    let (folder, code) = printed();
    folder.done(&["rename", "E14", "S14"]);
    rename_in_list(&folder, "E14", "S14");
    folder.done(&["tags", "--all", "--work"]);
    folder.done(&["rename", "E14", "T14"]).says("S14 is T14 now").says(&code);
    // A name that is free again is given to another circuit.
    folder.done(&["rename", "E33", "E14"]).says("E33 is E14 now");
}

/// The row of `J1/14` put right.
fn move_in_list(folder: &JobFolder) {
    folder.write("loom.csv", SMALL_LIST.replace("J1,14,", "J1,15,"));
}

/// `FQGB A` of the tag at a place.
fn name_at(folder: &JobFolder, run: &str, place: &str) -> String {
    folder.tags(run).iter().find(|tag| tag.place() == place).map(Tag::name).expect("printed")
}

/// A wire was found in another cavity, noted, and its row put right: it is the same end, with its notes, and its tag is stale only
/// in the place that it says.
#[test]
fn a_noted_place_takes_the_end_along() {
    let (folder, _) = printed();
    let name = name_at(&folder, "prints/run-0001", "J1/14");
    folder.done(&["note", "J1/14", "done", "cut", "sauber"]);
    folder.done(&["note", "J1/14", "found", "place", "j1/15"]);
    folder.done(&["check"]).says("found-otherwise").says("the end keeps its letter and its notes");
    move_in_list(&folder);
    folder
        .done(&["check"])
        .says_nothing_of("found-otherwise")
        .says_nothing_of("likely-moved")
        .says_nothing_of("take off");
    folder.done(&["find", "J1/15"]).says("sauber").says("no longer tells the truth");
    folder.done(&["tags", "--changed"]);
    assert_eq!(name_at(&folder, "prints/run-0002", "J1/15"), name);
}

/// The same without a note: told as likely, and kept by one command, before or after another letter was issued.
#[test]
fn a_place_is_renamed_in_any_order() {
    // The list first.
    let (folder, _) = printed();
    let name = name_at(&folder, "prints/run-0001", "J1/14");
    move_in_list(&folder);
    folder.done(&["check"]).says("likely-moved").says("loomtag rename J1/14 J1/15");
    folder.done(&["rename", "J1/14", "J1/15"]).says(&format!("J1/14 is J1/15 now, and stays {name}"));
    folder.done(&["rename", "J1/15", "J1/15"]).says("already");
    folder.done(&["check"]).says_nothing_of("likely-moved").says_nothing_of("take off");
    folder.done(&["tags", "--changed"]);
    assert_eq!(name_at(&folder, "prints/run-0002", "J1/15"), name);

    // The command first.
    let (folder, _) = printed();
    folder.done(&["rename", "J1/14", "J1/15"]).says("the lists still say J1/14: write J1/15 at loom.csv:4");
    move_in_list(&folder);
    folder.done(&["tags", "--changed"]);
    assert_eq!(name_at(&folder, "prints/run-0002", "J1/15"), name);

    // A letter was issued meanwhile, and printed: both name one end.
    let (folder, _) = printed();
    move_in_list(&folder);
    folder.done(&["tags", "--all", "--work"]);
    let other = name_at(&folder, "prints/run-0002", "J1/15");
    assert_ne!(other, name);
    folder.done(&["rename", "J1/14", "J1/15"]).says(&format!("{other}, issued for J1/15 meanwhile, names it too"));
    folder.done(&["tags", "--all", "--work"]);
    assert_eq!(name_at(&folder, "prints/run-0003", "J1/15"), name);
    folder.done(&["find", &other]).says("J1/15").says(&format!("also marked {other}"));
    folder.done(&["check"]).says_nothing_of("take off");
}

/// A circuit without a designation is known by its place, and keeps its code in another one.
#[test]
fn a_circuit_named_by_place_keeps_its_code() {
    for issued_meanwhile in [false, true] {
        let (folder, _) = printed();
        let name = name_at(&folder, "prints/run-0001", "J2/9");
        folder.write("loom.csv", SMALL_LIST.replace("J2,9,", "J2,8,"));
        if issued_meanwhile {
            folder.done(&["tags", "--all", "--work"]);
        }
        folder.done(&["rename", "J2/9", "J2/8"]).says(&format!("J2/9 is J2/8 now, and stays {name}"));
        folder.done(&["tags", "--all", "--work"]);
        let run = if issued_meanwhile { "prints/run-0003" } else { "prints/run-0002" };
        assert_eq!(name_at(&folder, run, "J2/8"), name);
    }
}

/// Two ends never become one.
#[test]
fn a_place_of_another_is_refused() {
    let (folder, _) = printed();
    folder.run(&["rename", "J1/14", "J1/1"]).ends_with(1).says("J1/1").says("put both rows right first");
    folder.run(&["rename", "J1/14", "J2/3"]).ends_with(1).says("as two ends");
    // Both were in the lists at one time.
    folder.write("loom.csv", SMALL_LIST.replace("J1,14,E14,rail pressure signal,BU/WH,0.5,signal,,cut,680,2.4\n", ""));
    folder.run(&["rename", "J1/14", "J2/3"]).ends_with(1).says("two ends never become one");
}
