//! `reprint`: the same tag again.

use crate::kit::{JobFolder, SMALL_LIST, Tag};

fn printed() -> (JobFolder, Vec<Tag>) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    (folder, tags)
}

fn at<'a>(tags: &'a [Tag], place: &str) -> &'a Tag {
    tags.iter().find(|tag| tag.place() == place).unwrap_or_else(|| panic!("no tag at {place}"))
}

#[test]
fn a_place_gives_the_same_tag_again() {
    let (folder, tags) = printed();
    folder.done(&["reprint", "J1/14"]).says("1 of 1 symbols read back");
    let again = folder.tags("prints/run-0002");
    assert_eq!(again.len(), 1);
    let (old, new) = (at(&tags, "J1/14"), &again[0]);
    assert_eq!((old.name(), old.words(), old.says()), (new.name(), new.words(), new.says()));
    // Careless about case, as people are.
    folder.done(&["reprint", "j1/14"]);
    assert_eq!(folder.tags("prints/run-0003")[0].name(), old.name());
}

#[test]
fn a_code_gives_all_its_ends_and_a_letter_one() {
    let (folder, tags) = printed();
    let code = at(&tags, "J1/14").code();
    folder.done(&["reprint", &code]);
    let both = folder.tags("prints/run-0002");
    assert_eq!(both.iter().map(Tag::place).collect::<Vec<_>>(), ["J1/14", "J2/3"]);
    for (run, typed) in [format!("{code}/B"), format!("{code} B"), code.to_lowercase() + "-b"].iter().enumerate() {
        folder.done(&["reprint", typed]);
        let one = folder.tags(&format!("prints/run-{:04}", run + 3));
        assert_eq!(one.iter().map(Tag::place).collect::<Vec<_>>(), ["J2/3"], "{typed}");
    }
}

#[test]
fn final_tags_on_request_and_several_at_once() {
    let (folder, tags) = printed();
    let code = at(&tags, "J1/1").code();
    folder.done(&["reprint", &code, "J1/14", "--final", "--work"]);
    let files: Vec<String> =
        folder.tags("prints/run-0002").iter().map(|tag| format!("{} {}", tag.file, tag.place())).collect();
    assert_eq!(
        files,
        [
            "work-a4-paper-33-60x24.pdf J1/1",
            "work-a4-paper-33-60x24.pdf J1/14",
            // Strips come in the order of their heights, and the thicker wire's has two rows.
            "final-a4-paper-strips.pdf J1/14",
            "final-a4-paper-strips.pdf J1/1",
        ]
    );
}

#[test]
fn a_mistyped_code_is_caught_and_near_ones_are_offered() {
    let (folder, tags) = printed();
    let code = at(&tags, "J1/14").code();
    // Every single wrong character is caught by the check character, so this is no code.
    let last = if code.ends_with('7') { '8' } else { '7' };
    let typed = format!("{}{last}", &code[..code.len() - 1]);
    let before = folder.names();
    folder.run(&["reprint", &typed]).ends_with(1).says(&format!("`{typed}`")).says("like it").says(&code);
    assert_eq!(folder.names(), before, "nothing is printed");
    folder.run(&["reprint", "J1/99", "J1/14"]).ends_with(1).says("`J1/99`").says_nothing_of("`J1/14`");
    assert_eq!(folder.names(), before, "nothing is printed when one of the words names nothing");
}

#[test]
fn a_designation_is_told_how_it_can_be_reprinted() {
    let (folder, tags) = printed();
    let code = at(&tags, "J1/14").code();
    folder.run(&["reprint", "E14"]).ends_with(1).says(&code);
}

#[test]
fn a_letter_that_no_end_has_is_told() {
    let (folder, tags) = printed();
    let code = at(&tags, "J1/14").code();
    let before = folder.names();
    let told = format!("{code} has no end ZZ; it has A, B\n");
    for typed in [format!("{code}/ZZ"), format!("{} zz", code.to_lowercase())] {
        assert_eq!(folder.run(&["reprint", &typed, "J1/1"]).ends_with(1).out, told);
    }
    assert_eq!(folder.names(), before, "nothing is printed");
}

/// The loom without these places.
fn without(folder: &JobFolder, places: &[&str]) {
    let is_left = |row: &&str| !places.iter().any(|place| row.starts_with(place));
    folder.write("loom.csv", SMALL_LIST.lines().filter(is_left).map(|row| format!("{row}\n")).collect::<String>());
}

