//! A print run: codes issued, tags fitted, placed, written as PDFs, proved, and only then given their names.
//!
//! The order makes a run safe to break off at any moment: codes are issued in one transaction first; the run is journalled
//! as planned; the PDFs are written under temporary names, read back, and renamed when all are whole; then the run is
//! journalled as done.

use std::cell::RefCell;
use std::fs;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use tempfile::NamedTempFile;

use super::choice::{Again, Choice};
use super::equipment::{Equipment, StockInUse};
use super::failure::RunFailure;
use super::making::Made;
use super::progress::Progress;
use super::reading::Reading;
use super::record::{FileRecord, RUN_FILE, RunRecord, TagRecord};
use super::register;
use super::stale::{Due, OnWires};
use super::tally::Tally;
use super::whole_file;
use crate::base::{Purpose, Size, TagCode};
use crate::codes::{Issued, Outcome, Register, RunNumber};
use crate::labels::{AsSaid, Label, Subject};
use crate::layout::{Frame, Refusal, text};
use crate::pages::{self, Imposing, Landing, Page, Piece};
use crate::pdf::{Document, Writer};
use crate::proof::{self, Expected, Proof};

/// Tags journalled in one transaction: large enough to be quick, small enough to stay out of the way of other writers.
const JOURNAL_BATCH: usize = 1024;

/// What is asked of a print run.
#[derive(Clone, Debug)]
pub struct Request {
    /// Which tags.
    pub choice: Choice,
    /// Tags of ends that no list has any more, as they said.
    pub as_said: Vec<AsSaid>,
    /// The folder for the PDFs; without one, a folder of the run's own under `prints` in the job folder.
    pub out: Option<PathBuf>,
    /// Whether every symbol is read back before the run counts as done.
    pub proof: Proving,
    /// What was typed, for the journal.
    pub what: String,
}

/// Whether symbols are read back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proving {
    /// Every symbol of every page.
    Every,
    /// None: quicker, and at the user's own risk.
    None,
}

/// What came of a print run.
#[derive(Clone, Debug)]
pub struct Printed {
    /// Number of the run; `None` when nothing was to be printed.
    pub run: Option<RunNumber>,
    /// Folder of the files.
    pub folder: PathBuf,
    /// The PDFs, in the order of the stocks.
    pub files: Vec<PrintedFile>,
    /// Tags that could not be made.
    pub refused: Vec<Refused>,
    /// What was made, counted.
    pub tally: Tally,
    /// Where only new and changed tags were wanted: which they are, in working order.
    pub due: Option<Vec<Due>>,
}

/// One PDF of a run.
#[derive(Clone, Debug)]
pub struct PrintedFile {
    /// Where it lies.
    pub path: PathBuf,
    /// Name of its stock.
    pub stock: String,
    /// Work or final tags.
    pub purpose: Purpose,
    /// Resolution of its printer, in dots an inch.
    pub dpi: u16,
    /// How many tags.
    pub tags: usize,
    /// How many pages.
    pub pages: usize,
    /// What reading it back found; `None` when that was not asked for.
    pub proof: Option<Proof>,
}

/// A tag that could not be made.
#[derive(Clone, Debug)]
pub struct Refused {
    /// Its name: `7KF4 A`.
    pub name: String,
    /// The place it was for.
    pub place: String,
    /// Work or final.
    pub purpose: Purpose,
    /// Why, and what would do.
    pub refusal: Refusal,
    /// Where the diameter is not known: what the table has near to the wire's size.
    pub near: Option<String>,
}

impl Refused {
    /// A label that no tag can be made for.
    pub(super) fn new(label: &Label, refusal: Refusal, equipment: &Equipment) -> Self {
        let near = (refusal == Refusal::DiameterUnknown).then(|| equipment.near(label)).flatten();
        Self { name: label.name.to_string(), place: label.place_text(), purpose: label.purpose, refusal, near }
    }
}

