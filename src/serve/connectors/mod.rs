//! All connectors, and the page of one: its face, to tap a cavity.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
