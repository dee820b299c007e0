//! The first page of a job: how far the work is, and what wants to be done next.

use axum::Router;
use axum::extract::State;
use axum::response::Response;
use axum::routing::get;
use maud::html;

use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::screen::{Screen, Tab};

pub fn routes() -> Router<Desk> {
    Router::new().route("/", get(page))
}

async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let circuits = job.reading.circuits.all();
        let ends: usize = circuits.iter().map(|circuit| circuit.ends().len()).sum();
        let body = html! {
            h1 { (job.reading.job.title()) }
            dl.facts {
                dt { "circuits" } dd { (circuits.len()) }
                dt { "ends" } dd { (ends) }
                dt { "problems" } dd { (job.problems().count()) }
            }
        };
        Ok(screen.show(Tab::Overview, "Overview", body))
    })
    .await
}
