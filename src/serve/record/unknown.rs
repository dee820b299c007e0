//! A path that names no record, or a place without a wire: why, and the nearest that do.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::base::TagCode;
use crate::base::code::NotACode;
use crate::run::recall::Near;
use crate::serve::address::find_link;
use crate::serve::desk::Desk;
use crate::serve::parts::{left_out, tag, words};
use crate::serve::screen::{Screen, Tab};

pub fn page(screen: &Screen<'_>, typed: &str) -> Response {
    let scanned = screen.job.recall.by_scanned(typed);
    let body = html! {
        h1 { "No record" }
        p.alarm { (words(&why(typed))) }
        (nearest(screen.desk, scanned.nearest()))
        p { a.button.second href=(find_link(screen.desk, typed)) { "Look for it by place or words" } }
        p.soft { "A tag is only trusted when its code fits: type it again from the tag, or scan it." }
    };
    (StatusCode::NOT_FOUND, screen.show(Tab::Other, "No record", body)).into_response()
}

/// A place at which no wire ends, by the rows that can be read.
pub fn place(screen: &Screen<'_>, place: &str) -> Response {
    let body = html! {
        h1 { "Not found" }
        p { "no wire of the lists ends at " code dir="auto" { (place) } }
        (left_out(screen.desk, screen.job.left_out(place).as_ref()))
        p { a.button.second href=(find_link(screen.desk, place)) { "Look for it by place or words" } }
    };
    (StatusCode::NOT_FOUND, screen.show(Tab::Other, "Not found", body)).into_response()
}

/// Why it names no record of this job.
pub fn why(typed: &str) -> String {
    match (super::named::named(typed), TagCode::from_typed_with_letter(typed)) {
        (Ok(named), _) => format!("`{}` was never issued in this job", named.code),
        (_, Err(why @ NotACode::Check { .. })) => why.to_string(),
        _ => format!("`{typed}` is no code"),
    }
}

/// Codes that may have been meant.
pub fn nearest(desk: &Desk, near: &[Near]) -> Markup {
    html! {
        @if !near.is_empty() {
            h2 { "Codes like it" }
            ul.near { @for one in near { li { (tag(desk, &one.code, None)) " " bdi { (one.what) } } } }
        }
    }
}
