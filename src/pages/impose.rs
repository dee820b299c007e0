//! Frames in working order -> pages, one at a time: memory does not grow with the number of tags.
//!
//! What a page takes and which marks it bears depends on the stock: `onto_labels`, `onto_tube`, `onto_strips`. This file
//! keeps what is common: order, bookmarks, page numbers, and what becomes of a frame that has no place.

use std::collections::{BTreeSet, VecDeque};
use std::iter;

use thiserror::Error;

use super::nest::nest;
use super::onto_labels::{OntoRoll, OntoSheets};
use super::onto_strips::OntoStrips;
use super::onto_tube::OntoTube;
use super::reach::ink_beyond;
use super::together::{self, Sheets};
use super::{Geometry, Heading, Landing, OnSheet, Page, Placed, PrinterKind, Stock, Tray};
use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::{Frame, Item};

/// A finished tag on its way to a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// What is drawn.
    pub frame: Frame,
    /// The tag's name (`7KF4 A`), for messages about it.
    pub name: String,
    /// What it belongs to, for bookmarks: its connector. The first piece of each heading has a bookmark.
    pub heading: Option<String>,
    /// What should stay on one sheet of labels with it where that costs none.
    pub group: Option<String>,
    /// Which labels of the sheet it is made for, where a sheet has several groups of them: 0 is the first.
    pub labels: usize,
}

/// Sets words in one line inside the given size. The frame is as large as the words, not as the size; it is empty, or larger than
/// the size, when they do not fit: then they are left out.
pub type Words<'a> = &'a dyn Fn(Size, &str) -> Frame;

/// What placing needs to know beside the stock.
pub struct Imposing<'a> {
    /// Title of the job, in margins and tube heads.
    pub title: String,
    /// The print run as a person names it.
    pub run: String,
    /// Where the printer leaves paper white.
    pub edges: Edges,
    /// Where the printer puts what it is sent.
    pub landing: Landing,
    /// The sheets of labels that are at hand; other stock needs none.
    pub tray: Tray,
    /// Off-cuts of tube that are used up before whole pieces, in this order.
    pub off_cuts: Vec<Length>,
    /// In which order tags are placed.
    pub order: Order,
    /// What belongs together, as far as it is known before: each group of the pieces with how many there are, in their order.
    pub groups: Vec<(Option<String>, usize)>,
    /// Sets the words of margins, rulers and tube heads.
    pub head: Words<'a>,
}

impl<'a> Imposing<'a> {
    /// On new sheets and whole pieces, as the hand moves, by a printer of the common kind that lands true.
    pub fn new(title: impl Into<String>, run: impl Into<String>, head: Words<'a>) -> Self {
        Self {
            title: title.into(),
            run: run.into(),
            edges: Edges::default(),
            landing: Landing::TRUE,
            tray: Tray::default(),
            off_cuts: Vec::new(),
            order: Order::default(),
            groups: Vec::new(),
            head,
        }
    }

    /// What of a page the printer reaches, on the paper.
    pub fn printable(&self, page: Size) -> Rect {
        self.edges.on_paper(page, &self.landing)
    }
}

/// In which order tags are placed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Order {
    /// As the hand moves: connector after connector, cavity after cavity.
    #[default]
    Working,
    /// So that least tube and paper is wasted; on each piece and row as the hand moves.
    LeastWaste,
}

impl Order {
    /// Words of job.toml and of the command line.
    pub const WORDS: [(&str, Self); 2] = [("working", Self::Working), ("least-waste", Self::LeastWaste)];
}

/// The unprintable edges of a printer, as distances on the page that it is sent: the numbers that the combs of a trial page show. On
/// the paper they lie where the printer puts them, [`Edges::on_paper`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edges {
    /// At the head of the page.
    pub top: Length,
    /// On the right.
    pub right: Length,
    /// At the foot.
    pub bottom: Length,
    /// On the left.
    pub left: Length,
}

/// A tag that has no place on the stock. The fit makes frames for their stock, and what a printer cannot reach is a problem told
/// before: this is a fault of the program, or of a stock changed in between.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum Misfit {
    /// The frame is larger than any place.
    #[error("tag `{name}` is {} x {}, but stock `{stock}` takes at most {} x {}", frame.width, frame.height, place.width, place.height)]
    TooLarge {
        /// The tag's name.
        name: String,
        /// The stock's name.
        stock: String,
        /// Size of its frame.
        frame: Size,
        /// The largest place there is.
        place: Size,
    },
    /// The printer reaches no place that is left, or not all of the tag on it.
    #[error("the printer cannot reach {by:.1} of tag `{name}` on stock `{stock}`")]
    OutOfReach {
        /// The tag's name.
        name: String,
        /// The stock's name.
        stock: String,
        /// How far it is out of reach.
        by: Length,
    },
}

