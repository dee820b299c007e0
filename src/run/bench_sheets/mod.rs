//! Bench sheets: the paper that lies beside the connector, as one PDF. Codes that stand on paper are issued, as those of tags are.
//!
//! - `wish`: what is asked for
//! - `known`: what the register knows, read once
//! - `writing`: sheets as pages of a PDF

mod known;
mod wish;
mod writing;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::as_built::{ChartsWritten, bench_notes, write_charts};
use super::face_pictures::{face_pictures, file_name};
use super::failure::RunFailure;
use super::needs::to_buy_for;
use super::open_questions;
use super::reading::Reading;
use super::register;
use super::reuse::settings as reuse_settings;
use crate::base::{ConnectorId, Problem};
use crate::codes::Register;
use crate::paperwork::as_built::{AsBuilt, Difference, as_built, differences_sheet, is_no_connector};
use crate::paperwork::reuse::Reuse;
use crate::paperwork::reuse::words::Words;
use crate::paperwork::whole_job::{ToBuy, branches, fuses, lid_card, questions, safety, schedule, shopping_list};
use crate::paperwork::work_list::WorkLists;
use crate::paperwork::{Harness, Letterhead, Sheet, face, overview, reuse};
pub(super) use known::{Known, on_bench};
pub use wish::{SheetsWish, Shown, Sort};
use writing::Writing;

/// Folder of the sheets in the job folder.
pub(super) const SHEETS: &str = "sheets";
/// Folder of the pictures of faces, beside the PDF.
const FACES: &str = "faces";
/// So many chosen connectors stand in the name of the PDF.
const NAMED: usize = 3;

/// Sheets that were written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetsWritten {
    /// The PDF; there is none where no sheet has anything to show.
    pub path: PathBuf,
    /// Title, sort and number of pages of each sheet, in their order.
    pub sheets: Vec<(String, String, usize)>,
    /// Pictures of faces.
    pub pictures: Vec<PathBuf>,
    /// Where what is differs from what was planned, when that is shown.
    pub differences: Vec<Difference>,
    /// The charts.
    pub charts: Option<ChartsWritten>,
}

impl SheetsWritten {
    /// How many pages the PDF has.
    pub fn pages(&self) -> usize {
        self.sheets.iter().map(|(_, _, pages)| pages).sum()
    }
}

/// Writes bench sheets. A file of an earlier run is replaced; where there is nothing to show there is none, and charts and pictures
/// are written all the same.
///
/// # Errors
/// [`RunFailure`] when the register or the disk fails.
pub fn bench_sheets(reading: &Reading, wish: &SheetsWish, now: Timestamp) -> Result<SheetsWritten, RunFailure> {
    let to_buy = if wish.wants(Sort::Shopping) { to_buy_for(reading)? } else { Vec::new() };
    let mut register = register::open(reading.job.folder())?;
    let issued = known::issue_for(&mut register, reading, wish, now)?;
    let known = Known::read(&register)?;
    let planned = known.harness(reading, &issued);
    let is_as_built = wish.shown == Shown::AsBuilt;
    let built = (is_as_built || wish.wants(Sort::Differences) || wish.charts.is_some())
        .then(|| as_built(&planned, &bench_notes(&issued, &known.records, &known.notes, &known.blanks)));
    let questions = match wish.wants(Sort::Questions) {
        true => open_questions::asked(reading, &issued, &register)?,
        false => Vec::new(),
    };
    let mut shown = match &built {
        Some(built) if is_as_built => built.harness(reading.equipment.payload()),
        _ => planned,
    };

    let wants_reuse = wish.wants(Sort::Reuse) || (!is_as_built && wish.wants(Sort::WorkLists));
    let reused = wants_reuse.then(|| proposed(reading, &shown)).flatten();
    if let Some(reuse) = reused.as_ref().filter(|_| !is_as_built) {
        add_proposals(&mut shown, reuse);
    }

    let charts = match (&wish.charts, &built) {
        (Some(folder), Some(built)) => Some(write_charts(&built.circuits, folder)?),
        _ => None,
    };
    let path = wish.out.clone().unwrap_or_else(|| own_path(reading.job.folder(), wish));
    let letterhead = letterhead(reading, &register, wish, now)?;
    let mut writing = Writing::begin(reading, &letterhead, wish.shown, &path)?;
    let told = Told { built: built.as_ref(), reused: reused.as_ref(), questions: &questions, to_buy: &to_buy };
    add_sheets(&mut writing, &shown, told, wish)?;
    let sheets = writing.finish()?;
    let pictures = match wish.pictures {
        Some(format) => {
            let folder = path.with_file_name(FACES);
            face_pictures(reading, &shown, &wish.connectors, wish.paper, format, &folder)?
        }
        None => Vec::new(),
    };
    let differences = built.filter(|_| is_as_built).map(|built| built.differences).unwrap_or_default();
    Ok(SheetsWritten { path, sheets, pictures, differences, charts })
}

/// What removed wires are proposed for. What has errors is not known well enough to be used again.
pub(super) fn proposed(reading: &Reading, harness: &Harness<'_>) -> Option<Reuse> {
    (!reading.has_errors()).then(|| reuse::reuse(harness, reuse_settings(reading), &|_| true))
}

/// Puts the proposals at the ends of their wires: whoever works by the lists must not pull a wire that shall stay in.
pub(super) fn add_proposals(harness: &mut Harness<'_>, reuse: &Reuse) {
    for ((circuit, end), words) in (Words { harness: &*harness, reuse }).proposals() {
        harness.on_bench.to_mut()[circuit][end].proposals.push(words);
    }
}

