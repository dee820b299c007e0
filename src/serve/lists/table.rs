//! All lists of the job, and where new ones are brought in.

use axum::extract::State;
use axum::response::Response;
use maud::{Markup, html};

use crate::base::counted;
use crate::circuits::{Form, LARGEST_FILE};
use crate::run::taking::{self, Before, KEPT_IN, OfJob, of_job};
use crate::serve::access::Visitor;
use crate::serve::address::{list_link, problems_link};
use crate::serve::desk::Desk;
use crate::serve::parts::moment;
use crate::serve::screen::{Screen, Tab};

/// So many lists that were put aside are shown.
const MOST_BEFORE: usize = 60;

/// The page of all lists.
pub async fn page(State(desk): State<Desk>, visitor: Visitor) -> Response {
    desk.look_hard(move |desk, job| Ok(shown(&Screen { desk, job, visitor: &visitor }))).await
}

/// The page, with what was typed into it where that was refused.
pub fn shown(screen: &Screen<'_>) -> Markup {
    let Screen { desk, job, visitor } = *screen;
    let before = taking::before(&job.reading.job);
    let lists = of_job(&job.reading);
    let (read, unread): (Vec<_>, Vec<_>) = lists.iter().partition(|list| list.is_read);
    let drafts = if visitor.may_write() { desk.shared().drafts.of_job(desk.folder()) } else { Vec::new() };
    let body = html! {
        h1 { "Lists" }
        @if !drafts.is_empty() {
            section.card aria-label="sent and not taken yet" {
                h2 { "Sent, not taken yet" }
                ul.drafts {
                    @for draft in &drafts {
                        li { a href=(desk.link(&format!("/lists/-/{}", draft.id))) { (draft.wish.sent.name) } }
                    }
                }
            }
        }
        @if read.is_empty() { p { "This job has no list yet." } }
        div.lists { @for list in &read { (card(desk, list)) } }
        @if !unread.is_empty() {
            h2 { "In the folder, not read" }
            p.soft { "job.toml names the lists of this job, and these are not among them." }
            div.lists { @for list in &unread { (card(desk, list)) } }
        }
        h2 #new { "Bring a list in" }
        p { "It is looked at and compared first; the job stays as it is until you take it." }
        (screen.writing(new_list(screen)))
        (as_before(screen, &before))
        h2 { "What else the job knows" }
        p {
            a href=(desk.link("/circuits/decisions")) { "What was decided for each end" }
            " · "
            a href=(desk.link("/papers")) { "Charts, schedules and sheets as they are now" }
        }
    };
    screen.show(Tab::Lists, "Lists", body)
}

/// Lists as they were before others took their place, each to be looked at and put back.
fn as_before(screen: &Screen<'_>, before: &[Before]) -> Markup {
    html! {
        @if !before.is_empty() {
            details.before {
                summary { "Lists as they were before: " (before.len()) }
                p { "Each was put aside in " code { (KEPT_IN) } " when another took its place. It is compared first, as any list that is taken." }
                ul.plain {
                    @for one in before.iter().take(MOST_BEFORE) {
                        li {
                            strong { bdi { (one.name) } } ", put aside " (moment(one.at))
                            @if screen.visitor.may_write() {
                                form method="post" action=(screen.desk.link("/lists/-/before")) {
                                    input type="hidden" name="kept" value=(one.kept);
                                    button.second type="submit" { "See what would change" span.aside { " with " (one.name) " as it was" } }
                                }
                            }
                        }
                    }
                    @if before.len() > MOST_BEFORE { li.soft { "and " (before.len() - MOST_BEFORE) " older ones in the folder" } }
                }
                (screen.writing(html! {}))
            }
        }
    }
}

/// The form of a list in words.
pub const fn form_in_words(form: Form) -> &'static str {
    match form {
        Form::Chart => "chart, a row per cavity",
        Form::Wire => "wire list, a row per wire",
    }
}

fn card(desk: &Desk, list: &OfJob) -> Markup {
    let rows: usize = list.looked.iter().map(|looked| looked.rows).sum();
    let (errors, warnings) = list.problems;
    let unread: usize = list.looked.iter().map(|looked| looked.unread.len()).sum();
    html! {
        article.card {
            h3 { a href=(list_link(desk, &list.file)) { (list.file) } }
            p {
                @if list.is_connectors { "describes " (counted(list.count, "connector")) }
                @else if !list.is_read { "not read" }
                @else {
                    @match &list.looked[..] {
                        [] => { strong { "cannot be read" } }
                        [one] => { (form_in_words(one.form)) }
                        several => { (several.len()) " sheets" }
                    }
                    " · " (counted(rows, "row")) " · "
                    @if list.count == 0 { "no end that no list above has" } @else { "brings " (counted(list.count, "end")) }
                    @if unread > 0 { " · " (counted(unread, "column")) " not read" }
                }
            }
            @if errors + warnings > 0 {
                p {
                    a href=(problems_link(desk, &list.file)) {
                        @if errors > 0 { (counted(errors, "error")) }
                        @if errors > 0 && warnings > 0 { ", " }
                        @if warnings > 0 { (counted(warnings, "warning")) }
                    }
                }
            }
            @if let Some(changed) = list.changed { p.soft { "written " (moment(changed)) } }
        }
    }
}

fn new_list(screen: &Screen<'_>) -> Markup {
    let desk = screen.desk;
    let action = desk.link("/lists/-/paste");
    let typed = screen.visitor.typed(&action);
    html! {
        div.grid {
            form.stack.card.drop method="post" action=(desk.link("/lists/-/send")) enctype="multipart/form-data" data-drop="" {
                h3 { "A file" }
                label for="file" { "CSV, XLSX or ODS, one or several; at most " (LARGEST_FILE >> 20) " MiB" }
                input #file type="file" name="file" multiple accept=".csv,.tsv,.txt,.xlsx,.xlsm,.ods";
                p.soft { "A list of a name that is here takes that one’s place; connectors.csv describes the connectors." }
                button type="submit" { "Look at it" }
            }
            form.stack.card id=[typed.id()] method="post" action=(action) {
                h3 { "Cells" }
                label for="cells" { "Copied from a spreadsheet, headers included" }
                textarea #cells name="cells" rows="6" required spellcheck="false" { (typed.value("cells", "")) }
                label for="name" { "Name of the list" }
                input #name name="name" value=(typed.value("name", "pasted.csv")) autocomplete="off";
                button type="submit" { "Look at them" }
            }
        }
    }
}
