//! `import`: the register put together again from an export and from what print runs have recorded.
//!
//! A job without a register, with an empty or a damaged one, gets its register back; one that is older than its print runs
//! learns what it has missed. Nothing is deleted: a damaged file is put aside. Where it is not certain which codes were
//! issued last, some are left out, so that none is issued twice.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::bounded;
use super::failure::RunFailure;
use super::problems::{EXPORT_TOO_BIG, RUN_CONTRADICTS, RUN_NOT_READ};
use super::record::{RUN_FILE, RunRecord};
use super::register::{self, register_path};
use crate::base::{Checked, Origin, Problem, Source, TagCode, problem};
use crate::codes::export::{ABOUT_FILE, ExportFile};
use crate::codes::import::{self, Import};
use crate::codes::rebuild::{Learnt, RecordedRun, issued_in_damaged};
use crate::codes::{Register, RegisterFailure, mint};

/// Where it is not certain which codes were issued last, at least as many are left out.
const LEFT_OUT_AT_LEAST: u32 = 500;

/// What came of an import.
#[derive(Clone, Debug)]
pub struct Imported {
    /// Whether anything was to do.
    pub is_changed: bool,
    /// Where the damaged register lies now, and what was wrong with it.
    pub aside: Option<(PathBuf, String)>,
    /// The export that was read, and when it had been written.
    pub export: Option<(PathBuf, Timestamp)>,
    /// The run.json that told something new, with the number of the run.
    pub learnt: Vec<(PathBuf, u32, Learnt)>,
    /// The run.json that told nothing new.
    pub known: usize,
    /// Codes that are left out because they may have been issued.
    pub left_out: usize,
    /// Codes that belong to a circuit or a tag.
    pub codes: usize,
    /// Print runs.
    pub runs: usize,
    /// The code that is issued next.
    pub next: Option<TagCode>,
}

/// What an import is made from.
#[derive(Debug, Default)]
struct Sources {
    export: Option<(PathBuf, Timestamp)>,
    runs: Vec<(u32, PathBuf)>,
}

/// What stands in the place of the register.
enum Found {
    Nothing,
    InOrder(Box<Register>),
    Damaged(String),
}

/// Puts the register of a job together from these exports and run.json files or folders of them; without any, from the last
/// export in the job folder. The print runs of the job are looked at always. The value is `None` when an error stands; then
/// nothing was changed.
///
/// # Errors
/// [`RunFailure`] when there is nothing to import, a register is there that holds something else, or the disk refuses.
pub fn import(job: &Path, from: &[PathBuf], now: Timestamp) -> Result<Checked<Option<Imported>>, RunFailure> {
    let job = if job == Path::new(".") { Path::new("") } else { job };
    let path = register_path(job);
    let mut problems = Vec::new();
    let found = found(&path)?;
    let mut sources = Sources::default();
    for from in from {
        sources.add(from)?;
    }
    sources.runs.extend(register::run_files(job));
    sources.runs.sort();
    sources.runs.dedup();
    let is_in_order = matches!(found, Found::InOrder(_));
    if sources.export.is_none() && !is_in_order {
        sources.export = latest(register::exports(job));
    }
    let export = match &sources.export {
        Some((folder, _)) => read_export(folder, &mut problems)?,
        None => None,
    };
    let runs = read_runs(&sources.runs, &mut problems);
    if problem::has_errors(&problems) {
        return Ok(Checked { value: None, problems });
    }
    let imported = match found {
        Found::InOrder(register) => {
            if let Some(export) = &export
                && export.register.tables()? != register.tables()?
            {
                return Err(RunFailure::RegisterHolds(path));
            }
            drop(register);
            catch_up(&path, &runs, now)?
        }
        other => {
            if export.is_none() && runs.is_empty() {
                return Err(RunFailure::NothingToImport(job.to_owned()));
            }
            let damage = match other {
                Found::Damaged(what) => Some(what),
                _ => None,
            };
            build(job, export, damage, &runs, now)?
        }
    };
    let imported = Imported { export: sources.export.filter(|_| imported.is_changed), ..imported };
    contradictions(&imported, &mut problems);
    Ok(Checked { value: Some(imported), problems })
}

fn found(path: &Path) -> Result<Found, RunFailure> {
    if !path.exists() {
        return Ok(Found::Nothing);
    }
    let looked_at = Register::open_to_read(path).and_then(|register| {
        register.examine()?;
        let is_empty = register.tables()?.iter().all(|table| table.rows.is_empty());
        Ok(if is_empty { Found::Nothing } else { Found::InOrder(Box::new(register)) })
    });
    match looked_at {
        Err(RegisterFailure::Damaged { what, .. }) => Ok(Found::Damaged(what)),
        Err(RegisterFailure::NotARegister { .. }) => Ok(Found::Damaged("it is not a register any more".to_owned())),
        other => Ok(other?),
    }
}

