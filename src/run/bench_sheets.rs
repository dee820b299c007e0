//! Bench sheets: the paper that lies beside the connector, as one PDF. Codes that stand on paper are issued, as those of tags are.

use std::collections::{BTreeMap, HashMap, HashSet};
use std::fs;
use std::io::{BufWriter, Write as _};
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::as_built::{ChartsWritten, bench_notes, write_charts};
use super::face_pictures::{face_pictures, file_name};
use super::failure::RunFailure;
use super::open_questions;
use super::picture::Format;
use super::reading::Reading;
use super::register;
use super::reuse::settings as reuse_settings;
use super::whole_file::temporary_in;
use super::worked::of_end;
use crate::base::{ConnectorId, EndLetter, Problem, Purpose, Size, TagCode, TagKind};
use crate::circuits::{Action, Circuit, End};
use crate::codes::{Issued, Register, Said, progress};
use crate::labels::{Doubled, Reach, Subject, select};
use crate::layout::text::Fonts;
use crate::pages::Page;
use crate::paperwork::as_built::{Difference, as_built, differences_sheet, is_no_connector};
use crate::paperwork::whole_job::{
    SortedBy, ToBuy, branches, fuses, lid_card, questions, safety, schedule, shopping_list,
};
use crate::paperwork::work_list::WorkLists;
use crate::paperwork::{self, Found, Harness, Letterhead, OnBench, Paper, Sheet, face, overview, reuse};
use crate::pdf::{Document, Writer};

/// Folder of the sheets in the job folder.
const SHEETS: &str = "sheets";

/// Folder of the pictures of faces, beside the PDF.
const FACES: &str = "faces";

/// A sort of sheets.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sort {
    /// What there is to do in every connector.
    Overview,
    /// Where what is differs from what was planned.
    Differences,
    /// Cautions, and the circuits that they are about.
    Safety,
    /// What to buy.
    Shopping,
    /// Which removed wire is for what.
    Reuse,
    /// What nobody decided or knows yet.
    Questions,
    /// Pictures of connectors, against the mating face and from the wire side.
    Faces,
    /// What there is to do at every end of a connector.
    WorkLists,
    /// How many wires lie in each leg.
    Branches,
    /// A row for each circuit.
    Schedule,
    /// What each fuse feeds.
    Fuses,
    /// How the records are opened.
    LidCard,
}

impl Sort {
    /// All sorts with their words, in the order of the document.
    pub const WORDS: [(&str, Self); 12] = [
        ("overview", Self::Overview),
        ("differences", Self::Differences),
        ("safety", Self::Safety),
        ("shopping", Self::Shopping),
        ("reuse", Self::Reuse),
        ("questions", Self::Questions),
        ("faces", Self::Faces),
        ("work-lists", Self::WorkLists),
        ("branches", Self::Branches),
        ("schedule", Self::Schedule),
        ("fuses", Self::Fuses),
        ("lid-card", Self::LidCard),
    ];

    /// Whether there is one for each connector.
    const fn is_of_connector(self) -> bool {
        match self {
            Self::Overview
            | Self::Differences
            | Self::Safety
            | Self::Shopping
            | Self::Reuse
            | Self::Questions
            | Self::Branches
            | Self::Schedule
            | Self::Fuses
            | Self::LidCard => false,
            Self::Faces | Self::WorkLists => true,
        }
    }
}

/// What sheets show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Shown {
    /// What is planned.
    #[default]
    Plan,
    /// What is, by the notes of the bench.
    AsBuilt,
}

impl Shown {
    /// Whether a sheet of this sort is among those that nobody asked for by name: what is left to buy, to decide or to use again is of
    /// the plan, and differences are of what is.
    const fn has(self, sort: Sort) -> bool {
        match self {
            Self::Plan => !matches!(sort, Sort::Differences),
            Self::AsBuilt => !matches!(sort, Sort::Shopping | Sort::Reuse | Sort::Questions),
        }
    }
}

/// What is asked for.
#[derive(Clone, Debug)]
pub struct SheetsWish {
    /// What they show.
    pub shown: Shown,
    /// The folder for charts of what is.
    pub charts: Option<PathBuf>,
    /// The sorts of sheets; none: all.
    pub sorts: Vec<Sort>,
    /// The connectors whose own sheets are wanted; none: all, and the sheets of the whole job.
    pub connectors: Vec<ConnectorId>,
    /// The paper.
    pub paper: Paper,
    /// The PDF; without one, a file below `sheets` in the job folder.
    pub out: Option<PathBuf>,
    /// The order of the circuit schedule.
    pub sorted_by: SortedBy,
    /// Size of a face of a fuse legend.
    pub legend: Size,
    /// What the next print run takes, for the shopping list.
    pub to_buy: Vec<ToBuy>,
    /// Whether the faces are drawn as pictures too, and how.
    pub pictures: Option<Format>,
}

