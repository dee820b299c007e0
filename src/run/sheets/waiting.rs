//! Begun sheets that a run leaves for one that suits them better, and what it costs to go on with one of them all the same.

use std::collections::BTreeSet;

use super::{SheetLaid, has_passes_left};
use crate::codes::SheetNumber;
use crate::pages::{self, BegunSheet, Geometry, Imposing, Piece, SheetStanding, Stock, Taking, Tray};
use crate::run::equipment::StockInUse;

/// What becomes of a begun sheet where the run goes on with it first, and on new ones with what it does not take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Waiting {
    /// Its number.
    pub number: SheetNumber,
    /// Its free labels.
    pub free: usize,
    /// How many of them the run would use.
    pub used: usize,
    /// How many would be lost, for it would be its last pass.
    pub lost: usize,
    /// How many new sheets would be begun beside it.
    pub new: usize,
}

/// Those of the begun sheets, with their free labels, that were left although this run began a new sheet.
pub fn waiting(
    stock: &Stock,
    settings: &Imposing<'_>,
    begun: &[BegunSheet],
    laid: &[SheetLaid],
) -> Vec<(SheetNumber, usize)> {
    let Geometry::Sheet(sheet) = stock.geometry() else { return Vec::new() };
    if laid.iter().all(|laid| laid.standing == SheetStanding::Begun) {
        return Vec::new();
    }
    let out_of_reach = pages::unprintable_places(sheet, settings.printable(sheet.page()));
    let out_of_reach: BTreeSet<usize> = out_of_reach.into_iter().map(|(place, _)| place).collect();
    let is_free = |begun: &BegunSheet, place: &usize| !begun.taken.contains(place) && !out_of_reach.contains(place);
    let free = |begun: &BegunSheet| (0..sheet.places()).filter(|place| is_free(begun, place)).count();
    let begun = begun.iter().filter_map(|begun| Some((SheetNumber::new(begun.number)?, free(begun))));
    begun.filter(|(number, free)| *free > 0 && !laid.iter().any(|laid| laid.number == *number)).collect()
}

/// How many new sheets these pieces take where none that is begun is gone on with.
pub fn on_new(stock: &Stock, settings: &mut Imposing<'_>, pieces: &[Piece]) -> usize {
    let usual = std::mem::take(&mut settings.tray);
    settings.tray = Tray { begun: Vec::new(), taking: Taking::InOrder, ..usual.clone() };
    let sheets = pages::impose(stock, pieces.iter().cloned(), settings).flatten().count();
    settings.tray = usual;
    sheets
}

/// So many begun sheets are tried: nobody keeps more at hand.
const MOST_TRIED: usize = 24;

/// What it costs to go on with each of these sheets, the cheapest first; those that none of the pieces goes on are left out. Pieces are
/// placed as a run that asks for the sheet places them.
pub fn going_on(
    in_use: &StockInUse,
    settings: &mut Imposing<'_>,
    pieces: &[Piece],
    begun: &[BegunSheet],
    waiting: &[(SheetNumber, usize)],
) -> Vec<Waiting> {
    let usual = std::mem::take(&mut settings.tray);
    let mut all = Vec::new();
    for &(number, free) in waiting.iter().take(MOST_TRIED) {
        let Some(begun) = begun.iter().find(|begun| begun.number == number.get()) else { continue };
        let passes = begun.passes + 1;
        settings.tray = Tray { begun: vec![begun.clone()], taking: Taking::InOrder, gone: 0, ..usual.clone() };
        let (mut used, mut new) = (0, 0);
        for page in pages::impose(&in_use.stock, pieces.iter().cloned(), settings).flatten() {
            match &page.sheet {
                Some(on) if on.number == number.get() => used += page.placed.len(),
                _ => new += 1,
            }
        }
        let lost = if has_passes_left(in_use.printer.kind.value, passes) { 0 } else { free - used.min(free) };
        if used > 0 {
            all.push(Waiting { number, free, used, lost, new });
        }
    }
    settings.tray = usual;
    all.sort_by_key(|one| (one.lost, one.new, one.number));
    all
}
