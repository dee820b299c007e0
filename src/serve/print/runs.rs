//! The runs there were: what each made, its PDFs, and where it stands; and the one that is under way.

use std::fs::File;
use std::io::{self, Read};
use std::sync::Arc;

use axum::Extension;
use axum::body::Body;
use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use futures_util::stream;
use maud::{Markup, html};

use super::choose::{named, refusals, ways};
use super::press::{Press, State as Stand};
use super::sending;
use crate::base::counted;
use crate::codes::{Outcome, Run};
use crate::run::holding::holdings;
use crate::run::past::{PastRun, past_run, past_runs};
use crate::run::record::FileRecord;
use crate::run::sheets::{after_printing, before_printing};
use crate::serve::access::Visitor;
use crate::serve::address::encoded;
use crate::serve::desk::Desk;
use crate::serve::parts::{moment as moment_of, remedy as remedy_of, words};
use crate::serve::screen::{Screen, Tab};
use crate::serve::trouble::Trouble;

type Pressing = Extension<Arc<Press>>;

/// So many runs are listed.
const LISTED: usize = 200;
/// So many tags of a file are named.
const NAMED: usize = 60;

/// The print runs, the last first, and what is under way.
pub async fn all(State(desk): State<Desk>, Extension(press): Pressing, visitor: Visitor) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let runs = past_runs(desk.folder())?;
        let holding = holdings(desk.folder())?;
        let open = press.open();
        let body = html! {
            h1 { "Print runs" }
            (ways(desk, "/print/runs"))
            @for work in &open {
                p {
                    a href=(desk.link(&format!("/print/runs/new/{}", work.id))) { (work.title) } ": " (work.state().words())
                }
            }
            @if runs.is_empty() { p { "Nothing was printed in this job yet. " a href=(desk.link("/print")) { "Choose tags" } } }
            @else {
                div.scroll { table {
                    thead { tr { th { "run" } th { "when" } th { "what" } th { "how it ended" } } }
                    tbody { @for run in runs.iter().take(LISTED) {
                        tr {
                            td { a.run href=(desk.link(&format!("/print/runs/{}", run.number))) { (run.number) } }
                            td { (moment_of(run.planned)) }
                            td { @if let Some(words) = holding.get(&run.number.get()) { bdi { (words) } } @else { (run.what) } }
                            td { (ending(run)) }
                        }
                    } }
                } }
            }
            @if runs.len() > LISTED { p.soft { (runs.len() - LISTED) " older ones are not listed; each has its page: /print/runs/1" } }
        };
        Ok(screen.show(Tab::Print, "Print runs", body))
    })
    .await
}

fn ending(run: &Run) -> &'static str {
    match (run.is_unprinted, run.end) {
        (true, _) => "never went through the printer",
        (_, Some((Outcome::Done, _))) => "made",
        (_, Some((Outcome::Failed, _))) => "given up: it has no files",
        (_, None) => "under way, or broken off",
    }
}