/// Prints tags.
///
/// # Errors
/// [`RunFailure`] when the register, the disk or the proof fails; then no file is left under its final name, and codes that
/// were issued stay issued.
pub fn print(
    reading: &Reading,
    request: &Request,
    now: Timestamp,
    progress: &dyn Progress,
) -> Result<Printed, RunFailure> {
    refuse_occupied(request)?;
    let mut register = register::open(reading.job.folder())?;
    if let Some(blanks) = request.choice.blanks_alone() {
        // No circuit gets a code because of them: it may yet take that of a blank.
        let issued = Issued::default();
        let mut plan = Plan::new(reading, &issued);
        blanks.into_iter().for_each(|blank| plan.add(Purpose::Work, Subject::Blank(blank)));
        request.as_said.iter().for_each(|said| plan.add_as_said(said));
        return plan.print(&mut register, request, now, progress);
    }
    let issued = register.issue(&reading.circuits, now)?;
    let on_wires = match request.choice.again {
        Again::All => None,
        Again::Changed => Some(OnWires::read(&register, &register.records()?, |_, _| ())?),
    };
    let mut plan = Plan::new(reading, &issued);
    plan.choose(&request.choice, on_wires.as_ref());
    request.as_said.iter().for_each(|said| plan.add_as_said(said));
    plan.print(&mut register, request, now, progress)
}

/// No run is written over another.
pub(super) fn refuse_occupied(request: &Request) -> Result<(), RunFailure> {
    match request.out.as_ref().filter(|folder| folder.join(RUN_FILE).exists()) {
        Some(folder) => Err(RunFailure::Occupied(folder.clone())),
        None => Ok(()),
    }
}

/// The tags of a run, each with the stock it goes on.
pub(super) struct Plan<'a> {
    reading: &'a Reading,
    issued: &'a Issued,
    tags: Vec<(Purpose, Subject, usize)>,
    refused: RefCell<Vec<Refused>>,
    tally: RefCell<Tally>,
    due: Option<Vec<Due>>,
}

impl<'a> Plan<'a> {
    pub(super) fn new(reading: &'a Reading, issued: &'a Issued) -> Self {
        let (refused, tally) = (RefCell::default(), RefCell::default());
        Self { reading, issued, tags: Vec::new(), refused, tally, due: None }
    }

    /// Adds all tags of a choice; with what hangs on the wires, those that are new or changed.
    fn choose(&mut self, choice: &Choice, on_wires: Option<&OnWires>) {
        self.due = on_wires.map(|_| Vec::new());
        for &purpose in &choice.purposes {
            let selection = choice.select(&self.reading.circuits, self.issued, purpose);
            self.tally.get_mut().count_unmarked(&self.reading.circuits, &selection);
            for subject in selection.subjects {
                let Some(on_wires) = on_wires else {
                    self.add(purpose, subject);
                    continue;
                };
                let label = self.reading.sources(self.issued).label(purpose, &subject);
                let make = || self.reading.equipment.make(&label).ok();
                let due = on_wires.due(self.reading, self.issued, purpose, &subject, &label, make);
                let before = self.tags.len();
                if due.is_some() {
                    self.add(purpose, subject);
                }
                // What is refused is told as such.
                if self.tags.len() > before {
                    self.due.iter_mut().for_each(|all| all.extend(due.clone()));
                }
            }
        }
    }

    /// The frame is made when it is drawn, so that not all of them lie in memory at once.
    pub(super) fn add(&mut self, purpose: Purpose, subject: Subject) {
        let label = self.reading.sources(self.issued).label(purpose, &subject);
        match self.reading.equipment.stock_for(&label) {
            Ok(stock) => self.tags.push((purpose, subject, stock)),
            Err(refusal) => self.refuse(&label, refusal),
        }
    }

    /// Whether there is nothing to print.
    pub(super) const fn is_empty(&self) -> bool {
        self.tags.is_empty()
    }

