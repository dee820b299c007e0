//! The planning table: what it shows beside a count of the lists' own cells, what is decided and noted with it, and undone.

use std::collections::BTreeMap;
use std::time::Instant;

use axum::http::StatusCode;

use crate::kit::JobFolder;
use crate::kit::served::{Came, Served};
use crate::kit::table;

/// Four connectors, plain rows, every end in a list of its own words.
const LIST: &str = "\
connector,cavity,circuit,function,colour,size,supply,fuse,action,branch,note
J1,1,E65,glow plug supply,RD/BK,4.0,constant,F1 60 A,cut,engine,
J1,2,E70,engine ground,BK,2.5,ground,,keep,engine,
J1,10,E14,rail pressure signal,BU/WH,0.5,signal,,cut,engine,
J1,3,E80,spare,GY,0.5,,,,engine,
J2,3,E14,,BU/WH,0.5,signal,,keep,helm,
J2,5,E33,exhaust flap,RD/BU,1.0,signal,,remove,helm,long way round
J2,7,C40,belt tensioner,YE,0.5,restraint,,,helm,
J2,9,E81,,GY,0.5,,,,,
G2,,E70,,BK,2.5,ground,,keep,,
";

const JOB: &str = "title = \"Marsh Hen bench\"\n";

fn job() -> JobFolder {
    JobFolder::with(&[("job.toml", JOB), ("loom.csv", LIST)])
}

/// The rows of the table, each as the places and words of its cells, in their order.
fn rows(page: &str) -> Vec<String> {
    let rows = page.split("<tr class=\"end\">").skip(1);
    rows.map(|row| row.split("</tr>").next().unwrap_or_default().to_owned()).collect()
}

/// The place of each row.
fn places(page: &str) -> Vec<String> {
    let place = |row: &String| {
        let cell = row.split("data-head=\"here\">").nth(1).expect("a row has a place");
        text(cell.split("</td>").next().unwrap_or_default())
    };
    rows(page).iter().map(place).collect()
}

/// What a person reads of a piece of a page.
fn text(html: &str) -> String {
    let mut text = String::new();
    let mut is_tag = false;
    for character in html.chars() {
        match character {
            '<' => is_tag = true,
            '>' => is_tag = false,
            character if !is_tag => text.push(character),
            _ => {}
        }
    }
    text.trim().to_owned()
}

/// How the row of a place names its end in forms.
fn name(page: &str, place: &str) -> String {
    let at = places(page).iter().position(|found| found == place).unwrap_or_else(|| panic!("no row for {place}"));
    let row = &rows(page)[at];
    row.split("value=\"").nth(1).and_then(|rest| rest.split('"').next()).expect("a row has a box").to_owned()
}

/// The value of a hidden field.
fn hidden(page: &str, field: &str) -> String {
    let mark = format!("name=\"{field}\" value=\"");
    page.split(&mark).nth(1).and_then(|rest| rest.split('"').next()).unwrap_or_default().replace("&amp;", "&")
}

/// Sends the same again, saying that just what was asked is meant.
fn answer(served: &Served, asked: &Came, fields: &[(&str, &str)]) -> Came {
    assert_eq!(asked.status, StatusCode::CONFLICT, "{}", asked.text());
    let mark = hidden(&asked.text(), "asked");
    let sure = [("sure", "yes"), ("asked", mark.as_str())];
    served.post("/circuits/act", &[fields, &sure].concat())
}

/// The action of the end at a place, as its row tells it.
fn action(served: &Served, place: &str) -> String {
    let page = served.get("/circuits").text();
    let at = places(&page).iter().position(|found| found == place).expect("a row");
    let cell = rows(&page)[at].split("data-head=\"action\">").nth(1).expect("an action").to_owned();
    text(cell.split("</td>").next().unwrap_or_default())
}

