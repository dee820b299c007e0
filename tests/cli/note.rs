//! `note`: what was done and found at the bench.

use crate::kit::{JobFolder, Tag};

/// The small job printed, with the code and letter of an end.
struct Bench {
    folder: JobFolder,
}

impl Bench {
    fn new() -> Self {
        let folder = JobFolder::small();
        folder.done(&["tags", "--all", "--work"]);
        Self { folder }
    }

    /// `FQGB A` of a place.
    fn tag(&self, place: &str) -> String {
        let tags = self.folder.tags("prints/run-0001");
        tags.iter().find(|tag| tag.place() == place).expect("printed").name()
    }

    fn code(&self, place: &str) -> String {
        self.tag(place).split(' ').next().expect("a code").to_owned()
    }
}

/// The text with every moment shown as `WHEN`.
fn timeless(text: &str) -> String {
    let is_moment = |at: usize| {
        let pattern = "dddd-dd-dd dd:dd UTC";
        text[at..].len() >= pattern.len()
            && pattern.bytes().zip(text[at..].bytes()).all(|(p, c)| if p == b'd' { c.is_ascii_digit() } else { p == c })
    };
    let (mut timeless, mut at) = (String::new(), 0);
    while let Some(character) = text[at..].chars().next() {
        if is_moment(at) {
            timeless += "WHEN";
            at += "2026-11-25 14:03 UTC".len();
        } else {
            timeless.push(character);
            at += character.len_utf8();
        }
    }
    timeless
}

#[test]
fn steps_are_noted_by_place_and_by_code() {
    let bench = Bench::new();
    let tag = bench.tag("J1/14");
    let about = format!("{tag} at J1/14, rail pressure signal, circuit E14, blue, white stripe");
    bench.folder.done(&["note", "J1/14", "J2/3", "done", "tagged"]);
    let answer = bench.folder.done(&["note", "J1/14", "done", "cut", "sealed"]);
    assert_eq!(answer.out, format!("note 3: {about}: done cut\nnote 4: {about}: done sealed\n"));
    // Careless typing, several ends, German words, a remark.
    let lower = tag.to_lowercase();
    let (code, letter) = lower.split_once(' ').expect("code and letter");
    for typed in [&[&*tag][..], &[code, letter], &[&format!("{code}/{letter}")], &["j1", "14"], &["j1-14"]] {
        let answer = bench.folder.done(&[&["note"], typed, &["done", "tested"]].concat());
        assert!(answer.out.contains(&format!("{about}: done tested")), "{typed:?}: {}", answer.out);
    }
    let both = bench.folder.done(&["note", code, "a", "b", "done", "tested"]);
    assert_eq!(both.out.matches("done tested").count(), 2, "{}", both.out);
    let doubled = bench.folder.done(&["note", &format!("{code} a+b"), "done", "tested"]);
    assert_eq!(doubled.out.matches("done tested").count(), 2, "{}", doubled.out);
    let two = bench.folder.done(&["note", "J2/5,", "J2/9", "done", "gezogen,", "abgedichtet", "seal torn"]);
    assert_eq!(two.out.matches("done pulled: seal torn").count(), 2, "{}", two.out);
    assert_eq!(two.out.matches("done sealed: seal torn").count(), 2, "{}", two.out);
}

#[test]
fn a_circuit_as_a_whole_counts_for_all_its_ends() {
    let bench = Bench::new();
    let code = bench.code("J1/14");
    bench
        .folder
        .done(&["note", &code, "done", "tagged"])
        .says(&format!("note 1: {code}, rail pressure signal, circuit E14, all of it (J1/14, J2/3): done tagged"))
        .says("it counts for all 2 ends");
    bench
        .folder
        .done(&["note", "E14", "text", "runs behind", "the filter"])
        .says("E14, all of it (J1/14, J2/3): runs behind the filter");
    bench.folder.done(&["check", "--brief"]).says("noted: tagged 2, cut 0 of 2, pulled 0 of 1");
}

#[test]
fn what_does_not_fit_is_told_and_noted_all_the_same() {
    let bench = Bench::new();
    bench.folder.done(&["note", "J2/3", "done", "cut"]).says("! the plan of J2/3 is `keep`").says("note 1: ");
    bench.folder.done(&["note", "J2/5", "done", "pulled"]).says_nothing_of("!");
    bench.folder.done(&["note", "J2/5", "done", "pulled"]).says("! noted before: note 2, ").says("note 3: ");
    bench.folder.done(&["note", "J1/1", "done", "cut"]).says("! LIVE WITH BATTERY ON: cap this end");
    bench.folder.done(&["note", "J1/14", "undone", "cut"]).says("! no `done cut` of it stands");
    bench.folder.done(&["note", "J1/14", "found", "colour", "blue", "white"]).says("! the lists say the same");
    bench
        .folder
        .done(&["check", "--brief"])
        .says("noted: cut 1 of 2 (1 more not planned), pulled 1 of 1; found: 1 other colour");
}

