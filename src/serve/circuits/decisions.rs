//! What was decided beside the lists and differs from them: to be carried into these, or taken back.

use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::page::ends;
use crate::run::Snapshot;
use crate::run::deciding::told::{Standing, Told};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::parts;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// What counts and the lists do not say yet, in the order of the places.
fn counting(job: &Snapshot) -> Vec<Told> {
    let told = job.deciding().told(&job.decisions).into_iter();
    let mut counting: Vec<Told> = told.filter(|told| told.standing == Standing::Counts).collect();
    counting.sort_by(|one, other| (&one.place, one.at).cmp(&(&other.place, other.at)));
    counting
}

/// All that was decided beside the lists and still says otherwise.
pub async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let all = counting(job);
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
                        (one.made.decision.matter.word()) " " code dir="auto" { (one.made.decision.matter.words().unwrap_or_default()) } " "
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

fn row(screen: &Screen<'_>, one: &Told) -> Markup {
    let none = |text: &str| if text.is_empty() { "nothing".to_owned() } else { text.to_owned() };
    let circuit = one.at.and_then(|at| screen.job.reading.circuits.all().get(at.0));
    let number = one.at.and_then(|at| screen.job.planning().number(at));
    // The code that its tags bear, which may be another than the one it was decided by.
    let (code, letter) = number.map_or_else(|| one.made.mark(), |number| screen.job.planning().end(number).mark);
    let matter = &one.made.decision.matter;
    html! {
        tr.end {
            td.name { (parts::tag(screen.desk, code.as_str(), Some(&letter.to_string()))) }
            td data-head="circuit" {
                @if let Some(circuit) = circuit { span.soft { (circuit.id()) } " " (circuit.function.as_deref().unwrap_or_default()) }
            }
            td data-head="here" { @if let Some(place) = &one.place { (place) } }
            td data-head="what" { (matter.word()) }
            td data-head="decided" { strong { (none(&matter.words().unwrap_or_default())) } }
            td data-head="the list" { (none(one.listed.as_deref().unwrap_or_default())) }
            td data-head="row" { @if let Some(row) = &one.row { code { (row) } } }
            td data-head="when" { (parts::moment(one.made.when)) }
            td.take { (take_back(screen, one.made.number)) }
        }
    }
}

/// The same as rows to be carried into the lists.
pub async fn csv(State(desk): State<Desk>) -> Response {
    desk.look_hard(|_, job| {
        let deciding = job.deciding();
        let headers = [
            (header::CONTENT_TYPE, "text/csv; charset=utf-8"),
            (header::CONTENT_DISPOSITION, "attachment; filename=\"decisions.csv\""),
        ];
        Ok::<_, Trouble>((headers, deciding.to_carry_over(&deciding.told(&job.decisions))).into_response())
    })
    .await
}
