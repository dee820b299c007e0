//! PDFs and photographs nothing is known of: what their symbols say, and where.

use std::io::Cursor;
use std::sync::Arc;

use hayro::RenderCache;
use hayro::hayro_syntax::page::Page;
use image::{ImageFormat, ImageReader, Limits};
use rayon::prelude::*;

use super::contain::contained;
use super::decode::{self, Found, Search};
use super::gray::{Gray, Pixels};
use super::render::{self, Part};
use super::{MOST_BYTES, MOST_PIXELS, ProofFailure};
use crate::base::{Length, Rect};

/// A symbol that was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sighting {
    /// What it says.
    pub text: String,
    /// Where it is, to within a few modules.
    pub spot: Spot,
}

/// Where a symbol was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spot {
    /// On a page of a PDF.
    Page {
        /// Number of the page, from 1.
        number: usize,
        /// Its area on the page.
        area: Rect,
    },
    /// In a photograph, in its pixels as stored (a turned photograph is not turned back).
    Photo {
        /// First column.
        left: usize,
        /// First row.
        top: usize,
        /// Columns.
        width: usize,
        /// Rows.
        height: usize,
    },
}

/// Resolution at which unknown pages are rendered: the smallest modules made here are 4 dots at 300 dots an inch.
const DPI: f64 = 300.0;

/// How far parts of a page overlap, so that no symbol up to an inch is cut by all of them.
const OVERLAP: usize = 300;

/// How much is read of what nothing is known of.
#[derive(Clone, Copy)]
pub struct Patience<'a> {
    /// Largest picture, in pixels.
    pub most_pixels: u64,
    /// Whether to look on; asked before every look, which takes a few seconds at a large picture.
    pub goes_on: &'a (dyn Fn() -> bool + Sync),
}

impl Patience<'static> {
    /// That of somebody who asked for one file, and can break it off.
    pub const LONG: Self = Self { most_pixels: MOST_PIXELS, goes_on: &|| true };
}

/// All symbols of a PDF, page by page, from top to bottom.
///
/// # Errors
/// The bytes are no PDF, a damaged or locked one, or too many.
pub fn read_pdf(bytes: Arc<Vec<u8>>) -> Result<Vec<Sighting>, ProofFailure> {
    Ok(read_pdf_within(bytes, &Patience::LONG)?.0)
}

/// The same with so much patience, and whether it was looked through to the end.
///
/// # Errors
/// As [`read_pdf`].
pub fn read_pdf_within(bytes: Arc<Vec<u8>>, patience: &Patience<'_>) -> Result<(Vec<Sighting>, Search), ProofFailure> {
    bytes_within_limit(&bytes)?;
    let pdf = render::open(bytes)?;
    let pages = pdf.pages();
    let sightings = pages.par_iter().enumerate().map(|(index, page)| read_page(index + 1, page, patience));
    let pages = sightings.collect::<Result<Vec<_>, _>>()?;
    let search = pages.iter().map(|(_, search)| *search).max().unwrap_or(Search::Whole);
    Ok((pages.into_iter().flat_map(|(sightings, _)| sightings).collect(), search))
}

/// All symbols in a photograph (PNG or JPEG), from top to bottom. Which way up it was taken does not matter.
///
/// # Errors
/// The bytes are no such picture, a damaged one, or too many; so with pixels.
pub fn read_image(bytes: &[u8]) -> Result<Vec<Sighting>, ProofFailure> {
    Ok(read_image_within(bytes, &Patience::LONG)?.0)
}

/// The same with so much patience, and whether it was looked through to the end.
///
/// # Errors
/// As [`read_image`].
pub fn read_image_within(bytes: &[u8], patience: &Patience<'_>) -> Result<(Vec<Sighting>, Search), ProofFailure> {
    let bytes = bytes_within_limit(bytes)?;
    if let Some(sort) = other_sort(bytes) {
        return Err(ProofFailure::OtherSort { sort });
    }
    // Nor is it unpacked for nothing.
    if !(patience.goes_on)() {
        return Ok((Vec::new(), Search::BrokenOff));
    }
    let gray = contained(|| picture(bytes, patience.most_pixels))??;
    let sighting = |Found { text, area }: Found| {
        let spot = Spot::Photo { left: area.left, top: area.top, width: area.width(), height: area.height() };
        Sighting { text, spot }
    };
    let (found, search) = contained(|| decode::all(gray, patience.goes_on))?;
    Ok((found.into_iter().map(sighting).collect(), search))
}

