//! What a list that was sent is understood as, and what may be put right of that. Nothing of the job changes.

use std::collections::HashMap;

use axum::extract::{Form, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::drafts::Draft;
use super::shown;
use super::table::form_in_words;
use crate::base::conductor::SizeUnit;
use crate::base::{ConnectorId, Problem, counted};
use crate::circuits;
use crate::run::job::Job;
use crate::run::overlay::Overlay;
use crate::run::proposal::in_words;
use crate::run::taking::{NotTaken, OfPart, Part, Understood, Wish, understood};
use crate::serve::access::Visitor;
use crate::serve::desk::Desk;
use crate::serve::fields::Fields;
use crate::serve::parts::words;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

/// The draft of this name.
pub fn draft(desk: &Desk, id: &str) -> Result<Draft, Trouble> {
    let gone = || Trouble::NotFound("this list is not kept any more: send it again".to_owned());
    desk.shared().drafts.get(desk.folder(), id).ok_or_else(gone)
}

/// Its files over those of the job; without job.toml where that cannot say what is chosen.
fn overlay(job: &Job, wish: &Wish) -> (Overlay, Option<NotTaken>) {
    match wish.overlay(job) {
        Ok(overlay) => (overlay, None),
        Err(why) => (Overlay::default(), Some(why)),
    }
}

/// The page of a draft.
pub async fn page(State(desk): State<Desk>, Path(id): Path<String>, visitor: Visitor) -> Response {
    desk.look_hard(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let Draft { id, wish, .. } = draft(desk, &id)?;
        let job = &job.reading.job;
        let (overlay, in_the_way) = overlay(job, &wish);
        let found = understood(job, &wish, &overlay)?;
        let title = format!("What is {}?", wish.sent.name);
        let link = desk.link(&format!("/lists/-/{id}"));
        let body = html! {
            (steps(0))
            h1 { (title) }
            @if let Some(sent_as) = &wish.sent.sent_as {
                p.mind { "It was sent as " code { (sent_as) } ", and would be called " code { (wish.sent.name) } " here." }
            }
            @if let Some(why) = &in_the_way { p.alarm { (words(&why.what)) } pre.soft { (words(&why.remedy)) } }
            form.reread method="post" action=(link) data-reread="" {
                @if !wish.sent.is_connectors() { (whole(job, &wish)) }
                @for (index, part) in found.parts.iter().enumerate() {
                    (of_part(&wish, index, part))
                }
                @if !wish.sent.is_connectors() { p.row.again { button.second type="submit" { "Read it so" } } }
            }
            (ending(desk, &link, &wish, &found, in_the_way.as_ref()))
            (problems(&found))
        };
        Ok(screen.show(Tab::Lists, &title, body))
    })
    .await
}

/// The three steps, and which this is.
pub fn steps(at: usize) -> Markup {
    let names = ["what it is", "what would change", "taken"];
    html! {
        ol.steps {
            @for (index, name) in names.iter().enumerate() { li aria-current=[(index == at).then_some("step")] { (name) } }
        }
    }
}

fn whole(job: &Job, wish: &Wish) -> Markup {
    let mut names: Vec<&str> = job.list_names().map(|name| name.value.as_str()).collect();
    names.dedup();
    let has_name = names.contains(&wish.sent.name.as_str());
    html! {
        div.stack {
            label for="instead" { "It comes" }
            select #instead name="instead" {
                @if !has_name { option value="" selected[wish.instead.is_none()] { "as a new list" } }
                @for name in names {
                    option value=(name) selected[wish.instead.as_deref() == Some(name)] { "in place of " (name) }
                }
            }
        }
    }
}

fn of_part(wish: &Wish, index: usize, part: &OfPart) -> Markup {
    let Some(standing) = &part.standing else {
        return html! {
            @if let Some(sheet) = wish.parts.get(index).and_then(|part| part.sheet.as_ref()) { h2 { "Sheet " (sheet) } }
            p.alarm { "nothing can be read here" }
        };
    };
    let chosen = wish.parts.get(index);
    html! {
        section.part {
            @if let Some(Part { sheet: Some(sheet), is_read, .. }) = chosen {
                h2 { "Sheet " (sheet) @if part.is_hidden { " (hidden)" } }
                p {
                    input type="hidden" name={ "s" (index) } value="1";
                    label { input type="checkbox" #{ "r" (index) } name={ "r" (index) } value="1" checked[*is_read]; " read this sheet" }
                }
            }
            p.said {
                @if let Some(looked) = &part.looked { (in_words(looked)) }
                @else if let Some(form) = standing.form { (form_in_words(form)) "; " (counted(standing.count, "row")) }
                @else { strong { "No header is known here." } " Say below what its columns are: its headers were looked for in row " (standing.header_line) "." }
                @if part.count > 0 { "; " (counted(part.count, if wish.sent.is_connectors() { "connector" } else { "end" })) }
            }
            @if let Some(chosen) = chosen { (settings(wish, index, chosen, part)) }
            h3 { "Columns" }
            div.scroll { (shown::columns(standing, chosen.map(|_| index))) }
            h3 { "First rows" }
            (shown::rows(part))
        }
    }
}

fn settings(wish: &Wish, index: usize, part: &Part, found: &OfPart) -> Markup {
    let said = &part.said;
    let lacks = found.looked.as_ref().is_some_and(|looked| looked.lacks_connector);
    let guess = found.named_after(&wish.sent).unwrap_or_else(|| "J1".to_owned());
    html! {
        @if lacks { p.mind { "No column says of which connector its rows are: write it here." } }
        div.row.settings {
            div {
                label for={ "form" (index) } { "A row is" }
                select #{ "form" (index) } name={ "form" (index) } {
                    option value="" selected[said.form.is_none()] { "as its columns tell" }
                    option value="chart" selected[said.form == Some(circuits::Form::Chart)] { "a cavity" }
                    option value="wire" selected[said.form == Some(circuits::Form::Wire)] { "a wire" }
                }
            }
            div {
                label for={ "connector" (index) } { "Rows without a connector are of" }
                input #{ "connector" (index) } name={ "connector" (index) } placeholder=(guess) maxlength="60" autocomplete="off"
                    value=(said.connector.as_ref().map(ToString::to_string).unwrap_or_default());
            }
            div {
                label for={ "above" (index) } { "or of" }
                select #{ "above" (index) } name={ "above" (index) } {
                    option value="" selected[!said.connector_above] { "none" }
                    option value="1" selected[said.connector_above] { "that of the row above" }
                }
            }
            div {
                label for={ "unit" (index) } { "Bare sizes are" }
                select #{ "unit" (index) } name={ "unit" (index) } {
                    option value="" selected[said.size_unit.is_none()] { "not said" }
                    option value="mm2" selected[said.size_unit == Some(SizeUnit::SquareMillimetres)] { "mm²" }
                    option value="awg" selected[said.size_unit == Some(SizeUnit::Awg)] { "AWG" }
                }
            }
        }
    }
}

