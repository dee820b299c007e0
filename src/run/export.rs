//! `export`: the register as a folder of CSV files, whole or not at all.

use std::fs::{self, OpenOptions};
use std::io::Write as _;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::failure::RunFailure;
use super::register::{self, EXPORTS};
use crate::codes::Register;
use crate::codes::export::{self, ExportFile};
use crate::codes::tables::Table;

/// An export that was written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Exported {
    /// The folder.
    pub folder: PathBuf,
    /// Each table with its number of rows.
    pub rows: Vec<(String, usize)>,
    /// How many codes belong to a circuit or stand on a tag; the table has those that were left out, too.
    pub codes: usize,
}

impl Exported {
    /// How many rows a table has.
    pub fn rows_of(&self, table: &str) -> usize {
        self.rows.iter().find(|(name, _)| name == table).map_or(0, |(_, rows)| *rows)
    }
}

/// Writes the register of a job as CSV files into a folder that is not there yet or empty; without one, into a folder of its
/// own under `exports` in the job folder. `None` where no code was issued yet.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read, the folder is taken, or the disk refuses: then no file is left.
pub fn export(job: &Path, to: Option<&Path>, now: Timestamp) -> Result<Option<Exported>, RunFailure> {
    let Some((register, tables)) = examined(job)? else { return Ok(None) };
    let folder = to.map_or_else(|| own_folder(job, now), Path::to_owned);
    write_whole(&folder, &export::write(&tables, now))?;
    let rows = tables.into_iter().map(|table| (table.shape.name, table.rows.len())).collect();
    Ok(Some(Exported { folder, rows, codes: register.codes_in_use()? }))
}

/// The register of a job, when nothing in it is damaged, with all that it holds; `None` where no code was issued yet.
pub(super) fn examined(job: &Path) -> Result<Option<(Register, Vec<Table>)>, RunFailure> {
    let register = register::open_to_read(job)?;
    register.examine()?;
    let tables = register.tables()?;
    Ok(if register.issued_count()? == 0 { None } else { Some((register, tables)) })
}

/// `exports/2026-05-30-080000Z`, or the same with a number behind it.
fn own_folder(job: &Path, now: Timestamp) -> PathBuf {
    let job = if job == Path::new(".") { Path::new("") } else { job };
    let name = now.strftime("%Y-%m-%d-%H%M%SZ").to_string();
    let first = job.join(EXPORTS).join(&name);
    if !first.exists() {
        return first;
    }
    (2_u64..)
        .map(|again| job.join(EXPORTS).join(format!("{name}-{again}")))
        .find(|path| !path.exists())
        .unwrap_or(first)
}

/// Writes the files under another name beside the folder, which gets its own when all are on the disk.
pub(super) fn write_whole(folder: &Path, files: &[ExportFile]) -> Result<(), RunFailure> {
    let is_empty = |path: &Path| fs::read_dir(path).is_ok_and(|mut entries| entries.next().is_none());
    if fs::symlink_metadata(folder).is_ok() && !is_empty(folder) {
        return Err(RunFailure::ExportTaken(folder.to_owned()));
    }
    let parent = folder.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let had_parent = parent.exists();
    fs::create_dir_all(parent).map_err(RunFailure::export("make the folder", parent))?;
    let written = write_beside(parent, folder, files);
    if written.is_err() && !had_parent {
        // Only an empty folder goes; the failure itself is what is told.
        let _ = fs::remove_dir(parent);
    }
    written
}

fn write_beside(parent: &Path, folder: &Path, files: &[ExportFile]) -> Result<(), RunFailure> {
    let failed = || RunFailure::export("write", folder);
    let mut builder = tempfile::Builder::new();
    #[cfg(unix)]
    {
        use std::fs::Permissions;
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(Permissions::from_mode(0o777));
    }
    let temporary = builder.prefix(".loomtag-").tempdir_in(parent).map_err(|error| failed()(error))?;
    for ExportFile { name, bytes } in files {
        let mut file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .open(temporary.path().join(name))
            .map_err(|error| failed()(error))?;
        file.write_all(bytes).and_then(|()| file.sync_all()).map_err(|error| failed()(error))?;
    }
    if folder.exists() {
        fs::remove_dir(folder).map_err(|error| failed()(error))?;
    }
    fs::rename(temporary.path(), folder).map_err(|error| failed()(error))?;
    // Its name is gone, so that nothing is left to be taken away.
    let _ = temporary.keep();
    Ok(())
}
