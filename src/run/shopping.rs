//! What a run takes, and what to buy for it: sheets and rolls of labels, tube by size, paper for strips.
//!
//! In: the sizes of all tags in the order of the run, each with the stock it goes on. Out: a [`Need`] for each stock. Tags are placed
//! as a print run places them (`pages::impose`, with frames of their size and nothing in them), so the numbers are those of the run.

use std::collections::BTreeMap;

use super::equipment::StockInUse;
use super::failure::RunFailure;
use super::files::imposing;
use super::headers::{HeaderLabels, groups_of, with_groups, with_headers};
use super::making::Made;
use super::reading::Reading;
use super::sheets::{self, Laying, SheetLaid, Trays, TubeLaid, TubePage, Waiting};
use crate::base::{Length, Size};
use crate::codes::{Register, RunNumber, SheetNumber};
use crate::layout::{Facts, Frame, TubeUse, text};
use crate::pages::{self, Geometry, Piece, SheetStanding};

/// What is bought of tube beyond what a run takes, in percent: ends cut square, a piece spoilt (common practice).
pub const OVER_PERCENT: u32 = 5;

/// Tube is bought by the tenth of a metre.
const TUBE_STEP: Length = Length::nm(100_000_000);

/// What a run takes of one stock.
#[derive(Clone, Debug, PartialEq)]
pub enum Need {
    /// Sheets of labels, or of plain paper from which labels are cut.
    Sheets {
        /// Name of the stock.
        stock: String,
        /// How many tags, with the header labels.
        tags: usize,
        /// How many whole sheets.
        sheets: usize,
        /// How many tags a sheet takes.
        a_sheet: usize,
        /// Sheets that are begun and go first, each with its free labels.
        begun: Vec<(SheetNumber, usize)>,
        /// A sheet that is no whole one: the first of its labels that is there, and how many are.
        part: Option<(u32, usize)>,
        /// How many labels of begun sheets are lost, for it is their last pass.
        lost: usize,
        /// Where labels are lost: how many sheets it takes where all are new, and none is.
        on_new: Option<usize>,
        /// Begun sheets that wait for a run that suits them better, with what it costs to go on with each, the cheapest first.
        waiting: Vec<Waiting>,
        /// The sheets in the order in which they are printed, with the places that are used; none where they are cut up.
        laid: Vec<SheetLaid>,
        /// Places that the printer does not reach, counted from 1.
        unreached: Vec<u32>,
    },
    /// Labels of a roll, one for each tag.
    Roll {
        /// Name of the stock.
        stock: String,
        /// How many labels.
        labels: usize,
    },
    /// Tube that is printed.
    Tube {
        /// Name of the stock.
        stock: String,
        /// Name of the size.
        size: String,
        /// How many sleeves.
        sleeves: usize,
        /// Length of a whole piece.
        piece: Length,
        /// The pieces that go through the printer, and what becomes of them.
        laid: TubeLaid,
    },
    /// Paper from which strips are cut.
    Paper {
        /// Name of the stock.
        stock: String,
        /// How many strips.
        strips: usize,
        /// How many sheets.
        sheets: usize,
        /// How much of what strips may cover is covered, in percent.
        full_percent: f64,
    },
    /// Clear tube over strips.
    ClearTube {
        /// Name of the size.
        size: String,
        /// How many cuts.
        cuts: usize,
        /// What they make together.
        used: Length,
    },
}

impl Need {
    /// Free labels of all sheets that are laid in.
    fn labels(&self) -> Option<usize> {
        match self {
            Self::Sheets { sheets, a_sheet, begun, part, .. } => {
                let begun: usize = begun.iter().map(|(_, free)| free).sum();
                Some(*sheets * *a_sheet + begun + part.map_or(0, |(_, free)| free))
            }
            _ => None,
        }
    }

    /// Labels that stay on the last sheet.
    pub fn left_over(&self) -> Option<usize> {
        match self {
            Self::Sheets { tags, .. } => Some(self.labels()?.saturating_sub(*tags)),
            _ => None,
        }
    }

    /// What is not used of what is taken, in percent: labels of sheets, length of printed tube, paper for strips.
    pub fn waste_percent(&self) -> Option<f64> {
        let share = |used: f64, taken: f64| if taken > 0.0 { 100.0 * (1.0 - used / taken) } else { 0.0 };
        match self {
            Self::Sheets { tags, .. } => Some(share(*tags as f64, self.labels()? as f64)),
            Self::Tube { laid, .. } => Some(laid.waste_percent()),
            Self::Paper { full_percent, .. } => Some(100.0 - full_percent),
            Self::Roll { .. } | Self::ClearTube { .. } => None,
        }
    }

