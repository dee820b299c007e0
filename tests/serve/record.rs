//! The page `record`.

use axum::http::StatusCode;
use serde_json::Value;

use crate::kit::JobFolder;
use crate::kit::served::{Came, Served};

fn coded() -> (JobFolder, Served) {
    let job = JobFolder::small();
    job.done(&["tags"]);
    let served = Served::unlocked(&job.path());
    (job, served)
}

/// What the command finds.
fn json(job: &JobFolder, words: &[&str]) -> Value {
    let answer = job.run(&[&["find", "--json"][..], words].concat());
    serde_json::from_str(&answer.out).expect("JSON")
}

/// The code of a circuit, by a place of it.
fn code(job: &JobFolder, place: &str) -> String {
    json(job, &[place])["found"][0]["record"]["code"].as_str().expect("a code").to_owned()
}

/// The codes of new blanks.
fn blanks(job: &JobFolder, count: usize) -> Vec<String> {
    let answer = job.done(&["blanks", &count.to_string(), "--list", "--json"]);
    let json: Value = serde_json::from_str(&answer.out).expect("JSON");
    let codes = json["codes"].as_array().or_else(|| json["blanks"].as_array()).expect("codes");
    codes.iter().map(|code| code.as_str().or_else(|| code["code"].as_str()).expect("text").to_owned()).collect()
}

/// The mark of what a page asks.
fn asked_mark(asked: &Came) -> String {
    let text = asked.text();
    let mark = text.split("name=\"asked\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
    mark.unwrap_or_else(|| panic!("nothing is asked: {text}")).to_owned()
}

/// The words that are read, without marks and with single blanks.
fn read(html: &str) -> String {
    let mut text = String::new();
    let mut is_mark = false;
    for character in html.chars() {
        match character {
            '<' => is_mark = true,
            '>' => (is_mark, text) = (false, text + " "),
            _ if !is_mark => text.push(character),
            _ => {}
        }
    }
    let text = text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_record_opens_however_its_code_is_typed() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let lower = rail.to_lowercase();
    for path in [
        format!("/{rail}"),
        format!("/{lower}"),
        format!("/{lower}/"),
        format!("/{rail}/A"),
        format!("/{lower}/a/"),
        format!("/{lower}-a"),
        format!("/{rail}.A"),
        format!("/{rail}%20A"),
        format!("/{rail}/A+B"),
        format!("/{rail}/A-B"),
        "/at/J1/14".to_owned(),
        "/at/j1-14".to_owned(),
    ] {
        let came = served.get(&path);
        assert_eq!(came.status, StatusCode::OK, "{path}");
        assert!(read(&came.text()).contains("rail pressure signal"), "{path}");
    }
    // The other pages are not swallowed.
    assert!(served.get("/find").text().contains("<h1>Find"));
}

#[test]
fn all_that_the_command_tells_stands_on_the_page() {
    let (job, served) = coded();
    job.done(&["note", "J1/14", "found", "colour", "GN", "seal is brittle"]);
    for place in ["J1/1", "J1/2", "J1/14", "J2/5", "J2/9"] {
        let told = json(&job, &[place]);
        let record = &told["found"][0]["record"];
        let page = read(&served.get(&format!("/{}", record["code"].as_str().expect("a code"))).text());
        let ends = record["ends"].as_array().expect("ends");
        let facts = ["function", "supply", "fuse"].iter().map(|name| &record[name]);
        let lists =
            ["designations", "cautions", "stale", "also", "former"].iter().flat_map(|name| record[name].as_array());
        let names =
            ["here", "there", "colour", "size", "length", "diameter", "action", "branch", "with", "note", "caution"];
        let of_ends = ends.iter().flat_map(|end| names.iter().map(move |name| &end[name]));
        let words = record["history"].as_array().expect("history").iter().map(|event| &event["words"]);
        for fact in facts.chain(lists.flatten()).chain(of_ends).chain(words).filter_map(Value::as_str) {
            assert!(page.contains(fact), "{place}: `{fact}` is missing in {page}");
        }
        assert!(page.contains("no mark does not mean dead: test"));
    }
}

#[test]
fn the_caution_stands_before_everything_else() {
    let (job, served) = coded();
    let page = served.get(&format!("/{}/A", code(&job, "J1/1"))).text();
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text} is missing in {page}"));
    assert!(at("LIVE WITH BATTERY ON") < at("no mark does not mean dead: test"));
    assert!(at("no mark does not mean dead: test") < at("To do: cut"));
    assert!(page.contains("LIVE WITH BATTERY ON: cap this end"));
}

