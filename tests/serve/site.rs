//! The pages as files: whole, linked, and the same facts.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::kit::{JobFolder, program};

/// The example with its codes and a note, and its pages.
fn written() -> (JobFolder, PathBuf) {
    let job = JobFolder::example();
    job.done(&["tags"]);
    job.done(&["note", "J1/14", "done", "tagged"]);
    let folder = job.path().join("records");
    job.done(&["site", &folder.to_string_lossy()]);
    (job, folder)
}

fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).expect("a folder") {
        let path = entry.expect("an entry").path();
        if path.is_dir() { found.extend(files(&path)) } else { found.push(path) }
    }
    found
}

/// What a browser asks for: entities and percent signs undone, without what stands behind `#`.
fn decoded(link: &str) -> String {
    let link = link.replace("&amp;", "&").replace("&quot;", "\"");
    let link = link.split('#').next().unwrap_or_default();
    let mut bytes = Vec::new();
    let mut rest = link.as_bytes();
    while let Some((&first, after)) = rest.split_first() {
        let digits = (first == b'%').then(|| std::str::from_utf8(&after[..2]).expect("digits"));
        match digits {
            Some(digits) => {
                bytes.push(u8::from_str_radix(digits, 16).expect("a byte"));
                rest = &after[2..];
            }
            None => {
                bytes.push(first);
                rest = after;
            }
        }
    }
    String::from_utf8(bytes).expect("UTF-8")
}

/// Every link and every file that a page loads lies in the folder, by a way that begins at the page.
fn check_links(folder: &Path) -> usize {
    let mut checked = 0;
    for file in files(folder).iter().filter(|file| file.extension().is_some_and(|ending| ending == "html")) {
        let page = fs::read_to_string(file).expect("reads");
        assert!(!page.contains("<form") && !page.contains("PIN"), "{file:?}");
        assert!(page.contains("Content-Security-Policy"), "{file:?}");
        for part in [" href=\"", " src=\""].iter().flat_map(|name| page.split(name).skip(1)) {
            let link = part.split('"').next().expect("it ends");
            if let Some(within) = link.strip_prefix('#') {
                assert!(page.contains(&format!("id=\"{within}\"")), "{file:?} {link}");
                continue;
            }
            assert!(!link.starts_with('/') && !link.contains("://"), "{file:?} {link}");
            let path = file.parent().expect("a folder").join(decoded(link));
            assert!(path.is_file(), "{file:?} {link}");
            assert!(path.canonicalize().expect("there").starts_with(folder.canonicalize().expect("there")));
            checked += 1;
        }
    }
    checked
}

#[test]
fn every_link_leads_to_a_file_of_the_folder() {
    let (_job, folder) = written();
    assert!(check_links(&folder) > 2_000);
}

#[test]
fn printed_links_are_answered_with_what_find_tells() {
    let (job, folder) = written();
    let mut checked = 0;
    for tag in job.tags("prints/run-0001").iter().filter(|tag| tag.connector().is_none()) {
        let (code, letter) = (tag.code(), tag.name().split(' ').nth(1).map(str::to_owned));
        let Some(letter) = letter.and_then(|letters| letters.split(['+', '-']).next().map(str::to_owned)) else {
            continue;
        };
        let page = folder.join(&code).join(&letter).join("index.html");
        let page = fs::read_to_string(&page).unwrap_or_else(|_| panic!("{code} {letter}"));
        let found = job.run(&["find", &code, &letter, "--json"]).json();
        let record = &found["found"][0]["record"];
        for end in record["ends"].as_array().expect("ends") {
            let here = end["here"].as_str().expect("a place");
            assert!(page.contains(here), "{code} {letter}: {here}");
        }
        checked += 1;
        if checked == 25 {
            break;
        }
    }
    assert_eq!(checked, 25);
}

#[test]
fn a_place_of_several_circuits_leads_to_all_of_them() {
    let job = JobFolder::empty();
    job.write("job.toml", "title = \"doubled\"\n");
    job.write("a.csv", "connector,cavity,circuit,function,colour\nJ1,1,W1,pump,RD\nJ1,1,W2,horn,BU\nJ2,1,W1,pump,RD\nJ2,2,W2,horn,BU\n");
    job.done(&["tags"]);
    let folder = job.path().join("records");
    job.done(&["site", &folder.to_string_lossy()]);
    check_links(&folder);
    let place = fs::read_to_string(folder.join("at/J1=2F=1/index.html")).expect("a page of the place");
    assert!(place.contains("pump") && place.contains("horn"), "{place}");
    for at in ["J2/1", "J2/2"] {
        let code =
            job.run(&["find", at, "--json"]).json()["found"][0]["record"]["code"].as_str().expect("a code").to_owned();
        let record = fs::read_to_string(folder.join(&code).join("index.html")).expect("a record");
        assert!(record.contains("/at/J1=2F=1/index.html"), "{record}");
        assert!(place.contains(&format!("/{code}/")), "{place}");
    }
}

#[test]
fn nothing_looks_like_a_link_that_leads_nowhere() {
    let (_job, folder) = written();
    for file in files(&folder).iter().filter(|file| file.extension().is_some_and(|ending| ending == "html")) {
        let page = fs::read_to_string(file).expect("reads");
        assert!(!page.contains("class=\"decide\""), "{file:?}");
    }
    let style = fs::read_to_string(folder.join("style.css")).expect("reads");
    assert!(style.contains(".still a:not([href], .tag) { color: inherit; text-decoration: none; }"));
}

