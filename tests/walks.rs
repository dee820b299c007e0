//! Walks through the bench in a real browser, from paper to the page and back: a phone and a laptop before the program itself.

use std::fs;
use std::path::Path;

use crate::kit::running::Running;
use crate::kit::{JobFolder, Tag, script};
use crate::serve::hostile::hostile;

/// The example with its work tags printed by the command.
fn printed() -> (JobFolder, Vec<Tag>) {
    let job = JobFolder::example();
    job.done(&["tags", "--work", "--connector", "P7"]);
    let tags = job.tags("prints/run-0001").into_iter().filter(|tag| tag.symbols() > 0 && tag.connector().is_none());
    let tags = tags.collect();
    (job, tags)
}

/// What another reader reads on the pages of a PDF.
fn read_back(pdf: &Path) -> Vec<String> {
    let folder = tempfile::tempdir().expect("a folder");
    let read = script("decoded.py", &[&pdf.to_string_lossy(), &folder.path().to_string_lossy()]);
    read.lines().map(str::to_owned).collect()
}

/// The path of a printed link, as a phone opens it.
fn path_of(link: &str) -> String {
    let behind = link.split_once("://").unwrap_or_else(|| panic!("`{link}` is no link")).1;
    format!("/{}", behind.split_once('/').unwrap_or_else(|| panic!("`{link}` leads nowhere")).1)
}

/// A photograph of a tag.
fn photograph(job: &JobFolder, tag: &Tag) -> String {
    let (pdf, photo) = (job.path().join("prints/run-0001").join(&tag.file), job.path().join("photo.jpg"));
    script(
        "photograph.py",
        &[&pdf.to_string_lossy(), &tag.json["page"].to_string(), &tag.symbol_area(), "11", &photo.to_string_lossy()],
    );
    photo.to_string_lossy().into_owned()
}

/// A tag of an end that loses its housing.
fn first(tags: &[Tag]) -> &Tag {
    tags.iter().find(|tag| tag.place().starts_with("P7/")).expect("P7 is opened")
}

#[test]
fn a_printed_link_leads_to_its_record_and_the_record_prints_it_again() {
    let (job, tags) = printed();
    let tag = first(&tags);
    // What the paper says, and not what the program knows of it.
    let links = read_back(&job.path().join("prints/run-0001").join(&tag.file));
    let says = tag.says().expect("it has a symbol");
    let link = links.iter().find(|link| **link == says).unwrap_or_else(|| panic!("`{says}` is not among {links:?}"));
    let again = job.path().join("again.pdf");
    let server = Running::serve(&job.path());
    server.walk("record.js", &[&path_of(link), &tag.code(), &tag.place(), &again.to_string_lossy()]);
    let read = read_back(&again);
    assert!(!read.is_empty() && read.iter().all(|symbol| symbol == link), "{read:?}, and not {link}");
}

#[test]
fn a_list_of_other_hands_becomes_tags() {
    let job = JobFolder::example();
    let text = "Marsh Hen;;;;;\r\nKabel Führerstand, Rest;;;;;\r\n;;;;;\r\n\
                Stecker;Kammer;Bezug;Farbe;Querschnitt;Vorhaben\r\n\
                W99;1;NAVTEX;BU/WH;0,75;cut\r\nW99;2;NAVTEX2;grün;1,5;cut\r\nW99;3;NAVTEX3;BK;1,5;keep\r\n";
    let list = job.path().parent().expect("a folder").join("führerstand.csv");
    let latin: Vec<u8> = text.chars().map(|c| u8::try_from(u32::from(c)).expect("Latin")).collect();
    fs::write(&list, latin).expect("written");
    let pdfs = tempfile::tempdir().expect("a folder");
    let server = Running::serve(&job.path());
    let (list, folder) = (list.to_string_lossy(), pdfs.path().to_string_lossy());
    let arguments = [&*list, "Vorhaben=action,Bezug=circuit", "NAVTEX2 at W99/2", "W99", &*folder];
    server.walk("list.js", &arguments);
    let mut read = Vec::new();
    for entry in fs::read_dir(pdfs.path()).expect("a folder") {
        read.extend(read_back(&entry.expect("an entry").path()));
    }
    for circuit in ["NAVTEX", "NAVTEX2"] {
        let found = job.done(&["find", circuit, "--json"]).json();
        let records = found["found"].as_array().expect("a list").iter();
        let codes: Vec<String> = records.filter_map(|one| Some(one["record"]["code"].as_str()?.to_owned())).collect();
        assert!(
            read.iter().any(|link| codes.iter().any(|code| link.contains(code.as_str()))),
            "{circuit} {codes:?}: {read:?}"
        );
    }
}

#[test]
fn a_photograph_leads_to_its_record() {
    let (job, tags) = printed();
    let tag = first(&tags);
    let photo = photograph(&job, tag);
    let record = path_of(&tag.says().expect("it has a symbol"));
    let server = Running::serve(&job.path());
    server.walk("photograph.js", &["photograph", &photo, &record]);
    let film = job.path().join("camera.y4m").to_string_lossy().into_owned();
    script("photograph.py", &["film", &photo, &film]);
    server.walk("photograph.js", &["live", &film, &record]);
}

#[test]
fn two_tick_at_once_and_nothing_is_lost() {
    let (job, _) = printed();
    Running::serve(&job.path()).walk("together.js", &["/C/J1"]);
}

#[test]
fn what_is_worked_with_stays_at_hand() {
    let (job, _) = printed();
    Running::serve(&job.path()).walk("hand.js", &[]);
}

#[test]
fn keys_find_a_record() {
    let (job, _) = printed();
    Running::serve(&job.path()).walk("keys.js", &["rail pressure", "rail pressure"]);
}

#[test]
fn every_page_fits_its_screen_and_is_open_to_all() {
    let (job, _) = printed();
    job.done(&["note", "J1/14", "done", "tagged"]);
    job.done(&["note", "J1/3", "found", "colour", "RD"]);
    job.done(&["blanks", "3"]);
    Running::serve(&job.path()).walk("screens.js", &["-", "/C/J1", "/C/J1?view=mating", "/papers", "/print/sheets"]);
}

#[test]
fn pages_of_hostile_and_of_empty_jobs_fit_their_screens() {
    let empty = JobFolder::with(&[("job.toml", "title = \"Empty\"\n")]);
    Running::serve(&empty.path()).walk("screens.js", &[]);
    let job = hostile();
    job.run(&["sheets", "--only", "overview", "--skip-problems"]);
    Running::serve(&job.path()).walk("screens.js", &[]);
}
