//! Sheets of labels: which ones a run goes on, what it uses of them, and what a person tells of them.

mod loading;
#[cfg(test)]
mod tests;
mod told;
mod waiting;

use std::collections::{BTreeMap, BTreeSet};

use thiserror::Error;

use super::equipment::StockInUse;
use super::failure::RunFailure;
use super::headers::{HEADER, Headers};
use super::record::{HeaderRecord, TagRecord};
use crate::base::{Length, Page as Means, Remedy};
use crate::codes::{LabelUse, Register, RunNumber, SheetNumber, SheetUse, UsedSheet};
use crate::pages::{
    self, BegunSheet, Cut, Geometry, Imposing, Order, Page, PrinterKind, SheetStanding, Stock, Taking, Tray,
};

pub use loading::{after_printing, before_printing};
pub use told::{SheetState, SpoiltTag, Told, numbers_from_typed, sheets, spoilt, spoilt_names, tell};
pub use waiting::Waiting;
pub(super) use waiting::{going_on, on_new, waiting};

/// So often a sheet of labels may go through a laser printer: peeled places of the liner stick to the fuser (common practice).
pub const MOST_LASER_PASSES: usize = 2;

/// The sheets that a run shall go on.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SheetWish {
    /// Those that are begun, then new ones.
    #[default]
    Usual,
    /// New ones only.
    New,
    /// This one first, and of those of its stock that are begun no other.
    Number(SheetNumber),
    /// New ones, of which the first has lost its labels before this place already.
    StartAt(u32),
}

/// What stock a run shall go on, and in which order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Laying {
    /// Sheets of labels.
    pub sheets: SheetWish,
    /// In which order tags are placed; `None`: as the job has it.
    pub order: Option<Order>,
    /// Whether connectors get a header label.
    pub headers: Headers,
    /// Off-cuts of tube to use up first: the stock's name and the length, in this order.
    pub off_cuts: Vec<(String, Length)>,
}

/// Why a run cannot go on the sheet that was asked for.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum SheetRefusal {
    /// No run has begun it.
    #[error("there is no sheet {0}")]
    Unknown(SheetNumber),
    /// It was told to be gone.
    #[error("sheet {0} was told to be gone")]
    Gone(SheetNumber),
    /// None of the tags goes on its stock.
    #[error("sheet {number} is of stock `{stock}`, and none of these tags goes on that")]
    OtherStock {
        /// The sheet.
        number: SheetNumber,
        /// Its stock.
        stock: String,
    },
    /// All its labels are used.
    #[error("sheet {0} has no free label")]
    Full(SheetNumber),
    /// It went through a laser printer too often.
    #[error(
        "sheet {0} went through a laser printer {MOST_LASER_PASSES} times already: its peeled liner may stick to the fuser"
    )]
    WornOut(SheetNumber),
    /// The place is none of the sheet's.
    #[error("a sheet of `{stock}` has no label {place}: it has {places}")]
    NoSuchPlace {
        /// The stock.
        stock: String,
        /// The place that was told.
        place: u32,
        /// How many there are.
        places: usize,
    },
    /// A place to start at does not tell of which stock.
    #[error("these tags go on sheets of {}: a place to start at belongs to one of them", .0.join(" and of "))]
    SeveralStocks(Vec<String>),
    /// There was no such run.
    #[error("there is no print run {0}")]
    NoRun(u32),
    /// No sleeve is cut from a tube of this name.
    #[error("none of these tags goes on tube `{0}`")]
    OtherTube(String),
    /// None of the tags goes on a sheet of labels.
    #[error("none of these tags goes on a sheet of labels")]
    NoSheets,
}

impl SheetRefusal {
    /// What to do instead.
    pub fn remedy(&self) -> Remedy {
        let words = match self {
            Self::Unknown(_) | Self::Gone(_) | Self::Full(_) | Self::OtherStock { .. } => {
                return Remedy::by("`loomtag stock sheets`", Means::Sheets).words(" lists those that are begun");
            }
            Self::WornOut(_) => {
                return Remedy::from("take a new one ").and_by("with --new-sheet", Means::PrintOnNewSheets);
            }
            Self::NoSuchPlace { .. } => "labels are counted from the top left, row by row, slices each for itself",
            Self::SeveralStocks(_) => {
                let narrowed = Means::Words("chosen by kind of tag or connector");
                return Remedy::from("print one stock at a time, ").and_by("as with --kind or --connector", narrowed);
            }
            Self::OtherTube(_) => {
                return Remedy::by("`loomtag check`", Means::Print).words(" shows which sleeves go on which tube");
            }
            Self::NoSheets => "leave the sheet out",
            Self::NoRun(_) => "the margin of its pages tells the number, and so does the name of its folder",
        };
        words.into()
    }
}