#[test]
fn findings_speak_against_the_list_until_it_says_the_same() {
    let bench = Bench::new();
    bench.folder.done(&["note", "J1/14", "found", "colour", "BN/WH", "faded"]).says("found colour BN/WH: faded");
    bench.folder.done(&["note", "J2/9", "found", "empty"]);
    bench
        .folder
        .done(&["note", "G2", "found", "damaged,", "chafed", "at", "the", "clamp"])
        .says("found damaged: chafed at the clamp");
    let check = bench.folder.done(&["check"]);
    check
        .says("warning[found-otherwise]: `J1/14` was found to have colour `BN/WH` (note 1), the list says `BU/WH`")
        .says("loom.csv:4:")
        .says("`J2/9` was found empty (note 2), but the list has a wire there")
        .says("found: 1 empty, 1 other colour, 1 damaged");
    let json = bench.folder.done(&["check", "--json"]).json();
    assert_eq!(json["noted"]["findings"], serde_json::json!({ "empty": 1, "colour": 1, "damaged": 1 }));
    bench.folder.write("loom.csv", crate::kit::SMALL_LIST.replace("signal,BU/WH", "signal,brown/white"));
    bench.folder.done(&["note", "--instead", "2", "text", "looked at J2/8"]).says("(supersedes note 2)");
    bench.folder.done(&["check", "--brief"]).says_nothing_of("found-otherwise");
}

#[test]
fn notes_are_superseded_and_stay() {
    let bench = Bench::new();
    let tag = bench.tag("J2/5");
    bench.folder.done(&["note", "J1/14", "done", "pulled"]);
    // On the wrong end; and without an end, of the same.
    bench.folder.done(&["note", "--supersedes", "1", "J2/5", "done", "pulled"]).says(&format!("note 2: {tag} at J2/5"));
    bench.folder.done(&["note", "--instead", "2", "done", "cut"]).says(&format!("note 3: {tag} at J2/5"));
    let list = bench.folder.done(&["note", "--list"]);
    let rows: Vec<String> = list.out.lines().map(timeless).collect();
    assert!(rows[1].contains("J1/14") && rows[1].ends_with("done pulled (superseded by note 2)"), "{rows:?}");
    assert_eq!(rows[2], format!("2     WHEN  {tag}  J2/5   done pulled (superseded by note 3)"));
    assert!(rows[3].ends_with("J2/5   done cut"), "{rows:?}");
    let of_one = bench.folder.done(&["note", "--list", "J2/5", "--json"]).json();
    let numbers: Vec<_> =
        of_one["notes"].as_array().expect("a list").iter().map(|note| note["number"].as_u64()).collect();
    assert_eq!(numbers, [Some(2), Some(3)]);
    bench
        .folder
        .run(&["note", "--instead", "1", "done", "cut"])
        .ends_with(1)
        .says("note 1 is superseded already: supersede note 2");
    bench.folder.run(&["note", "--instead", "9", "done", "cut"]).ends_with(1).says("there is no note 9");
    bench.folder.run(&["note", "--instead", "0", "done", "cut"]).ends_with(2);
    let check = bench.folder.done(&["check", "--json"]).json();
    assert_eq!(check["noted"]["steps"]["pulled"], serde_json::json!({ "done": 0, "of": 1, "unplanned": 0 }));
}

#[test]
fn a_cut_is_undone_on_record() {
    let bench = Bench::new();
    let (one, two) = (bench.tag("J1/14"), bench.tag("J2/9"));
    bench.folder.done(&["note", "J1/14", "J2/9", "done", "cut"]);
    let with = two.to_lowercase();
    let typed = ["note", &one, "undone", "cut", "--with", &with, "butt splice under tube"];
    let answer = bench.folder.done(&typed);
    answer
        .says(&format!("undone cut with {two}: butt splice under tube (supersedes note 1)"))
        .says(&format!("undone cut with {one}: butt splice under tube (supersedes note 2)"))
        .says(&format!("loomtag join {} {}", bench.code("J1/14"), bench.code("J2/9")));
    bench.folder.done(&["check", "--brief"]).says("cut 0 of 2");
    bench.folder.done(&["find", &two]).says(&format!("undone cut with {one}")).says("done cut (superseded by note 4)");
    for (typed, why) in [
        (&["J1/14", "undone", "sealed", "--with", &with][..], "goes with `undone cut` only"),
        (&["J1/14", "done", "cut", "--with", &with], "goes with `undone cut` only"),
        (&["J1/14", "J1/1", "undone", "cut", "--with", &with], "joins two stubs"),
    ] {
        bench.folder.run(&[&["note"], typed].concat()).ends_with(2).says(why);
    }
    bench.folder.run(&["note", "J2/9", "undone", "cut", "--with", &with]).ends_with(1).says("is the same stub");
}

