//! The jobs of a server: one at the root, or a folder of several, each below its own name.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::extract::multipart::{Multipart, MultipartRejection};
use axum::extract::{DefaultBodyLimit, Query, Request};
use axum::http::{Method, StatusCode, Uri};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::{Markup, html};
use serde::Deserialize;
use tower::ServiceExt;

use super::access::{MOST_SCANNED, Visitor, own_path};
use super::address::{connector_path, decoded, encoded};
use super::desk::Desk;
use super::overview::Waits;
use super::scan;
use super::scan::of_all::{self, Among};
use super::screen;
use super::trouble::Trouble;
use crate::base::{TagCode, counted, natural};
use crate::run::Job;
use crate::run::job::JOB_FILE;
use crate::run::recall::Scanned;

/// What is served.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Jobs {
    /// One job.
    One(PathBuf),
    /// All job folders within a folder; one that is added while it is served is served too.
    In(PathBuf),
}

/// There is nothing to serve.
#[derive(Debug, thiserror::Error)]
#[error("`{}` is no job folder and holds none", .0.display())]
pub struct NoJobs(pub PathBuf);

impl Jobs {
    /// The job of a folder, or the jobs of the folders in it.
    ///
    /// # Errors
    /// When there is none.
    pub fn of(folder: &Path) -> Result<Self, NoJobs> {
        if folder.join(JOB_FILE).is_file() {
            return Ok(Self::One(folder.to_owned()));
        }
        if names(folder).is_empty() { Err(NoJobs(folder.to_owned())) } else { Ok(Self::In(folder.to_owned())) }
    }

    /// The address that the symbols of a single job begin with, in capitals as they have it.
    pub fn base(&self) -> Option<String> {
        let Self::One(folder) = self else { return None };
        let job = Job::read(folder).ok()?.value?;
        job.payload().base.as_ref().map(|base| base.value.clone())
    }

    /// Leads from where the symbols of a single job say that it is: of `HTTP://HOST/HEN`, `/HEN/7KF4/A` is `/7KF4/A` here.
    pub(super) fn leading_here(&self, router: Router) -> Router {
        let path = self.base().and_then(|base| {
            let (_, path) = base.split_once("://")?.1.split_once('/')?;
            Some(format!("/{}", path.trim_matches('/')))
        });
        let Some(path) = path.filter(|path| path.len() > 1) else { return router };
        let path: Arc<str> = path.into();
        router.layer(middleware::from_fn(move |request: Request, next: Next| {
            let path = Arc::clone(&path);
            async move {
                let asked = request.uri().path_and_query().map_or("/", |asked| asked.as_str());
                let below = asked.get(..path.len()).filter(|start| start.eq_ignore_ascii_case(&path));
                let rest = below.map(|_| &asked[path.len()..]);
                match rest {
                    // The path may be that of a page here: `HTTP://BENCH/PRINT`.
                    Some(rest) if is_symbol(rest) => Redirect::temporary(&own_path(rest)).into_response(),
                    // The path alone is the first page, where it is no page itself.
                    Some("" | "/") if request.method() == Method::GET => {
                        let answer = next.run(request).await;
                        if answer.status().is_success() { answer } else { Redirect::to("/").into_response() }
                    }
                    _ => next.run(request).await,
                }
            }
        }))
    }

    /// The pages of all jobs, each made by `pages` from its folder and the prefix of its paths.
    pub(super) fn serving(self, pages: impl Fn(PathBuf, &str) -> (Desk, Router) + Send + Sync + 'static) -> Router {
        match self {
            Self::One(folder) => pages(folder, "").1,
            Self::In(folder) => {
                let several = Arc::new(Several { folder, pages: Box::new(pages), open: Mutex::default() });
                let (listed, scanned, sent) = (Arc::clone(&several), Arc::clone(&several), Arc::clone(&several));
                let read = move |Query(asked): Query<scan::Asked>, files: Result<Multipart, MultipartRejection>| {
                    of_all::read(move || sent.among(), asked, files)
                };
                let scanning = get(move |Query(asked): Query<scan::Asked>| scan(scanned, asked))
                    .post(read)
                    .layer(DefaultBodyLimit::max(MOST_SCANNED));
                Router::new()
                    .route("/", get(move |Query(typed): Query<Typed>| start(listed, typed)))
                    .route("/scan", scanning)
                    .route("/find", get(|Query(found): Query<Found>| async move { Redirect::to(&found.listed()) }))
                    .fallback(move |request| pass(several, request))
            }
        }
    }
}

/// A code that is typed where all jobs are listed.
#[derive(Deserialize)]
struct Typed {
    #[serde(default)]
    code: String,
}

/// What a find box asks for: where all jobs are listed, codes are found.
#[derive(Deserialize)]
struct Found {
    #[serde(default)]
    q: String,
}

