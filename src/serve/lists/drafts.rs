//! Lists that were sent and are looked at, in memory: nothing of the job changes by them. There are only so many, and only so large;
//! the one longest untouched makes room.

use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::{SignedDuration, Timestamp};

use crate::run::taking::Wish;

/// Most drafts at once, of all jobs together.
const MOST: usize = 24;
/// Most bytes of them together.
const MOST_BYTES: usize = 160 << 20;
/// How long one lasts after it was touched last.
const LASTING: SignedDuration = SignedDuration::from_hours(24);

/// All drafts of a server.
#[derive(Default)]
pub struct Drafts {
    all: Mutex<Vec<Draft>>,
    /// One list is taken after the other.
    taking: Mutex<()>,
}

/// A list that was sent, with what is chosen for it.
#[derive(Clone)]
pub struct Draft {
    /// Its name in addresses.
    pub id: String,
    /// What is chosen.
    pub wish: Wish,
    folder: PathBuf,
    touched: Timestamp,
}

impl Drafts {
    fn all(&self) -> MutexGuard<'_, Vec<Draft>> {
        self.all.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Keeps a new one of a job; its name.
    ///
    /// # Errors
    /// When the system has no chance to give for a name.
    pub fn add(&self, folder: &Path, wish: Wish, now: Timestamp) -> Result<String, getrandom::Error> {
        let mut bytes = [0_u8; 12];
        getrandom::fill(&mut bytes)?;
        let id: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
        let mut all = self.all();
        all.retain(|draft| now.duration_since(draft.touched) < LASTING);
        let size = |all: &[Draft]| all.iter().map(|draft| draft.wish.sent.bytes.len()).sum::<usize>();
        while all.len() >= MOST || (!all.is_empty() && size(&all) + wish.sent.bytes.len() > MOST_BYTES) {
            // Those in front were touched longest ago.
            all.remove(0);
        }
        all.push(Draft { id: id.clone(), wish, folder: folder.to_owned(), touched: now });
        Ok(id)
    }

    /// The one of this name, of this job.
    pub fn get(&self, folder: &Path, id: &str) -> Option<Draft> {
        self.all().iter().find(|draft| draft.id == id && draft.folder == folder).cloned()
    }

    /// All of a job, the newest last.
    pub fn of_job(&self, folder: &Path) -> Vec<Draft> {
        self.all().iter().filter(|draft| draft.folder == folder).cloned().collect()
    }

    /// Keeps what is chosen now.
    pub fn choose(&self, id: &str, wish: Wish, now: Timestamp) {
        let mut all = self.all();
        if let Some(at) = all.iter().position(|draft| draft.id == id) {
            let mut draft = all.remove(at);
            (draft.wish, draft.touched) = (wish, now);
            all.push(draft);
        }
    }

    /// Forgets one.
    pub fn drop(&self, id: &str) {
        self.all().retain(|draft| draft.id != id);
    }

    /// Holds others off while a list is taken.
    pub fn taking(&self) -> MutexGuard<'_, ()> {
        self.taking.lock().unwrap_or_else(PoisonError::into_inner)
    }
}
