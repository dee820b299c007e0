//! Placing on sheets of labels and on rolls.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::impose::{Closed, Filling, Imposing, PageContext, Piece, in_a_row, in_place};
use super::marks::{self, CLEAR, TICK_ROOM};
use super::picking::{Rest, picked};
use super::reach::unprintable_places;
use super::together::Sheets;
use super::tray::{BegunSheet, LaidIn, OnSheet, SheetStanding, Taking, Tray};
use super::{Cut, Placed, Roll, Sheet};
use crate::base::{Point, Rect, Size};
use crate::layout::Item;

/// Sheet after sheet out of a tray, without the places that the printer cannot reach. Labels of a sheet are taken from its trailing
/// end, so that its leading edge stays whole for the next time; plain paper is cut up, and filled from its head.
pub(super) struct OntoSheets<'a> {
    sheet: &'a Sheet,
    tray: Tray,
    /// Places that the printer cannot reach.
    lost: BTreeSet<usize>,
    /// The open sheet.
    open: LaidIn,
    /// Places of the open sheet that take tags, in their order.
    free: Vec<usize>,
    /// What goes on them.
    pieces: Vec<Piece>,
}

impl<'a> OntoSheets<'a> {
    pub(super) fn new(sheet: &'a Sheet, settings: &Imposing<'_>) -> Self {
        let lost = unprintable_places(sheet, settings.printable(sheet.page()));
        let mut tray = if sheet.cut() == Cut::Die { settings.tray.clone() } else { Tray::default() };
        pick(&mut tray, sheet, &lost.iter().map(|(place, _)| *place).collect(), settings);
        let mut sheets = Self {
            sheet,
            tray,
            lost: lost.into_iter().map(|(place, _)| place).collect(),
            open: LaidIn::default(),
            free: Vec::new(),
            pieces: Vec::new(),
        };
        sheets.open();
        sheets
    }

    /// Lays in the next sheet.
    fn open(&mut self) {
        self.open = self.tray.take();
        let is_free = |place: &usize| !self.lost.contains(place) && !self.open.gone.contains(place);
        self.free = (0..self.sheet.places()).filter(is_free).collect();
    }

    /// The free places that a piece may take, those of its group of labels.
    fn free_for(&self, labels: usize) -> impl Iterator<Item = usize> {
        let places = self.sheet.places_of(labels);
        self.free.iter().copied().filter(move |place| places.contains(place))
    }

    /// Puts the pieces on the last free places of their groups, or on the first ones of plain paper.
    fn placed(&mut self) -> Vec<Placed> {
        let pieces = std::mem::take(&mut self.pieces);
        let groups: BTreeSet<usize> = pieces.iter().map(|piece| piece.labels).collect();
        let mut places: BTreeMap<usize, VecDeque<usize>> = BTreeMap::new();
        for group in groups {
            let free: Vec<usize> = self.free_for(group).collect();
            let count = pieces.iter().filter(|piece| piece.labels == group).count().min(free.len());
            let taken = match self.sheet.cut() {
                Cut::Die => &free[free.len() - count..],
                Cut::Lines => &free[..count],
            };
            places.insert(group, taken.iter().copied().collect());
        }
        let placed = pieces.into_iter().filter_map(|piece| {
            let number = places.get_mut(&piece.labels)?.pop_front()?;
            let (at, turn) = in_place(piece.frame.size, self.sheet.place(number)?)?;
            Some(Placed { place: Some(number), ..piece.placed(at, turn) })
        });
        placed.collect()
    }

    /// Knife lines of split labels of which a slice is used and none was before, or cut lines round the places used.
    fn cuts(&self, used: &BTreeSet<usize>, printable: Rect) -> Vec<Item> {
        match self.sheet.cut() {
            Cut::Lines => {
                let used: Vec<_> = used.iter().filter_map(|number| self.sheet.place(*number)).collect();
                marks::cut_lines(&used, printable)
            }
            Cut::Die => {
                let labels: BTreeSet<(usize, usize)> = used
                    .iter()
                    .map(|number| self.sheet.slices_of(*number))
                    .map(|slices| (slices.start, slices.end))
                    .collect();
                let is_new = |(start, end): &(usize, usize)| self.open.gone.range(*start..*end).next().is_none();
                let lines = labels.into_iter().filter(is_new).flat_map(|(start, end)| {
                    let label = self.sheet.label_of(start);
                    let slices = (start + 1..end).filter_map(|number| self.sheet.place(number));
                    slices.filter_map(move |slice| Some(marks::knife_line(label?, slice.top())))
                });
                lines.collect()
            }
        }
    }
}