#[test]
fn words_that_look_like_a_step_tick_nothing_and_are_told_so() {
    let bench = Bench::new();
    let told = "these are words alone: cut is not noted as done by them";
    bench.folder.done(&["note", "J1/14", "text", "done with this one"]).says_nothing_of("words alone");
    bench.folder.done(&["note", "J1/14", "text", "done cut"]).says(told);
    bench.folder.done(&["note", "J1/14", "done", "cut"]).says_nothing_of("words alone");
}

#[test]
fn the_record_tells_its_history_and_is_found_by_it() {
    let bench = Bench::new();
    bench.folder.done(&["note", "J1/14", "text", "behind the water separator"]);
    bench.folder.done(&["note", "J1/14", "done", "cut"]);
    bench.folder.done(&["note", "--instead", "1", "text", "behind the oil cooler\nand down"]);
    let answer = bench.folder.done(&["find", "oil", "cooler"]);
    let history = timeless(&answer.out);
    let history = history.split("history\n").nth(1).and_then(|rest| rest.split("\n\n").next()).expect("a history");
    let letter = bench.tag("J1/14").split(' ').nth(1).expect("a letter").to_owned();
    assert_eq!(
        history,
        format!(
            "  WHEN  code issued\n  WHEN  printed in run 1: flag A, B\n\
             \x20 WHEN  note 1, {letter}: behind the water separator (superseded by note 3)\n\
             \x20 WHEN  note 2, {letter}: done cut\n  WHEN  note 3, {letter}: behind the oil cooler\n      and down"
        )
    );
    bench.folder.run(&["find", "water", "separator"]).ends_with(1);
    let json = bench.folder.done(&["find", "J1/14", "--json"]).json();
    let history = json["found"][0]["record"]["history"].as_array().expect("a list");
    let whats: Vec<_> = history.iter().map(|event| event["what"].as_str().expect("a word")).collect();
    assert_eq!(whats, ["issued", "printed", "noted", "noted", "noted"]);
    assert_eq!(history[2]["superseded_by"], 3);
}

#[test]
fn what_cannot_be_noted_is_told() {
    let bench = Bench::new();
    let folder = &bench.folder;
    folder
        .run(&["note", "J9/99", "done", "cut"])
        .ends_with(1)
        .says("nothing is noted: `J9/99` is no place of this job")
        .says("`loomtag blanks`");
    folder.run(&["note", "7KF4", "done", "cut"]).ends_with(1).says("never issued in this job");
    folder.run(&["note", "j1", "done", "tagged"]).ends_with(1).says("`j1` is a connector: name its cavities");
    let json = folder.run(&["note", "J9/99", "done", "cut", "--json"]).ends_with(1).json();
    assert_eq!(json["noted"], serde_json::json!([]));
    let code = bench.code("J1/14");
    folder.run(&["note", &format!("{code}/ZZ"), "done", "cut"]).ends_with(1).says("has no end ZZ");
    folder.run(&["note", "J1/14", "done", "ctu"]).ends_with(2).says("did you mean `cut`?");
    folder.run(&["note", "J1/14", "done"]).ends_with(2).says("no step is named");
    folder.run(&["note", "J1/14", "dnoe", "cut"]).ends_with(2).says("did you mean `done`?");
    folder.run(&["note", "done", "cut"]).ends_with(2).says("no code or place is named");
    folder.run(&["note", "J1/14", "found", "emtpy"]).ends_with(2).says("did you mean `empty`?");
    folder.run(&["note", "J1/14", "found", "size", "16"]).ends_with(2).says("16 AWG");
    folder.run(&["note", "J1/14", "text", " "]).ends_with(2).says("the text is empty");
    folder.run(&["note", "J1/14", "text", "bell \u{7}"]).ends_with(2).says("control character (U+0007)");
    folder.run(&["note", "J1/14", "text", &"long ".repeat(401)]).ends_with(2).says("2000 characters at most");
    folder.run(&["note"]).ends_with(2).says("Usage");
    folder.done(&["note", "--list"]).says("nothing is noted yet");
    // No register is made for it.
    let unprinted = JobFolder::small();
    unprinted.run(&["note", "J1/14", "done", "cut"]).ends_with(1).says("no code was issued for `J1/14` yet");
    assert_eq!(unprinted.names(), ["job.toml", "loom.csv"]);
}

