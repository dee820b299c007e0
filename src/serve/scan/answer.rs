//! What is told of the tags that were read, in the words of `run`: each in short, and which of several are one circuit.

use maud::{Markup, html};

use super::Asked;
use crate::proof::Search;
use crate::run::one_circuit;
use crate::run::recall::{Found, Near, Scanned, TEST_IT, Tag};
use crate::run::scanning::{IN_DOUBT, NO_SYMBOL, ReadTag, Together, together};
use crate::serve::address::{connector_link, find_link};
use crate::serve::desk::Desk;
use crate::serve::parts;
use crate::serve::screen::Screen;

/// A photograph or PDF that was looked at.
pub struct Look {
    /// Its name; empty where a text was typed.
    pub name: String,
    /// Its tags, or why it cannot be read.
    pub read: Result<Vec<ReadTag>, String>,
    /// Whether it was looked through to the end.
    pub search: Search,
}

impl Look {
    pub fn typed(tag: ReadTag) -> Self {
        Self { name: String::new(), read: Ok(vec![tag]), search: Search::Whole }
    }
}

/// Where more is told of a tag.
pub fn leads_to(desk: &Desk, tag: &ReadTag) -> Option<String> {
    match &tag.answer {
        Scanned::Known(found) => record_link(desk, tag, found),
        Scanned::Connector { connector, found, .. } if !found.is_empty() => Some(connector_link(desk, connector)),
        Scanned::Blank { code, .. } => Some(desk.link(&format!("/{code}"))),
        Scanned::Connector { .. } | Scanned::Unknown { .. } | Scanned::Nothing { .. } => None,
    }
}

/// What a tag is named by, with its letter where it has one.
fn named(tag: &ReadTag, found: &Found) -> Option<(String, Option<String>)> {
    match tag.named() {
        Some((code, letter)) => Some((code.to_string(), letter.map(|letter| letter.to_string()))),
        None => found.record.code.clone().map(|code| (code, None)),
    }
}

fn record_link(desk: &Desk, tag: &ReadTag, found: &Found) -> Option<String> {
    let (code, letter) = named(tag, found)?;
    Some(desk.link(&letter.map_or_else(|| format!("/{code}"), |letter| format!("/{code}/{letter}"))))
}

/// All that is told; `to` is where the script goes at once.
pub fn answer(screen: &Screen<'_>, held: Option<Tag>, looks: &[Look], to: Option<&str>) -> Markup {
    let recall = &screen.job.recall;
    let tags: Vec<ReadTag> = looks.iter().filter_map(|look| look.read.as_ref().ok()).flatten().cloned().collect();
    let Together { circuits, is_sure } = together(recall, &tags, held);
    let lines = one_circuit::in_words(&circuits);
    let is_held_again = held.is_some_and(|held| tags.iter().any(|tag| tag.sure() == Some(held)));
    html! {
        div.scanned data-tags=(tags.len()) data-go=[to] {
            @for line in &lines { p.same { (line) } }
            @if !is_sure && tags.len() + usize::from(held.is_some()) > 1 && tags.iter().any(|tag| tag.doubt().is_some()) {
                p.mind { (IN_DOUBT) }
            }
            @if is_held_again && lines.is_empty() { p.mind { "this is the tag that is held already: scan the other one" } }
            @for look in looks {
                @match &look.read {
                    Err(why) => p.alarm { @if !look.name.is_empty() { code { (look.name) } ": " } (parts::words(why)) },
                    Ok(tags) => {
                        @if look.search == Search::BrokenOff {
                            p.alarm { code { (look.name) } ": " (BROKEN_OFF) }
                        } @else if tags.is_empty() { p.mind { @if !look.name.is_empty() { code { (look.name) } ": " } (NO_SYMBOL) } }
                        @for tag in tags { (one(screen.desk, tag)) }
                    }
                }
            }
            @if tags.iter().any(|tag| leads_to(screen.desk, tag).is_some()) { p.soft { (TEST_IT) } }
        }
    }
}

