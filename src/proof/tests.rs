//! The proof as a whole, on pages of our own.

use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

use proptest::prelude::*;

use super::{Expected, Fault, Patience, ProofFailure, Search, Spot, check, read_image, read_image_within, read_pdf};
use crate::base::{Point, Rect};
use crate::layout::{Ink, Item};
use crate::pages::Page;
use crate::pdf::sample::{mm, sheet, strip, turns};
use crate::pdf::{Document, Writer};

fn pdf(pages: &[Page]) -> Arc<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut writer = Writer::new(&mut bytes, &Document::default()).unwrap();
    for page in pages {
        writer.page(page).unwrap();
    }
    writer.finish().unwrap();
    Arc::new(bytes)
}

fn expected(pages: &[Page]) -> Vec<Expected> {
    pages.iter().enumerate().flat_map(|(index, page)| Expected::on_page(index + 1, page)).collect()
}

#[test]
fn every_symbol_reads_back_at_every_printers_resolution() {
    let pages = [sheet(0, 24), turns(), strip()];
    let (bytes, expected) = (pdf(&pages), expected(&pages));
    for dpi in [203, 300, 600] {
        let told = AtomicUsize::new(0);
        let proof = check(bytes.clone(), &expected, dpi, &|n| {
            told.fetch_add(n, Ordering::Relaxed);
        });
        let proof = proof.unwrap();
        assert_eq!(proof.misses, [], "at {dpi} dots an inch");
        assert_eq!(proof.to_string(), "75 of 75 symbols read back");
        assert_eq!(told.into_inner(), 75);
    }
}

#[test]
fn misses_name_the_tag_and_what_is_wrong() {
    let mut page = sheet(0, 4);
    // The second tag's symbol says something else, the third has a line through its quiet zone, the fourth a blot.
    let mut should = expected(std::slice::from_ref(&page));
    should[1].payload = "HTTP://MARSHHEN.LOCAL:7117/7KF4/A".into();
    let third = should[2].area;
    let fill = |area, ink| Item::Fill { area, ink };
    page.marks.push(fill(Rect::new(third.left(), third.top() - mm(0.6), third.size.width, mm(0.06)), Ink::Black));
    page.marks.push(fill(should[3].area.inset(mm(2.0)), Ink::White));
    let proof = check(pdf(&[page]), &should, 300, &|_| ()).unwrap();
    assert_eq!((proof.expected, proof.read), (4, 1));
    let faults: Vec<_> = proof.misses.iter().map(|miss| (&*miss.name, &miss.fault)).collect();
    let says = Fault::Says("HTTP://MARSHHEN.LOCAL:7117/0001/A".into());
    assert_eq!(faults, [("0001 A", &says), ("0002 A", &Fault::QuietZone), ("0003 A", &Fault::Unread)]);
    assert_eq!(
        proof.misses[2].to_string(),
        "`0003 A` on page 1: no symbol can be read, it should say `HTTP://MARSHHEN.LOCAL:7117/0003/A`"
    );
}

#[test]
fn a_symbol_moved_by_a_label_is_missed() {
    let page = sheet(0, 24);
    let mut should = expected(std::slice::from_ref(&page));
    for symbol in &mut should {
        symbol.area = symbol.area.moved(Point::new(mm(0.0), mm(33.9)));
    }
    let proof = check(pdf(&[page]), &should, 300, &|_| ()).unwrap();
    assert_eq!(proof.read, 0);
}

