//! What lists say about a wire, seen from outside: where its diameter comes from, and what is said of that.

use serde_json::{Value, json};

use crate::kit::{JobFolder, text};

const HEAD: &str = "connector,cavity,circuit,function,size,insulation,action,diameter\n";

/// A job whose lists name no insulation but in their cells.
fn job(settings: &str, rows: &str) -> JobFolder {
    JobFolder::with(&[("job.toml", &format!("title = \"bench\"\n{settings}")), ("loom.csv", &format!("{HEAD}{rows}"))])
}

/// The fits of `check --json` for a place: work tag first.
fn fits(folder: &JobFolder, place: &str) -> Vec<Value> {
    let json = folder.done(&["check", "--json"]).json();
    let fits = json["fits"].as_array().expect("a list").iter();
    fits.filter(|fit| fit["place"] == place).cloned().collect()
}

/// What `find --json` knows of the end at a place, of which its circuit has no other.
fn found(folder: &JobFolder, place: &str, what: &str) -> Value {
    folder.done(&["find", place, "--json"]).json()["found"][0]["record"]["ends"][0][what].clone()
}

/// ISO 6722-1 lets 0.75 mm² thin wall be 1.9 mm thick at most (from memory).
#[test]
fn measured_beats_table_and_table_beats_assumption() {
    let rows = "J1,1,A,measured,0.75,thin-wall,cut,2.4\nJ1,2,B,tabled,0.75,thin-wall,cut,\nJ1,3,C,unknown,0.75,,cut,\n";
    let folder = job("", rows);
    for (place, from, diameter) in [("J1/1", "measured", 2.4), ("J1/2", "table", 1.9), ("J1/3", "assumed", 3.0)] {
        let fit = &fits(&folder, place)[0];
        assert_eq!((&fit["diameter_from"], &fit["diameter_mm"]), (&json!(from), &json!(diameter)), "{place}");
        assert_eq!(fit["table"].is_null(), from != "table", "{place}");
    }
    let tabled = fits(&folder, "J1/2");
    assert_eq!(tabled.len(), 2, "a final tag too");
    assert_eq!(
        tabled[1]["table"],
        json!({
            "insulation": "thin-wall",
            "size": "0.75 mm²",
            "diameter_mm": 1.9,
            "what": "max",
            "source": "ISO 6722-1 thin wall",
            "standing": "from memory",
        })
    );
    let answer = folder.done(&["check"]);
    let (work, last) = answer.out.split_once("\nfinal strips on").expect("final tags come second");
    let row = |part: &str, place: &str| {
        part.lines().find(|line| line.contains(place)).map(str::to_owned).unwrap_or_else(|| panic!("{place}"))
    };
    assert!(row(work, " J1/2 ").contains(" 1.9* ") && row(last, " J1/2 ").contains(" 1.9* "), "{work}{last}");
    assert!(row(work, " J1/3 ").contains(" (3.0) "), "{work}");
    assert!(row(last, " J1/1 ").contains(" 2.4 "), "{last}");
    let answer = answer
        .says("   1  table value 1.9 mm, measure before you shrink")
        .says("   1  diameter not known, 3 mm assumed");
    answer.says("no final tag: the wire's diameter is not known; measure it and fill the diameter column, or give its size and insulation");
    folder
        .done(&["tags", "--no-proof"])
        .says("1 final tag made for a table value of the diameter: measure before you shrink");
}

#[test]
fn cell_before_list_before_job() {
    let settings = "[wires]\ninsulation = \"ultra-thin-wall\"\n[[list]]\nfile = \"loom.csv\"\ninsulation = \"FLRY\"\n\
                    [[list]]\nfile = \"other.csv\"\n";
    let rows = "J1,1,A,,0.75,dickwandig,cut,\nJ1,2,B,,0.75,,cut,\n";
    let folder = job(settings, rows).and("other.csv", &format!("{HEAD}J2,1,C,,0.75,,cut,\n"));
    let diameter = |place| fits(&folder, place)[0]["diameter_mm"].clone();
    assert_eq!(["J1/1", "J1/2", "J2/1"].map(diameter), [json!(2.5), json!(1.9), json!(1.6)]);
    assert_eq!(found(&folder, "J1/1", "insulation"), "thick-wall");
}

