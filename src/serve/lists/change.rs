//! What would change with a list that was sent, or without one of the job; and the change itself, once it was seen.

use axum::extract::{Form, Path, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use serde::Deserialize;

use super::changes::changes;
use super::draft::{draft, steps};
use crate::run::job::{JOB_FILE, Job};
use crate::run::outlook::{Outlook, outlook};
use crate::run::overlay::Overlay;
use crate::run::taking::{self, KEPT_IN, NotTaken, Taken};
use crate::run::{Snapshot, read_with};
use crate::serve::access::Visitor;
use crate::serve::address::list_link;
use crate::serve::desk::Desk;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

impl From<NotTaken> for Trouble {
    fn from(NotTaken { what, remedy }: NotTaken) -> Self {
        Self::refused(what, remedy)
    }
}

/// What was seen when it was agreed to: the job as it was, and the files as they would be.
#[derive(Deserialize)]
pub struct Seen {
    job: String,
    files: String,
}

impl Seen {
    fn of(job: &Job, overlay: &Overlay) -> Self {
        Self { job: format!("{:016x}", taking::state(job)), files: format!("{:016x}", taking::mark(overlay)) }
    }

    fn is_so(&self, job: &Job, overlay: &Overlay) -> bool {
        let now = Self::of(job, overlay);
        now.job == self.job && now.files == self.files
    }

    fn fields(&self) -> Markup {
        html! {
            input type="hidden" name="job" value=(self.job);
            input type="hidden" name="files" value=(self.files);
        }
    }
}

fn foreseen(job: &Snapshot, overlay: &Overlay) -> Result<Outlook, Trouble> {
    let read = read_with(job.reading.job.folder(), overlay)?;
    let after = read.value.ok_or(Trouble::Settings(read.problems))?;
    Ok(outlook(&job.reading, &after)?)
}

/// What is done with the files of the folder, in words.
fn files(job: &Job, overlay: &Overlay) -> Markup {
    let is_there = |name: &str| job.folder().join(name).exists();
    html! {
        ul.files {
            @for (name, bytes) in overlay.files() {
                li {
                    code { (name) }
                    @match (bytes, is_there(name)) {
                        (Some(_), false) => { " is put into the job folder, byte for byte as it was sent" }
                        (Some(_), true) if name == JOB_FILE => { " says how the lists are read; comments stay, and it is kept in " code { (KEPT_IN) } " as it is now" }
                        (Some(_), true) => { " takes the place of the one that is there, which is kept in " code { (KEPT_IN) } }
                        (None, _) => { " leaves the job, and is kept in " code { (KEPT_IN) } }
                    }
                }
            }
        }
    }
}

/// What would change with a draft.
pub async fn of_draft(State(desk): State<Desk>, Path(id): Path<String>, visitor: Visitor) -> Response {
    desk.look_hard(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let draft = draft(desk, &id)?;
        let of_job = &job.reading.job;
        let overlay = draft.wish.overlay(of_job)?;
        let seen = Seen::of(of_job, &overlay);
        let outlook = foreseen(job, &overlay)?;
        let link = desk.link(&format!("/lists/-/{}", draft.id));
        let title = format!("What would change with {}", draft.wish.sent.name);
        let body = html! {
            (steps(1))
            h1 { (title) }
            @if overlay.is_empty() {
                p { "The job has this list just so already: there is nothing to take." }
            } @else {
                (changes(&outlook))
                h2 { "The files" }
                (files(of_job, &overlay))
                (screen.writing(html! {
                    form method="post" action={ (link) "/take" } { (seen.fields()) button type="submit" { "Take it" } }
                }))
            }
            div.row.ending {
                a href=(link) { "Back to what it is" }
                form method="post" action={ (link) "/drop" } { button.plain type="submit" { "Leave it" } }
            }
        };
        Ok(screen.show(Tab::Lists, &title, body))
    })
    .await
}

const CHANGED_SINCE: &str =
    "mind: the job or the list has changed since this was compared: nothing was written; look at it anew";

/// Takes a draft into the job, as it was seen.
pub async fn take_draft(
    State(desk): State<Desk>,
    Path(id): Path<String>,
    visitor: Visitor,
    Form(seen): Form<Seen>,
) -> Response {
    desk.work(move |desk| {
        let _one_at_a_time = desk.shared().drafts.taking();
        let draft = draft(desk, &id)?;
        let job = desk.snapshot()?;
        let overlay = draft.wish.overlay(&job.reading.job)?;
        if overlay.is_empty() || !seen.is_so(&job.reading.job, &overlay) {
            visitor.tell(CHANGED_SINCE);
            return Ok(Redirect::to(&desk.link(&format!("/lists/-/{}/changes", draft.id))).into_response());
        }
        let taken = taking::take(desk.folder(), &overlay, desk.now())?;
        desk.shared().drafts.drop(&draft.id);
        tell(&visitor, &taken);
        Ok(Redirect::to(&format!("{}?taken=1", list_link(desk, &draft.wish.sent.name))).into_response())
    })
    .await
}

fn tell(visitor: &Visitor, taken: &Taken) {
    if !taken.written.is_empty() {
        visitor.tell(format!("written: {}", taken.written.join(", ")));
    }
    for (name, kept) in &taken.kept {
        visitor.tell(format!("{name} is kept as it was: {kept}"));
    }
}

/// What would change without a list.
pub async fn of_removal(State(desk): State<Desk>, Path(file): Path<String>, visitor: Visitor) -> Response {
    desk.look_hard(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let of_job = &job.reading.job;
        let overlay = taking::without(of_job, &file)?;
        let seen = Seen::of(of_job, &overlay);
        let outlook = foreseen(job, &overlay)?;
        let title = format!("What would change without {file}");
        let link = list_link(desk, &file);
        let body = html! {
            h1 { (title) }
            (changes(&outlook))
            h2 { "The files" }
            (files(of_job, &overlay))
            (screen.writing(html! {
                form method="post" action={ (link) "/remove" } { (seen.fields()) button.stop type="submit" { "Take it out of the job" } }
            }))
            div.row.ending { a href=(link) { "Leave it in" } }
        };
        Ok(screen.show(Tab::Lists, &title, body))
    })
    .await
}

/// Takes a list out of the job, as it was seen.
pub async fn remove(
    State(desk): State<Desk>,
    Path(file): Path<String>,
    visitor: Visitor,
    Form(seen): Form<Seen>,
) -> Response {
    desk.work(move |desk| {
        let _one_at_a_time = desk.shared().drafts.taking();
        let job = desk.snapshot()?;
        let overlay = taking::without(&job.reading.job, &file)?;
        if !seen.is_so(&job.reading.job, &overlay) {
            visitor.tell(CHANGED_SINCE);
            return Ok(Redirect::to(&format!("{}/remove", list_link(desk, &file))).into_response());
        }
        let taken = taking::take(desk.folder(), &overlay, desk.now())?;
        tell(&visitor, &taken);
        Ok(Redirect::to(&desk.link("/lists")).into_response())
    })
    .await
}