/// What a job knows of one tag.
pub fn one(desk: &Desk, tag: &ReadTag) -> Markup {
    html! {
        article.card {
            @if let Some(doubt) = tag.doubt() { p.alarm { "DOUBT: " (parts::words(doubt)) } }
            @match &tag.answer {
                Scanned::Known(found) => (known(desk, tag, found)),
                Scanned::Connector { connector, found, .. } if found.is_empty() => {
                    p { "no list of this job names a connector " code { (connector) } }
                }
                Scanned::Connector { connector, found, .. } => {
                    @let ends: usize = found.iter().map(|found| found.ends.len()).sum();
                    p { "connector " (parts::connector(desk, connector)) ": " (ends) @if ends == 1 { " end" } @else { " ends" } }
                    p { a.button href=(connector_link(desk, connector)) { "Open the connector" } }
                }
                Scanned::Blank { code, told, .. } => {
                    p { (parts::tag(desk, code, None)) " " (told) }
                    p { a.button href=(desk.link(&format!("/{code}"))) { "Open the blank" } }
                }
                Scanned::Unknown { code, nearest } => {
                    p.mind { code { (code) } " was never issued in this job" }
                    (near(desk, nearest))
                }
                Scanned::Nothing { text, nearest } => {
                    p.mind { "this is no tag of ours" }
                    (near(desk, nearest))
                    p { a href=(find_link(desk, text)) { "look for these words in the job" } }
                }
            }
            p.soft.says { code { (tag.text) } @if tag.symbols > 1 { " · " (tag.symbols) " symbols" } }
        }
    }
}

/// A record in short: what it is, where the end that is meant leads, and what to mind.
fn known(desk: &Desk, tag: &ReadTag, found: &Found) -> Markup {
    let record = &found.record;
    let ends = if found.ends.is_empty() { (0..record.ends.len()).collect() } else { found.ends.clone() };
    let held = tag.named().map(|tag| Asked::with(Some(tag)));
    html! {
        h2 {
            @if let Some((code, letter)) = named(tag, found) { (parts::tag(desk, &code, letter.as_deref())) " " }
            (record.function.as_deref().unwrap_or_default())
            " " span.soft { (record.designations.join(", ")) }
        }
        @for caution in &record.cautions { p.alarm { (caution) } }
        @for stale in &record.stale { p.mind { (parts::words(stale)) } }
        @for end in ends.iter().filter_map(|&end| record.ends.get(end)).take(MOST_ENDS) {
            p {
                span.place { (end.here) } " → " span.place { (end.there.as_deref().unwrap_or("________")) }
                @if let Some(colour) = &end.colour { " " (parts::colour(colour)) }
                @if let Some(size) = &end.size { " " (size) }
                @for finding in &end.findings { " " span.mind { (finding) } }
            }
            @if let Some(caution) = &end.caution { p.alarm { (parts::words(caution)) } }
        }
        @if ends.len() > MOST_ENDS { p.soft { "and " (ends.len() - MOST_ENDS) " more ends" } }
        @if let Some(fuse) = &record.fuse { p { "fuse " (fuse) } }
        p.row {
            @if let Some(to) = record_link(desk, tag, found) { a.button href=(to) { "Open its record" } }
            @if let (Some(held), true) = (held, tag.is_sure()) {
                a.button.second href=(desk.link(&format!("/scan{held}"))) { "Compare with another tag" }
            }
        }
    }
}

/// Said of a photograph that took too long.
pub const BROKEN_OFF: &str = "it took too long and was not looked through to the end: send fewer at once, a smaller photograph, \
    or the part of it with the tag";

/// As many ends are told of a tag that names none.
const MOST_ENDS: usize = 6;

/// Codes that are like what was read.
pub fn near(desk: &Desk, nearest: &[Near]) -> Markup {
    html! {
        @if !nearest.is_empty() {
            p { "nearest of this job:" }
            ul.near { @for near in nearest { li { (parts::tag(desk, &near.code, None)) " " (near.what) } } }
        }
    }
}
