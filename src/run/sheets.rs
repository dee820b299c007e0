//! Sheets of labels: which ones a run goes on, what it uses of them, and what a person tells of them.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use jiff::Timestamp;
use thiserror::Error;

use super::equipment::StockInUse;
use super::failure::RunFailure;
use super::headers::{HEADER, Headers, is_header};
use super::record::{HeaderRecord, TagRecord};
use super::register;
use super::template::Template;
use crate::base::{Length, Source};
use crate::codes::{LabelUse, Register, Run, RunNumber, SheetMark, SheetNumber, SheetUse, UsedSheet};
use crate::pages::{self, BegunSheet, Cut, Geometry, Imposing, Order, Page, PrinterKind, SheetStanding, Stock, Tray};

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
    /// This one first, and of those that are begun no other.
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
    pub const fn remedy(&self) -> &'static str {
        match self {
            Self::Unknown(_) | Self::Gone(_) | Self::Full(_) | Self::OtherStock { .. } => {
                "`loomtag stock sheets` lists those that are begun"
            }
            Self::WornOut(_) => "take a new one with --new-sheet",
            Self::NoSuchPlace { .. } => "labels are counted from the top left, row by row, slices each for itself",
            Self::SeveralStocks(_) => "print one stock at a time, as with --kind or --connector",
            Self::OtherTube(_) => "`loomtag check` shows which sleeves go on which tube",
            Self::NoSheets => "leave the sheet out",
            Self::NoRun(_) => "the margin of its pages tells the number, and so does the name of its folder",
        }
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
}

/// Tube that the pages of a file are cut from.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct TubeLaid {
    /// Lengths of the pieces, in the order of the pages; off-cuts come first.
    pub pieces: Vec<Length>,
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
    pub(super) fn of(pieces: Vec<Length>, sleeves: &[Length], stock: &Stock, settings: &Imposing<'_>) -> Option<Self> {
        let room = pages::room_on_tube(stock, settings)?;
        let used = sleeves.iter().fold(Length::ZERO, |sum, length| sum + *length);
        let least = settings.off_cuts.is_empty().then(|| pages::least_pieces(sleeves, room));
        Some(Self { pieces, used, least })
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
        let Some(places) = labels_on(&stock.stock) else { return Tray::default() };
        let is_wanted = |sheet: &&UsedSheet| match self.wish {
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
                (true, false) if self.wish != SheetWish::Number(sheet.number) => {}
                _ if self.wish == SheetWish::New || taken.len() == places => {}
                _ => begun.push(BegunSheet { number, taken }),
            }
        }
        Tray { begun, blank, next: Some(self.next.get()), gone: self.begun_at() as usize - 1 }
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
    pub(super) fn laid(&mut self, page: &Page, at: usize, stock: &Stock, run: RunNumber) -> Option<SheetLaid> {
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
        Some(SheetLaid { page: at, number, standing: on.standing, places, left: on.left, of, pass, begun_at })
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
    stock.printer.kind.value == PrinterKind::Laser && sheet.runs.len() >= MOST_LASER_PASSES
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

/// A sheet as `stock sheets` tells of it.
#[derive(Clone, Debug)]
pub struct SheetState {
    /// How far it is used.
    pub sheet: UsedSheet,
    /// Its stock, as long as there is one of that name.
    pub stock: Option<Stock>,
    /// Places that still take a tag, counted from 1.
    pub free: BTreeSet<u32>,
}

/// All sheets that were ever begun, in the order of their numbers.
///
/// # Errors
/// When the register cannot be read.
pub fn sheets(job: &Path) -> Result<Vec<SheetState>, RunFailure> {
    let sheets = register::open_to_read(job)?.sheets()?;
    let mut states = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let stock = stock_named(job, &sheet.stock)?;
        let places = stock.as_ref().and_then(labels_on).unwrap_or_default();
        let places = u32::try_from(places).unwrap_or(u32::MAX);
        let free = (1..=places).filter(|place| !sheet.is_gone && !sheet.is_taken(*place)).collect();
        states.push(SheetState { sheet, stock, free });
    }
    Ok(states)
}

fn stock_named(job: &Path, name: &str) -> Result<Option<Stock>, RunFailure> {
    let file = Template::Stock.named(job, name)?;
    Ok(file.and_then(|file| Stock::from_toml(&Source::new(file.file, file.text)).value))
}

