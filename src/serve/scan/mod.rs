//! Tags photographed: what their symbols say, and what the job knows of it.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