    /// What is answered where there is nothing to print.
    pub(super) fn nothing(self, request: &Request) -> Printed {
        let folder = request.out.clone().unwrap_or_else(|| self.reading.job.folder().to_owned());
        let (refused, tally) = (self.refused.into_inner(), self.tally.into_inner());
        Printed { run: None, folder, files: Vec::new(), refused, tally, due: self.due }
    }

    /// Makes the files, as a run of its own.
    pub(super) fn print(
        self,
        register: &mut Register,
        request: &Request,
        now: Timestamp,
        progress: &dyn Progress,
    ) -> Result<Printed, RunFailure> {
        if self.tags.is_empty() {
            return Ok(self.nothing(request));
        }
        let run = register.begin_run(now, &request.what)?;
        let folder = request.out.clone().unwrap_or_else(|| run_folder(self.reading.job.folder(), run));
        let is_new = !folder.exists();
        let made = write_files(self.reading, &self, request, &folder, run, register, progress);
        if made.is_err() && is_new {
            // Only an empty folder goes; the failure itself is what is told.
            let _ = fs::remove_dir(&folder);
        }
        let outcome = if made.is_ok() { Outcome::Done } else { Outcome::Failed };
        let ended = register.end_run(run, outcome, now);
        let files = made?;
        ended?;
        let (refused, tally) = (self.refused.into_inner(), self.tally.into_inner());
        Ok(Printed { run: Some(run), folder, files, refused, tally, due: self.due })
    }

    fn add_as_said(&mut self, said: &AsSaid) {
        match self.reading.equipment.make_in(&said.label, &said.wording) {
            Ok(made) => self.tags.push((said.label.purpose, Subject::AsSaid(Box::new(said.clone())), made.stock)),
            Err(refusal) => self.refuse(&said.label, refusal),
        }
    }

    fn make(&self, purpose: Purpose, subject: &Subject) -> Option<(Label, Made)> {
        let label = self.reading.sources(self.issued).label(purpose, subject);
        let equipment = &self.reading.equipment;
        let made = match subject {
            Subject::AsSaid(said) => equipment.make_in(&label, &said.wording),
            _ => equipment.make(&label),
        };
        match made {
            Ok(made) => Some((label, made)),
            Err(refusal) => {
                self.refuse(&label, refusal);
                None
            }
        }
    }

    fn refuse(&self, label: &Label, refusal: Refusal) {
        self.refused.borrow_mut().push(Refused::new(label, refusal, &self.reading.equipment));
    }

    /// The frames for a stock, made one at a time as they are asked for; what each says is written to `records`.
    fn pieces<'p>(&'p self, stock: usize, records: &'p RefCell<Vec<TagRecord>>) -> impl Iterator<Item = Piece> + 'p {
        let tags = self.tags.iter().filter(move |(_, _, on)| *on == stock);
        tags.filter_map(move |(purpose, subject, _)| {
            let (label, made) = self.make(*purpose, subject)?;
            self.tally.borrow_mut().count(&label, &made.tag.facts);
            let circuit = subject.circuit().map(|circuit| &self.reading.circuits.all()[circuit]);
            let record = TagRecord::of(circuit, &label, &made.tag.facts);
            let name = record.name();
            records.borrow_mut().push(record);
            let connector = label.place.as_ref().map(|place| place.connector.to_string());
            Some(Piece { frame: made.tag.frame, name, heading: connector.clone(), group: connector, labels: 0 })
        })
    }
}

/// A PDF that is written and perhaps proved, but not yet under its name.
struct Pending {
    temporary: NamedTempFile,
    printed: PrintedFile,
    records: Vec<TagRecord>,
}

fn write_files(
    reading: &Reading,
    plan: &Plan<'_>,
    request: &Request,
    folder: &Path,
    run: RunNumber,
    register: &mut Register,
    progress: &dyn Progress,
) -> Result<Vec<PrintedFile>, RunFailure> {
    fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;

    let mut pending = Vec::new();
    progress.begin("tags", plan.tags.len());
    for (index, in_use) in reading.equipment.stocks().iter().enumerate() {
        if plan.tags.iter().any(|(_, _, on)| *on == index) {
            pending.extend(write_file(reading, plan, index, in_use, folder, run, progress)?);
        }
    }
    for file in &mut pending {
        register_tags(register, run, file)?;
    }
    if request.proof == Proving::Every {
        let symbols = pending.iter().flat_map(|file| &file.records).map(|tag| tag.symbols.len()).sum();
        progress.begin("symbols read back", symbols);
        for file in &mut pending {
            prove(file, progress)?;
        }
    }
    let record = record_of(&pending, reading, register, run, &request.what)?;
    name_files(pending, folder, record)
}

