//! The page `scan`.

use std::fs;
use std::time::{Duration, Instant};

use axum::http::StatusCode;

use crate::kit::served::Served;
use crate::kit::{JobFolder, Tag, script};

const PDF: &str = "prints/run-0001/work-a4-paper-33-60x24.pdf";

fn printed() -> (JobFolder, Vec<Tag>) {
    let folder = JobFolder::small();
    folder.done(&["tags", "--all", "--work"]);
    let tags = folder.tags("prints/run-0001");
    (folder, tags)
}

/// A photograph of one tag as a phone takes it: turned, a little out of focus, unevenly lit.
fn photograph(folder: &JobFolder, tags: &[Tag], place: &str, file: &str, turned: &str) -> (Tag, Vec<u8>) {
    let tag = tags.iter().find(|tag| tag.place() == place).unwrap_or_else(|| panic!("no tag at {place}")).clone();
    let (pdf, photo) = (folder.path().join(PDF), folder.path().join(file));
    script("photograph.py", &[&pdf.to_string_lossy(), "1", &tag.symbol_area(), turned, &photo.to_string_lossy()]);
    (tag, fs::read(photo).expect("taken"))
}

/// Where the record of a tag is.
fn record(tag: &Tag) -> String {
    format!("/{}", tag.name().replace(' ', "/"))
}

#[test]
fn a_photograph_leads_to_its_record() {
    let (folder, tags) = printed();
    let served = Served::of(&folder.path());
    for (file, turned) in [("a.png", "7"), ("b.jpg", "-33"), ("c.jpg", "180"), ("d.jpg", "91")] {
        let (tag, photo) = photograph(&folder, &tags, "J1/14", file, turned);
        let came = served.upload("/scan", &[], &[("photo", file, &photo)]);
        assert_eq!((came.status, came.to), (StatusCode::SEE_OTHER, Some(record(&tag))), "{file}");
        let part = served.upload("/scan?part=1", &[], &[("photo", file, &photo)]);
        assert_eq!(part.status, StatusCode::OK);
        let text = part.text();
        assert!(text.contains(&format!("data-tags=\"1\" data-go=\"{}\"", record(&tag))), "{text}");
        assert!(text.contains("rail pressure signal") && !text.contains("<html"), "{text}");
    }
}

#[test]
fn two_tags_are_compared() {
    let (folder, tags) = printed();
    let served = Served::of(&folder.path());
    let (here, a) = photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    let (_, b) = photograph(&folder, &tags, "J2/3", "there.jpg", "-9");
    let (_, c) = photograph(&folder, &tags, "J2/5", "other.jpg", "15");
    let both = served.upload("/scan", &[], &[("photo", "a.jpg", &a), ("photo", "b.jpg", &b)]);
    assert!(both.text().contains("both tags: the same circuit"), "{}", both.text());
    let other = served.upload("/scan", &[], &[("photo", "a.jpg", &a), ("photo", "c.jpg", &c)]);
    assert!(other.text().contains("the two tags are different circuits, as far as is known"));
    // One after the other: the first is held in the address.
    let with = format!("/scan?with={}", record(&here).trim_start_matches('/'));
    let page = served.get(&with).text();
    assert!(page.contains("Scan the other tag") && page.contains(&format!("action=\"{with}\"")), "{page}");
    let page = served.upload(&with, &[], &[("photo", "b.jpg", &b)]).text();
    assert!(page.contains("both tags: the same circuit"), "{page}");
    let page = served.upload(&with, &[], &[("photo", "c.jpg", &c)]).text();
    assert!(page.contains("the two tags are different circuits"), "{page}");
    let page = served.upload(&with, &[], &[("photo", "a.jpg", &a)]).text();
    assert!(page.contains("this is the tag that is held already"), "{page}");
    assert!(page.contains("Compare with another tag"), "{page}");
}

#[test]
fn a_whole_pdf_is_read() {
    let (folder, tags) = printed();
    let served = Served::of(&folder.path());
    let page = served.upload("/scan", &[], &[("photo", "tags.pdf", &folder.bytes(PDF))]).text();
    for tag in tags.iter().filter(|tag| tag.says().is_some()) {
        assert!(page.contains(&format!("href=\"{}\"", record(tag))), "{}", tag.name());
    }
}

#[test]
fn a_typed_symbol_is_told() {
    let (folder, tags) = printed();
    let served = Served::of(&folder.path());
    let tag = tags.iter().find(|tag| tag.place() == "J1/14").expect("printed");
    for text in [tag.says().expect("a symbol"), tag.name().to_lowercase(), format!("  {} ", tag.name())] {
        let came = served.get(&format!("/scan?text={}", text.replace(' ', "+").replace('%', "%25")));
        assert_eq!(came.to, Some(record(tag)), "{text}");
    }
    let page = served.get("/scan?text=WIFI:S:BOAT;;").text();
    assert!(page.contains("this is no tag of ours") && page.contains("/find?q=WIFI%3AS%3ABOAT%3B%3B"), "{page}");
    let page = served.get("/scan?text=%3Cscript%3Ealert(1)%3C/script%3E").text();
    assert!(!page.contains("<script>alert"), "{page}");
    // Its code is right, the address is another's.
    let page = served.get(&format!("/scan?text=HTTP://OTHER.EXAMPLE/{}", tag.code())).text();
    assert!(page.contains("DOUBT") && page.contains("Open its record"), "{page}");
    assert_eq!(served.get("/scan?text=HTTP://MARSHHEN.LOCAL:7117/C/J1").to.as_deref(), Some("/C/J1"));
}

