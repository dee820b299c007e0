//! One end by itself: what it is, and what is decided, noted and done of it.

use axum::extract::{Query, State};
use axum::response::Response;
use maud::{Markup, html};

use super::act::one;
use super::forms;
use super::row::{Rows, note_in_list, steps};
use super::selected::value_of;
use super::view::{View, fields};
use crate::circuits::Action;
use crate::run::danger::Danger;
use crate::run::recall::TEST_IT;
use crate::serve::access::Visitor;
use crate::serve::address::row_link;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::parts;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// One end by itself: what is decided and noted of it, and the forms for both.
pub async fn edit(State(desk): State<Desk>, Query(asked): Query<Fields>, visitor: Visitor) -> Response {
    desk.look(move |desk, job| page(&Screen { desk, job, visitor: &visitor }, &asked)).await
}

/// The page of the end that `asked` names.
///
/// # Errors
/// When there is no such end.
pub fn page(screen: &Screen<'_>, asked: &Fields) -> Result<Markup, Trouble> {
    let Screen { desk, job, visitor } = *screen;
    let end = job.planning().end(one(job, asked)?);
    let back = View::of(&fields(asked.text("back"))).query();
    let record = job.recall.record(end.seat.0);
    let told = &record.ends[end.seat.1];
    let (circuit, listed) = end.listed(&job.reading.circuits);
    let (code, letter) = (end.mark.0.to_string(), end.mark.1.to_string());
    let rows = Rows { desk, job, visitor, back: &back };
    let place = match &listed.action {
        Action::Move(Some(place)) => place.to_string(),
        _ => String::new(),
    };
    let note = told.note.clone().unwrap_or_default();
    let typed = visitor.typed(&desk.link("/circuits/act"));
    let (decided, done) = (typed.with("do", "decide"), typed.with("do", "done"));
    let hidden = html! {
        input type="hidden" name="end" value=(value_of(end, listed));
        input type="hidden" name="back" value=(back);
    };
    let body = html! {
        h1 {
            @if end.is_issued { (parts::tag(desk, &code, Some(&letter))) }
            @else { (parts::tag_ahead(desk, &code, &letter, &told.here)) }
            " at " (told.here)
        }
        @if !end.is_issued { (parts::ahead_words()) }
        p { (circuit.function.as_deref().unwrap_or("function not known")) ", circuit " (circuit.id()) }
        @for caution in &record.cautions { p.alarm { (caution) } }
        @if record.cautions.is_empty() && let Some(danger) = Danger::of(end.supply) { p.alarm { (danger.band()) } }
        dl.facts {
            dt { "there" } dd { (told.there.as_deref().unwrap_or("not known")) }
            @if let Some(colour) = &told.colour { dt { "colour" } dd { (parts::colour(colour)) } }
            @if let Some(size) = &told.size { dt { "size" } dd { (size) } }
            dt { "supply" } dd { (record.supply.as_deref().unwrap_or("not known")) }
            @if let Some(fuse) = &record.fuse { dt { "fuse" } dd { (fuse) } }
            @if let Some(branch) = &told.branch { dt { "branch" } dd { (branch) } }
            dt { "action" } dd { (rows.action(end, told)) }
            @if !note.is_empty() || told.note_in_list.is_some() { dt { "note" } dd { (note) (note_in_list(told)) } }
            dt { "steps" } dd { (steps(end)) @if end.done.is_empty() && end.left.is_none() { "none" } }
            @if let Some(origin) = &told.origin { dt { "row" } dd { a href=(row_link(desk, origin)) { code { (origin) } } } }
        }
        (screen.writing(html! {
            h2 { "Decide" }
            form.chosen.one id=[decided.id()] method="post" action=(desk.link("/circuits/act")) {
                (hidden)
                input type="hidden" name="set_was" value=(end.action);
                input type="hidden" name="to_was" value=(place);
                input type="hidden" name="note_was" value=(note);
                div.fields {
                    label { span { "action" } (forms::actions(Some(decided.value("set", end.action)), "leave as it is")) }
                    label.to { span { "move to" } input type="text" name="to" value=(decided.value("to", &place)) placeholder="J1/14" autocomplete="off" spellcheck="false"; }
                    label.wide { span { "note" } textarea name="note" rows="3" { (decided.value("note", &note)) } }
                    button type="submit" name="do" value="decide" { "Decide" }
                }
            }
            h2 { "Mark done" }
            form.chosen.one id=[done.id()] method="post" action=(desk.link("/circuits/act")) {
                (hidden)
                div.fields {
                    (forms::steps(done))
                    label.wide { span { "remark" } input type="text" name="remark" value=(done.value("remark", "")) autocomplete="off"; }
                    button type="submit" name="do" value="done" { "Mark done" }
                }
            }
        }))
        p.soft { (TEST_IT) }
        p { a href={ (desk.link("/circuits")) (back) } { "Back to the table" } }
    };
    Ok(screen.show(Tab::Circuits, &format!("{code} {letter}"), body))
}
