//! `sheets`: the paper that lies beside the connector, read back by pdftotext and pdfinfo.

use crate::kit::{JobFolder, program, text};

/// The text of a PDF of a job, page by page, columns kept apart.
fn pages(folder: &JobFolder, name: &str) -> Vec<String> {
    let path = folder.path().join(name);
    let all = program("pdftotext", &["-layout", &path.to_string_lossy(), "-"]);
    all.trim_end_matches('\u{c}').split('\u{c}').map(str::to_owned).collect()
}

#[test]
fn every_page_says_of_what_job_and_day_it_is() {
    let folder = JobFolder::example();
    let json = folder.done(&["sheets", "--json"]).json();
    let file = text(&json["file"]);
    assert!(file.ends_with("sheets/bench.pdf"), "{file}");
    let pages = pages(&folder, "sheets/bench.pdf");
    assert_eq!(Some(pages.len() as u64), json["pages"].as_u64());
    for page in &pages {
        assert!(page.contains("Marsh Hen repower · 2"), "{page}");
        assert!(page.contains("before the first print run"), "{page}");
        assert!(page.contains(": page "), "{page}");
    }
    let mut at = 0;
    for sheet in json["sheets"].as_array().expect("sheets") {
        let count = sheet["pages"].as_u64().expect("pages") as usize;
        for (nth, page) in pages[at..at + count].iter().enumerate() {
            let number = format!("{}: page {} of {count}", text(&sheet["sort"]), nth + 1);
            assert!(page.contains(&number), "{number}\n{page}");
        }
        at += count;
    }
    assert_eq!(at, pages.len());
}

/// What stands on paper never changes: codes are issued, and are those of the tags.
#[test]
fn codes_of_sheets_are_those_of_tags() {
    let folder = JobFolder::small();
    folder.done(&["sheets"]);
    let before = folder.done(&["find", "J1/14", "--json"]).json();
    folder.done(&["tags", "--work"]);
    let after = folder.done(&["find", "J1/14", "--json"]).json();
    assert_eq!(text(&before["found"][0]["record"]["code"]), text(&after["found"][0]["record"]["code"]));
    folder.done(&["sheets", "--json"]);
    assert!(pages(&folder, "sheets/bench.pdf")[0].contains("after print run 1"));
}

#[test]
fn the_same_day_gives_the_same_bytes() {
    let folder = JobFolder::example();
    folder.done(&["sheets", "--out", "one.pdf"]);
    folder.done(&["sheets", "--out", "two.pdf"]);
    assert!(folder.bytes("one.pdf") == folder.bytes("two.pdf"));
}

#[test]
fn letter_paper_is_letter_paper() {
    let folder = JobFolder::example();
    folder.done(&["sheets", "--only", "overview", "--paper", "letter", "--out", "own/letter.pdf"]);
    let told = program("pdfinfo", &[&folder.path().join("own/letter.pdf").to_string_lossy()]);
    assert!(told.contains("612 x 792 pts (letter)"), "{told}");
}

#[test]
fn what_names_nothing_is_told() {
    let folder = JobFolder::example();
    folder
        .run(&["sheets", "--connector", "J11"])
        .ends_with(2)
        .says("no list names a connector `J11`")
        .says("did you mean `B11`?");
    folder.run(&["sheets", "--only", "faced"]).ends_with(2).says("faced");
    assert!(!folder.names().iter().any(|name| name.starts_with("sheets")), "nothing is written");
}

#[test]
fn errors_in_lists_withhold_sheets() {
    let folder = JobFolder::small().and("more.csv", "connector,cavity,action\nJ9,1,chop\nJ9,2,cut\n");
    folder.run(&["sheets"]).ends_with(1).says("`chop` is no action");
    assert!(!folder.names().iter().any(|name| name.starts_with("sheets")), "nothing is written");
    folder.done(&["sheets", "--skip-problems"]).says("left out of all sheets: more.csv:2");
}

/// Read as a person reads it: where a wire comes from and goes to, what is done, what is open.
#[test]
fn a_work_list_tells_what_to_do_and_what_is_done() {
    let folder = JobFolder::example();
    folder.done(&["sheets"]);
    folder.done(&["note", "P7/1", "done", "tagged", "cut", "capped", "sealed", "terminated"]);
    folder.done(&["note", "P7/9", "found", "colour", "GN/WH"]);
    let list = |connector: &str| {
        folder.done(&["sheets", "--only", "work-lists", "--connector", connector, "--out", "list.pdf"]);
        pages(&folder, "list.pdf").join("\n")
    };
    let p7 = list("P7");
    for words in [
        "RESTRAINT DO NOT CUT",
        "LIVE WITH BATTERY ON: CAP THIS END",
        "No mark does not mean dead: test.",
        "done: cut",
        "FOUND colour GN/WH, note 6",
        "Cavities that no list names: 6 7 8 15 16.",
        "Cavity plugs: 6, type not named in connectors.csv, for 1 3 4 5 9 11.",
    ] {
        assert!(p7.contains(words), "{words}\n{p7}");
    }
    // No wire ends in S90 as yet.
    let s90 = list("S90");
    assert!(s90.contains("arrives from S53/1"), "{s90}");
    folder.done(&["sheets", "--only", "branches", "--out", "legs.pdf"]);
    let legs = pages(&folder, "legs.pdf").join("\n");
    assert!(legs.contains("DONOR-BODY") && legs.contains("wires left"), "{legs}");
}