/// A page that is printed on a sheet of labels.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SheetLaid {
    /// Number of the page, from 1.
    pub page: usize,
    /// The sheet.
    pub number: SheetNumber,
    /// Whether it is new, and how its number comes onto it.
    pub standing: SheetStanding,
    /// The places that are used now, counted from 1.
    pub places: BTreeSet<u32>,
    /// Places that still take a tag afterwards.
    pub left: usize,
    /// How many places it has.
    pub of: usize,
    /// How often it goes through the printer with this page.
    pub pass: usize,
    /// Labels before this place were gone when it was first laid in.
    pub begun_at: u32,
    /// What becomes of the labels that are left.
    pub rest: Rest,
}

/// What becomes of the labels that a run leaves free on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rest {
    /// A later run goes on there.
    Kept,
    /// They are lost: the printer takes the sheet no more.
    Lost,
}

impl SheetLaid {
    /// Labels that are lost with this pass.
    pub const fn lost(&self) -> usize {
        match self.rest {
            Rest::Kept => 0,
            Rest::Lost => self.left,
        }
    }

    /// The place at which a new sheet is begun that has lost its labels before it.
    pub fn first_place(&self) -> Option<u32> {
        (self.standing != SheetStanding::Begun && self.begun_at > 1).then_some(self.begun_at)
    }
}

/// Tube that the pages of a file are cut from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TubeLaid {
    /// Lengths of the pieces, in the order of the pages; off-cuts come first.
    pub pieces: Vec<Length>,
    /// What is left of each behind its last sleeve.
    pub left: Vec<Length>,
    /// Off-cuts that were to be used up and are too short for what came.
    pub too_short: Vec<Length>,
    /// What becomes sleeves.
    pub used: Length,
    /// So many pieces it takes at least, by all lengths together; where off-cuts went first nobody can tell.
    pub least: Option<usize>,
}

impl TubeLaid {
    /// What is not used of what is taken, in percent.
    pub fn waste_percent(&self) -> f64 {
        let taken = self.taken().as_mm();
        if taken > 0.0 { 100.0 * (1.0 - self.used.as_mm() / taken) } else { 0.0 }
    }

    /// All pieces together.
    pub fn taken(&self) -> Length {
        self.pieces.iter().fold(Length::ZERO, |sum, piece| sum + *piece)
    }

    /// What the pages are cut from, with the room that sleeves have on a whole piece; `None` where it is no tube.
    pub(super) fn of(
        pieces: Vec<TubePage>,
        sleeves: &[Length],
        stock: &Stock,
        settings: &Imposing<'_>,
    ) -> Option<Self> {
        let room = pages::room_on_tube(stock, settings)?;
        let left = pieces.iter().map(|page| page.piece - page.sent).collect();
        let pieces: Vec<Length> = pieces.into_iter().map(|page| page.piece).collect();
        // Off-cuts come first and in their order: those before the last piece that are not among the pieces were passed over.
        let mut taken = pieces.iter().peekable();
        let mut too_short = Vec::new();
        for off_cut in &settings.off_cuts {
            if taken.next_if_eq(&off_cut).is_none() && taken.peek().is_some() {
                too_short.push(*off_cut);
            }
        }
        let used = sleeves.iter().fold(Length::ZERO, |sum, length| sum + *length);
        let least = settings.off_cuts.is_empty().then(|| pages::least_pieces(sleeves, room));
        Some(Self { pieces, left, too_short, used, least })
    }
}

/// A piece of tube, and how much of it a page takes.
pub(super) struct TubePage {
    pub(super) piece: Length,
    pub(super) sent: Length,
}

impl TubePage {
    /// The piece that a page is cut from, where it is tube.
    pub(super) fn of(page: &Page) -> Option<Self> {
        page.piece.map(|piece| Self { piece, sent: page.size.width })
    }
}

/// The sheets of a job while a run takes from them.
pub(super) struct Trays {
    sheets: Vec<UsedSheet>,
    next: SheetNumber,
    wish: SheetWish,
    laying: Laying,
}

