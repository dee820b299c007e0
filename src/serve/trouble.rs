//! What keeps a page from being shown, as a page: what is the matter, and what to do.

use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use maud::{Markup, html};

use super::desk::Desk;
use super::parts::{self, problem_alone, words};
use super::screen;
use crate::base::{Page, Problem, Remedy};
use crate::run::noting::NotNoted;
use crate::run::{JobFailure, NotHeld, RunFailure};

/// Why a page cannot be shown or a thing not be done.
#[derive(Debug)]
pub enum Trouble {
    /// There is no such page.
    NotFound(String),
    /// What was sent cannot be done: what is wrong with it, and the remedy.
    Refused {
        /// What is wrong.
        what: String,
        /// What to do instead.
        remedy: Remedy,
    },
    /// Disk, register or printing.
    Failed(RunFailure),
    /// The job itself.
    Unread(RunFailure),
    /// The settings cannot be used.
    Settings(Vec<Problem>),
    /// Others ask for what takes long.
    Busy,
    /// A fault of this program.
    Broken,
}

impl From<NotHeld> for Trouble {
    fn from(why: NotHeld) -> Self {
        match why {
            NotHeld::Failed(failure) => Self::Unread(failure),
            NotHeld::Settings(problems) => Self::Settings(problems),
        }
    }
}

impl From<JobFailure> for Trouble {
    fn from(failure: JobFailure) -> Self {
        Self::Unread(failure.into())
    }
}

impl From<NotNoted> for Trouble {
    fn from(why: NotNoted) -> Self {
        match why {
            NotNoted::Words(why) => Self::refused(why.what, why.remedy),
            NotNoted::Unknown(_) => Self::refused(
                format!("nothing is noted: {why}"),
                Remedy::from("look at the page again; codes are issued when tags or bench sheets are printed first: ")
                    .and_by("`loomtag tags`", Page::Print),
            ),
            NotNoted::NoCode(_) => Self::refused(format!("nothing is noted: {why}"), why.remedy().unwrap_or_default()),
            NotNoted::CannotBe(_) => {
                Self::refused(format!("nothing is noted: {why}"), "look at the page again, and name the code of a tag")
            }
        }
    }
}

impl From<RunFailure> for Trouble {
    fn from(failure: RunFailure) -> Self {
        Self::Failed(failure)
    }
}

impl Trouble {
    /// Something that was sent and cannot be done.
    pub fn refused(what: impl Into<String>, remedy: impl Into<Remedy>) -> Self {
        Self::Refused { what: what.into(), remedy: remedy.into() }
    }

    /// The status of a page that tells it.
    pub fn status(&self) -> StatusCode {
        match self {
            Self::NotFound(_) => StatusCode::NOT_FOUND,
            Self::Refused { .. } => StatusCode::UNPROCESSABLE_ENTITY,
            Self::Busy => StatusCode::SERVICE_UNAVAILABLE,
            Self::Failed(failure) if failure.is_overtaken() => StatusCode::CONFLICT,
            Self::Failed(_) | Self::Unread(_) | Self::Settings(_) | Self::Broken => StatusCode::INTERNAL_SERVER_ERROR,
        }
    }

    fn title(&self) -> &'static str {
        match self {
            Self::NotFound(_) => "Not found",
            Self::Refused { .. } => "This cannot be done",
            Self::Busy => "One moment",
            Self::Failed(failure) if failure.is_overtaken() => "Somebody was quicker",
            Self::Failed(_) => "This could not be done",
            Self::Unread(_) | Self::Settings(_) => "The job cannot be read",
            Self::Broken => "A fault of this program",
        }
    }

    /// What is the matter, and the remedy.
    pub fn told(&self, desk: Option<&Desk>) -> Markup {
        match self {
            Self::NotFound(what) => html! { p { (words(what)) } },
            Self::Refused { what, remedy } => html! { p.alarm { (words(what)) } p { (parts::remedy(desk, remedy)) } },
            Self::Failed(failure) | Self::Unread(failure) => html! {
                p.alarm { (words(&failure.to_string())) }
                @if let Some(remedy) = failure.remedy() { p { (parts::remedy(desk, &remedy)) } }
            },
            Self::Settings(problems) => html! {
                p.alarm { "job.toml cannot be used" }
                @for one in problems { (problem_alone(one)) }
            },
            Self::Busy => {
                html! { p { "others ask for what takes long to work out" } p { "load the page again in a moment" } }
            }
            Self::Broken => html! { p.alarm { "something went wrong that should not; nothing is half written" } },
        }
    }

    /// As a page of a job, with the ways out of it.
    pub fn on(&self, desk: &Desk) -> Response {
        (self.status(), screen::bare(self.title(), self.told(Some(desk)), Some(&desk.link("/")))).into_response()
    }
}

impl IntoResponse for Trouble {
    fn into_response(self) -> Response {
        (self.status(), screen::bare(self.title(), self.told(None), None)).into_response()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::codes::RegisterFailure;

    #[test]
    fn who_comes_second_is_told_so_and_what_fails_is_no_job_that_cannot_be_read() {
        let of = |failure: RegisterFailure| Trouble::from(RunFailure::from(failure));
        for overtaken in [
            RegisterFailure::SupersededAlready { number: 3, by: 4 },
            RegisterFailure::UndoneAlready { number: 3, by: 4 },
            RegisterFailure::NothingToUndo,
        ] {
            let trouble = of(overtaken);
            assert_eq!((trouble.status(), trouble.title()), (StatusCode::CONFLICT, "Somebody was quicker"));
            assert!(trouble.told(None).into_string().len() > 40, "it is told in words");
        }
        let failed = of(RegisterFailure::NoSuchDecision { number: 7 });
        assert_eq!((failed.status().as_u16(), failed.title()), (500, "This could not be done"));
        let unread = Trouble::from(NotHeld::Failed(RegisterFailure::NothingToUndo.into()));
        assert_eq!((unread.status().as_u16(), unread.title()), (500, "The job cannot be read"));
    }
}
