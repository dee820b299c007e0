//! Tags printed from the browser: the same tags as the command prints, on the same sheets, told as they are made.

use std::collections::{BTreeMap, BTreeSet};

use axum::http::StatusCode;

use crate::kit::printer::{Attributes, TestPrinter};
use crate::kit::served::{Came, Served};
use crate::kit::{JobFolder, Picture, script};

const LABELS: &str = "title = \"Marsh Hen bench\"\n[payload]\nbase = \"HTTP://MARSHHEN.LOCAL:7117\"\n[tags]\nwork_stock = \"a4-24-64x34\"\n";

fn labels() -> JobFolder {
    JobFolder::small().and("job.toml", LABELS)
}

/// Waits for what a form has begun, by its stream of events; the stream, and the page that it leads to.
#[track_caller]
fn made(served: &Served, begun: &Came) -> (String, Came) {
    assert_eq!(begun.status, StatusCode::SEE_OTHER, "{}", begun.text());
    let page = begun.to.clone().expect("it leads on");
    let id = page.rsplit('/').next().expect("a number");
    let stream = served.get(&format!("/print/progress/{id}"));
    let sort = stream.headers.get("content-type").expect("a sort").to_str().expect("text").to_owned();
    assert!(sort.starts_with("text/event-stream"), "{sort}");
    let ended = served.get(&page);
    let ended = match &ended.to {
        Some(to) => served.get(to),
        None => ended,
    };
    (stream.text(), ended)
}

#[track_caller]
fn printed(served: &Served, fields: &[(&str, &str)]) -> Came {
    let (_, page) = made(served, &served.post("/print", fields));
    assert!(page.text().contains("<h1>Run "), "{}", page.text());
    page
}

/// Names, places and words of the tags of a run, in their order.
fn tags(job: &JobFolder, run: u32) -> Vec<(String, String, Vec<String>, String)> {
    let tags = job.tags(&format!("prints/run-{run:04}"));
    tags.iter().map(|tag| (tag.name(), tag.place(), tag.words(), tag.file.clone())).collect()
}

/// Sheet and label of each tag of a run.
fn on_sheets(job: &JobFolder, run: u32) -> Vec<(u64, u64)> {
    let number = |tag: &crate::kit::Tag, name: &str| tag.json[name].as_u64().expect("on a sheet");
    let tags = job.tags(&format!("prints/run-{run:04}"));
    tags.iter().map(|tag| (number(tag, "sheet"), number(tag, "label"))).collect()
}

#[test]
fn a_choice_comes_to_the_tags_of_the_command() {
    type Case<'a> = (&'a [(&'a str, &'a str)], &'a [&'a str]);
    let cases: [Case<'_>; 6] = [
        (&[], &[]),
        (&[("purpose", "work"), ("all", "1"), ("copies", "2")], &["--work", "--all", "--copies", "2"]),
        (&[("code", "J1/14"), ("this_end", "1")], &["--code", "J1/14", "--this-end"]),
        (&[("connector", "J1, J2"), ("action", "cut")], &["--connector", "J1,J2", "--action", "cut"]),
        (&[("kind", "strip"), ("order", "least-waste")], &["--kind", "strip", "--order", "least-waste"]),
        (&[("circuit", "E14"), ("purpose", "final")], &["--circuit", "E14", "--final"]),
    ];
    for (fields, options) in cases {
        let (browser, command) = (labels(), labels());
        command.done(&[&["tags"], options].concat());
        let served = Served::unlocked(&browser.path());
        printed(&served, fields);
        assert_eq!(tags(&browser, 1), tags(&command, 1), "{options:?}");
    }
}

#[test]
fn who_tags_a_connector_is_told_what_else_is_in_it() {
    let job = JobFolder::example();
    let served = Served::of(&job.path());
    let page = served.get("/print?connector=P7&purpose=work").text();
    assert!(page.contains("never cut, probe or tap into"), "{page}");
    assert!(!served.get("/print?connector=J2&purpose=work").text().contains("never cut, probe or tap into"));
}

