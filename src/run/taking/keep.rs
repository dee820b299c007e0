//! Files -> the job folder. Whatever they take the place of is kept first, and kept for good; each is written whole or not at all.

use std::fs::{self, OpenOptions};
use std::io::{self, Write as _};
use std::path::Path;

use jiff::Timestamp;

use crate::run::bounded;
use crate::run::failure::RunFailure;
use crate::run::job::JOB_FILE;
use crate::run::overlay::Overlay;
use crate::run::whole_file::temporary_in;

/// The folder, in the job folder, of files as they were before others took their place. Nothing in it is read as a list.
pub const KEPT_IN: &str = "lists-before";

/// What was written.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Taken {
    /// Files that were written.
    pub written: Vec<String>,
    /// Files that left the job.
    pub gone: Vec<String>,
    /// Where files are kept as they were, each with its former name: `loom.csv`, `lists-before/loom-2026-11-28T12-00-00Z.csv`.
    pub kept: Vec<(String, String)>,
}

/// Writes what an overlay lays over the job folder. Lists come first and job.toml behind them, so that it never names what is not
/// there; what leaves the job goes last.
///
/// # Errors
/// [`RunFailure`] when the disk refuses. Files that are kept by then stay kept, and nothing is half written.
pub fn take(folder: &Path, overlay: &Overlay, now: Timestamp) -> Result<Taken, RunFailure> {
    let mut taken = Taken::default();
    for (name, _) in overlay.files() {
        let path = folder.join(name);
        match bounded::read(&path) {
            Ok(bytes) => taken.kept.push((name.to_owned(), keep(folder, name, &bytes, now)?)),
            Err(error) if error.kind() == io::ErrorKind::NotFound => {}
            Err(error) => return Err(RunFailure::disk("read", &path)(error)),
        }
    }
    let lists = overlay.files().filter(|(name, _)| *name != JOB_FILE);
    let job = overlay.files().filter(|(name, _)| *name == JOB_FILE);
    for (name, bytes) in lists.chain(job) {
        let Some(bytes) = bytes else { continue };
        let path = folder.join(name);
        let written = || RunFailure::disk("write", &path);
        let mut file = temporary_in(folder).map_err(written())?;
        file.write_all(bytes).and_then(|()| file.as_file().sync_all()).map_err(written())?;
        file.persist(&path).map_err(|error| written()(error.error))?;
        taken.written.push(name.to_owned());
    }
    for (name, _) in overlay.files().filter(|(_, bytes)| bytes.is_none()) {
        let path = folder.join(name);
        fs::remove_file(&path).map_err(RunFailure::disk("take away", &path))?;
        taken.gone.push(name.to_owned());
    }
    Ok(taken)
}

/// When a file was put aside, in its name.
pub(super) const STAMP: &str = "%Y-%m-%dT%H-%M-%SZ";

/// A name without folders, as files are put aside.
pub(super) fn flattened(name: &str) -> String {
    name.replace(['/', '\\'], "-")
}

/// Keeps a file as it is; where, within the job folder.
fn keep(folder: &Path, name: &str, bytes: &[u8], now: Timestamp) -> Result<String, RunFailure> {
    let kept_in = folder.join(KEPT_IN);
    fs::create_dir_all(&kept_in).map_err(RunFailure::disk("make", &kept_in))?;
    let flat = flattened(name);
    let (stem, end) = flat.rsplit_once('.').unwrap_or((&flat, "csv"));
    let stamp = now.strftime(STAMP);
    let mut count = 1;
    loop {
        let again = if count == 1 { String::new() } else { format!("-{count}") };
        let file = format!("{stem}-{stamp}{again}.{end}");
        let path = kept_in.join(&file);
        let failed = || RunFailure::disk("write", &path);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Ok(mut open) => {
                open.write_all(bytes).and_then(|()| open.sync_all()).map_err(failed())?;
                return Ok(format!("{KEPT_IN}/{file}"));
            }
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists && count < 1_000 => count += 1,
            Err(error) => return Err(failed()(error)),
        }
    }
}