#[test]
fn filters_match_a_count_of_the_cells() {
    let job = job();
    let served = Served::of(&job.path());
    let listed = table::rows(LIST);
    let place = |row: &table::Row| match row["cavity"].as_str() {
        "" => row["connector"].clone(),
        cavity => format!("{}/{cavity}", row["connector"]),
    };
    // A circuit's supply stands in one of its rows; every circuit of this list has it in all of them.
    let wanted = |matches: &dyn Fn(&table::Row) -> bool| -> Vec<String> {
        let mut places: Vec<String> = listed.iter().filter(|row| matches(row)).map(place).collect();
        places.sort();
        places
    };
    let shown = |query: &str| -> Vec<String> {
        let came = served.get(&format!("/circuits{query}"));
        assert_eq!(came.status, StatusCode::OK, "{query}");
        let mut places = places(&came.text());
        places.sort();
        places
    };
    assert_eq!(shown(""), wanted(&|_| true));
    for connector in ["J1", "J2", "G2"] {
        assert_eq!(shown(&format!("?connector={connector}")), wanted(&|row| row["connector"] == connector));
    }
    for branch in ["engine", "helm"] {
        assert_eq!(shown(&format!("?branch={branch}")), wanted(&|row| row["branch"] == branch));
    }
    for supply in ["constant", "ground", "signal", "restraint"] {
        assert_eq!(shown(&format!("?supply={supply}")), wanted(&|row| row["supply"] == supply));
    }
    assert_eq!(shown("?supply=unknown"), wanted(&|row| row["supply"].is_empty()));
    for decided in ["cut", "keep", "remove"] {
        assert_eq!(shown(&format!("?action={decided}")), wanted(&|row| row["action"] == decided));
    }
    let undecided = wanted(&|row| row["action"].is_empty());
    assert_eq!(shown("?action=undecided"), undecided);
    assert_eq!(shown("?left=cut"), wanted(&|row| row["action"] == "cut"));
    assert_eq!(shown("?left=pulled"), wanted(&|row| row["action"] == "remove"));
    let both = wanted(&|row| row["connector"] == "J2" && row["action"].is_empty());
    assert_eq!(shown("?connector=J2&action=undecided&q="), both);
    assert_eq!(shown("?q=exhaust"), wanted(&|row| row["function"].contains("exhaust")));
    assert_eq!(shown("?q=j1+10"), ["J1/10"]);
    assert_eq!(shown("?q=grey&connector=J1"), ["J1/3"]);
    assert_eq!(shown("?connector=J9"), Vec::<String>::new());
    assert_eq!(shown("?stale=1"), Vec::<String>::new());
    // The counts beside the choices are counts of what each would show.
    let page = served.get("/circuits").text();
    assert!(page.contains(&format!("undecided ({})", undecided.len())), "{page}");
    let page = served.get("/circuits?connector=J2").text();
    assert!(page.contains(&format!(">undecided ({})</option>", both.len())));
    assert!(page.contains(">J1 (4)</option>"));
    assert!(text(&served.get("/circuits?action=cutt").text()).contains("action cannot be cutt"));
}

#[test]
fn rows_are_sorted_as_asked() {
    let job = job();
    let served = Served::of(&job.path());
    let sorted = |order: &str| places(&served.get(&format!("/circuits?sort={order}")).text());
    assert_eq!(sorted("place"), ["G2", "J1/1", "J1/2", "J1/3", "J1/10", "J2/3", "J2/5", "J2/7", "J2/9"]);
    assert_eq!(sorted("circuit"), ["J2/7", "J1/10", "J2/3", "J2/5", "J1/1", "G2", "J1/2", "J1/3", "J2/9"]);
    assert_eq!(sorted("action")[..3], ["J1/3", "J2/7", "J2/9"]);
    assert_eq!(sorted("function")[..3], ["J2/7", "G2", "J1/2"]);
    assert_eq!(sorted("branch")[..4], ["J1/1", "J1/2", "J1/3", "J1/10"]);
    let page = served.get("/circuits?sort=code").text();
    let mut names: Vec<String> = places(&page).iter().map(|place| name(&page, place)).collect();
    let shown = names.clone();
    names.sort();
    assert_eq!(shown, names);
}