#[test]
fn steps_are_ticked_and_undone() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let path = format!("/{rail}/A");
    let page = served.get(&path).text();
    let steps: Vec<usize> =
        ["☐ tagged", "☐ cut", "☐ terminated"].iter().map(|step| page.find(step).expect("is asked")).collect();
    assert!(steps.is_sorted(), "in the order of the work");
    let came = served.post(&format!("{path}/done"), &[("step", "cut")]);
    assert_eq!((came.status, came.to.as_deref()), (StatusCode::SEE_OTHER, Some(path.as_str())));
    let page = served.get(&path).text();
    assert!(page.contains("✓ cut") && page.contains("2026-11-28 12:00 UTC"), "{page}");
    let told = format!("note 1: {rail} A at J1/14, rail pressure signal, circuit E14");
    assert!(read(&page).contains(&told), "told of what: {page}");
    served.post(&format!("{path}/undone"), &[("step", "cut")]);
    let page = served.get(&path).text();
    assert!(page.contains("☐ cut") && page.contains("superseded by note 2"), "{page}");
    assert!(job.done(&["note", "--list"]).out.contains("undone cut"));
}

#[test]
fn a_tick_twice_from_two_phones_is_told() {
    let (job, served) = coded();
    let mut other = served.another();
    other.unlock();
    let path = format!("/{}/A", code(&job, "J1/14"));
    served.post(&format!("{path}/done"), &[("step", "cut")]);
    other.post(&format!("{path}/done"), &[("step", "cut")]);
    assert!(other.get(&path).text().contains("noted before: note 1"));
    assert!(!served.get(&path).text().contains("noted before"), "told where it was done");
    served.post(&format!("{path}/undone"), &[("step", "cut")]);
    other.post(&format!("{path}/undone"), &[("step", "cut")]);
    assert!(other.get(&path).text().contains("☐ cut"));
}

#[test]
fn every_finding_is_noted_with_its_warnings() {
    let (job, served) = coded();
    let path = format!("/{}/A", code(&job, "J1/14"));
    for (finding, value, remark, told) in [
        ("colour", "GN", "white stripe", "found colour GN: white stripe"),
        ("size", "0.75 mm²", "", "found size 0.75 mm²"),
        ("place", "J1/15", "", "found place J1/15"),
        ("damaged", "", "broken seal", "found damaged: broken seal"),
        ("unlisted", "", "", "found unlisted"),
        ("", "", "smells of oil", "found: smells of oil"),
        ("empty", "", "", "found empty"),
    ] {
        let fields = [("finding", finding), ("value", value), ("remark", remark)];
        let came = served.post(&format!("{path}/found"), &fields);
        assert_eq!(came.status, StatusCode::SEE_OTHER, "{finding}: {}", came.text());
        let page = read(&served.get(&path).text());
        assert!(page.contains(told), "{told} is missing in {page}");
    }
    let refused = served.post(&format!("{path}/found"), &[("finding", "empty"), ("value", "gn")]);
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY, "what has a colour is not empty");
    assert!(refused.text().contains("value=\"gn\""), "{}", refused.text());
    // Another colour was found before: both stand side by side, and it is asked which counts.
    let found = format!("{path}/found");
    let asked = served.post(&found, &[("finding", "colour"), ("value", "BU/WH")]);
    assert_eq!(asked.status, StatusCode::CONFLICT);
    let told = read(&asked.text());
    for part in [
        "before, note 1",
        "found colour GN: white stripe",
        "now, the newer",
        "found colour BU/WH",
        "the newer finding counts",
    ] {
        assert!(told.contains(part), "{part} is missing in {told}");
    }
    let mark = asked_mark(&asked);
    let sure = [("finding", "colour"), ("value", "BU/WH"), ("sure", "yes"), ("asked", &*mark)];
    assert_eq!(served.post(&found, &sure).status, StatusCode::SEE_OTHER);
    assert!(served.get(&path).text().contains(": the lists say the same: colour"));
    assert_eq!(served.post(&found, &[("finding", "colour"), ("value", "blue/white")]).status, StatusCode::SEE_OTHER);
    for fields in [[("finding", "colour"), ("value", "")], [("finding", "size"), ("value", "thick")]] {
        assert_eq!(served.post(&format!("{path}/found"), &fields).status, StatusCode::UNPROCESSABLE_ENTITY);
    }
}

