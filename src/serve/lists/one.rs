//! A list of the job: how its columns and first rows are understood, and the file as it is.

use axum::body::Body;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};
use serde::Deserialize;

use super::shown;
use super::table::form_in_words;
use crate::base::{Problem, counted};
use crate::run::Snapshot;
use crate::run::overlay::Overlay;
use crate::run::proposal::in_words;
use crate::run::taking::{OfPart, Sent, Wish, understood};
use crate::serve::access::Visitor;
use crate::serve::address::{encoded, list_link, problems_link};
use crate::serve::desk::Desk;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

#[derive(Deserialize)]
pub struct Asked {
    taken: Option<String>,
}

fn gone(file: &str) -> Trouble {
    Trouble::NotFound(format!("the job has no list `{file}`"))
}

/// The page of a list.
pub async fn page(
    State(desk): State<Desk>,
    Path(file): Path<String>,
    Query(asked): Query<Asked>,
    visitor: Visitor,
) -> Response {
    desk.look_hard(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let of_job = &job.reading.job;
        let sent = Sent::of_job(of_job, &file).ok_or_else(|| gone(&file))?;
        let is_read = sent.is_connectors() || of_job.list_names().any(|name| name.value == file);
        let wish = Wish::first(of_job, sent, None);
        let found = understood(of_job, &wish, &Overlay::default())?;
        let is_of = |problem: &&Problem| problem.origin.as_ref().is_some_and(|origin| origin.file() == file);
        let problems: Vec<&Problem> = job.reading.problems.iter().filter(is_of).collect();
        let body = html! {
            h1 { (file) }
            @if asked.taken.is_some() { (next(desk, job)) }
            @if !is_read { p.mind { "job.toml names the lists of this job, and this is not among them: it is not read." } }
            @for part in &found.parts { (of_part(part)) }
            @if !problems.is_empty() {
                h2 { "Problems" }
                p { a href=(problems_link(desk, &file)) { (counted(problems.len(), "problem")) } }
                (shown::problems(&problems, Some((desk, job))))
            }
            h2 { "The file" }
            p.row {
                a.button.second href={ (list_link(desk, &file)) "/file" } download=(file) { "Download it as it is" }
            }
            (screen.writing(html! {
                div.row {
                    form method="post" action={ (list_link(desk, &file)) "/otherwise" } {
                        button.second type="submit" { @if is_read { "Read it otherwise" } @else { "Look at it" } }
                    }
                    @if is_read {
                        a.button.second href={ (list_link(desk, &file)) "/remove" } { "Take it out of the job" }
                    }
                }
            }))
        };
        Ok(screen.show(Tab::Lists, &file, body))
    })
    .await
}

/// What is done when a list was taken.
fn next(desk: &Desk, job: &Snapshot) -> Markup {
    html! {
        section.card {
            h2 { "What to do next" }
            ul {
                li { a href=(desk.link("/problems")) { "Look at the problems" } " that came with it." }
                @if job.reading.has_errors() {
                    li { a href=(desk.link("/problems?which=errors")) { "Put the errors right" } ": until then no tags are printed." }
                } @else {
                    li { a href=(desk.link("/print")) { "Print new and changed tags" } ", and hang them before anything is cut." }
                }
                li { "Take off tags that no longer tell the truth: the " a href=(desk.link("/")) { "overview" } " lists them." }
            }
        }
    }
}

fn of_part(part: &OfPart) -> Markup {
    let Some(standing) = &part.standing else { return html! { p.alarm { "it cannot be read at all" } } };
    html! {
        @if let Some(sheet) = &standing.sheet { h2 { "Sheet " (sheet) } }
        p {
            @if let Some(looked) = &part.looked { (in_words(looked)) }
            @else if let Some(form) = standing.form { (form_in_words(form)) "; " (counted(standing.count, "row")) }
        }
        h3 { "Columns" }
        div.scroll tabindex="0" role="region" aria-label="columns" { (shown::columns(standing, None)) }
        h3 { "First rows" }
        (shown::rows(part))
    }
}

/// The file as it is.
pub async fn download(State(desk): State<Desk>, Path(file): Path<String>) -> Response {
    desk.look_hard(move |_, job| {
        let sent = Sent::of_job(&job.reading.job, &file).ok_or_else(|| gone(&file))?;
        // No browser shows it as a page, whatever stands in it.
        let name = format!("attachment; filename*=UTF-8''{}", encoded(file.rsplit('/').next().unwrap_or(&file)));
        let headers =
            [(header::CONTENT_TYPE, "application/octet-stream".to_owned()), (header::CONTENT_DISPOSITION, name)];
        Ok((headers, Body::from(sent.bytes.to_vec())).into_response())
    })
    .await
}
