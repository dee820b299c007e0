//! Choosing tags: by connector, branch, action, kind, circuit, code and file; both sides of a wire; copies; pages drawn.

use std::collections::BTreeSet;

use crate::kit::{JobFolder, text};

/// Names of the tags that a run would print, as `place kind`.
fn chosen(folder: &JobFolder, flags: &[&str]) -> BTreeSet<String> {
    let arguments = [&["check", "--json"], flags].concat();
    let fits = folder.done(&arguments).json()["fits"].clone();
    let fits = fits.as_array().expect("a list").iter();
    fits.map(|fit| format!("{} {}", text(&fit["place"]), text(&fit["kind"]))).collect()
}

fn of(places: &[&str]) -> BTreeSet<String> {
    places.iter().map(|place| format!("{place} flag")).collect()
}

#[test]
fn tags_go_on_both_sides_unless_one_is_asked_for() {
    let folder = JobFolder::small();
    assert_eq!(chosen(&folder, &["--work", "--connector", "j1"]), of(&["J1/1", "J1/14", "J2/3"]));
    assert_eq!(chosen(&folder, &["--work", "--connector", "J1", "--this-end"]), of(&["J1/1", "J1/14"]));
    assert_eq!(chosen(&folder, &["--work", "--action", "cut", "--this-end"]), of(&["J1/1", "J1/14"]));
    assert_eq!(chosen(&folder, &["--work", "--action", "keep,remove", "--all", "--this-end"]).len(), 4);
    assert_eq!(chosen(&folder, &["--work", "--circuit", "e14"]), of(&["J1/14", "J2/3"]));
}

#[test]
fn flags_narrow_one_another() {
    let folder = JobFolder::small();
    assert_eq!(chosen(&folder, &["--work", "--connector", "J1,J2", "--circuit", "E14"]), of(&["J1/14", "J2/3"]));
    assert_eq!(chosen(&folder, &["--work", "--connector", "J2", "--circuit", "E65"]), of(&[]));
    assert_eq!(chosen(&folder, &["--kind", "flag"]), chosen(&folder, &["--work"]));
    assert_eq!(chosen(&folder, &["--kind", "sleeve"]), of(&[]));
}

#[test]
fn a_list_of_what_to_print() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work", "--all"]);
    let code = folder.tags("prints/run-0001").iter().find(|tag| tag.place() == "J2/5").expect("printed").code();
    folder.write("lost.txt", format!("\u{feff}# lost in the bilge\n{code}/A;exhaust\n\"J1/1\"\n\nE14,both\n"));
    let lost = chosen(&folder, &["--work", "--all", "--from-file", &folder.path().join("lost.txt").to_string_lossy()]);
    assert_eq!(lost, of(&["J1/1", "J1/14", "J2/3", "J2/5"]));
    assert_eq!(chosen(&folder, &["--work", "--all", "--code", &format!("{code},J1/1")]), of(&["J1/1", "J2/5"]));
}

#[test]
fn what_names_nothing_is_told_and_nothing_is_printed() {
    let folder = JobFolder::small();
    folder.write("lost.txt", "J1/1\nJ7/7\n");
    let list = folder.path().join("lost.txt");
    let answer = folder.run(&["tags", "--connector", "J9", "--branch", "bay", "--from-file", &list.to_string_lossy()]);
    answer
        .ends_with(1)
        .says("no list names a connector `J9`; did you mean `J1`?")
        .says("no row has a branch: fill the column `branch`")
        .says("lost.txt:2:1: `J7/7` is neither a code nor a place of this job");
    folder.run(&["tags", "--from-file", "not-there.txt"]).ends_with(2).says("cannot read `not-there.txt`");
    folder.run(&["tags", "--action", "chop"]).ends_with(2);
    assert!(!folder.path().join("register.db").exists(), "no code was issued");
}

/// One connector after another, each with its own side of the wires, is the whole run: no tag twice, none left out.
#[test]
fn connector_by_connector_is_the_whole_run() {
    let folder = JobFolder::example();
    let whole = chosen(&folder, &["--no-connectors"]);
    let connectors: BTreeSet<String> = whole
        .iter()
        .filter_map(|tag| Some(tag.split_once('/')?.0.to_owned()).filter(|name| !name.is_empty()))
        .collect();
    let (mut seen, mut count) = (BTreeSet::new(), 0);
    for connector in &connectors {
        let own = chosen(&folder, &["--no-connectors", "--this-end", "--connector", connector]);
        assert!(own.is_subset(&whole), "{connector}");
        assert!(own.is_subset(&chosen(&folder, &["--no-connectors", "--connector", connector])), "{connector}");
        count += own.len();
        seen.extend(own);
    }
    let in_connectors: BTreeSet<String> = whole.into_iter().filter(|tag| tag.contains('/')).collect();
    assert_eq!((count, seen), (in_connectors.len(), in_connectors));
}

#[test]
fn copies_lie_side_by_side() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work", "--copies", "3", "--connector", "J1", "--this-end"]).says("6 flags");
    let places: Vec<String> = folder.tags("prints/run-0001").iter().map(|tag| tag.place()).collect();
    assert_eq!(places, ["J1/1", "J1/1", "J1/1", "J1/14", "J1/14", "J1/14"]);
    folder.done(&["reprint", "J1/1", "--copies", "2"]).says("2 flags");
    folder.run(&["tags", "--copies", "0"]).ends_with(2);
}

