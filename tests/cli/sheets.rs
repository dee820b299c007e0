//! Sheets of labels that are used in part: the next run goes on there.

use std::collections::BTreeSet;

use crate::kit::{JobFolder, program, text};

const LABELS: &str = "title = \"Marsh Hen bench\"\n[tags]\nwork_stock = \"a4-24-64x34\"\n";

fn labels() -> JobFolder {
    JobFolder::small().and("job.toml", LABELS)
}

/// Sheet and label of each tag of a run, in the order of its pages.
fn on_sheets(folder: &JobFolder, run: &str) -> Vec<(u64, u64)> {
    let tags = folder.tags(run);
    tags.iter()
        .map(|tag| (tag.json["sheet"].as_u64().expect("on a sheet"), tag.json["label"].as_u64().expect("on a sheet")))
        .collect()
}

fn free(folder: &JobFolder, sheet: u64) -> BTreeSet<u64> {
    let sheets = folder.done(&["stock", "sheets", "--all", "--json"]).json();
    let sheet = sheets.as_array().expect("a list").iter().find(|known| known["sheet"] == sheet).expect("begun").clone();
    sheet["free"].as_array().expect("a list").iter().map(|place| place.as_u64().expect("a number")).collect()
}

const INKJET: &str = "[printer]\nkind = \"inkjet\"\n";

#[test]
fn the_next_run_goes_on_from_the_trailing_end() {
    let folder = JobFolder::small().and("job.toml", &format!("{LABELS}{INKJET}"));
    folder
        .done(&["tags", "--work"])
        .says("page 1: a new sheet, numbered 1; labels 22-24 used, 21 free")
        .says("the next run goes on there");
    assert_eq!(on_sheets(&folder, "prints/run-0001"), [(1, 22), (1, 23), (1, 24)]);
    folder
        .done(&["tags", "--work"])
        .says("page 1: sheet 1, which is begun, the same way round as before; labels 19-21 used, 18 free")
        .says("keep what is left over");
    assert_eq!(on_sheets(&folder, "prints/run-0002"), [(1, 19), (1, 20), (1, 21)]);
    folder.done(&["stock", "sheets", "1"]).says("  22  # # #").says("  19  # # #").says("  16  . . .");
}

/// Peeled liners stick to the fuser: a sheet goes through a laser printer twice at most, and what is free then is lost. A run that
/// would lose much begins a new sheet, and tells which one waits.
#[test]
fn the_last_pass_of_a_sheet_is_not_burnt_for_a_few_tags() {
    let folder = labels();
    folder.done(&["tags", "--work"]).says("a new sheet, numbered 1");
    let kept = folder.done(&["reprint", "J1/1"]);
    kept.says("page 1: a new sheet, numbered 2; label 24 used, 23 free").says(
        "sheet 1 (21 labels free) waits for a run that fills more of them in one pass; `--sheet 1` takes sheet 1 now",
    );
    // Before it is printed, what it costs is told.
    folder
        .done(&["tags", "--code", "J1/1", "--this-end", "--work", "--dry-run"])
        .says("sheet 1 (21 labels free) waits for a run that fills more of it; with `--sheet 1` 1 of its 21 labels are used and 20 lost");
    // 15 tags: of sheet 1 six labels are lost, of sheet 2 eight would be.
    let asked = ["tags", "--work", "--copies", "5"];
    let rehearsed = folder.done(&[&asked[..], &["--dry-run"]].concat());
    rehearsed.says("0 new sheets  15 of 21 labels, sheet 1 first, 6 left over (29 %), 6 of them lost: a last pass");
    folder
        .done(&asked)
        .says("page 1: sheet 1, which is begun, the same way round as before; labels 7-21 used, 6 free")
        .says("sheet 1 goes through the laser printer for the second and last time: 6 labels left free are lost; press")
        .says_nothing_of("keep what is left over");
    // It is told as what it is.
    folder.done(&["stock", "sheets"]).says("sheet 1 went through the laser printer twice, with labels left: worn out");
    let all = folder.done(&["stock", "sheets", "--all"]);
    all.says("1      a4-24-64x34  worn out, 6 lost  18    2 of 2  1, 3").says("23 (1-23)         1     1 of 2  2");
    folder.done(&["stock", "sheets", "1"]).says("   1  - - -").says("  22  # # #");
    let told = folder.done(&["stock", "sheets", "1", "--json"]).json();
    assert_eq!((&told[0]["worn_out"], &told[0]["passes"]), (&true.into(), &2.into()), "{told}");
    folder
        .run(&["tags", "--work", "--sheet", "1"])
        .ends_with(2)
        .says("sheet 1 went through a laser printer 2 times already")
        .says("--new-sheet");
    // Two at once are told in one sentence.
    folder.done(&["tags", "--work", "--new-sheet"]);
    folder
        .done(&["tags", "--work", "--copies", "15"])
        .says("sheets 2, 3 go through the laser printer for the second and last time:");
}

