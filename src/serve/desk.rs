//! A job at its desk: what every handler gets, to look at the job and to write to it.
//!
//! Reading a job, drawing and writing block; they run on threads that may, never on those that carry the connections.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use tokio::sync::{Semaphore, SemaphorePermit};
use tokio::time::timeout;

use super::Settings;
use super::lists::Drafts;
use super::screen::SENT_FROM;
use super::sessions::Sessions;
use super::trouble::Trouble;
use crate::run::{Held, NotHeld, Snapshot};

/// What links begin with on pages that become files.
pub const STILL: &str = "/-still-";

/// So many looks that take long and much memory are answered at once.
const MOST_HARD_AT_ONCE: usize = 3;
/// Longest that one waits for its turn.
const PATIENCE: Duration = Duration::from_secs(10);

/// What all jobs of one server share.
pub struct Shared {
    /// How they are served.
    pub settings: Settings,
    /// Who may write.
    pub sessions: Sessions,
    /// Lists that were sent and are not taken yet.
    pub drafts: Drafts,
    /// Turns of what takes long.
    hard: Semaphore,
}

impl Shared {
    pub fn new(settings: Settings) -> Self {
        Self {
            settings,
            sessions: Sessions::default(),
            drafts: Drafts::default(),
            hard: Semaphore::new(MOST_HARD_AT_ONCE),
        }
    }

    async fn hard_turn(&self, patience: Duration) -> Option<SemaphorePermit<'_>> {
        timeout(patience, self.hard.acquire()).await.ok()?.ok()
    }

    /// The time.
    pub fn now(&self) -> Timestamp {
        (self.settings.clock)()
    }
}

/// One job of a server.
#[derive(Clone)]
pub struct Desk {
    held: Arc<Held>,
    prefix: Arc<str>,
    shared: Arc<Shared>,
}

impl Desk {
    /// The desk of the job in `folder`, whose pages begin with `prefix`: empty, or `/marsh-hen`.
    pub fn new(folder: PathBuf, prefix: &str, shared: Arc<Shared>) -> Self {
        Self { held: Arc::new(Held::new(folder)), prefix: prefix.into(), shared }
    }

    /// The desk of a job whose pages become files: nobody writes there, and whoever writes the files puts the right links in.
    pub fn still(folder: PathBuf, shared: Arc<Shared>) -> Self {
        Self::new(folder, STILL, shared)
    }

    /// Whether the pages become files.
    pub fn is_still(&self) -> bool {
        &*self.prefix == STILL
    }

    /// The job folder.
    pub fn folder(&self) -> &Path {
        self.held.folder()
    }

    /// What all jobs share.
    pub fn shared(&self) -> &Shared {
        &self.shared
    }

    /// The time.
    pub fn now(&self) -> Timestamp {
        self.shared.now()
    }

    /// A link to a page of this job: of `/circuits`, `/marsh-hen/circuits`.
    pub fn link(&self, path: &str) -> String {
        format!("{}{path}", self.prefix)
    }

    /// Whether other jobs are served beside it.
    pub fn is_of_several(&self) -> bool {
        !self.prefix.is_empty()
    }

    /// The job as it is now. Blocks: for use within [`Desk::look`].
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn snapshot(&self) -> Result<Arc<Snapshot>, Trouble> {
        Ok(self.held.snapshot()?)
    }

    /// The same for work that no page waits for.
    ///
    /// # Errors
    /// When it cannot be read.
    pub fn held_snapshot(&self) -> Result<Arc<Snapshot>, NotHeld> {
        self.held.snapshot()
    }

    /// Answers from the job as it is now.
    pub async fn look<A>(
        &self,
        answer: impl FnOnce(&Self, &Snapshot) -> Result<A, Trouble> + Send + 'static,
    ) -> Response
    where
        A: IntoResponse + 'static,
    {
        self.work(|desk| answer(desk, &*desk.snapshot()?)).await
    }

    /// The same for what takes long or much memory: only some of it is answered at once, whoever asks.
    pub async fn look_hard<A>(
        &self,
        answer: impl FnOnce(&Self, &Snapshot) -> Result<A, Trouble> + Send + 'static,
    ) -> Response
    where
        A: IntoResponse + 'static,
    {
        self.work_hard(|desk| answer(desk, &*desk.snapshot()?)).await
    }

    /// [`Desk::work`] likewise.
    pub async fn work_hard<A>(&self, work: impl FnOnce(&Self) -> Result<A, Trouble> + Send + 'static) -> Response
    where
        A: IntoResponse + 'static,
    {
        match self.shared.hard_turn(PATIENCE).await {
            Some(_turn) => self.work(work).await,
            None => Trouble::Busy.on(self),
        }
    }

    /// Does something that blocks: reads, draws, writes. Who has written asks [`Desk::snapshot`] again for what is so now.
    pub async fn work<A>(&self, work: impl FnOnce(&Self) -> Result<A, Trouble> + Send + 'static) -> Response
    where
        A: IntoResponse + 'static,
    {
        let desk = self.clone();
        // The response is made there too: rendering a long page is work.
        let from = SENT_FROM.try_with(Clone::clone).ok().flatten();
        let working = move || match work(&desk) {
            Ok(answer) => answer.into_response(),
            Err(trouble) => trouble.on(&desk).into_response(),
        };
        let working = tokio::task::spawn_blocking(move || SENT_FROM.sync_scope(from, working));
        working.await.unwrap_or_else(|_| Trouble::Broken.into_response())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::serve::{Pin, Reach};

    #[test]
    fn what_takes_long_waits_for_its_turn_and_not_for_ever() {
        let pin = Pin::from_typed("271828").expect("a PIN");
        let shared = Shared::new(Settings { pin, reach: Reach::default(), clock: Timestamp::now });
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().expect("a runtime");
        runtime.block_on(async {
            let brief = Duration::from_millis(10);
            let mut turns = Vec::new();
            for _ in 0..MOST_HARD_AT_ONCE {
                turns.push(shared.hard_turn(brief).await.expect("a turn is free"));
            }
            assert!(shared.hard_turn(brief).await.is_none());
            turns.pop();
            assert!(shared.hard_turn(brief).await.is_some());
        });
    }
}
