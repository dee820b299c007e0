//! Work that takes its time: print runs, one after the other, and jobs at a printer. It goes on when nobody looks, and tells whoever does
//! how far it is.

use std::convert::Infallible;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::Duration;

use axum::Extension;
use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::sse::{Event, KeepAlive, Sse};
use axum::response::{IntoResponse, Response};
use futures_util::stream;
use maud::{Markup, html};
use serde_json::json;
use tokio::sync::watch;

use crate::base::Remedy;
use crate::run::{Printed, Progress};
use crate::serve::fields::Fields;

/// So many works are remembered; of older ones the run itself tells.
const REMEMBERED: usize = 64;
/// Between two events of one stream: the eye sees no more.
const PAUSE: Duration = Duration::from_millis(100);

/// The works of a job.
#[derive(Default)]
pub struct Press {
    works: Mutex<(u64, Vec<Arc<Work>>)>,
    printing: Mutex<()>,
    sending: Mutex<()>,
}

/// Which works wait for one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Print runs.
    Printing,
    /// What goes to printers.
    Sending,
}

/// One of them.
pub struct Work {
    /// Its number.
    pub id: u64,
    /// What it does.
    pub title: String,
    /// The form that asked for it.
    form: Option<FormSent>,
    state: watch::Sender<State>,
}

/// How far a work is.
#[derive(Clone, Debug)]
pub enum State {
    /// Another one is before it.
    Waiting,
    /// It is under way.
    Working(Step),
    /// It has ended.
    Ended(Arc<Ended>),
}

/// A stretch of work.
#[derive(Clone, Debug, Default)]
pub struct Step {
    /// What is done.
    pub what: String,
    /// Steps that are done.
    pub done: usize,
    /// All steps; none where nobody knows.
    pub of: usize,
}

/// How a work ended.
#[derive(Debug, Default)]
pub struct Ended {
    /// What was wrong, and what to do about it.
    pub trouble: Option<(String, Option<Remedy>)>,
    /// What came of it, in words.
    pub lines: Vec<String>,
    /// The run that was made, or that was sent.
    pub run: Option<u32>,
    /// What came of a print run.
    pub printed: Option<Printed>,
}

impl Ended {
    /// It could not be done.
    pub fn trouble(what: impl Into<String>, remedy: Option<Remedy>) -> Self {
        Self { trouble: Some((what.into(), remedy)), ..Self::default() }
    }
}

/// Name of the field by which a form that was sent twice is known.
pub const ONCE: &str = "once";

/// A field that makes each showing of a form its own: sent a second time, by a double tap or from the page before, it begins nothing.
pub fn once() -> Markup {
    // Without chance the form is none of its own, and may be sent twice.
    html! { @if let Ok(number) = getrandom::u64() { input type="hidden" name=(ONCE) value=(format!("{number:016x}")); } }
}

/// A form as it was sent, of one showing.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormSent(Fields);

impl FormSent {
    /// `None` where no showing is named.
    pub fn of(fields: &Fields) -> Option<Self> {
        fields.given(ONCE).map(|_| Self(fields.clone()))
    }
}