#[test]
fn notes_are_put_right_and_taken_back() {
    let (job, served) = coded();
    let path = format!("/{}/A", code(&job, "J1/14"));
    served.post(&format!("{path}/note"), &[("text", "clip is\r\nbroken")]);
    served.post(&format!("{path}/note"), &[("instead", "1"), ("text", "clip is loose")]);
    let page = served.get(&path).text();
    assert!(page.contains("clip is loose") && page.contains("superseded by note 2"), "{page}");
    // A note gives way once.
    let again = served.post(&format!("{path}/note"), &[("instead", "1"), ("text", "late")]);
    assert_eq!(again.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(served.post(&format!("{path}/note"), &[("text", " ")]).status, StatusCode::UNPROCESSABLE_ENTITY);
    served.post(&format!("{path}/found"), &[("finding", "damaged")]);
    served.post(&format!("{path}/note"), &[("instead", "3"), ("text", "taken back")]);
    assert!(!served.get(&path).text().contains("class=\"mind finding\""));
}

#[test]
fn nothing_is_written_without_the_pin() {
    let (job, served) = coded();
    let reader = served.another();
    let path = format!("/{}/A", code(&job, "J1/14"));
    let page = reader.get(&path).text();
    assert!(page.contains("☐ cut") && !page.contains("method=\"post\""), "{page}");
    for what in ["done", "undone", "found", "note", "rename", "join", "assign"] {
        assert_eq!(
            reader.post(&format!("{path}/{what}"), &[("step", "cut"), ("text", "x")]).status,
            StatusCode::UNAUTHORIZED
        );
    }
    assert!(job.done(&["note", "--list"]).out.contains("nothing is noted yet"));
}

#[test]
fn what_is_mistyped_is_told_and_never_another_record() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let mut wrong = rail.clone();
    wrong.replace_range(3..4, if rail.ends_with('2') { "3" } else { "2" });
    for path in [format!("/{wrong}"), format!("/{wrong}/A")] {
        let came = served.get(&path);
        assert_eq!(came.status, StatusCode::NOT_FOUND);
        let page = came.text();
        assert!(page.contains("does not fit: at least one character is wrong"), "{page}");
        assert!(page.contains(&format!("href=\"/{rail}\"")) && !page.contains("To do"), "{page}");
    }
    let never = served.get("/7KF4");
    assert_eq!(never.status, StatusCode::NOT_FOUND);
    assert!(never.text().contains("</code> was never issued in this job"), "{}", never.text());
    assert_eq!(served.get("/favicon.ico").status, StatusCode::NOT_FOUND);
    assert_eq!(served.get("/at/J99/1").status, StatusCode::NOT_FOUND);
    // A letter that no end has: the record, and what is wrong.
    assert!(served.get(&format!("/{rail}/ZZ")).text().contains("has no end ZZ; it has A, B"));
}

#[test]
fn what_has_no_code_yet_answers_by_its_place() {
    let job = JobFolder::small();
    let served = Served::unlocked(&job.path());
    let page = served.get("/at/J1/14").text();
    assert!(page.contains("rail pressure signal") && page.contains("no code was issued for this end yet"), "{page}");
    assert!(!page.contains("/done\""), "nothing can be noted of it");
    assert!(served.get("/at/G2").text().contains("engine ground"));
}

