//! Papers: bench sheets as a PDF, charts of what is, and the register as files to keep.

use axum::Router;
use axum::extract::{Form, Path, Query, State};
use axum::http::{HeaderValue, header};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;

use super::access::Visitor;
use super::address::encoded;
use super::desk::Desk;
use super::fields::Fields;
use super::kept::or_again;
use super::parts::to_be_seen;
use super::screen::{Screen, Tab};
use super::trouble::Trouble;
use crate::base::counted;
use crate::paperwork::Paper;
use crate::paperwork::whole_job::{SortedBy, fuses};
use crate::run::bench_sheets::{SheetsWish, SheetsWritten, Shown, Sort};
use crate::run::connectors::{NamedConnector, named_connector, names};
use crate::run::papers::{self, charts_zipped, export_zipped};
use crate::run::{Snapshot, bench_sheets};

pub fn routes() -> Router<Desk> {
    Router::new()
        .route("/papers", get(page).post(make))
        .route("/papers/charts.zip", get(charts))
        .route("/papers/register.zip", get(register))
        .route("/papers/sheets/{name}", get(sheet))
}

/// So many of the PDFs that were made are listed.
const LISTED: usize = 30;

/// What is asked for: preset by links, sent by the form.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    /// One connector; blank: the whole job.
    connector: String,
    /// One sort of sheets; blank: all that are of use.
    sort: String,
    /// `plan` or `as-built`.
    shown: String,
    /// `a4` or `letter`.
    paper: String,
    /// The order of the circuit schedule.
    by: String,
    /// Set where sheets are made although lists have errors.
    skip: String,
}

async fn page(State(desk): State<Desk>, visitor: Visitor, Query(asked): Query<Asked>) -> Response {
    desk.look(move |desk, job| Ok(shown(&Screen { desk, job, visitor: &visitor }, &asked))).await
}

fn shown(screen: &Screen<'_>, asked: &Asked) -> Markup {
    let (desk, job) = (screen.desk, screen.job);
    let body = html! {
        h1 { "On paper" }
        section {
            h2 { "Bench sheets" }
            p { "What lies beside the connector: faces, work lists, what to buy, the fuse legend. Codes that stand on them are issued." }
            (minded(desk, job, asked))
            (screen.writing(form(screen, asked)))
        }
        (made(desk))
        section {
            h2 { "To keep" }
            ul.plain {
                @if job.codes.is_empty() {
                    li { "The register: no code was issued yet." }
                } @else {
                    li { a.button.second href=(desk.link("/papers/register.zip")) download { "The register as CSV files" }
                        p.soft { "Codes, print runs and notes. Keep a copy on another disk; " code { "loomtag import" } " in a terminal reads it back." } }
                }
                li { a.button.second href=(desk.link("/papers/charts.zip")) download { "Charts of what is, by the notes" }
                    p.soft { "A CSV file for each connector. Your own lists stay as they are." } }
            }
        }
    };
    screen.show(Tab::Other, "On paper", body)
}

/// What must be seen before codes are issued.
fn minded(desk: &Desk, job: &Snapshot, asked: &Asked) -> Markup {
    let connectors = match named_connector(job, asked.connector.trim()) {
        NamedConnector::One(id) => vec![id.clone()],
        NamedConnector::OneOf(_) | NamedConnector::Unknown(_) => names(job).into_iter().cloned().collect(),
    };
    to_be_seen(desk, job, job.problems(), &job.chosen_in(connectors))
}

fn form(screen: &Screen<'_>, asked: &Asked) -> Markup {
    let (desk, job) = (screen.desk, screen.job);
    let action = desk.link("/papers");
    let chosen = match named_connector(job, asked.connector.trim()) {
        NamedConnector::One(id) => Some(id),
        NamedConnector::OneOf(_) | NamedConnector::Unknown(_) => None,
    };
    html! {
        form.papers id=[screen.visitor.typed(&action).id()] method="post" action=(action) {
            div.row {
                div.stack {
                    label for="connector" { "Of" }
                    select #connector name="connector" {
                        option value="" { "the whole job" }
                        @for id in names(job) { option value=(id) selected[chosen.as_ref() == Some(id)] { (id) } }
                    }
                }
                div.stack {
                    label for="sort" { "Sheets" }
                    select #sort name="sort" {
                        option value="" { "all that are of use" }
                        @for (word, sort) in Sort::WORDS {
                            option value=(word) selected[asked.sort == word] { (word) @if sort.is_of_connector() { " (of each connector)" } }
                        }
                    }
                }
                div.stack {
                    label for="shown" { "Show" }
                    select #shown name="shown" {
                        option value="plan" { "what is planned" }
                        option value="as-built" selected[asked.shown == "as-built"] { "what is, by the notes" }
                    }
                }
                div.stack {
                    label for="paper" { "Paper" }
                    select #paper name="paper" {
                        @for (word, _) in Paper::WORDS { option value=(word) selected[asked.paper == word] { (word) } }
                    }
                }
                div.stack {
                    label for="by" { "Schedule by" }
                    select #by name="by" {
                        @for (word, _) in SortedBy::WORDS { option value=(word) selected[asked.by == word] { (word) } }
                    }
                }
            }
            @if job.reading.has_errors() {
                p.alarm { "Settings or lists have " a href=(desk.link("/problems?which=errors")) { "errors" } ": the rows that they concern would be left out." }
                label { input type="checkbox" name="skip" value="1" required checked[!asked.skip.is_empty()]; " make the sheets without these rows" }
            }
            p { button type="submit" { "Make the PDF" } }
        }
    }
}

