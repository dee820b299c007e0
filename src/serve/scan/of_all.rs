//! Tags scanned where several jobs are served: each symbol is decoded once, and answered by the job that it is of. Where several have its
//! code, they are told, and somebody chooses.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::Ordering;

use axum::extract::multipart::{Multipart, MultipartRejection};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};

use super::answer::{BROKEN_OFF, leads_to, near, one};
use super::{Asked, MOST_PIXELS, Over, files_of, in_time, no_turn, taking, turn, why_unread};
use crate::proof::{Patience, Search};
use crate::run::Snapshot;
use crate::run::recall::TEST_IT;
use crate::run::scanning::{NO_SYMBOL, ReadTag, SymbolText, bears_address_of, texts_in, together};
use crate::run::{one_circuit, scan_text};
use crate::serve::desk::Desk;
use crate::serve::parts::words;
use crate::serve::screen;
use crate::serve::trouble::Trouble;

/// A job that may have a tag.
pub struct Among {
    /// What it is called in the list of jobs.
    pub title: String,
    /// Its desk.
    pub desk: Desk,
    /// The job.
    pub job: Arc<Snapshot>,
}

/// A file, or what was typed, with the texts of its symbols; or why there are none.
struct Look {
    name: String,
    read: Result<Vec<SymbolText>, String>,
    search: Search,
}

/// The page, or the answer to what was typed. Blocks.
pub fn asked(jobs: &[Among], asked: &Asked) -> Response {
    let typed = asked.text.trim();
    let text = |text: &str| SymbolText { text: text.to_owned(), symbols: 0 };
    let look = |typed: &str| Look { name: String::new(), read: Ok(vec![text(typed)]), search: Search::Whole };
    let looks: Vec<Look> = Some(typed).filter(|typed| !typed.is_empty()).map(look).into_iter().collect();
    shown(jobs, asked, &looks)
}

/// Reads what was sent; `jobs` are asked for what the symbols say, on a thread that may block.
pub async fn read(
    jobs: impl FnOnce() -> Vec<Among> + Send + 'static,
    asked: Asked,
    sent: Result<Multipart, MultipartRejection>,
) -> Response {
    let files = match files_of(sent).await {
        Ok(files) => files,
        Err(trouble) => return trouble.into_response(),
    };
    let Some(turn) = turn().await else { return no_turn() };
    let over = Over::default();
    let is_over = Arc::clone(&over.0);
    let looking = tokio::task::spawn_blocking(move || {
        let goes_on = || !is_over.load(Ordering::Relaxed);
        let patience = Patience { most_pixels: MOST_PIXELS, goes_on: &goes_on };
        let look = |(name, bytes): (String, Vec<u8>)| {
            let read = texts_in(Path::new(&name), bytes, &patience).map_err(why_unread);
            let search = read.as_ref().map_or(Search::Whole, |(_, search)| *search);
            Look { name, read: read.map(|(texts, _)| texts), search }
        };
        let looks: Vec<Look> = files.into_iter().map(look).collect();
        drop(turn);
        shown(&jobs(), &asked, &looks)
    });
    let looking = async { looking.await.unwrap_or_else(|_| Trouble::Broken.into_response()) };
    in_time(looking, over).await
}

/// What one job knows of a symbol.
struct Answer<'a> {
    among: &'a Among,
    tag: ReadTag,
}

/// The jobs that have the tag: those whose address it bears, else those that know it for sure, else those in doubt.
fn answers<'a>(jobs: &'a [Among], SymbolText { text, symbols }: &SymbolText) -> Vec<Answer<'a>> {
    let answer =
        |among: &'a Among| Answer { among, tag: ReadTag { symbols: *symbols, ..scan_text(&among.job.recall, text) } };
    let mut known: Vec<Answer<'_>> =
        jobs.iter().map(answer).filter(|one| leads_to(&one.among.desk, &one.tag).is_some()).collect();
    let is_addressed = |one: &Answer<'_>| bears_address_of(&one.among.job.reading.job, text);
    let is_sure = |one: &Answer<'_>| one.tag.is_sure();
    for is_better in [&is_sure as &dyn Fn(&Answer<'_>) -> bool, &is_addressed] {
        if known.iter().any(is_better) {
            known.retain(is_better);
        }
    }
    known
}

