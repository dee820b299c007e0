//! The find box: what answers a code, place, colour or words.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