/// Places pieces on pages of a stock: on labels, rolls and tube in the order they come, first free place first; strips in order
/// of their height, since rows of one height share their cuts, and so strips alone are gathered before the first page.
///
/// A piece without a place gives a [`Misfit`]; the others still get theirs.
pub fn impose<'a>(
    stock: &'a Stock,
    pieces: impl Iterator<Item = Piece> + 'a,
    settings: &'a Imposing<'a>,
) -> impl Iterator<Item = Result<Page, Misfit>> + 'a {
    let filling = filling(stock, settings);
    let pieces: Box<dyn Iterator<Item = Piece> + 'a> = match (stock.geometry(), settings.order) {
        (Geometry::Paper(_), order) => {
            let row = filling.largest().width;
            gathered(pieces, move |pieces| by_height(pieces, order, row))
        }
        (Geometry::Tube(tube), Order::LeastWaste) => {
            let (first, room) = OntoTube::new(tube, stock.name(), settings).rooms();
            gathered(pieces, move |pieces| nested(pieces, &first, room))
        }
        _ => Box::new(pieces),
    };
    let breaks = match filling.sheets() {
        Some(sheets) => {
            let counts: Vec<usize> = settings.groups.iter().map(|(_, count)| *count).collect();
            let names = settings.groups.iter().map(|(name, _)| name.clone());
            names.zip(together::breaks(&counts, &sheets)).collect()
        }
        None => VecDeque::new(),
    };
    Pages {
        stock,
        settings,
        pieces,
        filling,
        is_begun: false,
        headings: Vec::new(),
        count: 0,
        waiting: None,
        number: 1,
        known: BTreeSet::new(),
        breaks,
        group: None,
    }
}

/// The largest frame that has a place on the stock: what the fit may use for a sleeve or strip.
pub fn largest_frame(stock: &Stock, settings: &Imposing<'_>) -> Size {
    filling(stock, settings).largest()
}

/// Room for sleeves on a whole piece of tube, behind its head; `None` where the stock is no tube.
pub fn room_on_tube(stock: &Stock, settings: &Imposing<'_>) -> Option<Length> {
    stock.tube().map(|tube| OntoTube::new(tube, stock.name(), settings).rooms().1)
}

fn filling<'a>(stock: &'a Stock, settings: &'a Imposing<'a>) -> Box<dyn Filling + 'a> {
    match stock.geometry() {
        Geometry::Sheet(sheet) => Box::new(OntoSheets::new(sheet, settings)),
        Geometry::Roll(roll) => Box::new(OntoRoll::new(roll)),
        Geometry::Tube(tube) => Box::new(OntoTube::new(tube, stock.name(), settings)),
        Geometry::Paper(page) => Box::new(OntoStrips::new(*page, settings.printable(*page))),
    }
}

/// Gathers the pieces when the first is asked for, and puts them in order.
fn gathered<'a>(
    pieces: impl Iterator<Item = Piece> + 'a,
    order: impl FnOnce(Vec<Piece>) -> Vec<Piece> + 'a,
) -> Box<dyn Iterator<Item = Piece> + 'a> {
    Box::new(iter::once_with(move || order(pieces.collect())).flatten())
}

/// Strips by their height; those of one height keep their order, or fill rows of this width as full as can be.
fn by_height(mut pieces: Vec<Piece>, order: Order, row: Length) -> Vec<Piece> {
    pieces.sort_by_key(|piece| piece.frame.size.height);
    if order == Order::Working {
        return pieces;
    }
    let mut rest = pieces.into_iter().peekable();
    let mut ordered = Vec::new();
    while let Some(first) = rest.next() {
        let height = first.frame.size.height;
        let mut alike = vec![first];
        while let Some(next) = rest.next_if(|next| next.frame.size.height == height) {
            alike.push(next);
        }
        ordered.extend(nested(alike, &[], row));
    }
    ordered
}