#[test]
fn what_no_list_has_any_more_is_told() {
    let (job, served) = coded();
    let flap = code(&job, "J2/5");
    let left: String = String::from_utf8(job.bytes("loom.csv"))
        .expect("text")
        .lines()
        .filter(|line| !line.contains("E33"))
        .map(|line| format!("{line}\n"))
        .collect();
    job.write("loom.csv", left);
    let page = served.get(&format!("/{flap}/A")).text();
    assert!(page.contains("take it as live") && page.contains("not in the lists any more"), "{page}");
}

#[test]
fn neighbours_are_told_and_lead_on() {
    let (_job, served) = coded();
    let page = served.get("/at/J1/2").text();
    for link in ["/at/J1/1\"", "/at/J1/14\"", "/C/J1\""] {
        assert!(page.contains(link), "{link} is missing in {page}");
    }
}

#[test]
fn a_circuit_is_renamed() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let came = served.post(&format!("/{rail}/rename"), &[("new", "E140")]);
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text());
    let page = read(&served.get(&format!("/{rail}")).text());
    assert!(page.contains("E14 is E140 now, its code stays") && page.contains("renamed E140, before E14"), "{page}");
    for new in ["", "E65", "J1/2"] {
        let came = served.post(&format!("/{rail}/rename"), &[("new", new)]);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY, "{new}");
    }
}

#[test]
fn codes_are_joined_after_one_question() {
    let (job, served) = coded();
    let (rail, other) = (code(&job, "J1/14"), code(&job, "J2/9"));
    let join = format!("/{rail}/join");
    let asked = served.post(&join, &[("other", &other)]);
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text().contains("joining is for ever"));
    assert!(!served.get(&format!("/{other}")).text().contains("E14"), "nothing was written");
    // An answer counts for what was asked, and for nothing else.
    for answer in [&[("sure", "yes")][..], &[("sure", "yes"), ("asked", "0123456789abcdef")]] {
        let came = served.post(&join, &[&[("other", &*other)], answer].concat());
        assert_eq!(came.status, StatusCode::CONFLICT);
    }
    let mark = asked_mark(&asked);
    let sure = [("other", &*other), ("sure", "yes"), ("asked", &*mark)];
    assert_eq!(served.post(&join, &sure).status, StatusCode::SEE_OTHER);
    let page = read(&served.get(&format!("/{other}")).text());
    assert!(page.contains("rail pressure signal") && page.contains(&format!("also marked {other}")), "{page}");
    assert_eq!(served.post(&join, &[("other", "7KF5")]).status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn a_blank_is_looked_up_and_assigned() {
    let (job, served) = coded();
    let codes = blanks(&job, 3);
    let page = served.get(&format!("/{}?q=rail", codes[0])).text();
    assert!(page.contains("What is this wire?") && page.contains("It is this end"), "{page}");
    let name = format!("{}/B", code(&job, "J1/14"));
    assert!(page.contains(&format!("value=\"{name}\"")), "{page}");
    let assign = |code: &str, fields: &[(&str, &str)]| served.post(&format!("/{code}/assign"), fields);
    assert_eq!(assign(&codes[0], &[("what", &name)]).status, StatusCode::SEE_OTHER);
    let page = read(&served.get(&format!("/{}", codes[0])).text());
    assert!(page.contains("names it as well") && page.contains("rail pressure signal"), "{page}");
    // Another one at the same end is asked of first.
    let asked = assign(&codes[1], &[("what", &name)]);
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text().contains("is a blank that hangs at J2/3 already"), "{}", asked.text());
    assert_eq!(assign(&codes[1], &[("what", "no such thing")]).status, StatusCode::UNPROCESSABLE_ENTITY);
    let mark = asked_mark(&asked);
    let sure = [("what", &*name), ("sure", "yes"), ("asked", &*mark)];
    assert_eq!(assign(&codes[1], &sure[..2]).status, StatusCode::CONFLICT);
    assert_eq!(assign(&codes[1], &sure).status, StatusCode::SEE_OTHER);
    // No list has it.
    assert_eq!(assign(&codes[2], &[("new", "E99"), ("what", "J7/4")]).status, StatusCode::SEE_OTHER);
    let page = read(&served.get(&format!("/{}", codes[2])).text());
    assert!(page.contains("in no list yet") && page.contains("J7/4"), "{page}");
}