#[test]
fn many_are_decided_at_once_and_all_of_it_is_undone() {
    let job = job();
    let served = Served::unlocked(&job.path());
    let page = served.get("/circuits?action=undecided").text();
    let (seen, back) = (hidden(&page, "seen_all"), hidden(&page, "back"));
    let fields =
        [("which", "all"), ("seen_all", &*seen), ("back", &*back), ("do", "decide"), ("set", "keep"), ("note", "ask")];
    let came = served.post("/circuits/act", &fields);
    assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text());
    let to = came.to.expect("it leads back");
    assert!(to.starts_with("/circuits?action=undecided&act="), "{to}");
    for place in ["J1/3", "J2/7", "J2/9"] {
        assert!(action(&served, place).starts_with("keep"), "{place}");
    }
    // Who decided, and what the list says, stand beside it.
    assert!(
        action(&served, "J1/3").contains("by a decision of 2026-11-28; the list says nothing"),
        "{}",
        action(&served, "J1/3")
    );
    let decided = served.get("/circuits/decisions").text();
    assert_eq!(rows(&decided).len(), 6, "an action and a note of three ends");
    let csv = served.get("/circuits/decisions.csv").text();
    let first = csv.lines().nth(1).expect("a row");
    assert_eq!(first, "J1/3,E80,keep,ask,undecided,,loom.csv:5", "{csv}");
    assert_eq!(csv.replace("\r\n", "\n"), job.done(&["decide", "--csv"]).out, "page and command carry over the same");
    // The lists stay as they are.
    assert_eq!(job.bytes("loom.csv"), LIST.as_bytes());

    let page = served.get(&to).text();
    assert!(page.contains("take back all 6 decisions"), "{page}");
    let act = hidden(&page, "act");
    assert_eq!(served.post("/circuits/undo", &[("act", &*act), ("back", &*back)]).status, StatusCode::SEE_OTHER);
    // What was done is a line; one by one it stands behind it.
    let page = served.get("/circuits").text();
    let (_, told) = page.split_once("<div class=\"told\" role=\"status\">").expect("it is told");
    let (lines, others) = told.split_once("<details>").expect("the others are folded");
    assert_eq!(lines, "<p dir=\"auto\">taken back: 6 decisions</p>");
    assert!(others.starts_with("<summary>one by one ("), "{others}");
    for place in ["J1/3", "J2/7", "J2/9"] {
        assert_eq!(action(&served, place), "undecided", "{place}");
    }
    assert!(served.get("/circuits/decisions").text().contains("Nothing is decided otherwise"));
    // Once is enough.
    assert_eq!(served.post("/circuits/undo", &[("act", &*act)]).status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn danger_is_asked_about_first() {
    let job = job();
    let served = Served::unlocked(&job.path());
    let page = served.get("/circuits").text();
    let (tensioner, flap) = (name(&page, "J2/7"), name(&page, "J2/5"));
    let decide = |end: &str, set: &str, sure: &str| {
        served.post("/circuits/act", &[("end", end), ("do", "decide"), ("set", set), ("sure", sure)])
    };
    // Whoever has not seen what speaks against it is asked.
    assert_eq!(decide(&tensioner, "remove", "yes").status, StatusCode::CONFLICT);
    let asked = decide(&tensioner, "remove", "");
    assert_eq!(asked.status, StatusCode::CONFLICT);
    assert!(asked.text().contains("Is this meant?") && asked.text().contains("RESTRAINT"), "{}", asked.text());
    assert!(!asked.text().contains("`remove`") && asked.text().contains("Yes, decide <code"), "{}", asked.text());
    assert_eq!(action(&served, "J2/7"), "undecided");
    let fields = [("end", &*tensioner), ("do", "decide"), ("set", "remove")];
    assert_eq!(answer(&served, &asked, &fields).status, StatusCode::SEE_OTHER);
    assert!(action(&served, "J2/7").starts_with("remove"));
    // Harmless, and done at once.
    let page = served.get("/circuits").text();
    assert_ne!(name(&page, "J2/5"), flap, "codes were issued, and its place is not needed any more to know it");
    assert_eq!(decide(&flap, "keep", "").status, StatusCode::SEE_OTHER);
    assert!(action(&served, "J2/5").contains("the list says remove"));
    assert_eq!(decide(&flap, "list", "").status, StatusCode::SEE_OTHER);
    assert_eq!(action(&served, "J2/5"), "remove");
    assert_eq!(decide(&flap, "move", "").status, StatusCode::UNPROCESSABLE_ENTITY);
    let moved = served.post("/circuits/act", &[("end", &*flap), ("do", "decide"), ("set", "move"), ("to", "J1/12")]);
    assert_eq!(moved.status, StatusCode::SEE_OTHER);
    assert!(action(&served, "J2/5").starts_with("move to J1/12"));
}

#[test]
fn steps_are_marked_done_and_taken_back() {
    let job = job();
    let served = Served::unlocked(&job.path());
    let page = served.get("/circuits").text();
    let ahead = served.post("/circuits/act", &[("end", &*name(&page, "J2/5")), ("do", "print")]);
    assert_eq!(ahead.to.as_deref(), Some("/print?place=J2%2F5&this_end=1"), "a code that is not issued names nothing");
    assert!(served.get("/print?place=J2%2F5&this_end=1").text().contains("J2/5"));
    let early = served.post("/circuits/act", &[("end", &*name(&page, "J2/5")), ("do", "done"), ("step", "pulled")]);
    assert_eq!(early.status, StatusCode::UNPROCESSABLE_ENTITY, "a note belongs to a code");
    // What was ticked and typed stands there still.
    let end = name(&page, "J2/5");
    let long = "x".repeat(2001);
    for (back, remark) in [("?connector=J2", "long way round"), ("", &*long)] {
        let fields = [
            ("which", "ticked"),
            ("back", back),
            ("end", &*end),
            ("do", "done"),
            ("step", "pulled"),
            ("remark", remark),
        ];
        let came = served.post("/circuits/act", &fields);
        assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY);
        let again = came.text();
        assert!(again.contains(&format!("value=\"{end}\" checked")), "{again}");
        assert!(
            again.contains("value=\"pulled\" checked")
                && again.contains(&format!("name=\"remark\" value=\"{remark}\""))
        );
        assert_eq!(again.contains(">J1/1<"), back.is_empty(), "the table as it was narrowed");
    }
    job.done(&["tags"]);
    let page = served.get("/circuits").text();
    let fields = [
        ("end", &*name(&page, "J2/5")),
        ("end", &*name(&page, "J2/3")),
        ("do", "done"),
        ("step", "pulled"),
        ("step", "sealed"),
        ("back", "?connector=J2"),
    ];
    let came = served.post("/circuits/act", &fields);
    assert_eq!(came.to.as_deref(), Some("/circuits?connector=J2&noted=1-4"), "{}", came.text());
    let page = served.get("/circuits?connector=J2&noted=1-4").text();
    assert!(
        page.contains("noted: pulled, sealed at 2 ends") && text(&page).contains("the plan of J2/3 is keep"),
        "{page}"
    );
    assert!(page.contains("take back all 4 notes"));
    assert_eq!(places(&served.get("/circuits?left=pulled").text()), Vec::<String>::new());
    assert_eq!(served.post("/circuits/undo", &[("noted", "1-4")]).status, StatusCode::SEE_OTHER);
    assert_eq!(places(&served.get("/circuits?left=pulled").text()), ["J2/5"]);
    // Cutting what is live is asked about.
    let page = served.get("/circuits").text();
    let cut = served.post("/circuits/act", &[("end", &*name(&page, "J1/1")), ("do", "done"), ("step", "cut")]);
    assert!(cut.status == StatusCode::CONFLICT && cut.text().contains("Is this meant?"));
    let print = served.post("/circuits/act", &[("end", &*name(&page, "J1/1")), ("do", "print")]);
    let to = print.to.expect("it leads to the print page");
    assert_eq!(to, format!("/print?code={}&this_end=1", name(&page, "J1/1").replace('/', "%2F")));
}

