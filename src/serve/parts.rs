//! What several pages show in the same way: a code as on its tag, a wire's colours, a problem with its row.

use std::borrow::Cow;

use maud::{Markup, html};

use super::desk::Desk;
use super::jobs::encoded;
use crate::base::origin::Excerpt;
use crate::base::{Colour, Origin, Problem, Severity, WireColour};
use crate::run::rows::line_name;

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

/// A code that is not issued yet, as it will stand on the tag, leading to what is known of its place.
pub fn tag_ahead(desk: &Desk, code: &str, letter: &str, place: &str) -> Markup {
    html! {
        a.ahead href=(place_link(desk, place)) title="not issued yet: printing its tag issues it" { (code) " " (letter) }
    }
}

/// A connector, leading to its page.
pub fn connector(desk: &Desk, name: &str) -> Markup {
    html! { a.place href=(connector_link(desk, name)) { (name) } }
}

/// Where a connector's page is.
pub fn connector_link(desk: &Desk, name: &str) -> String {
    desk.link(&format!("/C/{}", encoded(name)))
}

/// Where it is decided what is done with an end: `7KF4 A`.
pub fn decide_link(desk: &Desk, mark: &str) -> String {
    desk.link(&format!("/circuits/edit?end={}", encoded(&mark.replace(' ', "/"))))
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

/// A message: what stands in backticks is the user's own, and set apart.
pub fn words(text: &str) -> Markup {
    html! {
        @for (at, part) in text.split('`').enumerate() {
            @if at % 2 == 1 { code dir="auto" { (part) } } @else { (part) }
        }
    }
}

/// A place in a list, leading to its row.
pub fn place_in_list(desk: &Desk, origin: &Origin) -> Markup {
    html! {
        @match line_name(origin) {
            Some(line) => a href=(row_link(desk, &line)) { code dir="auto" { (origin) } },
            None => code dir="auto" { (origin) },
        }
    }
}

/// Where the row of a list is shown: it is named as messages and records name it, `j1.csv:14` or `loom.xlsx:Sheet1!D14`.
pub fn row_link(desk: &Desk, named: &str) -> String {
    desk.link(&format!("/rows?at={}", encoded(named)))
}

/// Severity in a word.
pub const fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    }
}

/// A problem: what is wrong and where, its line with the cell marked, and what to do.
pub fn problem(problem: &Problem) -> Markup {
    let severity = severity(problem.severity);
    html! {
        article.problem.(severity) {
            p {
                strong { (severity) } " "
                @if let Some(origin) = &problem.origin { code dir="auto" { (origin) } ": " }
                (words(&problem.message))
            }
            @if let Some(origin) = &problem.origin { (excerpt(origin)) }
            @for related in &problem.related {
                p.soft { (words(&related.note)) ": " code dir="auto" { (related.origin) } }
            }
            @if let Some(remedy) = &problem.remedy { p.remedy { (words(remedy)) } }
        }
    }
}

/// Characters of a line that are shown before a mark, within it, and behind it.
const AROUND: usize = 60;

/// The line of a place, the place marked; nothing of a file as a whole.
pub fn excerpt(origin: &Origin) -> Markup {
    let Some(Excerpt { text, marked, .. }) = origin.excerpt() else { return html! {} };
    let (before, marked, after) = (&text[..marked.start], &text[marked.clone()], &text[marked.end..]);
    let first = before.char_indices().rev().nth(AROUND - 1).map_or(0, |(at, _)| at);
    html! {
        pre.excerpt dir="auto" {
            @if first > 0 { "…" }
            (&before[first..]) mark { (cut(marked, 2 * AROUND)) } (cut(after, AROUND))
        }
    }
}

/// A text of at most so many characters.
pub fn cut(text: &str, most: usize) -> Cow<'_, str> {
    match text.char_indices().nth(most) {
        Some((at, _)) => Cow::Owned(format!("{}…", &text[..at])),
        None => Cow::Borrowed(text),
    }
}

/// `1 end`, `2 ends`.
pub fn counted(count: usize, thing: &str) -> String {
    if count == 1 { format!("1 {thing}") } else { format!("{count} {thing}s") }
}
