//! Several jobs of one server.

use std::fs;
use std::path::Path;

use tempfile::TempDir;

use super::crawl::crawl_within;
use crate::kit::served::Served;
use crate::kit::{JobFolder, SMALL_LIST};

/// A folder of jobs with these names, each with the small list and its codes.
fn yard(names: &[&str]) -> TempDir {
    let yard = TempDir::new().expect("a temporary folder");
    for name in names {
        add(yard.path(), name, SMALL_LIST);
    }
    yard
}

fn add(yard: &Path, name: &str, list: &str) {
    let folder = yard.join(name);
    fs::create_dir(&folder).expect("made");
    fs::write(folder.join("job.toml"), format!("title = \"Job of {name}\"\n")).expect("written");
    fs::write(folder.join("loom.csv"), list).expect("written");
}

fn issue(folder: &Path) {
    let job = folder.to_string_lossy();
    JobFolder::empty().done(&["sheets", "--job", &job, "--only", "overview"]);
}

const NAMES: [&str; 5] = ["marsh hen", "Möwe", "50 % done", "v1.2", "plain"];

#[test]
fn each_job_has_its_pages_below_its_name() {
    let yard = yard(&NAMES);
    let mut served = Served::of(yard.path());
    served.unlock();
    let start = served.get("/").text();
    for (name, link) in NAMES.iter().zip(["/marsh%20hen/", "/M%C3%B6we/", "/50%20%25%20done/", "/v1.2/", "/plain/"]) {
        assert!(start.contains(&format!("href=\"{link}\"")) && start.contains(&format!("Job of {name}")), "{start}");
        let pages = crawl_within(&served, &[link], link);
        let inside = link.trim_end_matches('/');
        let strays: Vec<&String> = pages.iter().filter(|page| !page.starts_with(link)).collect();
        assert_eq!(strays, ["/"], "only to the list of all jobs");
        assert!(pages.contains(&format!("{inside}/problems")), "{pages:?}");
    }
    assert_eq!(served.post("/plain/papers", &[("sort", "overview")]).to.as_deref(), Some("/plain/papers#made"));
    assert_eq!(served.get("/PLAIN/problems").status, 200);
    assert_eq!(served.get("/m%c3%b6we/problems").status, 200);
}

#[test]
fn the_way_back_from_the_pin_is_in_the_job() {
    let yard = yard(&["marsh hen"]);
    let served = Served::of(yard.path());
    let page = served.get("/marsh%20hen/problems?which=errors").text();
    let then = "/unlock?then=%2Fmarsh%2520hen%2Fproblems%3Fwhich%3Derrors";
    assert!(page.contains(then), "{page}");
}

#[test]
fn a_job_that_cannot_be_read_stops_no_other() {
    let yard = yard(&["good", "bad"]);
    fs::write(yard.path().join("bad/job.toml"), "title = [").expect("written");
    let served = Served::of(yard.path());
    let start = served.get("/").text();
    assert!(start.contains("Job of good") && start.contains("job.toml cannot be used"), "{start}");
    assert_eq!(served.get("/bad/").status, 500);
    assert_eq!(served.get("/good/").status, 200);
    // One more is there as soon as its folder is; one that has gone is not.
    add(yard.path(), "new", SMALL_LIST);
    fs::remove_dir_all(yard.path().join("good")).expect("removed");
    let start = served.get("/").text();
    assert!(start.contains("Job of new") && !start.contains("Job of good"), "{start}");
    assert_eq!((served.get("/new/").status.as_u16(), served.get("/good/").status.as_u16()), (200, 404));
}