fn lock<T>(of: &Mutex<T>) -> MutexGuard<'_, T> {
    of.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Press {
    /// Begins a work on a thread of its own, as soon as its turn comes; should the program be stopped, it is broken off as a command is.
    /// A form that is sent again leads to the work that it began, unless that came to nothing.
    pub fn start(
        self: &Arc<Self>,
        turn: Turn,
        title: impl Into<String>,
        form: Option<FormSent>,
        work: impl FnOnce(&Work) -> Ended + Send + 'static,
    ) -> u64 {
        let begun = {
            let mut works = lock(&self.works);
            let is_same = |work: &&Arc<Work>| form.is_some() && work.form == form && !work.is_in_vain();
            if let Some(same) = works.1.iter().find(is_same) {
                return same.id;
            }
            works.0 += 1;
            let state = watch::Sender::new(State::Waiting);
            let begun = Arc::new(Work { id: works.0, title: title.into(), form, state });
            works.1.push(Arc::clone(&begun));
            if works.1.len() > REMEMBERED
                && let Some(at) = works.1.iter().position(|work| work.ended().is_some())
            {
                works.1.remove(at);
            }
            begun
        };
        let (press, id) = (Arc::clone(self), begun.id);
        thread::spawn(move || {
            let _turn = lock(match turn {
                Turn::Printing => &press.printing,
                Turn::Sending => &press.sending,
            });
            begun.state.send_replace(State::Working(Step::default()));
            let broken = || Ended::trouble("something went wrong that should not; nothing is half written", None);
            let ended = catch_unwind(AssertUnwindSafe(|| work(&begun))).unwrap_or_else(|_| broken());
            begun.state.send_replace(State::Ended(Arc::new(ended)));
        });
        id
    }

    /// The work of this number, as long as it is remembered.
    pub fn work(&self, id: u64) -> Option<Arc<Work>> {
        lock(&self.works).1.iter().find(|work| work.id == id).cloned()
    }

    /// What came of the print run of this number, as long as it is remembered.
    pub fn of_run(&self, run: u32) -> Option<Arc<Ended>> {
        let ended = lock(&self.works).1.iter().filter_map(|work| work.ended()).collect::<Vec<_>>();
        ended.into_iter().rev().find(|ended| ended.run == Some(run) && ended.printed.is_some())
    }

    /// The works that have not ended.
    pub fn open(&self) -> Vec<Arc<Work>> {
        lock(&self.works).1.iter().filter(|work| work.ended().is_none()).cloned().collect()
    }
}

impl Work {
    /// How far it is.
    pub fn state(&self) -> State {
        self.state.borrow().clone()
    }

    /// How it ended, if it has.
    pub fn ended(&self) -> Option<Arc<Ended>> {
        match &*self.state.borrow() {
            State::Ended(ended) => Some(Arc::clone(ended)),
            State::Waiting | State::Working(_) => None,
        }
    }

    fn is_in_vain(&self) -> bool {
        self.ended().is_some_and(|ended| ended.trouble.is_some())
    }

    /// Tells what is done now.
    pub fn say(&self, what: impl Into<String>) {
        self.state.send_replace(State::Working(Step { what: what.into(), ..Step::default() }));
    }
}

impl Progress for Work {
    fn begin(&self, what: &str, steps: usize) {
        self.state.send_replace(State::Working(Step { what: what.to_owned(), done: 0, of: steps }));
    }

    fn advance(&self, steps: usize) {
        self.state.send_modify(|state| {
            if let State::Working(step) = state {
                step.done += steps;
            }
        });
    }
}

impl State {
    /// It in words.
    pub fn words(&self) -> String {
        match self {
            Self::Waiting => "another one is under way: this one waits its turn".to_owned(),
            Self::Working(step) if step.of > 0 => format!("{} of {} {}", step.done.min(step.of), step.of, step.what),
            Self::Working(step) if step.what.is_empty() => "the lists are read".to_owned(),
            Self::Working(step) => step.what.clone(),
            Self::Ended(_) => "done".to_owned(),
        }
    }

    fn event(&self) -> Event {
        let (done, of) = match self {
            Self::Working(step) => (step.done, step.of),
            Self::Waiting | Self::Ended(_) => (0, 0),
        };
        let event = Event::default().data(json!({ "words": self.words(), "done": done, "of": of }).to_string());
        if matches!(self, Self::Ended(_)) { event.event("end") } else { event }
    }
}

/// The progress of a work, told as it goes (server-sent events: WHATWG HTML, 9.2); the stream ends with the work.
pub async fn progress(Extension(press): Extension<Arc<Press>>, Path(id): Path<u64>) -> Response {
    let Some(work) = press.work(id) else { return StatusCode::NOT_FOUND.into_response() };
    let watched = work.state.subscribe();
    // The sender lives as long as the work is held here.
    let events = stream::unfold(Some((work, watched, true)), |watching| async move {
        let (work, mut watched, is_first) = watching?;
        if !is_first {
            tokio::time::sleep(PAUSE).await;
            watched.changed().await.ok()?;
        }
        let state = watched.borrow_and_update().clone();
        let next = (!matches!(state, State::Ended(_))).then_some((work, watched, false));
        Some((Ok::<_, Infallible>(state.event()), next))
    });
    Sse::new(events).keep_alive(KeepAlive::default()).into_response()
}
