//! A page as an SVG, for browsers and drawing programs: the first page of a PDF, at its true size.

use std::sync::Arc;

use hayro::hayro_interpret::InterpreterSettings;
use hayro_svg::{RenderCache, SvgRenderSettings, convert};

use super::ProofFailure;
use super::contain::contained;
use super::render;

/// Draws the first page of a PDF.
///
/// # Errors
/// The bytes are no PDF, or it has no page.
pub fn svg(pdf: Arc<Vec<u8>>) -> Result<String, ProofFailure> {
    let pdf = render::open(pdf)?;
    let page = pdf.pages().first().ok_or(ProofFailure::NoSuchPage { page: 1, pages: 0 })?;
    let (width, height) = page.render_dimensions();
    let settings = SvgRenderSettings { bg_color: [255, 255, 255, 255] };
    let drawn = contained(|| convert(page, &RenderCache::new(), &InterpreterSettings::default(), &settings))?;
    // Numbers without a unit are pixels of a screen; a page is measured in points.
    let plain = |side: &str, value: f32| format!(" {side}=\"{value}\"");
    let points = |side: &str, value: f32| format!(" {side}=\"{value}pt\"");
    let sized = drawn.replacen(&plain("width", width), &points("width", width), 1);
    Ok(sized.replacen(&plain("height", height), &points("height", height), 1))
}
