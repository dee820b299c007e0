//! What was sent of a run, kept in sent.json beside its PDFs. The register is not touched: whatever becomes of a job, the run and its
//! codes stay as they are.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::failure::SendFailure;
use super::follow::Ending;
use crate::run::sendable::{keep_beside, kept_beside};

/// Its name.
pub const SENT_FILE: &str = "sent.json";
/// Older ones than the last so many are forgotten.
const MOST: usize = 200;

/// A job that was sent.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct SentFile {
    /// The PDF.
    pub file: String,
    /// When: `2026-11-25T21:01:30Z`.
    pub at: String,
    /// Where to.
    pub printer: String,
    /// The printer's number for it; none where it did not take it.
    pub job: Option<i32>,
    /// `application/pdf` or `image/pwg-raster`.
    pub format: String,
    /// How often it was printed.
    pub copies: u16,
    /// How it ended: `completed`, `aborted`, `cancelled`, `unknown`, `waiting`, `refused`.
    pub ended: String,
    /// What the printer said of it, in words.
    pub why: Vec<String>,
}

impl SentFile {
    /// Whether it was printed.
    pub fn is_printed(&self) -> bool {
        self.ended == Ending::Completed.word()
    }
}

/// What was sent from a folder, the oldest first. A file that cannot be understood counts as none: it only saves paper.
///
/// # Errors
/// [`SendFailure`] when the disk refuses.
pub fn sent(folder: &Path) -> Result<Vec<SentFile>, SendFailure> {
    let bytes = kept_beside(folder, SENT_FILE)?;
    Ok(bytes.and_then(|bytes| serde_json::from_slice(&bytes).ok()).unwrap_or_default())
}

/// Adds one, where there is a folder to keep it in.
pub(super) fn note(folder: Option<&Path>, one: SentFile) -> Result<(), SendFailure> {
    let Some(folder) = folder else { return Ok(()) };
    let mut all = sent(folder)?;
    all.push(one);
    write(folder, &all)
}

fn write(folder: &Path, all: &[SentFile]) -> Result<(), SendFailure> {
    let from = all.len().saturating_sub(MOST);
    let text = serde_json::to_vec_pretty(&all[from..]).expect("texts and numbers alone are JSON");
    Ok(keep_beside(folder, SENT_FILE, &text)?)
}

/// Puts one in the place of the last.
pub(super) fn replace_last(folder: Option<&Path>, one: SentFile) -> Result<(), SendFailure> {
    let Some(folder) = folder else { return Ok(()) };
    let mut all = sent(folder)?;
    all.pop();
    all.push(one);
    write(folder, &all)
}