#[test]
fn what_is_shown_before_is_what_is_made() {
    let job = labels();
    let served = Served::of(&job.path());
    let before = job.names();
    let page = served.get("/print?purpose=work&code=J1/14").text();
    assert!(
        page.contains("2 tags") && page.contains("sheet 1: 2 used now, 0 used before, 0 spoilt, 22 free"),
        "{page}"
    );
    assert!(page.contains("This line is 50 mm on paper; screens differ."), "{page}");
    assert!(!page.contains("Make the PDFs"), "only who has the PIN may print");
    // At 110 dots an inch an A4 page is 909 x 1286 (ISO 216: 210 x 297 mm).
    let picture = Picture::of(&served.get("/print/page?purpose=work&code=J1/14&n=1").bytes);
    assert!(picture.width.abs_diff(909) <= 1 && picture.height.abs_diff(1286) <= 1, "{picture:?}");
    assert_eq!(served.get("/print/page?purpose=work&code=J1/14&n=2").status, StatusCode::NOT_FOUND);
    let tag = served.get("/print/tag?code=J1/14&purpose=work").text();
    assert!(tag.starts_with("<svg") && tag.contains("mm\""), "{}", &tag[..200]);
    for (query, words) in [
        ("connector=J9", "no list names a connector"),
        ("action=fly", "there is no action"),
        ("sheet=9", "there is no sheet 9"),
        ("copies=400", "ask for 1 to 20"),
        ("purpose=final&code=J2/3&this_end=1", "No tags to print"),
        ("code=J1/1", "LIVE WITH BATTERY ON"),
    ] {
        let page = served.get(&format!("/print?{query}"));
        assert_eq!(page.status, StatusCode::OK);
        assert!(page.text().contains(words), "{query}: {}", page.text());
    }
    for page in ["/print/runs", "/print/sheets", "/print/blanks"] {
        assert_eq!(served.get(page).status, StatusCode::OK, "{page}");
    }
    assert_eq!(job.names(), before, "looking writes nothing");
    assert_eq!(served.post("/print", &[]).status, StatusCode::UNAUTHORIZED);
    assert_eq!(job.names(), before);
}

/// The PDF as a browser gets it is read by poppler and zxing-cpp; each symbol names a circuit that the register knows.
#[test]
fn the_symbols_of_a_downloaded_pdf_lead_to_records() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    let page = printed(&served, &[("purpose", "work")]).text();
    assert!(page.contains("symbols read back"), "{page}");
    let pdf = served.get("/print/runs/1/work-a4-24-64x34.pdf");
    assert_eq!(pdf.headers["content-type"], "application/pdf");
    assert!(pdf.headers["content-disposition"].to_str().expect("text").starts_with("inline"));
    let folder = tempfile::TempDir::new().expect("a folder");
    let path = folder.path().join("came.pdf");
    std::fs::write(&path, &pdf.bytes).expect("written");
    let said = script("decoded.py", &[&path.to_string_lossy(), &folder.path().to_string_lossy()]);
    let mut expected: BTreeMap<String, usize> = BTreeMap::new();
    for tag in job.tags("prints/run-0001") {
        *expected.entry(tag.says().expect("a symbol")).or_default() += tag.symbols();
    }
    let mut read: BTreeMap<String, usize> = BTreeMap::new();
    said.lines().for_each(|line| *read.entry(line.to_owned()).or_default() += 1);
    assert_eq!(read, expected);
    for says in read.keys() {
        let name = says.rsplit_once(":7117/").expect("of this job").1;
        job.done(&["find", name]);
    }
}

#[test]
fn a_second_run_goes_on_where_the_first_ended() {
    let job = labels().and("job.toml", &format!("{LABELS}[printer]\nkind = \"inkjet\"\n"));
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    assert_eq!(on_sheets(&job, 1), [(1, 22), (1, 23), (1, 24)]);
    let shown = served.get("/print?purpose=work").text();
    assert!(shown.contains("sheet 1: 3 used now, 3 used before, 0 spoilt, 18 free"), "{shown}");
    assert!(shown.contains("were printed already"), "{shown}");
    let page = printed(&served, &[("purpose", "work")]).text();
    assert_eq!(on_sheets(&job, 2), [(1, 19), (1, 20), (1, 21)]);
    assert!(page.contains("sheet 1, which is begun, the same way round as before"), "{page}");
    assert!(served.get("/print/sheets").text().contains("18 free"));
}