/// A run that is made now, or a job that is sent.
pub async fn under_way(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    Path(id): Path<u64>,
    visitor: Visitor,
) -> Response {
    desk.look(move |desk, job| {
        let screen = Screen { desk, job, visitor: &visitor };
        let work = press.work(id).ok_or_else(|| Trouble::NotFound("nothing is known of that any more; the runs tell what was made".to_owned()))?;
        let state = work.state();
        let body = match &state {
            Stand::Ended(ended) => {
                if let (Some(run), None, true) = (ended.run, &ended.trouble, ended.lines.is_empty()) {
                    return Ok(Redirect::to(&desk.link(&format!("/print/runs/{run}"))).into_response());
                }
                html! {
                    h1 { (work.title) }
                    (ways(desk, "/print/runs"))
                    @if let Some((what, remedy)) = &ended.trouble {
                        p.alarm { (words(what)) }
                        @if let Some(remedy) = remedy { p { (remedy_of(Some(desk), remedy)) } }
                    }
                    @for line in &ended.lines { p { (words(line)) } }
                    @if let Some(printed) = &ended.printed { (refusals(desk, &printed.refused)) }
                    @if let Some(run) = ended.run { p { a.button href=(desk.link(&format!("/print/runs/{run}"))) { "Run " (run) } } }
                    @else { p { a href=(desk.link("/print")) { "Choose tags" } } }
                }
            }
            Stand::Waiting | Stand::Working(_) => {
                let (done, of) = match &state { Stand::Working(step) => (step.done, step.of), _ => (0, 0) };
                html! {
                    h1 { (work.title) }
                    (ways(desk, "/print/runs"))
                    noscript { meta http-equiv="refresh" content="2"; }
                    div.card #progress data-progress=(desk.link(&format!("/print/progress/{id}"))) {
                        p role="status" { (state.words()) }
                        progress max=[(of > 0).then_some(of)] value=[(of > 0).then_some(done)] {}
                    }
                    p.soft { "It goes on when this page is left; the runs tell what came of it." }
                }
            }
        };
        Ok(screen.show(Tab::Print, &work.title, body).into_response())
    })
    .await
}

fn not_found() -> Trouble {
    Trouble::NotFound("there is no such print run".to_owned())
}

/// A print run: its files, how they are printed and sent, and what became of them.
pub async fn one(
    State(desk): State<Desk>,
    Extension(press): Pressing,
    Path(number): Path<String>,
    visitor: Visitor,
) -> Response {
    desk.look(move |desk, job| {
        let number: u32 = number.parse().map_err(|_| not_found())?;
        shown(&Screen { desk, job, visitor: &visitor }, &press, number)
    })
    .await
}

/// The page of a run.
///
/// # Errors
/// When there is none of that number, or it cannot be read.
pub fn shown(screen: &Screen<'_>, press: &Press, number: u32) -> Result<Markup, Trouble> {
    let desk = screen.desk;
    let past = past_run(desk.folder(), number)?.ok_or_else(not_found)?;
    let made = press.of_run(number);
    let printed = made.as_ref().and_then(|ended| ended.printed.as_ref());
    let proof = |file: &FileRecord| {
        let of = printed.and_then(|printed| printed.files.iter().find(|one| one.path.ends_with(&file.file)));
        of.and_then(|one| one.proof.as_ref()).map(ToString::to_string)
    };
    let is_made = matches!(past.run.end, Some((Outcome::Done, _)));
    let body = html! {
        h1 { "Run " (number) }
        (ways(desk, "/print/runs"))
        dl.facts {
            @if let Some(words) = holdings(desk.folder())?.get(&number) { dt { "holds" } dd { bdi { (words) } } }
            dt { "asked for" } dd { (past.run.what) }
            dt { "when" } dd { (moment_of(past.run.planned)) }
            dt { "how it ended" } dd { (ending(&past.run)) }
        }
        @if past.run.end.is_none() {
            p.mind {
                "If nobody makes it now, it was broken off: it has no files, and its codes and sheets are as they should be. "
                "Print again."
            }
        }
        @if is_made && past.folder.is_none() { p.mind { "Its files lie elsewhere or are gone." } }
        @if !past.listed.is_empty() { p { "Codes for a marker pen: " (past.listed.join(", ")) } }
        @for file in &past.files { (file_card(desk, &past, file, proof(file))) }
        @if !past.files.is_empty() {
            p.mind {
                "Print at 100 %, and measure the ruler before you cut. Disconnect every battery, negative first; tag both "
                "sides, then cut between the tags. No mark does not mean dead: test."
            }
            (sending::form(screen, &past))
        }
        @if let Some(printed) = printed { (refusals(desk, &printed.refused)) }
        @if is_made {
            h2 { "It did not come out well" }
            p {
                "Paper that never went through the printer frees its labels; spoilt labels are told of at "
                a href=(desk.link("/print/sheets")) { "the sheets" } "."
            }
            (screen.writing(html! {
                form method="post" action=(desk.link("/print/sheets")) {
                    input type="hidden" name="what" value="unprinted";
                    input type="hidden" name="number" value=(number);
                    @if past.run.is_unprinted { input type="hidden" name="undo" value="1"; }
                    button.second type="submit" {
                        @if past.run.is_unprinted { "It was printed after all" } @else { "This run was never printed" }
                    }
                }
            }))
        }
    };
    Ok(screen.show(Tab::Print, &format!("Run {number}"), body))
}

