//! Header labels: one before the tags of each connector, no tag itself.

use crate::kit::JobFolder;

const LABELS: &str = "title = \"Marsh Hen bench\"\n[tags]\nwork_stock = \"a4-24-64x34\"\n";

fn labels() -> JobFolder {
    JobFolder::small().and("job.toml", LABELS)
}

#[test]
fn each_connector_gets_one_only_when_it_is_asked_for() {
    let folder = labels();
    folder.done(&["tags", "--work"]).says("work-a4-24-64x34.pdf: 3 tags on 1 page");
    let printed = folder.done(&["tags", "--work", "--all", "--headers", "--new-sheet", "--json"]).json();
    let file = &printed["files"][0];
    let (tags, headers) = (file["tags"].as_u64().expect("counted"), file["headers"].as_u64().expect("counted"));
    assert!(headers > 0, "{file}");
    // They are on the sheet, and in the journal they are not.
    let sheets = folder.done(&["stock", "sheets", "--all", "--json"]).json();
    let sheet = sheets.as_array().expect("a list").last().expect("begun").clone();
    let of_kind = |is_header: bool| {
        let labels = sheet["labels"].as_array().expect("a list");
        labels.iter().filter(|label| (label["kind"] == "header") == is_header).count() as u64
    };
    assert_eq!((of_kind(false), of_kind(true)), (tags, headers));
    assert_eq!(folder.tags("prints/run-0002").len() as u64, tags);
    folder.done(&["tags", "--changed", "--work", "--all"]).says("nothing");
}

#[test]
fn a_spoilt_header_is_no_tag_to_print_again() {
    let folder = labels();
    folder.done(&["tags", "--work", "--all", "--headers"]);
    let sheets = folder.done(&["stock", "sheets", "--json"]).json();
    let labels = sheets[0]["labels"].as_array().expect("a list").clone();
    let header = labels.iter().find(|label| label["kind"] == "header").expect("a header");
    let place = header["label"].to_string();
    folder.done(&["stock", "spoilt", "1", &place]).says("a header label");
    folder.run(&["reprint", "--spoilt"]).says("no tag of a spoilt label is left to print again");
}

#[test]
fn a_rehearsal_counts_them() {
    let folder = labels();
    let needs = |arguments: &[&str]| folder.done(arguments).json()["shopping"][0]["tags"].as_u64().expect("counted");
    let without = needs(&["tags", "--work", "--all", "--dry-run", "--json"]);
    let with = needs(&["tags", "--work", "--all", "--headers", "--dry-run", "--json"]);
    assert!(with > without, "{with} labels with headers, {without} without");
}

#[test]
fn the_order_can_stand_in_the_job() {
    let folder = JobFolder::small().and("job.toml", "title = \"x\"\n[tags]\norder = \"least-waste\"\n");
    folder.done(&["check"]);
    folder.done(&["tags", "--order", "working", "--dry-run"]);
    let folder = JobFolder::small().and("job.toml", "title = \"x\"\n[tags]\norder = \"by-size\"\n");
    folder.run(&["check"]).ends_with(1).says("by-size").says("least-waste");
}
