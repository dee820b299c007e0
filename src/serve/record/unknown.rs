//! A path that names no record: why, and the nearest that do.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use crate::base::TagCode;
use crate::base::code::NotACode;
use crate::run::recall::Near;
use crate::serve::address::find_link;
use crate::serve::desk::Desk;
use crate::serve::parts::{tag, words};
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
