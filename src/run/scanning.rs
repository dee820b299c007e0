//! What a photograph or PDF shows, whoever made it.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::failure::RunFailure;
use crate::proof::{self, Sighting};

/// The symbols of a photograph (PNG, JPEG) or PDF.
///
/// # Errors
/// [`RunFailure`] when the file cannot be read or is neither.
#[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
pub fn symbols_in(file: &Path) -> Result<Vec<Sighting>, RunFailure> {
    let bytes = fs::read(file).map_err(RunFailure::disk("read", file))?;
    let unreadable = |source| RunFailure::Unreadable { path: file.to_owned(), source };
    if bytes.starts_with(b"%PDF") {
        proof::read_pdf(Arc::new(bytes)).map_err(unreadable)
    } else {
        proof::read_image(&bytes).map_err(unreadable)
    }
}