/// What sheets tell that the circuits and the bench alone do not.
#[derive(Clone, Copy)]
struct Told<'a> {
    built: Option<&'a AsBuilt>,
    reused: Option<&'a Reuse>,
    questions: &'a [Problem],
    /// What the next print run takes.
    to_buy: &'a [ToBuy],
}

/// The sheets that are asked for, in the order of the document.
fn add_sheets(
    writing: &mut Writing<'_>,
    harness: &Harness<'_>,
    told: Told<'_>,
    wish: &SheetsWish,
) -> Result<(), RunFailure> {
    let (reading, letterhead) = (writing.reading, writing.letterhead);
    let fonts = reading.equipment.fonts();
    let make = |sort: &Sort| -> Vec<Sheet> {
        let settings = || reuse_settings(reading);
        let sheet = match sort {
            Sort::Overview => overview::sheet(harness, letterhead, fonts),
            Sort::Differences => told.built.and_then(|built| differences_sheet(&built.differences, letterhead, fonts)),
            Sort::Safety => safety::sheet(harness, letterhead, fonts),
            Sort::Shopping => shopping_list::sheet(harness, settings(), told.to_buy, letterhead, fonts),
            Sort::Reuse => {
                told.reused.and_then(|reused| reuse::sheet::sheet(harness, reused, settings().slack, letterhead, fonts))
            }
            Sort::Questions => questions::sheet(harness, told.questions, letterhead, fonts),
            Sort::Branches => branches::sheet(harness, letterhead, fonts),
            Sort::Schedule => schedule::sheet(harness, wish.sorted_by, letterhead, fonts),
            Sort::Fuses => return fuses::sheets(harness, &wish.connectors, wish.legend, letterhead, fonts),
            Sort::LidCard => lid_card::sheet(harness, letterhead, fonts),
            // Each connector is a part of its own.
            Sort::Faces | Sort::WorkLists => None,
        };
        sheet.into_iter().collect()
    };
    let wanted = |sorts: &[Sort]| -> Vec<Sort> { sorts.iter().copied().filter(|sort| wish.wants(*sort)).collect() };
    let before = [Sort::Overview, Sort::Differences, Sort::Safety, Sort::Shopping, Sort::Reuse, Sort::Questions];
    let after = [Sort::Branches, Sort::Schedule, Sort::Fuses, Sort::LidCard];
    writing.add(&wanted(&before), make)?;
    add_connectors(writing, harness, wish)?;
    writing.add(&wanted(&after), make)
}

/// The sheets of each connector: its faces above its work list. Faces alone stand beside each other, those of several connectors on a
/// page.
fn add_connectors(writing: &mut Writing<'_>, harness: &Harness<'_>, wish: &SheetsWish) -> Result<(), RunFailure> {
    let (wants_faces, wants_lists) = (wish.wants(Sort::Faces), wish.wants(Sort::WorkLists));
    if !wants_faces && !wants_lists {
        return Ok(());
    }
    let (letterhead, fonts) = (writing.letterhead, writing.reading.equipment.fonts());
    let mut faces = if wants_faces { face::faces(harness) } else { BTreeMap::new() };
    // Free ends have their list as built, and sit in nothing that could be drawn.
    faces.retain(|id, _| wish.shown == Shown::Plan || !is_no_connector(harness, id));
    let is_meant = |id: &ConnectorId| wish.connectors.is_empty() || wish.connectors.contains(id);
    if !wants_lists {
        let faces: Vec<_> = faces.values().filter(|face| is_meant(&face.id) && !face.held.is_empty()).collect();
        return writing.add(&[()], |()| face::sheet(faces.iter().copied(), letterhead, fonts).into_iter().collect());
    }
    let lists = WorkLists::new(harness);
    // Of connectors that are chosen each has a sheet, whatever is to be done there.
    let has_own = |id: &&ConnectorId| if wish.connectors.is_empty() { !lists.stays(id) } else { is_meant(id) };
    let own: Vec<&ConnectorId> = lists.connectors().filter(has_own).collect();
    writing.add(&own, |id| lists.sheet(id, faces.get(*id), letterhead, fonts).into_iter().collect())?;
    let stays = wish.connectors.is_empty();
    writing.add(&[()], |()| match stays {
        true => lists.staying(&faces, letterhead, fonts).into_iter().collect(),
        false => Vec::new(),
    })
}

/// What stands on all sheets.
fn letterhead(
    reading: &Reading,
    register: &Register,
    wish: &SheetsWish,
    now: Timestamp,
) -> Result<Letterhead, RunFailure> {
    let run = match register.last_run()? {
        Some(run) => format!("after print run {run}"),
        None => "before the first print run".to_owned(),
    };
    let (job, date) = (reading.job.title().to_owned(), now.strftime("%Y-%m-%d").to_string());
    let symbol = match &reading.job.payload().site {
        Some(site) => site.value.clone(),
        None => Letterhead::symbol_of_job(reading.equipment.payload(), &job, &date),
    };
    Ok(Letterhead { job, date, run, paper: wish.paper, symbol })
}

/// Where sheets go that are given no path: named by what they are.
fn own_path(folder: &Path, wish: &SheetsWish) -> PathBuf {
    let words = Sort::WORDS.iter().filter(|(_, sort)| wish.sorts.contains(sort)).map(|(word, _)| (*word).to_owned());
    let mut parts = vec![if wish.shown == Shown::AsBuilt { "as-built" } else { "bench" }.to_owned()];
    parts.extend(words.chain(wish.connectors.iter().take(NAMED).map(file_name)));
    if wish.connectors.len() > NAMED {
        parts.push(format!("and-{}-more", wish.connectors.len() - NAMED));
    }
    folder.join(SHEETS).join(parts.join("-") + ".pdf")
}