fn file_card(desk: &Desk, past: &PastRun, file: &FileRecord, proof: Option<String>) -> Markup {
    let symbols: usize = file.tags.iter().map(|tag| tag.symbols.len()).sum();
    let lines = before_printing(file);
    let link = desk.link(&format!("/print/runs/{}/{}", past.run.number, encoded(&file.file)));
    let there = past.pdf(&file.file).is_some();
    html! {
        article.card.file {
            h2 { (file.purpose) " tags on " (file.stock) }
            p {
                (counted(file.tags.len(), "tag")) " on " (counted(file.pages, "page")) ", made for " (file.dpi) " dots an inch; "
                @match proof {
                    Some(proof) if symbols > 0 => strong { (proof) },
                    _ if symbols > 0 => { (counted(symbols, "symbol")) },
                    _ => "no symbols",
                }
            }
            @if there { p { a.button href=(link) { "Open " (file.file) } } } @else { p.mind { (file.file) " is gone" } }
            @if !lines.is_empty() {
                p.mind { @for (at, line) in lines.iter().enumerate() { @if at > 0 { br; } (line.trim()) } }
            }
            @if let Some(after) = after_printing(file) { p { (after) } }
            details {
                summary { "its tags" }
                p {
                    @for tag in file.tags.iter().take(NAMED) { (named(desk, &tag.name())) " " span.soft { (tag.place) } "  " }
                    @if file.tags.len() > NAMED { "and " (file.tags.len() - NAMED) " more" }
                }
            }
        }
    }
}

/// A PDF of a run; only those that its run.json names.
pub async fn file(State(desk): State<Desk>, Path((number, name)): Path<(String, String)>) -> Response {
    desk.work(move |desk| {
        let number: u32 = number.parse().map_err(|_| not_found())?;
        let past = past_run(desk.folder(), number)?.ok_or_else(not_found)?;
        let none = || Trouble::NotFound(format!("run {number} has no such file"));
        let (file, length) = past.open(&name)?.ok_or_else(none)?;
        // The name is one of run.json, and those have no signs that a header cannot hold; whatever else came is not repeated.
        let plain: String = name.chars().filter(|c| c.is_ascii_alphanumeric() || "-._".contains(*c)).collect();
        let shown = format!("inline; filename=\"{plain}\"");
        let headers = [
            (header::CONTENT_TYPE, "application/pdf".to_owned()),
            (header::CONTENT_DISPOSITION, shown),
            (header::CONTENT_LENGTH, length.to_string()),
        ];
        Ok((headers, streamed(file, length)).into_response())
    })
    .await
}

/// A file piece by piece, as fast as it is taken: the PDF of a long run need not lie in memory for everybody who opens it.
fn streamed(file: File, length: u64) -> Body {
    const PIECE: u64 = 256 << 10;
    let next = |mut file: io::Take<File>| {
        let mut piece = Vec::new();
        file.by_ref().take(PIECE).read_to_end(&mut piece)?;
        Ok((!piece.is_empty()).then_some((piece, file)))
    };
    Body::from_stream(stream::try_unfold(file.take(length), move |file| async move {
        tokio::task::spawn_blocking(move || next(file)).await.unwrap_or_else(|fault| Err(io::Error::other(fault)))
    }))
}
