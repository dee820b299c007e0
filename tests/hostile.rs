//! Hostile input: everything that the fuzz targets begin with, and whatever they once fell over, is tried in every run.

use std::fs;

use crate::kit::project;

#[path = "../fuzz/inputs.rs"]
mod inputs;

fn each(target: &str, try_out: impl Fn(&[u8])) {
    let folder = project().join("fuzz/corpus").join(target);
    let mut count = 0;
    for entry in fs::read_dir(&folder).expect("the corpus lies there") {
        let path = entry.expect("listed").path();
        try_out(&fs::read(&path).expect("read"));
        count += 1;
    }
    assert!(count > 0, "`{target}` has inputs to begin with");
}

#[test]
fn lists() {
    each("lists", inputs::lists);
    each("workbooks", inputs::workbooks);
}

#[test]
fn settings() {
    each("job", inputs::job);
    each("templates", inputs::templates);
    each("exports", inputs::exports);
}

#[test]
fn what_is_typed_and_scanned() {
    each("codes", inputs::codes);
    each("payloads", inputs::payloads);
}

#[test]
fn pdfs_and_pictures() {
    each("pdfs", inputs::pdfs);
    each("pictures", inputs::pictures);
}
