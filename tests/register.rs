//! Codes and letters stay, whatever happens to the lists round them; and what is printed once is never printed over.

use std::collections::BTreeMap;

use crate::kit::{JobFolder, SMALL_LIST, Tag};

/// The name of the tag at each place, `7KF4 A`; a doubled cavity or a stud has several.
fn names(folder: &JobFolder, run: &str) -> BTreeMap<String, Vec<String>> {
    folder.done(&["tags", "--all", "--work", "--no-connectors", "--no-proof", "--out", run]);
    let mut names: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for tag in folder.tags(run) {
        names.entry(tag.place()).or_default().push(tag.name());
    }
    names
}

fn rows() -> Vec<&'static str> {
    SMALL_LIST.lines().collect()
}

fn list(rows: &[&str]) -> String {
    rows.iter().map(|row| format!("{row}\n")).collect()
}

#[test]
fn rows_put_in_between_change_nothing() {
    let folder = JobFolder::small();
    let before = names(&folder, "one");
    let mut rows = rows();
    for (at, row) in
        [(1, "J0,1,A01,horn,WH,0.5,,,,,"), (3, "J1,3,E02,stop,GN,0.5,,,,,"), (5, "J1,15,E13,start,RD,1.5,,,,,")]
    {
        rows.insert(at, row);
    }
    folder.write("loom.csv", list(&rows));
    let after = names(&folder, "two");
    assert_eq!(after.len(), before.len() + 3);
    for (place, name) in &before {
        assert_eq!(after[place], *name, "{place}");
    }
    let codes = |names: &BTreeMap<String, Vec<String>>| {
        let mut codes: Vec<String> = names.values().flatten().map(|name| name[..4].to_owned()).collect();
        codes.sort();
        codes.dedup();
        codes.len()
    };
    assert_eq!(codes(&after), codes(&before) + 3, "new circuits have codes of their own");
}

#[test]
fn the_order_of_rows_and_lists_does_not_matter() {
    let folder = JobFolder::small();
    let before = names(&folder, "one");
    let rows = rows();
    let mut sorted = rows[1..].to_vec();
    sorted.sort_by(|a, b| b.cmp(a));
    sorted.insert(0, rows[0]);
    folder.write("loom.csv", list(&sorted));
    assert_eq!(names(&folder, "two"), before);
    // Nor does it for a register that is still empty.
    assert_eq!(names(&JobFolder::small().and("loom.csv", &list(&sorted)), "one"), before);
    // Two lists instead of one.
    folder.write("a-other.csv", list(&[&[rows[0]], &rows[4..]].concat()));
    folder.write("loom.csv", list(&rows[..4]));
    assert_eq!(names(&folder, "three"), before);
}

#[test]
fn what_is_removed_and_comes_back_has_its_code_again() {
    let folder = JobFolder::small();
    let before = names(&folder, "one");
    let mut rows = rows();
    let gone = rows.remove(3);
    assert!(gone.starts_with("J1,14,"));
    let others = rows.iter().position(|row| row.starts_with("J2,3,")).expect("it is there");
    rows.remove(others);
    rows.push("J3,1,N01,new lamp,WH,0.5,,,add,,2");
    folder.write("loom.csv", list(&rows));
    let without = names(&folder, "two");
    assert!(!without.contains_key("J1/14"));
    let old_code = &before["J1/14"][0][..4];
    assert!(without.values().flatten().all(|name| !name.starts_with(old_code)), "the code is never issued again");
    // It is still known.
    folder.done(&["find", old_code]).says("not in the lists any more");
    folder.write("loom.csv", SMALL_LIST);
    assert_eq!(names(&folder, "three"), before);
}

#[test]
fn a_circuit_that_gets_its_name_keeps_its_code() {
    let folder = JobFolder::small();
    let before = names(&folder, "one");
    folder.write("loom.csv", SMALL_LIST.replace("J2,9,,,GY", "J2,9,C47,tank sender,GY"));
    assert_eq!(names(&folder, "two"), before);
    folder.done(&["find", "C47"]).says(&before["J2/9"][0][..4]).says("tank sender");
}

#[test]
fn a_far_end_that_is_found_gets_the_next_letter() {
    let folder = JobFolder::small();
    let before = names(&folder, "one");
    assert!(before["J1/1"][0].ends_with(" A"));
    let learnt = SMALL_LIST.replace("J1,1,E65", "A40,2,E65,,RD/BK,4.0,,,keep,,3.9\nJ1,1,E65");
    folder.write("loom.csv", &learnt);
    let after = names(&folder, "two");
    assert_eq!(after["J1/1"], before["J1/1"], "the tag that hangs there stays right");
    assert_eq!(after["A40/2"], [before["J1/1"][0].replace(" A", " B")]);
}

