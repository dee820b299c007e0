//! PDFs that were made, found again to be sent to a printer.
//!
//! In: a job, and perhaps the number of a run, its folder, or a PDF. Out: each PDF with its stock and the printer that prints that.

use std::path::{Path, PathBuf};

use super::bounded;
use super::failure::RunFailure;
use super::job::Job;
use super::record::{FileRecord, RUN_FILE, RunRecord};
use super::register::run_files;
use super::template::Template;
use super::trying::{self, Asked, PrinterTable, Tried, Untried};
use super::whole_file::put;
use crate::base::{Page, Purpose, Remedy};
use crate::proof::MOST_BYTES;

/// PDFs of one run, or one that belongs to none.
#[derive(Clone, Debug)]
pub struct Sendable {
    /// Where they lie.
    pub folder: PathBuf,
    /// Number of the run.
    pub run: Option<u32>,
    /// What the printer shall call the job.
    pub title: String,
    /// The PDFs.
    pub files: Vec<SendableFile>,
}

/// A PDF that can be sent.
#[derive(Clone, Debug)]
pub struct SendableFile {
    /// Where it lies.
    pub path: PathBuf,
    /// What run.json tells of it.
    pub record: Option<FileRecord>,
    /// Its stock and the printer that prints it; nothing is known of the stock of a PDF that is neither of a run nor a trial page.
    pub tried: Option<Tried>,
}

impl SendableFile {
    /// Its name without the folder.
    pub fn name(&self) -> String {
        self.path.file_name().unwrap_or_default().to_string_lossy().into_owned()
    }

    /// Whether it is printed on heat-shrink tube.
    pub fn is_tube(&self) -> bool {
        self.tried.as_ref().is_some_and(|tried| tried.stock.tube().is_some())
    }

    /// Which printer of the job prints it.
    pub fn table(&self) -> PrinterTable {
        self.tried.as_ref().map_or(PrinterTable::Sheets, |tried| tried.table)
    }

    /// Dots an inch of the printer it was made for.
    pub fn dpi(&self, job: &Job) -> u32 {
        self.record.as_ref().map_or(job.printer().dpi.value, |record| record.dpi.into())
    }

    /// Its bytes.
    ///
    /// # Errors
    /// [`RunFailure`] when the disk refuses, or the file is larger than 64 MiB.
    pub fn bytes(&self) -> Result<Vec<u8>, RunFailure> {
        let bytes = bounded::read(&self.path).map_err(RunFailure::disk("read", &self.path))?;
        if bytes.len() > MOST_BYTES {
            let source = crate::proof::ProofFailure::TooManyBytes { bytes: bytes.len() };
            return Err(RunFailure::Unreadable { path: self.path.clone(), source });
        }
        Ok(bytes)
    }
}

/// Finds what shall be sent: without a word the last run, else a number of a run, its folder, its run.json, or a PDF.
///
/// # Errors
/// [`RunFailure`] when the disk refuses; inside it, why there is nothing to send.
pub fn sendable(job: &Job, asked: Option<&str>) -> Result<Result<Sendable, Untried>, RunFailure> {
    let path = match asked.map(|asked| find(job, asked)) {
        Some(Some(path)) => path,
        Some(None) => {
            let what = format!("`{}` is neither a print run nor a PDF", asked.unwrap_or_default());
            let remedy = Remedy::from("name the number of a run")
                .and_by(", as in `loomtag send 3`, its folder, or a PDF", Page::Words(""));
            return Ok(Err(Untried::typed(what, remedy)));
        }
        None => match run_files(job.folder()).pop() {
            Some((_, path)) => path,
            None => {
                let what = "nothing was printed in this job yet";
                return Ok(Err(Untried::typed(
                    what,
                    Remedy::by("`loomtag tags`", Page::Print).words(" makes PDFs; then send them"),
                )));
            }
        },
    };
    // Shown as it is typed again.
    let path = path.strip_prefix(".").map(Path::to_owned).unwrap_or(path);
    if path.file_name().is_some_and(|name| name == RUN_FILE) {
        return of_run(job, &path, None);
    }
    let beside = path.with_file_name(RUN_FILE);
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    if beside.is_file()
        && let sendable = of_run(job, &beside, Some(&name))?
        && !matches!(&sendable, Ok(sendable) if sendable.files.is_empty())
    {
        return Ok(sendable);
    }
    of_no_run(job, path, &name)
}

/// The run.json or PDF that is meant.
fn find(job: &Job, asked: &str) -> Option<PathBuf> {
    if let Ok(number) = asked.parse::<u32>() {
        let runs = run_files(job.folder());
        return runs.into_iter().rev().find(|(run, _)| *run == number).map(|(_, path)| path);
    }
    let candidates = [PathBuf::from(asked), job.folder().join(asked)];
    let there = candidates.into_iter().find_map(|path| {
        let record = path.join(RUN_FILE);
        if record.is_file() { Some(record) } else { path.is_file().then_some(path) }
    });
    there.or_else(|| of_last_run(job.folder(), Path::new(asked)))
}

