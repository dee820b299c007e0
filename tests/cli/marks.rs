//! Tags beside those of ends: of connectors that stay whole, and marks along wires; how they are printed, read and recalled.

use crate::kit::{JobFolder, SMALL_LIST, Tag, script, text};

/// The small job with two whole connectors more, one of them of a restraint unit, and a short wire between them.
const MORE: &str = "\
A70,1,C42,warning lamp,YE,0.5,signal,,keep,1000,1.5
P7,14,C42,,YE,0.5,,,keep,1000,1.5
A70,2,C43,coding,BN,0.5,signal,,keep,150,1.5
P7,2,C43,,BN,0.5,,,keep,,1.5
A70,3,C44,shunt,BK,0.5,signal,,keep,75,1.5
P7,3,C44,shunt,BK,0.5,signal,,keep,75,1.5
";
const CONNECTORS: &str =
    "connector,kind,short name,rows,columns\nA70,plug,restraint control unit,2,12\nP7,plug,instruments,2,8\n";

fn job() -> JobFolder {
    let list = format!("{SMALL_LIST}{MORE}");
    JobFolder::small().and("loom.csv", &list).and("connectors.csv", CONNECTORS)
}

fn printed(arguments: &[&str]) -> (JobFolder, Vec<Tag>) {
    let folder = job();
    folder.done(&[&["tags", "--work", "--out", "out"], arguments].concat());
    let tags = folder.tags("out");
    (folder, tags)
}

fn names(tags: &[Tag]) -> Vec<String> {
    tags.iter().map(|tag| tag.connector().unwrap_or_else(|| tag.place())).collect()
}

#[test]
fn a_connector_that_stays_whole_gets_one_tag() {
    let (folder, tags) = printed(&[]);
    // J1 and J2 lose ends; G2 is not described and has no cavities.
    assert_eq!(names(&tags), ["A70", "J1/1", "J1/14", "J2/3", "P7"]);
    let tag = &tags[0];
    assert_eq!(tag.words()[..2], ["RESTRAINT DO NOT OPEN", "restraint control unit"]);
    assert!(tag.words().contains(&"3 wires in 24 cavities".to_owned()), "{:?}", tag.words());
    assert_eq!(tag.says().as_deref(), Some("HTTP://MARSHHEN.LOCAL:7117/C/A70"));
    assert_eq!((&tag.json["code"], tag.place().as_str()), (&serde_json::Value::Null, "A70"));
    folder.done(&["proof", "out/work-a4-paper-33-60x24.pdf"]).says("symbols read back");
    folder.done(&["tags", "--work", "--no-connectors", "--out", "ends"]);
    assert_eq!(names(&folder.tags("ends")), ["J1/1", "J1/14", "J2/3"]);
    folder.done(&["tags", "--work", "--connector", "P7", "--out", "p7"]).says("no end loses its housing");
    assert_eq!(names(&folder.tags("p7")), ["P7"]);
    folder.done(&["tags", "--final", "--out", "final"]);
    assert!(folder.tags("final").iter().all(|tag| tag.connector().is_none()), "it is no final tag");
    folder.done(&["tags", "--work", "--connector", "P7", "--this-end", "--all", "--out", "all"]);
    assert_eq!(names(&folder.tags("all")), ["P7", "P7/2", "P7/3", "P7/14"], "before the ends of the connector");
}

#[test]
fn a_connectors_tag_is_checked_and_printed_again() {
    let (folder, tags) = printed(&[]);
    folder.done(&["check", "--work"]).says("A70").says("of connectors");
    folder.done(&["reprint", "a70", "--out", "again"]).says("1 of 1 symbols read back");
    let again = folder.tags("again");
    assert_eq!((again.len(), again[0].words(), again[0].says()), (1, tags[0].words(), tags[0].says()));
    folder
        .run(&["reprint", "J1"])
        .ends_with(1)
        .says("J1 does not stay whole (J1/1 is `cut`)")
        .says("`loomtag tags --connector J1`");
    // On a plate, where the job has it so.
    let job = String::from_utf8(folder.bytes("job.toml")).expect("text");
    folder.write("job.toml", format!("{job}\n[tags]\nconnectors = \"tie-on\"\n"));
    folder.done(&["reprint", "A70", "--out", "plate"]).says("1 tie-on").says_nothing_of("round one of its wires");
    folder.write("job.toml", format!("{job}\n[tags]\nconnectors = \"strip\"\n"));
    folder.run(&["check", "--brief"]).ends_with(1).says("`connectors` cannot be `strip`");
    folder.write("job.toml", job);
    folder.run(&["reprint", "A70", "--final"]).ends_with(1).says("connector A70 has a work tag only");
}