fn ending(desk: &Desk, link: &str, wish: &Wish, found: &Understood, in_the_way: Option<&NotTaken>) -> Markup {
    html! {
        div.row.ending {
            @if found.is_list() && in_the_way.is_none() {
                a.button href={ (link) "/changes" } { "See what would change" }
            } @else {
                p.alarm { "as it is, nothing is read of " (wish.sent.name) ": it cannot be taken" }
            }
            form method="post" action={ (link) "/drop" } { button.second type="submit" { "Leave it" } }
            a href=(desk.link("/lists")) { "All lists" }
        }
    }
}

fn problems(found: &Understood) -> Markup {
    let all: Vec<&Problem> = found.problems.iter().collect();
    html! {
        @if !all.is_empty() {
            h2 { "Problems of this list" }
            p.soft { "Beside the other lists; rows with errors are left out until they are put right in the file." }
            (shown::problems(&all, None))
        }
    }
}

/// What was chosen: kept, and the page shown anew.
pub async fn choose(State(desk): State<Desk>, Path(id): Path<String>, Form(fields): Form<Fields>) -> Response {
    desk.look_hard(move |desk, job| {
        let Draft { id, mut wish, .. } = draft(desk, &id)?;
        let job = &job.reading.job;
        let fields: HashMap<&str, &str> = fields.iter().collect();
        let field = |name: String| fields.get(name.as_str()).map(|value| value.trim());
        let instead = field("instead".to_owned()).filter(|file| !file.is_empty()).map(str::to_owned);
        let before = wish.instead.clone();
        if field("instead".to_owned()).is_some() {
            wish.take_place_of(job, instead);
        }
        // Where another list's settings were taken over, what the page showed is not what is chosen.
        if wish.instead == before {
            let found = understood(job, &wish, &overlay(job, &wish).0)?;
            for (index, (part, shown)) in wish.parts.iter_mut().zip(&found.parts).enumerate() {
                choose_part(part, shown, index, &field);
            }
        }
        desk.shared().drafts.choose(&id, wish, desk.now());
        Ok(Redirect::to(&desk.link(&format!("/lists/-/{id}"))).into_response())
    })
    .await
}

fn choose_part<'f>(part: &mut Part, shown: &OfPart, index: usize, field: &dyn Fn(String) -> Option<&'f str>) {
    if field(format!("s{index}")).is_some() {
        part.is_read = field(format!("r{index}")).is_some();
    }
    if let Some(form) = field(format!("form{index}")) {
        part.said.form = match form {
            "chart" => Some(circuits::Form::Chart),
            "wire" => Some(circuits::Form::Wire),
            _ => None,
        };
    }
    if let Some(connector) = field(format!("connector{index}")) {
        part.said.connector = ConnectorId::from_cell(connector);
    }
    if let Some(above) = field(format!("above{index}")) {
        part.said.connector_above = !above.is_empty();
    }
    if let Some(unit) = field(format!("unit{index}")) {
        part.said.size_unit = match unit {
            "mm2" => Some(SizeUnit::SquareMillimetres),
            "awg" => Some(SizeUnit::Awg),
            _ => None,
        };
    }
    let columns = shown.standing.iter().flat_map(|standing| &standing.columns).enumerate();
    for (at, column) in columns.filter(|(_, column)| !column.header.is_empty()) {
        let Some(chosen) = field(format!("c{index}-{at}")) else { continue };
        let known = circuits::list_columns().find(|ours| *ours == chosen);
        if known != column.ours && (known.is_some() || chosen.is_empty()) {
            part.said.name(&column.header, known);
        }
    }
}

/// Forgets a draft.
pub async fn drop(State(desk): State<Desk>, Path(id): Path<String>, visitor: Visitor) -> Response {
    desk.shared().drafts.drop(&draft_name(&id));
    visitor.tell("left: nothing of the job has changed");
    Redirect::to(&desk.link("/lists")).into_response()
}

fn draft_name(id: &str) -> String {
    id.chars().filter(char::is_ascii_hexdigit).collect()
}
