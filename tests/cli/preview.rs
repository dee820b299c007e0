//! `check --preview`: tags drawn before they are printed.

use crate::kit::{JobFolder, Picture, program, text};

#[test]
fn the_tags_of_a_place_are_drawn() {
    let folder = JobFolder::small();
    let answer = folder.done(&["check", "--preview", "J1/14", "--out", "pictures"]);
    let names = folder.names();
    let pictures: Vec<&str> = names.iter().filter_map(|name| name.strip_prefix("pictures/")).collect();
    assert_eq!(pictures.len(), 2, "{names:?}");
    assert!(pictures[0].ends_with("-A-flag.png") && pictures[1].ends_with("-A-strip.png"), "{pictures:?}");
    answer
        .says(&format!("pictures/{}: flag of", pictures[0]))
        .says("for a wire of 2.4 mm, at 600 dots an inch")
        .says("is read round 5.7 mm or more")
        .says("clear 3/16 in 2:1 tube")
        .says("nothing was issued or printed");
}

/// What check shows as a code is what previews are asked by, before the code is issued and after.
#[test]
fn codes_that_are_not_issued_yet_can_be_named() {
    let folder = JobFolder::small();
    let code = text(&folder.done(&["check", "--work", "--json"]).json()["fits"][1]["tag"]);
    let (code, letter) = code.split_once(' ').expect("code and letter");
    folder.done(&["check", "--work", "--preview", code]);
    let both: Vec<String> = folder.names().into_iter().filter(|name| name.ends_with(".png")).collect();
    assert_eq!(both, [format!("preview/{code}-A-flag.png"), format!("preview/{code}-B-flag.png")]);
    assert!(!folder.names().contains(&"register.db".to_owned()), "nothing is issued");
    let before = folder.bytes(&both[0]);

    folder.done(&["tags", "--work"]);
    let careless = format!("{}-{letter}", code.to_lowercase());
    folder.done(&["check", "--work", "--preview", &careless]);
    assert_eq!(folder.bytes(&both[0]), before, "the same tag, whether it is issued or not");
    folder.run(&["check", "--preview", &format!("{code}/X")]).ends_with(1).says("X");
}

/// The picture's symbol says what the printed one says.
#[test]
fn a_preview_carries_the_symbol_of_the_tag() {
    let folder = JobFolder::small();
    folder.done(&["check", "--work", "--preview", "J1/14", "--out", "."]);
    let picture = folder.names().into_iter().find(|name| name.ends_with(".png")).expect("it was drawn");
    let path = folder.path().join(&picture);
    let said = program("zbarimg", &["-q", "--raw", &path.to_string_lossy()]);
    folder.done(&["tags", "--work"]);
    let printed = folder.tags("prints/run-0001").into_iter().find(|tag| tag.place() == "J1/14").expect("it is printed");
    assert_eq!(said.lines().next(), printed.says().as_deref());
    let head = Picture::of(&folder.bytes(&picture));
    assert_eq!(head.a_metre, 23_622, "600 dots an inch");
}

#[test]
fn what_cannot_be_drawn_says_why() {
    let folder = JobFolder::small();
    folder
        .run(&["check", "--preview", "J2/9", "--preview", "J7/7", "--preview", "J2/3"])
        .ends_with(1)
        .says("J2/9 is `undecided`")
        .says("`J7/7` is neither a code nor a place of this job")
        .says("J2/3 is `keep`");
    let unknown = JobFolder::with(&[
        ("job.toml", "title = \"Marsh Hen\"\n"),
        ("loom.csv", "connector,cavity,circuit,action\nJ1,1,E1,cut\nX3,1,E1,keep\n"),
    ]);
    unknown
        .run(&["check", "--final", "--preview", "J1/1"])
        .ends_with(1)
        .says("no final tag: the wire's diameter is not known")
        .says_nothing_of("nothing was issued");
    assert_eq!(unknown.names(), ["job.toml", "loom.csv"], "no empty folder is left");
    unknown.run(&["check", "--final", "--preview", "X3/1"]).ends_with(1).says("X3/1 is `keep`");
}

#[test]
fn programs_are_told_the_paths() {
    let folder = JobFolder::small();
    let json = folder.done(&["check", "--preview", "J1/1", "--out", "p", "--json"]).json();
    let shown = json["shown"].as_array().expect("a list");
    assert_eq!(shown.len(), 2, "{json:#}");
    for one in shown {
        let picture = Picture::of(&folder.bytes(&text(&one["file"])));
        assert!(picture.width > picture.height);
        assert_eq!(one["place"], "J1/1");
    }
    assert_eq!(shown[0]["says"][0], "LIVE WITH BATTERY ON: CAP THIS END");
    let json = folder.run(&["check", "--preview", "nope", "--json"]).ends_with(1).json();
    assert_eq!(json["unknown"][0]["typed"], "nope");
}

#[test]
fn previews_are_of_named_ends() {
    let folder = JobFolder::small();
    folder.run(&["check", "--out", "pictures"]).ends_with(2).says("--preview");
    folder.run(&["check", "--preview", "J1/1", "--all"]).ends_with(2).says("cannot be used with");
}