/// The PDFs that were made.
fn made(desk: &Desk) -> Markup {
    let papers = papers::papers(desk.folder());
    html! {
        @if !papers.is_empty() {
            section {
                h2 #made { "Made" }
                ul.plain {
                    @for paper in papers.iter().take(LISTED) {
                        li {
                            a href=(desk.link(&format!("/papers/sheets/{}", encoded(&paper.name)))) { bdi { (paper.name) } } " "
                            span.soft { @if let Some(at) = paper.made { (super::parts::moment(at)) ", " } (paper.size.div_ceil(1024)) " KiB" }
                        }
                    }
                    @if papers.len() > LISTED { li.soft { "and " (papers.len() - LISTED) " older ones in the folder " code { "sheets" } } }
                }
            }
        }
    }
}

async fn make(State(desk): State<Desk>, visitor: Visitor, Form(asked): Form<Asked>) -> Response {
    desk.work(move |desk| {
        let (action, came) = (desk.link("/papers"), made_of(desk, &visitor, &asked));
        // What was chosen stands in what is asked.
        or_again(came, (desk, &visitor), (&action, &Fields::default()), |screen| Ok(shown(screen, &asked)))
    })
    .await
}

fn made_of(desk: &Desk, visitor: &Visitor, asked: &Asked) -> Result<Response, Trouble> {
    let job = &*desk.snapshot()?;
    if job.reading.has_errors() && asked.skip.is_empty() {
        let remedy = "put them right, or choose to make the sheets without their rows";
        return Err(Trouble::refused("settings or lists have errors", remedy));
    }
    let wish = wish(job, asked)?;
    let written = bench_sheets(&job.reading, &wish, desk.now())?;
    visitor.tell(told(&written, &wish));
    Ok(Redirect::to(&desk.link("/papers#made")).into_response())
}

fn wish(job: &Snapshot, asked: &Asked) -> Result<SheetsWish, Trouble> {
    let connectors = match asked.connector.as_str() {
        "" => Vec::new(),
        typed => match named_connector(job, typed.trim()) {
            NamedConnector::One(id) => vec![id],
            NamedConnector::OneOf(_) | NamedConnector::Unknown(_) => {
                return Err(Trouble::refused(format!("no list names a connector `{typed}`"), "choose one of the list"));
            }
        },
    };
    let sort = Sort::WORDS.iter().find(|(word, _)| *word == asked.sort).map(|(_, sort)| *sort);
    if let Some(sort) = sort.filter(|sort| !connectors.is_empty() && !sort.takes_connectors()) {
        let what = format!("`{}` shows the whole job, and not one connector", word_of(sort));
        return Err(Trouble::refused(what, "faces, work-lists and fuses are made for a connector"));
    }
    Ok(SheetsWish {
        shown: if asked.shown == "as-built" { Shown::AsBuilt } else { Shown::Plan },
        charts: None,
        sorts: sort.into_iter().collect(),
        connectors,
        paper: Paper::WORDS.iter().find(|(word, _)| *word == asked.paper).map(|(_, paper)| *paper).unwrap_or_default(),
        out: None,
        sorted_by: SortedBy::WORDS.iter().find(|(word, _)| *word == asked.by).map(|(_, by)| *by).unwrap_or_default(),
        legend: fuses::FACE,
        pictures: None,
    })
}

fn word_of(sort: Sort) -> &'static str {
    Sort::WORDS.iter().find(|(_, known)| *known == sort).map_or("", |(word, _)| word)
}

fn told(written: &SheetsWritten, wish: &SheetsWish) -> String {
    match (&written.sheets[..], &wish.sorts[..]) {
        ([], [sort]) => format!("no sheet: {}", sort.why_none()),
        ([], _) => "no sheets: the lists name no end that they could show".to_owned(),
        _ => {
            let name = written.path.file_name().unwrap_or_default().to_string_lossy();
            format!("{name}: {}", counted(written.pages(), "page"))
        }
    }
}

async fn sheet(State(desk): State<Desk>, Path(name): Path<String>) -> Response {
    desk.work(move |desk| {
        let bytes = papers::paper(desk.folder(), &name)?;
        let bytes = bytes.ok_or_else(|| Trouble::NotFound(format!("there are no sheets `{name}`")))?;
        Ok(file(&name, "application/pdf", bytes))
    })
    .await
}

async fn charts(State(desk): State<Desk>) -> Response {
    desk.look_hard(|desk, job| {
        let (name, bytes) = charts_zipped(&job.reading, desk.now())?;
        Ok(file(&name, "application/zip", bytes))
    })
    .await
}

async fn register(State(desk): State<Desk>) -> Response {
    desk.work_hard(|desk| {
        let zipped = export_zipped(desk.folder(), desk.now())?;
        let (name, bytes) = zipped.ok_or_else(|| Trouble::NotFound("no code was issued yet".to_owned()))?;
        Ok(file(&name, "application/zip", bytes))
    })
    .await
}

/// A file to be kept under its name.
fn file(name: &str, sort: &'static str, bytes: Vec<u8>) -> Response {
    // RFC 6266, 4.3: the name in UTF-8, percent-encoded.
    let kept = format!("attachment; filename*=UTF-8''{}", encoded(name));
    let kept = HeaderValue::from_str(&kept).unwrap_or(HeaderValue::from_static("attachment"));
    ([(header::CONTENT_TYPE, HeaderValue::from_static(sort)), (header::CONTENT_DISPOSITION, kept)], bytes)
        .into_response()
}
