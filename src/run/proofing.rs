//! The proof of a PDF later on, by itself: against the run.json beside it, or by reading whatever symbols it has.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::failure::RunFailure;
use super::progress::Progress;
use super::record::{RUN_FILE, RunRecord, TagRecord};
use crate::codes::link;
use crate::proof::{self, Expected, Proof, Sighting};

/// What the proof of a PDF found.
#[derive(Debug)]
pub enum Proofing {
    /// It stands in a run.json: every symbol was compared with what its tag should carry.
    Compared(Proof),
    /// Nothing tells what it should carry: what its symbols say.
    Read(Vec<Sighting>),
}

impl Proofing {
    /// Whether all is well: every expected symbol read back, or every symbol found carries a code that can be one.
    pub fn is_sound(&self) -> bool {
        match self {
            Self::Compared(proof) => proof.misses.is_empty(),
            Self::Read(sightings) => sightings.iter().all(|sighting| link::from_scanned(&sighting.text).is_some()),
        }
    }
}

/// Proves a PDF.
///
/// # Errors
/// [`RunFailure`] when the file or its run.json cannot be read.
#[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
pub fn proof(pdf: &Path, progress: &dyn Progress) -> Result<Proofing, RunFailure> {
    let bytes = Arc::new(fs::read(pdf).map_err(RunFailure::disk("read", pdf))?);
    let unreadable = |source| RunFailure::Unreadable { path: pdf.to_owned(), source };
    let Some((expected, dpi)) = expected(pdf)? else {
        return Ok(Proofing::Read(proof::read_pdf(bytes).map_err(unreadable)?));
    };
    progress.begin("symbols read back", expected.len());
    let proof = proof::check(bytes, &expected, dpi, &|count| progress.advance(count)).map_err(unreadable)?;
    Ok(Proofing::Compared(proof))
}

/// What the run.json beside a PDF says its symbols should carry; `None` when there is no run.json or it does not name it.
#[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
fn expected(pdf: &Path) -> Result<Option<(Vec<Expected>, u16)>, RunFailure> {
    let path = pdf.with_file_name(RUN_FILE);
    if !path.exists() {
        return Ok(None);
    }
    let bytes = fs::read(&path).map_err(RunFailure::disk("read", &path))?;
    let record: RunRecord =
        serde_json::from_slice(&bytes).map_err(|error| RunFailure::disk("understand", &path)(error.into()))?;
    let name = pdf.file_name().unwrap_or_default().to_string_lossy();
    let file = record.files.into_iter().find(|file| file.file == name);
    Ok(file.map(|file| (file.tags.iter().flat_map(TagRecord::expected).collect(), file.dpi)))
}
