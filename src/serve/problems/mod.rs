//! The problems of the lists, each at its row.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
