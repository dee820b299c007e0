//! The page `overview`, and the papers.

use crate::kit::JobFolder;
use crate::kit::served::Served;

#[test]
fn what_waits_is_told_with_the_way_to_it() {
    let job = JobFolder::small();
    job.done(&["tags", "--no-proof"]);
    job.done(&["note", "J1/14", "done", "cut"]);
    job.done(&["note", "J2/3", "found", "colour", "GN"]);
    job.done(&["blanks", "2"]);
    let page = Served::of(&job.path()).get("/").text();
    for part in [
        "href=\"/circuits?action=undecided\">1 end undecided",
        "1 finding",
        "2 blanks not assigned yet",
        "<span>cut</span><progress max=\"2\" value=\"1\"",
        ">run 1</a>",
        "Every tag that can be made is printed",
        "href=\"/papers\">Bench sheets, charts and export</a>",
    ] {
        assert!(page.contains(part), "`{part}` is missing:\n{page}");
    }
}

/// The counts of each connector are those of the overview sheet, read back from its PDF.
#[test]
fn connectors_are_counted_as_on_the_sheet() {
    let job = JobFolder::example();
    job.done(&["sheets", "--only", "overview", "--out", "overview.pdf"]);
    let page = Served::of(&job.path()).get("/").text();
    let pdf = job.path().join("overview.pdf");
    let sheet = crate::kit::program("pdftotext", &["-layout", &pdf.to_string_lossy(), "-"]);
    let mut compared = 0;
    for row in page.split("<tr>").filter(|row| row.contains("class=\"place\"")) {
        let cells: Vec<String> = row.split("</tr>").next().expect("a row").split("</td>").map(words).collect();
        let numbers: Vec<&str> = cells.iter().skip(1).map(|cell| cell.trim()).filter(|cell| !cell.is_empty()).collect();
        let name = words(row.split("</th>").next().expect("a heading"));
        let line = sheet.lines().find(|line| line.split_whitespace().next() == Some(name.trim()));
        let line = line.unwrap_or_else(|| panic!("`{name}` is missing on the sheet:\n{sheet}"));
        let told: Vec<&str> = line.split_whitespace().rev().take(numbers.len()).collect();
        assert!(numbers.iter().rev().eq(&told), "{name}: {numbers:?}, {line}");
        compared += 1;
    }
    assert!(compared > 5, "{page}");
}

/// The text of a piece of a page.
fn words(html: &str) -> String {
    html.split('<').map(|part| part.split_once('>').map_or(part, |(_, text)| text)).collect::<Vec<_>>().join(" ")
}

#[test]
fn tags_come_behind_the_page_of_a_large_job() {
    let rows: String = (0..400).map(|at| format!("J1,{at},E{at},pump,BK,1.0,cut\n")).collect();
    let list = format!("connector,cavity,circuit,function,colour,size,action\n{rows}");
    let job = JobFolder::with(&[("job.toml", ""), ("loom.csv", &list)]);
    let served = Served::of(&job.path());
    assert!(served.get("/").text().contains("data-load=\"/overview/tags?part=1\""));
    let part = served.get("/overview/tags?part=1").text();
    assert!(part.starts_with("<p>") && part.contains("To have at hand or to buy"), "{part}");
    assert!(served.get("/overview/tags").text().contains("<h1>Tags to print</h1>"));
    // What is known is shown at once.
    assert!(served.get("/").text().contains("To have at hand or to buy"));
}

#[test]
fn sheets_are_made_and_fetched() {
    let job = JobFolder::small();
    let mut served = Served::of(&job.path());
    assert_eq!(served.post("/papers", &[]).status, 401);
    assert!(!job.names().contains(&"register.db".to_owned()));
    served.unlock();
    let came = served.post("/papers", &[("connector", "J1"), ("shown", "plan"), ("paper", "letter")]);
    assert_eq!(came.to.as_deref(), Some("/papers#made"));
    let page = served.get("/papers").text();
    assert!(page.contains("bench-J1.pdf: ") && page.contains("href=\"/papers/sheets/bench-J1.pdf\""), "{page}");
    let pdf = served.get("/papers/sheets/bench-J1.pdf");
    assert!(
        pdf.bytes.starts_with(b"%PDF-")
            && pdf.headers["content-disposition"].to_str().expect("text").contains("bench-J1.pdf")
    );
    assert_eq!(served.get("/papers/sheets/..%2F..%2Fjob.toml").status, 404);
    assert_eq!(served.get("/papers/sheets/..%2Fregister.db").status, 404);
    assert_eq!(served.post("/papers", &[("connector", "J9")]).status, 422);
    assert_eq!(served.post("/papers", &[("connector", "J1"), ("sort", "schedule")]).status, 422);
    served.post("/papers", &[("sort", "branches")]);
    assert!(served.get("/papers").text().contains("no sheet: no row has a branch"));
}

#[test]
fn register_and_charts_are_fetched_and_nothing_is_written() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    assert_eq!(served.get("/papers/register.zip").status, 404);
    let names = |came: &crate::kit::served::Came| {
        let zip = zip::ZipArchive::new(std::io::Cursor::new(came.bytes.clone())).expect("a zip");
        zip.file_names().map(|name| name.expect("a name").into_owned()).collect::<Vec<_>>()
    };
    let charts = names(&served.get("/papers/charts.zip"));
    assert!(charts.contains(&"J1.csv".to_owned()), "{charts:?}");
    assert_eq!(job.names(), ["job.toml", "loom.csv"]);
    job.done(&["tags", "--no-proof"]);
    let before = job.names();
    let tables = names(&served.get("/papers/register.zip"));
    assert!(tables.contains(&"about.csv".to_owned()) && tables.contains(&"code.csv".to_owned()), "{tables:?}");
    assert_eq!(job.names(), before);
}

/// Which tags cannot be made is told with what they are for: most often it is the diameter of a final tag, and the work tags are whole.
#[test]
fn tags_that_cannot_be_made_are_told_by_their_purpose() {
    let job = JobFolder::example();
    let page = Served::of(&job.path()).get("/overview/tags").text();
    assert!(page.contains("<h3>1 final tag cannot be made yet</h3>"), "{page}");
}