#[test]
fn a_scanned_connector_tells_its_ends() {
    let (folder, tags) = printed(&[]);
    let pdf = folder.path().join("out/work-a4-paper-33-60x24.pdf");
    let photo = folder.path().join("a70.jpg");
    script("photograph.py", &[&pdf.to_string_lossy(), "1", &tags[0].symbol_area(), "5", &photo.to_string_lossy()]);
    let answer = folder.done(&["scan", "a70.jpg"]);
    answer.says("connector A70: 3 ends").says("warning lamp").says("P7/14").says("no mark does not mean dead: test");
    let json = folder.done(&["scan", "a70.jpg", "--json"]).json();
    let told = &json["tags"][0]["answer"];
    assert_eq!((&told["scan"], &told["connector"]), (&"connector".into(), &"A70".into()));
    assert_eq!(told["found"].as_array().expect("a list").len(), 3);
    assert_eq!(json["one_circuit"], serde_json::json!([]));
    // In another job it is told apart by its address, or is not known at all.
    let other = JobFolder::small().and("job.toml", "title = \"x\"\n[payload]\nbase = \"HTTP://BENCH.EXAMPLE\"\n");
    other.write("a70.jpg", folder.bytes("a70.jpg"));
    other.run(&["scan", "a70.jpg"]).ends_with(1).says("no list of this job names a connector `A70`");
    other.write("loom.csv", format!("{SMALL_LIST}{MORE}"));
    other.run(&["scan", "a70.jpg"]).ends_with(1).says("DOUBT: this tag leads to `HTTP://MARSHHEN.LOCAL:7117`");
}

#[test]
fn without_an_address_a_connectors_symbol_says_its_name_first() {
    for (symbol, says) in [("text", "P7: INSTRUMENTS"), ("code", "P7")] {
        let folder = job().and("job.toml", &format!("title = \"x\"\n[payload]\nsymbol = \"{symbol}\"\n"));
        folder.done(&["tags", "--connector", "P7", "--out", "out"]);
        assert_eq!(folder.tags("out")[0].says().as_deref(), Some(says));
        folder.done(&["scan", "out/work-a4-paper-33-60x24.pdf"]).says("connector P7: 3 ends").says_nothing_of("DOUBT");
    }
}

/// FAA AC 43.13-1B, 11-208: within 76 mm of each end, 381 mm apart at most; short wires one mark or none.
#[test]
fn marks_along_wires_are_printed_and_told_with_their_places() {
    let folder = job();
    let answer = folder.done(&["tags", "--work", "--all", "--along", "--no-connectors", "--out", "out"]);
    let tags = folder.tags("out");
    let shown = |tag: &Tag| format!("{} {}", text(&tag.json["letters"]), tag.position().expect("told"));
    let on = |wire: &str| tags.iter().filter(|tag| tag.json["circuit"] == wire).map(shown).collect::<Vec<_>>();
    let long = ["A 76 mm from A70/1", "A-B 359 mm from A70/1", "A-B 641 mm from A70/1", "B 76 mm from P7/14"];
    assert_eq!(on("C42"), long);
    assert_eq!(on("C43"), ["A-B 75 mm from A70/2"], "one mark about the centre");
    assert_eq!(on("C44"), [""; 0], "too short for any");
    // An end to be cut: 150 mm back, clear of strip and crimp.
    assert_eq!(on("E14"), ["A 150 mm from J1/14", "A-B 377 mm from J1/14", "B 76 mm from J2/3"]);
    let code = tags.iter().find(|tag| tag.json["circuit"] == "C42").expect("printed").code();
    answer
        .says("7 along wires")
        .says(&format!("{code} A-B  A70/1-P7/14  359 mm from A70/1"))
        .says("too short for any tag (A70/3-P7/3)")
        .says("because the length is not known: fill the length column (");
    let mark = tags.iter().find(|tag| tag.position().as_deref() == Some("359 mm from A70/1")).expect("printed");
    // The connector's short name tells of the danger.
    let words = ["RESTRAINT DO NOT CUT", "warning lamp", "A70 / 1", "P7 / 14", "359 mm from A70/1"];
    assert_eq!(mark.words()[..5], words);
    assert_eq!(mark.says(), Some(format!("HTTP://MARSHHEN.LOCAL:7117/{code}")));
    folder.done(&["find", &mark.name()]).says("warning lamp");
    folder.done(&["scan", "out/work-a4-paper-33-60x24.pdf"]).says("all others: circuits of their own");
    folder.done(&["proof", "out/work-a4-paper-33-60x24.pdf"]);
    folder.run(&["reprint", &mark.name()]).ends_with(1).says(&format!("`loomtag reprint {code}/A --along`"));
    folder.done(&["reprint", &format!("{code}/A"), "--along", "--out", "again"]);
    assert_eq!(folder.tags("again").iter().map(shown).collect::<Vec<_>>(), long[..3]);
}

#[test]
fn marks_are_told_to_programs_and_shown_by_check() {
    let folder = job();
    let json = folder.done(&["tags", "--along", "--dry-run", "--json"]).json();
    let told = json["along"]["tags"].as_array().expect("a list");
    assert!(
        told.iter().any(|tag| tag["wire"] == "J1/14-J2/3" && tag["at_mm"] == 377.0 && tag["from"] == "J1/14"),
        "{json}"
    );
    assert_eq!(folder.done(&["tags", "--dry-run", "--json"]).json()["along"], serde_json::Value::Null);
    folder.done(&["check", "--along"]).says("377 mm from J1/14").says("1 along wires");
    let json = folder.done(&["check", "--along", "--json"]).json();
    let fits = json["fits"].as_array().expect("a list");
    assert!(fits.iter().any(|fit| fit["at_mm"] == 377.0 && fit["from"] == "J1/14"));
    assert_eq!(json["length_not_known"], serde_json::json!(["J1/1-"]));
    // The setback of job.toml counts.
    folder.write("job.toml", "title = \"x\"\n[tags]\nsetback = 100\n");
    folder.done(&["check", "--along"]).says("100 mm from J1/14").says("352 mm from J1/14");
}
