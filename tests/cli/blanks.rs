//! `blanks`: coded tags that belong to nothing yet.

use crate::kit::{JobFolder, Tag, program, text};

fn codes(tags: &[Tag]) -> Vec<String> {
    tags.iter().map(Tag::code).collect()
}

#[test]
fn blanks_have_a_code_a_symbol_and_lines_to_write_on() {
    let folder = JobFolder::small();
    let answer = folder.done(&["blanks", "5"]);
    answer
        .says("5 of 5 symbols read back")
        .says("5 flags")
        .says("5 blank")
        .says("wires of 3 mm")
        .says("loomtag assign");
    let tags = folder.tags("prints/run-0001");
    assert_eq!(tags.len(), 5);
    for tag in &tags {
        assert_eq!((tag.place(), tag.name()), (String::new(), tag.code()), "no place, no letter");
        assert_eq!(tag.says(), Some(format!("HTTP://MARSHHEN.LOCAL:7117/{}", tag.code())));
        assert_eq!(tag.words(), ["________"; 4], "function, here, there, colour");
        assert_eq!((text(&tag.json["kind"]), tag.json["circuit"].is_null()), ("flag".to_owned(), true));
    }
    // What is printed next takes the next codes of the same row.
    folder.done(&["tags", "--all", "--work", "--no-connectors"]);
    let issued = codes(&folder.tags("prints/run-0002"));
    folder.done(&["blanks", "2", "--no-proof"]);
    let more = codes(&folder.tags("prints/run-0003"));
    assert!(issued.iter().chain(&more).all(|code| !codes(&tags).contains(code)));
    assert!(more.iter().all(|code| !issued.contains(code)));
}

#[test]
fn an_independent_reader_reads_their_symbols() {
    let folder = JobFolder::small();
    folder.done(&["blanks", "4"]);
    let tags = folder.tags("prints/run-0001");
    let pdf = folder.path().join("prints/run-0001").join(&tags[0].file);
    let picture = folder.path().join("page");
    program("pdftoppm", &["-r", "600", "-png", "-singlefile", &pdf.to_string_lossy(), &picture.to_string_lossy()]);
    let read = program("zbarimg", &["--raw", "-q", &picture.with_extension("png").to_string_lossy()]);
    for tag in &tags {
        assert!(read.lines().any(|line| Some(line.to_owned()) == tag.says()), "{} is missing in {read}", tag.code());
    }
}

#[test]
fn other_kinds_hold_them_too() {
    let folder = JobFolder::small();
    folder.done(&["blanks", "3", "--kind", "tie-on"]).says("3 tie-ons").says_nothing_of("wires of 3 mm");
    assert!(folder.tags("prints/run-0001").iter().all(|tag| tag.words().len() == 4));
    // There is no stock for wraps in this job, and no wrap without a diameter.
    folder
        .run(&["blanks", "3", "--kind", "wrap"])
        .ends_with(1)
        .says("no blanks: ")
        .says("wrap_stock")
        .says("no code was issued");
    let job =
        String::from_utf8(folder.bytes("job.toml")).expect("text") + "\n[tags]\nwrap_stock = \"a4-49-25x38-wrap13\"\n";
    folder.write("job.toml", job);
    folder.run(&["blanks", "3", "--kind", "wrap"]).ends_with(1).says("--diameter").says("no code was issued");
    folder.done(&["blanks", "3", "--kind", "wrap", "--diameter", "6"]).says("3 wraps");
    folder.run(&["blanks", "3", "--diameter", "400"]).ends_with(2).says("`--diameter` cannot be 400 mm");
    assert_eq!(folder.done(&["blanks", "--json"]).json().as_array().expect("a list").len(), 6);
}

