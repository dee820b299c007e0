//! The trial page of a printer and stock, written as a PDF. Nothing is issued and no run is begun.
//!
//! In: a job, the name of a stock, perhaps the printer. Out: the page, uncorrected to measure the printer on it, or corrected to
//! check what was measured.

use std::fs;
use std::path::{Path, PathBuf};

use super::failure::RunFailure;
use super::job::Job;
use super::settings::Printer;
use super::template::Template;
use super::whole_file::{folder_of, put};
use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Problem, Purpose, Remedy, Severity, Source};
use crate::layout::text::Fonts;
use crate::pages::{self, Geometry, Landing, Stock, Trying};
use crate::pdf::{Document, Writer};

/// Folder of trial pages in a job folder.
const FOLDER: &str = "trial";

/// A printer of job.toml, by its table.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum PrinterTable {
    /// `[printer]`: sheets and paper.
    Sheets,
    /// `[sleeve_printer]`: tube, and rolls that are declared for it alone.
    Sleeves,
}

impl PrinterTable {
    /// What is typed for each.
    pub const WORDS: [(&str, Self); 2] = [("printer", Self::Sheets), ("sleeve_printer", Self::Sleeves)];

    /// Name of the table.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Sheets => "printer",
            Self::Sleeves => "sleeve_printer",
        }
    }

    /// The printer, where the job has it.
    pub fn of(self, job: &Job) -> Option<&Printer> {
        match self {
            Self::Sheets => Some(job.printer()),
            Self::Sleeves => job.sleeve_printer(),
        }
    }
}

/// What shall be tried.
#[derive(Clone, Debug, Default)]
pub struct Asked {
    /// Name of the stock; without one, that of flags.
    pub stock: Option<String>,
    /// The printer; without one, that which prints this stock.
    pub printer: Option<PrinterTable>,
}

/// A stock with the printer that is tried on it.
#[derive(Clone, Debug)]
pub struct Tried {
    /// The stock.
    pub stock: Stock,
    /// Which printer.
    pub table: PrinterTable,
    /// The printer as it prints on this stock.
    pub printer: Printer,
    /// What was asked for, as it is typed again: ` a4-24-64x34 --printer sleeve_printer`.
    pub arguments: String,
}

/// Why something is not tried or measured.
#[derive(Clone, Debug, PartialEq)]
pub enum Untried {
    /// Files of the user have errors.
    Problems(Vec<Problem>),
    /// What was typed cannot be meant.
    Typed {
        /// What is wrong with it.
        what: String,
        /// What to do instead.
        remedy: Remedy,
    },
}

impl Untried {
    pub(super) fn typed(what: impl Into<String>, remedy: impl Into<Remedy>) -> Self {
        Self::Typed { what: what.into(), remedy: remedy.into() }
    }
}

/// Looks up stock and printer.
///
/// # Errors
/// [`RunFailure`] when the disk refuses; inside it, why there is nothing to try.
pub fn tried(job: &Job, asked: &Asked) -> Result<Result<Tried, Untried>, RunFailure> {
    looked_up(job, asked, usual_printer)
}

/// A stock with the printer that runs print it on, as they take it: whether it is declared for that one is no question here.
pub(super) fn as_printed(job: &Job, asked: &Asked) -> Result<Result<Tried, Untried>, RunFailure> {
    looked_up(job, asked, |job, stock| Ok(usual_printer(job, stock).unwrap_or(PrinterTable::Sheets)))
}

