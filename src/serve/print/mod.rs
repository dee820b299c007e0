//! Tags to print: which, on what, how they look, and the run itself.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
