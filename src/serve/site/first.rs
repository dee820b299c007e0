//! The first page with its search, and the list of all codes for whoever has no script.

use std::collections::BTreeSet;

use maud::{Markup, html};
use serde_json::{Value, json};

use super::issued_codes;
use super::paths::Paths;
use crate::run::Snapshot;
use crate::run::recall::{Record, moment};
use crate::serve::address::connector_path;
use crate::serve::parts;
use crate::serve::screen::{Screen, Tab};

/// What searches; before it stands what is searched.
const SEARCH: &str = include_str!("search.js");

/// The first page.
pub fn page(screen: &Screen<'_>) -> Markup {
    let job = screen.job;
    let circuits = job.reading.circuits.all();
    let ends: usize = circuits.iter().map(|circuit| circuit.ends().len()).sum();
    let body = html! {
        h1 { (job.reading.job.title()) }
        p.mind {
            "Wiring records as of " (moment(screen.desk.now())) ": " (circuits.len()) " circuits, " (ends) " ends. The register may know \
            more by now."
        }
        h2 { "Find" }
        div #search { p { "The search needs a script. Without it: " a href=(screen.desk.link("/codes")) { "all codes" } ", or the connectors." } }
        p { a href=(screen.desk.link("/codes")) { "All codes" } }
        h2 { "Connectors" }
        ul.names {
            @for one in job.connectors() {
                li { (parts::connector(screen.desk, one.id.as_str())) " " span.soft { (one.short_name.as_deref().unwrap_or_default()) } }
            }
        }
        script src="search.js" {}
    };
    screen.show(Tab::Overview, "Records", body)
}

/// Every code, and what it is.
pub fn codes(screen: &Screen<'_>) -> Markup {
    let issued = issued_codes(screen.job);
    let mut listed = BTreeSet::new();
    let records: Vec<&Record> = screen.job.recall.all_words().map(|(record, _)| record).collect();
    let row = |code: &str, what: String| {
        html! { li { (parts::tag(screen.desk, code, None)) " " (what) } }
    };
    let body = html! {
        h1 { "All codes" }
        @if issued.is_empty() { p { "No code is issued yet." } }
        ul.names {
            @for record in &records {
                @for code in record.code.iter().chain(&record.also) {
                    @if issued.contains(code) && listed.insert(code.clone()) { (row(code, what(record))) }
                }
            }
            @for code in issued.difference(&listed) { (row(code, "a blank tag".to_owned())) }
        }
    };
    screen.show(Tab::Other, "All codes", body)
}

/// Designations and function.
fn what(record: &Record) -> String {
    let names = record.designations.join(", ");
    [Some(names), record.function.clone()].into_iter().flatten().collect::<Vec<_>>().join(" · ")
}

/// The script of the search, what is searched before it: of each record its codes, words to show, what to mind, and of each end its letter,
/// its place and the words that it is found by.
pub fn script(job: &Snapshot, paths: &Paths) -> String {
    let record = |(record, words): (&Record, Vec<String>)| -> Option<Value> {
        let codes: Vec<&String> = record.code.iter().chain(&record.also).collect();
        let code = record.code.as_ref()?;
        paths.file(&format!("/{code}"))?;
        let end = |(end, words): (&crate::run::recall::EndRecord, &String)| {
            let letter = end.letter.as_ref().filter(|letter| paths.file(&format!("/{code}/{letter}")).is_some());
            json!([letter, end.here, end.colour, words])
        };
        let ends: Vec<Value> = record.ends.iter().zip(&words).map(end).collect();
        let names: Vec<&String> = record.designations.iter().chain(&record.former).collect();
        Some(json!([codes, names, record.function, ends, record.cautions]))
    };
    let records: Vec<Value> = job.recall.all_words().filter_map(record).collect();
    let connectors: Vec<Value> = job
        .connectors()
        .iter()
        .filter_map(|one| {
            let file = paths.file(&connector_path(one.id.as_str()))?;
            Some(json!([one.id.as_str(), one.short_name, file]))
        })
        .collect();
    format!("\"use strict\";\nconst RECORDS = {};\nconst CONNECTORS = {};\n{SEARCH}", json!(records), json!(connectors))
}