/// Records codes that were listed for a marker pen as a run of its own, which has no files: a lost register is put together from
/// runs, and must not issue them again.
pub(super) fn record_list(
    reading: &Reading,
    register: &mut Register,
    codes: &[TagCode],
    what: &str,
    now: Timestamp,
) -> Result<(), RunFailure> {
    let run = register.begin_run(now, what)?;
    let folder = run_folder(reading.job.folder(), run);
    fs::create_dir_all(&folder).map_err(RunFailure::disk("make the folder", &folder))?;
    let record = record_of(&[], reading, register, run, what)?;
    let listed = codes.iter().map(ToString::to_string).collect();
    name_files(Vec::new(), &folder, RunRecord { listed, ..record })?;
    Ok(register.end_run(run, Outcome::Done, now)?)
}

/// The record of a run without its files: what the register could be put together from.
fn record_of(
    pending: &[Pending],
    reading: &Reading,
    register: &Register,
    run: RunNumber,
    what: &str,
) -> Result<RunRecord, RunFailure> {
    let tags = pending.iter().flat_map(|file| &file.records);
    let codes: Vec<TagCode> = tags.filter_map(|tag| TagCode::from_typed(tag.code.as_deref()?).ok()).collect();
    let circuits = register.recorded_by_run(&codes)?;
    let title = reading.job.title().to_owned();
    let issued = Some(register.issued_count()?);
    let (files, listed) = (Vec::new(), Vec::new());
    Ok(RunRecord { run: run.get(), title, what: what.to_owned(), files, issued, circuits, listed })
}

/// A folder of the run's own. Where the register began anew, the folder of an earlier run 1 is left alone.
fn run_folder(job: &Path, run: RunNumber) -> PathBuf {
    let job = if job == Path::new(".") { Path::new("") } else { job };
    let prints = job.join("prints");
    let name = format!("run-{:04}", run.get());
    let first = prints.join(&name);
    if !first.exists() {
        return first;
    }
    (2_u64..).map(|again| prints.join(format!("{name}-{again}"))).find(|path| !path.exists()).unwrap_or(first)
}

/// Writes the PDF of one stock under a temporary name; `None` when none of its tags could be made.
fn write_file(
    reading: &Reading,
    plan: &Plan<'_>,
    index: usize,
    in_use: &StockInUse,
    folder: &Path,
    run: RunNumber,
    progress: &dyn Progress,
) -> Result<Option<Pending>, RunFailure> {
    let stock = in_use.stock.name();
    let path = folder.join(format!("{}-{stock}.pdf", in_use.purpose));
    let failed = |source| RunFailure::Pdf { path: path.clone(), source };
    let temporary = temporary_in(folder)?;
    let document = Document {
        title: format!("{} · {} tags · run {run}", reading.job.title(), in_use.purpose),
        fallbacks: reading.equipment.font_files().to_vec(),
        landing: in_use.printer.landing,
    };
    let mut writer = Writer::new(BufWriter::new(temporary.as_file()), &document).map_err(failed)?;

    let fonts = reading.equipment.fonts();
    let head = |size: Size, words: &str| -> Frame { text::caption(fonts, size, words) };
    let settings = Imposing {
        title: reading.job.title().to_owned(),
        run: format!("run {run}"),
        edges: in_use.printer.edges,
        landing: in_use.printer.landing,
        head: &head,
    };
    let records = RefCell::default();
    let mut placed = Vec::new();
    let mut page_number = 0;
    for page in pages::impose(&in_use.stock, plan.pieces(index, &records), &settings) {
        let page = page?;
        page_number += 1;
        writer.page(&page).map_err(failed)?;
        placed.extend(tags_on(page_number, &page, &in_use.printer.landing));
        progress.advance(page.placed.len());
    }
    if placed.is_empty() {
        return Ok(None);
    }
    let written = writer.finish().map_err(failed)?;
    let records = TagRecord::place_all(records.into_inner(), placed);
    let printed = PrintedFile {
        path,
        stock: stock.to_owned(),
        purpose: in_use.purpose,
        dpi: in_use.dpi(),
        tags: records.len(),
        pages: written.pages,
        proof: None,
    };
    Ok(Some(Pending { temporary, printed, records }))
}