    /// Tube that the run takes: whole pieces where it is printed, for the printer is fed with pieces.
    pub fn taken(&self) -> Option<Length> {
        match self {
            Self::Tube { piece, laid, .. } => {
                let whole = laid.pieces.iter().filter(|length| *length >= piece);
                Some(whole.fold(Length::ZERO, |sum, length| sum + *length))
            }
            Self::ClearTube { used, .. } => Some(*used),
            Self::Sheets { .. } | Self::Roll { .. } | Self::Paper { .. } => None,
        }
    }

    /// Tube to buy: what is taken and [`OVER_PERCENT`] more, up to the next tenth of a metre.
    pub fn to_buy(&self) -> Option<Length> {
        let over = self.taken()?.scaled(1.0 + f64::from(OVER_PERCENT) / 100.0);
        let down = over.floor_to(TUBE_STEP);
        Some(if down == over { over } else { down + TUBE_STEP })
    }
}

fn square_mm(size: Size) -> f64 {
    size.width.as_mm() * size.height.as_mm()
}

/// The tags of a run as far as stock is concerned.
#[derive(Default)]
pub(super) struct Basket {
    /// The tags as pieces with nothing in them, by the place of their stock in the equipment.
    tags: BTreeMap<usize, Vec<Piece>>,
    /// Cuts of clear tube by size: how many, and their length.
    clear: BTreeMap<String, (usize, Length)>,
}

impl Basket {
    /// Adds a tag; they come in the order in which they are printed.
    pub(super) fn add(&mut self, name: String, group: Option<String>, made: &Made) {
        let frame = Frame { size: made.tag.frame.size, items: Vec::new() };
        let piece = Piece { frame, name, heading: None, group, labels: made.labels };
        self.tags.entry(made.stock).or_default().push(piece);
        self.add_clear_tube(&made.tag.facts);
    }

    fn add_clear_tube(&mut self, facts: &Facts) {
        if let Some(tube) = facts.tube.as_ref().filter(|tube| tube.tube == TubeUse::Clear) {
            let (cuts, length) = self.clear.entry(tube.size.clone()).or_default();
            *cuts += 1;
            *length += tube.length;
        }
    }

    /// What all these tags take, in the order of the stocks; clear tube last. Heads on tube name the run.
    ///
    /// # Errors
    /// [`RunFailure`] when the register fails, a wish for sheets cannot be met, or a tag is larger than its stock, as in the print run.
    pub(super) fn needs(
        self,
        reading: &Reading,
        run: RunNumber,
        register: &Register,
        laying: &Laying,
    ) -> Result<Vec<Need>, RunFailure> {
        let stocks = reading.equipment.stocks();
        let mut trays = Trays::new(register, laying, self.tags.keys().map(|at| &stocks[*at]))?;
        let mut needs = Vec::new();
        for (at, tags) in self.tags {
            needs.push(need(reading, &stocks[at], tags, run, &mut trays)?);
        }
        let clear = self.clear.into_iter();
        needs.extend(clear.map(|(size, (cuts, used))| Need::ClearTube { size, cuts, used }));
        Ok(needs)
    }
}

/// More tags than these are not placed once more to see what begun sheets would cost: they fill them.
const MOST_AGAIN: usize = 2_000;