#[test]
fn programs_get_what_was_noted() {
    let bench = Bench::new();
    let json = bench.folder.done(&["note", "J1/14", "found", "colour", "BN", "--json"]).json();
    let noted = &json["noted"][0];
    assert_eq!(
        (&noted["number"], &noted["sort"], &noted["step"], &noted["value"]),
        (&1.into(), &"found".into(), &"colour".into(), &"BN".into())
    );
    assert_eq!(
        (noted["code"].as_str(), noted["warnings"].as_array().map(Vec::len)),
        (Some(&*bench.code("J1/14")), Some(0))
    );
}

/// Notes follow their end through a join, and stay when the row is gone.
#[test]
fn notes_follow_their_end() {
    let bench = Bench::new();
    let (keep, other) = (bench.code("J2/5"), bench.code("J2/9"));
    bench.folder.done(&["note", "J2/9", "done", "pulled"]);
    bench.folder.done(&["join", &keep, &other]);
    bench.folder.done(&["find", "J2/9"]).says(&format!("{other} A: done pulled"));
    bench.folder.done(&["note", "J2/9", "done", "pulled"]).says("! noted before: note 1");
    let fewer = crate::kit::SMALL_LIST.replace("J2,9,,,GY,0.5,,,,,\n", "");
    bench.folder.write("loom.csv", fewer);
    bench
        .folder
        .done(&["note", &format!("{other}/A"), "text", "thrown away"])
        .says("J2/9 is not in the lists any more");
}

/// The tag of a blank bears no letter: a note with its code is of the end that it proves to hang at.
#[test]
fn notes_of_a_blank_go_with_its_end() {
    let bench = Bench::new();
    let blank = crate::kit::text(&bench.folder.done(&["blanks", "1", "--list", "--json"]).json()["codes"][0]);
    bench
        .folder
        .done(&["note", &blank.to_lowercase(), "done", "tagged"])
        .says(&format!("note 1: {blank}, a blank, not assigned yet: done tagged"));
    bench.folder.done(&["assign", &blank, "J1/14"]);
    bench.folder.done(&["check", "--brief"]).says("noted: tagged 1, ");
    bench.folder.done(&["note", &blank, "done", "cut"]).says(&format!("note 2: {} at J1/14", bench.tag("J1/14")));
    bench.folder.done(&["find", "J1/14"]).says(&format!("note 1, {blank}: done tagged")).says("done cut");
}

/// A tag that is off is told no more, until another one is printed.
#[test]
fn a_tag_that_was_taken_off_is_told_no_more() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    let name = tags.iter().find(|tag| tag.place() == "J2/9").map(Tag::name).expect("printed").replace(' ', "/");
    folder.write("loom.csv", crate::kit::SMALL_LIST.replace("J2,9,,,GY,0.5,,,,,\n", ""));
    folder.done(&["check"]).says("take off");
    folder.done(&["note", &name, "erledigt", "untagged", "sauber"]);
    folder.done(&["check"]).says_nothing_of("take off");
    // The row comes back: its tag is new.
    folder.write("loom.csv", crate::kit::SMALL_LIST);
    folder.done(&["tags", "--changed", "--all", "--work"]);
    let again = folder.tags("prints/run-0002");
    assert!(again.iter().any(|tag| tag.name().replace(' ', "/") == name));
    folder.done(&["note", &name, "done", "tagged"]);
    folder.done(&["find", "J1/14", "J2/9"]).says("rail pressure").says("J2/9");
}

#[test]
fn a_second_finding_is_told_beside_the_first_and_nonsense_is_no_colour() {
    let bench = Bench::new();
    bench.folder.done(&["note", "J1/14", "found", "colour", "BN/WH"]).says_nothing_of("the newer one counts");
    bench.folder.done(&["note", "J1/14", "found", "colour", "brown/white"]).says_nothing_of("the newer one counts");
    let second = bench.folder.done(&["note", "J1/14", "found", "colour", "GN"]);
    second.says("says `found colour brown/white`: the newer one counts");
    bench.folder.done(&["note", "--instead", "3", "found", "colour", "RD"]).says_nothing_of("the newer one counts");
    bench
        .folder
        .run(&["note", "J1/14", "found", "colour", "blurple"])
        .ends_with(2)
        .says("`blurple` is no colour that is known here")
        .says("did you mean `purple`?");
}
