//! The first page of a job: what wants to be done next, how far the work is, and what happened last.
//!
//! - `next`: what wants to be done, each with the page where it is
//! - `far`: how far the work is, by step, connector and branch
//! - `tags`: which tags are to be printed and what they take; on a page of its own where that takes a while

mod far;
mod next;
mod tags;

pub use next::Waits;

use axum::Router;
use axum::extract::{Query, State};
use axum::response::Response;
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;

use super::access::Visitor;
use super::desk::Desk;
use super::parts::{tag, words};
use super::screen::{Screen, Tab};
use crate::base::counted;
use crate::run::Snapshot;
use crate::run::recall::Recent;

pub fn routes() -> Router<Desk> {
    Router::new().route("/", get(page)).route("/overview/tags", get(of_tags))
}

/// So much of what happened last is shown.
const LATELY: usize = 12;
/// Characters of a note that are shown.
const LONGEST_NOTE: usize = 200;

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let circuits = job.reading.circuits.all();
        let ends: usize = circuits.iter().map(|circuit| circuit.ends().len()).sum();
        let body = html! {
            h1 { bdi { (job.reading.job.title()) } }
            p.soft {
                (counted(circuits.len(), "circuit")) ", " (counted(ends, "end")) ", "
                (counted(job.worked.connectors.len(), "connector"))
            }
            (next::next(desk, job))
            @if !circuits.is_empty() {
                (tags::part(desk, job))
                (far::far(desk, job))
            }
            (lately(desk, job))
            section {
                h2 { "On paper" }
                p { a.button.second href=(desk.link("/papers")) { "Bench sheets, charts and export" } }
            }
        };
        Ok(screen.show(Tab::Overview, "Overview", body))
    })
    .await
}

#[derive(Deserialize)]
struct Part {
    #[serde(default)]
    part: String,
}

async fn of_tags(State(desk): State<Desk>, visitor: Visitor, Query(Part { part }): Query<Part>) -> Response {
    desk.look_hard(move |desk, job| {
        if !part.is_empty() {
            return Ok(tags::told(desk, job));
        }
        let screen = Screen { desk, job, visitor: &visitor };
        let body = html! { h1 { "Tags to print" } (tags::told(desk, job)) };
        Ok(screen.show(Tab::Overview, "Tags to print", body))
    })
    .await
}

/// What happened last, the newest first.
fn lately(desk: &Desk, job: &Snapshot) -> Markup {
    let recent = job.recall.recent(LATELY);
    html! {
        section {
            h2 { "Lately" }
            @if recent.is_empty() { p.soft { "Nothing is printed or noted yet." } }
            ul.lately { @for one in &recent { (happened(desk, one)) } }
        }
    }
}

fn happened(desk: &Desk, one: &Recent) -> Markup {
    html! {
        li {
            span.soft { (super::parts::moment(one.at)) } " "
            @if let Some(code) = one.code {
                (tag(desk, code.as_str(), one.letter.map(|letter| letter.to_string()).as_deref())) " "
            }
            @if let Some(run) = one.run { a href=(desk.link(&format!("/print/runs/{run}"))) { "run " (run) } " " }
            span.what dir="auto" {
                @let said = super::parts::cut(&one.words, LONGEST_NOTE);
                @if one.superseded_by.is_some() { s { (said) } } @else { (words(&said)) }
            }
            @if let Some(by) = one.superseded_by { span.soft { " (note " (by) " stands in its place)" } }
        }
    }
}
