//! Rows as they stand in the user's own lists: one beside a problem, or one with its neighbours on a page of its own. Read only.

use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::sync::Arc;

use axum::extract::{Query, State};
use axum::response::Response;
use maud::{Markup, html};
use serde::Deserialize;

use super::{Asked, OF_ROW, card};
use crate::base::{Origin, Problem, Source, counted};
use crate::circuits::as_listed::{AsListed, ListedCell};
use crate::run::Snapshot;
use crate::run::job::JOB_FILE;
use crate::run::rows::{ListLine, origins};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::parts::{cut, excerpt, tag};
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// Characters of a cell that are shown.
const LONGEST: usize = 200;
/// Rows shown before the one that is meant, and behind it.
const BEFORE: usize = 3;
const BEHIND: usize = 5;

/// Lists cut into cells, each once for a page.
pub struct Rows<'j> {
    job: &'j Snapshot,
    lists: HashMap<*const Source, Option<AsListed<'j>>>,
}

impl<'j> Rows<'j> {
    /// Of a job.
    pub fn of(job: &'j Snapshot) -> Self {
        Self { job, lists: HashMap::new() }
    }

    /// The job that has them.
    pub fn job(&self) -> &'j Snapshot {
        self.job
    }

    fn list(&mut self, source: &'j Arc<Source>) -> Option<&AsListed<'j>> {
        // job.toml and templates are no lists.
        let is_list = !source.name().ends_with(".toml");
        let cut = || is_list.then(|| self.job.as_listed(source)).flatten();
        self.lists.entry(Arc::as_ptr(source)).or_insert_with(cut).as_ref()
    }

    /// The row of a place as a small table below its headers, the place marked; of a file that is no list, its line.
    pub fn show(&mut self, origin: &'j Origin) -> Markup {
        let span = origin.span();
        let row = self.list(origin.source()).and_then(|list| Some((list, list.row_of(origin)?, span?)));
        match row {
            Some((list, row, span)) => alone(list, row, &span),
            None => excerpt(origin),
        }
    }
}