impl SheetsWish {
    /// Whether sheets of this sort are wanted: of chosen connectors, unless sorts are named, their own alone.
    pub fn wants(&self, sort: Sort) -> bool {
        match self.sorts.is_empty() {
            true => self.shown.has(sort) && (self.connectors.is_empty() || sort.is_of_connector()),
            false => self.sorts.contains(&sort),
        }
    }
}

/// Sheets that were written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetsWritten {
    /// The PDF.
    pub path: PathBuf,
    /// How many pages it has.
    pub pages: usize,
    /// Title, sort and number of pages of each sheet, in their order.
    pub sheets: Vec<(String, String, usize)>,
    /// Pictures of faces.
    pub pictures: Vec<PathBuf>,
    /// Where what is differs from what was planned, when that is shown.
    pub differences: Vec<Difference>,
    /// The charts.
    pub charts: Option<ChartsWritten>,
}

/// Writes bench sheets; `None` when there is nothing to show. A file of an earlier run is replaced.
///
/// # Errors
/// [`RunFailure`] when the register or the disk fails.
pub fn bench_sheets(reading: &Reading, wish: &SheetsWish, now: Timestamp) -> Result<Option<SheetsWritten>, RunFailure> {
    let mut register = register::open(reading.job.folder())?;
    let issued = issue_for(&mut register, reading, wish, now)?;
    let harness = harness(reading, &issued, &register)?;
    let letterhead = letterhead(reading, &register, wish.paper, now)?;
    let questions = open_questions::asked(reading, &issued, &register)?;
    let fonts = reading.equipment.fonts();
    let notes = register.notes()?;
    let built = as_built(&harness, &bench_notes(&issued, &register.records()?, &notes, &register.blanks()?));
    let is_as_built = wish.shown == Shown::AsBuilt;
    let shown = if is_as_built { built.harness(reading.equipment.payload()) } else { harness };
    let mut sheets = sheets(&shown, &letterhead, &questions, reading, wish);
    if is_as_built {
        for sheet in &mut sheets {
            sheet.sort = format!("{}, as built {}", sheet.sort, letterhead.date);
        }
    }
    if wish.wants(Sort::Differences) {
        let behind_overview = sheets.len().min(usize::from(wish.wants(Sort::Overview)));
        let differences = differences_sheet(&built.differences, &letterhead, fonts);
        sheets.splice(behind_overview..behind_overview, differences);
    }
    let laid: Vec<(Sheet, Vec<Page>)> = sheets
        .into_iter()
        .map(|sheet| (paperwork::letterhead::pages(std::slice::from_ref(&sheet), &letterhead, fonts), sheet))
        .map(|(pages, sheet)| (sheet, pages))
        .filter(|(_, pages)| !pages.is_empty())
        .collect();
    if laid.is_empty() {
        return Ok(None);
    }
    let charts = wish.charts.as_ref().map(|folder| write_charts(&built.circuits, folder)).transpose()?;
    let path = wish.out.clone().unwrap_or_else(|| own_path(reading.job.folder(), wish));
    let title = format!("{} · {}", reading.job.title(), if is_as_built { "as built" } else { "bench sheets" });
    write(reading, laid.iter().flat_map(|(_, pages)| pages), &title, &path)?;
    let told: Vec<_> = laid.into_iter().map(|(sheet, pages)| (sheet.title, sheet.sort, pages.len())).collect();
    let pictures = match wish.pictures {
        Some(format) => {
            let folder = path.with_file_name(FACES);
            face_pictures(reading, &shown, &wish.connectors, wish.paper, format, &folder)?
        }
        None => Vec::new(),
    };
    let pages = told.iter().map(|(_, _, pages)| pages).sum();
    let differences = if is_as_built { built.differences } else { Vec::new() };
    Ok(Some(SheetsWritten { path, pages, sheets: told, pictures, differences, charts }))
}