#[test]
fn hostile_cells_stay_text() {
    let list = "connector,cavity,circuit,function,colour,note\n\
        J1,1,\"<b>E1</b>\",\"<script>alert(1)</script> \"\"q\"\"\",RD,\"\u{202e}evil & <img src=x>\"\n\
        J1,2,E2,x' onclick=',BU,\n";
    let job = JobFolder::with(&[("job.toml", "title = \"<i>Hen</i>\"\n"), ("loom.csv", list)]);
    job.run(&["tags"]);
    let served = Served::unlocked(&job.path());
    for path in [
        "/at/J1/1",
        "/at/J1/2",
        "/find?part=1&q=script",
        "/find?q=%3Cscript%3E",
        "/%3Cscript%3E",
        "/7KF4%22%3E%3Cb%3E/A",
    ] {
        let page = served.get(path).text();
        for mark in ["<script>alert", "<img", "<b>", "<i>"] {
            assert!(!page.contains(mark), "{path}: {mark} in {page}");
        }
    }
    let page = served.get("/at/J1/1").text();
    assert!(page.contains("<bdi>&lt;script&gt;") && page.contains("<bdi>\u{202e}evil &amp; "), "{page}");
}

#[test]
fn cutting_a_restraint_wire_is_written_once_it_is_meant() {
    let job = JobFolder::example();
    job.done(&["tags"]);
    let served = Served::unlocked(&job.path());
    let found = json(&job, &["A70/1"]);
    let record = &found["found"][0]["record"];
    let ends = record["ends"].as_array().expect("ends");
    let end = ends.iter().find(|end| end["here"] == "A70/1").expect("listed");
    let (code, letter) = (record["code"].as_str().expect("a code"), end["letter"].as_str().expect("a letter"));
    let tick = format!("done cut {code} {letter}");
    let (record, letter) = (format!("/{code}/{letter}/done"), format!("{code} {letter}"));
    for (path, fields) in [(record.as_str(), [("step", "cut")]), ("/C/A70/done", [("tick", tick.as_str())])] {
        let before = job.done(&["note", "--list"]).out.matches("done cut").count();
        let asked = served.post(path, &fields);
        assert_eq!(asked.status, StatusCode::CONFLICT, "{path}");
        let page = read(&asked.text());
        assert!(page.contains("RESTRAINT: never cut") && page.contains(&letter), "{page}");
        assert_eq!(job.done(&["note", "--list"]).out.matches("done cut").count(), before, "{path}");
        let mark = asked_mark(&asked);
        let sure = [&fields[..], &[("sure", "yes"), ("asked", &*mark)]].concat();
        assert_eq!(served.post(path, &sure).status, StatusCode::SEE_OTHER, "{path}");
        assert_eq!(job.done(&["note", "--list"]).out.matches("done cut").count(), before + 1, "{path}");
    }
    // What harms nobody is written at once, and the command tells the same.
    assert_eq!(served.post(&record, &[("step", "tagged")]).status, StatusCode::SEE_OTHER);
    job.done(&["note", "A70/1", "done", "pulled"]).says("! RESTRAINT: never cut");
}

#[test]
fn a_kept_end_of_a_live_circuit_warns_on_its_card_as_its_tag_does() {
    let list = "connector,cavity,circuit,function,supply,action\nJ1,1,E1,bilge pump,constant,cut\nJ2,1,E1,,,keep\nJ3,1,E1,,,\n";
    let job = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", list)]);
    job.done(&["tags", "--all"]);
    let page = Served::of(&job.path()).get(&format!("/{}/A", code(&job, "J1/1"))).text();
    let cards: Vec<&str> = page.split("card other").skip(1).collect();
    assert_eq!(cards.len(), 2);
    for card in cards {
        assert!(card.split("</div>").next().is_some_and(|card| card.contains("LIVE WITH BATTERY ON")), "{card}");
    }
}

