//! The page `problems`, and the rows of lists.

use crate::kit::JobFolder;
use crate::kit::served::Served;

const LIST: &str = "\
connector,cavity,circuit,function,action
J1,1,E1,\"pump, bilge\",cutt
J1,2,E2,horn,cut
J1,2,E3,lamp,keep
";

fn job() -> JobFolder {
    JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", LIST)])
}

#[test]
fn a_problem_stands_at_its_row() {
    let job = job();
    let page = Served::of(&job.path()).get("/problems").text();
    for part in [
        "1 error",
        "<mark>cutt</mark>",
        "pump, bilge",
        "did you mean <code dir=\"auto\">cut</code>",
        "href=\"/rows?at=loom.csv%3A2\"",
        "<th scope=\"col\" dir=\"auto\">function</th>",
        "unknown-action",
    ] {
        assert!(page.contains(part), "`{part}` is missing:\n{page}");
    }
}

#[test]
fn problems_are_narrowed() {
    let job = job();
    let served = Served::of(&job.path());
    let has = |path: &str, words: &str| served.get(path).text().contains(words);
    assert!(
        !has("/problems?which=warnings", "<mark>cutt</mark>")
            && has("/problems?which=warnings", "<code dir=\"auto\">J1/2</code>")
    );
    assert!(
        has("/problems?row=loom.csv:2", "<mark>cutt</mark>") && !has("/problems?row=loom.csv:4", "<mark>cutt</mark>")
    );
    // The row above, to which the problem of another points, has it too.
    assert!(has("/problems?row=loom.csv:3:2", "<code dir=\"auto\">J1/2</code>"));
    assert!(has("/problems?file=job.toml", "No problem is of that sort"));
    assert!(has("/problems?row=other.csv:3", "No problem is of that sort"));
}

#[test]
fn of_many_of_a_kind_some_are_shown_and_all_can_be_asked_for() {
    let rows: String = (0..250).map(|at| format!("J1,{at},E{at},pump,explode\n")).collect();
    let list = format!("connector,cavity,circuit,function,action\n{rows}");
    let job = JobFolder::with(&[("job.toml", ""), ("loom.csv", &list)]);
    let served = Served::of(&job.path());
    let shown = |path: &str| served.get(path).text().matches("<mark>explode</mark>").count();
    assert_eq!(shown("/problems"), 8);
    assert!(served.get("/problems").text().contains("all 250 <code>unknown-action</code>"));
    let of_kind = "/problems?kind=unknown-action&file=loom.csv";
    assert_eq!(shown(of_kind), 100);
    assert_eq!(shown(&format!("{of_kind}&from=200")), 50);
    assert_eq!(shown(&format!("{of_kind}&from=many")), 100);
}

#[test]
fn a_row_is_shown_as_it_stands() {
    let job = job();
    let served = Served::of(&job.path());
    let page = served.get("/rows?at=loom.csv:3:3").text();
    for part in ["loom.csv, row 3", "<tr aria-current=\"true\"><th scope=\"row\">3</th>", "Read from it", "horn"] {
        assert!(page.contains(part), "`{part}` is missing:\n{page}");
    }
    // A code that was not issued is nobody's yet.
    assert!(!page.contains("class=\"tag\""));
    for nowhere in ["other.csv:3", "loom.csv", "loom.csv:x", "../job.toml:1", ""] {
        assert_eq!(served.get(&format!("/rows?at={nowhere}")).status, 404, "{nowhere}");
    }
    let beyond = served.get("/rows?at=loom.csv:99");
    assert_eq!(beyond.status, 200);
}

#[test]
fn a_line_of_the_settings_is_marked() {
    let job = job().and("job.toml", "title = \"Marsh Hen bench\"\n[tags]\nwork = \"pennant\"\n");
    let page = Served::of(&job.path()).get("/problems?file=job.toml").text();
    assert!(
        page.contains("<pre class=\"excerpt\" dir=\"auto\">work = <mark>&quot;pennant&quot;</mark></pre>"),
        "{page}"
    );
}

#[test]
fn a_row_that_many_others_point_to_stays_short() {
    let rows: String = (0..400).map(|at| format!("J1,1,E{at},pump,keep\n")).collect();
    let list = format!("connector,cavity,circuit,function,action\n{rows}");
    let job = JobFolder::with(&[("job.toml", ""), ("loom.csv", &list)]);
    let served = Served::of(&job.path());
    let page = served.get("/rows?at=loom.csv:2").text();
    let count = page.matches("<article class=\"problem").count();
    assert!(count > 0 && count <= 20, "{count}");
    let kinds = page.matches("<details class=\"explained\"").count();
    assert!(kinds < 5 && page.len() < 100_000, "{kinds} kinds, {} bytes", page.len());
    let papers = served.get("/papers").text();
    assert!(papers.matches("<article class=\"problem").count() <= 10);
}

#[test]
fn a_number_beyond_all_pages_shows_none() {
    let job = job();
    let came = Served::of(&job.path()).get("/problems?kind=unknown-action&from=18446744073709551615");
    assert_eq!(came.status, 200);
    assert!(!came.text().contains("<mark>cutt</mark>"));
}

/// A problem leads to the ends and connectors that its rows are of, and its remedy to the page that does what a command does.
#[test]
fn a_problem_leads_to_what_it_speaks_of_and_to_what_mends_it() {
    let job = job();
    job.write("loom.csv", LIST.replace("cutt", "cut"));
    job.done(&["sheets", "--only", "overview"]);
    job.done(&["note", "J1/1", "found", "empty"]);
    let page = Served::of(&job.path()).get("/problems?kind=found-otherwise").text();
    let code = page.split("class=\"tag\" href=\"/").nth(1).and_then(|rest| rest.split('/').next()).expect("a code");
    for part in [
        "href=\"/at/J1/1\"".to_owned(),
        format!("<strong>Put right</strong> at <a href=\"/{code}/A\">the record of {code}/A</a>"),
    ] {
        assert!(page.contains(&part), "`{part}` is missing:\n{page}");
    }
    assert!(!page.contains("<code dir=\"auto\">loomtag"), "{page}");
    job.run(&["check"]).says("if the note is wrong, `loomtag note --instead 1` and what is true");
    // Of two circuits in one cavity both are named.
    let page = Served::of(&job.path()).get("/problems?kind=two-circuits-in-one-cavity").text();
    assert!(page.matches("href=\"/at/J1/2\"").count() >= 2, "{page}");
}