/// The codes that sheets show. Where all circuits of the chosen connectors have theirs none is issued: others may yet prove to be
/// circuits that the register knows by another name.
fn issue_for(
    register: &mut Register,
    reading: &Reading,
    wish: &SheetsWish,
    now: Timestamp,
) -> Result<Issued, RunFailure> {
    if !wish.connectors.is_empty() && wish.sorts.iter().all(|sort| sort.is_of_connector()) {
        let ahead = register.preview(&reading.circuits)?;
        let records = register.records()?;
        let known: HashSet<(TagCode, EndLetter)> =
            records.iter().flat_map(|record| record.ends.iter().map(|end| (record.code, end.letter))).collect();
        // A wire that moves into a connector stands in its list.
        let leads =
            |end: &End| matches!(&end.action, Action::Move(Some(to)) if wish.connectors.contains(&to.connector));
        let is_shown = |circuit: &Circuit| {
            circuit.ends().iter().any(|end| wish.connectors.contains(&end.place.connector) || leads(end))
        };
        let mut shown = reading.circuits.all().iter().zip(&ahead.circuits).filter(|(circuit, _)| is_shown(circuit));
        if shown.all(|(_, codes)| codes.letters.iter().all(|letter| known.contains(&(codes.code, *letter)))) {
            return Ok(ahead);
        }
    }
    Ok(register.issue(&reading.circuits, now)?)
}

/// The sheets that are asked for, in the order of the document.
fn sheets(
    harness: &Harness<'_>,
    letterhead: &Letterhead,
    questions: &[Problem],
    reading: &Reading,
    wish: &SheetsWish,
) -> Vec<Sheet> {
    let fonts = reading.equipment.fonts();
    let mut sheets = Vec::new();
    if wish.wants(Sort::Overview) {
        sheets.extend(overview::sheet(harness, letterhead, fonts));
    }
    if wish.wants(Sort::Safety) {
        sheets.extend(safety::sheet(harness, letterhead, fonts));
    }
    if wish.wants(Sort::Shopping) {
        sheets.extend(shopping_list::sheet(harness, reuse_settings(reading), &wish.to_buy, letterhead, fonts));
    }
    if wish.wants(Sort::Reuse) {
        let settings = reuse_settings(reading);
        let found = reuse::reuse(harness, settings, &|_| true);
        sheets.extend(reuse::sheet::sheet(harness, &found, settings.slack, letterhead, fonts));
    }
    if wish.wants(Sort::Questions) {
        sheets.extend(questions::sheet(harness, questions, letterhead, fonts));
    }
    sheets.extend(of_connectors(harness, letterhead, fonts, wish));
    if wish.wants(Sort::Branches) {
        sheets.extend(branches::sheet(harness, letterhead, fonts));
    }
    if wish.wants(Sort::Schedule) {
        sheets.extend(schedule::sheet(harness, wish.sorted_by, letterhead, fonts));
    }
    if wish.wants(Sort::Fuses) {
        sheets.extend(fuses::sheets(harness, &wish.connectors, wish.legend, letterhead, fonts));
    }
    if wish.wants(Sort::LidCard) {
        sheets.extend(lid_card::sheet(harness, letterhead, fonts));
    }
    sheets
}

/// The sheets of each connector: its faces above its work list. Faces alone stand beside each other, those of several connectors on a
/// page.
fn of_connectors(harness: &Harness<'_>, letterhead: &Letterhead, fonts: &Fonts, wish: &SheetsWish) -> Vec<Sheet> {
    let (wants_faces, wants_lists) = (wish.wants(Sort::Faces), wish.wants(Sort::WorkLists));
    let mut faces = if wants_faces { face::faces(harness) } else { BTreeMap::new() };
    // Free ends have their list as built, and sit in nothing that could be drawn.
    faces.retain(|id, _| wish.shown == Shown::Plan || !is_no_connector(harness, id));
    let is_meant = |id: &ConnectorId| wish.connectors.is_empty() || wish.connectors.contains(id);
    if !wants_lists {
        let faces = faces.values().filter(|face| is_meant(&face.id) && !face.held.is_empty());
        return face::sheet(faces, letterhead, fonts).into_iter().collect();
    }
    let lists = WorkLists::new(harness);
    // Of connectors that are chosen each has a sheet, whatever is to be done there.
    let has_own = |id: &&ConnectorId| if wish.connectors.is_empty() { !lists.stays(id) } else { is_meant(id) };
    let own = lists.connectors().filter(has_own).filter_map(|id| lists.sheet(id, faces.get(id), letterhead, fonts));
    let staying = wish.connectors.is_empty().then(|| lists.staying(&faces, letterhead, fonts)).flatten();
    own.chain(staying).collect()
}

