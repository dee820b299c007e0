//! Recall over a job folder: the circuits of its lists and all that its register knows.

use std::fs;
use std::path::Path;
use std::sync::Arc;

use super::failure::RunFailure;
use super::reading::{Reading, register_path};
use super::recall::Recall;
use crate::codes::Register;
use crate::proof::{self, Sighting};

/// Everything the job can be asked about.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn recall(reading: &Reading) -> Result<Recall, RunFailure> {
    let register = Register::open_to_read(&register_path(reading.job.folder()))?;
    let issued = register.preview(&reading.circuits)?;
    Ok(Recall::new(&reading.circuits, &issued, &register.records()?))
}

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