#[test]
fn what_left_the_lists_is_printed_as_it_said() {
    let (folder, tags) = printed();
    let (one_end, two_ends) = (at(&tags, "J2/5"), at(&tags, "J2/3"));
    without(&folder, &["J2,5", "J2,3"]);
    for (run, (typed, was)) in [
        (one_end.code(), one_end),
        ("J2/5".to_owned(), one_end),
        ("j2/5".to_owned(), one_end),
        // The circuit is there, one of its ends is not.
        (two_ends.name(), two_ends),
        ("J2/3".to_owned(), two_ends),
    ]
    .iter()
    .enumerate()
    {
        let place = was.place();
        folder
            .done(&["reprint", typed])
            .says(&format!("{} ({place}) is no longer in the lists; printed as it said in run", was.name()))
            .says("1 of 1 symbols read back");
        let again = folder.tags(&format!("prints/run-{:04}", run + 2));
        assert_eq!(again.len(), 1);
        let now = &again[0];
        assert_eq!((now.name(), now.place(), now.words(), now.says()), (was.name(), place, was.words(), was.says()));
    }
    // Nothing is told to be printed where nothing is.
    let refused = folder.run(&["reprint", "J2/5", "J9/9"]).ends_with(1);
    refused.says("`J9/9` is neither").says("nothing was printed").says_nothing_of("printed as it said");
    // With what the lists have, and once only.
    folder.done(&["reprint", "J2/5", &one_end.name(), "J1/14"]).says("2 of 2 symbols read back");
    folder.done(&["reprint", two_ends.name().split(' ').next().expect("a code")]).says("1 of 1 symbols");
}

#[test]
fn marks_and_final_tags_that_left_the_lists_are_printed_as_they_said() {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all"]);
    let tags = folder.tags("prints/run-0001");
    let of = |purpose: &str| {
        let is_of = |tag: &&Tag| tag.place() == "J1/1" && tag.file.starts_with(purpose);
        tags.iter().find(is_of).expect("printed").clone()
    };
    let (work, last) = (of("work"), of("final"));
    without(&folder, &["J1,1,"]);
    folder.done(&["reprint", "J1/1"]).says("LIVE WITH BATTERY ON");
    let again = folder.tags("prints/run-0002");
    assert_eq!((again[0].words(), again[0].says()), (work.words(), work.says()));
    assert_eq!(again[0].words()[0], "LIVE WITH BATTERY ON: CAP THIS END");
    // Nobody knows how thick the wire is.
    folder.run(&["reprint", "J1/1", "--final"]).ends_with(1).says("the wire's diameter is not known");
    assert!(!last.words().is_empty());
}

#[test]
fn what_was_never_printed_and_left_the_lists_is_told_with_what_to_do() {
    let folder = JobFolder::small();
    let cut = |places: &[&str]| without(&folder, places);
    // Codes are issued for all, tags are printed of a connector alone.
    folder.done(&["tags", "--all", "--connector", "J1", "--work"]);
    cut(&["J2,5"]);
    let before = folder.names();
    folder
        .run(&["reprint", "J2/5"])
        .ends_with(1)
        .says("(J2/5) is no longer in the lists: bring its row back to print its tag");
    assert_eq!(folder.names(), before, "nothing is printed");
}

#[test]
fn a_final_tag_needs_an_end_that_comes_free() {
    let (folder, tags) = printed();
    let before = folder.names();
    let why = "a final tag threads on an end that comes free (cut, move, add, extend, reserve); ";
    folder.run(&["reprint", "J1/2", "--final"]).ends_with(1).says(&format!("{why}J1/2 is `keep`\n"));
    let code = at(&tags, "J1/2").code();
    folder.run(&["reprint", &code, "--final"]).ends_with(1).says(&format!("{why}G2 is `keep`, J1/2 is `keep`\n"));
    assert_eq!(folder.names(), before, "nothing is printed");
    // One of its two ends is cut; and work tags are printed whatever the plan is.
    folder.done(&["reprint", &at(&tags, "J1/14").code(), "--final"]).says_nothing_of(why);
    folder.done(&["reprint", "J1/2", "--final", "--work"]).says(why).says("1 flag");
}

/// A joined code letters its ends otherwise than the one that is printed: its own letters count.
#[test]
fn a_letter_of_a_joined_code_gives_that_end() {
    let (folder, tags) = printed();
    let (keep, other) = (at(&tags, "J1/14").code(), at(&tags, "J2/9").code());
    folder.done(&["join", &keep, &other]);
    folder.done(&["reprint", &format!("{other}/A")]);
    assert_eq!(folder.tags("prints/run-0002").iter().map(Tag::place).collect::<Vec<_>>(), ["J2/9"]);
}