#[test]
fn two_browsers_lose_nothing_of_each_other() {
    let job = job();
    let one = Served::unlocked(&job.path());
    let mut other = one.another();
    other.unlock();
    let page = one.get("/circuits").text();
    let decide = |served: &Served, place: &str, fields: &[(&str, &str)]| {
        let end = name(&page, place);
        let all: Vec<(&str, &str)> =
            [("end", &*end), ("do", "decide")].into_iter().chain(fields.iter().copied()).collect();
        assert_eq!(served.post("/circuits/act", &all).status, StatusCode::SEE_OTHER);
    };
    // Both opened the same end: one decides its action, the other its note; what was not changed is not decided again.
    let was = [("set_was", "keep"), ("note_was", "")];
    decide(&one, "J2/3", &[&was[..], &[("set", "reserve"), ("note", "")]].concat());
    decide(&other, "J2/3", &[&was[..], &[("set", "keep"), ("note", "for a horn")]].concat());
    decide(&other, "J2/9", &[("set", "remove")]);
    assert!(action(&one, "J2/3").starts_with("reserve"));
    assert!(action(&one, "J2/9").starts_with("remove"));
    assert!(one.get("/circuits?q=horn").text().contains("for a horn"));
    // What a filter matches is decided only as it was seen.
    let page = one.get("/circuits?action=undecided").text();
    decide(&other, "J1/3", &[("set", "keep")]);
    let seen = hidden(&page, "seen_all");
    let fields =
        [("which", "all"), ("seen_all", &*seen), ("back", "?action=undecided"), ("do", "decide"), ("set", "remove")];
    assert_eq!(one.post("/circuits/act", &fields).status, StatusCode::UNPROCESSABLE_ENTITY);
    assert!(action(&one, "J1/3").starts_with("keep"));
}