/// Two who press at once: each gets a run of its own, and no label is used twice.
#[test]
fn two_at_once_take_turns() {
    let job = labels().and("job.toml", &format!("{LABELS}[printer]\nkind = \"inkjet\"\n"));
    let served = Served::unlocked(&job.path());
    let begun = [served.post("/print", &[("purpose", "work")]), served.post("/print", &[("purpose", "work")])];
    for one in &begun {
        let (stream, page) = made(&served, one);
        assert!(stream.contains("data: {"), "{stream}");
        let ends = stream.matches("event: end").count();
        assert_eq!(ends, 1, "{stream}");
        assert!(page.text().contains("<h1>Run "), "{}", page.text());
    }
    let labels: Vec<_> = [1, 2].into_iter().flat_map(|run| on_sheets(&job, run)).collect();
    assert_eq!(labels.len(), labels.iter().collect::<BTreeSet<_>>().len(), "{labels:?}");
    let runs = served.get("/print/runs").text();
    assert!(runs.contains("/print/runs/1\"") && runs.contains("/print/runs/2\""), "{runs}");
}

/// A form is shown with a number of its own; sent twice, it leads to the run that it began.
#[test]
fn a_form_that_is_sent_twice_prints_once() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    let number = || {
        let page = served.get("/print?purpose=work").text();
        let (_, rest) = page.split_once("name=\"once\" value=\"").expect("the form has a number");
        rest.split('"').next().expect("a value").to_owned()
    };
    let first = number();
    let fields = [("once", first.as_str()), ("purpose", "work")];
    let begun = [served.post("/print", &fields), served.post("/print", &fields)];
    assert_eq!(begun[0].to, begun[1].to);
    let (_, page) = made(&served, &begun[0]);
    assert!(page.text().contains("<h1>Run 1</h1>"), "{}", page.text());
    // From the page before, after it was made.
    let (_, page) = made(&served, &served.post("/print", &fields));
    assert!(page.text().contains("<h1>Run 1</h1>"), "{}", page.text());
    assert_eq!(served.get("/print/runs/2").status, StatusCode::NOT_FOUND);
    // Shown anew it is another form.
    let second = number();
    assert_ne!(first, second);
    let page = printed(&served, &[("once", &second), ("purpose", "work")]);
    assert!(page.text().contains("<h1>Run 2</h1>"), "{}", page.text());
}

#[test]
fn a_run_whose_stock_is_gone_is_still_shown() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let record = String::from_utf8(job.bytes("prints/run-0001/run.json")).expect("text");
    job.write("prints/run-0001/run.json", record.replace("\"a4-24-64x34\"", "\"a4-of-old\""));
    let page = served.get("/print/runs/1");
    assert_eq!(page.status, StatusCode::OK, "{}", page.text());
    let page = page.text();
    assert!(page.contains("Open work-a4-24-64x34.pdf") && page.contains("It cannot be sent from here"), "{page}");
    assert!(page.contains("a4-of-old") && !page.contains("action=\"/print/send\""), "{page}");
}

/// What is typed wrongly is told, and nothing else done in its place.
#[test]
fn nothing_is_done_in_place_of_what_was_typed() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let many = vec!["J1/14"; 501].join(",");
    type Case<'c> = (&'c str, &'c [(&'c str, &'c str)], &'c str);
    let cases: [Case<'_>; 7] = [
        (
            "/print/send",
            &[("run", "1"), ("file", "work-a4-24-64x34.pdf"), ("copies", "two")],
            "there cannot be <code dir=\"auto\">two</code> copies",
        ),
        ("/print/send", &[("run", "1"), ("file", "work-a4-24-64x34.pdf"), ("copies", "100")], "ask for 1 to 99"),
        (
            "/print/blanks",
            &[("count", "2"), ("kind", "flagg")],
            "there are no blanks of the kind <code dir=\"auto\">flagg</code>",
        ),
        ("/print/blanks", &[("count", "2"), ("kind", "sleeve")], "choose one of"),
        ("/print/sheets", &[("what", "spoilt"), ("number", "1, 2"), ("labels", "22")], "one sheet at a time"),
        ("/print", &[("code", &many)], "501 codes, places and other words"),
        ("/print/blanks", &[("count", "2"), ("diameter", "41")], "tell one from 0.5 to 40 mm"),
    ];
    for (page, fields, words) in cases {
        let came = served.post(page, fields);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY, "{fields:?}");
        assert!(came.text().contains(words), "{fields:?}: {}", came.text());
    }
    assert_eq!(served.get("/print/runs/2").status, StatusCode::NOT_FOUND);
}