/// The PDF of the last run that has this bare name.
pub fn of_last_run(job: &Path, name: &Path) -> Option<PathBuf> {
    let is_bare = name.file_name().is_some_and(|bare| bare == name.as_os_str());
    let (_, record) = run_files(job).pop().filter(|_| is_bare)?;
    Some(record.with_file_name(name)).filter(|path| path.is_file())
}

/// The PDFs that a run.json names, or the one of this name.
fn of_run(job: &Job, path: &Path, only: Option<&str>) -> Result<Result<Sendable, Untried>, RunFailure> {
    let bytes = bounded::read_kept(path).map_err(RunFailure::disk("read", path))?;
    let record: RunRecord =
        serde_json::from_slice(&bytes).map_err(|error| RunFailure::disk("understand", path)(error.into()))?;
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let mut files = Vec::new();
    for file in record.files {
        // A name that leads elsewhere is none of a run's.
        let is_plain = Path::new(&file.file).file_name().is_some_and(|name| name == file.file.as_str());
        if !is_plain || only.is_some_and(|only| only != file.file) {
            continue;
        }
        let tried = match stock_of(job, &file.stock, None)? {
            Ok(tried) => tried,
            Err(why) => return Ok(Err(why)),
        };
        files.push(SendableFile { path: folder.join(&file.file), record: Some(file), tried: Some(tried) });
    }
    if files.is_empty() && only.is_none() {
        let what = format!("run {} has no PDF: its codes were listed for a marker pen", record.run);
        return Ok(Err(Untried::typed(what, "name another run")));
    }
    let title = format!("{}, run {}", record.title, record.run);
    Ok(Ok(Sendable { folder, run: Some(record.run), title, files }))
}

/// A PDF that no run.json names. The name of a trial page tells printer and stock; a copy of a run's PDF still bears that of its stock,
/// so that tube is known as tube.
fn of_no_run(job: &Job, path: PathBuf, name: &str) -> Result<Result<Sendable, Untried>, RunFailure> {
    let folder = path.parent().unwrap_or(Path::new("")).to_owned();
    let of_trial = PrinterTable::WORDS.iter().find_map(|(word, table)| {
        let stock = name.strip_prefix(word)?.strip_prefix('-')?.strip_suffix(".pdf")?;
        Some((stock.strip_suffix("-corrected").unwrap_or(stock), *table))
    });
    let named = match of_trial {
        Some((stock, table)) => Some((stock, Some(table))),
        None => copied_stock(job, name)?.map(|stock| (stock, None)),
    };
    let tried = match named {
        Some((stock, table)) => match stock_of(job, stock, table)? {
            Ok(tried) => Some(tried),
            Err(why) => return Ok(Err(why)),
        },
        None => None,
    };
    let title = format!("{}, {name}", job.title());
    let files = vec![SendableFile { path, record: None, tried }];
    Ok(Ok(Sendable { folder, run: None, title, files }))
}

/// The stock that the name of a run's PDF tells: `final-tube-3.2-1.6.pdf`.
fn copied_stock<'a>(job: &Job, name: &'a str) -> Result<Option<&'a str>, RunFailure> {
    let of = |purpose: Purpose| name.strip_prefix(&format!("{purpose}-"))?.strip_suffix(".pdf");
    let Some(stock) = [Purpose::Work, Purpose::Final].into_iter().find_map(of) else { return Ok(None) };
    Ok(Template::Stock.named(job.folder(), stock)?.map(|_| stock))
}

/// The stock of this name, with the printer of the job that prints it; tube for a laser is refused here already.
fn stock_of(job: &Job, stock: &str, printer: Option<PrinterTable>) -> Result<Result<Tried, Untried>, RunFailure> {
    trying::as_printed(job, &Asked { stock: Some(stock.to_owned()), printer })
}

/// Keeps what was sent beside the run.
///
/// # Errors
/// [`RunFailure`] when the disk refuses.
pub fn keep_beside(folder: &Path, name: &str, text: &[u8]) -> Result<(), RunFailure> {
    put(&folder.join(name), text)
}

/// What was kept beside the run; nothing where there is no such file.
///
/// # Errors
/// [`RunFailure`] when the disk refuses.
pub fn kept_beside(folder: &Path, name: &str) -> Result<Option<Vec<u8>>, RunFailure> {
    let path = folder.join(name);
    match bounded::read_settings(&path) {
        Ok(bytes) => Ok(Some(bytes)),
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(RunFailure::disk("read", &path)(error)),
    }
}

/// What the tags of a file are for, in a word.
pub fn purpose(file: &SendableFile) -> Option<Purpose> {
    let word = file.record.as_ref()?.purpose.as_str();
    [Purpose::Work, Purpose::Final].into_iter().find(|purpose| purpose.to_string() == word)
}