impl Found {
    fn listed(&self) -> String {
        let typed = self.q.trim();
        if typed.is_empty() { "/".to_owned() } else { format!("/?code={}", encoded(typed)) }
    }
}

/// The path of a code as it is typed, or as a tag has it: `8GMK A` and `8GMK/A` are the end of a circuit.
fn path_of(typed: &str) -> String {
    if let Ok((code, Some(letter))) = TagCode::from_typed_with_letter(typed) {
        return format!("/{code}/{letter}");
    }
    let parts = typed.split('/').filter(|part| !part.trim().is_empty());
    parts.fold(String::new(), |path, part| path + "/" + &encoded(part.trim()))
}

/// Whether a path is that of a symbol: `/7KF4/A`, `/C/J1`.
fn is_symbol(path: &str) -> bool {
    let first = path.strip_prefix('/').and_then(|path| path.split(['/', '?']).next());
    first.is_some_and(|first| first.eq_ignore_ascii_case("C") || TagCode::from_typed(first).is_ok())
}

/// Whether a path may be meant for a code, perhaps one that was mistyped, or a connector: of no other are all jobs asked.
fn may_be_symbol(path: &str) -> bool {
    let is_near = |segment: &str| {
        let length = segment.chars().filter(char::is_ascii_alphanumeric).count();
        (3..=CODE_LIKE).contains(&length) && segment.chars().all(|c| c.is_ascii_alphanumeric() || "-. ".contains(c))
    };
    is_symbol(path) || is_link_below(path) || path.split('/').nth(1).is_some_and(|first| is_near(&decoded(first)))
}

/// Whether a path can be that of a symbol whose base address has a path: `/MARSH-HEN/7KF4/A`, `/MARSH-HEN/C/J1`.
fn is_link_below(path: &str) -> bool {
    let names = |segment: &str| is_symbol(&format!("/{segment}"));
    let mut segments = path.trim_start_matches('/').split('/');
    segments.next().is_some_and(|first| !names(first)) && segments.any(names)
}

/// What stands behind the path of a job's base address. Symbols are upper case, and paths are compared without it.
fn below_base(desk: &Desk, path: &str) -> Option<String> {
    let job = desk.snapshot().ok()?;
    let base = job.reading.job.payload().base.as_ref()?.value.to_lowercase();
    let (_, address) = base.split_once("://")?;
    let base = address.split_once('/')?.1.trim_matches('/');
    let own = path.trim_start_matches('/');
    let rest = own.get(base.len()..).filter(|_| own[..base.len()].eq_ignore_ascii_case(base))?;
    (!base.is_empty() && rest.starts_with('/')).then(|| rest.to_owned())
}

/// The jobs that a folder holds, by the names of their folders.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let jobs = entries.filter(|entry| entry.path().join(JOB_FILE).is_file());
    let mut names: Vec<String> = jobs.filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.sort_by(|a, b| natural::compare(a, b));
    names
}

/// Nobody who means a code types more letters and digits.
const CODE_LIKE: usize = 7;

/// What makes the pages of a job, from its folder and the prefix of its paths.
type Pages = Box<dyn Fn(PathBuf, &str) -> (Desk, Router) + Send + Sync>;

struct Several {
    folder: PathBuf,
    pages: Pages,
    open: Mutex<BTreeMap<String, (Desk, Router)>>,
}

impl Several {
    /// The job of a name, and its pages.
    fn open(&self, name: &str) -> (Desk, Router) {
        let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
        let new = || (self.pages)(self.folder.join(name), &format!("/{}", encoded(name)));
        open.entry(name.to_owned()).or_insert_with(new).clone()
    }

    /// The names of all jobs; those that are gone are let go.
    fn names(&self) -> Vec<String> {
        let names = names(&self.folder);
        self.open.lock().unwrap_or_else(PoisonError::into_inner).retain(|name, _| names.contains(name));
        names
    }

    /// All jobs that can be read.
    fn among(&self) -> Vec<Among> {
        let job = |name: String| {
            let (desk, _) = self.open(&name);
            let job = desk.snapshot().ok()?;
            Some(Among { title: titled(&name, &desk), desk, job })
        };
        self.names().into_iter().filter_map(job).collect()
    }

    /// The job that the first segment of a path names, and its pages. Looks at the disk.
    fn asked(&self, segment: &str) -> Option<(Desk, Router)> {
        self.named(segment).map(|name| self.open(&name))
    }