#[test]
fn no_path_leaves_the_folder_of_a_run() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    for name in [
        "..%2F..%2Fjob.toml",
        "..%2Frun-0001%2Fwork-a4-24-64x34.pdf",
        "run.json",
        "%2Fetc%2Fpasswd",
        "work-a4-24-64x34.pdf%00",
        ".",
    ] {
        let came = served.get(&format!("/print/runs/1/{name}"));
        assert_eq!(came.status, StatusCode::NOT_FOUND, "{name}: {}", came.text());
    }
    for run in ["0", "2", "-1", "x", "99999999999"] {
        assert_eq!(served.get(&format!("/print/runs/{run}")).status, StatusCode::NOT_FOUND, "{run}");
    }
    assert_eq!(served.get("/print/progress/99").status, StatusCode::NOT_FOUND);
    // A run.json that names a file elsewhere is not followed.
    let record = String::from_utf8(job.bytes("prints/run-0001/run.json")).expect("text");
    job.write("prints/run-0001/run.json", record.replace("work-a4-24-64x34.pdf", "../../job.toml"));
    assert_eq!(served.get("/print/runs/1/..%2F..%2Fjob.toml").status, StatusCode::NOT_FOUND);
}

#[test]
fn a_tag_is_printed_again_with_one_tap() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let (name, place, words, file) = tags(&job, 1).remove(1);
    let code = name.replace(' ', "/");
    let (_, page) = made(&served, &served.post("/print/again", &[("code", &code)]));
    assert!(page.text().contains("<h1>Run 2</h1>") && page.text().contains("Send it to a printer"), "{}", page.text());
    assert_eq!(tags(&job, 2), [(name.clone(), place, words.clone(), file)]);
    let refused = served.post("/print/again", &[("code", "J7/77")]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(refused.text().contains("is no place of this job"), "{}", refused.text());
    // No list has the end any more: the tag is printed as it said.
    let list = String::from_utf8(job.bytes("loom.csv")).expect("text");
    let without: Vec<&str> = list.lines().filter(|line| !line.contains(",E14,")).collect();
    job.write("loom.csv", without.join("\n"));
    let gone = tags(&job, 1).into_iter().find(|tag| tag.1.contains("14")).expect("E14 was printed");
    let offered = served.get(&format!("/print?code={}", gone.0.replace(' ', "/"))).text();
    assert!(offered.contains("Print as it said"), "{offered}");
    let (_, page) = made(&served, &served.post("/print/again", &[("code", &gone.0.replace(' ', "/"))]));
    assert!(page.text().contains("is no longer in the lists; printed as it said in run"), "{}", page.text());
    assert_eq!((&tags(&job, 3)[0].0, &tags(&job, 3)[0].2), (&gone.0, &gone.2));
}

#[test]
fn spoilt_labels_are_told_and_printed_again() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let told = served.post("/print/sheets", &[("what", "spoilt"), ("number", "1"), ("labels", "22, 24")]);
    assert_eq!((told.status, told.to.as_deref()), (StatusCode::SEE_OTHER, Some("/print/sheets")));
    let page = served.get("/print/sheets").text();
    assert!(page.contains("sheet 1: 2 labels spoilt"), "{page}");
    assert!(page.contains("Print 2 spoilt tags again"), "{page}");
    made(&served, &served.post("/print/again", &[("spoilt", "1")]));
    let again: BTreeSet<String> = tags(&job, 2).into_iter().map(|tag| tag.0).collect();
    let first = tags(&job, 1);
    assert_eq!(again, BTreeSet::from([first[0].0.clone(), first[2].0.clone()]));
    assert!(!served.get("/print/sheets").text().contains("spoilt tags again"));
    for (fields, words) in [
        ([("what", "spoilt"), ("number", "9"), ("labels", "1")], "there is no sheet 9"),
        ([("what", "spoilt"), ("number", "1"), ("labels", "99")], "has no label 99"),
        ([("what", "unprinted"), ("number", "7"), ("labels", "")], "there is no print run 7"),
        ([("what", "spoilt"), ("number", "one"), ("labels", "1")], "is no number"),
    ] {
        let came = served.post("/print/sheets", &fields);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY);
        assert!(came.text().contains(words), "{}", came.text());
    }
}

