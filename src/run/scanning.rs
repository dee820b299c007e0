//! What a photograph or PDF shows, whoever made it, and what this job knows of it.

use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::bounded;
use super::failure::RunFailure;
use super::recall::{Recall, Scanned, Tag};
use crate::codes::link::{self, Meaning};
use crate::proof::{self, Sighting};

/// A tag that was read.
#[derive(Clone, Debug)]
pub struct ReadTag {
    /// The file it was seen in.
    pub file: PathBuf,
    /// What its symbol says.
    pub text: String,
    /// How many symbols of the file say so: a flag has one on each face.
    pub symbols: usize,
    /// What the job knows of it.
    pub answer: Scanned,
}

impl ReadTag {
    /// Why the answer may be of another wire: the tag says something else than this job's would.
    pub fn doubt(&self) -> Option<&str> {
        match &self.answer {
            Scanned::Known(found) => found.doubt.as_deref(),
            Scanned::Connector { doubt, .. } | Scanned::Blank { doubt, .. } => doubt.as_deref(),
            Scanned::Unknown { .. } | Scanned::Nothing { .. } => None,
        }
    }

    /// Whether it is known and not in doubt.
    pub fn is_sure(&self) -> bool {
        match &self.answer {
            Scanned::Known(found) => found.doubt.is_none(),
            Scanned::Connector { doubt, found, .. } => doubt.is_none() && !found.is_empty(),
            Scanned::Blank { doubt, .. } => doubt.is_none(),
            Scanned::Unknown { .. } | Scanned::Nothing { .. } => false,
        }
    }

    /// The name of a circuit's tag that is sure.
    pub fn sure(&self) -> Option<Tag> {
        let is_circuit = matches!(self.answer, Scanned::Known(_));
        link::from_scanned(&self.text).filter(|_| is_circuit && self.is_sure()).and_then(Meaning::circuit)
    }
}

/// Reads the tags of photographs (PNG, JPEG) and PDFs, in the order of the files; tags that say the same are told once a file.
///
/// # Errors
/// [`RunFailure`] when a file cannot be read or is none of these.
pub fn scan(recall: &Recall, files: &[PathBuf]) -> Result<Vec<ReadTag>, RunFailure> {
    let mut tags: Vec<ReadTag> = Vec::new();
    for file in files {
        for Sighting { text, .. } in symbols_in(file)? {
            match tags.iter_mut().find(|tag| tag.file == *file && tag.text == text) {
                Some(known) => known.symbols += 1,
                None => {
                    let answer = recall.by_scanned(&text);
                    tags.push(ReadTag { file: file.clone(), text, symbols: 1, answer });
                }
            }
        }
    }
    Ok(tags)
}

/// The symbols of a photograph (PNG, JPEG) or PDF.
fn symbols_in(file: &Path) -> Result<Vec<Sighting>, RunFailure> {
    let bytes = bounded::read(file).map_err(RunFailure::disk("read", file))?;
    let unreadable = |source| RunFailure::Unreadable { path: file.to_owned(), source };
    if bytes.starts_with(b"%PDF") {
        proof::read_pdf(Arc::new(bytes)).map_err(unreadable)
    } else {
        proof::read_image(&bytes).map_err(unreadable)
    }
}
