//! THE BENCH IN A BROWSER: the job served on this machine, and to phones of the bench network where that is asked for.
//!
//! A request comes in, a page or a fragment of one goes out. All rules of the trade stay in `run`: each page asks it, and words the
//! answer. A request passes, in this order:
//!
//! ```text
//! jobs      the job that is meant, where a folder of several is served
//! access    host, origin and PIN: whether it may read, and whether it may write
//! desk      the job as it is now, or as it is after this write
//! …         one file or folder a page, with its routes
//! screen    the frame around every page, and what was told
//! assets    style, script and faces
//! ```
//!
//! `address` knows where pages are and how what users wrote stands in an address, `fields` is what forms and queries send. `site` writes the same pages as files, for a web space or a memory stick. `parts` holds what several pages show: a code as on its tag, a wire's colours, a problem.

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;

use axum::Router;
use axum::routing::get;
use jiff::Timestamp;
use tokio::net::TcpListener;

mod access;
mod address;
mod announce;
mod assets;
mod body;
mod circuits;
mod connectors;
mod desk;
mod fields;
mod find;
mod jobs;
mod kept;
mod lists;
mod noted;
mod overview;
mod papers;
mod parts;
mod print;
mod problems;
mod record;
mod scan;
mod screen;
mod sessions;
mod site;
mod sure;
mod trouble;
mod unlock;

pub use access::Reach;
pub use announce::{Announced, announce, own_addresses};
pub use jobs::{Jobs, NoJobs};
pub use sessions::Pin;
pub use site::{Site, SiteFailure, site};

use desk::{Desk, Shared};

/// How a job is served.
#[derive(Clone, Debug)]
pub struct Settings {
    /// The PIN that lets write.
    pub pin: Pin,
    /// Which hosts may be named by a browser.
    pub reach: Reach,
    /// Tells the time; a fixed one in tests.
    pub clock: fn() -> Timestamp,
}

/// Everything that is served, without a socket.
pub fn router(jobs: Jobs, settings: Settings) -> Router {
    let shared = Arc::new(Shared::new(settings));
    let of_all = Arc::clone(&shared);
    let served = jobs.clone().serving(move |folder, prefix| {
        let desk = Desk::new(folder, prefix, Arc::clone(&of_all));
        (desk.clone(), pages().with_state(desk))
    });
    let router = Router::new().route("/-/{file}", get(assets::asset)).merge(unlock::routes(&shared)).merge(served);
    access::guarded(jobs.leading_here(router), shared, &jobs)
}

/// The pages of one job, each with its routes.
fn pages() -> Router<Desk> {
    Router::new()
        .merge(overview::routes())
        .merge(circuits::routes())
        .merge(connectors::routes())
        .merge(problems::routes())
        .merge(lists::routes())
        .merge(papers::routes())
        .merge(print::routes())
        .merge(find::routes())
        .merge(scan::routes())
        .merge(record::routes())
}

/// Serves until the future `until` is done. Requests that are under way then are broken off: whatever is written is written whole
/// or not at all.
///
/// # Errors
/// When the socket fails.
pub async fn serve(listener: TcpListener, router: Router, until: impl Future<Output = ()>) -> io::Result<()> {
    let service = router.into_make_service_with_connect_info::<SocketAddr>();
    tokio::select! {
        ended = axum::serve(listener, service).into_future() => ended,
        () = until => Ok(()),
    }
}