/// What is told of sheets by a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// These labels of a sheet are spoilt.
    Spoilt(SheetNumber, Vec<u32>),
    /// These sheets are gone.
    Gone(Vec<SheetNumber>),
    /// The paper of these runs never went through the printer.
    Unprinted(Vec<u32>),
}

/// A tag on a label that is told to be spoilt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpoiltTag {
    /// The sheet.
    pub sheet: SheetNumber,
    /// The place, counted from 1.
    pub place: u32,
    /// Name of the tag; `None` where nothing was printed on it.
    pub tag: Option<String>,
    /// Word of its kind.
    pub kind: String,
    /// A later run that printed it again.
    pub again: Option<RunNumber>,
}

/// Writes down what a person tells of sheets, or takes it back. Nothing is written where a part of it cannot be.
///
/// # Errors
/// When the register fails, or there is no such sheet, place or run.
pub fn tell(job: &Path, told: &Told, holds: bool, now: Timestamp) -> Result<(), RunFailure> {
    let states = sheets(job)?;
    let known = |number: &SheetNumber| {
        states.iter().find(|state| state.sheet.number == *number).ok_or(SheetRefusal::Unknown(*number))
    };
    let mut register = register::open(job)?;
    let marks: Vec<SheetMark> = match told {
        Told::Spoilt(number, places) => {
            let state = known(number)?;
            if let Some((stock, of)) = state.stock.as_ref().and_then(|stock| Some((stock, labels_on(stock)?)))
                && let Some(&place) = places.iter().find(|place| **place == 0 || **place as usize > of)
            {
                let stock = stock.name().to_owned();
                return Err(SheetRefusal::NoSuchPlace { stock, place, places: of }.into());
            }
            places.iter().map(|place| SheetMark::Spoilt(*number, *place)).collect()
        }
        Told::Gone(numbers) => {
            numbers.iter().try_for_each(|number| known(number).map(|_| ()))?;
            numbers.iter().copied().map(SheetMark::Gone).collect()
        }
        Told::Unprinted(numbers) => {
            let runs = register.runs()?;
            let run = |number: &u32| {
                let run = runs.iter().find(|run| run.number.get() == *number);
                run.map(|run| SheetMark::Unprinted(run.number)).ok_or(SheetRefusal::NoRun(*number))
            };
            numbers.iter().map(run).collect::<Result<_, _>>()?
        }
    };
    for mark in marks {
        register.mark_sheet(mark, holds, now)?;
    }
    Ok(())
}