/// What a picture is that phones and programs make and that is not read here, by its first bytes: the brands of ISO/IEC 14496-12,
/// 4.3 (HEIC: ISO/IEC 23008-12), RIFF's form `WEBP` (RFC 9649), GIF's signature, TIFF 6.0.
fn other_sort(bytes: &[u8]) -> Option<&'static str> {
    let at = |from: usize, to: usize| bytes.get(from..to).unwrap_or_default();
    match (at(4, 8), at(8, 12)) {
        (b"ftyp", b"heic" | b"heix" | b"hevc" | b"heim" | b"heis" | b"mif1" | b"msf1") => Some("HEIC"),
        (b"ftyp", b"avif" | b"avis") => Some("AVIF"),
        (b"ftyp", _) => Some("film"),
        (_, b"WEBP") if at(0, 4) == b"RIFF" => Some("WebP"),
        _ if at(0, 4) == b"GIF8" => Some("GIF"),
        _ if matches!(at(0, 4), b"II*\0" | b"MM\0*") => Some("TIFF or raw"),
        _ => None,
    }
}

fn bytes_within_limit(bytes: &[u8]) -> Result<&[u8], ProofFailure> {
    if bytes.len() > MOST_BYTES { Err(ProofFailure::TooManyBytes { bytes: bytes.len() }) } else { Ok(bytes) }
}

/// Decodes the picture to gray; its size is known, and refused, before its pixels are read.
fn picture(bytes: &[u8], most: u64) -> Result<Gray, ProofFailure> {
    let reader = || ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(image::ImageError::IoError);
    let (width, height) = reader()?.into_dimensions()?;
    if u64::from(width) * u64::from(height) > most {
        return Err(ProofFailure::TooManyPixels { width, height, most });
    }
    let mut reader = reader()?;
    let mut limits = Limits::default();
    // Eight bytes a pixel is the most that PNG has.
    limits.max_alloc = Some(most * 8 + (64 << 20));
    reader.limits(limits);
    debug_assert!(matches!(reader.format(), Some(ImageFormat::Png | ImageFormat::Jpeg)), "no other is built in");
    let luma = reader.decode()?.into_luma8();
    Ok(Gray { width: width as usize, height: height as usize, luma: luma.into_raw() })
}

fn read_page<'a>(
    number: usize,
    page: &'a Page<'a>,
    patience: &Patience<'_>,
) -> Result<(Vec<Sighting>, Search), ProofFailure> {
    let (width, height) = page.render_dimensions();
    let (dpi, whole) = page_pixels(width, height).ok_or(ProofFailure::PageSize { page: number })?;
    let cache = RenderCache::new();
    let mut found: Vec<Found> = Vec::new();
    let mut search = Search::Whole;
    for part in parts(&whole) {
        if !(patience.goes_on)() {
            search = Search::BrokenOff;
            break;
        }
        let gray = Part::new(page, &cache, dpi, part)?.gray(&part);
        let (symbols, of_part) = contained(|| decode::all(gray, patience.goes_on))?;
        search = search.max(of_part);
        for symbol in symbols {
            let area = Pixels {
                left: symbol.area.left + part.left,
                top: symbol.area.top + part.top,
                right: symbol.area.right + part.left,
                bottom: symbol.area.bottom + part.top,
            };
            let symbol = Found { area, ..symbol };
            if !found.iter().any(|known| decode::is_same(known, &symbol)) {
                found.push(symbol);
            }
        }
    }
    let length = |pixels: usize| Length::inch(pixels as f64 / dpi);
    let sighting = |Found { text, area }: Found| {
        let area = Rect::new(length(area.left), length(area.top), length(area.width()), length(area.height()));
        Sighting { text, spot: Spot::Page { number, area } }
    };
    Ok((found.into_iter().map(sighting).collect(), search))
}

/// The resolution at which a page of this size in points is looked at, and its pixels: coarser in whole steps for a page
/// larger than a photograph may be. `None` for a page without extent, or so large that nothing could be read on it.
fn page_pixels(width: f32, height: f32) -> Option<(f64, Pixels)> {
    (1..=4u8).map(|step| DPI / f64::from(step)).find_map(|dpi| {
        let [right, bottom] = [width, height].map(|side| (f64::from(side) / 72.0 * dpi).ceil());
        let is_sound = right >= 1.0 && bottom >= 1.0 && right * bottom <= MOST_PIXELS as f64;
        let whole = Pixels { left: 0, top: 0, right: right as usize, bottom: bottom as usize };
        is_sound.then_some((dpi, whole))
    })
}

/// Cuts a page into overlapping parts that can be rendered at once.
fn parts(whole: &Pixels) -> Vec<Pixels> {
    let side = render::PART_PIXELS.isqrt();
    let steps = |length: usize, most: usize| {
        let step = most - OVERLAP;
        (0..length.saturating_sub(OVERLAP).max(1)).step_by(step).map(move |start| (start, (start + most).min(length)))
    };
    // A page no wider than a part is cut across only.
    let (most_width, most_height) = match (whole.width(), whole.height()) {
        (width, _) if width <= side => (side, (render::PART_PIXELS / width).min(render::PART_SIDE)),
        (_, height) if height <= side => ((render::PART_PIXELS / height).min(render::PART_SIDE), side),
        _ => (side, side),
    };
    let columns = steps(whole.width(), most_width);
    columns
        .flat_map(|(left, right)| {
            steps(whole.height(), most_height).map(move |(top, bottom)| Pixels { left, top, right, bottom })
        })
        .collect()
}