fn need(
    reading: &Reading,
    in_use: &StockInUse,
    tags: Vec<Piece>,
    run: RunNumber,
    trays: &mut Trays,
) -> Result<Need, RunFailure> {
    let (count, stock) = (tags.len(), in_use.stock.name().to_owned());
    let lengths: Vec<Length> = tags.iter().map(|tag| tag.frame.size.width).collect();
    let covered: f64 = tags.iter().map(|tag| square_mm(tag.frame.size)).sum();
    let fonts = reading.equipment.fonts();
    let head = |size: Size, words: &str| -> Frame { text::caption(fonts, size, words) };
    let settings = imposing(reading, in_use, run, trays, &head);
    let headers = HeaderLabels::new(reading, in_use, trays.headers(), settings.order);
    let groups = groups_of(tags.iter().map(|tag| tag.group.clone()));
    let mut settings = with_groups(settings, &groups, headers.as_ref());
    let pieces: Vec<Piece> = with_headers(tags.into_iter(), groups, headers.as_ref()).collect();
    let count_with_headers = pieces.len();
    let begun = trays.begun(in_use);
    // Only where a begun sheet may be left are they placed once more, and where they are few: many fill what is begun.
    let is_any_begun = !begun.is_empty() || !settings.tray.begun.is_empty();
    let again = if is_any_begun && pieces.len() <= MOST_AGAIN { pieces.clone() } else { Vec::new() };
    let pages = pages::impose(&in_use.stock, pieces.into_iter(), &settings);
    let (mut count_of_pages, mut laid, mut pieces) = (0, Vec::new(), Vec::new());
    for page in pages {
        let page = page?;
        count_of_pages += 1;
        pieces.extend(TubePage::of(&page));
        laid.extend(trays.laid(&page, count_of_pages, in_use, run));
    }
    let waiting = sheets::waiting(&in_use.stock, &settings, &begun, &laid);
    let waiting = sheets::going_on(in_use, &mut settings, &again, &begun, &waiting);
    let lost = laid.iter().map(SheetLaid::lost).sum();
    let on_new = (lost > 0 && !again.is_empty()).then(|| sheets::on_new(&in_use.stock, &mut settings, &again));
    Ok(match in_use.stock.geometry() {
        Geometry::Sheet(sheet) => {
            let unreached = pages::unprintable_places(sheet, settings.printable(sheet.page()));
            let free = |laid: &SheetLaid| laid.places.len() + laid.left;
            let begun = laid.iter().filter(|laid| laid.standing == SheetStanding::Begun);
            let begun: Vec<_> = begun.map(|laid| (laid.number, free(laid))).collect();
            let part = laid.iter().find_map(|laid| Some((laid.first_place()?, free(laid))));
            Need::Sheets {
                stock,
                tags: count_with_headers,
                sheets: count_of_pages - begun.len() - usize::from(part.is_some()),
                a_sheet: sheet.places() - unreached.len(),
                begun,
                part,
                lost,
                on_new,
                waiting,
                unreached: unreached.iter().filter_map(|(place, _)| u32::try_from(place + 1).ok()).collect(),
                laid,
            }
        }
        Geometry::Roll(_) => Need::Roll { stock, labels: count_of_pages },
        Geometry::Tube(tube) => {
            let (size, piece) = (tube.size().name.clone(), tube.piece());
            let laid = TubeLaid::of(pieces, &lengths, &in_use.stock, &settings).unwrap_or_default();
            Need::Tube { stock, size, sleeves: count, piece, laid }
        }
        Geometry::Paper(_) => {
            let room = square_mm(pages::largest_frame(&in_use.stock, &settings)) * count_of_pages as f64;
            let full_percent = if room > 0.0 { 100.0 * covered / room } else { 0.0 };
            Need::Paper { stock, strips: count, sheets: count_of_pages, full_percent }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waste_is_what_stays_on_the_last_sheet() {
        let sheets = |tags, sheets| {
            let (stock, begun) = ("a4-24-64x34".to_owned(), Vec::new());
            Need::Sheets {
                stock,
                tags,
                sheets,
                a_sheet: 24,
                begun,
                part: None,
                lost: 0,
                on_new: None,
                waiting: Vec::new(),
                laid: Vec::new(),
                unreached: Vec::new(),
            }
        };
        assert_eq!((sheets(68, 3).left_over(), sheets(68, 3).waste_percent().map(f64::round)), (Some(4), Some(6.0)));
        assert_eq!((sheets(48, 2).left_over(), sheets(48, 2).waste_percent()), (Some(0), Some(0.0)));
        assert_eq!(sheets(1, 1).to_buy(), None);
    }

    /// 4 pieces of 300 mm are 1.2 m; with 5 % over 1.26 m, bought as 1.3 m. 2 m of clear tube become 2.1 m and no more.
    #[test]
    fn tube_is_bought_a_little_over() {
        let (mm, size) = (Length::mm, "1/8 in 2:1".to_owned());
        let stock = "tube-3.2-1.6".to_owned();
        let laid = TubeLaid { pieces: vec![mm(300.0); 4], used: mm(900.0), least: Some(3), ..TubeLaid::default() };
        let printed = Need::Tube { stock, size: size.clone(), sleeves: 20, piece: mm(300.0), laid };
        assert_eq!((printed.taken(), printed.to_buy()), (Some(mm(1200.0)), Some(mm(1300.0))));
        assert_eq!(printed.waste_percent(), Some(25.0));
        let clear = Need::ClearTube { size, cuts: 20, used: mm(2000.0) };
        assert_eq!((clear.taken(), clear.to_buy()), (Some(mm(2000.0)), Some(mm(2100.0))));
    }
}
