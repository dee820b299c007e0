//! All connectors, and the page of one: its face as on the bench sheet, to tap a cavity, and its work list, to tick.
//!
//! - `list`: all connectors
//! - `one`: the page of one
//! - `drawing`: its face
//! - `ticked`: what is ticked there

use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use maud::html;
use serde::Deserialize;

use super::access::Visitor;
use super::address::connector_link;
use super::desk::Desk;
use super::fields::Fields;
use super::parts::left_out;
use super::screen::{Screen, Tab};
use crate::base::ConnectorId;
use crate::circuits::View;
use crate::run::connectors::{NamedConnector, named_connector};

mod drawing;
mod list;
mod one;
mod ticked;

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/connectors", get(all))
        .route("/C/{name}", get(page))
        .route("/C/{name}/done", post(tick))
        // What was typed by hand.
        .route("/c/{name}", get(page))
}

#[derive(Deserialize)]
struct Filter {
    #[serde(default)]
    q: String,
}

async fn all(State(desk): State<Desk>, visitor: Visitor, Query(filter): Query<Filter>) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        Ok(screen.show(Tab::Connectors, "Connectors", list::body(&screen, &filter.q)))
    })
    .await
}

/// From which side the face is shown, and which rows.
#[derive(Clone, Copy, Debug, Default, Deserialize)]
struct Shown {
    #[serde(default)]
    view: Word,
    #[serde(default)]
    todo: Rows,
}

/// Notes that were just written: `5-9`.
#[derive(Debug, Default, Deserialize)]
struct Written {
    #[serde(default)]
    noted: String,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Deserialize)]
enum Rows {
    /// Those in which something is left, or planned.
    #[serde(rename = "1")]
    ToDo,
    #[default]
    #[serde(other)]
    All,
}

#[derive(Clone, Copy, Debug, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Word {
    Mating,
    /// What the person at the bench sees.
    #[default]
    #[serde(other)]
    Wires,
}

impl Shown {
    const fn view(self) -> View {
        match self.view {
            Word::Wires => View::WireSide,
            Word::Mating => View::MatingFace,
        }
    }

    /// The same rows from another side.
    const fn seen(self, view: View) -> Self {
        let view = match view {
            View::WireSide => Word::Wires,
            View::MatingFace => Word::Mating,
        };
        Self { view, ..self }
    }

    /// The same side with these rows.
    const fn with(self, todo: Rows) -> Self {
        Self { todo, ..self }
    }

    const fn query(self) -> &'static str {
        match (self.view, self.todo) {
            (Word::Wires, Rows::All) => "",
            (Word::Wires, Rows::ToDo) => "?todo=1",
            (Word::Mating, Rows::All) => "?view=mating",
            (Word::Mating, Rows::ToDo) => "?view=mating&todo=1",
        }
    }
}

/// Where the page of a connector is, shown so.
fn link(desk: &Desk, id: &ConnectorId, shown: Shown) -> String {
    format!("{}{}", connector_link(desk, id.as_str()), shown.query())
}

/// Where what is ticked on it is sent.
fn done_link(desk: &Desk, id: &ConnectorId, shown: Shown) -> String {
    format!("{}/done{}", connector_link(desk, id.as_str()), shown.query())
}

async fn page(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path(name): Path<String>,
    Query(shown): Query<Shown>,
    Query(written): Query<Written>,
) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let (status, title, body) = match named_connector(job, &name) {
            NamedConnector::One(id) => (StatusCode::OK, id.to_string(), one::body(&screen, &id, shown, &written.noted)),
            NamedConnector::OneOf(alike) => {
                let body = html! {
                    h1 { "Which connector?" }
                    p { "These differ in large and small letters alone; the symbol of a tag does not tell which is meant." }
                    (choices(desk, &alike))
                };
                (StatusCode::OK, name, body)
            }
            NamedConnector::Unknown(near) => {
                let body = html! {
                    h1 { "Not found" }
                    p { "No list names a connector " code dir="auto" { (name) } "." }
                    (left_out(desk, job.left_out(&name).as_ref()))
                    @if !near.is_empty() { p { "Near to it:" } (choices(desk, &near)) }
                    p { a href=(desk.link("/connectors")) { "All connectors" } }
                };
                (StatusCode::NOT_FOUND, "Not found".to_owned(), body)
            }
        };
        Ok((status, screen.show(Tab::Connectors, &title, body)).into_response())
    })
    .await
}

fn choices(desk: &Desk, ids: &[ConnectorId]) -> maud::Markup {
    html! { ul.choices { @for id in ids { li { a.button.second href=(connector_link(desk, id.as_str())) { (id) } } } } }
}

async fn tick(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path(name): Path<String>,
    Query(shown): Query<Shown>,
    Form(fields): Form<Fields>,
) -> Response {
    desk.work(move |desk| ticked::note_ticks(desk, &visitor, &name, shown, &fields)).await
}
