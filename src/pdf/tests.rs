//! The writer as a whole.

use std::io::{self, Write};

use super::sample::{flag, mm, sheet, strip, turns, words};
use super::{Document, PdfFailure, Writer, Written};
use crate::base::{Length, Size};
use crate::pages::Page;

fn document() -> Document {
    Document { title: "Marsh Hen \u{2014} flags".into(), ..Document::default() }
}

fn written(pages: &[Page]) -> (Vec<u8>, Written) {
    let mut bytes = Vec::new();
    let mut writer = Writer::new(&mut bytes, &document()).unwrap();
    for page in pages {
        writer.page(page).unwrap();
    }
    let written = writer.finish().unwrap();
    (bytes, written)
}

#[test]
fn same_pages_same_bytes() {
    let pages = [sheet(0, 24), turns(), words(), strip()];
    let (bytes, told) = written(&pages);
    assert_eq!(written(&pages).0, bytes);
    assert_eq!(told, Written { pages: 4, bytes: bytes.len() as u64 });
    let other = written(&[sheet(1, 24)]).0;
    assert_ne!(id(&other), id(&bytes), "other pages, another file identifier");
}

fn id(pdf: &[u8]) -> Vec<u8> {
    let at = pdf.windows(4).rposition(|window| window == b"/ID[").unwrap();
    pdf[at..at + 40].to_vec()
}

#[test]
fn no_page_and_many_pages_are_whole_documents() {
    for count in [0, 1, 128, 129, 300] {
        let page = Page { size: Size::new(mm(62.0), mm(29.0)), ..Page::default() };
        let (bytes, _) = written(&vec![page; count]);
        let pdf = hayro::hayro_syntax::Pdf::new(bytes).unwrap();
        assert_eq!(pdf.pages().len(), count);
    }
}

#[test]
fn a_page_no_printer_takes_is_refused() {
    let mut writer = Writer::new(Vec::new(), &document()).unwrap();
    for (width, height) in [(0.0, 10.0), (10.0, -1.0), (6000.0, 10.0)] {
        let page = Page { size: Size::new(mm(width), mm(height)), ..Page::default() };
        assert!(matches!(writer.page(&page), Err(PdfFailure::PageSize { page: 1, .. })));
    }
}

#[test]
fn odd_numbers_do_not_spoil_the_file() {
    let mut frame = flag(1);
    for item in &mut frame.items {
        if let crate::layout::Item::Text(text) = item {
            text.stretch.along = f64::NAN;
            text.stretch.across = f64::INFINITY;
            text.em = Length::nm(-1);
        }
    }
    let mut page = sheet(0, 1);
    page.placed[0].frame = frame;
    let (bytes, _) = written(&[page]);
    let pdf = hayro::hayro_syntax::Pdf::new(bytes).unwrap();
    let content = pdf.pages()[0].page_stream().unwrap().to_vec();
    let content = String::from_utf8_lossy(&content);
    assert!(!content.contains("NaN") && !content.contains("inf"));
}

/// A disk with room for so many bytes.
struct Disk(usize);

impl Write for Disk {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0 = self.0.checked_sub(bytes.len()).ok_or_else(|| io::Error::from(io::ErrorKind::StorageFull))?;
        Ok(bytes.len())
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_full_disk_is_told_wherever_it_fills_up() {
    let page = sheet(0, 2);
    let size = written(std::slice::from_ref(&page)).0.len();
    for room in (0..size).step_by(97) {
        let attempt = || -> Result<Written, PdfFailure> {
            let mut writer = Writer::new(Disk(room), &document())?;
            writer.page(&page)?;
            writer.finish()
        };
        assert!(matches!(attempt(), Err(PdfFailure::Write(_))), "room for {room} of {size} bytes");
    }
}

#[test]
fn what_is_kept_in_memory_does_not_grow_with_the_pages() {
    // The bytes of a page are with the sink before the next is drawn.
    struct Count(std::rc::Rc<std::cell::Cell<usize>>);
    impl Write for Count {
        fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
            self.0.set(self.0.get() + bytes.len());
            Ok(bytes.len())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let count = std::rc::Rc::new(std::cell::Cell::new(0));
    let mut writer = Writer::new(Count(count.clone()), &document()).unwrap();
    let mut before = 0;
    for first in 0..3 {
        writer.page(&sheet(first * 24, 24)).unwrap();
        assert!(count.get() > before + 4000, "{} bytes after page {first}", count.get());
        before = count.get();
    }
}
