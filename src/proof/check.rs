//! A finished PDF against what it should say.
//!
//! Each page that carries symbols is rendered as the printer would, each symbol is cut out with its quiet zone and decoded,
//! and what it says is compared with what its tag should carry. Only the parts of the page where symbols are expected are
//! rendered.

use std::fmt;
use std::sync::Arc;

use hayro::RenderCache;
use hayro::hayro_syntax::page::Page as PdfPage;
use rayon::prelude::*;

use super::gray::{Gray, Pixels};
use super::render::{self, Part};
use super::{ProofFailure, contain, decode};
use crate::base::{Length, Rect};
use crate::layout::{Item, SymbolItem};
use crate::pages::{Landing, Page, Placed};

/// A symbol that must stand on a page.
#[derive(Clone, Debug, PartialEq)]
pub struct Expected {
    /// Number of the page, from 1.
    pub page: usize,
    /// The tag's name, for messages.
    pub name: String,
    /// The area of its modules on the page, without the quiet zone.
    pub area: Rect,
    /// Width of the quiet zone that must be clear.
    pub quiet: Length,
    /// What it must say.
    pub payload: String,
}

impl Expected {
    /// The symbols of a tag on a page.
    pub fn on_tag(page: usize, placed: &Placed) -> impl Iterator<Item = Self> {
        placed.symbols().map(move |(area, symbol)| Self::new(page, &placed.name, area, symbol))
    }

    /// The symbols of a page, tags first, then marks, which go by the name `page`.
    pub fn on_page(number: usize, page: &Page) -> impl Iterator<Item = Self> {
        let tags = page.placed.iter().flat_map(move |placed| Self::on_tag(number, placed));
        let marks = page.marks.iter().filter_map(move |item| match item {
            Item::Symbol(symbol) => Some(Self::new(number, "page", symbol.area, symbol)),
            _ => None,
        });
        tags.chain(marks)
    }

    /// The symbol where it stands on the page that is sent to a printer.
    pub fn sent(self, landing: &Landing) -> Self {
        let (area, quiet) = (landing.symbol_sent(self.area), landing.quiet_sent(self.area, self.quiet));
        Self { area, quiet, ..self }
    }

    fn new(page: usize, name: &str, area: Rect, symbol: &SymbolItem) -> Self {
        Self { page, name: name.to_owned(), area, quiet: symbol.quiet, payload: symbol.payload.clone() }
    }
}

/// What is wrong with a symbol.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Fault {
    /// Nothing can be read where it should stand.
    Unread,
    /// It says something else.
    Says(String),
    /// It says what it should, but something is printed in its quiet zone.
    QuietZone,
}

/// A symbol that does not read back as it should.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Miss {
    /// Number of the page, from 1.
    pub page: usize,
    /// The tag's name.
    pub name: String,
    /// What the symbol should say.
    pub expected: String,
    /// What is wrong with it.
    pub fault: Fault,
}

impl fmt::Display for Miss {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { page, name, expected, fault } = self;
        match fault {
            Fault::Unread => write!(f, "`{name}` on page {page}: no symbol can be read, it should say `{expected}`"),
            Fault::Says(found) => write!(f, "`{name}` on page {page}: the symbol says `{found}`, not `{expected}`"),
            Fault::QuietZone => write!(f, "`{name}` on page {page}: the quiet zone round the symbol is printed on"),
        }
    }
}

/// What the proof of a PDF found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Proof {
    /// How many symbols should be there.
    pub expected: usize,
    /// How many read back as they should, their quiet zones clear.
    pub read: usize,
    /// All others, in the order in which they were expected.
    pub misses: Vec<Miss>,
}

/// `220 of 220 symbols read back`
impl fmt::Display for Proof {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} of {} symbols read back", self.read, self.expected)
    }
}

/// Pixels as bright as this are clear: a hairline that covers more than a quarter of a dot is not.
const CLEAR: u8 = 192;

/// What is cut out beyond the quiet zone, so that rounding to whole pixels takes nothing from it.
fn margin() -> Length {
    Length::mm(0.3)
}

/// Renders the PDF at the printer's resolution (dots an inch) and reads every expected symbol. Pages are read in
/// parallel; `progress` is told of each page how many symbols have been dealt with on it.
///
/// # Errors
/// The PDF cannot be read, or lacks a page that a symbol should stand on.
pub fn check(
    pdf: Arc<Vec<u8>>,
    expected: &[Expected],
    dpi: u16,
    progress: &(dyn Fn(usize) + Sync),
) -> Result<Proof, ProofFailure> {
    let mut order: Vec<usize> = (0..expected.len()).collect();
    order.sort_by_key(|&index| expected[index].page);
    let by_page: Vec<&[usize]> = order.chunk_by(|&a, &b| expected[a].page == expected[b].page).collect();
    let opened = if by_page.is_empty() { None } else { Some(render::open(pdf)?) };
    let pages = opened.as_ref().map_or(&[][..], |pdf| &**pdf.pages());

    let found: Vec<Vec<(usize, Option<Fault>)>> = by_page
        .par_iter()
        .map_init(RenderCache::new, |cache, indices| {
            let number = expected[indices[0]].page;
            let page = number.checked_sub(1).and_then(|index| pages.get(index));
            let page = page.ok_or(ProofFailure::NoSuchPage { page: number, pages: pages.len() })?;
            let found = check_page(page, cache, indices, expected, dpi)?;
            progress(indices.len());
            Ok(found)
        })
        .collect::<Result<_, ProofFailure>>()?;

    let mut faults: Vec<(usize, Fault)> =
        found.into_iter().flatten().filter_map(|(index, fault)| Some((index, fault?))).collect();
    faults.sort_by_key(|&(index, _)| index);
    let misses = faults.into_iter().map(|(index, fault)| {
        let Expected { page, name, payload, .. } = &expected[index];
        Miss { page: *page, name: name.clone(), expected: payload.clone(), fault }
    });
    let misses: Vec<Miss> = misses.collect();
    Ok(Proof { expected: expected.len(), read: expected.len() - misses.len(), misses })
}