#[test]
fn the_search_warns_as_find_does() {
    let (job, folder) = written();
    let script = "const fs = require('fs'), vm = require('vm'); \
        vm.runInThisContext(fs.readFileSync(process.argv[1], 'utf8') + '; globalThis.all = RECORDS; globalThis.show_ = show;'); \
        const made = () => ({ children: [], append(...all) { this.children.push(...all); }, replaceChildren() { this.children = []; } }); \
        globalThis.document = { createElement: made }; \
        const text = (one) => typeof one === 'string' ? one : (one.textContent || '') + one.children.map(text).join(''); \
        const told = all.map((record) => { const list = made(); show_(list, {}, record[0][0]); return [record[0][0], text(list)]; }); \
        console.log(JSON.stringify(told));";
    let answer = program("node", &["-e", script, &folder.join("search.js").to_string_lossy()]);
    let told: Vec<(String, String)> = serde_json::from_str(&answer).expect("pairs");
    let mut warned = 0;
    for (code, told) in &told {
        let found = job.run(&["find", code, "--json"]).json();
        for caution in found["found"][0]["record"]["cautions"].as_array().expect("cautions") {
            let caution = caution.as_str().expect("words");
            assert!(told.contains(&format!("⚠ {caution}")), "{code}: {caution} is missing in {told}");
            warned += 1;
        }
    }
    assert!(warned > 3, "the example has live circuits");
}

#[test]
fn the_search_finds_what_find_finds() {
    let (job, folder) = written();
    let asked = ["J1/14", "j1 14", "rail pressure", "glow plug", "J1/3", "bilge", "starter", "W1"];
    let tags = job.tags("prints/run-0001");
    let some_code = tags.iter().find(|tag| tag.connector().is_none()).expect("a tag of an end").code();
    for typed in asked.into_iter().chain([some_code.as_str(), &some_code.to_lowercase()]) {
        let script = "const fs = require('fs'), vm = require('vm'); \
            const asked = '; globalThis.answer = find(' + JSON.stringify(process.argv[2]) + ').map(([, at]) => RECORDS[at][0][0]);'; \
            vm.runInThisContext(fs.readFileSync(process.argv[1], 'utf8') + asked); \
            console.log(JSON.stringify(globalThis.answer));";
        let index = folder.join("search.js");
        let answer = program("node", &["-e", script, &index.to_string_lossy(), typed]);
        let by_script: BTreeSet<String> = serde_json::from_str(&answer).expect("a list");
        let found = job.run(&["find", typed, "--json"]).json();
        let records = found["found"].as_array().cloned().unwrap_or_default();
        let by_find: BTreeSet<String> =
            records.iter().filter_map(|found| Some(found["record"]["code"].as_str()?.to_owned())).collect();
        assert_eq!(by_script, by_find, "{typed}");
    }
}

#[test]
fn hostile_names_and_cells_stay_text_and_within_the_folder() {
    let job = JobFolder::empty();
    job.write("job.toml", "title = \"<b>hostile</b>\"\n");
    job.write(
        "a.csv",
        "connector,cavity,circuit,function\n../../etc,1,W1,<script>alert(1)</script>\n\"=\"\"/-still-/\"\"\",1,W2,\"=\"\"/-still-/x\"\"\"\n\
         CON,1,W3,</form><form>\nj1,1,W4,a\nJ1,1,W5,b\nx?y#z,1,W6,c\n",
    );
    job.done(&["tags"]);
    let folder = job.path().join("records");
    job.done(&["site", &folder.to_string_lossy()]);
    check_links(&folder);
    for file in files(&folder) {
        let text = String::from_utf8_lossy(&fs::read(&file).expect("reads")).into_owned();
        assert!(file.extension().is_some_and(|ending| ending == "js") || !text.contains("<script>alert"), "{file:?}");
        assert!(!text.contains("<b>hostile"), "{file:?}");
        let name = file.strip_prefix(&folder).expect("within").to_string_lossy().to_lowercase();
        assert!(!name.contains(['?', '#', ':', '"', '<', '>', '*']) && !name.contains(".."), "{name}");
    }
    let folded: Vec<String> = files(&folder).iter().map(|file| file.to_string_lossy().to_lowercase()).collect();
    assert_eq!(folded.iter().collect::<BTreeSet<_>>().len(), folded.len());
}

#[test]
fn a_folder_that_holds_something_else_is_left_alone() {
    let (job, folder) = written();
    fs::write(folder.join("old.html"), "old").expect("writes");
    job.done(&["site", &folder.to_string_lossy(), "--json"]);
    assert!(!folder.join("old.html").exists());
    fs::remove_file(folder.join("made-by-loomtag.txt")).expect("removes");
    fs::write(folder.join("mine.txt"), "mine").expect("writes");
    job.run(&["site", &folder.to_string_lossy()]).ends_with(2).says("holds something else").says("help: ");
    assert!(folder.join("mine.txt").is_file() && folder.join("index.html").is_file());
    job.run(&["site", &job.path().to_string_lossy()]).ends_with(2);
    assert!(job.path().join("job.toml").is_file());
}