fn temporary_in(folder: &Path) -> Result<NamedTempFile, RunFailure> {
    whole_file::temporary_in(folder).map_err(RunFailure::disk("write in", folder))
}

/// The tags of a page by name, each with its page and its symbols as they are sent.
fn tags_on(number: usize, page: &Page, landing: &Landing) -> impl Iterator<Item = (String, usize, Vec<Expected>)> {
    page.placed.iter().map(move |placed| {
        let symbols = Expected::on_tag(number, placed).map(|symbol| symbol.sent(landing));
        (placed.name.clone(), number, symbols.collect())
    })
}

fn register_tags(register: &mut Register, run: RunNumber, file: &Pending) -> Result<(), RunFailure> {
    for batch in file.records.chunks(JOURNAL_BATCH) {
        let tags: Vec<_> = batch.iter().filter_map(|tag| tag.journalled(&file.printed.stock)).collect();
        register.record(run, &tags)?;
        let connectors: Vec<_> = batch.iter().filter_map(|tag| tag.journalled_connector(&file.printed.stock)).collect();
        if !connectors.is_empty() {
            register.record_connectors(run, &connectors)?;
        }
    }
    Ok(())
}

#[expect(clippy::disallowed_methods, reason = "`run` reads back what it wrote")]
fn prove(file: &mut Pending, progress: &dyn Progress) -> Result<(), RunFailure> {
    let path = &file.printed.path;
    let expected: Vec<Expected> = file.records.iter().flat_map(TagRecord::expected).collect();
    let bytes = fs::read(file.temporary.path()).map_err(RunFailure::disk("read back", path))?;
    let proof = proof::check(Arc::new(bytes), &expected, file.printed.dpi, &|count| progress.advance(count))
        .map_err(|source| RunFailure::Unreadable { path: path.clone(), source })?;
    if !proof.misses.is_empty() {
        return Err(RunFailure::NotProved { path: path.clone(), misses: proof.misses });
    }
    file.printed.proof = Some(proof);
    Ok(())
}

/// Gives all files of the run their names, and writes run.json beside them.
fn name_files(pending: Vec<Pending>, folder: &Path, mut record: RunRecord) -> Result<Vec<PrintedFile>, RunFailure> {
    let mut files = Vec::new();
    for Pending { temporary, printed, records } in pending {
        temporary
            .as_file()
            .sync_all()
            .and_then(|()| temporary.persist_noclobber(&printed.path).map(drop).map_err(|error| error.error))
            .map_err(RunFailure::disk("write", &printed.path))?;
        let file = printed.path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        record.files.push(FileRecord {
            file,
            stock: printed.stock.clone(),
            purpose: printed.purpose.to_string(),
            dpi: printed.dpi,
            pages: printed.pages,
            tags: records,
        });
        files.push(printed);
    }
    let path = folder.join(RUN_FILE);
    let failed = || RunFailure::disk("write", &path);
    let mut temporary = temporary_in(folder)?;
    serde_json::to_writer_pretty(BufWriter::new(temporary.as_file()), &record)
        .map_err(|error| failed()(error.into()))?;
    temporary.flush().map_err(failed())?;
    temporary.persist(&path).map_err(|error| failed()(error.error))?;
    Ok(files)
}
