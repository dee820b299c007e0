//! Hostile cells stay text on every page that links lead to, and pages stand on whatever job there is.

use super::crawl::crawl;
use crate::kit::JobFolder;
use crate::kit::served::Served;

/// What no browser may take for anything but text: it leaves attributes and elements, turns directions round, is as long as no word,
/// stacks marks, and holds control characters.
fn payload() -> String {
    let marks = "Z\u{338}\u{317}\u{327}".repeat(12);
    let long = "W".repeat(300);
    format!(
        "\"'><pwned onpwned=\"1\">&lt;/script><script>pwned()</script> \u{202e}desrever\u{2067} {marks} {long} \u{1}\u{7f} javascript:pwned()"
    )
}

/// A text as a cell of a CSV file.
fn cell(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// A text as TOML has it.
fn toml(text: &str) -> String {
    serde_json::to_string(text).expect("text").replace('\u{7f}', "\\u007f")
}

/// A job all of whose texts are hostile.
pub fn hostile() -> JobFolder {
    let evil = payload();
    let name = "evil\"'><pwned onpwned=1> & \u{202e}.csv";
    let settings = format!("title = {}\n[[list]]\nfile = {}\n", toml(&evil), toml(name));
    let e = cell(&evil);
    let short = cell("J\"'><pwned onpwned=1>");
    let mut list = "connector,cavity,circuit,function,colour,size,supply,fuse,action,branch,with,note\n".to_owned();
    for (at, action) in ["cut", "keep", "remove", "", "\"move to X<pwned>/2\""].iter().enumerate() {
        list += &format!("{short},{at},C{at},{e},BN/WH,0.5,constant,{e},{action},{e},,{e}\n");
        list += &format!("J2,{at}<pwned>,C{at},{e},{e},{e},{e},F1 15 A,{action},leg,{e},{e}\n");
    }
    list += &format!("{e},{e},{e},{e},{e},{e},{e},{e},{e},{e},{e},{e}\n");
    list += &format!("J3,1,\"c<pwned onpwned=1>\",{e},RD,1,,,cut,{e},,\nJ4,1,\"c<pwned onpwned=1>\",,RD,1,,,cut,,,\n");
    let job = JobFolder::with(&[("job.toml", &settings), (name, &list)]);
    job.write(
        "connectors.csv",
        format!(
            "connector,kind,short name,branch,note\n{short},plug,{e},{e},{e}\nJ2,{e},{e},{e},{e}\nJ3,plug,{e},{e},\n"
        ),
    );
    job
}

/// The pages that every job has.
const PAGES: [&str; 9] = [
    "/",
    "/circuits",
    "/connectors",
    "/problems",
    "/lists",
    "/print",
    "/papers",
    "/unlock",
    "/problems?which=questions",
];

#[test]
fn hostile_cells_stay_text() {
    let job = hostile();
    // Codes stand on sheets, and so they are issued.
    job.run(&["sheets", "--only", "overview", "--skip-problems"]);
    let evil = payload();
    let remark = evil.replace(['\u{1}', '\u{7f}'], "");
    job.run(&["note", "J3/1", "text", &remark]);
    job.run(&["blanks", "2", "--skip-problems"]);
    let mut served = Served::of(&job.path());
    for is_unlocked in [false, true] {
        if is_unlocked {
            served.unlock();
        }
        let pages = crawl(&served, &["/"]);
        for page in ["/problems", "/papers", "/rows?at="] {
            assert!(pages.iter().any(|known| known.starts_with(page)), "no link leads to `{page}`: {pages:?}");
        }
    }
}

#[test]
fn what_is_asked_for_stays_text() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let asked: String = payload().bytes().map(|byte| format!("%{byte:02X}")).collect();
    for path in [
        "problems?row=",
        "problems?kind=",
        "problems?file=",
        "rows?at=",
        "papers?connector=",
        "find?q=",
        "unlock?then=",
        "C/",
        "circuits?q=",
        "circuits?back=",
        "print?code=",
        "scan?text=",
        "at/",
        "lists/",
        "",
    ] {
        let came = served.get(&format!("/{path}{asked}"));
        assert!(came.status.as_u16() < 500, "{path}: {}", came.status);
        let page = String::from_utf8_lossy(&came.bytes).into_owned();
        assert!(!page.contains("<pwned") && !page.contains("pwned()</script>"), "{path}:\n{page}");
    }
}

#[test]
fn huge_numbers_are_no_more_than_numbers() {
    let mut list = "connector,cavity,circuit,action\n".to_owned();
    (0..20).for_each(|at| list += &format!("J1,{at},E{at},explode\n"));
    let job = JobFolder::with(&[("job.toml", "title = \"Numbers\"\n"), ("loom.csv", &list)]);
    let served = Served::unlocked(&job.path());
    for path in [
        "problems?kind=unknown-action&from=",
        "problems?row=loom.csv:",
        "rows?at=loom.csv:",
        "circuits?page=",
        "circuits?from=",
        "print?count=",
        "print?sheet=",
        "print/runs/",
        "print/runs?from=",
        "lists/loom.csv?from=",
        "C/",
    ] {
        for number in ["0", "-1", "18446744073709551615", "99999999999999999999999", "1e309", "NaN"] {
            let came = served.get(&format!("/{path}{number}"));
            assert!(came.status.as_u16() < 500, "{path}{number}: {}", came.status);
        }
    }
}

#[test]
fn an_empty_job_and_one_without_a_register_have_all_pages() {
    let empty = JobFolder::with(&[("job.toml", "title = \"Empty\"\n")]);
    let small = JobFolder::small();
    for job in [&empty, &small] {
        for served in [Served::of(&job.path()), Served::unlocked(&job.path())] {
            crawl(&served, &["/"]);
        }
        assert!(!job.names().contains(&"register.db".to_owned()), "pages only read");
    }
}

#[test]
fn a_job_with_errors_in_all_rows_has_all_pages() {
    let mut list = "connector,cavity,circuit,function,colour,size,action\n".to_owned();
    for at in 0..400 {
        list += &format!("J1,{at},E{at},pump,XX,big,explode\n");
    }
    let job =
        JobFolder::with(&[("job.toml", "title = \"All wrong\"\n[tags]\nwork = \"pennant\"\n"), ("loom.csv", &list)]);
    let pages = crawl(&Served::unlocked(&job.path()), &["/"]);
    assert!(pages.iter().any(|page| page.contains("kind=unknown-action")), "{pages:?}");
}

#[test]
fn every_page_of_the_frame_is_there() {
    let job = JobFolder::example();
    job.done(&["sheets", "--only", "overview"]);
    let served = Served::of(&job.path());
    for page in PAGES {
        let came = served.get(page);
        assert_eq!(came.status, 200, "{page}");
    }
    crawl(&served, &["/"]);
}
