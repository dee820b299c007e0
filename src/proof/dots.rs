//! Pages of a PDF as dots of a printer, a band of rows at a time, so that no page is ever held whole.

use std::ops::Range;
use std::sync::Arc;

use hayro::RenderCache;
use hayro::hayro_syntax::Pdf;

use super::ProofFailure;
use super::gray::Pixels;
use super::render::{self, PART_PIXELS, PART_SIDE, Part};
use crate::base::{Length, Size};

/// What rounding leaves over of a dot is none.
const ROUNDING: f64 = 0.01;

/// A PDF that is rendered for a printer.
pub struct PageDots {
    pdf: Pdf,
    is_turned: bool,
}

impl PageDots {
    /// Opens a PDF, which must have a page.
    ///
    /// # Errors
    /// [`ProofFailure`] when the bytes are no PDF, or one without pages.
    pub fn open(bytes: Arc<Vec<u8>>) -> Result<Self, ProofFailure> {
        let pdf = render::open(bytes)?;
        if pdf.pages().is_empty() {
            return Err(ProofFailure::NoSuchPage { page: 1, pages: 0 });
        }
        Ok(Self { pdf, is_turned: false })
    }

    /// The same pages turned anticlockwise, for printers that feed what is wide on the page the long way.
    pub fn turned(self) -> Self {
        Self { is_turned: !self.is_turned, ..self }
    }

    /// How many pages it has.
    pub fn pages(&self) -> usize {
        self.pdf.pages().len()
    }

    /// The size of a page, counted from 0.
    ///
    /// # Errors
    /// [`ProofFailure`] when there is no such page, or it has no extent.
    pub fn size(&self, page: usize) -> Result<Size, ProofFailure> {
        let found = self.pdf.pages().get(page);
        let found = found.ok_or(ProofFailure::NoSuchPage { page: page + 1, pages: self.pages() })?;
        let (width, height) = found.render_dimensions();
        let size = Size { width: Length::pt(width.into()), height: Length::pt(height.into()) };
        let is_real = |length: f32| length.is_finite() && length > 0.0 && length < 1e5;
        if !is_real(width) || !is_real(height) {
            return Err(ProofFailure::PageSize { page: page + 1 });
        }
        Ok(if self.is_turned { size.exchanged() } else { size })
    }

    /// Its dots across and down: those that lie on the page whole.
    ///
    /// # Errors
    /// As [`PageDots::size`]; also when the page is wider than can be rendered.
    pub fn dots(&self, page: usize, dpi: u16) -> Result<(usize, usize), ProofFailure> {
        let size = self.size(page)?;
        let whole = |length: Length| (length.as_inch() * f64::from(dpi) + ROUNDING).floor() as usize;
        let (width, height) = (whole(size.width), whole(size.height));
        if width == 0 || height == 0 || width > PART_SIDE {
            return Err(ProofFailure::PageSize { page: page + 1 });
        }
        Ok((width, height))
    }

    /// So many rows are rendered at a time at most.
    pub const fn band(width: usize) -> usize {
        // A quarter of what one part may have: enough to render seldom, little enough to begin sending soon.
        let rows = PART_PIXELS / 4 / if width == 0 { 1 } else { width };
        if rows == 0 { 1 } else { rows }
    }

    /// Red, green and blue of the dots of some rows, at most [`PageDots::band`] of them.
    ///
    /// # Errors
    /// As [`PageDots::dots`]; also when the page is damaged.
    pub fn rows(&self, page: usize, dpi: u16, rows: Range<usize>) -> Result<Vec<u8>, ProofFailure> {
        let (width, height) = self.dots(page, dpi)?;
        let rows = rows.start..rows.end.min(height).min(rows.start + Self::band(width));
        let area = Pixels { left: 0, top: rows.start, right: width, bottom: rows.end };
        let (page, cache, dpi) = (&self.pdf.pages()[page], RenderCache::new(), f64::from(dpi));
        let part = match self.is_turned {
            true => Part::turned(page, &cache, dpi, (height, area)),
            false => Part::new(page, &cache, dpi, area),
        };
        Ok(part?.rgb())
    }
}
