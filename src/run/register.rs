//! The register of a job folder, opened where it is safe to: a register that is lost or older than what was printed must
//! not issue codes, or two circuits get the same one.

use std::fs;
use std::path::{Path, PathBuf};

use super::failure::RunFailure;
use super::record::RUN_FILE;
use crate::codes::Register;

/// The register's file in the job folder.
const REGISTER_FILE: &str = "register.db";
/// Folder of the print runs in the job folder.
pub(super) const PRINTS: &str = "prints";
/// Folder of the exports in the job folder.
pub(super) const EXPORTS: &str = "exports";
/// How a register is called that was put aside because it is damaged, before its number.
const DAMAGED: &str = "register-damaged-";

/// Where the register of a job folder lies.
pub fn register_path(folder: &Path) -> PathBuf {
    folder.join(REGISTER_FILE)
}

/// Opens the register of a job folder, or makes one where no code was issued yet.
///
/// # Errors
/// [`RunFailure`] when it cannot be opened, is lost, or does not know of print runs that are there.
pub fn open(folder: &Path) -> Result<Register, RunFailure> {
    let path = register_path(folder);
    let before = Traces::of(folder);
    // A register that is lost is not begun anew, not even as a file.
    if !path.exists() {
        before.bear(&path)?;
    }
    let register = Register::open(&path)?;
    if register.issued_count()? == 0 {
        before.bear(&path)?;
    }
    let known = register.last_run()?.map_or(0, |run| run.get());
    match before.last_run.filter(|&printed| printed > known) {
        Some(printed) => Err(RunFailure::RegisterBehind { path, known, printed }),
        None => Ok(register),
    }
}

/// Opens the register of a job folder only to read.
///
/// # Errors
/// [`RunFailure`] when it cannot be read, or is lost.
pub fn open_to_read(folder: &Path) -> Result<Register, RunFailure> {
    let path = register_path(folder);
    let before = Traces::of(folder);
    let register = Register::open_to_read(&path)?;
    if register.issued_count()? == 0 {
        before.bear(&path)?;
    }
    Ok(register)
}

/// What lies in a job folder of codes that were issued. It is looked for before the register is: whatever another program
/// puts there meanwhile stands in the register first.
struct Traces {
    last_run: Option<u32>,
    has_other: bool,
}

impl Traces {
    fn of(folder: &Path) -> Self {
        let last_run = run_files(folder).last().map(|(number, _)| *number);
        Self { last_run, has_other: exports(folder).next().is_some() || !damaged(folder).is_empty() }
    }

    /// Whether the register may be without codes.
    fn bear(&self, path: &Path) -> Result<(), RunFailure> {
        if self.last_run.is_some() || self.has_other {
            return Err(RunFailure::RegisterLost(path.to_owned()));
        }
        Ok(())
    }
}

/// The run.json of every print run of a job folder with its number, in order.
pub(super) fn run_files(folder: &Path) -> Vec<(u32, PathBuf)> {
    runs_in(&folder.join(PRINTS))
}

/// The run.json of every print run in a folder that holds some, in order of their numbers.
pub(super) fn runs_in(prints: &Path) -> Vec<(u32, PathBuf)> {
    let mut runs: Vec<(u32, PathBuf)> = entries(prints)
        .filter_map(|(name, path)| {
            let digits: String = name.strip_prefix("run-")?.chars().take_while(char::is_ascii_digit).collect();
            let file = path.join(RUN_FILE);
            Some((digits.parse().ok()?, file)).filter(|(_, file)| file.is_file())
        })
        .collect();
    runs.sort();
    runs
}

/// The exports that lie in a job folder: in `exports`, or beside it.
pub(super) fn exports(folder: &Path) -> impl Iterator<Item = PathBuf> + use<> {
    let folders = entries(&folder.join(EXPORTS)).chain(entries(folder)).map(|(_, path)| path);
    folders.filter(|path| path.join(crate::codes::export::ABOUT_FILE).is_file())
}

/// The registers that were put aside as damaged, in order of their numbers.
pub(super) fn damaged(folder: &Path) -> Vec<(u32, PathBuf)> {
    let number = |name: &str| name.strip_prefix(DAMAGED)?.strip_suffix(".db")?.parse().ok();
    let mut all: Vec<(u32, PathBuf)> =
        entries(folder).filter_map(|(name, path)| Some((number(&name)?, path))).collect();
    all.sort();
    all
}

/// Puts a damaged register aside, with its log; where it is now.
pub(super) fn put_aside(folder: &Path) -> Result<PathBuf, RunFailure> {
    let number = damaged(folder).last().map_or(1, |(number, _)| number + 1);
    let path = register_path(folder);
    let aside = folder.join(format!("{DAMAGED}{number}.db"));
    // The register itself first: while it is gone, no command begins another.
    for beside in ["", "-wal", "-shm"] {
        let add = |path: &Path| {
            let mut name = path.as_os_str().to_owned();
            name.push(beside);
            PathBuf::from(name)
        };
        let (from, to) = (add(&path), add(&aside));
        if from.exists() {
            fs::rename(&from, &to).map_err(RunFailure::disk("move", &from))?;
        }
    }
    Ok(aside)
}

/// What lies in a folder, by name; nothing where it cannot be listed.
fn entries(folder: &Path) -> impl Iterator<Item = (String, PathBuf)> + use<> {
    let folder = if folder == Path::new("") { Path::new(".") } else { folder };
    let listed = fs::read_dir(folder).into_iter().flatten().flatten();
    let mut all: Vec<(String, PathBuf)> =
        listed.map(|entry| (entry.file_name().to_string_lossy().into_owned(), entry.path())).collect();
    all.sort();
    all.into_iter()
}