fn looked_up(
    job: &Job,
    asked: &Asked,
    usual: impl FnOnce(&Job, &Stock) -> Result<PrinterTable, Untried>,
) -> Result<Result<Tried, Untried>, RunFailure> {
    let name = asked.stock.as_ref().unwrap_or(&job.tags().work_stock.value);
    let Some(file) = Template::Stock.named(job.folder(), name)? else {
        let files = Template::Stock.all(job.folder())?;
        let known: Vec<&str> = files.iter().map(|file| file.name.as_str()).collect();
        let remedy = format!("{}; `loomtag stock` lists them all", did_you_mean_or_choose(name, &known));
        return Ok(Err(Untried::typed(format!("there is no stock `{name}`"), remedy)));
    };
    let read = Stock::from_toml(&Source::new(file.file, file.text));
    let Some(stock) = read.value else { return Ok(Err(Untried::Problems(read.problems))) };
    let table = match asked.printer.map_or_else(|| usual(job, &stock), Ok) {
        Ok(table) => table,
        Err(untried) => return Ok(Err(untried)),
    };
    let Some(printer) = table.of(job) else {
        let what = format!("job.toml has no table [{}], which prints `{}`", table.name(), stock.name());
        return Ok(Err(Untried::typed(what, format!("add [{}] to job.toml, with its kind and dpi", table.name()))));
    };
    // Tube in a laser printer is told before it is fed to one.
    let purpose = if stock.tube().is_some() { Purpose::Final } else { Purpose::Work };
    let errors: Vec<Problem> = stock.suits(purpose, printer.kind.value);
    let errors: Vec<Problem> = errors.into_iter().filter(|problem| problem.severity == Severity::Error).collect();
    if !errors.is_empty() {
        return Ok(Err(Untried::Problems(errors)));
    }
    let named = asked.printer.map(|table| format!(" --printer {}", table.name())).unwrap_or_default();
    let arguments = format!(" {}{named}", stock.name());
    let printer = printer.on(&stock);
    Ok(Ok(Tried { stock, table, printer, arguments }))
}

/// The printer that prints a stock: tube goes through the one of tube, and so does what is declared for that one alone. Where none of
/// them is of a declared kind nobody knows which one it is, and what is measured must not be taken for the other one's.
fn usual_printer(job: &Job, stock: &Stock) -> Result<PrinterTable, Untried> {
    if matches!(stock.geometry(), Geometry::Tube(_)) {
        return Ok(PrinterTable::Sleeves);
    }
    let printers = || PrinterTable::WORDS.iter().filter_map(|(_, table)| Some((*table, table.of(job)?)));
    if let Some((table, _)) = printers().find(|(_, printer)| stock.printers().contains(&printer.kind.value)) {
        return Ok(table);
    }
    let declared: Vec<String> = stock.printers().iter().map(ToString::to_string).collect();
    let kind = |(table, printer): (PrinterTable, &Printer)| match printer.kind.origin {
        Some(_) => format!("[{}] is {}", table.name(), printer.kind.value),
        None => format!("[{}] counts as {}", table.name(), printer.kind.value),
    };
    let kinds: Vec<String> = printers().map(kind).collect();
    let choices: Vec<String> = printers().map(|(table, _)| format!("`--printer {}`", table.name())).collect();
    Err(Untried::typed(
        format!("`{}` is for printers of kind {}, and {}", stock.name(), declared.join(" or "), kinds.join(", ")),
        format!("write the `kind` of its printer into job.toml, or name the table: {}", choices.join(" or ")),
    ))
}

/// Writes the trial page whole under its name, in `out` or in the folder of trial pages; an earlier one is replaced.
///
/// # Errors
/// [`RunFailure`] when it cannot be written.
pub fn write(job: &Job, tried: &Tried, trying: Trying, out: Option<&Path>) -> Result<PathBuf, RunFailure> {
    let end = if trying == Trying::Correction { "-corrected" } else { "" };
    let name = format!("{}-{}{end}.pdf", tried.table.name(), tried.stock.name());
    let path = out.map_or_else(|| inside(job.folder()).join(FOLDER).join(&name), Path::to_owned);
    let page = pages::trial(&tried.stock, trying, &tried.arguments, &Fonts::new());
    let landing = match trying {
        Trying::Printer => Landing::TRUE,
        Trying::Correction => tried.printer.landing,
    };
    let title = format!("{} · trial page {}", job.title(), tried.stock.name());
    let document = Document { title, landing, ..Document::default() };
    let failed = |source| RunFailure::Pdf { path: path.clone(), source };
    let mut pdf = Vec::new();
    let mut writer = Writer::new(&mut pdf, &document).map_err(failed)?;
    writer.page(&page).map_err(failed)?;
    writer.finish().map_err(failed)?;
    let folder = folder_of(&path);
    fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
    put(&path, &pdf)?;
    Ok(path)
}

fn inside(folder: &Path) -> &Path {
    if folder == Path::new(".") { Path::new("") } else { folder }
}
