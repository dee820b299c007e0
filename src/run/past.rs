//! Print runs that were made: each as the journal knows it, with the run.json and the PDFs of its folder.

use std::fs::File;
use std::path::{Path, PathBuf};

use super::bounded;
use super::failure::RunFailure;
use super::record::{FileRecord, RUN_FILE, RunRecord};
use super::register::{open_to_read, register_path, run_files};
use crate::codes::Run;

/// A run that was made.
#[derive(Clone, Debug)]
pub struct PastRun {
    /// What the journal knows of it.
    pub run: Run,
    /// Where its files lie; `None` where they were written elsewhere, are gone, or never came to be.
    pub folder: Option<PathBuf>,
    /// What it made.
    pub files: Vec<FileRecord>,
    /// Codes that were listed for a marker pen.
    pub listed: Vec<String>,
}

/// All runs, the newest first.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn past_runs(job: &Path) -> Result<Vec<Run>, RunFailure> {
    if !register_path(job).exists() {
        return Ok(Vec::new());
    }
    let mut runs = open_to_read(job)?.runs()?;
    runs.reverse();
    Ok(runs)
}

/// The run of this number.
///
/// # Errors
/// [`RunFailure`] when the register or the run.json cannot be read.
pub fn past_run(job: &Path, number: u32) -> Result<Option<PastRun>, RunFailure> {
    let Some(run) = past_runs(job)?.into_iter().find(|run| run.number.get() == number) else { return Ok(None) };
    let none = PastRun { run, folder: None, files: Vec::new(), listed: Vec::new() };
    let Some((_, path)) = run_files(job).into_iter().rev().find(|(known, _)| *known == number) else {
        return Ok(Some(none));
    };
    let bytes = bounded::read_kept(&path).map_err(RunFailure::disk("read", &path))?;
    let record: RunRecord =
        serde_json::from_slice(&bytes).map_err(|error| RunFailure::disk("understand", &path)(error.into()))?;
    let folder = path.parent().map(Path::to_owned);
    // A name that leads elsewhere is none of a run's.
    let is_plain = |file: &FileRecord| Path::new(&file.file).file_name().is_some_and(|name| name == file.file.as_str());
    let files = record.files.into_iter().filter(|file| is_plain(file) && file.file != RUN_FILE).collect();
    Ok(Some(PastRun { folder, files, listed: record.listed, ..none }))
}

impl PastRun {
    /// The file of this name, if the run made one.
    pub fn file(&self, name: &str) -> Option<&FileRecord> {
        self.files.iter().find(|file| file.file == name)
    }

    /// Where the PDF of this name lies, if the run made one and it is still there.
    pub fn pdf(&self, name: &str) -> Option<PathBuf> {
        let path = self.folder.as_ref()?.join(&self.file(name)?.file);
        path.is_file().then_some(path)
    }

    /// The PDF of this name, opened to be read, and its length in bytes.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses.
    #[expect(clippy::disallowed_methods, reason = "`run` reads the files it is asked for")]
    pub fn open(&self, name: &str) -> Result<Option<(File, u64)>, RunFailure> {
        let Some(path) = self.pdf(name) else { return Ok(None) };
        let opened = File::open(&path).and_then(|file| Ok((file.metadata()?.len(), file)));
        opened.map(|(length, file)| Some((file, length))).map_err(RunFailure::disk("read", &path))
    }
}