#[test]
fn hostile_cells_stay_text_and_writing_wants_the_pin() {
    let evil = "<script>alert(1)</script>\u{202e}\"'";
    let list = format!(
        "connector,cavity,circuit,function,branch,note,action\nJ1,1,\"{0}\",\"{0}\",\"{0}\",\"{0}\",keep\nJ1,2,=B2,=C3,,,\n",
        evil.replace('"', "\"\"")
    );
    let job = JobFolder::with(&[("job.toml", JOB), ("loom.csv", &*list)]);
    let served = Served::of(&job.path());
    for path in [
        "/circuits",
        "/circuits?q=%3Cscript%3E",
        "/circuits?branch=%3Cscript%3E&sort=circuit",
        "/circuits?connector=%22%3E%3Cb%3E",
    ] {
        let page = served.get(path).text();
        assert!(!page.contains("<script>alert") && !page.contains("\"><b>"), "{path}");
    }
    let page = served.get("/circuits").text();
    let end = name(&page, "J1/1");
    let locked = served.post("/circuits/act", &[("end", &*end), ("do", "decide"), ("set", "cut")]);
    assert_eq!(locked.status, StatusCode::UNAUTHORIZED);
    assert!(action(&served, "J1/1").starts_with("keep"));
    assert!(!page.contains("name=\"do\""), "no form is shown that could not be sent");
    let served = Served::unlocked(&job.path());
    for (end, status) in [("ZZZZ/A", 422), ("<b>", 422), ("", 422)] {
        let came = served.post("/circuits/act", &[("end", end), ("do", "decide"), ("set", "cut")]);
        assert_eq!(came.status.as_u16(), status, "{end}");
        assert!(!came.text().contains("<b>"));
    }
    assert_eq!(
        served.post("/circuits/act", &[("end", &*end), ("do", "decide"), ("note", evil)]).status,
        StatusCode::SEE_OTHER
    );
    let decide = served.post(
        "/circuits/act",
        &[("end", &*name(&served.get("/circuits").text(), "J1/2")), ("do", "decide"), ("note", "=1+1")],
    );
    assert_eq!(decide.status, StatusCode::SEE_OTHER);
    assert!(served.get("/circuits/decisions.csv").text().contains("'=1+1"));
    let edit = served
        .get(&format!("/circuits/edit?end={}", name(&served.get("/circuits").text(), "J1/1").replace('/', "%2F")));
    assert!(edit.status == StatusCode::OK && !edit.text().contains("<script>alert"));
    assert_eq!(served.get("/circuits/edit?end=nothing").status, StatusCode::NOT_FOUND);
}

