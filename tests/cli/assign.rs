//! `assign`: what a blank proves to be.

use crate::kit::{JobFolder, Tag};

/// The small job with three blanks, FQGB, RTCQ and 8GMK; nothing else is issued.
fn with_blanks() -> JobFolder {
    let folder = JobFolder::small();
    folder.done(&["blanks", "3"]);
    folder
}

fn code_at(folder: &JobFolder, run: &str, place: &str) -> String {
    folder.tags(run).iter().find(|tag| tag.place() == place).map(Tag::code).expect("printed")
}

#[test]
fn a_circuit_without_a_code_takes_the_blanks() {
    let folder = with_blanks();
    let answer = folder.done(&["assign", "fqgb", "j2/3"]);
    answer.says("FQGB is its code from now on").says("rail pressure signal").says("> A  J2/3");
    // The tags that are printed later bear it too; the blank's end has letter A.
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    let tags = folder.tags("prints/run-0002");
    let name = |place: &str| tags.iter().find(|tag| tag.place() == place).map(Tag::name).expect("printed");
    assert_eq!((name("J2/3"), name("J1/14")), ("FQGB A".to_owned(), "FQGB B".to_owned()));
    folder.done(&["find", "FQGB"]).says("> A  J2/3").says("also marked FQGB");
}

#[test]
fn a_circuit_with_a_code_keeps_it() {
    let folder = with_blanks();
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    let printed = code_at(&folder, "prints/run-0002", "J1/14");
    let answer = folder.done(&["assign", "FQGB", "J1/14"]);
    answer.says(&format!("{printed} stays the code that is printed for it, FQGB names it as well"));
    folder.done(&["find", "FQGB"]).says(&format!("{printed}  rail pressure signal")).says("> A  J1/14");
    folder.done(&["find", "FQGB", &printed]).says("the same circuit");
    folder
        .done(&["scan", &format!("prints/run-0001/{}", folder.tags("prints/run-0001")[0].file)])
        .says("> A  J1/14")
        .says_nothing_of("DOUBT");
    // By another code and its letter, and by designation.
    folder.done(&["assign", "RTCQ", &format!("{printed}/B")]).says("> B  J2/3");
    folder.done(&["assign", "8GMK", "E33"]).says("exhaust flap");
    let json = folder.done(&["assign", "8GMK", "E33", "--json"]).json();
    assert_eq!((&json["assigned_now"], &json["end"]), (&false.into(), &().into()));
    // Nothing is printed again, and what is printed stays what it was.
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    assert_eq!(code_at(&folder, "prints/run-0003", "J1/14"), printed);
    folder.done(&["check", "--brief"]).says_nothing_of("not assigned yet");
}

#[test]
fn a_circuit_that_no_list_has_is_found_when_one_does() {
    let folder = with_blanks();
    folder.done(&["assign", "FQGB", "--new", "bilge alarm"]).says("circuit bilge alarm").says("a row with this");
    folder.done(&["assign", "RTCQ", "J9/3", "--new", "horn"]).says("in no list yet").says("> A  J9/3");
    folder.done(&["assign", "8GMK", "--new", "J9/4"]).says("> A  J9/4");
    folder.done(&["find", "horn"]).says("RTCQ").says_nothing_of("any more");
    folder.write(
        "alarm.csv",
        "connector,cavity,circuit,function\nJ9,1,bilge alarm,high water\nJ9,3,E90,ship's horn\nJ9,4,,wiper park\n",
    );
    for (code, told) in [("FQGB", "high water"), ("RTCQ", "ship's horn"), ("8GMK", "wiper park")] {
        folder.done(&["find", code]).says(told).says_nothing_of("in no list");
    }
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    assert_eq!(
        ["J9/1", "J9/3", "J9/4"].map(|place| code_at(&folder, "prints/run-0002", place)),
        ["FQGB", "RTCQ", "8GMK"]
    );
    // The place is where the name was told, and the list's name counts.
    folder.done(&["find", "horn"]).says("circuit E90").says("before: horn");
}

#[test]
fn what_is_known_is_not_new() {
    let folder = with_blanks();
    for (arguments, known) in [
        (&["--new", "E14"][..], "rail pressure"),
        (&["--new", "j1/14"], "rail pressure"),
        (&["J1/14", "--new", "x"], "rail pressure"),
    ] {
        let answer = folder.run(&[&["assign", "FQGB"], arguments].concat()).ends_with(1);
        answer.says("is known").says(known).says("leave --new out");
    }
    folder
        .run(&["assign", "FQGB", "J99/1"])
        .ends_with(1)
        .says("no circuit, place or code of this job is `J99/1`")
        .says("--new");
    folder.done(&["blanks"]).says("3 blanks not assigned");
}

