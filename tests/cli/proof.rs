//! `proof`: the symbols of a PDF read back later on.

use serde_json::json;

use crate::kit::{JobFolder, script, text};

const RUN: &str = "prints/run-0001";
const PDF: &str = "prints/run-0001/work-a4-paper-33-60x24.pdf";

fn printed() -> JobFolder {
    let folder = JobFolder::small();
    folder.done(&["tags", "--work"]);
    folder
}

#[test]
fn a_whole_pdf_is_sound() {
    let folder = printed();
    folder.done(&["proof", PDF]).says("3 of 3 symbols read back");
    let json = folder.done(&["proof", PDF, "--json"]).json();
    assert_eq!(json[0]["expected"], 3);
    assert_eq!(json[0]["misses"], json!([]));
}

#[test]
fn a_damaged_symbol_is_named() {
    let folder = printed();
    let tags = folder.tags(RUN);
    let tag = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed");
    let area = tag.symbol_area();
    let file = folder.path().join(PDF);
    script("cover.py", &[&file.to_string_lossy(), "1", &area]);
    let answer = folder.run(&["proof", PDF]).ends_with(1);
    answer.says("2 of 3 symbols read back").says(&format!("`{}` on page 1", tag.name()));
    let json = folder.run(&["proof", PDF, "--json"]).ends_with(1).json();
    assert_eq!(text(&json[0]["misses"][0]["tag"]), tag.name());
    assert_eq!(json[0]["misses"].as_array().expect("a list").len(), 1);
}

#[test]
fn a_symbol_that_says_something_else_is_named() {
    let folder = printed();
    let record = String::from_utf8(folder.bytes(&format!("{RUN}/run.json"))).expect("text");
    let tag = folder.tags(RUN)[0].clone();
    let says = tag.says().expect("it has a symbol");
    folder.write(&format!("{RUN}/run.json"), record.replace(&says, "HTTP://MARSHHEN.LOCAL:7117/7KF4/Z"));
    folder.run(&["proof", PDF]).ends_with(1).says(&tag.name()).says(&says).says("7KF4/Z");
}

#[test]
fn a_pdf_alone_is_read_for_what_it_is() {
    let folder = printed();
    folder.write("alone.pdf", folder.bytes(PDF));
    let answer = folder.done(&["proof", "alone.pdf"]).says("no run.json").says("3 symbols found");
    for tag in folder.tags(RUN) {
        assert!(answer.out.contains(&tag.says().expect("it has a symbol")), "{}", answer.out);
    }
}

#[test]
fn what_is_no_pdf_is_told() {
    let folder = printed();
    folder.run(&["proof", "nowhere.pdf"]).ends_with(2).says("`nowhere.pdf`");
    folder.run(&["proof", "loom.csv"]).ends_with(2).says("loom.csv");
    let half = folder.bytes(PDF);
    folder.write(PDF, &half[..half.len() / 2]);
    let answer = folder.run(&["proof", PDF]);
    assert!(matches!(answer.code, 1 | 2), "{answer:?}");
    folder.write(&format!("{RUN}/run.json"), "{");
    folder.run(&["proof", PDF]).ends_with(2).says("run.json");
}
