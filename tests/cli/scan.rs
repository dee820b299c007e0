//! `scan`: tags read from photographs and PDFs.

use crate::kit::{JobFolder, SMALL_LIST, Tag, script};

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

/// A flag has its symbol on both faces, and a photograph may show both: that is one tag.
#[test]
fn both_faces_are_one_tag() {
    let (folder, tags) = printed();
    let tag = photograph(&folder, &tags, "J1/14", "here.png", "0");
    photograph(&folder, &tags, "J2/3", "there.png", "0");
    let at = |name: &str| folder.path().join(name).to_string_lossy().into_owned();
    script("photograph.py", &["beside", &at("here.png"), &at("here.png"), &at("faces.png")]);
    script("photograph.py", &["beside", &at("faces.png"), &at("there.png"), &at("three.png")]);
    let answer = folder.done(&["scan", "faces.png"]);
    assert_eq!(answer.out.matches("rail pressure signal").count(), 1, "{}", answer.out);
    answer.says_nothing_of("circuit\n").says_nothing_of("both tags");
    let json = folder.done(&["scan", "faces.png", "--json"]).json();
    assert_eq!((&json["tags"][0]["symbols"], &json["one_circuit"]), (&2.into(), &serde_json::json!([[tag.name()]])));
    folder.done(&["scan", "faces.png", "there.png"]).says("both tags: the same circuit");
    folder.done(&["scan", "three.png"]).says("both tags: the same circuit").says(&tag.says().expect("a symbol"));
    // The same tag in two pictures is one tag still.
    folder.done(&["scan", "here.png", "faces.png"]).says_nothing_of("both tags");
}

#[test]
fn of_three_tags_it_is_told_which_are_one_circuit() {
    let (folder, tags) = printed();
    let here = photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    let there = photograph(&folder, &tags, "J2/3", "there.jpg", "-9");
    let other = photograph(&folder, &tags, "J2/5", "other.jpg", "15");
    let third = photograph(&folder, &tags, "J2/9", "third.jpg", "15");
    let (here, there, other, third) = (here.name(), there.name(), other.name(), third.name());
    folder
        .done(&["scan", "other.jpg", "here.jpg", "there.jpg"])
        .says(&format!("{here} and {there} are one circuit; {other} is another\n"));
    let mut three = [here.clone(), other.clone(), third.clone()];
    three.sort();
    let different = format!("{}, {} and {} are different circuits, as far as is known", three[0], three[1], three[2]);
    folder.done(&["scan", "other.jpg", "here.jpg", "third.jpg"]).says(&different);
    let json = folder.done(&["scan", "here.jpg", "there.jpg", "other.jpg", "--json"]).json();
    let circuits = json["one_circuit"].as_array().expect("a list");
    assert!(circuits.contains(&serde_json::json!([here, there])) && circuits.contains(&serde_json::json!([other])));
    // A whole page: one line for each circuit of several tags.
    folder
        .done(&["scan", PDF])
        .says(&format!("one circuit: {here} and {there}\n"))
        .says("all others: circuits of their own");
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

/// The small job with another first row, so that the same codes name other circuits.
fn another_job(settings: &str) -> JobFolder {
    let other = JobFolder::small()
        .and("job.toml", settings)
        .and("loom.csv", &SMALL_LIST.replace("J1,1,E65,glow plug supply", "D1,A1,A1,inj pump supply"));
    other.done(&["tags", "--all", "--work"]);
    other
}

/// Every job issues the same codes from the start of the same sequence: the address tells the jobs apart.
#[test]
fn a_known_code_of_another_address_is_in_doubt() {
    let (folder, tags) = printed();
    let tag = photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    photograph(&folder, &tags, "J2/3", "there.jpg", "4");
    let other = another_job("title = \"Bench\"\n\n[payload]\nbase = \"HTTP://BENCH.EXAMPLE\"\n");
    other.done(&["find", &tag.code()]);
    other.write("here.jpg", folder.bytes("here.jpg"));
    other.write("there.jpg", folder.bytes("there.jpg"));
    let doubt = "this tag leads to `HTTP://MARSHHEN.LOCAL:7117`, the tags of this job lead to `HTTP://BENCH.EXAMPLE`: it \
                 may be another job's tag";
    let answer = other.run(&["scan", "here.jpg"]).ends_with(1);
    assert_eq!(answer.out.lines().nth(1), Some(&*format!("DOUBT: {doubt}")), "{}", answer.out);
    other.run(&["scan", "here.jpg", "there.jpg"]).ends_with(1).says_nothing_of("same circuit");
    let json = other.run(&["scan", "here.jpg", "there.jpg", "--json"]).ends_with(1).json();
    assert_eq!((&json["tags"][0]["doubt"], &json["one_circuit"]), (&doubt.into(), &serde_json::json!([])));
    // Own tags are not in doubt, and neither is what was printed under an address that has changed since.
    folder.done(&["scan", "here.jpg"]).says_nothing_of("DOUBT");
    folder.write("job.toml", "title = \"Marsh Hen bench\"\n\n[payload]\nbase = \"HTTP://BENCH.EXAMPLE\"\n");
    folder.done(&["scan", "here.jpg"]).says_nothing_of("DOUBT");
}

#[test]
fn words_that_the_record_would_not_say_are_in_doubt() {
    const WORDS: &str = "title = \"Bench\"\n\n[payload]\nsymbol = \"text\"\n";
    let other = another_job(WORDS);
    let tags = other.tags("prints/run-0001");
    let tag = photograph(&other, &tags, "D1/A1", "pump.jpg", "4");
    other.done(&["scan", "pump.jpg"]).says("INJ PUMP SUPPLY").says_nothing_of("DOUBT");
    let (folder, _) = printed();
    folder.done(&["find", &tag.code()]);
    folder.write("pump.jpg", other.bytes("pump.jpg"));
    folder
        .run(&["scan", "pump.jpg"])
        .ends_with(1)
        .says(&format!("DOUBT: the tag says `{} A INJ PUMP SUPPLY", tag.code()))
        .says("this record would say")
        .says("it is stale, or another job's tag");
    // In its own job the list has changed since it was printed.
    other.write("loom.csv", String::from_utf8(other.bytes("loom.csv")).expect("text").replace("inj pump", "horn"));
    other.run(&["scan", "pump.jpg"]).ends_with(1).says("HORN SUPPLY").says(": it is stale\n");
}

#[test]
fn a_picture_without_a_symbol_is_told() {
    let (folder, _) = printed();
    script("photograph.py", &["blank", &folder.path().join("blank.png").to_string_lossy()]);
    folder.run(&["scan", "blank.png"]).ends_with(1).says("blank.png").says("no symbol can be read");
    folder.run(&["scan", "loom.csv"]).ends_with(2).says("loom.csv");
    folder.run(&["scan", "nowhere.jpg"]).ends_with(2).says("nowhere.jpg");
}
