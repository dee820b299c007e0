//! Pages seen before they are printed: each a PNG, exactly as the run would fill it. Nothing is issued or journalled; codes that
//! are not issued yet are those that would be issued now.

use std::cell::RefCell;
use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use super::choice::{Again, Choice};
use super::equipment::StockInUse;
use super::failure::RunFailure;
use super::files::imposing;
use super::headers::{HeaderLabels, is_header, with_groups, with_headers};
use super::picture::{Format, draw_page, page_bytes};
use super::preview::own_folder;
use super::print::{Plan, Refused};
use super::reading::Reading;
use super::register;
use super::sheets::{Laying, Trays};
use super::stale::OnWires;
use crate::base::Size;
use crate::codes::RunNumber;
use crate::layout::{Frame, text};
use crate::pages::{self, Page};

/// So many pages are drawn at most: more are no preview.
pub const MOST_PAGES: usize = 40;
/// Dots an inch of their pictures: letters can be read, and a page is drawn in a moment.
pub const PAGE_DPI: u16 = 200;

/// What came of a preview of pages.
#[derive(Clone, Debug, Default)]
pub struct PagePreviews {
    /// The pages that were drawn.
    pub pages: Vec<PagePreview>,
    /// Pages beyond [`MOST_PAGES`], which were not drawn.
    pub more: usize,
    /// Tags that cannot be made.
    pub refused: Vec<Refused>,
}

/// One page, drawn.
#[derive(Clone, Debug)]
pub struct PagePreview {
    /// The picture.
    pub path: PathBuf,
    /// Name of the stock.
    pub stock: String,
    /// How many tags are on it.
    pub tags: usize,
}

/// A page of a run that is foreseen.
pub struct ForeseenPage<'a> {
    /// What is on it.
    pub page: Page,
    /// Its stock and printer.
    pub in_use: &'a StockInUse,
    /// Which page of its PDF it is, from 1.
    pub at: usize,
}

impl ForeseenPage<'_> {
    /// How many tags are on it.
    pub fn tags(&self) -> usize {
        self.page.placed.iter().filter(|placed| !is_header(&placed.name)).count()
    }
}

/// Draws the pages that a run of this choice would print. Pictures of an earlier preview of the same pages are replaced.
///
/// # Errors
/// [`RunFailure`] when the register or the disk fails, or a wish for sheets cannot be met.
pub fn preview_pages(
    reading: &Reading,
    choice: &Choice,
    laying: &Laying,
    out: Option<&Path>,
) -> Result<PagePreviews, RunFailure> {
    let folder = out.map_or_else(|| own_folder(reading.job.folder()), Path::to_owned);
    let mut previews = PagePreviews::default();
    let refused = each_page(reading, choice, laying, &mut |foreseen| {
        if previews.pages.len() == MOST_PAGES {
            previews.more += 1;
            return Ok(ControlFlow::Continue(()));
        }
        let stock = foreseen.in_use.stock.name();
        fs::create_dir_all(&folder).map_err(RunFailure::disk("make the folder", &folder))?;
        let path = folder.join(format!("{}-{stock}-page-{}.png", foreseen.in_use.purpose, foreseen.at));
        draw_page(&foreseen.page, stock, PAGE_DPI, reading.equipment.font_files(), &path)?;
        previews.pages.push(PagePreview { path, stock: stock.to_owned(), tags: foreseen.tags() });
        Ok(ControlFlow::Continue(()))
    })?;
    previews.refused = refused;
    Ok(previews)
}

/// So many pages of a run are kept for their pictures.
pub const MOST_KEPT: usize = 12;
/// Of so many runs.
const RUNS_KEPT: usize = 4;

/// Pages of runs that are foreseen. Their pictures are asked for one by one, and planning a run takes longer than drawing a page.
#[derive(Default)]
pub struct KeptPages {
    runs: Mutex<Vec<(Choice, Laying, FirstPages)>>,
}

/// The first pages of a run, each with the name of its stock.
type FirstPages = Arc<Vec<(Page, String)>>;