#[test]
fn blanks_are_printed_and_listed() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    let (_, page) = made(&served, &served.post("/print/blanks", &[("count", "4"), ("kind", ""), ("diameter", "")]));
    assert!(page.text().contains("4 tags on 1 page"), "{}", page.text());
    assert!(served.get("/print/blanks").text().contains("4 blanks not assigned yet"));
    for fields in [[("count", "0"), ("diameter", "")], [("count", "2"), ("diameter", "900")]] {
        assert_eq!(served.post("/print/blanks", &fields).status, StatusCode::UNPROCESSABLE_ENTITY);
    }
}

/// The test printer of the CUPS project takes the job; what it got is a PDF.
#[test]
fn a_run_goes_to_a_printer() {
    let printer = TestPrinter::start(&Attributes::sheets());
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let address = printer.address();
    let file = [("run", "1"), ("file", "work-a4-24-64x34.pdf"), ("printer", address.as_str())];
    let (_, page) = made(&served, &served.post("/print/send", &[&file[..], &[("check", "1")]].concat()));
    assert!(page.text().contains("the printer would take it; nothing was printed"), "{}", page.text());
    assert!(printer.arrived().is_empty());
    let (stream, page) = made(&served, &served.post("/print/send", &file));
    assert!(page.text().contains("is printed") && page.text().contains("page 1 is sheet 1"), "{}", page.text());
    assert!(stream.contains("event: end"), "{stream}");
    assert_eq!(printer.arrived().len(), 1);
    assert!(served.get("/print/runs/1").text().contains("completed"));
    let (_, page) = made(&served, &served.post("/print/send", &file));
    assert!(page.text().contains("was printed already by"), "{}", page.text());
    let away = [("run", "1"), ("file", "work-a4-24-64x34.pdf"), ("printer", "ipp://127.0.0.1:9/ipp/print")];
    let (_, page) = made(&served, &served.post("/print/send", &away[..]));
    assert!(page.text().contains("was printed already by"), "whatever printer is named: {}", page.text());
    assert_eq!(printer.arrived().len(), 1);
    for fields in [[("run", "1"), ("file", "../../job.toml")], [("run", "8"), ("file", "work-a4-24-64x34.pdf")]] {
        assert_eq!(served.post("/print/send", &fields).status, StatusCode::UNPROCESSABLE_ENTITY);
    }
    let odd = [("run", "1"), ("file", "work-a4-24-64x34.pdf"), ("printer", "file:///etc/passwd")];
    assert_eq!(served.post("/print/send", &odd).status, StatusCode::UNPROCESSABLE_ENTITY);
}