impl Sources {
    /// Adds what lies at a path: an export, a run.json, a print run, or a folder of print runs.
    fn add(&mut self, path: &Path) -> Result<(), RunFailure> {
        if path.join(ABOUT_FILE).is_file() {
            self.export = latest(self.export.take().map(|(path, _)| path).into_iter().chain([path.to_owned()]));
            return Ok(());
        }
        let before = self.runs.len();
        if path.is_file() && path.extension().is_some_and(|end| end == "json") {
            self.runs.push((0, path.to_owned()));
        } else if path.join(RUN_FILE).is_file() {
            self.runs.push((0, path.join(RUN_FILE)));
        } else {
            self.runs.extend(register::runs_in(path));
        }
        if self.runs.len() == before {
            return Err(RunFailure::NothingToImport(path.to_owned()));
        }
        Ok(())
    }
}

/// The export that was written last; one that does not say when counts as the oldest.
fn latest(folders: impl Iterator<Item = PathBuf>) -> Option<(PathBuf, Timestamp)> {
    let written = |folder: PathBuf| {
        let about = bounded::read_kept(&folder.join(ABOUT_FILE)).unwrap_or_default();
        let time = import::written_at(&about).unwrap_or(Timestamp::MIN);
        (time, folder)
    };
    folders.map(written).max().map(|(time, folder)| (folder, time))
}

fn read_export(folder: &Path, problems: &mut Vec<Problem>) -> Result<Option<Import>, RunFailure> {
    let mut files = Vec::new();
    let listed = fs::read_dir(folder).map_err(RunFailure::disk("read", folder))?;
    for entry in listed.flatten() {
        let name = entry.file_name().to_string_lossy().into_owned();
        if !name.ends_with(".csv") {
            continue;
        }
        match bounded::read_kept(&entry.path()) {
            Ok(bytes) => files.push(ExportFile { name, bytes }),
            Err(error) if error.kind() == std::io::ErrorKind::FileTooLarge => {
                let told = EXPORT_TOO_BIG.says(format!("`{name}` is too big for a file of an export"));
                problems.push(told.at(whole(&name)).remedy("the most is 256 MiB; take the export as it was written"));
            }
            Err(error) => return Err(RunFailure::disk("read", &entry.path())(error)),
        }
    }
    if !problems.is_empty() {
        return Ok(None);
    }
    let read = import::read(files)?;
    problems.extend(read.problems);
    Ok(read.value)
}

/// The runs that can be read; the others are told.
fn read_runs(files: &[(u32, PathBuf)], problems: &mut Vec<Problem>) -> Vec<(PathBuf, RecordedRun)> {
    let mut runs = Vec::new();
    for (_, path) in files {
        match read_run(path) {
            Ok(run) => runs.push((path.clone(), run)),
            Err(problem) => problems.push(*problem),
        }
    }
    runs.sort_by(|a, b| (a.1.number, &a.0).cmp(&(b.1.number, &b.0)));
    runs.dedup_by(|a, b| a.0 == b.0);
    runs
}

fn read_run(path: &Path) -> Result<RecordedRun, Box<Problem>> {
    const REMEDY: &str = "nothing was learnt from it; put it back from a copy and import again";
    let name = path.display().to_string();
    let not_read = |what: String, origin| Box::new(RUN_NOT_READ.says(what).at(origin).remedy(REMEDY));
    let bytes = bounded::read_kept(path)
        .map_err(|error| not_read(format!("`{name}` cannot be read: {error}"), whole(&name)))?;
    let record: RunRecord = serde_json::from_slice(&bytes).map_err(|error| {
        let source = Source::new(name.clone(), String::from_utf8_lossy(&bytes));
        let before: usize =
            source.text().split_inclusive('\n').take(error.line().saturating_sub(1)).map(str::len).sum();
        let at = before + error.column().saturating_sub(1);
        not_read(format!("`{name}` is no record of a print run"), Origin::new(&source, at..at))
    })?;
    if record.issued.is_some_and(|issued| issued > 0 && mint::nth(issued - 1).is_none()) {
        let what = format!("`{name}` tells of more codes than there are");
        return Err(not_read(what, whole(&name)));
    }
    let made = fs::metadata(path).and_then(|about| about.modified()).ok();
    let made = made.and_then(|time| Timestamp::try_from(time).ok()).unwrap_or(Timestamp::UNIX_EPOCH);
    Ok(record.recorded(made))
}

