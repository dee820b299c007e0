//! What several pages show in the same way: a code as on its tag, a wire's colours, a problem with its row.

use maud::{Markup, html};

use super::desk::Desk;
use super::jobs::encoded;
use crate::base::{Colour, Problem, Severity, WireColour};

/// A code with its letter, as it stands on the tag, leading to its record.
pub fn tag(desk: &Desk, code: &str, letter: Option<&str>) -> Markup {
    let path = letter.map_or_else(|| format!("/{code}"), |letter| format!("/{code}/{letter}"));
    html! {
        a.tag href=(desk.link(&path)) {
            (code) @if let Some(letter) = letter { " " span.letter { (letter) } }
        }
    }
}

/// Where what is known of a place is: of `J1/14`, `/at/J1/14`. It answers also where no code was issued yet.
pub fn place_link(desk: &Desk, place: &str) -> String {
    let parts: Vec<String> = place.split('/').map(encoded).collect();
    desk.link(&format!("/at/{}", parts.join("/")))
}

/// A connector, leading to its page.
pub fn connector(desk: &Desk, name: &str) -> Markup {
    html! { a.place href=(connector_link(desk, name)) { (name) } }
}

/// Where a connector's page is.
pub fn connector_link(desk: &Desk, name: &str) -> String {
    desk.link(&format!("/C/{}", encoded(name)))
}

/// The insulation colours of a wire: a piece of it, its letters, and its words for those who do not see it.
pub fn colour(typed: &str) -> Markup {
    let Some(colour) = WireColour::from_cell(typed) else { return html! {} };
    html! {
        span.colour title=(colour.in_words()) {
            @if let Some(base) = colour.base() { (wire(base, colour.bar_stripe(), &colour.in_words())) }
            (typed)
        }
    }
}

fn wire(base: Colour, stripe: Option<Colour>, words: &str) -> Markup {
    let fill = |colour: Colour| {
        let [red, green, blue] = colour.print_colour();
        format!("#{red:02x}{green:02x}{blue:02x}")
    };
    html! {
        svg.wire viewBox="0 0 36 12" width="36" height="12" role="img" aria-label=(words) {
            rect x="0.5" y="0.5" width="35" height="11" rx="2" fill=(fill(base)) stroke="#555" {}
            @if let Some(stripe) = stripe { rect x="1" y="4" width="34" height="4" fill=(fill(stripe)) {} }
        }
    }
}

/// A problem: what is wrong and where, its row with the cell marked, and what to do.
pub fn problem(problem: &Problem) -> Markup {
    let severity = match problem.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    html! {
        article.problem.(severity) {
            p {
                strong { (severity) } " "
                @if let Some(origin) = &problem.origin { code { (origin) } ": " }
                (problem.message)
            }
            @if let Some(remedy) = &problem.remedy { p.remedy { (remedy) } }
        }
    }
}