impl Trays {
    /// The sheets for a run that prints on these stocks.
    ///
    /// # Errors
    /// When the register fails, or the wish cannot be met.
    pub(super) fn new<'a>(
        register: &Register,
        laying: &Laying,
        stocks: impl Iterator<Item = &'a StockInUse>,
    ) -> Result<Self, RunFailure> {
        let sheets = register.sheets()?;
        let next = sheets.last().map_or(SheetNumber::FIRST, |sheet| sheet.number.next());
        let stocks: Vec<&StockInUse> = stocks.collect();
        let is_tube = |name: &str| stocks.iter().any(|used| used.stock.name() == name && used.stock.tube().is_some());
        if let Some((name, _)) = laying.off_cuts.iter().find(|(name, _)| !is_tube(name)) {
            return Err(SheetRefusal::OtherTube(name.clone()).into());
        }
        let stocks: Vec<(&StockInUse, usize)> =
            stocks.into_iter().filter_map(|stock| Some((stock, labels_on(&stock.stock)?))).collect();
        let trays = Self { sheets, next, wish: laying.sheets, laying: laying.clone() };
        trays.check(&stocks)?;
        Ok(trays)
    }

    fn check(&self, stocks: &[(&StockInUse, usize)]) -> Result<(), SheetRefusal> {
        match (self.wish, stocks) {
            (SheetWish::Usual | SheetWish::New, _) => Ok(()),
            (_, []) => Err(SheetRefusal::NoSheets),
            (SheetWish::StartAt(place), [(stock, places)]) => {
                let stock = stock.stock.name().to_owned();
                let is_there = place > 0 && place as usize <= *places;
                if is_there { Ok(()) } else { Err(SheetRefusal::NoSuchPlace { stock, place, places: *places }) }
            }
            (SheetWish::StartAt(_), several) => {
                let names = several.iter().map(|(stock, _)| format!("`{}`", stock.stock.name()));
                Err(SheetRefusal::SeveralStocks(names.collect()))
            }
            (SheetWish::Number(number), _) => {
                let sheet = self.sheets.iter().find(|sheet| sheet.number == number);
                let sheet = sheet.ok_or(SheetRefusal::Unknown(number))?;
                let stock = stocks.iter().find(|(stock, _)| stock.stock.name() == sheet.stock);
                let (stock, places) =
                    stock.ok_or_else(|| SheetRefusal::OtherStock { number, stock: sheet.stock.clone() })?;
                if sheet.is_gone {
                    Err(SheetRefusal::Gone(number))
                } else if is_worn_out(sheet, stock) {
                    Err(SheetRefusal::WornOut(number))
                } else if taken(sheet, *places).len() == *places {
                    Err(SheetRefusal::Full(number))
                } else {
                    Ok(())
                }
            }
        }
    }

    /// What is laid in for a stock.
    pub(super) fn tray(&self, stock: &StockInUse) -> Tray {
        self.tray_for(stock, self.wish_for(stock.stock.name()))
    }

    /// The begun sheets that a run may go on with, those too that it leaves because new ones were asked for.
    pub(super) fn begun(&self, stock: &StockInUse) -> Vec<BegunSheet> {
        match self.wish_for(stock.stock.name()) {
            // Who names one has chosen.
            SheetWish::Number(_) => Vec::new(),
            SheetWish::Usual | SheetWish::New | SheetWish::StartAt(_) => self.tray_for(stock, SheetWish::Usual).begun,
        }
    }

    fn tray_for(&self, stock: &StockInUse, wish: SheetWish) -> Tray {
        let Some(places) = labels_on(&stock.stock) else { return Tray::default() };
        let is_wanted = |sheet: &&UsedSheet| match wish {
            SheetWish::Usual | SheetWish::New => true,
            SheetWish::Number(number) => sheet.number == number,
            SheetWish::StartAt(_) => false,
        };
        let laid_in = self
            .sheets
            .iter()
            .filter(is_wanted)
            .filter(|sheet| sheet.stock == stock.stock.name() && !sheet.is_gone && !is_worn_out(sheet, stock));
        let (mut begun, mut blank) = (Vec::new(), Vec::new());
        for sheet in laid_in {
            let (number, taken) = (sheet.number.get(), taken(sheet, places));
            match (sheet.runs.is_empty(), taken.is_empty()) {
                (true, true) => blank.push(number),
                // Nothing was printed on it, but labels are gone: who has such a sheet lays it in by its number.
                (true, false) if wish != SheetWish::Number(sheet.number) => {}
                _ if wish == SheetWish::New || taken.len() == places => {}
                _ => begun.push(BegunSheet { number, taken, passes: sheet.runs.len() }),
            }
        }
        let taking = match (wish, stock.printer.kind.value) {
            (SheetWish::Usual, PrinterKind::Laser) => Taking::LastPass,
            (SheetWish::Usual, _) => Taking::Fitting,
            _ => Taking::InOrder,
        };
        Tray { begun, taking, blank, next: Some(self.next.get()), gone: self.begun_at() as usize - 1 }
    }

    /// A sheet that was asked for is of one stock; the sheets of others are chosen as usual.
    fn wish_for(&self, stock: &str) -> SheetWish {
        let is_other = |number| self.sheets.iter().any(|sheet| sheet.number == number && sheet.stock != stock);
        match self.wish {
            SheetWish::Number(number) if is_other(number) => SheetWish::Usual,
            wish => wish,
        }
    }

    /// Off-cuts of a tube, in the order in which they were told.
    pub(super) fn off_cuts(&self, stock: &Stock) -> Vec<Length> {
        let of = self.laying.off_cuts.iter().filter(|(name, _)| name == stock.name());
        of.map(|(_, length)| *length).collect()
    }

    /// In which order tags shall be placed, where the run says so.
    pub(super) const fn order(&self) -> Option<Order> {
        self.laying.order
    }

    /// Whether connectors get a header label.
    pub(super) const fn headers(&self) -> Headers {
        self.laying.headers
    }

    fn begun_at(&self) -> u32 {
        match self.wish {
            SheetWish::StartAt(place) => place.max(1),
            _ => 1,
        }
    }

    /// A page that goes on a sheet. What comes after it finds its labels used.
    pub(super) fn laid(&mut self, page: &Page, at: usize, in_use: &StockInUse, run: RunNumber) -> Option<SheetLaid> {
        let stock = &in_use.stock;
        let on = page.sheet.as_ref()?;
        let number = SheetNumber::new(on.number)?;
        let begun_at = self.begun_at();
        if on.standing != SheetStanding::Begun {
            self.next = self.next.max(number.next());
            if let SheetWish::StartAt(place) = &mut self.wish {
                *place = 1;
            }
            if !self.sheets.iter().any(|sheet| sheet.number == number) {
                self.sheets.push(UsedSheet::new(number, stock.name().to_owned(), begun_at));
            }
        }
        let sheet = self.sheets.iter_mut().find(|sheet| sheet.number == number)?;
        let places = page.placed.iter().filter_map(|placed| u32::try_from(placed.place? + 1).ok());
        let places: BTreeSet<u32> = places.collect();
        sheet.runs.insert(run);
        for &place in &places {
            sheet.labels.insert(place, LabelUse { run, tag: String::new(), kind: String::new() });
        }
        let (pass, begun_at, of) = (sheet.runs.len(), sheet.begun_at, labels_on(stock).unwrap_or_default());
        let rest = if has_passes_left(in_use.printer.kind.value, pass) { Rest::Kept } else { Rest::Lost };
        Some(SheetLaid { page: at, number, standing: on.standing, places, left: on.left, of, pass, begun_at, rest })
    }
}