/// What the bench knows of every end.
pub(super) fn harness<'a>(
    reading: &'a Reading,
    issued: &'a Issued,
    register: &Register,
) -> Result<Harness<'a>, RunFailure> {
    let mut harness = Harness::new(&reading.circuits, issued, reading.equipment.payload());
    let (records, notes) = (register.records()?, register.notes()?);
    let by_code: HashMap<_, _> = records.iter().map(|record| (record.code, record)).collect();
    for (codes, ends) in issued.circuits.iter().zip(&mut harness.on_bench) {
        let Some(record) = by_code.get(&codes.code) else { continue };
        for (letter, on_bench) in codes.letters.iter().zip(ends) {
            let noted = of_end(record, *letter, &notes);
            let standing = noted.iter().filter(|noted| noted.superseded_by.is_none() && noted.note.said == Said::Text);
            on_bench.remarks = standing.map(|noted| noted.note.remark.clone()).collect();
            let now = progress(noted.iter().copied());
            on_bench.done = now.done;
            on_bench.found = now
                .findings
                .iter()
                .filter_map(|noted| match noted.note.said {
                    Said::Found(finding) => Some(Found {
                        finding,
                        value: noted.note.value.clone(),
                        remark: noted.note.remark.clone(),
                        note: noted.number,
                    }),
                    _ => None,
                })
                .collect();
        }
    }
    for purpose in [Purpose::Work, Purpose::Final] {
        add_kinds(reading, issued, purpose, &mut harness.on_bench);
    }
    let blanks = register.blanks()?;
    harness.blanks = blanks.iter().filter(|blank| blank.assigned.is_none()).map(|blank| blank.code).collect();
    Ok(harness)
}

/// The kinds of the tags that ends get.
fn add_kinds(reading: &Reading, issued: &Issued, purpose: Purpose, on_bench: &mut [Vec<OnBench>]) {
    for selected in select(&reading.circuits, purpose, Reach::Needed, Doubled::Together) {
        let (circuit, ends) = (selected.circuit, selected.ends.clone());
        let label = reading.sources(issued).label(purpose, &Subject::Ends(selected));
        let kind: Option<TagKind> = reading.equipment.kind_for(&label);
        for on_bench in &mut on_bench[circuit][ends] {
            match purpose {
                Purpose::Work => on_bench.work = kind,
                Purpose::Final => on_bench.final_tag = kind,
            }
        }
    }
}

fn letterhead(reading: &Reading, register: &Register, paper: Paper, now: Timestamp) -> Result<Letterhead, RunFailure> {
    let run = match register.last_run()? {
        Some(run) => format!("after print run {run}"),
        None => "before the first print run".to_owned(),
    };
    let (job, date) = (reading.job.title().to_owned(), now.strftime("%Y-%m-%d").to_string());
    let symbol = Letterhead::symbol_of_job(reading.equipment.payload(), &job, &date);
    Ok(Letterhead { job, date, run, paper, symbol })
}

fn own_path(folder: &Path, wish: &SheetsWish) -> PathBuf {
    let mut name = if wish.shown == Shown::AsBuilt { "as-built" } else { "bench" }.to_owned();
    let words = Sort::WORDS.iter().filter(|(_, sort)| wish.sorts.contains(sort)).map(|(word, _)| (*word).to_owned());
    for part in words.chain(wish.connectors.iter().map(file_name)) {
        name = format!("{name}-{part}");
    }
    folder.join(SHEETS).join(name + ".pdf")
}

fn write<'p>(
    reading: &Reading,
    pages: impl Iterator<Item = &'p Page>,
    title: &str,
    path: &Path,
) -> Result<(), RunFailure> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(folder).map_err(RunFailure::disk("make the folder", folder))?;
    let temporary = temporary_in(folder).map_err(RunFailure::disk("write", path))?;
    let failed = |source| RunFailure::Pdf { path: path.to_owned(), source };
    let fallbacks = reading.equipment.font_files().to_vec();
    let document = Document { title: title.to_owned(), fallbacks, ..Document::default() };
    let mut out = BufWriter::new(temporary.as_file());
    let mut writer = Writer::new(&mut out, &document).map_err(failed)?;
    for page in pages {
        writer.page(page).map_err(failed)?;
    }
    writer.finish().map_err(failed)?;
    out.flush().map_err(RunFailure::disk("write", path))?;
    drop(out);
    temporary.persist(path).map_err(|error| RunFailure::disk("write", path)(error.error))?;
    Ok(())
}