/// A reprint issues no code to circuits that are new in the lists: they may yet prove to be renamed ones.
#[test]
fn a_reprint_leaves_new_circuits_alone() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]);
    let list = String::from_utf8(folder.bytes("loom.csv")).expect("text");
    folder.write("loom.csv", list.replace("E14", "RPS"));
    folder.done(&["reprint", "J1/1"]);
    folder.done(&["rename", "E14", "RPS"]);
    let before = folder.tags("prints/run-0001").iter().find(|tag| tag.place() == "J1/14").expect("printed").code();
    folder.done(&["tags", "--work"]);
    let after = folder.tags("prints/run-0003");
    let codes: BTreeSet<String> = after.iter().filter(|tag| tag.place() == "J1/14").map(|tag| tag.code()).collect();
    assert_eq!(codes, BTreeSet::from([before]));
}

#[test]
fn pages_are_drawn_before_they_are_printed() {
    let folder = JobFolder::small();
    folder
        .done(&["tags", "--work", "--preview"])
        .says("work-a4-paper-33-60x24-page-1.png: 3 tags")
        .says("nothing was issued");
    let picture = folder.bytes("preview/work-a4-paper-33-60x24-page-1.png");
    assert!(picture.starts_with(b"\x89PNG"));
    assert!(!folder.path().join("prints").exists());
    folder.run(&["tags", "--preview", "--dry-run"]).ends_with(2);
}

/// A choice that comes to no tag says why, and ends as whatever was looked for and not found; with `--dry-run` too.
#[test]
fn a_choice_without_a_tag_says_why() {
    let folder = JobFolder::small();
    for (flags, why) in [
        (&["--work", "--connector", "J2", "--circuit", "E65"][..], "no end is all of what was asked for at once"),
        (&["--action", "extend"], "no end has the action `extend`; `loomtag check` counts the actions"),
        (
            &["--work", "--circuit", "E33", "--no-connectors"],
            "the end that was chosen needs none (1 remove); work tags go",
        ),
        (&["--final", "--connector", "J2"], "the ends that were chosen need none"),
        (&["--kind", "wrap"], "what was chosen comes to 3 flags, and to none of kind wrap; `--kind flag` prints them"),
        (&["--kind", "sleeve", "--work"], "sleeves and strips are final tags, and work tags were asked for"),
        (&["--changed", "--action", "extend"], "no end has the action `extend`"),
    ] {
        for more in [&[][..], &["--dry-run"], &["--preview"]] {
            let told = folder.run(&[&["tags"], flags, more].concat()).ends_with(1);
            told.says("no tags to print: ").says(why).says_nothing_of("would print");
        }
        let json = folder.run(&[&["tags", "--json"], flags].concat()).ends_with(1).json();
        assert!(text(&json["no_tags"]).contains(why), "{json}");
    }
    assert!(!folder.path().join("register.db").exists(), "no code was issued");
}

/// What was printed already is printed again and said to be so.
#[test]
fn a_second_run_says_that_all_of_it_was_printed() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]).says_nothing_of("printed already");
    let again = folder.done(&["tags", "--work"]);
    again
        .says("all 3 tags were printed already, and say what they would say now; this prints them again")
        .says("`loomtag tags --changed` prints only what is new or has changed, `loomtag reprint J1/14` a single one")
        .says("3 flags");
    folder.done(&["tags", "--work", "--dry-run"]).says("all 3 tags were printed already");
    folder
        .done(&["tags", "--work", "--circuit", "E65"])
        .says("this tag was printed already, and says what it would say now");
    folder.done(&["tags", "--work", "--changed"]).says_nothing_of("printed already");
    folder.done(&["tags"]).says_nothing_of("printed already");
    let list = String::from_utf8(folder.bytes("loom.csv")).expect("text");
    folder.write("loom.csv", list.replace("rail pressure signal", "oil pressure signal"));
    folder.done(&["tags", "--work"]).says("all 3 tags were printed already, and 2 would say something else now");
}

/// Of tags that are left out on purpose nothing is told, not even that they cannot be made.
#[test]
fn what_is_left_out_on_purpose_is_not_told() {
    let list = "connector,cavity,circuit,action,size,diameter\nJ1,1,E65,cut,4.0,\nJ1,2,E14,cut,0.5,2.4\n";
    let folder = JobFolder::small().and("loom.csv", list);
    folder.done(&["tags", "--dry-run"]).says("no final tag");
    for flags in [&["--kind", "flag"][..], &["--work"], &["--kind", "sleeve,flag", "--work"]] {
        folder.done(&[&["tags", "--dry-run"], flags].concat()).says_nothing_of("no final tag");
        folder.done(&[&["check"], flags].concat()).says_nothing_of("no final tag");
    }
    folder.done(&["tags", "--kind", "flag"]).says_nothing_of("no final tag");
    // A strip that cannot be made is told to whoever asks for strips.
    folder.done(&["tags", "--kind", "strip", "--dry-run"]).says("no final tag");
}