#[test]
fn a_number_that_cannot_be_meant_is_refused() {
    let folder = JobFolder::small();
    for number in ["0", "501", "many"] {
        folder.run(&["blanks", number]).ends_with(2).says("invalid value").says(number);
    }
    folder.run(&["blanks", "--kind", "flag"]).ends_with(2).says("Usage");
    folder.run(&["blanks", "3", "--kind", "sleeve"]).ends_with(2).says("[possible values: flag, wrap, tie-on]");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn codes_for_a_marker_pen_are_listed_and_registered() {
    let folder = JobFolder::small();
    let answer = folder.done(&["blanks", "6", "--list"]).says("FQGB  Foxtrot Quebec Golf Bravo").says("strike it out");
    let rows: Vec<&str> = answer.out.lines().filter(|line| !line.is_empty()).collect();
    assert_eq!(rows.len(), 6);
    let starts: std::collections::BTreeSet<Option<usize>> = rows.iter().map(|row| row.find("____")).collect();
    assert_eq!(starts.len(), 1, "aligned:\n{}", answer.out);
    let json = folder.done(&["blanks", "2", "--list", "--json"]).json();
    assert_eq!(json["codes"].as_array().expect("a list").len(), 2);
    // They stand in a run.json, so that a lost register does not issue them again.
    assert_eq!(folder.json("prints/run-0001/run.json")["listed"].as_array().expect("a list").len(), 6);
    std::fs::remove_file(folder.path().join("register.db")).expect("it is there");
    folder.run(&["blanks", "1", "--list"]).ends_with(2).says("loomtag import");
    folder.done(&["import"]);
    let codes = folder.done(&["blanks", "1", "--list", "--json"]).json()["codes"][0].clone();
    assert!(
        !answer.out.contains(codes.as_str().expect("a code"))
            && !json["codes"].to_string().contains(&codes.to_string())
    );
    folder
        .done(&["find", codes.as_str().expect("a code")])
        .says("is a blank, listed 2")
        .says("for a marker pen, not assigned yet");
    folder.done(&["blanks"]).says("9 blanks not assigned yet");
}

#[test]
fn without_a_number_they_are_listed() {
    let folder = JobFolder::small();
    folder.done(&["blanks"]).says("no blanks yet");
    assert_eq!(folder.names(), ["job.toml", "loom.csv"], "nothing is made to look");
    folder.done(&["blanks", "3"]);
    folder.done(&["assign", "RTCQ", "J1/14"]);
    let answer = folder.done(&["blanks"]).says("2 blanks not assigned yet").says("in run 1").says("1 blank assigned");
    assert!(answer.out.contains("\n  RTCQ  E14      J1/14  2"), "{}", answer.out);
    let json = folder.done(&["blanks", "--json"]).json();
    assert_eq!((&json[0]["code"], &json[0]["run"], &json[0]["assigned"]), (&"FQGB".into(), &1.into(), &().into()));
    assert_eq!((&json[1]["assigned"]["circuit"], &json[1]["assigned"]["end"]), (&"E14".into(), &"RTCQ A".into()));
    folder.done(&["check", "--brief"]).says("2 blanks not assigned yet");
    assert_eq!(folder.done(&["check", "--json"]).json()["blanks_not_assigned"], 2);
}

#[test]
fn an_unassigned_one_says_so_wherever_it_is_met() {
    let folder = JobFolder::small();
    folder.done(&["blanks", "2"]);
    let tags = folder.tags("prints/run-0001");
    let said = "FQGB is a blank, printed 2";
    folder.done(&["find", "fqgb"]).says(said).says("in run 1, not assigned yet: `loomtag assign FQGB");
    folder.done(&["find", "FQGB", "RTCQ"]).says(said).says("RTCQ is a blank");
    assert_eq!(folder.done(&["find", "FQGB", "--json"]).json()["blanks"][0], "FQGB");
    folder.run(&["find", "FQGC"]).ends_with(1).says("FQGB  a blank, not assigned yet");
    let pdf = format!("prints/run-0001/{}", tags[0].file);
    let answer = folder.done(&["scan", &pdf]).says(said).says("RTCQ is a blank").says_nothing_of("DOUBT");
    assert!(!answer.out.contains("never issued"), "{}", answer.out);
    let json = folder.done(&["scan", &pdf, "--json"]).json();
    assert_eq!((&json["tags"][0]["answer"]["scan"], &json["tags"][0]["doubt"]), (&"blank".into(), &().into()));
    folder.run(&["join", "FQGB", "RTCQ"]).ends_with(2).says("`FQGB` is a blank").says("loomtag assign");
}

/// Every job issues the same codes: a tag of another job is in doubt, although the code is a blank here.
#[test]
fn a_tag_of_another_job_is_in_doubt() {
    let other = JobFolder::small();
    other.write("job.toml", "title = \"Another\"\n[payload]\nbase = \"HTTP://ELSEWHERE.EXAMPLE\"\n");
    other.done(&["blanks", "1"]);
    let file = other.tags("prints/run-0001").remove(0).file;
    let folder = JobFolder::small();
    folder.done(&["blanks", "1"]);
    folder.write("other.pdf", other.bytes(&format!("prints/run-0001/{file}")));
    folder.run(&["scan", "other.pdf"]).ends_with(1).says("DOUBT: ").says("FQGB is a blank");
}

#[test]
fn a_blank_is_printed_again() {
    let folder = JobFolder::small();
    folder.done(&["blanks", "2", "--kind", "tie-on"]);
    folder.done(&["reprint", "rtcq"]).says("1 tie-on").says("1 blank");
    let (first, again) = (folder.tags("prints/run-0001"), folder.tags("prints/run-0002"));
    assert_eq!((again.len(), again[0].says(), again[0].words()), (1, first[1].says(), first[1].words()));
    folder.done(&["find", "RTCQ"]).says("in run 2");
    folder.run(&["reprint", "RTCQ", "--final"]).ends_with(1).says("RTCQ is a blank and has a work tag only");
    folder.done(&["check", "--preview", "RTCQ"]).says("RTCQ");
    // Once it is assigned, its circuit's tags are.
    folder.done(&["assign", "RTCQ", "J2/5"]);
    folder.done(&["reprint", "RTCQ"]);
    assert_eq!(folder.tags("prints/run-0003")[0].name(), "RTCQ A");
}

#[test]
fn what_they_say_can_be_set() {
    let folder = JobFolder::small();
    folder.done(&["wording"]).says("blank ");
    let own = folder.done(&["wording", "show", "blank"]).out.replace("lead = \"colour\"", "lead = \"Farbe\"");
    folder.write("templates/own.toml", own + "\n[[line]]\nfields = [\"job\"]\n");
    let job = String::from_utf8(folder.bytes("job.toml")).expect("text") + "\n[wording]\nblank = \"own\"\n";
    folder.write("job.toml", job);
    folder.done(&["blanks", "1", "--kind", "tie-on"]);
    let words = folder.tags("prints/run-0001").remove(0).words();
    assert_eq!(words.last().map(String::as_str), Some("Marsh Hen bench"), "{words:?}");
}

/// Put together from the runs alone, the register knows which codes a pen was to write.
#[test]
fn codes_for_a_pen_are_known_after_an_import_from_runs() {
    let folder = JobFolder::small();
    folder.done(&["blanks", "2", "--list"]);
    let before = folder.done(&["blanks"]).out;
    std::fs::remove_file(folder.path().join("register.db")).expect("removed");
    folder.run(&["import"]);
    let after = folder.done(&["blanks"]);
    assert_eq!(after.out.lines().count(), before.lines().count());
    after.says_nothing_of("not finished");
}
