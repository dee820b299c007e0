//! A PDF of hand-made pages, given to readers that know nothing of us.

use std::path::Path;
use std::process::Command;
use std::sync::Arc;

use loomtag::base::{Point, Turn};
use loomtag::layout::{Item, TextItem};
use loomtag::{base, layout, pages, pdf, proof};
use serde_json::{Value, json};

#[path = "../src/pdf/sample.rs"]
pub mod sample;

use pages::Page;

const TITLE: &str = "Marsh Hen \u{2014} tags for the donor diesel";

/// Pages with every kind of item, turn and page size.
fn hand_made() -> Vec<Page> {
    vec![sample::sheet(0, 24), sample::turns(), sample::words(), sample::strip()]
}

fn written(pages: &[Page]) -> Vec<u8> {
    let mut bytes = Vec::new();
    let writer = pdf::Writer::new(&mut bytes, &pdf::Document { title: TITLE.into(), ..pdf::Document::default() });
    let mut writer = writer.expect("a vector takes all bytes");
    for page in pages {
        writer.page(page).expect("a vector takes all bytes");
    }
    writer.finish().expect("a vector takes all bytes");
    bytes
}

/// What an outside reader must find, in plain millimetres.
fn expected(pages: &[Page]) -> Value {
    let headings = pages.iter().enumerate().flat_map(|(index, page)| {
        let at = |at: Point| [at.x, at.y].map(base::Length::as_mm);
        page.headings.iter().map(move |heading| json!([index + 1, heading.words, at(heading.at)]))
    });
    let headings: Vec<Value> = headings.collect();
    json!({ "title": TITLE, "headings": headings, "pages": pages.iter().map(page_expected).collect::<Vec<_>>() })
}

fn page_expected(page: &Page) -> Value {
    let rect = |area: base::Rect| [area.left(), area.top(), area.size.width, area.size.height].map(base::Length::as_mm);
    let labels: Vec<_> = page.placed.iter().map(|placed| rect(placed.area())).collect();
    let mut words = Vec::new();
    let mut glyphs = Vec::new();
    let mut take = |text: &TextItem, place: &dyn Fn(Point) -> Point| {
        words.push(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>());
        glyphs.extend(glyph_origins(text, place));
    };
    for placed in &page.placed {
        for item in &placed.frame.items {
            if let Item::Text(text) = item {
                take(text, &|point| placed.turn.turned_point(point, placed.frame.size).plus(placed.at));
            }
        }
    }
    for item in &page.marks {
        if let Item::Text(text) = item {
            take(text, &|point| point);
        }
    }
    let symbols = proof::Expected::on_page(1, page).map(|symbol| {
        let kind = if symbol.payload.starts_with("7KF4") && symbol.payload.len() < 6 { "data matrix" } else { "qr" };
        json!({ "kind": kind, "payload": symbol.payload, "area": rect(symbol.area), "quiet": symbol.quiet.as_mm() })
    });
    json!({
        "width": page.size.width.as_mm(),
        "height": page.size.height.as_mm(),
        "words": words,
        "labels": labels,
        "glyphs": glyphs,
        "symbols": symbols.collect::<Vec<_>>(),
    })
}

/// Where shaping puts each glyph's origin on the page.
fn glyph_origins(text: &TextItem, place: &dyn Fn(Point) -> Point) -> Vec<Value> {
    let mut pen = 0;
    let em = |units: i32| text.em.scaled(f64::from(units) / 1000.0);
    let origin = |pen: i32, rise: i32| {
        let along = em(pen).scaled(text.stretch.along);
        let up = em(rise).scaled(text.stretch.across);
        let shift = match text.turn {
            Turn::Upright => Point::new(along, -up),
            Turn::Clockwise => Point::new(up, along),
            Turn::Half => Point::new(-along, up),
            Turn::Anticlockwise => Point::new(-up, -along),
        };
        place(text.at.plus(shift))
    };
    let glyph = |glyph: &layout::Glyph| {
        let at = origin(pen + glyph.offset.0, glyph.offset.1);
        pen += glyph.advance;
        json!([glyph.text, at.x.as_mm(), at.y.as_mm()])
    };
    text.glyphs.iter().map(glyph).collect()
}

/// Runs a check of `tests/outside`; a missing tool fails it with the tool's name.
fn outside(script: &str, arguments: &[&Path], last: &str) -> String {
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside").join(script);
    let output = Command::new("python3").arg(&script).args(arguments).arg(last).output();
    let output = output.unwrap_or_else(|failure| panic!("missing: python3 ({failure}); apt-get install python3"));
    let said = String::from_utf8_lossy(&output.stdout);
    assert!(output.status.success(), "{}:\n{said}{}", script.display(), String::from_utf8_lossy(&output.stderr));
    said.trim().to_owned()
}

#[test]
#[expect(clippy::disallowed_methods, reason = "other programs read the PDF from a file")]
fn other_readers_find_a_sound_pdf_and_everything_in_its_place() {
    let pages = hand_made();
    let folder = tempfile::tempdir().unwrap();
    let (file, should) = (folder.path().join("tags.pdf"), folder.path().join("expected.json"));
    std::fs::write(&file, written(&pages)).unwrap();
    std::fs::write(&should, expected(&pages).to_string()).unwrap();
    let fonts = Path::new(env!("CARGO_MANIFEST_DIR")).join("fonts");
    assert_eq!(outside("structure.py", &[&file, &should], &fonts.to_string_lossy()), "sound");
}

#[test]
#[expect(clippy::disallowed_methods, reason = "other programs read the PDF from a file")]
fn other_readers_and_ours_read_every_symbol() {
    let pages = hand_made();
    let folder = tempfile::tempdir().unwrap();
    let (file, should) = (folder.path().join("tags.pdf"), folder.path().join("expected.json"));
    let bytes = written(&pages);
    std::fs::write(&file, &bytes).unwrap();
    std::fs::write(&should, expected(&pages).to_string()).unwrap();
    assert_eq!(outside("symbols.py", &[&file, &should, folder.path()], "300"), "75 symbols read");

    let symbols = pages.iter().enumerate().flat_map(|(index, page)| proof::Expected::on_page(index + 1, page));
    let proof = proof::check(Arc::new(bytes), &symbols.collect::<Vec<_>>(), 300, &|_| ()).unwrap();
    assert_eq!(proof.to_string(), "75 of 75 symbols read back");
}
