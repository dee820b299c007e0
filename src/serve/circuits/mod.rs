//! All ends of the lists: filter, sort, select, decide. A row is an end, for ends are what is decided of.
//!
//! ```text
//! view       the query -> what is looked at
//! page       the table with its filter
//! row        an end -> its row
//! selected   what was ticked -> ends
//! forms      what can be done with them
//! act        doing it, or asking whether it is meant; undo
//! edit       one end by itself
//! decisions  what was decided beside the lists
//! ```

use axum::Router;
use axum::routing::{get, post};

use super::desk::Desk;

mod act;
mod decisions;
mod edit;
mod forms;
mod page;
mod row;
mod selected;
mod view;

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/circuits", get(page::page))
        .route("/circuits/act", post(act::act))
        .route("/circuits/undo", post(act::undo))
        .route("/circuits/edit", get(edit::edit))
        .route("/circuits/decisions", get(decisions::page))
        .route("/circuits/decisions.csv", get(decisions::csv))
}
