//! `stock`: what comes with the program.

use crate::kit::{JobFolder, text};

#[test]
fn stocks_are_listed_and_named_by_geometry() {
    let answer = JobFolder::empty().done(&["stock"]);
    for what in ["a4-24-64x34", "letter-30-67x25", "roll-62x29", "tube-3.2-1.6", "a4-paper-strips"] {
        assert!(answer.out.contains(what), "{what}");
    }
    answer.says("24 tags of 63.5 mm x 33.9 mm").says("each label cut in 2").says("1/8 in 2:1 tube");
}

#[test]
fn stocks_are_listed_for_programs() {
    let json = JobFolder::empty().done(&["stock", "--json"]).json();
    let all = json.as_array().expect("a list");
    assert!(all.len() >= 8, "at least eight");
    assert!(all.iter().any(|stock| stock["name"] == "a4-65-38x21" && text(&stock["for"]) == "work"), "{json:#}");
}

#[test]
fn a_shown_stock_is_a_pattern_for_ones_own() {
    let folder = JobFolder::small();
    let shown = folder.done(&["stock", "a4-65-38x21"]).out;
    let own = shown.replace("name = \"a4-65-38x21\"", "name = \"bench-sheet\"");
    folder.write("stock/bench-sheet.toml", own);
    folder.write("job.toml", "title = \"Marsh Hen\"\n[tags]\nwork_stock = \"bench-sheet\"\n");
    folder.done(&["check", "--work"]).says("bench-sheet");
}

#[test]
fn an_unknown_stock_is_told() {
    JobFolder::empty().run(&["stock", "a4-99"]).ends_with(2).says("there is no stock `a4-99`").says("loomtag stock");
}
