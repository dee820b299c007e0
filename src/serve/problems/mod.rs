//! The problems of settings, lists and register, each at its row, and the rows themselves.
//!
//! - `explained`: what a kind of problem is about, from PROBLEMS.md
//! - `row`: a row as it stands in its list, alone or with its neighbours

mod explained;
mod row;

use std::collections::{BTreeMap, HashMap, HashSet};

use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;

use super::access::Visitor;
use super::address::{query, row_link};
use super::desk::Desk;
use super::parts::{place_in_list, remedy as remedy_of, severity, spoken_of, words};
use super::screen::{Screen, Tab};
use crate::base::{Problem, Severity, counted};
use crate::run::open_questions::is_question;
use crate::run::rows::{ListLine, origins};
use crate::run::{Snapshot, must_be_seen};
use row::Rows;

pub fn routes() -> Router<Desk> {
    Router::new().route("/problems", get(page)).route("/rows", get(row::page))
}

/// So many of one kind in one file are shown; the others are counted, and shown when that kind is asked for.
const SHOWN: usize = 8;
/// So many of one kind that is asked for stand on a page.
const PAGE: usize = 100;
/// So many stand with a row that is shown alone.
const OF_ROW: usize = 20;
/// So many of the places that belong to a problem are shown with it.
const RELATED: usize = 3;

/// What is asked for; what is left blank narrows nothing.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    /// A file, by its name.
    file: String,
    /// A kind, by its id.
    kind: String,
    /// `errors`, `warnings`, `seen`, `questions`.
    which: String,
    /// A row, as messages name it.
    row: String,
    /// How many of the kind were shown on pages before.
    from: String,
}

/// The words by which problems are narrowed, beside file and kind.
const WHICH: [(&str, &str); 5] = [
    ("", "all"),
    ("errors", "errors"),
    ("warnings", "warnings"),
    ("seen", "to be seen before tags are printed"),
    ("questions", "open questions"),
];

impl Asked {
    fn wants(&self, problem: &Problem, line: Option<&ListLine<'_>>) -> bool {
        let is_which = match self.which.as_str() {
            "errors" => problem.severity == Severity::Error,
            "warnings" => problem.severity == Severity::Warning,
            "seen" => problem.severity == Severity::Error || must_be_seen(problem),
            "questions" => is_question(problem),
            _ => true,
        };
        let is_file = self.file.is_empty() || file_of(problem) == self.file;
        let is_row = match line {
            Some(line) => origins(problem).any(|origin| {
                let here = (origin.file(), origin.sheet(), origin.line());
                here == (line.source.name(), line.source.sheet_name(), Some(line.line))
            }),
            None => self.row.is_empty(),
        };
        is_which && is_file && is_row && (self.kind.is_empty() || problem.id == self.kind)
    }

    /// The address of this page with some of it another.
    fn link(&self, desk: &Desk, change: impl FnOnce(&mut Self)) -> String {
        let mut asked = Self { from: String::new(), ..self.clone() };
        change(&mut asked);
        let all = [
            ("which", asked.which),
            ("kind", asked.kind),
            ("file", asked.file),
            ("row", asked.row),
            ("from", asked.from),
        ];
        let given = all.iter().filter(|(_, value)| !value.is_empty());
        let query = query(given.map(|(name, value)| (*name, value.as_str())));
        let query = if query.is_empty() { query } else { format!("?{query}") };
        desk.link(&format!("/problems{query}"))
    }
}

fn file_of(problem: &Problem) -> &str {
    problem.origin.as_ref().map_or("", |origin| origin.file())
}

async fn page(State(desk): State<Desk>, visitor: Visitor, Query(asked): Query<Asked>) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        Ok(screen.show(Tab::Problems, "Problems", problems(desk, job, &asked)))
    })
    .await
}

fn problems(desk: &Desk, job: &Snapshot, asked: &Asked) -> Markup {
    let line = job.line_named(&asked.row);
    let is_unknown_row = !asked.row.is_empty() && line.is_none();
    let found: Vec<&Problem> = match is_unknown_row {
        true => Vec::new(),
        false => job.problems().filter(|problem| asked.wants(problem, line.as_ref())).collect(),
    };
    let all: Vec<&Problem> = job.problems().collect();
    html! {
        h1 { "Problems" }
        (summary(desk, &all, asked))
        @if !all.is_empty() { (filter(desk, &all, asked)) }
        @if !asked.row.is_empty() {
            p { "Of the row " a href=(row_link(desk, &asked.row)) { code dir="auto" { (asked.row) } }
                " alone; " a href=(asked.link(desk, |asked| asked.row.clear())) { "of all rows" } "." }
        }
        @if all.is_empty() {
            p.good { "Settings, lists and register agree: nothing is to be put right." }
        } @else if found.is_empty() {
            p { "No problem is of that sort." }
        }
        (by_file(desk, job, &found, asked))
    }
}

/// `3 errors, 14 warnings`, each leading to its own.
fn summary(desk: &Desk, all: &[&Problem], asked: &Asked) -> Markup {
    let errors = all.iter().filter(|problem| problem.severity == Severity::Error).count();
    let warnings = all.len() - errors;
    let only = |which: &'static str| {
        asked.link(desk, move |asked| *asked = Asked { which: which.to_owned(), ..Asked::default() })
    };
    html! {
        p.counts {
            @if errors > 0 {
                a href=(only("errors")) { (counted(errors, "error")) } " that keep tags from being printed"
                @if warnings > 0 { ", " }
            }
            @if warnings > 0 { a href=(only("warnings")) { (counted(warnings, "warning")) } }
        }
    }
}

