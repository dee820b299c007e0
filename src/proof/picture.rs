//! A page as a picture: the first page of a PDF, in colour, as a printer of so many dots an inch would print it.

use std::io::Cursor;
use std::sync::Arc;

use flate2::Crc;
use hayro::RenderCache;
use image::{ExtendedColorType, ImageEncoder, codecs::png::PngEncoder};

use super::ProofFailure;
use super::gray::Pixels;
use super::render::{self, PART_PIXELS, PART_SIDE, Part};

/// A picture of a page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Picture {
    /// Pixels a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Red, green and blue of each pixel, row by row from the top left.
    pub rgb: Vec<u8>,
    /// Pixels an inch.
    pub dpi: u16,
}

/// Draws the first page of a PDF; a pixel is a dot of the printer.
///
/// # Errors
/// The bytes are no PDF, or its first page has no extent, or more pixels than one picture takes.
pub fn picture(pdf: Arc<Vec<u8>>, dpi: u16) -> Result<Picture, ProofFailure> {
    let pdf = render::open(pdf)?;
    let page = pdf.pages().first().ok_or(ProofFailure::NoSuchPage { page: 1, pages: 0 })?;
    let (width, height) = page.render_dimensions();
    // A page is as many whole dots as it measures; what is less than a tenth of a dot more comes from rounding.
    let dots = |points: f32| (f64::from(points) / 72.0 * f64::from(dpi) - 0.1).ceil().max(0.0);
    let (width, height) = (dots(width), dots(height));
    if width < 1.0 || height < 1.0 {
        return Err(ProofFailure::PageSize { page: 1 });
    }
    if width.max(height) > PART_SIDE as f64 || width * height > PART_PIXELS as f64 {
        return Err(ProofFailure::PictureTooLarge { width: width as u64, height: height as u64, dpi });
    }
    let area = Pixels { left: 0, top: 0, right: width as usize, bottom: height as usize };
    let rgb = Part::new(page, &RenderCache::new(), f64::from(dpi), area)?.rgb();
    Ok(Picture { width: width as u32, height: height as u32, rgb, dpi })
}

/// Length of a PNG's signature and its first chunk, IHDR (PNG, third edition, 5.2 and 11.2.1).
const HEAD: usize = 8 + 12 + 13;

impl Picture {
    /// The picture as a PNG that says how large it is: viewers and printers show the tag at its true size.
    pub fn png(&self) -> Vec<u8> {
        let mut bytes = Vec::new();
        PngEncoder::new(Cursor::new(&mut bytes))
            .write_image(&self.rgb, self.width, self.height, ExtendedColorType::Rgb8)
            .expect("a vector takes all bytes, and there are three for each pixel");
        bytes.splice(HEAD..HEAD, physical_size(self.dpi));
        bytes
    }
}

/// The chunk pHYs: pixels a metre across and down (PNG, third edition, 11.3.4.3).
fn physical_size(dpi: u16) -> Vec<u8> {
    let a_metre = (f64::from(dpi) / 0.0254).round() as u32;
    let mut data = b"pHYs".to_vec();
    data.extend(a_metre.to_be_bytes());
    data.extend(a_metre.to_be_bytes());
    data.push(1);
    let mut check = Crc::new();
    check.update(&data);
    let length = (data.len() - 4) as u32;
    [&length.to_be_bytes(), &data[..], &check.sum().to_be_bytes()].concat()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::{Length, Rect, Size};
    use crate::layout::{Ink, Item};
    use crate::pages::Page;
    use crate::pdf::{Document, Writer};

    fn pdf(page: &Page) -> Arc<Vec<u8>> {
        let mut bytes = Vec::new();
        let mut writer = Writer::new(&mut bytes, &Document::default()).unwrap();
        writer.page(page).unwrap();
        writer.finish().unwrap();
        Arc::new(bytes)
    }

    /// An inch by half an inch, its left half orange.
    fn page() -> Page {
        let (inch, half) = (Length::inch(1.0), Length::inch(0.5));
        let area = Rect::new(Length::ZERO, Length::ZERO, half, half);
        Page {
            size: Size::new(inch, half),
            marks: vec![Item::Fill { area, ink: Ink::Colour([255, 128, 0]) }],
            ..Page::default()
        }
    }

    #[test]
    fn a_pixel_is_a_dot() {
        let picture = picture(pdf(&page()), 200).unwrap();
        assert_eq!((picture.width, picture.height), (200, 100));
        let pixel = |x: usize, y: usize| &picture.rgb[(y * 200 + x) * 3..][..3];
        assert_eq!(pixel(10, 50), [255, 128, 0]);
        assert_eq!(pixel(190, 50), [255, 255, 255]);
    }

    /// A reader that is not ours finds the same pixels; the size is the one that PNG, third edition, 11.3.4.3 asks for: 600 dots
    /// an inch are 23,622 a metre.
    #[test]
    fn a_png_says_how_large_it_is() {
        let picture = picture(pdf(&page()), 600).unwrap();
        let png = picture.png();
        assert_eq!(&png[HEAD..HEAD + 8], [0, 0, 0, 9, b'p', b'H', b'Y', b's']);
        assert_eq!(png[HEAD + 8..HEAD + 17], [0, 0, 0x5C, 0x46, 0, 0, 0x5C, 0x46, 1]);
        let read = image::load_from_memory(&png).unwrap().into_rgb8();
        assert_eq!((read.width(), read.height()), (600, 300));
        assert_eq!(read.into_raw(), picture.rgb);
    }

    #[test]
    fn what_is_too_large_is_refused_before_it_is_drawn() {
        let large = Page { size: Size::new(Length::mm(4000.0), Length::mm(4000.0)), ..Page::default() };
        let refused = picture(pdf(&large), 600).unwrap_err();
        assert!(matches!(refused, ProofFailure::PictureTooLarge { dpi: 600, .. }), "{refused}");
        assert!(matches!(picture(Arc::new(b"no".to_vec()), 600), Err(ProofFailure::NotPdf)));
    }
}
