//! The pages as files: records, connectors and a search that need no server, for a web space or a memory stick.
//!
//! The pages are those that are served, asked for one by one and with their links made relative:
//!
//! ```text
//! paths     what there are pages of -> which file each is
//! settled   a page as it is served  -> a page as a file
//! first     the first page, its search and the list of all codes
//! ```
//!
//! A printed link `…/7KF4/A` is answered by `7KF4/A/index.html`, as every web server does; a connector's by `C/J1/index.html`. Printed
//! links are in capitals, and so are the names of folders.

use std::collections::BTreeSet;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use axum::Router;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode};
use jiff::Timestamp;
use tower::ServiceExt;

use super::access::{Reach, Visitor};
use super::assets;
use super::desk::{Desk, Shared};
use super::screen::Screen;
use super::sessions::Pin;
use super::{Settings, pages};
use crate::base::Problem;
use crate::run::whole_folder::{MARK, NotBegun, WholeFolder};
use crate::run::{NotHeld, RunFailure, Snapshot};
use paths::Paths;

mod first;
mod paths;
mod settled;

/// What was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Site {
    /// The first page.
    pub index: PathBuf,
    /// How many files.
    pub files: usize,
    /// How many bytes.
    pub bytes: u64,
    /// Records of how many codes.
    pub codes: usize,
}

/// Why nothing was written.
#[derive(Debug, thiserror::Error)]
pub enum SiteFailure {
    /// The folder is another's, or cannot be made.
    #[error(transparent)]
    NotBegun(#[from] NotBegun),
    /// The job cannot be read, or the disk refuses.
    #[error(transparent)]
    Failed(#[from] RunFailure),
    /// The settings cannot be used.
    #[error("job.toml cannot be used")]
    Settings(Vec<Problem>),
    /// A page of the job cannot be made, as its server would tell it.
    #[error("the page `{0}` cannot be made")]
    Unmade(String),
    /// There is no thread to work on.
    #[error(transparent)]
    Io(#[from] io::Error),
}

impl From<NotHeld> for SiteFailure {
    fn from(why: NotHeld) -> Self {
        match why {
            NotHeld::Failed(failure) => Self::Failed(failure),
            NotHeld::Settings(problems) => Self::Settings(problems),
        }
    }
}

/// Says what the folder is, and lets it be replaced.
const SAID: &str = "Wiring records, written by `loomtag site`. Open index.html. While this file lies here, `loomtag site` replaces the \
    whole folder when it writes the records again: keep nothing else in it.\n";

/// Writes the pages of the job in `folder` into the folder `to`, which is replaced whole where it was written so before.
///
/// # Errors
/// [`SiteFailure`] says why nothing was written; what lay there is there as it was.
pub fn site(folder: &Path, to: &Path, clock: fn() -> Timestamp) -> Result<Site, SiteFailure> {
    let nobody = Pin::from_typed("0000").expect("four digits are a PIN");
    let shared = Arc::new(Shared::new(Settings { pin: nobody, reach: Reach::default(), clock }));
    let desk = Desk::still(folder.to_owned(), Arc::clone(&shared));
    let job = desk.held_snapshot()?;
    let paths = Paths::of(&job);
    let mut written = WholeFolder::begin(to)?;
    written.put(MARK, SAID.as_bytes())?;
    for name in ["icon.svg", "code.ttf"] {
        written.put(name, assets::bytes(name))?;
    }
    let style = String::from_utf8_lossy(assets::bytes("style.css")).replace("\"/-/code.ttf\"", "\"code.ttf\"");
    written.put("style.css", style.as_bytes())?;

    let visitor = Visitor::reader(Arc::clone(&shared), "/");
    let screen = Screen { desk: &desk, job: &job, visitor: &visitor };
    written.put("search.js", first::script(&job, &paths).as_bytes())?;
    let own = [(paths::FIRST, first::page(&screen)), (paths::CODES, first::codes(&screen))];
    for (file, page) in own {
        written.put(file, settled::page(&page.into_string(), file, &paths).as_bytes())?;
    }
    let runtime = tokio::runtime::Builder::new_current_thread().build()?;
    let router = pages().with_state(desk.clone());
    let mut codes = BTreeSet::new();
    for (path, file) in paths.asked() {
        let Some(page) = runtime.block_on(ask(&router, &shared, path))? else { continue };
        written.put(file, settled::page(&page, file, &paths).as_bytes())?;
        codes.extend(paths.code_of(path));
    }
    let (files, bytes) = written.finish()?;
    Ok(Site { index: to.join(paths::FIRST), files, bytes, codes: codes.len() })
}

/// A page as it is served to somebody who may not write; `None` where there is none, or another one is meant.
async fn ask(router: &Router, shared: &Arc<Shared>, path: &str) -> Result<Option<String>, SiteFailure> {
    let unmade = || SiteFailure::Unmade(path.to_owned());
    let mut request = Request::get(path).body(Body::empty()).map_err(|_| unmade())?;
    request.extensions_mut().insert(Visitor::reader(Arc::clone(shared), path));
    let answer = router.clone().oneshot(request).await.unwrap_or_else(|never| match never {});
    match answer.status() {
        StatusCode::OK => {}
        StatusCode::NOT_FOUND | StatusCode::SEE_OTHER => return Ok(None),
        _ => return Err(unmade()),
    }
    let bytes = to_bytes(answer.into_body(), usize::MAX).await.map_err(|_| unmade())?;
    Ok(Some(String::from_utf8(bytes.to_vec()).map_err(|_| unmade())?))
}

/// The codes that a job has issued.
fn issued_codes(job: &Snapshot) -> BTreeSet<String> {
    job.codes.iter().map(ToString::to_string).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_that_fails_is_no_page_that_is_not_there() {
        let pin = Pin::from_typed("0000").expect("four digits are a PIN");
        let shared = Arc::new(Shared::new(Settings { pin, reach: Reach::default(), clock: Timestamp::now }));
        let answer = |status: StatusCode| axum::routing::get(move || async move { status });
        let router = Router::new()
            .route("/whole", answer(StatusCode::OK))
            .route("/moved", answer(StatusCode::SEE_OTHER))
            .route("/broken", answer(StatusCode::INTERNAL_SERVER_ERROR));
        let runtime = tokio::runtime::Builder::new_current_thread().build().expect("a runtime");
        let asked = |path: &str| runtime.block_on(ask(&router, &shared, path));
        assert!(matches!(asked("/whole"), Ok(Some(_))));
        assert!(matches!((asked("/moved"), asked("/none")), (Ok(None), Ok(None))));
        assert!(matches!(asked("/broken"), Err(SiteFailure::Unmade(path)) if path == "/broken"));
    }
}