/// Pieces in an order in which they fill lengths one after the other with least waste: first these, then as many as are needed of
/// length `room`. What is too long for any comes last, and is told by whoever places it.
fn nested(pieces: Vec<Piece>, first: &[Length], room: Length) -> Vec<Piece> {
    let lengths: Vec<Length> = pieces.iter().map(|piece| piece.frame.size.width).collect();
    let mut pieces: Vec<Option<Piece>> = pieces.into_iter().map(Some).collect();
    let order: Vec<usize> = nest(&lengths, first, room).into_iter().flatten().collect();
    let mut ordered: Vec<Piece> = order.into_iter().filter_map(|at| pieces[at].take()).collect();
    ordered.extend(pieces.into_iter().flatten());
    ordered
}

/// How the pages of one kind of stock fill up.
pub(super) trait Filling {
    /// The largest frame that an empty page takes.
    fn largest(&self) -> Size;

    /// Whether an empty page takes the piece.
    fn takes(&self, piece: &Piece) -> bool;

    /// Takes the next piece onto the open page, behind the others; gives it back when the page has no room for it.
    fn offer(&mut self, piece: Piece) -> Result<(), Piece>;

    /// What sheets of labels there are, where all labels of them are alike.
    fn sheets(&self) -> Option<Sheets> {
        None
    }

    /// The open page, its pieces in the order in which they were taken. The next piece begins a new one.
    fn close(&mut self, context: &PageContext<'_>) -> Closed;
}

/// A page that takes no more.
pub(super) struct Closed {
    pub(super) size: Size,
    pub(super) placed: Vec<Placed>,
    pub(super) marks: Vec<Item>,
    /// The sheet of labels that it is.
    pub(super) sheet: Option<OnSheet>,
    /// Length of the piece of tube that it is cut from.
    pub(super) piece: Option<Length>,
}

/// What the marks of a page may tell.
pub(super) struct PageContext<'a> {
    pub(super) stock: &'a str,
    pub(super) settings: &'a Imposing<'a>,
    /// Number of the page, from 1.
    pub(super) number: usize,
}

impl PageContext<'_> {
    /// What the margin of a sheet says of it.
    pub(super) fn title(&self) -> String {
        in_a_row([&self.settings.title, &self.settings.run, self.stock, &format!("page {}", self.number)])
    }
}

/// The parts of a title or head that there are.
pub(super) fn in_a_row<const N: usize>(parts: [&str; N]) -> String {
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

struct Pages<'a> {
    stock: &'a Stock,
    settings: &'a Imposing<'a>,
    pieces: Box<dyn Iterator<Item = Piece> + 'a>,
    filling: Box<dyn Filling + 'a>,
    /// Whether the open page has a tag.
    is_begun: bool,
    /// What begins on the open page, each with the number of its first piece there.
    headings: Vec<(String, usize)>,
    /// How many pieces are on it.
    count: usize,
    /// The piece for which the last page had no room.
    waiting: Option<Piece>,
    number: usize,
    /// Headings that have their bookmark.
    known: BTreeSet<String>,
    /// Groups that are still to come, and whether they begin a new page.
    breaks: VecDeque<(Option<String>, bool)>,
    /// The group of the last piece.
    group: Option<Option<String>>,
}

impl Iterator for Pages<'_> {
    type Item = Result<Page, Misfit>;

    fn next(&mut self) -> Option<Self::Item> {
        while let Some(piece) = self.waiting.take().or_else(|| self.pieces.next()) {
            if !self.filling.takes(&piece) {
                return Some(Err(self.misfit(&piece)));
            }
            if self.begins_anew(&piece) && self.is_begun {
                self.waiting = Some(piece);
                return Some(self.close());
            }
            let heading = piece.heading.clone();
            match self.filling.offer(piece) {
                Ok(()) => self.taken(heading),
                // An empty page has room for what it takes; should it not, the piece must not come back for ever.
                Err(piece) if !self.is_begun => return Some(Err(self.misfit(&piece))),
                Err(piece) => {
                    self.waiting = Some(piece);
                    return Some(self.close());
                }
            }
        }
        self.is_begun.then(|| self.close())
    }
}