/// Leaves in the tray those begun sheets that suit the number of tags best, as far as that is known. Tags of several groups of labels
/// fill sheets unevenly: then all stay.
fn pick(tray: &mut Tray, sheet: &Sheet, lost: &BTreeSet<usize>, settings: &Imposing<'_>) {
    let rest = match tray.taking {
        Taking::InOrder => return,
        Taking::Fitting => Rest::Kept,
        Taking::LastPass => Rest::Lost,
    };
    if sheet.groups().len() > 1 {
        return;
    }
    let tags = settings.groups.iter().map(|(_, count)| count).sum();
    let new = sheet.places() - lost.len();
    let free: Vec<usize> = tray.begun.iter().map(|sheet| new - sheet.taken.difference(lost).count()).collect();
    let mut begun: Vec<Option<BegunSheet>> = std::mem::take(&mut tray.begun).into_iter().map(Some).collect();
    tray.begun = picked(&free, tags, new, rest).into_iter().filter_map(|at| begun[at].take()).collect();
}

impl Filling for OntoSheets<'_> {
    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let in_group = self.pieces.iter().filter(|other| other.labels == piece.labels).count();
        if in_group >= self.free_for(piece.labels).count() {
            // A sheet that takes nothing more of this is passed over. Of a whole one that is the last word.
            if self.pieces.is_empty() && !self.open.gone.is_empty() {
                self.open();
                return self.offer(piece);
            }
            return Err(piece);
        }
        self.pieces.push(piece);
        Ok(())
    }

    fn largest(&self) -> Size {
        let is_lost = |labels: usize| self.sheet.places_of(labels).all(|place| self.lost.contains(&place));
        let sizes = self.sheet.groups().iter().enumerate();
        let left = sizes.filter(|(labels, _)| !is_lost(*labels)).map(|(_, group)| group.slice());
        left.max_by_key(|size| (size.width, size.height)).unwrap_or_default()
    }

    fn takes(&self, piece: &Piece) -> bool {
        let places = self.sheet.places_of(piece.labels);
        let place = places.clone().find(|place| !self.lost.contains(place)).and_then(|place| self.sheet.place(place));
        place.is_some_and(|place| in_place(piece.frame.size, place).is_some())
    }

    fn sheets(&self) -> Option<Sheets> {
        if self.sheet.places_of(0).len() < self.sheet.places() {
            return None;
        }
        let new = self.sheet.places() - self.lost.len();
        let free = |taken: &BTreeSet<usize>| new - taken.difference(&self.lost).count();
        let begun = self.tray.begun.iter().map(|sheet| free(&sheet.taken)).filter(|free| *free > 0);
        let open = self.free.len();
        Some(Sheets {
            begun: std::iter::once(open).filter(|open| *open > 0 && *open < new).chain(begun).collect(),
            new,
            rest: if self.tray.taking == Taking::LastPass { Rest::Lost } else { Rest::Kept },
        })
    }

    fn close(&mut self, context: &PageContext<'_>) -> Closed {
        let (size, settings) = (self.sheet.page(), context.settings);
        let printable = settings.printable(size);
        let placed = self.placed();
        let used: BTreeSet<usize> = placed.iter().filter_map(|placed| placed.place).collect();
        let mut marks = self.cuts(&used, printable);
        let block = match self.sheet.cut() {
            Cut::Die => self.sheet.block(),
            Cut::Lines => self.sheet.block().inset(CLEAR - TICK_ROOM),
        };
        let mut standing = SheetStanding::Begun;
        if let Some(passes) = self.open.before {
            let words = in_a_row([&settings.run, &format!("page {}", context.number)]);
            marks.extend(marks::margin_again(printable, block, passes, &words, settings.head));
        } else {
            let number = self.open.number.map(|number| format!("sheet {number}")).unwrap_or_default();
            let margin =
                marks::margin(printable, block, &[in_a_row([&number, &context.title()]), number], settings.head);
            standing = if margin.has_title { SheetStanding::Numbered } else { SheetStanding::Unnumbered };
            marks.extend(margin.marks);
        }
        let left = self.free.len() - used.len();
        let sheet = self.open.number.map(|number| OnSheet { number, standing, left });
        self.open();
        Closed { size, placed, marks, sheet, piece: None }
    }
}

/// Label after label, each a page.
pub(super) struct OntoRoll {
    label: Size,
    placed: Option<Placed>,
}

impl OntoRoll {
    pub(super) fn new(roll: &Roll) -> Self {
        Self { label: roll.label(), placed: None }
    }
}

impl Filling for OntoRoll {
    fn offer(&mut self, piece: Piece) -> Result<(), Piece> {
        let place = in_place(piece.frame.size, Rect { origin: Point::ORIGIN, size: self.label });
        match place.filter(|_| self.placed.is_none()) {
            Some((at, turn)) => {
                self.placed = Some(piece.placed(at, turn));
                Ok(())
            }
            None => Err(piece),
        }
    }

    fn largest(&self) -> Size {
        self.label
    }

    fn takes(&self, piece: &Piece) -> bool {
        in_place(piece.frame.size, Rect { origin: Point::ORIGIN, size: self.label }).is_some()
    }

    fn close(&mut self, _: &PageContext<'_>) -> Closed {
        Closed {
            size: self.label,
            placed: self.placed.take().into_iter().collect(),
            marks: Vec::new(),
            sheet: None,
            piece: None,
        }
    }
}
