//! Papers of a job for whoever has no hand on its folder: the sheets that were made, and register and charts as one file each.

use std::fs;
use std::io::{Cursor, Write as _};
use std::path::Path;
use std::time::SystemTime;

use jiff::Timestamp;
use zip::result::ZipError;
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

use super::as_built::bench_notes;
use super::bench_sheets::{Known, SHEETS};
use super::bounded;
use super::export::examined;
use super::failure::RunFailure;
use super::reading::Reading;
use super::register;
use crate::codes::export::{self, ExportFile};
use crate::paperwork::as_built::{as_built, charts};

/// A PDF of bench sheets that lies in the job folder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Paper {
    /// Its name.
    pub name: String,
    /// Its size in bytes.
    pub size: u64,
    /// When it was made.
    pub made: Option<Timestamp>,
}

/// The PDFs of bench sheets of a job folder, the newest first.
pub fn papers(job: &Path) -> Vec<Paper> {
    let entries = fs::read_dir(job.join(SHEETS)).into_iter().flatten().flatten();
    let papers = entries.filter_map(|entry| {
        let (name, about) = (entry.file_name().into_string().ok()?, entry.metadata().ok()?);
        let is_paper = about.is_file() && !name.starts_with('.') && name.ends_with(".pdf");
        let made = about.modified().ok().and_then(|at: SystemTime| Timestamp::try_from(at).ok());
        is_paper.then_some(Paper { name, size: about.len(), made })
    });
    let mut papers: Vec<Paper> = papers.collect();
    papers.sort_by(|a, b| b.made.cmp(&a.made).then_with(|| a.name.cmp(&b.name)));
    papers
}

/// The bytes of one of them; `None` where there is none of that name.
///
/// # Errors
/// [`RunFailure`] when the disk refuses.
pub fn paper(job: &Path, name: &str) -> Result<Option<Vec<u8>>, RunFailure> {
    if !papers(job).iter().any(|paper| paper.name == name) {
        return Ok(None);
    }
    let path = job.join(SHEETS).join(name);
    bounded::read(&path).map(Some).map_err(RunFailure::disk("read", &path))
}

/// The register as CSV files in one file, with a name for it. `None` where no code was issued yet. Nothing is written.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn export_zipped(job: &Path, now: Timestamp) -> Result<Option<(String, Vec<u8>)>, RunFailure> {
    let Some((_, tables)) = examined(job)? else { return Ok(None) };
    let name = format!("register-{}.zip", now.strftime("%Y-%m-%d-%H%M%SZ"));
    Ok(Some((name, zipped(job, &export::write(&tables, now))?)))
}

/// The charts of what is, by the notes of the bench, in one file, with a name for it. No code is issued, and nothing is written.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn charts_zipped(reading: &Reading, now: Timestamp) -> Result<(String, Vec<u8>), RunFailure> {
    let job = reading.job.folder();
    let register = register::open_to_read(job)?;
    let issued = register.preview(&reading.circuits)?;
    let known = Known::read(&register)?;
    let planned = known.harness(reading, &issued);
    let built = as_built(&planned, &bench_notes(&issued, &known.records, &known.notes, &known.blanks));
    let files = charts(&built.circuits).files.into_iter().map(|file| ExportFile { name: file.name, bytes: file.bytes });
    let name = format!("as-built-{}.zip", now.strftime("%Y-%m-%d"));
    Ok((name, zipped(job, &files.collect::<Vec<_>>())?))
}

/// Files in one. No time is kept, so that the same files give the same bytes.
fn zipped(job: &Path, files: &[ExportFile]) -> Result<Vec<u8>, RunFailure> {
    let pack = || -> Result<Vec<u8>, ZipError> {
        let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
        let options = SimpleFileOptions::default().compression_method(CompressionMethod::Deflated);
        for file in files {
            writer.start_file(file.name.as_str(), options)?;
            writer.write_all(&file.bytes)?;
        }
        Ok(writer.finish()?.into_inner())
    };
    pack().map_err(|error| RunFailure::export("pack", job)(error.into()))
}