    /// The job that the first segment of a path names. Symbols are upper case: where no name is the same, case is left aside.
    fn named(&self, segment: &str) -> Option<String> {
        let segment = decoded(segment);
        // What is open is the name of a folder as it is written.
        let is_open = self.open.lock().unwrap_or_else(PoisonError::into_inner).contains_key(&segment);
        if is_open && self.folder.join(&segment).join(JOB_FILE).is_file() {
            return Some(segment);
        }
        let mut names = self.names();
        let lower = segment.to_lowercase();
        let at = names.iter().position(|name| *name == segment);
        let at = at.or_else(|| names.iter().position(|name| name.to_lowercase() == lower))?;
        Some(names.swap_remove(at))
    }
}

/// All jobs with how far they are, or the code that was typed there.
async fn start(several: Arc<Several>, typed: Typed) -> Response {
    let code = typed.code.trim().to_owned();
    if !code.is_empty() {
        return look_up(several, path_of(&code)).await;
    }
    let listing = tokio::task::spawn_blocking(move || {
        let jobs = several.names();
        html! {
            form.row action="/" role="search" {
                div.stack {
                    label for="code" { "Code on a tag of any job" }
                    input #code name="code" autocomplete="off" autocapitalize="characters" spellcheck="false" maxlength="40";
                }
                button type="submit" { "Find" }
                a.button.second href="/scan" { "Scan" }
            }
            ul.jobs { @for name in &jobs { (job(name, &several.open(name).0)) } }
            @if jobs.is_empty() { p { "There is no job folder here any more." } }
        }
    });
    match listing.await {
        Ok(body) => screen::bare("Jobs", body, None).into_response(),
        Err(_) => Trouble::Broken.into_response(),
    }
}

/// Where tags of any job are scanned.
async fn scan(several: Arc<Several>, asked: scan::Asked) -> Response {
    let answer = tokio::task::spawn_blocking(move || of_all::asked(&several.among(), &asked));
    answer.await.unwrap_or_else(|_| Trouble::Broken.into_response())
}

/// A job by its title and its folder, for several may have one title.
fn titled(name: &str, desk: &Desk) -> String {
    desk.snapshot().map_or_else(|_| name.to_owned(), |job| format!("{} (folder {name})", job.reading.job.title()))
}

/// A job in the list of all, or why it cannot be read.
fn job(name: &str, desk: &Desk) -> Markup {
    let link = desk.link("/");
    match desk.snapshot() {
        Ok(job) => {
            let waits = Waits::of(&job);
            html! {
                li.card {
                    a.title href=(link) { bdi { (job.reading.job.title()) } }
                    p.soft { "folder " bdi { code { (name) } } ", " (counted(job.reading.circuits.all().len(), "circuit")) }
                    @if waits.asked > 0 {
                        p { progress max=(waits.asked) value=(waits.done) aria-label="done" {} (waits.done) " of " (waits.asked) " ends done" }
                    }
                    p {
                        @for (at, one) in waiting(desk, &waits).iter().enumerate() { @if at > 0 { " · " } (one) }
                    }
                }
            }
        }
        Err(trouble) => html! {
            li.card {
                a.title href=(link) { bdi { (name) } }
                (trouble.told(Some(desk)))
            }
        },
    }
}

/// What waits in a job.
fn waiting(desk: &Desk, waits: &Waits) -> Vec<Markup> {
    let problems = |class: &str, count: usize, what: &str| {
        (count > 0).then(|| html! { a.(class) href=(desk.link("/problems")) { (counted(count, what)) } })
    };
    let others = [(waits.undecided, "end", "undecided"), (waits.blanks, "blank", "not assigned")];
    let others = others.into_iter().filter(|(count, ..)| *count > 0);
    let others = others.map(|(count, what, how)| html! { (counted(count, what)) " " (how) });
    let problems = [problems("stop", waits.errors, "error"), problems("", waits.warnings, "warning")];
    problems.into_iter().flatten().chain(others).collect()
}

/// Hands a request to the job that its path begins with, without that beginning.
async fn pass(several: Arc<Several>, mut request: Request) -> Response {
    let path = request.uri().path().trim_start_matches('/').to_owned();
    let (first, rest) = path.split_once('/').unwrap_or((&path, ""));
    let (asked, among) = (first.to_owned(), Arc::clone(&several));
    let Ok(job) = tokio::task::spawn_blocking(move || among.asked(&asked)).await else {
        return Trouble::Broken.into_response();
    };
    let Some((_, router)) = job else {
        return match *request.method() {
            Method::GET | Method::HEAD if may_be_symbol(request.uri().path()) => {
                look_up(several, request.uri().path().to_owned()).await
            }
            _ => Trouble::NotFound(format!("there is no job `{}` here", decoded(first))).into_response(),
        };
    };
    let query = request.uri().query().map(|query| format!("?{query}")).unwrap_or_default();
    let path = format!("/{rest}{query}");
    let Ok(uri) = path.parse::<Uri>() else {
        return Trouble::NotFound("there is no such page".to_owned()).into_response();
    };
    *request.uri_mut() = uri;
    if let Some(visitor) = request.extensions_mut().get_mut::<Visitor>() {
        // The page knows its own prefix.
        visitor.path = path;
    }
    // A router fails in no way of its own.
    router.oneshot(request).await.unwrap_or_else(|never| match never {})
}

