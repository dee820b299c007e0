//! The record of a code: what the wire is, and what is done with it. The page that the link on a tag opens.
//!
//! - `named`: what a path names
//! - `view`: what is told of it
//! - `forms`: what can be written of it
//! - `writes`: what was sent is written
//! - `blank`: a code that belongs to nothing yet
//! - `unknown`: a code that names nothing

use axum::Router;
use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::Markup;
use serde::Deserialize;

use self::named::{Named, named};
use self::view::View;
use super::access::Visitor;
use super::desk::Desk;
use super::screen::{Screen, Tab};
use crate::run::Snapshot;
use crate::run::recall::{By, Found};

mod blank;
mod forms;
mod named;
mod unknown;
mod view;
mod writes;

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/at/{*place}", get(at_place))
        .route("/{code}", get(of_circuit))
        .route("/{code}/", get(of_circuit))
        .route("/{code}/{letter}", get(of_end).post(writes::of_circuit))
        .route("/{code}/{letter}/", get(of_end))
        .route("/{code}/{letter}/{what}", get(back).post(writes::of_end))
}

#[derive(Deserialize)]
struct Asked {
    /// What a blank may be.
    #[serde(default)]
    q: String,
}

async fn of_circuit(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path(code): Path<String>,
    Query(asked): Query<Asked>,
) -> Response {
    page(desk, visitor, code, asked).await
}

async fn of_end(
    State(desk): State<Desk>,
    visitor: Visitor,
    Path((code, letter)): Path<(String, String)>,
    Query(asked): Query<Asked>,
) -> Response {
    // Whoever asks again for the answer to a form gets the record.
    if writes::WHAT.contains(&letter.as_str()) {
        return Redirect::to(&desk.link(&format!("/{code}"))).into_response();
    }
    page(desk, visitor, format!("{code}/{letter}"), asked).await
}

async fn back(State(desk): State<Desk>, Path((code, letter, _)): Path<(String, String, String)>) -> Redirect {
    Redirect::to(&desk.link(&format!("/{code}/{letter}")))
}

async fn page(desk: Desk, visitor: Visitor, typed: String, asked: Asked) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let known = named(&typed).ok().and_then(|named| known(&screen, &named, &asked.q));
        Ok(known.map_or_else(|| unknown::page(&screen, &typed), IntoResponse::into_response))
    })
    .await
}

/// The page of what a path names: a record, or a blank, of which `q` is asked what it may be.
fn known(screen: &Screen<'_>, named: &Named, q: &str) -> Option<Markup> {
    match found(screen.job, named) {
        Some(found) => Some(record(screen, &found)),
        None => screen.job.recall.blank(named.code).map(|blank| blank::page(screen, blank, q)),
    }
}

/// The record that a path names, its ends pointed at.
fn found(job: &Snapshot, named: &Named) -> Option<Found> {
    match &named.letters[..] {
        [] => job.recall.by_code(named.code, None),
        letters => {
            let tags: Vec<_> = letters.iter().map(|letter| (named.code, Some(*letter))).collect();
            job.recall.record_of(&tags)
        }
    }
}

fn record(screen: &Screen<'_>, found: &Found) -> Markup {
    let title = found.record.code.clone().or_else(|| found.record.designations.first().cloned()).unwrap_or_default();
    screen.show(Tab::Other, &title, View { screen, found }.page())
}

/// What sits at a place, also where no code was issued for it yet.
async fn at_place(State(desk): State<Desk>, visitor: Visitor, Path(place): Path<String>) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let place = place.trim_end_matches('/');
        let mut found = job.recall.find(&[place.to_owned()]);
        found.retain(|found| found.by == By::Place);
        let is_exact = |found: &Found| found.ends.iter().any(|&end| found.record.ends[end].here == place);
        if found.iter().any(is_exact) {
            found.retain(is_exact);
        }
        match &found[..] {
            [] => Ok(unknown::place(&screen, place)),
            [one] => Ok(record(&screen, one).into_response()),
            several => Ok(view::several(&screen, place, several).into_response()),
        }
    })
    .await
}
