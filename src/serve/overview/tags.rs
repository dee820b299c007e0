//! Tags: which are new or changed, which on wires no longer tell the truth, what cannot be made, and what to have at hand. Every tag
//! is fitted for that, so in a large job it comes behind the page.

use maud::{Markup, html};

use crate::base::counted;
use crate::run::check::Checkup;
use crate::run::needs::to_buy;
use crate::run::shopping::{Need, OVER_PERCENT};
use crate::run::stale::{Remedy, Stale};
use crate::run::{Snapshot, refused_by_purpose};
use crate::serve::address::place_link;
use crate::serve::desk::Desk;
use crate::serve::parts::{self, remedy as remedy_of, tag, words};

/// Up to so many ends it is worked out before the page is shown.
const AT_ONCE: usize = 150;
/// So many tags are named; the others are counted.
const NAMED: usize = 8;

/// The part of the overview: at once where that is quick, else a link that the script follows.
pub fn part(desk: &Desk, job: &Snapshot) -> Markup {
    let ends: usize = job.worked.connectors.values().map(|share| share.ends).sum();
    html! {
        section {
            h2 { "Tags to print" }
            @if ends <= AT_ONCE || job.is_fitted() { (told(desk, job)) } @else {
                div data-load=(desk.link("/overview/tags?part=1")) {
                    p { a href=(desk.link("/overview/tags")) { "Which tags are to be printed, and what they take" } }
                }
            }
        }
    }
}

/// What there is to tell.
pub fn told(desk: &Desk, job: &Snapshot) -> Markup {
    if job.reading.has_errors() {
        return html! { p { "Tags are told of when settings and lists have " a href=(desk.link("/problems?which=errors")) { "no errors" } "." } };
    }
    match (job.due(), job.checkup()) {
        (Ok(due), Ok(all)) => of(desk, job, due, all),
        (Err(failure), _) | (_, Err(failure)) => html! {
            p.alarm { (failure) }
            @if let Some(remedy) = failure.remedy() { p { (remedy_of(Some(desk), &remedy)) } }
        },
    }
}

fn of(desk: &Desk, job: &Snapshot, due: &Checkup, all: &Checkup) -> Markup {
    let tags = due.due.as_deref().unwrap_or_default();
    let new = tags.iter().filter(|tag| tag.is_new()).count();
    let is_ahead = |name: &str| parts::is_ahead(job, name);
    let is_whole = new == tags.len() && due.fits.len() == all.fits.len();
    html! {
        @if tags.is_empty() {
            p { "Every tag that can be made is printed, and says what it would say now." }
        } @else {
            p {
                a.button href=(desk.link("/print?changed=1")) { "Print " (counted(tags.len(), "tag")) }
                " " (new) " new, " (tags.len() - new) " changed since printed"
            }
        }
        (on_wires(desk, &all.stale))
        @if !all.refused.is_empty() {
            h3 { (refused_by_purpose(&all.refused)) " cannot be made yet" }
            ul {
                @for refused in all.refused.iter().take(NAMED) {
                    li { @if is_ahead(&refused.name) { (parts::name_ahead(desk, &refused.name, &refused.place)) } @else { (of_name(desk, &refused.name)) } " at " a.place href=(place_link(desk, &refused.place)) { bdi { (refused.place) } } ": " (words(&refused.refusal.to_string())) }
                }
                @if all.refused.len() > NAMED { li.soft { "and " (all.refused.len() - NAMED) " more" } }
            }
            @if all.refused.iter().take(NAMED).any(|refused| is_ahead(&refused.name)) { (parts::ahead_words()) }
        }
        @if !due.needs.is_empty() {
            h3 { "To have at hand or to buy" }
            p.soft { "For the " (counted(tags.len(), "tag")) " to be printed; tube " (OVER_PERCENT) " % over." }
            (needs(desk, &due.needs))
        }
        @if !is_whole && !all.needs.is_empty() {
            details {
                summary { "for all tags of the job" }
                (needs(desk, &all.needs))
            }
        }
    }
}

fn needs(desk: &Desk, needs: &[Need]) -> Markup {
    html! {
        div.scroll { table {
            thead { tr { th scope="col" { "what" } th scope="col" { "how much" } th scope="col" { "for" } } }
            tbody { @for line in to_buy(needs) {
                tr { th scope="row" { bdi { (line.what) } } td { (line.amount) } td { (remedy_of(Some(desk), &line.remark)) } }
            } }
        } }
    }
}

/// Tags that no longer tell the truth.
fn on_wires(desk: &Desk, stale: &Stale) -> Markup {
    html! {
        @if !stale.is_empty() {
            h3 { (counted(stale.tags.len() + stale.left.len(), "printed tag")) " on wires no longer true" }
            ul.stale {
                @for one in stale.tags.iter().take(NAMED) {
                    li {
                        @match &one.code { Some(_) => (of_name(desk, &one.tag)), None => strong { bdi { (one.tag) } } }
                        " at " bdi { (one.place) } ": "
                        @for (at, change) in one.changes.iter().enumerate() { @if at > 0 { "; " } bdi { (change) } }
                        @if one.remedy == Remedy::TakeOff { "; take it off" }
                    }
                }
                @for left in stale.left.iter().take(NAMED) {
                    li {
                        (tag(desk, &left.code, None)) " circuit " bdi { (left.designations.join(" = ")) } " has left the lists"
                        @if let Some(new) = &left.likely_renamed { ", and is likely " bdi { (new) } " now" } @else { ": take its tags off" }
                    }
                }
                @let more = stale.tags.len().saturating_sub(NAMED) + stale.left.len().saturating_sub(NAMED);
                @if more > 0 { li.soft { "and " (more) " more" } }
            }
        }
        @if stale.not_known > 0 {
            p.soft { (counted(stale.not_known, "printed tag")) " of ends in no row that could be read: leave them on until all lists are read" }
        }
    }
}

/// A tag by its name as printed: `7KF4 A`, `7KF4 A+B`.
fn of_name(desk: &Desk, name: &str) -> Markup {
    let (code, letters) = name.split_once(' ').unwrap_or((name, ""));
    let letter = Some(letters).filter(|letters| !letters.is_empty() && letters.chars().all(|c| c.is_ascii_uppercase()));
    match letter {
        Some(letter) => tag(desk, code, Some(letter)),
        None => html! { (tag(desk, code, None)) @if !letters.is_empty() { " " (letters) } },
    }
}
