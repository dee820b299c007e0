//! Pages as PWG Raster, made while they are sent: a band is rendered when the printer has taken the one before.

use std::io::{self, Read};

use super::raster::{Packer, PageHead, PixelType, SYNC};
use crate::proof::{PageDots, ProofFailure};

/// The raster of a PDF as a stream.
pub(super) struct RasterPages<'a> {
    dots: &'a PageDots,
    pixels: PixelType,
    dpi: u16,
    media: &'a str,
    tell: &'a mut dyn FnMut(usize),
    page: usize,
    row: usize,
    packer: Packer,
    ready: Vec<u8>,
    given: usize,
    /// Why a page could not be rendered; the stream ends with an error then.
    pub(super) failure: Option<ProofFailure>,
}

impl<'a> RasterPages<'a> {
    /// A stream; `tell` hears of each page that is begun, from 1.
    pub(super) fn new(
        dots: &'a PageDots,
        (pixels, dpi): (PixelType, u16),
        media: &'a str,
        tell: &'a mut dyn FnMut(usize),
    ) -> Self {
        let (packer, ready) = (Packer::new(pixels), SYNC.to_vec());
        Self { dots, pixels, dpi, media, tell, page: 0, row: 0, packer, ready, given: 0, failure: None }
    }

    /// The next band, in `ready`.
    fn band(&mut self) -> Result<(), ProofFailure> {
        let (width, height) = self.dots.dots(self.page, self.dpi)?;
        if self.row == 0 {
            (self.tell)(self.page + 1);
            let (size, pages) = (self.dots.size(self.page)?, self.dots.pages());
            let (pixels, dpi, media) = (self.pixels, self.dpi, self.media);
            self.ready = PageHead { pixels, dpi, dots: (width, height), size, media, pages }.bytes();
        }
        let end = height.min(self.row + PageDots::band(width));
        let rgb = self.dots.rows(self.page, self.dpi, self.row..end)?;
        for row in rgb.chunks_exact(width * 3) {
            self.packer.row(self.pixels.row(row), &mut self.ready);
        }
        self.row = end;
        if end == height {
            self.packer.finish(&mut self.ready);
            self.page += 1;
            self.row = 0;
        }
        Ok(())
    }
}

impl Read for RasterPages<'_> {
    fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        while self.given == self.ready.len() && self.page < self.dots.pages() {
            self.ready.clear();
            self.given = 0;
            if let Err(failure) = self.band() {
                let told = io::Error::other(failure.to_string());
                self.failure = Some(failure);
                return Err(told);
            }
        }
        let rest = &self.ready[self.given..];
        let count = rest.len().min(into.len());
        into[..count].copy_from_slice(&rest[..count]);
        self.given += count;
        Ok(count)
    }
}