#[test]
fn what_is_several_things_is_asked_for_more() {
    let folder = with_blanks();
    folder.write("more.csv", "connector,cavity,circuit,colour,function\nG2,,E71,YE,starter ground\n");
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    let answer = folder.run(&["assign", "FQGB", "G2"]).ends_with(1).says("`G2` is more than one thing");
    let ground = folder.tags("prints/run-0002");
    let name = ground.iter().find(|tag| tag.place() == "G2").map(|tag| tag.name().replace(' ', "/")).expect("printed");
    let answer = answer.says(&name).says("starter ground");
    assert_eq!(answer.code, 1);
    folder.done(&["assign", "FQGB", &name]).says("G2");
}

#[test]
fn what_was_wrong_is_put_right() {
    let folder = with_blanks();
    folder.done(&["assign", "FQGB", "J1/14"]);
    folder.run(&["assign", "FQGB", "J2/5"]).ends_with(2).says("`FQGB` is assigned to something else").says("--instead");
    folder.done(&["assign", "FQGB", "J2/5", "--instead"]).says("exhaust flap").says("it was told to be E14, J1/14");
    folder.done(&["find", "FQGB"]).says("exhaust flap").says_nothing_of("rail pressure");
    folder.done(&["find", "J1/14"]).says("rail pressure").says_nothing_of("FQGB");
    // Once other tags bear the code, it stays.
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    assert_eq!(code_at(&folder, "prints/run-0002", "J2/5"), "FQGB");
    let answer = folder.run(&["assign", "FQGB", "J1/14", "--instead"]).ends_with(2);
    answer.says("run 2 printed tags of its circuit with it").says("hang another blank on it");
    folder.done(&["find", "FQGB"]).says("exhaust flap");
}

#[test]
fn a_second_blank_on_one_end_is_asked_about() {
    let folder = with_blanks();
    folder.done(&["assign", "FQGB", "J1/14"]);
    folder
        .run(&["assign", "RTCQ", "J1/14"])
        .ends_with(1)
        .says("FQGB is a blank that hangs at J1/14 already")
        .says("--sure");
    let json = folder.run(&["assign", "RTCQ", "J1/14", "--json"]).ends_with(1).json();
    assert_eq!((&json["assigned_now"], json["objections"].as_array().expect("a list").len()), (&false.into(), 1));
    folder.done(&["assign", "RTCQ", "J1/14", "--sure"]);
    folder.done(&["assign", "8GMK", "J2/3"]).says("FQGB stays the code");
}

#[test]
fn what_cannot_be_assigned_is_told() {
    let folder = with_blanks();
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    let printed = code_at(&folder, "prints/run-0002", "J1/14");
    folder.run(&["assign", "7KF5", "J1/14"]).ends_with(2).says("`7KF5` is not a code");
    folder.run(&["assign", "7KF4", "J1/14"]).ends_with(2).says("`7KF4` is not in the register");
    folder.run(&["assign", &printed, "J2/5"]).ends_with(2).says("is no blank").says("loomtag join");
    folder.run(&["assign", "FQGB", "RTCQ"]).ends_with(1).says("RTCQ is a blank as well");
    folder.run(&["assign", "FQGB", &format!("{printed}/K")]).ends_with(1).says("has no end K");
    folder.run(&["assign", "FQGB"]).ends_with(2).says("Usage");
    let empty = JobFolder::small();
    empty.run(&["assign", "FQGB", "J1/14"]).ends_with(2).says("no code was issued");
    assert_eq!(empty.names(), ["job.toml", "loom.csv"]);
}

/// What was noted of a tag without a letter, before and after anybody knew its wire, is noted of the end where it hangs.
#[test]
fn notes_go_along() {
    let folder = with_blanks();
    folder.done(&["tags", "--work", "--all", "--no-connectors"]);
    folder.done(&["note", "FQGB", "found", "colour", "RD"]);
    folder.done(&["find", "FQGB"]).says("FQGB is a blank").says("note 1").says("found colour RD");
    let answer = folder.run(&["assign", "FQGB", "J1/14"]).ends_with(1);
    answer.says("its wire was noted as red, the list has blue, white stripe").says("--sure");
    folder.done(&["note", "--instead", "1", "found", "colour", "BU/WH"]);
    folder.done(&["note", "FQGB", "done", "cut"]);
    let answer = folder.done(&["assign", "FQGB", "J1/14"]).says("found colour BU/WH");
    answer.says("blank FQGB proved to be E14, J1/14").says("done cut");
    let json = folder.done(&["check", "--json"]).json();
    assert_eq!(json["noted"]["steps"]["cut"]["done"], 1, "{}", json["noted"]);
}
