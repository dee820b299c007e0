//! What was decided beside the lists and differs from them: to be carried into these, or taken back.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::page::ends;
use crate::base::formula;
use crate::circuits::{Circuit, End};
use crate::codes::csv_text::Writing;
use crate::run::Snapshot;
use crate::run::planning::PlannedEnd;
use crate::run::recall::moment;
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::parts;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// The columns of the file.
const HEADS: [&str; 10] =
    ["connector", "cavity", "circuit", "code", "letter", "what", "decided", "the list says", "row", "decided on"];

/// One thing that was decided otherwise than the lists say.
struct Differs<'a> {
    end: &'a PlannedEnd,
    circuit: &'a Circuit,
    listed: &'a End,
    matter: &'static str,
    number: u32,
    when: jiff::Timestamp,
    says: String,
    list_says: String,
}

/// All of them, in working order.
fn differing(job: &Snapshot) -> Vec<Differs<'_>> {
    let circuits = &job.reading.circuits;
    let mut differing = Vec::new();
    for at in circuits.working_order() {
        let (circuit, listed) = (&circuits.all()[at.0], &circuits.all()[at.0].ends()[at.1]);
        let Some(number) = job.planning().number(at).filter(|_| listed.edited.is_some()) else { continue };
        let end = job.planning().end(number);
        if let Some(instead) = listed.decided_instead() {
            let (says, list_says) = (listed.action.to_string(), instead.listed.0.to_string());
            let (number, when) = (instead.number, instead.when);
            differing.push(Differs { end, circuit, listed, matter: "action", number, when, says, list_says });
        }
        if let Some(instead) = listed.noted_instead() {
            let says = listed.note.clone().unwrap_or_default();
            let list_says = instead.listed.clone().unwrap_or_default();
            let (number, when) = (instead.number, instead.when);
            differing.push(Differs { end, circuit, listed, matter: "note", number, when, says, list_says });
        }
    }
    differing
}

pub async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let all = differing(job);
        let body = html! {
            h1 { "Decided here" }
            @if all.is_empty() {
                p { "Nothing is decided otherwise than the lists say." }
                p { a href=(desk.link("/circuits")) { "To the table" } }
            } @else {
                p { "The register keeps these decisions; your lists stay as they are. Carry them into the lists, and they are not told here any more." }
                p.row {
                    a.button href=(desk.link("/circuits/decisions.csv")) download { "As CSV" }
                    a.button.second href=(desk.link("/circuits")) { "To the table" }
                }
                div.scroll { table.plan.decided {
                    thead { tr { @for head in ["tag", "circuit", "here", "what", "decided", "the list says", "row", "when", ""] {
                        th scope="col" { (head) }
                    } } }
                    tbody { @for one in &all { (row(&screen, one)) } }
                } }
            }
            @let without = &job.reading.decided.without_end;
            @if !without.is_empty() {
                h2 { "Of ends that no list has any more: " (ends(without.len())) }
                ul { @for one in without {
                    li {
                        (one.made.decision.code) " " (one.made.decision.letter) " at " (one.place) ": "
                        (one.made.decision.matter.word()) " `" (one.made.decision.matter.words().unwrap_or_default()) "` "
                        (take_back(&screen, one.made.number))
                    }
                } }
            }
        };
        Ok(screen.show(Tab::Circuits, "Decided here", body))
    })
    .await
}

fn take_back(screen: &Screen<'_>, number: u32) -> Markup {
    html! {
        @if screen.visitor.may_write() {
            form method="post" action=(screen.desk.link("/circuits/undo")) {
                input type="hidden" name="decision" value=(number);
                input type="hidden" name="from" value="decisions";
                button.plain type="submit" aria-label={ "take back decision " (number) } { "take back" }
            }
        }
    }
}

fn row(screen: &Screen<'_>, one: &Differs<'_>) -> Markup {
    let none = |text: &str| if text.is_empty() { "nothing".to_owned() } else { text.to_owned() };
    let (code, letter) = (one.end.mark.0.to_string(), one.end.mark.1.to_string());
    html! {
        tr.end {
            td.name { (parts::tag(screen.desk, &code, Some(&letter))) }
            td data-head="circuit" { span.soft { (one.circuit.id()) } " " (one.circuit.function.as_deref().unwrap_or_default()) }
            td data-head="here" { (one.listed.place) }
            td data-head="what" { (one.matter) }
            td data-head="decided" { strong { (none(&one.says)) } }
            td data-head="the list" { (none(&one.list_says)) }
            td data-head="row" { code { (one.listed.origin) } }
            td data-head="when" { (moment(one.when)) }
            td.take { (take_back(screen, one.number)) }
        }
    }
}

/// The same as a list, with the columns of one: it may be read beside the others, or copied from.
pub async fn csv(State(desk): State<Desk>) -> Response {
    desk.look(|_, job| {
        let mut writing = Writing::new();
        HEADS.iter().for_each(|head| writing.cell(head));
        writing.end_row();
        for one in differing(job) {
            let place = &one.listed.place;
            let cells = [
                place.connector.to_string(),
                place.cavity.as_ref().map(ToString::to_string).unwrap_or_default(),
                one.circuit.id().to_string(),
                one.end.mark.0.to_string(),
                one.end.mark.1.to_string(),
                one.matter.to_owned(),
                one.says,
                one.list_says,
                one.listed.origin.to_string(),
                one.when.to_string(),
            ];
            cells.iter().for_each(|cell| writing.cell(&formula::marked(cell)));
            writing.end_row();
        }
        let headers = [
            (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
            (header::CONTENT_DISPOSITION, "attachment; filename=\"decisions.csv\""),
        ];
        Ok::<_, Trouble>((headers, writing.bytes()).into_response())
    })
    .await
}
