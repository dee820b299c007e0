//! The lists of the job: what is read of them, and new ones before they are taken.
//!
//! - `table`: all lists, and where new ones are brought in
//! - `one`: a list of the job
//! - `send`: files that are sent become drafts, which change nothing
//! - `drafts`: where those are kept
//! - `draft`: what a draft is understood as, and what may be put right
//! - `change`: what would change with it, or without a list; only then is it taken
//! - `shown`: columns and rows, as the pages of lists and drafts show them

use axum::Router;
use axum::extract::DefaultBodyLimit;
use axum::routing::{get, post};

use super::desk::Desk;
use crate::circuits::LARGEST_FILE;

mod change;
mod changes;
mod draft;
mod drafts;
mod one;
mod send;
mod shown;
mod table;

pub use drafts::Drafts;

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/lists", get(table::page))
        .route("/lists/-/send", post(send::files).layer(DefaultBodyLimit::max(LARGEST_FILE)))
        .route("/lists/-/paste", post(send::pasted).layer(DefaultBodyLimit::max(LARGEST_FILE)))
        .route("/lists/-/before", post(send::put_back))
        .route("/lists/-/{draft}", get(draft::page).post(draft::choose))
        .route("/lists/-/{draft}/changes", get(change::of_draft))
        .route("/lists/-/{draft}/take", post(change::take_draft))
        .route("/lists/-/{draft}/drop", post(draft::drop))
        .route("/lists/{file}", get(one::page))
        .route("/lists/{file}/file", get(one::download))
        .route("/lists/{file}/otherwise", post(send::of_job))
        .route("/lists/{file}/remove", get(change::of_removal).post(change::remove))
}