/// The second pass says run and page where the first one has printed nothing.
#[test]
fn pages_of_a_second_pass_bear_their_run() {
    let folder = labels();
    folder.done(&["tags", "--work"]);
    folder.done(&["tags", "--work", "--sheet", "1"]);
    let pdf = folder.path().join("prints/run-0002/work-a4-24-64x34.pdf");
    let said = program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    assert!(said.contains("run 2 · page 1") && !said.contains("sheet 1"), "{said}");
}

/// A sheet that has lost labels already is no whole one.
#[test]
fn a_rehearsal_counts_the_labels_of_a_part_of_a_sheet() {
    let folder = labels();
    let rehearsed = folder.done(&["tags", "--work", "--start-at", "23", "--dry-run"]);
    rehearsed.says("1 new sheet  3 of 26 labels, a sheet from label 23 on first, 23 left over (88 %)");
    let rehearsed = folder.done(&["tags", "--work", "--start-at", "21", "--dry-run"]);
    rehearsed.says("0 new sheets  3 of 4 labels, a sheet from label 21 on first, 1 left over (25 %)");
}

#[test]
fn the_sheet_can_be_chosen() {
    let folder = labels();
    folder.done(&["tags", "--work"]);
    folder.done(&["tags", "--work", "--new-sheet"]).says("numbered 2");
    folder.done(&["tags", "--work", "--sheet", "2"]).says("page 1: sheet 2, which is begun");
    folder
        .done(&["tags", "--work", "--start-at", "23"])
        .says("page 1: a new sheet, numbered 3; labels 23, 24 used, 0 free");
    assert_eq!(on_sheets(&folder, "prints/run-0004"), [(3, 23), (3, 24), (4, 24)]);
    folder.run(&["tags", "--work", "--sheet", "9"]).ends_with(2).says("there is no sheet 9").says("stock sheets");
    folder.run(&["tags", "--work", "--sheet", "3"]).ends_with(2).says("sheet 3 has no free label");
    folder.run(&["tags", "--work", "--start-at", "25"]).ends_with(2).says("has no label 25: it has 24");
    folder
        .run(&["tags", "--final", "--start-at", "2"])
        .ends_with(2)
        .says("none of these tags goes on a sheet of labels");
    folder.run(&["tags", "--work", "--sheet", "2", "--new-sheet"]).ends_with(2);
    folder.done(&["tags", "--work", "--dry-run"]).says("1 sheet  ");
}

#[test]
fn spoilt_labels_are_printed_again() {
    let folder = labels();
    folder.done(&["tags", "--work"]);
    folder.run(&["reprint", "--spoilt"]).ends_with(1).says("no tag of a spoilt label is left to print again");
    let name = folder.tags("prints/run-0001")[1].name();
    folder
        .done(&["stock", "spoilt", "1", "23", "2"])
        .says(&format!("sheet 1, label 23: spoilt; flag {name}"))
        .says("sheet 1, label 2: spoilt; nothing was printed on it")
        .says("`loomtag reprint --spoilt` prints it again");
    assert!(!free(&folder, 1).contains(&2));
    folder.done(&["reprint", "--spoilt"]).says("1 flag");
    assert_eq!(folder.tags("prints/run-0002").iter().map(|tag| tag.name()).collect::<Vec<_>>(), [name]);
    folder.run(&["reprint", "--spoilt"]).ends_with(1);
    folder.done(&["stock", "spoilt", "1", "2", "--undo"]);
    assert!(free(&folder, 1).contains(&2));
    // An empty label promises no reprint, whatever else is spoilt.
    folder.done(&["stock", "spoilt", "1", "22"]).says("`loomtag reprint --spoilt` prints it again");
    folder.done(&["stock", "spoilt", "1", "2"]).says("nothing was printed on it").says_nothing_of("reprint");
    folder.done(&["stock", "spoilt", "1", "5-7,9", "11"]);
    assert!(free(&folder, 1).is_disjoint(&BTreeSet::from([5, 6, 7, 9, 11])) && free(&folder, 1).contains(&8));
    folder.done(&["stock", "spoilt", "1", "5-11", "--undo"]).says("labels 5-11 not spoilt after all");
    assert!(free(&folder, 1).contains(&9));
    folder.run(&["stock", "spoilt", "1-2", "5"]).ends_with(2).says("a sheet and at least one label are wanted");
    folder.run(&["stock", "spoilt", "1", "7-5"]).ends_with(2).says("several such as `17-19` or `5,6`");
    folder.run(&["stock", "spoilt", "1"]).ends_with(2).says("a sheet and at least one label are wanted");
    folder.run(&["stock", "spoilt", "1", "25"]).ends_with(2).says("has no label 25");
    folder.run(&["stock", "spoilt", "7", "1"]).ends_with(2).says("there is no sheet 7");
}