#[test]
fn check_shows_the_codes_that_will_be_issued() {
    let folder = JobFolder::small();
    let shown = folder.done(&["check", "--all", "--work", "--json"]).json();
    let shown: BTreeMap<String, Vec<String>> = shown["fits"].as_array().expect("a list").iter().fold(
        BTreeMap::new(),
        |mut names: BTreeMap<String, Vec<String>>, fit| {
            names.entry(crate::kit::text(&fit["place"])).or_default().push(crate::kit::text(&fit["tag"]));
            names
        },
    );
    assert_eq!(names(&folder, "one"), shown);
}

#[test]
fn a_print_run_that_fails_has_issued_its_codes_for_ever() {
    let folder = JobFolder::small();
    folder.run(&["tags", "--all", "--work", "--out", "loom.csv"]).ends_with(2);
    let rows = ["J0,1,A00,first of all,WH,0.5,,,,,"];
    let list = SMALL_LIST.replacen('\n', &format!("\n{}\n", rows[0]), 1);
    let whole = names(&JobFolder::small(), "one");
    folder.write("loom.csv", list);
    let after = names(&folder, "one");
    assert!(whole.iter().all(|(place, name)| after[place] == *name), "{after:?}");
}

/// The same folder and arguments, and a register that begins anew: the same bytes.
#[test]
fn the_same_job_gives_the_same_bytes() {
    let (one, other) = (JobFolder::example(), JobFolder::example());
    for folder in [&one, &other] {
        folder.done(&["tags", "--no-proof", "--out", "out"]);
    }
    let files = one.names().into_iter().filter(|name| name.starts_with("out/"));
    let mut count = 0;
    for file in files {
        assert!(one.bytes(&file) == other.bytes(&file), "{file} differs");
        count += 1;
    }
    assert!(count >= 4, "{count} files");
}

#[test]
fn a_run_is_never_printed_over() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]);
    folder.done(&["tags", "--work"]);
    let is_run = |name: &String| name.starts_with("prints/") && name.matches('/').count() == 1;
    assert_eq!(folder.names().iter().filter(|name| is_run(name)).count(), 2);
    // A register that is lost is not begun anew while runs are there; nor would a new one print over PDFs.
    std::fs::remove_file(folder.path().join("register.db")).expect("removed");
    folder.run(&["tags", "--work"]).ends_with(2).says("is gone or empty").says("loomtag import");
    for run in ["prints/run-0001", "prints/run-0002"] {
        std::fs::remove_file(folder.path().join(run).join("run.json")).expect("removed");
    }
    folder.done(&["tags", "--work", "--connector", "J2"]);
    let runs: Vec<String> = folder.names().into_iter().filter(is_run).collect();
    assert_eq!(runs, ["prints/run-0001", "prints/run-0001-2", "prints/run-0002"]);
}

#[test]
fn each_wire_of_a_stud_has_a_letter_of_its_own() {
    let list = format!("{SMALL_LIST}G2,,E70,,BK,2.5,ground,,cut,,3.1\nG2,,E70,,BN,1.0,ground,,cut,,2.2\n");
    let folder = JobFolder::small().and("loom.csv", &list);
    let names = names(&folder, "one");
    assert_eq!(names["G2"].len(), 3, "{names:?}");
    let mut rows: Vec<&str> = list.lines().collect();
    rows[1..].reverse();
    let reversed = JobFolder::small().and("loom.csv", &self::list(&rows));
    let sorted = |mut names: Vec<String>| {
        names.sort();
        names
    };
    assert_eq!(sorted(self::names(&reversed, "one")["G2"].clone()), sorted(names["G2"].clone()));
}

#[test]
fn codes_are_safe_to_read_aloud() {
    let folder = JobFolder::example();
    // A thick ground has no room on a flag: a plate stands in, and that is told.
    let arguments = ["tags", "--all", "--work", "--no-connectors", "--no-proof", "--out", "out"];
    folder.done(&arguments).says("1 tie-on instead of a flag: ");
    let mut codes: Vec<String> = folder.tags("out").iter().map(Tag::code).collect();
    codes.sort();
    codes.dedup();
    assert!(codes.len() >= 90, "{}", codes.len());
    for code in &codes {
        assert!(code.len() == 4 && code.chars().all(|c| "2346789ABCDEFGHJKMNPQRTUVWXYZ".contains(c)), "{code}");
        // No two differ by one character only, so that a misread one is noticed.
        let near =
            |other: &&String| *other != code && other.chars().zip(code.chars()).filter(|(a, b)| a != b).count() < 2;
        assert_eq!(codes.iter().find(near), None, "{code}");
    }
}