fn shown(jobs: &[Among], asked: &Asked, looks: &[Look]) -> Response {
    let to = match looks {
        [Look { read: Ok(texts), search: Search::Whole, .. }] => match &texts[..] {
            [text] => match &answers(jobs, text)[..] {
                [only] if only.tag.is_sure() => leads_to(&only.among.desk, &only.tag),
                _ => None,
            },
            _ => None,
        },
        _ => None,
    };
    let is_part = !asked.part.is_empty();
    if let (Some(to), false) = (&to, is_part) {
        return Redirect::to(to).into_response();
    }
    let count: usize = looks.iter().filter_map(|look| look.read.as_ref().ok()).map(Vec::len).sum();
    let told = html! {
        div.scanned data-tags=(count) data-go=[to] {
            @for line in of_one_circuit(jobs, looks) { p.same { (line) } }
            @for look in looks {
                @match &look.read {
                    Err(why) => p.alarm { (name_of(look)) (words(why)) },
                    Ok(texts) => {
                        @if look.search == Search::BrokenOff { p.alarm { (name_of(look)) (BROKEN_OFF) } }
                        @else if texts.is_empty() { p.mind { (name_of(look)) (NO_SYMBOL) } }
                        @for text in texts { (of_text(jobs, text)) }
                    }
                }
            }
            @if count > 0 { p.soft { (TEST_IT) } }
        }
    };
    if is_part {
        return told.into_response();
    }
    let body = html! {
        p { "A tag of any job here: the job that it is of answers." }
        div #scanned aria-live="polite" { (told) }
        (taking::forms("/scan", None, &asked.text))
        details {
            summary { "Among the tags of one job alone" }
            ul.jobs { @for among in jobs {
                li.card { a.title href=(among.desk.link("/scan")) { bdi { (among.title) } } }
            } }
        }
        p { a href="/" { "All jobs" } }
    };
    screen::bare("Scan", body, None).into_response()
}

/// Which of the tags that were read are of one circuit, job by job.
fn of_one_circuit(jobs: &[Among], looks: &[Look]) -> Vec<String> {
    let texts = || looks.iter().filter_map(|look| look.read.as_ref().ok()).flatten();
    let of_job = |among: &Among| {
        let own = |text| answers(jobs, text).into_iter().find(|one| std::ptr::eq(one.among, among)).map(|one| one.tag);
        let tags: Vec<ReadTag> = texts().filter_map(own).collect();
        one_circuit::in_words(&together(&among.job.recall, &tags, None).circuits)
    };
    jobs.iter().flat_map(of_job).collect()
}

fn name_of(look: &Look) -> Markup {
    html! { @if !look.name.is_empty() { code { (look.name) } ": " } }
}

/// What the jobs know of a text.
fn of_text(jobs: &[Among], text: &SymbolText) -> Markup {
    let known = answers(jobs, text);
    html! {
        @match &known[..] {
            [] => {
                article.card {
                    p.mind { "no job here has this tag" }
                    @for among in jobs { @let nearest = scan_text(&among.job.recall, &text.text).answer;
                        @if !nearest.nearest().is_empty() { p { bdi { (among.title) } } (near(&among.desk, nearest.nearest())) }
                    }
                    p.soft.says { code { (text.text) } }
                }
            }
            [only] => { h2 { bdi { (only.among.title) } } (one(&only.among.desk, &only.tag)) }
            several => {
                p.mind { (several.len()) " jobs have this code: which one the tag is of, its wire tells" }
                @for answer in several { h2 { bdi { (answer.among.title) } } (one(&answer.among.desk, &answer.tag)) }
            }
        }
    }
}