#[test]
fn two_thousand_circuits_come_in_pages() {
    let mut list = "connector,cavity,circuit,function,colour,supply,action,branch\n".to_owned();
    let mut by_action: BTreeMap<&str, usize> = BTreeMap::new();
    for number in 0..2_000 {
        let action = ["cut", "keep", "remove", ""][number % 4];
        for (connector, end) in [("J", "cab"), ("X", "engine")] {
            let (connector, cavity) = (format!("{connector}{}", number / 40), number % 40 + 1);
            list.push_str(&format!("{connector},{cavity},W{number},function {number},BN,signal,{action},{end}\n"));
            *by_action.entry(action).or_default() += 1;
        }
    }
    let job = JobFolder::with(&[("job.toml", JOB), ("loom.csv", &*list)]);
    let served = Served::unlocked(&job.path());
    let first = served.get("/circuits").text();
    assert!(first.contains("1 to 200 of 4,000 ends in all") && first.contains("3,800 more"), "{first}");
    assert_eq!(rows(&first).len(), 200);
    assert_eq!(rows(&served.get("/circuits?page=20").text()).len(), 200);
    // A page behind the last one is the last one.
    for beyond in ["21", "18446744073709551615"] {
        let page = served.get(&format!("/circuits?page={beyond}")).text();
        assert!(page.contains(&format!("there is no page {beyond}")) && page.contains("3,801 to 4,000 of"), "{page}");
        assert_eq!(rows(&page).len(), 200);
    }
    let started = Instant::now();
    let page = served.get("/circuits?action=cut&branch=cab&sort=function").text();
    let took = started.elapsed();
    assert!(page.contains("1 to 200 of 500 ends match of 4,000"), "{took:?}");
    for (word, number) in [("cut", by_action["cut"]), ("undecided", by_action[""])] {
        assert!(served.get("/circuits").text().contains(&format!(">{word} (1,000)</option>")), "{word} {number}");
        assert_eq!(number, 1_000);
    }
    // All that match, over their pages, as one act.
    let page = served.get("/circuits?action=undecided").text();
    let (all, shown) = (hidden(&page, "seen_all"), hidden(&page, "seen_shown"));
    let fields = |which: &'static str, mark: &str| {
        let back = "?action=undecided";
        let fields = [
            ("which", which),
            ("seen_all", &*all),
            ("seen_shown", &*shown),
            ("back", back),
            ("do", "decide"),
            ("set", "reserve"),
            ("sure", "yes"),
            ("asked", mark),
        ];
        served.post("/circuits/act", &fields)
    };
    let asked = fields("all", "");
    assert!(asked.text().contains("it concerns 1,000 ends"), "{}", asked.text());
    assert!(fields("shown", "").text().contains("it concerns 200 ends"));
    let done = fields("all", &hidden(&asked.text(), "asked"));
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text());
    let page = served.get("/circuits?action=reserve").text();
    assert!(page.contains("1 to 200 of 1,000 ends"), "{page}");
    // Tags of so many are chosen otherwise.
    let seen = hidden(&page, "seen_all");
    let print = served
        .post("/circuits/act", &[("which", "all"), ("seen_all", &*seen), ("back", "?action=reserve"), ("do", "print")]);
    assert_eq!(print.status, StatusCode::UNPROCESSABLE_ENTITY);
}