/// The labels that are told to be spoilt, with the tags that were on them.
///
/// # Errors
/// When the register cannot be read.
pub fn spoilt(job: &Path) -> Result<Vec<SpoiltTag>, RunFailure> {
    let register = register::open_to_read(job)?;
    let mut spoilt = Vec::new();
    for sheet in register.sheets()? {
        for &place in &sheet.spoilt {
            let used = sheet.labels.get(&place);
            let (tag, kind) = used.map(|used| (used.tag.clone(), used.kind.clone())).unzip();
            let tag = tag.filter(|tag| !is_header(tag));
            let kind = kind.unwrap_or_default();
            spoilt.push((used.map(|used| used.run), SpoiltTag { sheet: sheet.number, place, tag, kind, again: None }));
        }
    }
    let mut printed = |run: &Run, name: &str, kind: &str| {
        for (on, spoilt) in spoilt.iter_mut().filter(|_| run.may_be_there()) {
            let is_it = spoilt.tag.as_deref().is_some_and(|tag| tag == name) && spoilt.kind == kind;
            if is_it && on.is_some_and(|on| run.number > on) {
                spoilt.again = Some(run.number);
            }
        }
    };
    register.each_printed(|run, tag| printed(run, &tag.name(), &tag.kind))?;
    register.each_printed_connector(|run, tag| printed(run, &tag.connector, &tag.kind))?;
    Ok(spoilt.into_iter().map(|(_, spoilt)| spoilt).collect())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::super::settings::Printer;
    use super::*;
    use crate::base::{Point, Purpose, Rect, Size, Stated};
    use crate::codes::RegisterFailure;
    use crate::layout::Frame;
    use crate::pages::{Edges, Landing, Piece, impose};

    const NOW: Timestamp = Timestamp::UNIX_EPOCH;

    /// What somebody does with the sheets of a job.
    #[derive(Clone, Debug)]
    enum Deed {
        /// A run of so many tags on one of the stocks, and how it ends.
        Run {
            stock: usize,
            tags: usize,
            wish: SheetWish,
            ends: Ends,
        },
        Mark {
            mark: SheetMark,
            holds: bool,
        },
    }

    #[derive(Clone, Copy, Debug, PartialEq, Eq)]
    enum Ends {
        Done,
        Failed,
        /// It is killed after its labels were written down.
        Killed,
    }

    fn deed() -> impl Strategy<Value = Deed> {
        let sheet = || (1_u32..6).prop_map(|number| SheetNumber::new(number).expect("from 1"));
        let wish = prop_oneof![
            6 => Just(SheetWish::Usual),
            1 => Just(SheetWish::New),
            1 => sheet().prop_map(SheetWish::Number),
            1 => (1_u32..14).prop_map(SheetWish::StartAt),
        ];
        let ends = prop_oneof![6 => Just(Ends::Done), 1 => Just(Ends::Failed), 1 => Just(Ends::Killed)];
        let run = |number: u32| (0..number).fold(RunNumber::FIRST, |run, _| run.next());
        let mark = prop_oneof![
            (sheet(), 1_u32..33).prop_map(|(sheet, place)| SheetMark::Spoilt(sheet, place)),
            sheet().prop_map(SheetMark::Gone),
            (0_u32..12).prop_map(move |number| SheetMark::Unprinted(run(number))),
        ];
        prop_oneof![
            3 => (0..2_usize, 1..45_usize, wish, ends)
                .prop_map(|(stock, tags, wish, ends)| Deed::Run { stock, tags, wish, ends }),
            2 => (mark, prop::bool::weighted(0.7)).prop_map(|(mark, holds)| Deed::Mark { mark, holds }),
        ]
    }

    fn in_use(stock: &str, kind: PrinterKind) -> StockInUse {
        let (edges, landing) = (Edges::all(Length::ZERO), Landing::TRUE);
        let (kind, dpi) = (Stated::default(kind), Stated::default(600));
        let printer = Printer { kind, dpi, edges, edges_of_rolls: edges, landing, address: None };
        StockInUse { stock: Stock::builtin(stock).expect("builtin"), printer, purpose: Purpose::Work }
    }

    fn no_words(_: Size, _: &str) -> Frame {
        let area = Rect { origin: Point::ORIGIN, size: Size::default() };
        Frame { size: area.size, items: Vec::new() }
    }

    /// The pages of a run, as `files` makes and writes them down; `None` where its wish cannot be met.
    fn print(
        register: &mut Register,
        on: &StockInUse,
        tags: usize,
        wish: SheetWish,
        ends: Ends,
    ) -> Option<Vec<SheetLaid>> {
        let laying = Laying { sheets: wish, ..Laying::default() };
        let mut trays = Trays::new(register, &laying, std::iter::once(on)).ok()?;
        let run = register.begin_run(NOW, "tags").expect("begins");
        let (edges, landing, tray) = (on.printer.edges, on.printer.landing, trays.tray(on));
        let settings = Imposing { edges, landing, tray, ..Imposing::new("", format!("run {run}"), &no_words) };
        let size = on.stock.label(0).expect("a sheet");
        let piece = |number: usize| Piece {
            frame: Frame { size, items: Vec::new() },
            name: number.to_string(),
            heading: None,
            group: None,
            labels: 0,
        };
        let mut laid = Vec::new();
        for (at, page) in impose(&on.stock, (0..tags).map(piece), &settings).enumerate() {
            laid.extend(trays.laid(&page.expect("all fit"), at + 1, &on.stock, run));
        }
        let name = on.stock.name();
        let uses: Vec<SheetUse> = laid.iter().map(|sheet| used(sheet, name)).collect();
        register.use_sheets(run, &uses, NOW).expect("nobody else prints");
        match ends {
            Ends::Done => register.end_run(run, crate::codes::Outcome::Done, NOW).expect("ends"),
            Ends::Failed => register.end_run(run, crate::codes::Outcome::Failed, NOW).expect("ends"),
            Ends::Killed => {}
        }
        assert_eq!(laid.iter().map(|sheet| sheet.places.len()).sum::<usize>(), tags, "every tag has its label");
        Some(laid)
    }

    fn used(sheet: &SheetLaid, stock: &str) -> SheetUse {
        SheetUse {
            number: sheet.number,
            stock: stock.to_owned(),
            begun_at: (sheet.standing != SheetStanding::Begun).then_some(sheet.begun_at),
            labels: sheet.places.iter().map(|place| (*place, place.to_string(), "flag".to_owned())).collect(),
        }
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]

        /// Whatever the order of runs, marks and kills: no label is printed on twice, nor one that is spoilt; tags go on the last
        /// free labels; a sheet goes through a laser printer twice at most; its number is printed when it is first laid in.
        #[test]
        fn every_label_is_used_once(deeds in prop::collection::vec(deed(), 1..40), is_laser in any::<bool>()) {
            let kind = if is_laser { PrinterKind::Laser } else { PrinterKind::Inkjet };
            // One whole, one split.
            let stocks = [in_use("a4-24-64x34", kind), in_use("a4-8-99x68-split4", kind)];
            let mut register = Register::in_memory().expect("in memory");
            for deed in deeds {
                match deed {
                    Deed::Run { stock, tags, wish, ends } => {
                        let on = &stocks[stock];
                        let before = register.sheets().expect("reads");
                        let Some(laid) = print(&mut register, on, tags, wish, ends) else { continue };
                        for page in &laid {
                            let known = before.iter().find(|sheet| sheet.number == page.number);
                            let is_free = |place: &u32| {
                                *place >= page.begun_at && known.is_none_or(|sheet| !sheet.is_taken(*place))
                            };
                            let free: Vec<u32> = (1..=page.of as u32).filter(is_free).collect();
                            let last = &free[free.len() - page.places.len()..];
                            prop_assert_eq!(page.places.iter().copied().collect::<Vec<_>>(), last);
                            let passes = known.map_or(0, |sheet| sheet.runs.len());
                            prop_assert_eq!(page.standing == SheetStanding::Begun, passes > 0 || known.is_some_and(|sheet| sheet.begun_at > 1 || !sheet.spoilt.is_empty()));
                            prop_assert!(!is_laser || passes < MOST_LASER_PASSES);
                            prop_assert!(known.is_none_or(|sheet| !sheet.is_gone && sheet.stock == on.stock.name()));
                        }
                    }
                    Deed::Mark { mark, holds } => {
                        // What is told of a sheet or run that is not there, `tell` refuses.
                        let is_known = match mark {
                            SheetMark::Spoilt(sheet, place) => register.sheets().expect("reads").iter().any(|known| {
                                let stock = stocks.iter().find(|on| on.stock.name() == known.stock);
                                let places = stock.and_then(|on| labels_on(&on.stock)).unwrap_or(0);
                                known.number == sheet && place as usize <= places
                            }),
                            SheetMark::Gone(sheet) => {
                                register.sheets().expect("reads").iter().any(|known| known.number == sheet)
                            }
                            SheetMark::Unprinted(run) => register.last_run().expect("reads") >= Some(run),
                        };
                        if is_known {
                            let marked = register.mark_sheet(mark, holds, NOW);
                            let is_sound = matches!(marked, Ok(_) | Err(RegisterFailure::LabelsUsedSince { .. }));
                            prop_assert!(is_sound, "{:?}", marked);
                        }
                    }
                }
            }
        }

        /// A run that was printed after all never gets a label back that another one has.
        #[test]
        fn no_two_runs_that_count_share_a_label(deeds in prop::collection::vec(deed(), 1..40)) {
            let stock = in_use("a4-24-64x34", PrinterKind::Inkjet);
            let mut register = Register::in_memory().expect("in memory");
            let mut printed: BTreeMap<RunNumber, BTreeSet<(SheetNumber, u32)>> = BTreeMap::new();
            for deed in deeds {
                match deed {
                    Deed::Run { tags, wish, ends, .. } => {
                        let Some(laid) = print(&mut register, &stock, tags, wish, ends) else { continue };
                        let run = register.last_run().expect("reads").expect("there");
                        let labels = laid.iter().flat_map(|page| page.places.iter().map(|place| (page.number, *place)));
                        printed.insert(run, labels.collect());
                    }
                    Deed::Mark { mark: mark @ SheetMark::Unprinted(run), holds } if printed.contains_key(&run) => {
                        let _ = register.mark_sheet(mark, holds, NOW);
                    }
                    Deed::Mark { .. } => {}
                }
                let mut labels = BTreeSet::new();
                for run in register.runs().expect("reads").iter().filter(|run| run.may_be_there()) {
                    for label in &printed[&run.number] {
                        prop_assert!(labels.insert(*label), "run {} on {:?}", run.number, label);
                    }
                }
            }
        }
    }
}