impl KeptPages {
    /// A page of the run that this choice would print, counted from 1 over all its PDFs, as a PNG; `None` where there are not so
    /// many. It is always asked with the same reading.
    ///
    /// # Errors
    /// As [`preview_pages`].
    pub fn picture(
        &self,
        reading: &Reading,
        choice: &Choice,
        laying: &Laying,
        number: usize,
        dpi: u16,
    ) -> Result<Option<Vec<u8>>, RunFailure> {
        if number > MOST_KEPT {
            return preview_page(reading, choice, laying, number, dpi);
        }
        let pages = self.first_pages(reading, choice, laying)?;
        let page = number.checked_sub(1).and_then(|at| pages.get(at));
        page.map(|(page, stock)| page_bytes(page, stock, Format::Png(dpi), reading.equipment.font_files())).transpose()
    }

    /// Whoever asks for the same while it is planned waits for it.
    fn first_pages(&self, reading: &Reading, choice: &Choice, laying: &Laying) -> Result<FirstPages, RunFailure> {
        let mut runs = self.runs.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, _, pages)) = runs.iter().find(|(known, laid, _)| known == choice && laid == laying) {
            return Ok(Arc::clone(pages));
        }
        let mut pages = Vec::new();
        each_page(reading, choice, laying, &mut |foreseen| {
            pages.push((foreseen.page, foreseen.in_use.stock.name().to_owned()));
            Ok(if pages.len() < MOST_KEPT { ControlFlow::Continue(()) } else { ControlFlow::Break(()) })
        })?;
        if runs.len() >= RUNS_KEPT {
            runs.remove(0);
        }
        let pages = Arc::new(pages);
        runs.push((choice.clone(), laying.clone(), Arc::clone(&pages)));
        Ok(pages)
    }
}

fn preview_page(
    reading: &Reading,
    choice: &Choice,
    laying: &Laying,
    number: usize,
    dpi: u16,
) -> Result<Option<Vec<u8>>, RunFailure> {
    let (mut count, mut drawn) = (0, None);
    each_page(reading, choice, laying, &mut |foreseen| {
        count += 1;
        if count < number {
            return Ok(ControlFlow::Continue(()));
        }
        let stock = foreseen.in_use.stock.name();
        let fonts = reading.equipment.font_files();
        drawn = Some(page_bytes(&foreseen.page, stock, Format::Png(dpi), fonts)?);
        Ok(ControlFlow::Break(()))
    })?;
    Ok(drawn)
}

/// Shows the pages of the run that this choice would print one after the other, until `show` has seen enough; the tags that cannot
/// be made, as far as was looked.
///
/// # Errors
/// [`RunFailure`] when the register fails, or a wish for sheets cannot be met; and those of `show`.
pub fn each_page(
    reading: &Reading,
    choice: &Choice,
    laying: &Laying,
    show: &mut dyn FnMut(ForeseenPage<'_>) -> Result<ControlFlow<()>, RunFailure>,
) -> Result<Vec<Refused>, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let issued = register.preview(&reading.circuits)?;
    let run = register.last_run()?.map_or(RunNumber::FIRST, RunNumber::next);
    let on_wires = match choice.again {
        Again::All => None,
        Again::Changed => Some(OnWires::read(&register, &register.records()?, |_, _| ())?),
    };
    let mut plan = Plan::new(reading, &issued);
    plan.choose(choice, on_wires.as_ref());
    let mut trays = Trays::new(&register, laying, plan.stocks_used())?;
    let fonts = reading.equipment.fonts();
    let head = |size: Size, words: &str| -> Frame { text::caption(fonts, size, words) };
    'stocks: for (index, in_use) in reading.equipment.stocks().iter().enumerate() {
        if !plan.goes_on(index) {
            continue;
        }
        let records = RefCell::default();
        let settings = imposing(reading, in_use, run, &trays, &head);
        let headers = HeaderLabels::new(reading, in_use, laying.headers, settings.order);
        let groups = plan.groups(index);
        let settings = with_groups(settings, &groups, headers.as_ref());
        let pieces = with_headers(plan.pieces(index, &records), groups, headers.as_ref());
        for (page, at) in pages::impose(&in_use.stock, pieces, &settings).zip(1..) {
            let page = page?;
            trays.laid(&page, at, in_use, run);
            if show(ForeseenPage { page, in_use, at })?.is_break() {
                break 'stocks;
            }
        }
    }
    Ok(plan.refused())
}
