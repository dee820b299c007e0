//! The jobs of a server: one at the root, or a folder of several, each below its own name.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use axum::Router;
use axum::extract::Request;
use axum::http::Uri;
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use maud::html;
use tower::ServiceExt;

use super::access::{Visitor, own_path};
use super::screen;
use super::trouble::Trouble;
use crate::run::Job;
use crate::run::job::JOB_FILE;

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
                    Some("") => Redirect::temporary("/").into_response(),
                    Some(rest) if rest.starts_with('/') => Redirect::temporary(&own_path(rest)).into_response(),
                    Some(rest) if rest.starts_with('?') => {
                        Redirect::temporary(&own_path(&format!("/{rest}"))).into_response()
                    }
                    _ => next.run(request).await,
                }
            }
        }))
    }

    /// The pages of all jobs, each made by `pages` from its folder and the prefix of its paths.
    pub(super) fn serving(self, pages: impl Fn(PathBuf, &str) -> Router + Send + Sync + 'static) -> Router {
        match self {
            Self::One(folder) => pages(folder, ""),
            Self::In(folder) => {
                let several = Arc::new(Several { folder, pages: Box::new(pages), open: Mutex::default() });
                let listed = Arc::clone(&several);
                Router::new()
                    .route("/", get(move || async move { listed.start() }))
                    .fallback(move |request| several.pass(request))
            }
        }
    }
}

/// The jobs that a folder holds, by the names of their folders.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let jobs = entries.filter(|entry| entry.path().join(JOB_FILE).is_file());
    let mut names: Vec<String> = jobs.filter_map(|entry| entry.file_name().into_string().ok()).collect();
    names.sort();
    names
}

struct Several {
    folder: PathBuf,
    pages: Box<dyn Fn(PathBuf, &str) -> Router + Send + Sync>,
    open: Mutex<BTreeMap<String, Router>>,
}

impl Several {
    fn start(&self) -> Response {
        let names = names(&self.folder);
        let body = html! {
            ul.jobs { @for name in &names { li { a href={ "/" (encoded(name)) "/" } { (name) } } } }
        };
        screen::bare("Jobs", body, None).into_response()
    }

    /// Hands a request to the job that its path begins with, without that beginning.
    async fn pass(self: Arc<Self>, mut request: Request) -> Response {
        let path = request.uri().path().trim_start_matches('/').to_owned();
        let (first, rest) = path.split_once('/').unwrap_or((&path, ""));
        let job = names(&self.folder).into_iter().find(|name| encoded(name).eq_ignore_ascii_case(first));
        let Some(job) = job else {
            return Trouble::NotFound(format!("there is no job `{first}` here")).into_response();
        };
        let query = request.uri().query().map(|query| format!("?{query}")).unwrap_or_default();
        let request_path = format!("/{rest}{query}");
        let Ok(uri) = request_path.parse::<Uri>() else {
            return Trouble::NotFound("there is no such page".to_owned()).into_response();
        };
        *request.uri_mut() = uri;
        let router = {
            let mut open = self.open.lock().unwrap_or_else(PoisonError::into_inner);
            let new = || (self.pages)(self.folder.join(&job), &format!("/{}", encoded(&job)));
            open.entry(job.clone()).or_insert_with(new).clone()
        };
        if let Some(visitor) = request.extensions_mut().get_mut::<Visitor>() {
            // The page knows its own prefix.
            visitor.path = request_path;
        }
        // A router fails in no way of its own.
        router.oneshot(request).await.unwrap_or_else(|never| match never {})
    }
}

/// A text as one segment of a path (RFC 3986, 3.3).
pub fn encoded(text: &str) -> String {
    let is_plain = |byte: u8| byte.is_ascii_alphanumeric() || b"-._~".contains(&byte);
    text.bytes()
        .map(|byte| if is_plain(byte) { char::from(byte).to_string() } else { format!("%{byte:02X}") })
        .collect()
}