#[test]
fn a_code_without_its_job_is_looked_for_in_all() {
    let yard = yard(&["one", "two"]);
    let served = Served::of(yard.path());
    issue(&yard.path().join("one"));
    let connection = rusqlite::Connection::open(yard.path().join("one/register.db")).expect("opens");
    let code: String = connection.query_row("SELECT min(code) FROM code", [], |row| row.get(0)).expect("a code");
    drop(connection);
    let found = |path: &str| served.get(path).to;
    assert_eq!(found(&format!("/{code}/A")), Some(format!("/one/{code}/A")));
    assert_eq!(found(&format!("/{}", code.to_lowercase())), Some(format!("/one/{}", code.to_lowercase())));
    assert_eq!(found(&format!("/?code={code}")), Some(format!("/one/{code}")));
    // As a tag has it, and as its link has it.
    for typed in [format!("{code}%20A"), format!("{code}%2FA"), format!("{}%20a", code.to_lowercase())] {
        assert_eq!(found(&format!("/?code={typed}")), Some(format!("/one/{code}/A")), "{typed}");
    }
    assert_eq!(found(&format!("/find?q={code}%20A")), Some(format!("/?code={code}%20A")));
    assert_eq!(found("/find"), Some("/".to_owned()));
    issue(&yard.path().join("two"));
    let both = served.get(&format!("/{code}"));
    assert_eq!(both.status, 200);
    assert!(both.text().contains(&format!("href=\"/two/{code}\"")), "{}", both.text());
    assert!(both.text().contains("(folder two)"), "{}", both.text());
    let none = served.get("/7KFF");
    assert_eq!(none.status, 404);
    let scan = served.get("/scan");
    assert!(scan.status == 200 && scan.text().contains("href=\"/two/scan\""), "{}", scan.text());
    // What is scanned here is answered by the jobs that have it.
    let both = served.get(&format!("/scan?text={code}")).text();
    assert!(both.contains("2 jobs have this code") && both.contains(&format!("href=\"/two/{code}\"")), "{both}");
    assert!(served.get("/scan?text=7KFF").text().contains("no job here has this tag"));
}

/// Tags of one circuit are told as such here too.
#[test]
fn several_tags_of_one_job_are_compared() {
    let yard = yard(&["one", "two"]);
    let folder = yard.path().join("one");
    JobFolder::empty().done(&["tags", "--job", &folder.to_string_lossy(), "--work", "--code", "J1/14"]);
    let files = fs::read_dir(folder.join("prints/run-0001")).expect("there").flatten().map(|entry| entry.path());
    let pdf = files.into_iter().find(|path| path.extension().is_some_and(|ext| ext == "pdf")).expect("a PDF");
    let pdf = fs::read(pdf).expect("read");
    let told = Served::of(yard.path()).upload("/scan", &[], &[("photo", "tags.pdf", &pdf)]).text();
    assert!(told.contains("both tags: the same circuit"), "{told}");
}

#[test]
fn links_of_a_base_address_with_a_path_lead_to_their_job() {
    let yard = TempDir::new().expect("a temporary folder");
    add(yard.path(), "boat", SMALL_LIST);
    let settings = "title = \"Boat\"\n[payload]\nbase = \"HTTP://BENCH.LOCAL:7117/MARSH-HEN\"\n";
    fs::write(yard.path().join("boat/job.toml"), settings).expect("written");
    issue(&yard.path().join("boat"));
    let connection = rusqlite::Connection::open(yard.path().join("boat/register.db")).expect("opens");
    let code: String = connection.query_row("SELECT min(code) FROM code", [], |row| row.get(0)).expect("a code");
    let alone = Served::of(&yard.path().join("boat"));
    assert_eq!(alone.get(&format!("/MARSH-HEN/{code}/A")).to, Some(format!("/{code}/A")));
    assert_eq!(alone.get("/marsh-hen/C/J1").to.as_deref(), Some("/C/J1"));
    let among = Served::of(yard.path());
    assert_eq!(among.get(&format!("/MARSH-HEN/{code}/A")).to, Some(format!("/boat/{code}/A")));
    // Another job has the same code; the address on the tag tells them apart.
    add(yard.path(), "other", SMALL_LIST);
    issue(&yard.path().join("other"));
    let scanned = |text: &str| among.get(&format!("/scan?text={}", text.replace('/', "%2F").replace(':', "%3A")));
    let to = scanned(&format!("HTTP://BENCH.LOCAL:7117/MARSH-HEN/{code}/A")).to;
    assert_eq!(to, Some(format!("/boat/{code}/A")));
    assert!(scanned(&code).text().contains("2 jobs have this code"));
    // A photograph is decoded once, and by no job in particular.
    let picture = among.upload("/scan", &[], &[("photo", "tag.png", b"no picture")]);
    assert!(picture.status == 200 && picture.text().contains("tag.png"), "{}", picture.text());
}

#[test]
fn a_base_path_that_is_a_page_leaves_the_page_there() {
    let job = JobFolder::small();
    job.write("job.toml", "title = \"Bench\"\n[payload]\nbase = \"HTTP://BENCH.LOCAL/PRINT\"\n");
    issue(&job.path());
    let served = Served::of(&job.path());
    assert_eq!(served.get("/print").status, 200);
    assert_eq!(served.get("/print?changed=1").status, 200);
    assert_eq!(served.get("/print/runs").status, 200);
    assert_eq!(served.get("/PRINT/C/J1").to.as_deref(), Some("/C/J1"));
}
