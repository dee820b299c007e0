//! The page `find`.

use std::time::Instant;

use axum::http::StatusCode;

use crate::kit::JobFolder;
use crate::kit::served::Served;

fn coded() -> (JobFolder, Served) {
    let job = JobFolder::small();
    job.done(&["tags"]);
    let served = Served::unlocked(&job.path());
    (job, served)
}

/// The code of a circuit, by its place.
fn code(job: &JobFolder, place: &str) -> String {
    let answer = job.run(&["find", place, "--json"]);
    let json: serde_json::Value = serde_json::from_str(&answer.out).expect("JSON");
    json["found"][0]["record"]["code"].as_str().expect("a code").to_owned()
}

#[test]
fn the_box_and_the_command_answer_alike() {
    let (job, served) = coded();
    for question in ["engine", "rail pressure", "blue", "BU/WH", "J2", "E14", "bk", "j1 14", "red", "J1/1 J1/2"] {
        let words: Vec<&str> = question.split(' ').collect();
        let json = job.run(&[&["find", "--json"][..], &words].concat());
        let json: serde_json::Value = serde_json::from_str(&json.out).expect("JSON");
        let found = json["found"].as_array().expect("found");
        let part = served.get(&format!("/find?part=1&q={}", question.replace(' ', "+"))).text();
        let places: Vec<usize> = found
            .iter()
            .map(|found| {
                let code = found["record"]["code"].as_str().expect("a code");
                part.find(code).unwrap_or_else(|| panic!("{question}: {code} is missing in {part}"))
            })
            .collect();
        assert!(places.is_sorted(), "{question}: the best comes first");
        assert_eq!(part.matches("class=\"answer\" href=\"/").count() - part.matches("href=\"/C/").count(), found.len());
        assert!(!part.contains("<html"), "a fragment");
    }
}

#[test]
fn a_whole_code_and_an_exact_place_lead_on() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    for (typed, to) in [
        (rail.clone(), format!("/{rail}")),
        (format!("{}%20a", rail.to_lowercase()), format!("/{rail}/A")),
        (format!("{rail}/b"), format!("/{rail}/B")),
        ("J1/14".to_owned(), format!("/{rail}/A")),
    ] {
        let came = served.get(&format!("/find?q={typed}"));
        assert_eq!((came.status, came.to), (StatusCode::SEE_OTHER, Some(to)), "{typed}");
    }
    for typed in ["rail", "J1", "E14", "pump+pump", ""] {
        assert_eq!(served.get(&format!("/find?q={typed}")).status, StatusCode::OK, "{typed}");
    }
    assert!(served.get("/find?q=j1").text().contains("href=\"/C/J1\""));
}

#[test]
fn two_tags_are_one_circuit_or_not() {
    let (job, served) = coded();
    let (rail, flap) = (code(&job, "J1/14"), code(&job, "J2/5"));
    let same = served.get(&format!("/find?q={rail}+a+{rail}+b")).text();
    assert!(same.contains("both tags: the same circuit"), "{same}");
    let other = served.get(&format!("/find?q={rail}+{flap}")).text();
    assert!(other.contains("the two tags are different circuits, as far as is known"), "{other}");
}

#[test]
fn what_is_misspelt_is_offered_right() {
    let (job, served) = coded();
    let text = served.get("/find?q=exhast+flap").text();
    assert!(
        text.contains("no circuit has <code dir=\"auto\">exhast</code>") && text.contains("/find?q=exhaust%20flap"),
        "{text}"
    );
    let rail = code(&job, "J1/14");
    let mut wrong = rail.clone();
    wrong.replace_range(3..4, if rail.ends_with('2') { "3" } else { "2" });
    let text = served.get(&format!("/find?q={wrong}")).text();
    assert!(text.contains(&format!("href=\"/{rail}\"")), "{text}");
    let text = served.get("/find?q=grey+flap").text();
    assert!(text.contains("each word fits a circuit, but no circuit has them all"), "{text}");
}

#[test]
fn blanks_and_what_has_no_code_yet_are_found() {
    let job = JobFolder::small();
    let served = Served::of(&job.path());
    let text = served.get("/find?part=1&q=rail").text();
    assert!(text.contains("href=\"/at/J1/14\"") && text.contains("no code yet"), "{text}");
    let (job, served) = coded();
    let blanks = job.done(&["blanks", "2", "--list", "--json"]).json();
    let blank = blanks["codes"][0].as_str().expect("a code");
    let listed = served.get(&format!("/find?q={}", blank.to_lowercase()));
    assert_eq!((listed.status, listed.to), (StatusCode::SEE_OTHER, Some(format!("/{blank}"))));
    let part = served.get(&format!("/find?part=1&q={blank}")).text();
    assert!(part.contains(&format!("href=\"/{blank}\"")) && part.contains("a blank"), "{part}");
    assert_eq!(served.get("/find?q=J1/14").status, StatusCode::SEE_OTHER, "what has a code leads on beside them");
}