fn filter(desk: &Desk, all: &[&Problem], asked: &Asked) -> Markup {
    let mut kinds: BTreeMap<(Severity, &str), usize> = BTreeMap::new();
    let mut files: Vec<(&str, usize)> = Vec::new();
    for problem in all {
        *kinds.entry((problem.severity, problem.id)).or_default() += 1;
        match files.iter_mut().find(|(file, _)| *file == file_of(problem)) {
            Some((_, count)) => *count += 1,
            None => files.push((file_of(problem), 1)),
        }
    }
    html! {
        form.row.filter action=(desk.link("/problems")) data-swap="#main" {
            div.stack {
                label for="which" { "Which" }
                select #which name="which" {
                    @for (word, name) in WHICH { option value=(word) selected[asked.which == word] { (name) } }
                }
            }
            div.stack {
                label for="kind" { "Kind" }
                select #kind name="kind" {
                    option value="" { "all kinds" }
                    @for ((severe, id), count) in &kinds {
                        option value=(id) selected[asked.kind == *id] { (id) " (" (count) " " (severity(*severe)) @if *count > 1 { "s" } ")" }
                    }
                }
            }
            div.stack {
                label for="file" { "File" }
                select #file name="file" {
                    option value="" { "all files" }
                    @for (file, count) in files.iter().filter(|(file, _)| !file.is_empty()) {
                        option value=(file) selected[asked.file == *file] { (file) " (" (count) ")" }
                    }
                }
            }
            button.second type="submit" { "Show" }
        }
    }
}

/// Problems under the files that they are of, in the order of the rows.
fn by_file(desk: &Desk, job: &Snapshot, found: &[&Problem], asked: &Asked) -> Markup {
    let mut files: Vec<(&str, Vec<&Problem>)> = Vec::new();
    for &problem in found {
        match files.iter_mut().find(|(file, _)| *file == file_of(problem)) {
            Some((_, problems)) => problems.push(problem),
            None => files.push((file_of(problem), vec![problem])),
        }
    }
    for (_, problems) in &mut files {
        problems.sort_by_key(|problem| {
            let origin = problem.origin.as_ref();
            origin.map(|origin| (origin.sheet().map(str::to_owned), origin.line(), origin.column()))
        });
    }
    let mut rows = Rows::of(job);
    let mut explained: HashSet<&str> = HashSet::new();
    html! {
        @for (file, problems) in &files {
            section {
                h2 { @if file.is_empty() { "The job as a whole" } @else { bdi { (file) } } " " span.soft { (problems.len()) } }
                (of_file(desk, file, problems, asked, &mut rows, &mut explained))
            }
        }
    }
}

fn of_file<'j>(
    desk: &Desk,
    file: &str,
    problems: &[&'j Problem],
    asked: &Asked,
    rows: &mut Rows<'j>,
    explained: &mut HashSet<&'static str>,
) -> Markup {
    let is_one_kind = !asked.kind.is_empty() || !asked.row.is_empty();
    let (first, most): (usize, usize) = match is_one_kind {
        true => (asked.from.parse().unwrap_or(0), PAGE),
        false => (0, SHOWN),
    };
    // What is typed into the address may be any number.
    let behind = first.saturating_add(most);
    let mut seen: HashMap<&str, usize> = HashMap::new();
    let mut shown = Vec::new();
    for problem in problems {
        let count = seen.entry(problem.id).or_default();
        if (first..behind).contains(count) {
            shown.push(*problem);
        }
        *count += 1;
    }
    let mut more: Vec<(&str, usize)> = seen.into_iter().filter(|(_, count)| *count > behind).collect();
    more.sort_unstable();
    html! {
        @for problem in shown { (card(desk, problem, rows, explained)) }
        @for (id, count) in more {
            @let from = if is_one_kind { behind } else { 0 };
            p { a.button.second href=(asked.link(desk, |asked| {
                (asked.kind, asked.file) = (id.to_owned(), file.to_owned());
                asked.from = if from > 0 { from.to_string() } else { String::new() };
            })) {
                @if is_one_kind { "the next of " (count) } @else { "all " (count) } " " code { (id) } @if !file.is_empty() { " in " bdi { (file) } }
            } }
        }
    }
}

/// A problem with its row, its other places, the remedy, and, of the first of its kind, what that is about.
fn card<'j>(desk: &Desk, problem: &'j Problem, rows: &mut Rows<'j>, explained: &mut HashSet<&'static str>) -> Markup {
    let word = severity(problem.severity);
    html! {
        article.problem.(word) {
            p { strong { (word) } " " (words(&problem.message)) }
            @if let Some(origin) = &problem.origin {
                p.where { (place_in_list(desk, origin)) }
                (rows.show(origin))
            }
            @for related in problem.related.iter().take(RELATED) {
                p.where { (words(&related.note)) ": " (place_in_list(desk, &related.origin)) }
                (rows.show(&related.origin))
            }
            @if problem.related.len() > RELATED {
                details {
                    summary { "and " (counted(problem.related.len() - RELATED, "more place")) }
                    ul { @for related in problem.related.iter().skip(RELATED).take(PAGE) {
                        li { (words(&related.note)) ": " (place_in_list(desk, &related.origin)) }
                    } }
                    @if problem.related.len() > RELATED + PAGE { p { "and " (problem.related.len() - RELATED - PAGE) " others" } }
                }
            }
            (spoken_of(desk, rows.job(), problem))
            @if let Some(remedy) = &problem.remedy { p.remedy { (remedy_of(Some(desk), remedy)) } }
            @if explained.insert(problem.id) { (explained::details(problem.id)) } @else { p.soft { code { (problem.id) } } }
        }
    }
}
