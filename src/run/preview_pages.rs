//! Pages seen before they are printed: each a PNG, exactly as the run would fill it. Nothing is issued or journalled; codes that
//! are not issued yet are those that would be issued now.

use std::cell::RefCell;
use std::fs;
use std::path::{Path, PathBuf};

use super::choice::{Again, Choice};
use super::failure::RunFailure;
use super::files::imposing;
use super::headers::{HeaderLabels, is_header, with_groups, with_headers};
use super::picture::draw_page;
use super::preview::own_folder;
use super::print::{Plan, Refused};
use super::reading::Reading;
use super::register;
use super::sheets::{Laying, Trays};
use super::stale::OnWires;
use crate::base::Size;
use crate::codes::RunNumber;
use crate::layout::{Frame, text};
use crate::pages;

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
    let folder = out.map_or_else(|| own_folder(reading.job.folder()), Path::to_owned);
    let fonts = reading.equipment.fonts();
    let head = |size: Size, words: &str| -> Frame { text::caption(fonts, size, words) };
    let mut previews = PagePreviews::default();
    for (index, in_use) in reading.equipment.stocks().iter().enumerate().filter(|(index, _)| plan.goes_on(*index)) {
        let stock = in_use.stock.name();
        let records = RefCell::default();
        let settings = imposing(reading, in_use, run, &trays, &head);
        let headers = HeaderLabels::new(reading, in_use, laying.headers, settings.order);
        let groups = plan.groups(index);
        let settings = with_groups(settings, &groups, headers.as_ref());
        let pieces = with_headers(plan.pieces(index, &records), groups, headers.as_ref());
        for (at, page) in pages::impose(&in_use.stock, pieces, &settings).enumerate() {
            let page = page?;
            trays.laid(&page, at + 1, in_use, run);
            if previews.pages.len() == MOST_PAGES {
                previews.more += 1;
                continue;
            }
            fs::create_dir_all(&folder).map_err(RunFailure::disk("make the folder", &folder))?;
            let path = folder.join(format!("{}-{stock}-page-{}.png", in_use.purpose, at + 1));
            draw_page(&page, stock, PAGE_DPI, reading.equipment.font_files(), &path)?;
            let tags = page.placed.iter().filter(|placed| !is_header(&placed.name)).count();
            previews.pages.push(PagePreview { path, stock: stock.to_owned(), tags });
        }
    }
    previews.refused = plan.refused();
    Ok(previews)
}