#[test]
fn thousands_of_answers_are_counted() {
    let rows: String = (1..=3_000).map(|nth| format!("J1,{nth},E{nth},pump {nth},RD\n")).collect();
    let list = format!("connector,cavity,circuit,function,colour\n{rows}");
    let job = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", &list)]);
    let served = Served::of(&job.path());
    served.get("/");
    let begun = Instant::now();
    let text = served.get("/find?part=1&q=pump").text();
    assert!(begun.elapsed().as_secs() < 5, "it is counted, not drawn");
    assert_eq!(text.matches("class=\"answer\"").count(), 30);
    assert!(text.contains("2970 more; add a word to narrow it down"));
}

#[test]
fn of_a_page_of_text_the_beginning_is_looked_for() {
    let (job, served) = coded();
    let words: Vec<String> = (0..2_000).map(|nth| format!("word{nth}")).collect();
    for path in ["/find?part=1&q=", "/find?q="] {
        let begun = Instant::now();
        let text = served.get(&format!("{path}{}", words.join("+"))).text();
        assert!(begun.elapsed().as_secs() < 5 && text.len() < 60_000, "{} bytes", text.len());
        assert!(text.contains("only the first 16 words") && !text.contains("no circuit has `word17`"), "{text}");
    }
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    job.run(&[&["find"][..], &words].concat()).says("only the first 16 words").says_nothing_of("word1999");
}

#[test]
fn what_was_found_is_told_while_its_note_stands() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    job.done(&["note", "J2/3", "found", "colour", "GN"]);
    let told = "found colour GN (note 1)";
    let flap = code(&job, "J2/5");
    for path in [
        format!("/find?part=1&q={rail}"),
        format!("/find?q={rail}+{flap}"),
        format!("/scan?part=1&text={rail}"),
        format!("/{rail}/A"),
    ] {
        let text = served.get(&path).text();
        assert!(text.contains(told), "{path}: {text}");
    }
    // At the other end nothing was found.
    assert!(!served.get(&format!("/find?part=1&q={rail}+a")).text().contains(told));
    job.done(&["note", "J2/3", "found", "colour", "BU/WH", "--instead", "1"]);
    assert!(!served.get(&format!("/find?part=1&q={rail}")).text().contains(told));
}

#[test]
fn rows_with_errors_are_told_where_they_may_hide_something() {
    let list = "connector,cavity,circuit,function,size,supply\nM1,1,E1,bilge pump,1.5 mm²,constant\n\
        M1,7,E7,shore charger,16,high-voltage\nM2,1,E8,horn,16,\n";
    let job = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", list)]);
    let served = Served::of(&job.path());
    let row = "href=\"/rows?at=loom.csv%3A3\"";
    for (path, status, is_named) in [
        ("/find?q=m1+7", StatusCode::OK, true),
        ("/find?part=1&q=M1/7", StatusCode::OK, true),
        ("/find?q=windlass", StatusCode::OK, false),
        ("/at/M1/7", StatusCode::NOT_FOUND, true),
        ("/at/M1/8", StatusCode::NOT_FOUND, false),
        ("/C/M1", StatusCode::OK, true),
        ("/C/M9", StatusCode::NOT_FOUND, false),
    ] {
        let came = served.get(path);
        let text = came.text();
        assert_eq!(came.status, status, "{path}");
        assert!(text.contains("2 rows are left out") && text.contains("/problems?which=errors"), "{path}: {text}");
        assert_eq!(text.contains(row), is_named, "{path}: {text}");
        assert_eq!(text.contains("high-voltage"), is_named, "{path}: {text}");
    }
    assert!(served.get("/C/M2").text().contains("href=\"/rows?at=loom.csv%3A4\""));
    // What is found needs no such words, nor does a job without errors.
    assert!(!served.get("/find?part=1&q=bilge").text().contains("left out"));
    job.write("loom.csv", list.replace(",16,", ",16 mm²,"));
    let served = Served::of(&job.path());
    assert!(!served.get("/find?q=windlass").text().contains("left out"));
    assert!(!served.get("/C/M1").text().contains("left out"));
}
