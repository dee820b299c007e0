//! A tag or a page as a PNG, drawn by the same hands as a print run: a PDF of one page is written, read back and rendered.

use std::path::Path;
use std::sync::Arc;

use super::failure::RunFailure;
use super::whole_file::put;
use crate::base::Size;
use crate::layout::{FontFile, Frame};
use crate::pages::{self, Misfit, Page, Stock};
use crate::pdf::{Document, PdfFailure, Writer};
use crate::proof;

/// A picture that was written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Drawn {
    /// Width and height in pixels; a pixel is a dot of the printer.
    pub pixels: (u32, u32),
    /// Width and height of the tag.
    pub size: Size,
}

/// Draws a frame on its piece of stock, at so many dots an inch, and writes the PNG whole under its name; a picture of that name
/// is replaced.
///
/// # Errors
/// [`RunFailure`] when the frame is larger than the piece, or the file cannot be written.
pub(super) fn draw(
    (stock, labels): (&Stock, usize),
    frame: &Frame,
    name: &str,
    dpi: u16,
    fallbacks: &[FontFile],
    path: &Path,
) -> Result<Drawn, RunFailure> {
    let page = page_of((stock, labels), frame, name)?;
    let pixels = draw_page(&page, name, dpi, fallbacks, path)?;
    let size = page.placed.last().map_or(frame.size, |tag| tag.area().size);
    Ok(Drawn { pixels, size })
}

/// A frame on its piece of stock.
///
/// # Errors
/// [`RunFailure`] when the frame is larger than the piece.
pub(super) fn page_of((stock, labels): (&Stock, usize), frame: &Frame, name: &str) -> Result<Page, RunFailure> {
    let misfit = || Misfit::TooLarge {
        name: name.to_owned(),
        stock: stock.name().to_owned(),
        frame: frame.size,
        place: stock.label(labels).unwrap_or(frame.size),
    };
    Ok(pages::alone(stock, labels, frame.clone(), name).ok_or_else(misfit)?)
}

/// Draws a page of any stock as [`draw`] draws a tag; width and height in pixels.
///
/// # Errors
/// [`RunFailure`] when the file cannot be written, or the picture would be too large.
pub(super) fn draw_page(
    page: &Page,
    title: &str,
    dpi: u16,
    fallbacks: &[FontFile],
    path: &Path,
) -> Result<(u32, u32), RunFailure> {
    let picture = pixels_of(page, title, dpi, fallbacks, path)?;
    put(path, &picture.png())?;
    Ok((picture.width, picture.height))
}

fn pixels_of(
    page: &Page,
    title: &str,
    dpi: u16,
    fallbacks: &[FontFile],
    path: &Path,
) -> Result<proof::Picture, RunFailure> {
    let pdf = pdf_of(page, title, fallbacks).map_err(failed(path))?;
    proof::picture(Arc::new(pdf), dpi).map_err(|source| RunFailure::Unreadable { path: path.to_owned(), source })
}

/// What a page is written as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// Pixels, so many an inch.
    Png(u16),
    /// Curves, for browsers.
    Svg,
    /// A page, for printers.
    Pdf,
}

impl Format {
    /// How names of such files end.
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Png(_) => "png",
            Self::Svg => "svg",
            Self::Pdf => "pdf",
        }
    }
}

/// Writes a page in one of the formats; `fallbacks` are the font files that it was made with.
///
/// # Errors
/// [`RunFailure`] when the file cannot be written, or the picture would be too large.
pub fn write_page(
    page: &Page,
    title: &str,
    format: Format,
    fallbacks: &[FontFile],
    path: &Path,
) -> Result<(), RunFailure> {
    put(path, &page_bytes(page, title, format, fallbacks)?)
}

/// A page in one of the formats, as the bytes of a file; failures tell its title.
///
/// # Errors
/// [`RunFailure`] when the picture would be too large.
pub fn page_bytes(page: &Page, title: &str, format: Format, fallbacks: &[FontFile]) -> Result<Vec<u8>, RunFailure> {
    let path = Path::new(title);
    if let Format::Png(dpi) = format {
        return Ok(pixels_of(page, title, dpi, fallbacks, path)?.png());
    }
    let pdf = pdf_of(page, title, fallbacks).map_err(failed(path))?;
    if format == Format::Pdf {
        return Ok(pdf);
    }
    let svg = proof::svg(Arc::new(pdf)).map_err(|source| RunFailure::Unreadable { path: path.to_owned(), source })?;
    Ok(svg.into_bytes())
}

fn failed(path: &Path) -> impl FnOnce(PdfFailure) -> RunFailure {
    let path = path.to_owned();
    move |source| RunFailure::Pdf { path, source }
}

/// A PDF of one page.
fn pdf_of(page: &Page, title: &str, fallbacks: &[FontFile]) -> Result<Vec<u8>, PdfFailure> {
    let mut pdf = Vec::new();
    let document = Document { title: title.to_owned(), fallbacks: fallbacks.to_vec(), ..Document::default() };
    let mut writer = Writer::new(&mut pdf, &document)?;
    writer.page(page)?;
    writer.finish()?;
    Ok(pdf)
}