#[test]
fn a_blank_and_a_stranger_are_told() {
    let (folder, _) = printed();
    folder.done(&["blanks", "2"]);
    let served = Served::of(&folder.path());
    let json = folder.json("prints/run-0002/run.json");
    let code = crate::kit::text(&json["files"][0]["tags"][0]["code"]);
    assert_eq!(served.get(&format!("/scan?text=HTTP://MARSHHEN.LOCAL:7117/{code}")).to, Some(format!("/{code}")));
    let page = served.get("/scan?text=7KF4").text();
    assert!(page.contains("never issued in this job"), "{page}");
}

#[test]
fn another_jobs_tag_is_in_doubt() {
    let (folder, tags) = printed();
    let (_, photo) = photograph(&folder, &tags, "J1/14", "here.jpg", "4");
    let rows: String = (1..=40).map(|n| format!("X1,{n},horn {n},keep\n")).collect();
    let other = JobFolder::with(&[
        ("job.toml", "title = \"Other\"\n"),
        ("loom.csv", &format!("connector,cavity,function,action\n{rows}")),
    ]);
    other.done(&["tags", "--all", "--work"]);
    let served = Served::of(&other.path());
    let came = served.upload("/scan", &[], &[("photo", "here.jpg", &photo)]);
    assert_eq!(came.status, StatusCode::OK);
    assert!(came.text().contains("DOUBT") && came.text().contains("horn"), "{}", came.text());
    assert!(!came.text().contains("data-go"));
}

#[test]
fn what_is_not_read_says_so() {
    let (folder, _) = printed();
    let served = Served::of(&folder.path());
    let blank = folder.path().join("blank.png");
    script("photograph.py", &["blank", &blank.to_string_lossy()]);
    let told = |name: &str, bytes: &[u8]| served.upload("/scan", &[], &[("photo", name, bytes)]).text();
    assert!(told("blank.png", &fs::read(&blank).expect("made")).contains("no symbol can be read; go closer"));
    assert!(told("a.heic", b"\0\0\0\x18ftypheic\0\0\0\0").contains("this is a HEIC file"));
    assert!(told("a.mp4", b"\0\0\0\x18ftypisom\0\0\0\0").contains("this is a film file"));
    assert!(told("a.txt", b"connector,cavity\n").contains("this is not a PNG or JPEG picture"));
    assert!(told("a.pdf", b"%PDF-1.7\nnothing").contains("this is not a PDF that can be read"));
    assert!(told("<img src=x>.jpg", b"x").contains("&lt;img src=x&gt;.jpg"));
    // A field that is no file is looked at as one; one in which nothing was chosen is none.
    let came = served.upload("/scan", &[("text", "x")], &[]);
    assert!(came.text().contains("this is not a PNG or JPEG picture"), "{}", came.text());
    let came = served.upload("/scan", &[], &[("photo", "", b"")]);
    assert!(came.text().contains("no photograph came"), "{}", came.text());
    assert_eq!(served.post("/scan", &[("text", "7KF4")]).status, StatusCode::UNPROCESSABLE_ENTITY);
    let many: Vec<(&str, &str, &[u8])> = (0..13).map(|_| ("photo", "a.jpg", &b"x"[..])).collect();
    assert!(served.upload("/scan", &[], &many).text().contains("more than 12 photographs"));
}

/// A small file may say that it is a picture of any size (PNG, third edition, 11.2.1): what it says is refused before it is unpacked.
#[test]
fn a_picture_that_swells_is_refused_quickly() {
    let (folder, _) = printed();
    let served = Served::of(&folder.path());
    let bomb = folder.path().join("bomb.png");
    script("bomb.py", &["9999", "9999", &bomb.to_string_lossy()]);
    let bytes = fs::read(&bomb).expect("made");
    let begun = Instant::now();
    let page = served.upload("/scan", &[], &[("photo", "bomb.png", &bytes)]).text();
    assert!(page.contains("more than the 52 megapixels that are read"), "{page}");
    assert!(begun.elapsed() < Duration::from_secs(3), "{:?} for {} bytes", begun.elapsed(), bytes.len());
    // As large as is read at all.
    script("bomb.py", &["8200", "6100", &bomb.to_string_lossy()]);
    let bytes = fs::read(&bomb).expect("made");
    let page = served.upload("/scan", &[], &[("photo", "bomb.png", &bytes)]).text();
    assert!(page.contains("no symbol can be read"), "{page}");
}