#[test]
fn what_was_never_printed_is_free_again() {
    let folder = labels();
    folder.done(&["tags", "--work"]);
    folder.done(&["stock", "unprinted", "1"]).says("its labels are free");
    assert_eq!(free(&folder, 1).len(), 24);
    // There is no such sheet yet: the next run prints its number.
    folder.done(&["stock", "sheets"]).says("no sheet of labels is begun");
    folder.done(&["tags", "--work", "--changed", "--dry-run"]).says("would print");
    folder.done(&["tags", "--work"]).says("page 1: a new sheet, numbered 1");
    assert_eq!(on_sheets(&folder, "prints/run-0002"), [(1, 22), (1, 23), (1, 24)]);
    folder
        .run(&["stock", "unprinted", "1", "--undo"])
        .ends_with(2)
        .says("run 2 has been printed on labels of sheet 1 that were those of run 1");
    folder.done(&["stock", "unprinted", "2"]);
    folder.done(&["stock", "unprinted", "1", "--undo"]).says("its labels are used");
    folder.done(&["stock", "sheets"]).says("21 (1-21)");
    folder.run(&["stock", "unprinted", "9"]).ends_with(2).says("there is no print run 9");
    folder
        .done(&["stock", "gone", "1"])
        .says("no run goes on it any more")
        .says("3 tags printed on it: if they went with the sheet, `loomtag stock spoilt 1 22-24` and then")
        .says("`loomtag reprint --spoilt` print them again");
    folder.done(&["tags", "--work"]).says("a new sheet, numbered 2");
    folder.run(&["tags", "--work", "--sheet", "1"]).ends_with(2).says("sheet 1 was told to be gone");
    folder.done(&["stock", "gone", "1", "--undo"]).says("there after all");
}

/// A lost register learns from the runs which labels are used.
#[test]
fn sheets_outlive_the_register() {
    let folder = labels();
    folder.done(&["tags", "--work", "--start-at", "3"]);
    folder.done(&["tags", "--work"]);
    let before = folder.done(&["stock", "sheets", "--all", "--json"]).json();
    std::fs::remove_file(folder.path().join("register.db")).expect("removed");
    folder.done(&["import"]);
    assert_eq!(folder.done(&["stock", "sheets", "--all", "--json"]).json(), before);
    folder.done(&["export", "safe"]);
    std::fs::remove_file(folder.path().join("register.db")).expect("removed");
    folder.done(&["import", "safe"]);
    assert_eq!(folder.done(&["stock", "sheets", "--all", "--json"]).json(), before);
    assert_eq!(text(&before[0]["stock"]), "a4-24-64x34");
}

/// Whatever the order of runs, marks and wishes: no label is ever printed twice.
#[test]
fn no_label_is_printed_twice() {
    let folder = JobFolder::small().and("job.toml", &format!("{LABELS}{INKJET}"));
    let mut used = BTreeSet::new();
    let steps: [&[&str]; 9] = [
        &["tags", "--work", "--no-proof"],
        &["tags", "--work", "--all", "--no-proof"],
        &["tags", "--work", "--new-sheet", "--no-proof"],
        &["stock", "spoilt", "1", "5", "14"],
        &["tags", "--work", "--all", "--copies", "3", "--no-proof"],
        &["tags", "--work", "--sheet", "1", "--no-proof"],
        &["blanks", "7", "--no-proof"],
        &["tags", "--work", "--start-at", "20", "--no-proof"],
        &["reprint", "J1/1", "--no-proof"],
    ];
    let mut run = 0;
    for step in steps {
        folder.done(step);
        if step[0] == "stock" {
            used.extend([(1, 5), (1, 14)]);
            continue;
        }
        run += 1;
        for place in on_sheets(&folder, &format!("prints/run-{run:04}")) {
            assert!(used.insert(place), "{step:?} prints on {place:?} again");
        }
    }
    let sheets = folder.done(&["stock", "sheets", "--all", "--json"]).json();
    for sheet in sheets.as_array().expect("a list") {
        let number = sheet["sheet"].as_u64().expect("a number");
        let begun = sheet["begun_at"].as_u64().expect("a number");
        let expected: BTreeSet<u64> = (begun..=24).filter(|label| !used.contains(&(number, *label))).collect();
        assert_eq!(free(&folder, number), expected, "sheet {number}");
    }
}
