//! A tag or a page as a PNG, drawn by the same hands as a print run: a PDF of one page is written, read back and rendered.

use std::io::Write as _;
use std::path::Path;
use std::sync::Arc;

use super::failure::RunFailure;
use super::whole_file;
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
    let page = pages::alone(stock, labels, frame.clone(), name).ok_or_else(|| Misfit::TooLarge {
        name: name.to_owned(),
        stock: stock.name().to_owned(),
        frame: frame.size,
        place: stock.label(labels).unwrap_or(frame.size),
    })?;
    let pixels = draw_page(&page, name, dpi, fallbacks, path)?;
    let size = page.placed.last().map_or(frame.size, |tag| tag.area().size);
    Ok(Drawn { pixels, size })
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
    let pdf = pdf_of(page, title, fallbacks).map_err(failed(path))?;
    let picture = proof::picture(Arc::new(pdf), dpi)
        .map_err(|source| RunFailure::Unreadable { path: path.to_owned(), source })?;
    put(path, &picture.png())?;
    Ok((picture.width, picture.height))
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
    if let Format::Png(dpi) = format {
        return draw_page(page, title, dpi, fallbacks, path).map(|_| ());
    }
    let pdf = pdf_of(page, title, fallbacks).map_err(failed(path))?;
    if format == Format::Pdf {
        return put(path, &pdf);
    }
    let svg = proof::svg(Arc::new(pdf)).map_err(|source| RunFailure::Unreadable { path: path.to_owned(), source })?;
    put(path, svg.as_bytes())
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

/// Writes a file whole under its name; one of that name is replaced.
fn put(path: &Path, bytes: &[u8]) -> Result<(), RunFailure> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let written = || RunFailure::disk("write", path);
    let mut temporary = whole_file::temporary_in(folder).map_err(written())?;
    temporary.write_all(bytes).map_err(written())?;
    temporary.persist(path).map_err(|error| written()(error.error))?;
    Ok(())
}
