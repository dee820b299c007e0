//! The lists of the job: what is read of them, and new ones before they are taken.

use axum::Router;

use super::desk::Desk;

pub fn routes() -> Router<Desk> {
    Router::new()
}
