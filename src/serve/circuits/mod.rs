//! All circuits and their ends: filter, sort, select, decide.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