impl Pages<'_> {
    /// Whether a piece is the first of a group that begins a new page.
    fn begins_anew(&mut self, piece: &Piece) -> bool {
        if self.group.as_ref() == Some(&piece.group) {
            return false;
        }
        self.group = Some(piece.group.clone());
        // Groups of which nothing came are passed over.
        match self.breaks.iter().position(|(name, _)| *name == piece.group) {
            Some(at) => self.breaks.drain(..=at).next_back().is_some_and(|(_, is_new)| is_new),
            None => false,
        }
    }

    fn taken(&mut self, heading: Option<String>) {
        self.is_begun = true;
        if let Some(heading) = heading
            && self.known.insert(heading.clone())
        {
            self.headings.push((heading, self.count));
        }
        self.count += 1;
    }

    /// The page that is open. The last guard before paper is spent: no ink on it lies where the printer cannot put it.
    fn close(&mut self) -> Result<Page, Misfit> {
        let context = PageContext { stock: self.stock.name(), settings: self.settings, number: self.number };
        let Closed { size, placed, marks, sheet, piece } = self.filling.close(&context);
        self.number += 1;
        self.is_begun = false;
        self.count = 0;
        let headings = std::mem::take(&mut self.headings).into_iter();
        let headings =
            headings.filter_map(|(words, first)| Some(Heading { words, at: placed.get(first)?.at })).collect();
        let printable = self.settings.printable(size);
        let lost = placed.iter().map(|placed| (placed, ink_beyond(placed, printable)));
        match lost.max_by_key(|(_, by)| *by).filter(|(_, by)| *by > Length::ZERO) {
            Some((placed, by)) => Err(self.out_of_reach(&placed.name, by)),
            None => Ok(Page { size, placed, marks, headings, sheet, piece }),
        }
    }

    fn misfit(&self, piece: &Piece) -> Misfit {
        let (frame, place) = (piece.frame.size, self.filling.largest());
        if place == Size::default() {
            return self.out_of_reach(&piece.name, frame.width);
        }
        Misfit::TooLarge { name: piece.name.clone(), stock: self.stock.name().to_owned(), frame, place }
    }

    fn out_of_reach(&self, name: &str, by: Length) -> Misfit {
        Misfit::OutOfReach { name: name.to_owned(), stock: self.stock.name().to_owned(), by }
    }
}

impl Edges {
    /// The same edge on every side.
    pub const fn all(edge: Length) -> Self {
        Self { top: edge, right: edge, bottom: edge, left: edge }
    }

    /// What is common for a kind of printer, until a trial page has shown more: 5 mm, and 13 mm at the foot of an inkjet
    /// printer's page (common practice).
    pub fn common(printer: PrinterKind) -> Self {
        let edges = Self::all(Length::mm(5.0));
        match printer {
            PrinterKind::Inkjet => Self { bottom: Length::mm(13.0), ..edges },
            _ => edges,
        }
    }

    /// What is left of a page on the paper: it lies where the printer puts what it is sent, and never beyond the paper.
    pub fn on_paper(&self, page: Size, landing: &Landing) -> Rect {
        let landed = landing.area_lands(self.printable(page));
        let (left, top) = (landed.left().max(Length::ZERO), landed.top().max(Length::ZERO));
        let width = (landed.right().min(page.width) - left).max(Length::ZERO);
        let height = (landed.bottom().min(page.height) - top).max(Length::ZERO);
        Rect::new(left, top, width, height)
    }

    /// What is left of a page as it is sent.
    pub fn printable(&self, page: Size) -> Rect {
        let width = (page.width - self.left - self.right).max(Length::ZERO);
        let height = (page.height - self.top - self.bottom).max(Length::ZERO);
        Rect::new(self.left, self.top, width, height)
    }
}

impl Default for Edges {
    fn default() -> Self {
        Self::common(PrinterKind::Laser)
    }
}

impl Piece {
    /// The piece on its place.
    pub(super) fn placed(self, at: Point, turn: Turn) -> Placed {
        Placed { frame: self.frame, at, turn, name: self.name, place: None }
    }
}

/// Puts a frame in the middle of a place, turned by a quarter where it only fits so.
pub(super) fn in_place(frame: Size, place: Rect) -> Option<(Point, Turn)> {
    [Turn::Upright, Turn::Clockwise].into_iter().find_map(|turn| {
        let size = turn.turned_size(frame);
        let (x, y) = (place.size.width - size.width, place.size.height - size.height);
        let fits = x >= Length::ZERO && y >= Length::ZERO;
        fits.then(|| (place.origin.plus(Point::new(x.half(), y.half())), turn))
    })
}