#[test]
fn what_may_hurt_is_said_once_and_first() {
    let (job, served) = coded();
    let page = read(&served.get(&format!("/{}/A", code(&job, "J1/1"))).text());
    assert_eq!(page.matches("LIVE WITH BATTERY ON").count(), 1, "{page}");
    assert!(page.contains("LIVE WITH BATTERY ON: cap this end"), "{page}");
    assert!(page.contains("Take the battery off, negative first.") && page.contains("a second battery, shore power"));
    // Nothing is to be done there.
    let ground = read(&served.get("/at/J1/2").text());
    assert!(!ground.contains("Take the battery off"), "{ground}");
    let example = JobFolder::example();
    example.done(&["tags"]);
    let page = read(&Served::of(&example.path()).get("/at/A70/1").text());
    let never = "RESTRAINT: never cut, probe or tap into; disarm and wait as the maker's manual says";
    assert_eq!(page.matches("RESTRAINT").count(), 1, "{page}");
    assert!(page.contains(never), "{page}");
    // Taking the battery off does not make it safe.
    assert!(
        page.contains("Leave their connectors closed until then.") && !page.contains("Take the battery off"),
        "{page}"
    );
}

#[test]
fn a_live_end_without_a_cap_is_told_first_and_is_not_done() {
    let (job, served) = coded();
    let feed = code(&job, "J1/1");
    job.done(&["note", "J1/1", "done", "cut"]);
    let overview = read(&served.get("/").text());
    assert!(overview.contains("J1/1 is noted as cut, is LIVE WITH BATTERY ON, and no cap is noted"), "{overview}");
    assert!(read(&served.get("/circuits?left=capped").text()).contains(&feed));
    job.done(&["note", "J1/1", "done", "capped"]);
    assert!(!served.get("/").text().contains("no cap is noted"));
    assert!(!read(&served.get("/circuits?left=capped").text()).contains(&feed));
}

#[test]
fn an_end_is_decided_of_from_its_record_and_leads_to_the_next() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let page = served.get(&format!("/{rail}/A")).text();
    let link = format!("/circuits/edit?end={rail}%2FA");
    assert!(page.contains(&format!("href=\"{link}\"")), "{page}");
    assert!(read(&served.get(&link).text()).contains("rail pressure signal"));
    assert!(read(&page).contains("Next to do in J1: J1/1"), "{page}");
    let other = served.get(&format!("/{}/A", code(&job, "J1/1"))).text();
    assert!(read(&other).contains("Next to do in J1: J1/14"), "{other}");
}

#[test]
fn a_finding_is_chosen_and_an_empty_cavity_asked_about() {
    let (job, served) = coded();
    let path = format!("/{}/A", code(&job, "J1/14"));
    let page = served.get(&path).text();
    assert!(page.contains("<option value=\"\">choose…</option>"), "{page}");
    let other = served.post(&format!("{path}/found"), &[("finding", "other"), ("remark", "smells of oil")]);
    assert_eq!(other.status, StatusCode::SEE_OTHER, "{}", other.text());
    assert!(read(&served.get(&path).text()).contains("found: smells of oil"));
    let nothing = served.post(&format!("{path}/found"), &[("finding", ""), ("value", ""), ("remark", "")]);
    assert_eq!(nothing.status, StatusCode::UNPROCESSABLE_ENTITY);
    served.post(&format!("{path}/done"), &[("step", "cut")]);
    let asked = served.post(&format!("{path}/found"), &[("finding", "empty")]);
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text());
    assert!(read(&asked.text()).contains("it is noted as cut"), "{}", asked.text());
    assert!(!job.done(&["note", "--list"]).out.contains("found empty"), "nothing was written");
}

