//! The files of a run: PDFs written under temporary names, journalled, read back, and only then given their names.

use std::cell::RefCell;
use std::fs;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use jiff::Timestamp;
use tempfile::NamedTempFile;

use super::equipment::StockInUse;
use super::failure::RunFailure;
use super::headers::{HeaderLabels, is_header, with_groups, with_headers};
use super::print::{Plan, PrintedFile, Proving, Request};
use super::progress::Progress;
use super::reading::Reading;
use super::record::{FileRecord, HeaderRecord, PlacedTag, RUN_FILE, RunRecord, SheetRecord, TagRecord};
use super::sheets::{self, Trays, TubeLaid, TubePage};
use super::whole_file;
use crate::base::{Size, TagCode};
use crate::codes::{Outcome, Register, RunNumber, SheetUse};
use crate::layout::{Frame, text};
use crate::pages::{self, Imposing, Landing, Page, Taking, Words};
use crate::pdf::{Document, Writer};
use crate::proof::{self, Expected};

/// Tags journalled in one transaction: large enough to be quick, small enough to stay out of the way of other writers.
const JOURNAL_BATCH: usize = 1024;

/// A PDF that is written and perhaps proved, but not yet under its name.
struct Pending {
    temporary: NamedTempFile,
    printed: PrintedFile,
    records: Vec<TagRecord>,
    headers: Vec<HeaderRecord>,
}

impl Pending {
    /// What it uses of sheets of labels.
    fn sheets(&self) -> Vec<SheetUse> {
        sheets::uses(&self.printed.sheets, &self.printed.stock, &self.records, &self.headers)
    }
}

/// The files of a run while they are made.
pub(super) struct Files<'a> {
    pub(super) reading: &'a Reading,
    pub(super) plan: &'a Plan<'a>,
    pub(super) folder: &'a Path,
    pub(super) run: RunNumber,
    pub(super) trays: Trays,
    pub(super) now: Timestamp,
    pub(super) progress: &'a dyn Progress,
}

impl Files<'_> {
    /// Writes, journals, proves and names them.
    pub(super) fn write(mut self, request: &Request, register: &mut Register) -> Result<Vec<PrintedFile>, RunFailure> {
        fs::create_dir_all(self.folder).map_err(RunFailure::disk("make the folder", self.folder))?;

        let mut pending = Vec::new();
        self.progress.begin("tags", self.plan.count());
        for (index, in_use) in self.reading.equipment.stocks().iter().enumerate() {
            if self.plan.goes_on(index) {
                pending.extend(self.write_one(index, in_use)?);
            }
        }
        for file in &mut pending {
            register_tags(register, self.run, file)?;
            register.use_sheets(self.run, &file.sheets(), self.now)?;
        }
        if request.proof == Proving::Every {
            let symbols = pending.iter().flat_map(|file| &file.records).map(|tag| tag.symbols.len()).sum();
            self.progress.begin("symbols read back", symbols);
            for file in &mut pending {
                prove(file, self.progress)?;
            }
        }
        let record = record_of(&pending, self.reading, register, self.run, &request.what)?;
        name_files(pending, self.folder, record)
    }

    /// Writes the PDF of one stock under a temporary name; `None` when none of its tags could be made.
    fn write_one(&mut self, index: usize, in_use: &StockInUse) -> Result<Option<Pending>, RunFailure> {
        let Self { reading, plan, folder, run, .. } = *self;
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
        let settings = imposing(reading, in_use, run, &self.trays, &head);
        let headers = HeaderLabels::new(reading, in_use, self.trays.headers(), settings.order);
        let groups = plan.groups(index);
        let settings = with_groups(settings, &groups, headers.as_ref());
        let records = RefCell::default();
        let mut placed = Vec::new();
        let (mut page_number, mut laid) = (0, Vec::new());
        let (mut tubes, mut lengths) = (Vec::new(), Vec::new());
        let pieces = with_headers(plan.pieces(index, &records), groups, headers.as_ref());
        for page in pages::impose(&in_use.stock, pieces, &settings) {
            let page = page?;
            page_number += 1;
            writer.page(&page).map_err(failed)?;
            tubes.extend(TubePage::of(&page));
            let tags = || page.placed.iter().filter(|placed| !is_header(&placed.name));
            lengths.extend(tags().map(|placed| placed.frame.size.width));
            laid.extend(self.trays.laid(&page, page_number, in_use, run));
            placed.extend(tags_on(page_number, &page, &in_use.printer.landing));
            self.progress.advance(tags().count());
        }
        if placed.is_empty() {
            return Ok(None);
        }
        let written = writer.finish().map_err(failed)?;
        let (headers, placed): (Vec<_>, Vec<_>) = placed.into_iter().partition(|placed| is_header(&placed.name));
        let headers: Vec<HeaderRecord> = headers.iter().map(HeaderRecord::of).collect();
        let records = TagRecord::place_all(records.into_inner(), placed);
        // Who asked for new sheets, or for one, has chosen.
        let begun = if settings.tray.taking == Taking::InOrder { &[][..] } else { &settings.tray.begun };
        let printed = PrintedFile {
            path,
            stock: stock.to_owned(),
            purpose: in_use.purpose,
            printer: in_use.printer.kind.value,
            dpi: in_use.dpi(),
            tags: records.len(),
            headers: headers.len(),
            pages: written.pages,
            waiting: sheets::waiting(&in_use.stock, &settings, begun, &laid),
            sheets: laid,
            tube: TubeLaid::of(tubes, &lengths, &in_use.stock, &settings),
            proof: None,
        };
        Ok(Some(Pending { temporary, printed, records, headers }))
    }
}

/// How the pages of a run are filled on a stock.
pub(super) fn imposing<'a>(
    reading: &Reading,
    in_use: &StockInUse,
    run: RunNumber,
    trays: &Trays,
    head: Words<'a>,
) -> Imposing<'a> {
    Imposing {
        edges: in_use.printer.edges,
        landing: in_use.printer.landing,
        tray: trays.tray(in_use),
        off_cuts: trays.off_cuts(&in_use.stock),
        order: trays.order().unwrap_or(reading.job.tags().order),
        ..Imposing::new(reading.job.title(), format!("run {run}"), head)
    }
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
pub(super) fn run_folder(job: &Path, run: RunNumber) -> PathBuf {
    let job = if job == Path::new(".") { Path::new("") } else { job };
    let prints = job.join("prints");
    let name = format!("run-{:04}", run.get());
    let first = prints.join(&name);
    if !first.exists() {
        return first;
    }
    (2_u64..).map(|again| prints.join(format!("{name}-{again}"))).find(|path| !path.exists()).unwrap_or(first)
}

fn temporary_in(folder: &Path) -> Result<NamedTempFile, RunFailure> {
    whole_file::temporary_in(folder).map_err(RunFailure::disk("write in", folder))
}

/// The tags of a page, their symbols as they are sent.
fn tags_on(number: usize, page: &Page, landing: &Landing) -> impl Iterator<Item = PlacedTag> {
    page.placed.iter().map(move |placed| {
        let symbols = Expected::on_tag(number, placed).map(|symbol| symbol.sent(landing));
        let on = page.sheet.as_ref().zip(placed.place);
        PlacedTag {
            name: placed.name.clone(),
            page: number,
            on: on.and_then(|(sheet, place)| Some((sheet.number, u32::try_from(place + 1).ok()?))),
            symbols: symbols.collect(),
        }
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
    for Pending { temporary, printed, records, headers } in pending {
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
            sheets: printed.sheets.iter().map(SheetRecord::of).collect(),
            tags: records,
            headers,
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