/// What a code or a connector without its job is, in any of them: one leads there, of several one is chosen.
async fn look_up(several: Arc<Several>, path: String) -> Response {
    let looked = tokio::task::spawn_blocking(move || {
        let (mut found, mut near) = (Vec::new(), Vec::new());
        for name in several.names() {
            let (desk, _) = several.open(&name);
            if is_link_below(&path)
                && let Some(rest) = below_base(&desk, &path)
            {
                found.push(Told { link: desk.link(&rest), job: titled(&name, &desk), what: String::new() });
                continue;
            }
            let Ok(job) = desk.snapshot() else { continue };
            let told = |path: &str, what: String| Told { link: desk.link(path), job: titled(&name, &desk), what };
            match job.recall.by_scanned(&format!("HTTP://LOCALHOST{path}")) {
                Scanned::Known(known) => found.push(told(&path, known.record.in_a_line())),
                Scanned::Blank { told: what, .. } => found.push(told(&path, what)),
                Scanned::Connector { connector, found: ends, .. } if !ends.is_empty() => {
                    found.push(told(&connector_path(&connector), format!("connector {connector}")));
                }
                other => near.extend(
                    other
                        .nearest()
                        .iter()
                        .map(|near| told(&format!("/{}", near.code), format!("{}  {}", near.code, near.what))),
                ),
            }
        }
        (path, found, near)
    });
    let Ok((path, found, near)) = looked.await else { return Trouble::Broken.into_response() };
    let asked = decoded(path.trim_start_matches('/'));
    match (&found[..], &near[..]) {
        ([only], _) => Redirect::to(&only.link).into_response(),
        ([], near) => {
            let body = html! {
                p { "no job here has " bdi { code { (asked) } } }
                @if !near.is_empty() { h2 { "Perhaps it was" } (choice(near)) }
                @else { p.soft { "Codes and connectors are looked for in all jobs; places and words within one of them." } }
                p { a href="/" { "All jobs" } }
            };
            (StatusCode::NOT_FOUND, screen::bare("Not found", body, None)).into_response()
        }
        (several, _) => {
            let body =
                html! { p { "Several jobs have " bdi { code { (asked) } } ". Which tag is it?" } (choice(several)) };
            screen::bare("Several jobs", body, None).into_response()
        }
    }
}

/// Something that was meant, in one of the jobs.
struct Told {
    link: String,
    job: String,
    what: String,
}

fn choice(all: &[Told]) -> Markup {
    html! {
        ul.jobs { @for one in all {
            li.card { a.title href=(one.link) { bdi { (one.job) } } p { bdi { (one.what) } } }
        } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn links_below_a_base_path_are_known_by_their_code() {
        for path in ["/MARSH-HEN/7KF4", "/marsh-hen/7kf4/a", "/boats/hen/C/J1"] {
            let is_code = |segment: &str| TagCode::from_typed(segment).is_ok() || segment == "C";
            assert_eq!(is_link_below(path), path.split('/').skip(2).any(is_code), "{path}");
        }
        for path in ["/", "/circuits", "/C/J1", "/papers/sheets/bench.pdf", "//", "/C/7KF4"] {
            assert!(!is_link_below(path), "{path}");
        }
    }

    #[test]
    fn a_code_is_found_as_it_is_printed_and_as_a_link_has_it() {
        for typed in ["7kf4 a", "7KF4/A", " 7KF4  A"] {
            assert!(path_of(typed).eq_ignore_ascii_case("/7KF4/A"), "{typed}: {}", path_of(typed));
        }
        assert_eq!((path_of("7KF4"), path_of("C/J1")), ("/7KF4".to_owned(), "/C/J1".to_owned()));
    }

    #[test]
    fn all_jobs_are_asked_for_what_may_be_a_code_or_a_connector() {
        for path in ["/7KF4", "/7kf-4/a", "/7KFF", "/C/J1", "/c/j1", "/marsh-hen/7KF4/A", "/marsh-hen/C/J1"] {
            assert!(may_be_symbol(path), "{path}");
        }
        for path in ["/favicon.ico", "/apple-touch-icon.png", "/.well-known/x", "/wordpress/login", "/", "/a"] {
            assert!(!may_be_symbol(path), "{path}");
        }
        assert!(
            is_symbol("/7KF4/A") && is_symbol("/C/J1") && !is_symbol("/runs") && !is_symbol("") && !is_symbol("?a=1")
        );
    }
}