#[test]
fn a_step_before_its_time_is_told() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    let path = format!("/{rail}/A");
    let noted = |path: &str, step: &str| {
        assert_eq!(served.post(&format!("{path}/done"), &[("step", step)]).status, StatusCode::SEE_OTHER);
        read(&served.get(path).text())
    };
    assert!(noted(&path, "terminated").contains("not noted as cut"));
    assert!(noted(&path, "cut").contains("not noted as tagged: A, and B at the far end"));
    assert!(!noted(&path, "tagged").contains("not noted as"));
    assert!(noted(&path, "cut").contains("not noted as tagged: B at the far end"));
    noted(&format!("/{rail}/B"), "tagged");
    assert!(!noted(&path, "cut").contains("not noted as tagged"));
    job.done(&["note", "J1/1", "done", "cut"]).says("not noted as tagged: A");
    let answer = job.done(&["note", "J1/1", "done", "tagged", "cut"]);
    assert!(!format!("{}{}", answer.out, answer.err).contains("as tagged: A"));
}

#[test]
fn a_tag_that_hangs_at_nothing_comes_off_first() {
    let (job, served) = coded();
    let rail = code(&job, "J1/14");
    assert!(!served.get(&format!("/{rail}/A")).text().contains("take the tag off"));
    let text = String::from_utf8(job.bytes("loom.csv")).expect("text");
    let left: Vec<&str> = text.lines().filter(|line| !line.contains("E14")).collect();
    job.write("loom.csv", left.join("\n"));
    let page = served.get(&format!("/{rail}/A")).text();
    assert!(page.contains("take the tag off") && !page.contains("Print this tag"), "{page}");
    served.post(&format!("/{rail}/A/done"), &[("step", "untagged")]);
    let page = served.get(&format!("/{rail}/A")).text();
    assert!(!page.contains("take the tag off") && page.contains("✓ untagged"), "{page}");
}

/// What is refused is told on the record, and its form stands open with what was typed.
#[test]
fn a_refused_form_keeps_what_was_typed() {
    let (job, served) = coded();
    let path = format!("/{}/A", code(&job, "J1/14"));
    let long = "seal ".repeat(500);
    type Case<'c> = (&'c str, &'c [(&'c str, &'c str)], &'c str, &'c [&'c str]);
    let cases: [Case<'_>; 5] = [
        (
            "found",
            &[("finding", "colour"), ("value", "blurple"), ("remark", "seal gone")],
            "is no colour that is known here",
            &["value=\"blurple\"", "value=\"seal gone\"", "value=\"colour\" data-value selected"],
        ),
        ("found", &[("finding", "size"), ("value", "thick")], "no conductor size", &["value=\"thick\""]),
        ("note", &[("instead", ""), ("text", &long)], "2000 characters at most, this one has 2499", &[&long]),
        ("rename", &[("new", "J1/14")], "cannot be a designation", &["name=\"new\" value=\"J1/14\""]),
        ("join", &[("other", "77")], "is not a code", &["name=\"other\" value=\"77\""]),
    ];
    for (what, fields, why, kept) in cases {
        let at = if matches!(what, "rename" | "join") { path.trim_end_matches("/A") } else { &path };
        let came = served.post(&format!("{at}/{what}"), fields);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY, "{what}");
        let page = came.text();
        assert!(read(&page).contains(why), "{why} is missing: {}", read(&page));
        assert!(page.contains("href=\"#kept\"") && page.contains("id=\"kept\""), "the way to the form of {what}");
        for part in kept {
            assert!(page.contains(part), "{part} is missing after {what}");
        }
    }
    assert!(!served.get(&path).text().contains("maxlength"), "no field cuts what is typed in silence");
    // Letters that the lists have are no nonsense, whoever understands them.
    job.write("loom.csv", crate::kit::SMALL_LIST.replace("GY,0.5", "LG/B,0.5"));
    let found = served.post(&format!("{path}/found"), &[("finding", "colour"), ("value", "lg/b")]);
    assert_eq!(found.status, StatusCode::SEE_OTHER, "{}", found.text());
}
