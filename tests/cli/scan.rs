//! `scan`: tags read from photographs and PDFs.

use crate::kit::{JobFolder, Tag, script};

const PDF: &str = "prints/run-0001/work-a4-paper-33-60x24.pdf";

fn printed() -> (JobFolder, Vec<Tag>) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    (folder, tags)
}

/// A photograph of one tag as a phone takes it: turned, a little out of focus, unevenly lit.
fn photograph(folder: &JobFolder, tags: &[Tag], place: &str, file: &str, turned: &str) -> Tag {
    let tag = tags.iter().find(|tag| tag.place() == place).unwrap_or_else(|| panic!("no tag at {place}")).clone();
    let (pdf, photo) = (folder.path().join(PDF), folder.path().join(file));
    let area = tag.symbol_area();
    script("photograph.py", &[&pdf.to_string_lossy(), "1", &area, turned, &photo.to_string_lossy()]);
    tag
}

#[test]
fn a_photograph_gives_the_record() {
    let (folder, tags) = printed();
    for (file, turned) in [("a.png", "7"), ("b.jpg", "-33"), ("c.jpg", "180")] {
        let tag = photograph(&folder, &tags, "J1/14", file, turned);
        let answer = folder.done(&["scan", file]);
        answer
            .says(file)
            .says(&tag.says().expect("a symbol"))
            .says("rail pressure signal")
            .says("> A  J1/14")
            .says("J2/3");
    }
}

#[test]
fn two_tags_are_compared() {
    let (folder, tags) = printed();
    photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    photograph(&folder, &tags, "J2/3", "there.jpg", "-9");
    photograph(&folder, &tags, "J2/5", "other.jpg", "15");
    folder.done(&["scan", "here.jpg", "there.jpg"]).says("the same circuit");
    folder.done(&["scan", "here.jpg", "other.jpg"]).says("different circuits");
    let json = folder.done(&["scan", "here.jpg", "there.jpg", "--json"]).json();
    let groups = |json: &serde_json::Value| json["one_circuit"].as_array().expect("a list").len();
    assert_eq!((groups(&json), json["tags"].as_array().expect("a list").len()), (1, 2));
    let json = folder.done(&["scan", "here.jpg", "other.jpg", "--json"]).json();
    assert_eq!(groups(&json), 2);
}

#[test]
fn joined_codes_are_one_circuit() {
    let (folder, tags) = printed();
    let one = photograph(&folder, &tags, "J2/5", "one.jpg", "3");
    let other = photograph(&folder, &tags, "J2/9", "other.jpg", "-3");
    folder.done(&["scan", "one.jpg", "other.jpg"]).says("different circuits");
    folder.done(&["join", &one.code(), &other.code()]);
    folder.done(&["scan", "one.jpg", "other.jpg"]).says("the same circuit");
}

#[test]
fn all_symbols_of_a_pdf_are_read() {
    let (folder, tags) = printed();
    let json = folder.done(&["scan", PDF, "--json"]).json();
    let mut read: Vec<String> =
        json["tags"].as_array().expect("a list").iter().map(|tag| crate::kit::text(&tag["text"])).collect();
    let mut wanted: Vec<String> = tags.iter().filter_map(Tag::says).collect();
    read.sort();
    wanted.sort();
    // A flag has its symbol on one face or on both.
    read.dedup();
    assert_eq!(read, wanted);
}

#[test]
fn a_tag_of_another_job_is_told() {
    let (folder, tags) = printed();
    photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    let other =
        JobFolder::with(&[("job.toml", "title = \"Other\"\n"), ("loom.csv", "connector,cavity,function\nX1,1,horn\n")]);
    other.write("here.jpg", folder.bytes("here.jpg"));
    other.run(&["scan", "here.jpg"]).ends_with(1).says("never issued in this job");
}

/// Every job issues its codes from the same row: the words on the tag tell that it is not this job's.
#[test]
fn another_jobs_tag_with_a_code_of_this_job_is_in_doubt() {
    let (folder, tags) = printed();
    let tag = photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    let rows: String = (1..=40).map(|n| format!("X1,{n},horn {n},keep\n")).collect();
    let list = format!("connector,cavity,function,action\n{rows}");
    let other = JobFolder::with(&[("job.toml", "title = \"Other\"\n"), ("loom.csv", &list)]);
    other.done(&["tags", "--all", "--work"]);
    other.write("here.jpg", folder.bytes("here.jpg"));
    other.run(&["scan", "here.jpg"]).ends_with(1).says("DOUBT").says(&tag.says().expect("a symbol")).says("horn");
}

/// A tag whose words have changed since is found, and told to be stale.
#[test]
fn a_stale_tag_is_in_doubt() {
    let folder = JobFolder::small().and("job.toml", "title = \"Marsh Hen bench\"\n");
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    folder.done(&["scan", "here.jpg"]);
    let list = String::from_utf8(folder.bytes("loom.csv")).expect("text");
    assert!(list.contains("rail pressure signal"));
    folder.write("loom.csv", list.replace("rail pressure signal", "boost pressure signal").into_bytes());
    folder.run(&["scan", "here.jpg"]).ends_with(1).says("DOUBT").says("boost pressure signal");
}

#[test]
fn a_picture_without_a_symbol_is_told() {
    let (folder, _) = printed();
    script("photograph.py", &["blank", &folder.path().join("blank.png").to_string_lossy()]);
    folder.run(&["scan", "blank.png"]).ends_with(1).says("blank.png").says("no symbol can be read");
    folder.run(&["scan", "loom.csv"]).ends_with(2).says("loom.csv");
    folder.run(&["scan", "nowhere.jpg"]).ends_with(2).says("nowhere.jpg");
}