#[test]
fn pages_that_are_not_there_and_bytes_that_are_no_pdf_are_failures() {
    let page = sheet(0, 1);
    let mut should = expected(std::slice::from_ref(&page));
    should[0].page = 2;
    let bytes = pdf(&[page]);
    assert!(matches!(check(bytes, &should, 300, &|_| ()), Err(ProofFailure::NoSuchPage { page: 2, pages: 1 })));
    assert!(matches!(check(Arc::new(b"%PDF-".to_vec()), &should, 300, &|_| ()), Err(ProofFailure::NotPdf)));
    assert!(matches!(read_pdf(Arc::new(Vec::new())), Err(ProofFailure::NotPdf)));
    assert!(matches!(read_image(b"nothing of the kind"), Err(ProofFailure::NotPicture(_))));
    for (bytes, name) in [
        (&b"GIF89a"[..], "GIF"),
        (b"\0\0\0\x18ftypheic\0\0\0\0", "HEIC"),
        (b"\0\0\0\x18ftypavif", "AVIF"),
        (b"RIFF\x10\0\0\0WEBPVP8 ", "WebP"),
        (b"II*\0", "TIFF or raw"),
    ] {
        assert!(matches!(read_image(bytes), Err(ProofFailure::OtherSort { sort }) if sort == name), "{name}");
    }
}

#[test]
fn an_unknown_pdf_is_read_whole() {
    let pages = [sheet(0, 24), turns(), strip()];
    let should = expected(&pages);
    let found = read_pdf(pdf(&pages)).unwrap();
    let mut wanted: Vec<_> = should.iter().map(|symbol| (symbol.page, symbol.payload.clone())).collect();
    let mut got: Vec<_> = found
        .iter()
        .map(|sighting| match sighting.spot {
            Spot::Page { number, area } => {
                let here = |symbol: &&Expected| {
                    symbol.page == number && symbol.payload == sighting.text && area.overlaps(&symbol.area)
                };
                assert!(should.iter().any(|symbol| here(&symbol)), "{sighting:?}");
                (number, sighting.text.clone())
            }
            Spot::Photo { .. } => unreachable!(),
        })
        .collect();
    wanted.sort();
    got.sort();
    assert_eq!(got, wanted);
}

/// A page as a photograph would have it: rendered, turned by a few degrees, darker to one side, in JPEG.
fn photo(page: &Page, degrees: f64, format: image::ImageFormat) -> Vec<u8> {
    let bytes = pdf(std::slice::from_ref(page));
    let opened = super::render::open(bytes).unwrap();
    let side = super::gray::Pixels { left: 0, top: 0, right: 2480, bottom: 1748 };
    let gray =
        super::render::Part::new(&opened.pages()[0], &hayro::RenderCache::new(), 300.0, side).unwrap().gray(&side);
    let (sin, cos) = degrees.to_radians().sin_cos();
    let picture = image::GrayImage::from_fn(2480, 1748, |x, y| {
        let (x, y) = (f64::from(x) - 1240.0, f64::from(y) - 874.0);
        let (u, v) = (x * cos - y * sin + 1240.0, x * sin + y * cos + 874.0);
        let inside = u >= 0.0 && v >= 0.0 && u < 2480.0 && v < 1748.0;
        let luma = if inside { gray.luma[v as usize * 2480 + u as usize] } else { 190 };
        image::Luma([(40.0 + f64::from(luma) * (0.55 + x / 8000.0)) as u8])
    });
    let mut bytes = Vec::new();
    picture.write_to(&mut std::io::Cursor::new(&mut bytes), format).unwrap();
    bytes
}

#[test]
fn a_photograph_is_read_whichever_way_it_was_taken() {
    let page = sheet(0, 12);
    for (degrees, format) in
        [(0.0, image::ImageFormat::Png), (7.0, image::ImageFormat::Jpeg), (180.0, image::ImageFormat::Jpeg)]
    {
        let mut found: Vec<String> =
            read_image(&photo(&page, degrees, format)).unwrap().into_iter().map(|s| s.text).collect();
        found.sort();
        let all: Vec<String> = (0..12).map(|n| format!("HTTP://MARSHHEN.LOCAL:7117/{n:04}/A")).collect();
        assert_eq!(found, all, "turned by {degrees}");
    }
}