/// A small job begins a new sheet although others are begun: which of these it could go on, and what that costs, is told before, and one
/// tap chooses.
#[test]
fn a_begun_sheet_that_waits_can_be_chosen() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    let page = served.get("/print?code=J1%2F1&this_end=1&purpose=work").text();
    assert!(page.contains("A begun sheet waits"), "{page}");
    assert!(
        page.contains("href=\"/print?code=J1%2F1&amp;this_end=1&amp;purpose=work&amp;sheet=1\">Sheet 1</a>"),
        "{page}"
    );
    assert!(page.contains("1 of its 21 labels are used and 20 lost: its last pass"), "{page}");
    let page = served.get("/print?code=J1%2F1&this_end=1&purpose=work&sheet=1").text();
    assert!(page.contains("Back to the usual choice of sheets") && page.contains("20 of them lost"), "{page}");
    assert!(page.contains("href=\"/print?code=J1%2F1&amp;this_end=1&amp;purpose=work\""), "{page}");
    assert!(
        page.contains("1 now, 20 lost of 24: its last pass") && page.contains("lost: the last pass of its sheet"),
        "{page}"
    );
    assert!(!page.contains("the next run goes on here"), "{page}");
    // What is lost can be kept: new sheets cost one, and tell that the begun one waits.
    assert!(
        page.contains(
            "href=\"/print?code=J1%2F1&amp;this_end=1&amp;purpose=work&amp;new_sheet=1\">On new sheets</a> 1 new sheet"
        ),
        "{page}"
    );
    let new = served.get("/print?code=J1%2F1&this_end=1&purpose=work&new_sheet=1").text();
    assert!(new.contains("A begun sheet waits") && new.contains("1 now, 23 free of 24"), "{new}");
    assert!(new.contains("the next run goes on here") && !new.contains("its sheet</li>"), "{new}");
    printed(&served, &[("code", "J1/1"), ("this_end", "1"), ("purpose", "work"), ("sheet", "1")]);
    assert_eq!(on_sheets(&job, 2), [(1, 21)]);
    // A sheet that was asked for and cannot be had: why, and the page of sheets.
    let refused = served.get("/print?code=J1%2F1&this_end=1&purpose=work&sheet=9").text();
    assert!(
        refused.contains("there is no sheet 9") && refused.contains("href=\"/print/sheets\">Sheets</a>"),
        "{refused}"
    );
    assert!(!refused.contains("loomtag stock"), "{refused}");
}

/// Of two wishes for sheets none is dropped in silence.
#[test]
fn sheets_are_asked_for_in_one_way() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work")]);
    for (query, words) in [
        ("sheet=1&start_at=20", "a begun sheet and a first sheet that has lost labels cannot be asked for together"),
        ("sheet=1&new_sheet=1", "a begun sheet and new sheets cannot be asked for together"),
    ] {
        let page = served.get(&format!("/print?purpose=work&{query}")).text();
        assert!(page.contains(words) && !page.contains("Make the PDFs"), "{query}: {page}");
    }
    // A run that never printed leaves the sheet as it was numbered: it is neither full nor gone.
    printed(&served, &[("purpose", "work"), ("start_at", "5")]);
    served.post("/print/sheets", &[("what", "unprinted"), ("number", "2"), ("labels", "")]);
    let page = served.get("/print/sheets").text();
    let (_, after) = page.split_once("Numbered, never printed").expect("told by itself");
    assert!(after.contains("sheet 2, a4-24-64x34: 20 labels free") && after.contains("/print?sheet=2"), "{page}");
    assert!(!page.contains("Full, worn out or gone"), "{page}");
}

#[test]
fn runs_are_named_by_what_they_hold() {
    let job = labels();
    let served = Served::unlocked(&job.path());
    printed(&served, &[("purpose", "work"), ("all", "1")]);
    printed(&served, &[("code", "J1/1"), ("this_end", "1"), ("purpose", "work")]);
    let (name, ..) = tags(&job, 2).remove(0);
    let page = served.get("/print/runs").text();
    assert!(page.contains("G2, J1, J2: ") && page.contains(&format!("{name}: 1 work tag")), "{page}");
    assert!(served.get("/print/runs/2").text().contains(&format!("{name}: 1 work tag")));
}

/// Before one connector is printed, what touches it is shown; the rest is one line.
#[test]
fn warnings_of_other_ends_are_a_line() {
    let list = "connector,cavity,circuit,action,note\nJ1,1,A1,cut,airbag\nJ1,2,A2,cut,\nJ2,1,A3,cut,airbag\nJ2,2,A4,cut,airbag\n";
    let job = labels().and("loom.csv", list);
    let served = Served::unlocked(&job.path());
    let all = served.get("/print?purpose=work&skip_problems=1").text();
    let of_all = all.matches("<article class=\"problem").count();
    assert!(of_all >= 3, "{all}");
    for page in ["/print?purpose=work&skip_problems=1&connector=J1&this_end=1", "/papers?connector=J1"] {
        let one = served.get(page).text();
        assert!(one.contains("J1/1") && one.contains("href=\"/problems?which=seen\""), "{page}: {one}");
        assert!(one.contains("warnings of other ends"), "{page}: {one}");
        assert!(one.matches("<article class=\"problem").count() < of_all, "{page}: {one}");
    }
}
