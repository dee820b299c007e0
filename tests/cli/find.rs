//! `find`: what is known of a wire.

use crate::kit::JobFolder;

fn printed() -> (JobFolder, String) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    let code = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    (folder, code)
}

#[test]
fn a_code_typed_carelessly_finds_its_record() {
    let (folder, code) = printed();
    let lower = code.to_lowercase();
    let spaced = lower.chars().map(String::from).collect::<Vec<_>>().join(" ");
    for typed in [code.clone(), lower.clone(), spaced, format!("{lower}.b"), format!("{}-{}", &code[..2], &code[2..])] {
        let answer = folder.done(&["find", &typed]);
        answer.says(&code).says("rail pressure signal").says("J1/14").says("J2/3").says("BU/WH");
    }
}

#[test]
fn a_record_tells_all_and_warns() {
    let (folder, _) = printed();
    let answer = folder.done(&["find", "J1/1"]);
    answer
        .says("glow plug supply")
        .says("circuit E65")
        .says("constant")
        .says("fuse F1 60 A")
        .says("plan: cut")
        .says("no mark does not mean dead: test");
}

#[test]
fn place_designation_colour_and_words_find_too() {
    let (folder, code) = printed();
    for words in [
        &["J1/14"][..],
        &["j1", "14"],
        &["E14"],
        &["e14"],
        &["blue", "white"],
        &["BU/WH"],
        &["rail"],
        &["pressure", "signal", "bu/wh"],
        &["RAIL PRES"],
    ] {
        let mut arguments = vec!["find"];
        arguments.extend(words);
        let answer = folder.done(&arguments);
        assert!(answer.out.starts_with(&code), "{words:?}:\n{}", answer.out);
    }
    // All words must fit.
    folder.run(&["find", "rail", "black"]).ends_with(1).says("nothing matches `rail black`");
}

#[test]
fn a_constant_feed_is_told_to_be_live() {
    let (folder, _) = printed();
    folder.done(&["find", "glow"]).says("LIVE WITH BATTERY ON");
}

#[test]
fn programs_get_the_record() {
    let (folder, code) = printed();
    let json = folder.done(&["find", &code, "--json"]).json();
    let found = &json["found"][0];
    assert_eq!((&found["by"], found["record"]["ends"].as_array().unwrap().len()), (&"code".into(), 2));
    let nothing = folder.run(&["find", "windlass", "--json"]).ends_with(1).json();
    assert_eq!(nothing["found"], serde_json::json!([]));
}

#[test]
fn a_code_that_was_never_issued_offers_near_ones() {
    let (folder, code) = printed();
    let typed = format!("{}{}", &code[..3], if code.ends_with('7') { '8' } else { '7' });
    folder.run(&["find", &typed]).ends_with(1).says(&format!("nothing matches `{typed}`")).says(&code);
}

#[test]
fn two_codes_are_told_to_be_one_circuit_or_not() {
    let (folder, code) = printed();
    let other = folder.tags("prints/run-0001").iter().find(|tag| tag.place() == "J2/5").expect("printed").code();
    folder
        .done(&["find", &code.to_lowercase(), &other])
        .says("rail pressure signal")
        .says("exhaust flap")
        .says("the two tags are different circuits, as far as is known");
    let one = folder.done(&["find", &code, "a", &code, "b"]).says("both tags: the same circuit");
    assert_eq!(one.out.matches("rail pressure signal").count(), 1, "{}", one.out);
    let json = folder.done(&["find", &code, &other, "--json"]).json();
    assert_eq!(
        (&json["one_circuit"], json["found"].as_array().expect("a list").len()),
        (&serde_json::json!([[code], [other]]), 2)
    );
    // A code that fits but was never issued here.
    folder.run(&["find", &code, "7KF4"]).ends_with(1).says("`7KF4` was never issued in this job");
}

#[test]
fn misspelt_words_are_offered_the_nearest() {
    let (folder, _) = printed();
    folder.run(&["find", "rail", "presure"]).ends_with(1).says("no circuit has `presure`: did you mean `pressure`?");
    folder.run(&["find", "rail", "black"]).ends_with(1).says("each word fits a circuit, but no circuit has them all");
    let json = folder.run(&["find", "exhuast", "--json"]).ends_with(1).json();
    assert_eq!(json["unknown_words"][0]["near"], "exhaust");
}

#[test]
fn a_letter_that_no_end_has_is_told() {
    let (folder, code) = printed();
    let doubt = format!("{code} has no end ZZ; it has A, B");
    for typed in [&[&*format!("{code}/ZZ")][..], &[&code.to_lowercase(), "zz"]] {
        let answer = folder.run(&[&["find"], typed].concat()).ends_with(1);
        assert!(answer.out.starts_with(&format!("DOUBT: {doubt}\n")), "{}", answer.out);
    }
    let json = folder.run(&["find", &format!("{code}/zz"), "--json"]).ends_with(1).json();
    assert_eq!(json["found"][0]["doubt"], doubt);
}

#[test]
fn finding_leaves_the_folder_as_it_was() {
    let (folder, code) = printed();
    let before = folder.names();
    folder.done(&["find", &code]);
    assert_eq!(folder.names(), before);
    let unprinted = JobFolder::small();
    unprinted.done(&["find", "rail"]).says("rail pressure signal");
    assert_eq!(unprinted.names(), ["job.toml", "loom.csv"]);
}

/// Records are wanted most when lists are in disorder.
#[test]
fn records_are_found_while_lists_have_errors() {
    let (folder, code) = printed();
    let list = crate::kit::SMALL_LIST.replace("exhaust flap,RD/BU,1.0", "exhaust flap,RD/BU,thick");
    folder.write("loom.csv", list);
    folder.done(&["find", &code]).says("rail pressure signal").says("1 error");
}
