//! Tags photographed, held before a camera or typed: what their symbols say, and what the job knows of it.
//!
//! Photographs and PDFs come in as a form, one symbol's text as a question; the answer is a page, or its part alone for the script.
//! Nothing is kept: the tag that another is compared with stands in the address.
//!
//! - `answer`: what is told of the tags
//! - `taking`: the ways to have a tag read
//! - `of_all`: the same where several jobs are served: each tag is answered by the job that it is of

use std::path::Path;
use std::pin::pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use axum::Router;
use axum::extract::multipart::{Multipart, MultipartRejection};
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::html;
use serde::Deserialize;
use tokio::sync::{Semaphore, SemaphorePermit};
use tokio::time::{sleep, timeout};

use crate::codes::link::{self, Meaning};
use crate::proof::{Patience, Search};
use crate::run::recall::Tag;
use crate::run::{RunFailure, scan_bytes, scan_text};
use crate::serve::access::{MOST_SCANNED, Visitor};
use crate::serve::desk::Desk;
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

mod answer;
pub mod of_all;
mod taking;

use answer::{Look, answer, leads_to};

pub fn routes() -> Router<Desk> {
    Router::new().route("/scan", get(ask).post(read)).layer(DefaultBodyLimit::max(MOST_SCANNED))
}

/// Most photographs and PDFs of one request.
const MOST_FILES: usize = 12;
/// As many requests are read at once: each takes a core, and some hundred MB for the largest pictures.
static TURNS: Semaphore = Semaphore::const_new(2);
/// How long a request waits for its turn.
const WAITING: Duration = Duration::from_secs(15);
/// How long the photographs of a request are looked through; the look that is under way then is ended, which takes a few seconds more.
const LOOKING: Duration = Duration::from_secs(8);
/// Largest picture, in pixels: what a phone's camera takes, and with some of them a little more than the 50 million they are sold by.
const MOST_PIXELS: u64 = 52_000_000;

/// What is asked in the address.
#[derive(Deserialize, Default)]
pub struct Asked {
    /// A symbol's text, typed or pasted.
    #[serde(default)]
    text: String,
    /// The tag that is held beside, as `7KF4/A`.
    #[serde(default)]
    with: String,
    /// Whether the answer alone is wanted, for the script.
    #[serde(default)]
    part: String,
}

impl Asked {
    fn held(&self) -> Option<Tag> {
        link::from_scanned(&self.with).and_then(Meaning::circuit)
    }

    /// The query of a page that holds the same tag.
    fn with(held: Option<Tag>) -> String {
        held.map_or_else(String::new, |(code, letter)| {
            let letter = letter.map(|letter| format!("/{letter}")).unwrap_or_default();
            format!("?with={code}{letter}")
        })
    }
}

async fn ask(State(desk): State<Desk>, visitor: Visitor, Query(asked): Query<Asked>) -> Response {
    desk.look(move |desk, job| {
        let typed = asked.text.trim();
        let tags = if typed.is_empty() { Vec::new() } else { vec![scan_text(&job.recall, typed)] };
        let looks: Vec<Look> = tags.into_iter().map(Look::typed).collect();
        Ok(shown(&Screen { desk, job, visitor: &visitor }, &asked, &looks))
    })
    .await
}

async fn read(
    State(desk): State<Desk>,
    visitor: Visitor,
    Query(asked): Query<Asked>,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    let files = match files_of(sent).await {
        Ok(files) => files,
        Err(trouble) => return trouble.on(&desk),
    };
    let Some(turn) = turn().await else { return no_turn() };
    let over = Over::default();
    let is_over = Arc::clone(&over.0);
    let looking = desk.look(move |desk, job| {
        let goes_on = || !is_over.load(Ordering::Relaxed);
        let patience = Patience { most_pixels: MOST_PIXELS, goes_on: &goes_on };
        let look = |(name, bytes): (String, Vec<u8>)| {
            let read = scan_bytes(&job.recall, Path::new(&name), bytes, &patience).map_err(why_unread);
            let search = read.as_ref().map_or(Search::Whole, |(_, search)| *search);
            Look { name, read: read.map(|(tags, _)| tags), search }
        };
        let looks: Vec<Look> = files.into_iter().map(look).collect();
        drop(turn);
        Ok(shown(&Screen { desk, job, visitor: &visitor }, &asked, &looks))
    });
    in_time(looking, over).await
}

/// A turn to read photographs; none where others are read for too long.
async fn turn() -> Option<SemaphorePermit<'static>> {
    timeout(WAITING, TURNS.acquire()).await.ok()?.ok()
}

fn no_turn() -> Response {
    let told = html! { p.mind { "other photographs are being read: send it again in a moment" } };
    (StatusCode::SERVICE_UNAVAILABLE, crate::serve::screen::bare("One moment", told, None)).into_response()
}

/// Waits for what is looked at, and tells it when its time is over.
async fn in_time(looking: impl Future<Output = Response>, over: Over) -> Response {
    let mut looking = pin!(looking);
    tokio::select! {
        looks = &mut looking => looks,
        () = sleep(LOOKING) => {
            drop(over);
            looking.await
        }
    }
}

/// Why a file is not read, for a page that names the file itself.
fn why_unread(failure: RunFailure) -> String {
    match failure {
        RunFailure::Unreadable { source, .. } => source.to_string(),
        other => other.to_string(),
    }
}

/// Ends the looking when it is dropped: its time is up, or nobody waits for it any more.
#[derive(Default)]
struct Over(Arc<AtomicBool>);

impl Drop for Over {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// The files of a form, with their names.
async fn files_of(sent: Result<Multipart, MultipartRejection>) -> Result<Vec<(String, Vec<u8>)>, Trouble> {
    let mut sent = sent.map_err(|_| Trouble::refused("no photograph came", "choose one and send it again"))?;
    let broken = |_| Trouble::refused("the photographs did not arrive whole", "send them again");
    let mut files = Vec::new();
    while let Some(field) = sent.next_field().await.map_err(broken)? {
        let name = field.file_name().unwrap_or_default().to_owned();
        let bytes = field.bytes().await.map_err(broken)?;
        // A field in which nothing was chosen is sent without bytes.
        if !bytes.is_empty() {
            files.push((name, bytes.to_vec()));
        }
        if files.len() > MOST_FILES {
            let what = format!("there are more than {MOST_FILES} photographs");
            return Err(Trouble::refused(what, "send fewer at once"));
        }
    }
    if files.is_empty() {
        return Err(Trouble::refused("no photograph came", "choose one and send it again"));
    }
    Ok(files)
}

/// The page, or where a single sure tag leads, or the answer alone.
fn shown(screen: &Screen<'_>, asked: &Asked, looks: &[Look]) -> Response {
    let held = asked.held();
    let to = match looks {
        [Look { read: Ok(tags), search: Search::Whole, .. }] if held.is_none() => match &tags[..] {
            [tag] if tag.is_sure() => leads_to(screen.desk, tag),
            _ => None,
        },
        _ => None,
    };
    let is_part = !asked.part.is_empty();
    if let (Some(to), false) = (&to, is_part) {
        return Redirect::to(to).into_response();
    }
    let answer = answer(screen, held, looks, to.as_deref());
    if is_part {
        return answer.into_response();
    }
    let body = html! {
        h1 { @if held.is_some() { "Scan the other tag" } @else { "Scan a tag" } }
        div #scanned aria-live="polite" { (answer) }
        (taking::ways(screen, held, &asked.text))
    };
    screen.show(Tab::Other, "Scan", body).into_response()
}