/// A register that is in order learns from the runs that it does not know.
fn catch_up(path: &Path, runs: &[(PathBuf, RecordedRun)], now: Timestamp) -> Result<Imported, RunFailure> {
    let mut register = Register::open(path)?;
    let last = register.last_run()?.map_or(0, |run| run.get());
    let newer: Vec<_> = runs.iter().filter(|(_, run)| run.number > last).cloned().collect();
    let mut left_out = 0;
    if !newer.is_empty() {
        // First, so that no code is issued twice even if this is broken off.
        left_out = register.take_out_below(margin(evidence(&register, &newer)?), now)?;
    }
    let learnt = learn(&mut register, &newer)?;
    left_out = left_out.saturating_sub(learnt.iter().map(|(_, _, learnt)| learnt.codes).sum());
    Ok(Imported {
        is_changed: !newer.is_empty(),
        known: runs.len() - newer.len(),
        left_out,
        learnt,
        ..told(&register)?
    })
}

/// A register is put together in memory, and takes its place when it is whole.
fn build(
    job: &Path,
    export: Option<Import>,
    damage: Option<String>,
    runs: &[(PathBuf, RecordedRun)],
    now: Timestamp,
) -> Result<Imported, RunFailure> {
    let path = register_path(job);
    let has_export = export.is_some();
    let mut register = export.map_or_else(Register::in_memory, |export| Ok(export.register))?;
    let mut next = register.issued_count()?;
    let mut learnt = learn(&mut register, runs)?;
    let known = learnt.iter().filter(|(_, _, learnt)| is_nothing(learnt)).count();
    learnt.retain(|(_, _, learnt)| !is_nothing(learnt));
    next = next.max(evidence(&register, runs)?);
    let mut is_certain = has_export && learnt.is_empty();
    let of_old: Vec<PathBuf> = register::damaged(job).into_iter().map(|(_, path)| path).collect();
    for damaged in of_old.iter().chain(damage.is_some().then_some(&path)) {
        let (issued, is_whole) = issued_in_damaged(damaged);
        next = next.max(issued);
        is_certain &= is_whole;
    }
    let next = if is_certain { next } else { margin(next) };
    let left_out = register.take_out_below(next, now)?;
    register.examine()?;
    let tables = register.tables()?;

    let aside = match damage {
        Some(what) => Some((register::put_aside(job)?, what)),
        None => None,
    };
    let mut register = Register::open(&path)?;
    if !register.fill(&tables)? {
        return Err(RunFailure::RegisterHolds(path));
    }
    Ok(Imported { is_changed: true, aside, known, left_out, learnt, ..told(&register)? })
}

fn learn(register: &mut Register, runs: &[(PathBuf, RecordedRun)]) -> Result<Vec<(PathBuf, u32, Learnt)>, RunFailure> {
    let mut learnt = Vec::with_capacity(runs.len());
    for (path, run) in runs {
        learnt.push((path.clone(), run.number, register.learn(run)?));
    }
    Ok(learnt)
}

fn is_nothing(learnt: &Learnt) -> bool {
    *learnt == Learnt::default()
}

/// The number of the code behind all that are known to have been issued.
fn evidence(register: &Register, runs: &[(PathBuf, RecordedRun)]) -> Result<u32, RunFailure> {
    let said = runs.iter().filter_map(|(_, run)| run.issued);
    let seen = runs.iter().flat_map(|(_, run)| run.codes()).filter_map(mint::number).map(|number| number + 1);
    Ok(said.chain(seen).chain([register.issued_count()?]).max().unwrap_or(0))
}

/// The number of a code behind all that may have been issued, where that is not known: half as many again as are known.
fn margin(issued: u32) -> u32 {
    issued.saturating_add((issued / 2).max(LEFT_OUT_AT_LEAST))
}

fn told(register: &Register) -> Result<Imported, RunFailure> {
    Ok(Imported {
        is_changed: false,
        aside: None,
        export: None,
        learnt: Vec::new(),
        known: 0,
        left_out: 0,
        codes: register.codes_in_use()?,
        runs: register.runs()?.len(),
        next: mint::nth(register.issued_count()?),
    })
}

/// What runs say against each other.
fn contradictions(imported: &Imported, problems: &mut Vec<Problem>) {
    for (path, _, learnt) in &imported.learnt {
        let name = path.display().to_string();
        for (code, circuit) in &learnt.contradicted {
            let what = format!("code `{code}` is on `{circuit}` here and on another circuit by what is known already");
            let remedy =
                "two registers have issued it: look which tags hang on the harness, and take the other ones off";
            problems.push(RUN_CONTRADICTS.says(what).at(whole(&name)).remedy(remedy));
        }
        for text in &learnt.no_codes {
            let what = format!("`{text}` is no code that this program issues");
            problems.push(RUN_CONTRADICTS.says(what).at(whole(&name)).remedy("nothing was learnt of it"));
        }
    }
}

fn whole(name: &str) -> Origin {
    Origin::whole(&Source::new(name, ""))
}
