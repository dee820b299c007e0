//! `sheets` of the whole job: schedule, fuse legends, shopping list, open questions, safety page and lid card, read back by pdftotext.

use std::collections::{BTreeMap, BTreeSet};

use crate::kit::table::{Row, rows};
use crate::kit::{JobFolder, program, text};

/// The lines of a sheet, page after page, with single spaces between words.
fn lines(folder: &JobFolder, sort: &str, more: &[&str]) -> Vec<String> {
    let arguments = ["sheets", "--only", sort, "--out", "sheet.pdf"];
    folder.done(&[&arguments[..], more].concat());
    let all = program("pdftotext", &["-layout", &folder.path().join("sheet.pdf").to_string_lossy(), "-"]);
    all.lines().map(|line| line.split_whitespace().collect::<Vec<_>>().join(" ")).collect()
}

/// Circuits of the example with their places, by nothing but the cells of its lists.
fn circuits_of_lists(folder: &JobFolder) -> BTreeMap<String, BTreeSet<String>> {
    let mut circuits: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let place = |connector: &str, cavity: &str| match cavity {
        "" => connector.to_owned(),
        _ => format!("{connector}/{cavity}"),
    };
    for name in folder.names().iter().filter(|name| name.ends_with(".csv") && *name != "connectors.csv") {
        let text = String::from_utf8(folder.bytes(name)).expect("UTF-8");
        let german = [(',', "."), (';', ","), ('\r', "")];
        let text = if name.starts_with("j2") {
            german.iter().fold(text, |text, (from, to)| text.replace(*from, to))
        } else {
            text
        };
        for row in rows(text.trim_start_matches('\u{feff}')) {
            let cell = |names: &[&str]| names.iter().find_map(|name| row.get(*name)).cloned().unwrap_or_default();
            let places: Vec<String> = if row.contains_key("from connector") {
                let end = |of: &str, row: &Row| place(&row[&format!("{of} connector")], &row[&format!("{of} cavity")]);
                vec![end("from", &row), end("to", &row)]
            } else {
                vec![place(&cell(&["connector", "Stecker"]), &cell(&["cavity", "Kammer"]))]
            };
            let circuit = cell(&["circuit", "wire no.", "Stromkreis"]);
            let circuit = if circuit.is_empty() { places[0].clone() } else { circuit };
            circuits.entry(circuit).or_default().extend(places);
        }
    }
    circuits
}

/// The schedule on paper has the circuits and the places of the lists, no more and no fewer, in every order.
#[test]
fn the_schedule_gives_the_lists_back() {
    let folder = JobFolder::example();
    let listed = circuits_of_lists(&folder);
    assert_eq!(listed.len(), 97);
    for by in ["circuit", "function", "connector"] {
        let mut told: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
        let mut circuit = String::new();
        let places: BTreeSet<&String> = listed.values().flatten().collect();
        for line in lines(&folder, "schedule", &["--sort", by]) {
            let mut words: Vec<&str> = line.split(' ').collect();
            if words.len() > 2 && words[0].len() == 4 && listed.contains_key(words[1]) {
                circuit = words[1].to_owned();
                told.entry(circuit.clone()).or_default();
                words.drain(..2);
            }
            // An end is a letter, or two, and a place.
            let is_letter = |word: &str| word.len() <= 2 && word.bytes().all(|byte| byte.is_ascii_uppercase());
            let end = words.windows(2).find(|pair| is_letter(pair[0]) && places.contains(&pair[1].to_owned()));
            if let Some(end) = end {
                told.entry(circuit.clone()).or_default().insert(end[1].to_owned());
            }
        }
        assert_eq!(told, listed, "by {by}");
    }
}

#[test]
fn a_fuse_legend_names_what_each_position_feeds() {
    let folder = JobFolder::example();
    let told = lines(&folder, "fuses", &[]);
    let has = |line: &str| told.iter().any(|told| told == line);
    let code = |id: &str| text(&folder.done(&["find", id, "--json"]).json()["found"][0]["record"]["code"]);
    assert!(has(&format!("12 15 A control unit constant feed C01 {} LIVE", code("C01"))), "{told:#?}");
    assert!(has(&format!("5 10 A ignition on C02 {} test", code("C02"))), "{told:#?}");
    for spare in [8, 11, 13, 15, 16] {
        assert!(has(&format!("{spare} spare: not in any list, look")), "{spare}: {told:#?}");
    }
    assert!(has(&format!("10 A bilge pump M10 {} LIVE", code("M10"))), "elsewhere: {told:#?}");
    // Of a named fuse box there is its card alone, and a smaller card has more faces.
    let told = lines(&folder, "fuses", &["--connector", "FB1", "--legend-size", "100x60"]);
    assert!(told.iter().any(|line| line.ends_with("FB1, 1 of 3")), "{told:#?}");
    assert!(!told.iter().any(|line| line.contains("bilge pump")), "{told:#?}");
    folder
        .run(&["sheets", "--legend-size", "30x20"])
        .ends_with(2)
        .says("a fuse legend of `30x20` mm is too small to be read");
    folder.run(&["sheets", "--legend-size", "large"]).ends_with(2).says("`--legend-size` cannot be `large`");
}

/// What `check` says is to buy stands on paper, line by line.
#[test]
fn the_shopping_list_is_that_of_check() {
    let folder = JobFolder::example();
    let told = lines(&folder, "shopping", &[]).join(" ");
    let told = told.split_whitespace().collect::<Vec<_>>().join(" ");
    let check = folder.done(&["check"]).out;
    let from = check.lines().skip_while(|line| !line.starts_with("to have at hand or to buy")).skip(1);
    let needs: Vec<&str> = from.take_while(|line| line.starts_with("  ")).collect();
    assert!(needs.len() > 5, "{check}");
    for need in needs {
        let need = need.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(told.contains(&need), "{need}\n{told}");
    }
}

#[test]
fn open_questions_follow_the_work() {
    let folder = JobFolder::example();
    let undecided = folder.done(&["check", "--json"]).json()["undecided"].as_u64().expect("a number");
    let told = lines(&folder, "questions", &[]);
    assert!(told.iter().any(|line| *line == format!("{undecided} ends nobody decided")), "{told:#?}");
    folder.done(&["blanks", "2"]);
    folder.done(&["note", "J1/14", "found", "colour", "GN"]);
    folder.done(&["note", "J1/15", "found", "damaged", "seal", "torn"]);
    let told = lines(&folder, "questions", &[]);
    for words in ["2 blanks not assigned", "1 finding of the bench", "seal torn", "GN"] {
        assert!(told.iter().any(|line| line.contains(words)), "{words}: {told:#?}");
    }
}

#[test]
fn safety_page_and_lid_card_speak_of_this_job() {
    let folder = JobFolder::example();
    let told = lines(&folder, "safety", &[]);
    for words in ["LOCAL CODES", "DO NOT OPEN: A96 (inverter)", "C40 belt tensioner +", "E70 battery positive"] {
        assert!(told.iter().any(|line| line.contains(words)), "{words}: {told:#?}");
    }
    let told = lines(&folder, "lid-card", &[]).join(" ");
    for words in ["97 circuits, 259 ends", "HTTP://MARSHHEN.LOCAL:7117/", "0 1 5 I L O S", "Who may be asked"] {
        assert!(told.contains(words), "{words}: {told}");
    }
}
