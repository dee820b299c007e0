//! Tags to print: which, on what, how they look, and the run itself.
//!
//! ```text
//! asked     what stands in the address of a page: which tags, on what
//! choose    the page on which they are chosen: counts, maps, pictures
//! laid      on what they go, sheet by sheet
//! press     work that takes its time: one print run at a time, its progress told to whoever looks
//! making    print runs, reprints and blanks are begun here
//! runs      the runs there were, their files
//! sheets    sheets of labels that are begun, drawn
//! sending   files to a printer
//! ```

use std::sync::Arc;

use axum::routing::{get, post};
use axum::{Extension, Router};

use super::desk::Desk;

mod asked;
mod choose;
mod laid;
mod making;
mod press;
mod runs;
mod sending;
mod sheets;

/// Pages of one job; its press goes with them.
pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/print", get(choose::page).post(making::tags))
        .route("/print/page", get(choose::picture))
        .route("/print/tag", get(choose::tag))
        .route("/print/again", post(making::again))
        .route("/print/blanks", get(making::blanks_page).post(making::blanks))
        .route("/print/runs", get(runs::all))
        .route("/print/runs/new/{id}", get(runs::under_way))
        .route("/print/progress/{id}", get(press::progress))
        .route("/print/runs/{run}", get(runs::one))
        .route("/print/runs/{run}/{file}", get(runs::file))
        .route("/print/sheets", get(sheets::page).post(sheets::tell))
        .route("/print/send", post(sending::send))
        .route("/print/send/find", post(sending::find))
        .layer(Extension(Arc::new(press::Press::default())))
}