#[test]
fn danger_of_steps_is_told_of_all_ends_the_gravest_first() {
    let mut list = "connector,cavity,circuit,function,colour,supply,action\n".to_owned();
    for number in 1..=40 {
        let supply = ["signal", "restraint", "constant", "high-voltage"][number % 4];
        list.push_str(&format!("J1,{number},W{number},function {number},BN,{supply},keep\n"));
    }
    let job = JobFolder::with(&[("job.toml", JOB), ("loom.csv", &*list)]);
    job.done(&["tags"]);
    let served = Served::unlocked(&job.path());
    let page = served.get("/circuits").text();
    let seen = hidden(&page, "seen_all");
    let fields = [("which", "all"), ("seen_all", &*seen), ("back", ""), ("do", "done"), ("step", "cut")];
    let asked = served.post("/circuits/act", &fields);
    let told = asked.text();
    let at = |words: &str| told.find(words).unwrap_or_else(|| panic!("{words}: {told}"));
    assert!(
        at("HIGH VOLTAGE: stop") < at("RESTRAINT: never cut") && at("RESTRAINT: never cut") < at("LIVE WITH BATTERY")
    );
    for number in (1..=40).filter(|number| number % 4 != 0) {
        assert!(told.contains(&format!("at J1/{number}, function {number},")), "{number}: {told}");
    }
    assert!(!job.done(&["note", "--list"]).out.contains("done cut"), "nothing is written before it is meant");
    let done = answer(&served, &asked, &fields);
    assert_eq!(done.status, StatusCode::SEE_OTHER, "{}", done.text());
    let told = text(&served.get("/circuits?q=nothing").text());
    let at = |words: &str| told.find(words).unwrap_or_else(|| panic!("{words}: {told}"));
    assert!(
        at("HIGH VOLTAGE: stop") < at("RESTRAINT: never cut") && at("RESTRAINT: never cut") < at("the plan of J1/")
    );
    for number in (1..=40).filter(|number| number % 2 == 1) {
        assert!(told.contains(&format!("at J1/{number}, function {number},")), "{number}: {told}");
    }
    assert_eq!(job.done(&["note", "--list"]).out.matches("done cut").count(), 40, "the bench is right");
}

#[test]
fn taking_back_tells_what_holds_by_now() {
    let job = job();
    let served = Served::unlocked(&job.path());
    for set in ["keep", "reserve"] {
        let end = name(&served.get("/circuits").text(), "J2/5");
        let came = served.post("/circuits/act", &[("end", &*end), ("do", "decide"), ("set", set)]);
        assert_eq!(came.status, StatusCode::SEE_OTHER, "{}", came.text());
    }
    for (number, holds) in [
        ("2", "now J2/5: `keep`, by a decision of 2026-11-28; the list says remove"),
        ("1", "now J2/5: `remove`, as the list says"),
    ] {
        served.post("/circuits/undo", &[("decision", number), ("from", "decisions")]);
        let page = text(&served.get("/circuits/decisions").text());
        let plain = holds.replace('`', "");
        assert!(page.contains(holds) || page.contains(&plain), "{page}");
    }
}

#[test]
fn nothing_is_to_do_where_the_wire_stops_the_work() {
    let list = "connector,cavity,circuit,function,supply,action\n\
        M1,7,L7,inverter feed,high-voltage,cut\nM1,8,L8,wash-down pump,switched,cut\n";
    let job = JobFolder::with(&[("job.toml", "title = \"Marsh Hen bench\"\n"), ("loom.csv", list)]);
    let served = Served::of(&job.path());
    let to_cut = served.get("/circuits?left=cut").text();
    assert!(to_cut.contains("wash-down pump") && !to_cut.contains("inverter feed"), "{to_cut}");
    assert!(served.get("/circuits?action=cut").text().contains("inverter feed"));
}
