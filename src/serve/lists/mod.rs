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

mod change;
mod changes;
mod draft;
mod drafts;
mod one;
mod send;
mod shown;
mod table;

pub use drafts::Drafts;

/// Most bytes that are taken at once: a list of 100,000 rows has some 10 MiB.
const MOST_SENT: usize = 32 << 20;

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/lists", get(table::page))
        .route("/lists/-/send", post(send::files).layer(DefaultBodyLimit::max(MOST_SENT)))
        .route("/lists/-/paste", post(send::pasted).layer(DefaultBodyLimit::max(MOST_SENT)))
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