/// Looks at the symbols of one page, which are given by their places in `expected`.
fn check_page<'a>(
    page: &'a PdfPage<'a>,
    cache: &RenderCache<'a>,
    indices: &[usize],
    expected: &[Expected],
    dpi: u16,
) -> Result<Vec<(usize, Option<Fault>)>, ProofFailure> {
    let cut = |dpi: f64| -> Vec<(usize, Pixels)> {
        let crop = |&index: &usize| {
            let Expected { area, quiet, .. } = &expected[index];
            let reach = area.inset(-(*quiet + margin()));
            (index, enclosing(&reach, dpi))
        };
        indices.iter().map(crop).collect()
    };
    // A symbol too large for one part is rendered in whole steps coarser; it has modules to spare.
    let steps = 1..=64;
    let (dpi, crops) = steps
        .map(|step| f64::from(dpi.max(1)) / f64::from(step))
        .map(|dpi| (dpi, cut(dpi)))
        .find(|(_, crops)| crops.iter().all(|(_, crop)| fits(crop)))
        .unwrap_or((1.0, Vec::new()));

    let mut found = Vec::with_capacity(indices.len());
    if crops.is_empty() {
        found.extend(indices.iter().map(|&index| (index, Some(Fault::Unread))));
    }
    let (crops, nowhere): (Vec<_>, Vec<_>) = crops.into_iter().partition(|(_, crop)| crop.width() * crop.height() > 0);
    found.extend(nowhere.into_iter().map(|(index, _)| (index, Some(Fault::Unread))));
    for (area, crops) in parts(crops) {
        let part = Part::new(page, cache, dpi, area)?;
        for (index, crop) in crops {
            let symbol = &expected[index];
            let gray = part.gray(&crop);
            let fault = match contain::contained(|| decode::one(&gray))? {
                None => Some(Fault::Unread),
                Some(said) if said != symbol.payload => Some(Fault::Says(said)),
                Some(_) if !is_quiet(&gray, &crop, symbol, dpi) => Some(Fault::QuietZone),
                Some(_) => None,
            };
            found.push((index, fault));
        }
    }
    Ok(found)
}

/// The pixels that a rectangle of the page touches.
fn enclosing(area: &Rect, dpi: f64) -> Pixels {
    pixels(area, dpi, f64::floor, f64::ceil)
}

/// The pixels that lie wholly within a rectangle of the page.
fn enclosed(area: &Rect, dpi: f64) -> Pixels {
    pixels(area, dpi, f64::ceil, f64::floor)
}

/// The pixels of a rectangle, its near and far edges rounded so; nothing lies left of or above the page.
fn pixels(area: &Rect, dpi: f64, near: fn(f64) -> f64, far: fn(f64) -> f64) -> Pixels {
    let pixel = |length: Length, rounded: fn(f64) -> f64| rounded(length.as_inch() * dpi).max(0.0) as usize;
    Pixels {
        left: pixel(area.left(), near),
        top: pixel(area.top(), near),
        right: pixel(area.right(), far),
        bottom: pixel(area.bottom(), far),
    }
}

fn fits(area: &Pixels) -> bool {
    area.width().max(area.height()) <= render::PART_SIDE
        && area.width().saturating_mul(area.height()) <= render::PART_PIXELS
}

/// Gathers neighbouring crops into parts of the page that are rendered at once. Long stock and high resolutions take
/// several parts.
fn parts(mut crops: Vec<(usize, Pixels)>) -> Vec<(Pixels, Vec<(usize, Pixels)>)> {
    let Some(whole) = crops.iter().map(|(_, crop)| *crop).reduce(|a, b| a.with(&b)) else {
        return Vec::new();
    };
    let is_wide = whole.width() > whole.height();
    crops.sort_by_key(|(index, crop)| (if is_wide { crop.left } else { crop.top }, *index));
    let mut parts: Vec<(Pixels, Vec<(usize, Pixels)>)> = Vec::new();
    for (index, crop) in crops {
        match parts.last_mut() {
            Some((part, inside)) if fits(&part.with(&crop)) => {
                *part = part.with(&crop);
                inside.push((index, crop));
            }
            _ => parts.push((crop, vec![(index, crop)])),
        }
    }
    parts
}

/// Whether nothing is printed in the symbol's quiet zone, given the pixels of its crop. Pixels that the modules' edge cuts
/// are left out, and so is half a dot at the outer edge: renderers and printers set letters on whole dots.
fn is_quiet(gray: &Gray, crop: &Pixels, symbol: &Expected, dpi: f64) -> bool {
    let inner = enclosing(&symbol.area, dpi);
    let half_a_dot = Length::inch(0.5 / dpi);
    let outer = enclosed(&symbol.area.inset(half_a_dot - symbol.quiet), dpi);
    (outer.top..outer.bottom).all(|row| {
        let spans = if (inner.top..inner.bottom).contains(&row) {
            [(outer.left, inner.left), (inner.right, outer.right)]
        } else {
            [(outer.left, outer.right), (0, 0)]
        };
        spans.into_iter().filter(|(left, right)| left < right).all(|(left, right)| {
            gray.row(row - crop.top, left - crop.left, right - crop.left).iter().all(|&luma| luma >= CLEAR)
        })
    })
}
