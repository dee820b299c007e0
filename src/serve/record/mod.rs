//! The record of a code: what the wire is, and what is done with it.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
