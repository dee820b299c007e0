//! Parts of a page as gray pixels.

use std::sync::Arc;

use hayro::hayro_interpret::InterpreterSettings;
use hayro::hayro_interpret::util::TransformExt;
use hayro::hayro_syntax::page::Page;
use hayro::hayro_syntax::{LoadPdfError, Pdf};
use hayro::kurbo::Affine;
use hayro::vello_cpu::color::palette::css::WHITE;
use hayro::vello_cpu::{Pixmap, RasterizerSettings, RenderContext, Resources, TargetInit};
use hayro::{RenderCache, RenderSettings, render_into};

use super::ProofFailure;
use super::contain::contained;
use super::gray::{Gray, Pixels};

/// Most pixels of one part: 64 MB while it is rendered. A page of A4 at 300 dots an inch has nine million.
pub const PART_PIXELS: usize = 16_000_000;

/// Most pixels along one side of a part: the renderer counts in 16 bits.
pub const PART_SIDE: usize = 32_000;

/// Reads the PDF's structure; pages are read when they are rendered.
pub fn open(bytes: Arc<Vec<u8>>) -> Result<Pdf, ProofFailure> {
    contained(|| Pdf::new(bytes))?.map_err(|failure| match failure {
        LoadPdfError::Decryption(_) => ProofFailure::Locked,
        LoadPdfError::Invalid => ProofFailure::NotPdf,
    })
}

/// A part of a page, rendered.
pub struct Part {
    /// Which pixels of the page.
    area: Pixels,
    pixmap: Pixmap,
}

impl Part {
    /// Renders the pixels within `area` of a page that is printed with so many dots an inch. The part must be within
    /// [`PART_PIXELS`] and [`PART_SIDE`].
    pub fn new<'a>(page: &'a Page<'a>, cache: &RenderCache<'a>, dpi: f64, area: Pixels) -> Result<Self, ProofFailure> {
        Self::through(page, cache, Affine::scale(dpi / 72.0), area)
    }

    /// The same of the page turned anticlockwise, of which so many dots are printed across: the last of them is the first row.
    pub fn turned<'a>(
        page: &'a Page<'a>,
        cache: &RenderCache<'a>,
        dpi: f64,
        (across, area): (usize, Pixels),
    ) -> Result<Self, ProofFailure> {
        // By whole dots: what was fitted to them stays so.
        let turn = Affine::new([0.0, -1.0, 1.0, 0.0, 0.0, across as f64]);
        Self::through(page, cache, turn * Affine::scale(dpi / 72.0), area)
    }

    fn through<'a>(
        page: &'a Page<'a>,
        cache: &RenderCache<'a>,
        view: Affine,
        area: Pixels,
    ) -> Result<Self, ProofFailure> {
        contained(|| {
            let (width, height) = (area.width() as u16, area.height() as u16);
            let transform = Affine::translate((-(area.left as f64), -(area.top as f64)))
                * view
                * page.initial_transform(true).to_kurbo();
            let mut context = RenderContext::new(width, height);
            // Hinting bends small type to the pixels, which no printer does; plain outlines are what is printed.
            let settings = RenderSettings { hinting: false, ..RenderSettings::default() };
            render_into(page, cache, &InterpreterSettings::default(), &settings, &mut context, transform);
            context.flush();
            let mut pixmap = Pixmap::new(width, height);
            let raster = RasterizerSettings { target_init: TargetInit::Clear(WHITE), ..RasterizerSettings::default() };
            context.render_with(&mut pixmap, &mut Resources::default(), raster);
            Self { area, pixmap }
        })
    }

    /// Red, green and blue of all its pixels.
    pub fn rgb(&self) -> Vec<u8> {
        self.pixmap.data().iter().flat_map(|pixel| [pixel.r, pixel.g, pixel.b]).collect()
    }

    /// The gray pixels of a rectangle of the page, which must lie in the part.
    pub fn gray(&self, area: &Pixels) -> Gray {
        let width = self.area.width();
        let rows = (area.top..area.bottom).map(|row| (row - self.area.top) * width);
        let columns = area.left - self.area.left..area.right - self.area.left;
        let pixels = rows.flat_map(|start| &self.pixmap.data()[start + columns.start..start + columns.end]);
        let luma = pixels.map(|pixel| Gray::of_rgb([pixel.r, pixel.g, pixel.b])).collect();
        Gray { width: area.width(), height: area.height(), luma }
    }
}
