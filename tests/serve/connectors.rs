//! The page `connectors` and the page of each: its face is that of the bench sheets, and what is ticked is noted.

use std::collections::BTreeMap;

use axum::http::StatusCode;
use loomtag::base::{Cavity, ConnectorId, Length, Size};
use loomtag::circuits::View;
use loomtag::paperwork::face;
use loomtag::paperwork::work_list::{ToldList, WorkLists};
use loomtag::run::Held;
use loomtag::run::connectors::connector_summary;

use crate::kit::served::Served;
use crate::kit::{JobFolder, SMALL_LIST};

/// What stands between two words, each time.
fn all_between<'t>(text: &'t str, before: &str, after: &str) -> Vec<&'t str> {
    text.split(before).skip(1).filter_map(|rest| Some(rest.split_once(after)?.0)).collect()
}

fn unescaped(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// The example with its codes issued, and notes.
fn example() -> JobFolder {
    let job = JobFolder::example();
    job.done(&["tags"]);
    job.done(&["note", "J1/14", "done", "tagged"]);
    job
}

/// Names of cavities with where the drawing has them, left and right in hundredths of a millimetre; and where each leads.
fn cavities(page: &str) -> Vec<(String, Option<String>, (i64, i64))> {
    let Some((_, svg)) = page.split_once("<svg class=\"face\"") else { return Vec::new() };
    let svg = svg.split_once("</svg>").expect("it ends").0;
    let number = |part: &str| (part.parse::<f64>().expect("a number") * 100.0).round() as i64;
    let labelled = svg.split("<title>").skip(1).zip(svg.split("aria-label=\"").skip(2));
    let each = labelled.map(|(after, label)| {
        let name = unescaped(label.split_once('"').expect("it ends").0);
        let before = svg.split_once(after).expect("within").0;
        let opened = before.rsplit_once('<').map_or("", |(before, _)| before).rsplit_once('<').expect("a tag").1;
        let to = all_between(opened, "href=\"", "\"").first().map(|to| (*to).to_owned());
        let left = number(all_between(after, "<rect x=\"", "\"")[0]);
        let width = number(all_between(after, " width=\"", "\"")[0]);
        (name, to, (left, left + width))
    });
    each.collect()
}

#[test]
fn near_a_connector_is_told_what_the_whole_harness_tells() {
    let job = example();
    job.done(&["note", "J1/15", "found", "colour", "BU"]);
    let snapshot = Held::new(job.path()).snapshot().expect("reads");
    let harness = snapshot.harness();
    // Circuits have other numbers among those near it.
    let told = |lists: &WorkLists<'_, '_>, id: &ConnectorId| -> Option<ToldList> {
        let mut told = lists.told(id)?;
        for entry in told.groups.iter_mut().flat_map(|group| &mut group.entries) {
            entry.at.0 = 0;
            entry.on_one_tag.iter_mut().for_each(|at| at.0 = 0);
        }
        Some(told)
    };
    let (mut arrivals, mut proposals) = (0, 0);
    for summary in snapshot.connectors() {
        let near = snapshot.near(&summary.id);
        let near_harness = near.harness();
        let lists = WorkLists::new(&near_harness);
        assert_eq!(told(&lists, &summary.id), told(&WorkLists::new(&harness), &summary.id), "{}", summary.id);
        let own = lists.told(&summary.id);
        assert_eq!(connector_summary(&snapshot, &near_harness, own.as_ref(), &summary.id), *summary);
        let entries = || own.iter().flat_map(ToldList::entries);
        arrivals += entries().filter(|entry| entry.arrives).count();
        proposals += entries().filter(|entry| entry.remark.contains("REUSE")).count();
    }
    assert!(arrivals > 0 && proposals > 0, "{arrivals} arrive, {proposals} are proposed for another wire");
}

#[test]
fn every_cavity_is_there_once_and_leads_to_its_row_and_record() {
    let job = example();
    let served = Served::of(&job.path());
    let held = Held::new(job.path());
    let snapshot = held.snapshot().expect("reads");
    let harness = snapshot.harness();
    let lists = WorkLists::new(&harness);
    let listed = served.get("/connectors").text();
    let room = Size::new(Length::mm(4000.0), Length::mm(4000.0));
    let fonts = snapshot.reading.equipment.fonts();
    let mut drawn = 0;
    for (id, face) in face::faces(&harness) {
        let encoded: String = id.as_str().bytes().map(|byte| format!("%{byte:02X}")).collect();
        assert!(listed.contains(&format!(">{id}</a>")), "{id} is not listed");
        let mut seen: Vec<BTreeMap<String, (i64, i64)>> = Vec::new();
        for (view, query) in [(View::WireSide, ""), (View::MatingFace, "?view=mating")] {
            let came = served.get(&format!("/C/{encoded}{query}"));
            assert_eq!(came.status, StatusCode::OK, "{id}");
            let page = came.text();
            let cavities = cavities(&page);
            // The face of the bench sheets.
            let plan: Vec<Cavity> = match face::drawn(&face, view, room, fonts).is_empty() {
                true => Vec::new(),
                false => face.plan.spots(view).into_iter().filter_map(|spot| spot.cavity).collect(),
            };
            assert_eq!(cavities.len(), plan.len(), "{id}");
            drawn += plan.len();
            for ((name, to, _), cavity) in cavities.iter().zip(&plan) {
                let named = name.split(", ").next().expect("a part");
                assert_eq!(named, format!("cavity {cavity}"), "{id}");
                if let Some(aid) = face.plan.aid(cavity, view) {
                    assert!(name.ends_with(&aid), "{id} {name} {aid}");
                }
                let told = lists.told(&id);
                let entries = || told.iter().flat_map(|told| told.entries());
                let first = entries().position(|entry| entry.cavity.as_ref() == Some(cavity));
                assert_eq!(*to, first.map(|nth| format!("#row-{nth}")), "{id} {name}");
                let Some(nth) = first else { continue };
                let row = all_between(&page, &format!("id=\"row-{nth}\""), "</li>")[0];
                let entry = entries().nth(nth).expect("counted");
                let codes = &harness.issued.circuits[entry.at.0];
                let record = format!("href=\"/{}/{}\"", codes.code, codes.letters[entry.at.1]);
                assert!(row.contains(&record), "{id} {name}: {row}");
                assert!(name.contains(&entry.tag) && name.contains(&entry.words), "{name}");
            }
            seen.push(
                cavities
                    .into_iter()
                    .map(|(name, _, at)| (name.split(", ").next().unwrap_or_default().to_owned(), at))
                    .collect(),
            );
        }
        // The two views are true mirror images: whatever stands left in one stands as far right in the other.
        let apart = |name: &str| {
            let spots = face.plan.spots(View::WireSide);
            spots.iter().any(|spot| {
                spot.standing == face::Standing::Apart
                    && spot.cavity.as_ref().is_some_and(|c| format!("cavity {c}") == name)
            })
        };
        let sums: Vec<i64> = seen[0]
            .iter()
            .filter(|(name, _)| !apart(name))
            .filter_map(|(name, (left, _))| Some(left + seen[1].get(name)?.1))
            .collect();
        let (least, most) = (sums.iter().min().copied(), sums.iter().max().copied());
        assert!(least.zip(most).is_none_or(|(least, most)| most - least <= 4), "{id}: {sums:?}");
    }
    assert!(drawn > 500, "{drawn}");
}

#[test]
fn the_list_of_the_page_is_that_of_the_bench_sheet() {
    let job = example();
    let served = Served::of(&job.path());
    let snapshot = Held::new(job.path()).snapshot().expect("reads");
    let harness = snapshot.harness();
    let lists = WorkLists::new(&harness);
    for id in lists.connectors() {
        let encoded: String = id.as_str().bytes().map(|byte| format!("%{byte:02X}")).collect();
        let page = unescaped(&served.get(&format!("/C/{encoded}")).text());
        let told = lists.told(id).expect("it has a list");
        for words in told.cautions.iter().chain(&told.cavities) {
            assert!(page.contains(words.as_str()), "{id}: {words}");
        }
        for entry in told.entries() {
            for words in entry.cautions.iter().chain([&entry.words, &entry.remark, &entry.function]) {
                assert!(page.contains(words.as_str()), "{id}: {words}");
            }
        }
        assert!(page.matches("class=\"at-end").count() == told.entries().count(), "{id}");
    }
}

#[test]
fn a_step_is_ticked_and_taken_back() {
    let job = example();
    let mut served = Served::of(&job.path());
    let snapshot = Held::new(job.path()).snapshot().expect("reads");
    let harness = snapshot.harness();
    let id = loomtag::base::ConnectorId::from_cell("J1").expect("a name");
    let told = WorkLists::new(&harness).told(&id).expect("a list");
    let entry = told.entries().find(|entry| entry.words == "pull").expect("something is pulled at J1");
    let (tag, other) = (entry.tag.clone(), told.entries().filter(|entry| entry.words == "pull").nth(1).expect("two"));
    let button = format!("done pulled {tag}");
    assert_eq!(served.post("/C/J1/done", &[("tick", &button)]).status, StatusCode::UNAUTHORIZED);
    assert!(!served.get("/C/J1").text().contains(&button));
    served.unlock();
    assert!(served.get("/C/J1").text().contains(&format!("value=\"{button}\"")));
    let came = served.post("/C/j1/done?view=mating", &[("tick", &button), ("end", "nothing")]);
    assert_eq!(came.to.as_deref(), Some("/C/J1?view=mating"));
    let page = served.get("/C/J1").text();
    assert!(page.contains(&format!("value=\"undone pulled {tag}\"")) && page.contains("done pulled"), "{page}");
    let noted = job.done(&["note", "--list", "--json"]).json();
    assert_eq!(noted["notes"][1]["step"], "pulled");
    // Another phone sees it when it looks again.
    let other_phone = served.another();
    assert!(other_phone.get("/C/J1").text().contains("class=\"step ticked\""));
    served.post("/C/J1/done", &[("tick", &format!("undone pulled {tag}"))]);
    assert!(served.get("/C/J1").text().contains(&format!("value=\"{button}\"")));
    // The same for all that were chosen.
    served.post("/C/J1/done", &[("end", &tag), ("end", &other.tag), ("all", "pulled")]);
    let page = served.get("/C/J1").text();
    assert_eq!(page.matches("value=\"undone pulled ").count(), 2);
    let came = served.post("/C/J1/done", &[("end", "0000 A"), ("all", "pulled")]);
    assert_eq!(came.status, StatusCode::UNPROCESSABLE_ENTITY);
    assert_eq!(served.post("/C/J1/done", &[("all", "pulled")]).status, StatusCode::SEE_OTHER);
}

#[test]
fn a_connector_is_found_however_its_link_is_written() {
    let job = JobFolder::empty();
    job.write("a.csv", "connector,cavity,circuit\nJ1,1,W1\nj1,1,W2\nx/3 a,2,W3\nPump,1,W4\n");
    job.write("connectors.csv", "connector,kind\nJ9,plug\nS1,splice\nPump,plug\n");
    job.write("job.toml", "title = \"names\"\n");
    let served = Served::of(&job.path());
    for path in
        ["/C/J1", "/C/j1", "/C/x%2F3%20a", "/C/X%2F3%20A", "/C/PUMP", "/c/pump", "/C/J9", "/C/S1", "/C/J1?view=mating"]
    {
        assert_eq!(served.get(path).status, StatusCode::OK, "{path}");
    }
    assert!(served.get("/C/J1").text().contains("does not tell this one from"));
    assert!(served.get("/C/J9").text().contains("No wire ends here"));
    let came = served.get("/C/Pomp");
    assert_eq!(came.status, StatusCode::NOT_FOUND);
    assert!(came.text().contains("/C/Pump"));
    assert_eq!(served.get("/C/%3Cscript%3E").status, StatusCode::NOT_FOUND);
    let listed = served.get("/connectors?q=splice").text();
    assert!(listed.contains("/C/S1") && !listed.contains("/C/J9"));
}

#[test]
fn what_stops_stops_on_the_page_as_well() {
    let job = example();
    let served = Served::unlocked(&job.path());
    // The restraint unit of the example, and its inverter.
    let page = served.get("/C/A70").text();
    assert!(page.contains("RESTRAINT") && page.contains("never cut, probe or tap into"));
    assert!(!page.contains("value=\"done cut "));
    assert!(
        unescaped(&page).contains("wait as the maker's manual says; waits differ")
            && !page.contains("cut between the tags")
    );
    let page = served.get("/C/A96").text();
    assert!(page.contains("HIGH VOLTAGE"));
    assert!(page.contains("Stop: trained people only.") && !page.contains("cut between the tags"), "{page}");
    // Where some may be cut, what stops comes first.
    let page = served.get("/C/P7").text();
    let at = |text: &str| page.find(text).unwrap_or_else(|| panic!("{text} is missing"));
    assert!(at("Disarm them and wait") < at("cut between the tags"));
}

#[test]
fn only_what_is_to_do_is_shown_on_demand() {
    let job = example();
    let served = Served::unlocked(&job.path());
    let rows = |page: &str| page.matches("class=\"at-end").count();
    let (all, some) = (served.get("/C/J1").text(), served.get("/C/J1?todo=1").text());
    assert!(rows(&some) > 0 && rows(&some) < rows(&all), "{} of {}", rows(&some), rows(&all));
    // A cavity whose row is not shown leads to the whole page.
    assert!(some.contains("href=\"/C/J1#row-") && !all.contains("href=\"/C/J1#row-"));
    for shown in [&all, &some] {
        assert!(shown.contains("/print?purpose=work&amp;connector=J1") && shown.contains("/papers?connector=J1"));
        assert!(shown.contains("data-todo") && shown.contains("href=\"#face\""));
    }
    assert!(some.contains("action=\"/C/J1/done?todo=1\""));
    let came = served.post("/C/J1/done?todo=1", &[("tick", "nothing")]);
    assert_eq!(came.to.as_deref(), Some("/C/J1?todo=1"));
    assert!(all.contains("/circuits/edit?end="));
}

#[test]
fn a_step_for_all_goes_where_it_is_among_the_steps_and_is_undone_at_once() {
    let job = example();
    let served = Served::unlocked(&job.path());
    let snapshot = Held::new(job.path()).snapshot().expect("reads");
    let harness = snapshot.harness();
    let id = loomtag::base::ConnectorId::from_cell("J1").expect("a name");
    let told = WorkLists::new(&harness).told(&id).expect("a list");
    let name = |at: (usize, usize)| {
        let codes = &harness.issued.circuits[at.0];
        format!("{} {}", codes.code, codes.letters[at.1])
    };
    let has =
        |entry: &&loomtag::paperwork::work_list::Entry| entry.steps.iter().any(|(step, _)| step.word() == "pulled");
    let pulled = name(told.entries().find(has).expect("something is pulled").at);
    let kept = name(told.entries().find(|entry| !has(entry) && !entry.arrives).expect("something stays").at);
    let count = || job.done(&["note", "--list"]).out.matches("done pulled").count();
    let before = count();
    let came = served.post("/C/J1/done", &[("end", &pulled), ("end", &kept), ("all", "pulled")]);
    let to = came.to.clone().expect("it leads back");
    assert!(to.starts_with("/C/J1?noted="), "{to}");
    assert_eq!(count(), before + 1);
    let page = served.get(&to).text();
    let passed = page.split("passed over").nth(1).expect("it is told");
    assert!(passed.starts_with(&format!(", this is not among their steps: {kept} at J1/")), "{passed}");
    assert!(page.contains("Undo: take back the note"), "{page}");
    let range = to.split("noted=").nth(1).expect("a range");
    assert_eq!(served.post("/C/J1/done", &[("noted", range)]).to.as_deref(), Some("/C/J1"));
    assert!(!served.get(&to).text().contains("Undo: take back"));
    assert_eq!(served.post("/C/J1/done", &[("noted", range)]).status, StatusCode::UNPROCESSABLE_ENTITY);
    // Where nothing is left to write, nothing is.
    assert_eq!(served.post("/C/J1/done", &[("end", &kept), ("all", "pulled")]).to.as_deref(), Some("/C/J1"));
}

#[test]
fn codes_that_are_not_issued_stand_in_dashes_and_are_called_so() {
    let words = "Codes in dashes come with the print and may still change: write them on nothing.";
    // A final tag needs to know how thick the wire is: that of the horn cannot be made.
    let job = JobFolder::small();
    job.write("loom.csv", format!("{SMALL_LIST}J1,20,E90,horn,RD,,,,cut,,\n"));
    let served = Served::of(&job.path());
    for path in ["/C/J1", "/circuits", "/overview/tags"] {
        let page = served.get(path).text();
        assert!(page.contains(words) && page.contains("class=\"ahead\""), "{path}: {page}");
    }
    assert!(served.get("/C/J1").text().contains("<rect class=\"ahead\""));
    job.done(&["tags", "--all"]);
    for path in ["/C/J1", "/circuits"] {
        let page = served.get(path).text();
        assert!(!page.contains(words) && !page.contains("class=\"ahead\""), "{path}: {page}");
    }
}