/// How many labels a sheet of this stock has; `None` where it is no sheet of labels, or one that is cut up.
pub fn labels_on(stock: &Stock) -> Option<usize> {
    match stock.geometry() {
        Geometry::Sheet(sheet) if sheet.cut() == Cut::Die => Some(sheet.places()),
        _ => None,
    }
}

fn is_worn_out(sheet: &UsedSheet, stock: &StockInUse) -> bool {
    !has_passes_left(stock.printer.kind.value, sheet.runs.len())
}

/// Whether a sheet that went through a printer so often may do so again.
pub(super) fn has_passes_left(printer: PrinterKind, passes: usize) -> bool {
    printer != PrinterKind::Laser || passes < MOST_LASER_PASSES
}

/// The places that are gone, counted from 0.
fn taken(sheet: &UsedSheet, places: usize) -> BTreeSet<usize> {
    let is_taken = |place: &usize| sheet.is_taken(u32::try_from(*place + 1).unwrap_or(u32::MAX));
    (0..places).filter(is_taken).collect()
}

/// What the register keeps of the sheets of a file.
pub(super) fn uses(laid: &[SheetLaid], stock: &str, tags: &[TagRecord], headers: &[HeaderRecord]) -> Vec<SheetUse> {
    let mut labels: BTreeMap<u32, Vec<(u32, String, String)>> = BTreeMap::new();
    for tag in tags {
        if let (Some(sheet), Some(label)) = (tag.sheet, tag.label) {
            labels.entry(sheet).or_default().push((label, tag.name(), tag.kind.clone()));
        }
    }
    for (sheet, label) in headers.iter().filter_map(HeaderRecord::on_sheet) {
        labels.entry(sheet).or_default().push((label, String::new(), HEADER.to_owned()));
    }
    let on = |sheet: &SheetLaid| SheetUse {
        number: sheet.number,
        stock: stock.to_owned(),
        begun_at: (sheet.standing != SheetStanding::Begun).then_some(sheet.begun_at),
        labels: labels.remove(&sheet.number.get()).unwrap_or_default(),
    };
    laid.iter().map(on).collect()
}