#[test]
fn files_beyond_the_limits_are_refused_before_they_are_read() {
    assert!(matches!(read_image(&vec![0; super::MOST_BYTES + 1]), Err(ProofFailure::TooManyBytes { .. })));
    // A PNG that claims 20,000 x 20,000 pixels in its head (PNG specification, 11.2.2), and ends there.
    let mut small = Vec::new();
    image::GrayImage::new(1, 1).write_to(&mut std::io::Cursor::new(&mut small), image::ImageFormat::Png).unwrap();
    small[16..24].copy_from_slice(&[0, 0, 0x4e, 0x20, 0, 0, 0x4e, 0x20]);
    let crc = crc32(&small[12..29]);
    small[29..33].copy_from_slice(&crc.to_be_bytes());
    assert!(matches!(read_image(&small), Err(ProofFailure::TooManyPixels { width: 20_000, height: 20_000, .. })));
}

/// Whoever reads for others stops when it takes too long, and says so.
#[test]
fn a_search_is_broken_off() {
    let mut blank = Vec::new();
    let white = image::GrayImage::from_pixel(64, 64, image::Luma([255]));
    white.write_to(&mut std::io::Cursor::new(&mut blank), image::ImageFormat::Png).unwrap();
    for (looks, search) in [(0, Search::BrokenOff), (2, Search::BrokenOff), (9, Search::Whole)] {
        let left = AtomicUsize::new(looks);
        let goes_on = || left.fetch_update(Ordering::Relaxed, Ordering::Relaxed, |left| left.checked_sub(1)).is_ok();
        let patience = Patience { goes_on: &goes_on, ..Patience::LONG };
        assert_eq!(read_image_within(&blank, &patience).unwrap(), (Vec::new(), search), "{looks}");
    }
    let patience = Patience { most_pixels: 64 * 63, ..Patience::LONG };
    let refused = read_image_within(&blank, &patience);
    assert!(matches!(refused, Err(ProofFailure::TooManyPixels { most: 4032, .. })), "{refused:?}");
}

fn crc32(bytes: &[u8]) -> u32 {
    let mut crc = flate2::Crc::new();
    crc.update(bytes);
    crc.sum()
}

/// hayro 0.9.0 adds to a glyph's place without a check: `glyph_cache.rs`, "attempt to add with overflow", found by writing
/// numbers beyond all bounds into our own PDF. Built without checks for overflow it draws the glyph elsewhere.
#[test]
fn a_panic_of_the_renderer_ends_as_a_failure() {
    let mut page = sheet(0, 1);
    page.placed[0].at.y = crate::base::Length::nm(i64::MIN / 4);
    assert!(matches!(read_pdf(pdf(&[page])), Ok(_) | Err(ProofFailure::Damaged)));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// No bytes whatever end the program: they are read, or refused.
    #[test]
    fn damaged_files_are_refused_or_read(edits in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..40), cut: prop::sample::Index) {
        let pages = [sheet(0, 1)];
        let mut bytes = pdf(&pages).to_vec();
        for (at, byte) in &edits {
            let at = at.index(bytes.len());
            bytes[at] = *byte;
        }
        let whole = bytes.clone();
        bytes.truncate(cut.index(bytes.len()));
        for bytes in [whole, bytes] {
            let _ = read_pdf(Arc::new(bytes.clone()));
            let _ = check(Arc::new(bytes), &expected(&pages), 203, &|_| ());
        }
    }

    #[test]
    fn damaged_pictures_are_refused_or_read(edits in proptest::collection::vec((any::<prop::sample::Index>(), any::<u8>()), 1..40), is_png: bool) {
        let format = if is_png { image::ImageFormat::Png } else { image::ImageFormat::Jpeg };
        let mut bytes = Vec::new();
        image::GrayImage::from_fn(120, 90, |x, y| image::Luma([((x * 7) ^ (y * 13)) as u8])).write_to(&mut std::io::Cursor::new(&mut bytes), format).unwrap();
        for (at, byte) in &edits {
            let at = at.index(bytes.len());
            bytes[at] = *byte;
        }
        let _ = read_image(&bytes);
    }
}
