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

#[test]
fn what_left_the_lists_is_told_with_what_to_do() {
    let (folder, tags) = printed();
    let (one_end, two_ends) = (at(&tags, "J2/5").code(), at(&tags, "J2/3").name());
    let left = |row: &&str| !row.starts_with("J2,5") && !row.starts_with("J2,3");
    folder.write("loom.csv", SMALL_LIST.lines().filter(left).map(|row| format!("{row}\n")).collect::<String>());
    let before = folder.names();
    let what_to_do = "is no longer in the lists: bring its row back to print its tag";
    folder.run(&["reprint", &one_end]).ends_with(1).says(&format!("{one_end} (J2/5) {what_to_do}"));
    for typed in ["J2/5", "j2/5"] {
        folder.run(&["reprint", typed]).ends_with(1).says(&format!("{one_end} A (J2/5) {what_to_do}"));
    }
    // The circuit is there, one of its ends is not.
    for typed in [&*two_ends, "J2/3"] {
        let told = format!("{two_ends} (J2/3, rail pressure signal) {what_to_do}");
        folder.run(&["reprint", typed]).ends_with(1).says(&told);
    }
    assert_eq!(folder.names(), before, "nothing is printed");
    folder.done(&["reprint", two_ends.split(' ').next().expect("a code")]);
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