/// A size between two rows, or of the other system, has no value; what lies near it is said with `~`.
#[test]
fn nothing_is_converted_without_saying_so() {
    let folder = job("[wires]\ninsulation = \"ultra-thin-wall\"\n", "J1,1,A,,16 AWG,,cut,\nJ1,2,B,,1.3 mm²,,cut,\n");
    for place in ["J1/1", "J1/2"] {
        let fits = fits(&folder, place);
        assert_eq!((fits.len(), &fits[0]["diameter_from"]), (1, &json!("assumed")), "no final tag");
        assert!(text(&fits[0]["near"]).contains("~1.25 mm² has 2 mm"), "{fits:?}");
    }
    let answer = folder.done(&["check"]);
    answer
        .says("give its size and insulation; no table value for ultra-thin-wall 16 AWG; ~1.25 mm² has 2 mm")
        .says("   2  diameter not known, 3 mm assumed")
        .says("   1  no table value for ultra-thin-wall 1.3 mm²; ~1.25 mm² has 2 mm");
    // Sizes stay as typed.
    assert_eq!(found(&folder, "J1/1", "size"), "16 AWG");
}

#[test]
fn a_refusal_says_when_it_rests_on_a_table_value() {
    let settings = "[tags]\nclear_tubes = [\"tube-2.4-1.2\"]\n";
    let folder = job(settings, "J1,1,A,,16 AWG,GXL,cut,\nJ1,2,B,,16 AWG,GXL,cut,2.7\n");
    let json = folder.done(&["check", "--json"]).json();
    let why: Vec<String> = json["refused"].as_array().expect("a list").iter().map(|one| text(&one["why"])).collect();
    assert_eq!(why.len(), 2);
    assert!(
        why[0].contains("2.6 mm is a table value (SAE J1128") && why[0].ends_with("measure before you shrink"),
        "{why:?}"
    );
    assert!(why[1].contains("no tube at hand") && !why[1].contains("table value"), "{why:?}");
}

/// A bare whole number is neither mm² nor AWG until somebody says which.
#[test]
fn a_bare_number_is_a_problem_until_the_job_says_its_unit() {
    let row = "J1,1,A,,16,boat cable,cut,\n";
    let folder = job("", row);
    folder.run(&["check", "--brief"]).ends_with(1).says("loom.csv:2:9: error[bad-size]: `16` may be mm² or AWG");
    folder.write("job.toml", "[[list]]\nfile = \"loom.csv\"\nsize_unit = \"awg\"\n");
    assert_eq!(fits(&folder, "J1/1")[0]["diameter_mm"], 2.9);
    folder.write("job.toml", "[[list]]\nfile = \"loom.csv\"\nsize_unit = \"mm2\"\n");
    assert_eq!(fits(&folder, "J1/1")[0]["diameter_from"], "assumed", "boat cable is of AWG sizes");
}

#[test]
fn lengths_in_feet_and_inches() {
    let chart = "connector,cavity,circuit,action,length\nJ1,1,A,cut,6 ft\nJ1,2,B,cut,6' 3\"\"\nJ1,3,C,cut,6\n";
    let chart = chart.replace("6' 3\"\"", "\"6' 3\"\"\"");
    let folder = JobFolder::with(&[("job.toml", ""), ("loom.csv", &chart)]);
    let length = |place| found(&folder, place, "length");
    assert_eq!(["J1/1", "J1/2", "J1/3"].map(length), [json!("1828.8 mm"), json!("1905 mm"), json!("6 mm")]);
    folder.write("loom.csv", chart.replace(",length\n", ",length [ft]\n"));
    let length = |place| found(&folder, place, "length");
    assert_eq!(length("J1/3"), json!("1828.8 mm"));
}

#[test]
fn kinds_of_tags_are_read_from_the_list_and_mistakes_told_at_their_cells() {
    let chart = "connector,cavity,circuit,action,tag\nJ1,1,A,cut,\"tie-on, strip\"\nJ1,2,B,cut,flg\nJ1,3,C,cut,sleeve + strip\n";
    let folder = JobFolder::with(&[("job.toml", ""), ("loom.csv", chart)]);
    folder
        .run(&["check", "--brief"])
        .ends_with(1)
        .says("loom.csv:3:12: error[unknown-tag]: `flg` is no kind of tag; did you mean `flag`?")
        .says("loom.csv:4:12: error[two-tags-of-one-purpose]: `sleeve` and `strip` are both final tags");
}