/// A row without its blank cells, unless they are meant.
fn alone(list: &AsListed<'_>, row: usize, marked: &Range<usize>) -> Markup {
    let cells = list.cells(row);
    let shown: Vec<(usize, &ListedCell<'_>)> =
        cells.iter().enumerate().filter(|(_, cell)| !cell.text.trim().is_empty() || is_marked(cell, marked)).collect();
    let has_headers = list.header_row().is_some_and(|header| header < row);
    html! {
        div.scroll tabindex="0" role="region" aria-label={ "row " (list.line(row).unwrap_or_default()) } {
            table.cells {
                @if has_headers { thead { tr { th scope="col" { "row" } @for (column, _) in &shown {
                    th scope="col" dir="auto" { (cut(list.header(*column), LONGEST)) }
                } } } }
                tbody { tr {
                    th scope="row" { (list.line(row).unwrap_or_default()) }
                    @for (_, cell) in &shown { @if is_marked(cell, marked) { (marked_cell(cell)) } @else { (plain_cell(cell)) } }
                } }
            }
        }
    }
}

/// Whether a cell is among those that a place covers; a blank cell is when the place stands in it.
fn is_marked(cell: &ListedCell<'_>, marked: &Range<usize>) -> bool {
    cell.span.start <= marked.end && marked.start <= cell.span.end
}

fn plain_cell(cell: &ListedCell<'_>) -> Markup {
    html! { td dir="auto" { (cut(&cell.text, LONGEST)) } }
}

fn marked_cell(cell: &ListedCell<'_>) -> Markup {
    html! { td dir="auto" { mark { @if cell.text.is_empty() { "(blank)" } @else { (cut(&cell.text, LONGEST)) } } } }
}

#[derive(Deserialize)]
pub struct At {
    #[serde(default)]
    at: String,
}

/// A row with its neighbours, what is the matter with it, and what was read from it.
pub async fn page(State(desk): State<Desk>, visitor: Visitor, Query(At { at }): Query<At>) -> Response {
    desk.look(move |desk, job| {
        let line = job.line_named(&at);
        let line = line.ok_or_else(|| Trouble::NotFound(format!("no list of this job has a row `{at}`")))?;
        let screen = Screen { desk, job, visitor: &visitor };
        let name = line_words(&line);
        let body = html! {
            h1 { bdi { (name) } }
            (neighbours(job, &line))
            (read_from(desk, job, &line))
            (problems_of(desk, job, &line, &at))
        };
        Ok(screen.show(Tab::Other, &name, body))
    })
    .await
}

fn line_words(line: &ListLine<'_>) -> String {
    let sheet = line.source.sheet_name().map(|sheet| format!(", {sheet}")).unwrap_or_default();
    let word = if line.source.name() == JOB_FILE { "line" } else { "row" };
    format!("{}{sheet}, {word} {}", line.source.name(), line.line)
}

fn neighbours(job: &Snapshot, line: &ListLine<'_>) -> Markup {
    let list = if line.source.name().ends_with(".toml") { None } else { job.as_listed(line.source) };
    let Some((list, row)) = list.and_then(|list| list.row_in_line(line.line).map(|row| (list, row))) else {
        return lines(line);
    };
    let first = row.saturating_sub(BEFORE);
    let rows: Vec<(usize, Vec<ListedCell<'_>>)> =
        (first..(row + BEHIND + 1).min(list.len())).map(|row| (row, list.cells(row))).collect();
    let width = rows.iter().map(|(_, cells)| cells.len()).max().unwrap_or(0);
    html! {
        div.scroll tabindex="0" role="region" aria-label={ "rows round " (line.line) } {
            table.cells {
                @if list.header_row().is_some() { thead { tr {
                    th scope="col" { "row" }
                    @for column in 0..width { th scope="col" dir="auto" { (cut(list.header(column), LONGEST)) } }
                } } }
                tbody { @for (at, cells) in &rows {
                    tr aria-current=[(*at == row).then_some("true")] {
                        th scope="row" { (list.line(*at).unwrap_or_default()) }
                        @for cell in cells { (plain_cell(cell)) }
                        @for _ in cells.len()..width { td {} }
                    }
                } }
            }
        }
    }
}

/// Lines of a file that is no list.
fn lines(line: &ListLine<'_>) -> Markup {
    let first = line.line.saturating_sub(BEFORE + 1);
    let all = line.source.text().lines().enumerate().skip(first).take(BEFORE + BEHIND + 1);
    html! {
        ol.lines start=(first + 1) {
            @for (at, text) in all {
                li dir="auto" aria-current=[(at + 1 == line.line).then_some("true")] { code { (cut(text, LONGEST)) } }
            }
        }
    }
}

/// The ends that were read from a row.
fn read_from(desk: &Desk, job: &Snapshot, line: &ListLine<'_>) -> Markup {
    let circuits = job.reading.circuits.all().iter().zip(&job.issued.circuits);
    let ends = circuits.flat_map(|(circuit, codes)| {
        circuit.ends().iter().zip(&codes.letters).map(move |(end, letter)| (circuit, codes.code, end, letter))
    });
    let ends: Vec<_> = ends.filter(|(_, _, end, _)| is_at(&end.origin, line)).collect();
    html! {
        @if !ends.is_empty() {
            h2 { "Read from it" }
            ul.plain { @for (circuit, code, end, letter) in ends {
                li {
                    // A code that was not issued may yet become another's.
                    @if job.codes.contains(&code) { (tag(desk, code.as_str(), Some(&letter.to_string()))) " " }
                    bdi { (end.place) } ", circuit " bdi { (circuit.id()) }
                    @if let Some(function) = &circuit.function { ", " bdi { (function) } }
                }
            } }
        }
    }
}

fn is_at(origin: &Origin, line: &ListLine<'_>) -> bool {
    (origin.file(), origin.sheet(), origin.line()) == (line.source.name(), line.source.sheet_name(), Some(line.line))
}

/// The first of them; all of them stand on the page of problems, where a row that many others are measured by is paged.
fn problems_of(desk: &Desk, job: &Snapshot, line: &ListLine<'_>, at: &str) -> Markup {
    let mut rows = Rows::of(job);
    let mut explained = HashSet::new();
    let found: Vec<&Problem> =
        job.problems().filter(|problem| origins(problem).any(|origin| is_at(origin, line))).collect();
    html! {
        @if !found.is_empty() {
            h2 { "What is the matter with it" }
            @for problem in found.iter().take(OF_ROW) { (card(desk, problem, &mut rows, &mut explained)) }
            @if found.len() > OF_ROW {
                @let of_row = Asked { row: at.to_owned(), ..Asked::default() };
                p { a.button.second href=(of_row.link(desk, |_| ())) { "all " (counted(found.len(), "problem")) " of this row" } }
            }
        }
    }
}
