//! Pages to try the writer and the proof on: our own scenario, placed by hand.

use std::sync::Arc;

use harfrust::{Buffer, Font, ShapeOptions, ShaperFont, shape};

use crate::base::{Length, Point, Rect, Size, Turn};
use crate::layout::frame::Dash;
use crate::layout::{Face, Frame, Glyph, Ink, Item, Modules, Stretch, SymbolItem, TextItem};
use crate::pages::{Heading, Page, Placed};

pub fn mm(millimetres: f64) -> Length {
    Length::mm(millimetres)
}

/// A module of 4 dots at 300 dots an inch.
pub fn module() -> Length {
    Length::inch(4.0 / 300.0)
}

/// Shapes words; each cluster's characters go to its first glyph.
pub fn glyphs(face: Face, words: &str) -> Arc<[Glyph]> {
    let font =
        Font::new(face.bytes().expect("a face of this repository"), 0).expect("the font files are read by a test");
    let mut buffer = Buffer::new();
    buffer.push_str(words);
    buffer.guess_segment_properties();
    shape(&ShaperFont::new(&font), &mut buffer, ShapeOptions::new()).expect("script and direction are set");
    let (infos, positions) = (buffer.glyph_infos(), buffer.glyph_positions());
    let glyph = |i: usize| {
        let start = infos[i].cluster as usize;
        let end = infos.iter().map(|info| info.cluster as usize).filter(|&other| other > start).min();
        let leads = i == 0 || infos[i - 1].cluster != infos[i].cluster;
        Glyph {
            id: infos[i].glyph_id as u16,
            advance: positions[i].x_advance,
            offset: (positions[i].x_offset, positions[i].y_offset),
            text: if leads { words[start..end.unwrap_or(words.len())].to_owned() } else { String::new() },
        }
    };
    (0..infos.len()).map(glyph).collect()
}

pub fn text(face: Face, em: f64, x: f64, y: f64, words: &str) -> TextItem {
    TextItem {
        face,
        em: mm(em),
        at: Point::new(mm(x), mm(y)),
        turn: Turn::Upright,
        stretch: Stretch::NONE,
        ink: Ink::Black,
        glyphs: glyphs(face, words),
        bounds: Rect::default(),
    }
}

/// A QR code of the smallest version for level M.
pub fn qr(payload: &str, x: f64, y: f64) -> SymbolItem {
    let code = qrcode::QrCode::with_error_correction_level(payload, qrcode::EcLevel::M).expect("short enough");
    let columns = code.width() as u16;
    let dark = code.to_colors().into_iter().map(|colour| colour == qrcode::Color::Dark).collect();
    symbol(Modules { columns, rows: columns, dark }, payload, x, y, 4)
}

/// A Data Matrix of 14 x 14 or 8 x 18 modules.
pub fn data_matrix(payload: &str, size: datamatrix::SymbolSize, x: f64, y: f64) -> SymbolItem {
    let code = datamatrix::DataMatrix::encode(payload.as_bytes(), size).expect("short enough");
    let bitmap = code.bitmap();
    let (columns, rows) = (bitmap.width() as u16, bitmap.height() as u16);
    let mut dark = vec![false; usize::from(columns) * usize::from(rows)];
    for (column, row) in bitmap.pixels() {
        dark[row * usize::from(columns) + column] = true;
    }
    symbol(Modules { columns, rows, dark }, payload, x, y, 2)
}

fn symbol(modules: Modules, payload: &str, x: f64, y: f64, quiet: i64) -> SymbolItem {
    let (width, height) = (module() * i64::from(modules.columns), module() * i64::from(modules.rows));
    SymbolItem {
        modules: Arc::new(modules),
        area: Rect::new(mm(x), mm(y), width, height),
        quiet: module() * quiet,
        turn: Turn::Upright,
        payload: payload.to_owned(),
    }
}

/// A flag of four lines with a symbol and a colour bar, 63.5 x 33.9 mm.
pub fn flag(number: usize) -> Frame {
    let code = format!("{number:04} A");
    let mut items = vec![
        Item::Text(text(Face::Code, 4.2, 2.0, 5.5, &code)),
        Item::Text(text(Face::Strong, 2.8, 2.0, 10.0, "Rail pressure signal")),
        Item::Text(text(Face::Words, 2.6, 2.0, 14.0, &format!("J1 / {} \u{2192} X3 / 2", number % 60))),
        Item::Text(text(Face::Words, 2.6, 2.0, 18.0, "BN/WH 0.75 mm\u{b2} fuse F12")),
    ];
    items.push(Item::Fill { area: Rect::new(mm(2.0), mm(19.5), mm(8.0), mm(1.5)), ink: Ink::Colour([120, 72, 40]) });
    items.push(Item::Symbol(qr(&format!("HTTP://MARSHHEN.LOCAL:7117/{number:04}/A"), 45.0, 4.0)));
    Frame { size: Size::new(mm(63.5), mm(33.9)), items }
}

/// A sheet of A4 with up to 24 flags, three across.
pub fn sheet(first: usize, count: usize) -> Page {
    let placed = (0..count.min(24)).map(|i| Placed {
        frame: flag(first + i),
        at: Point::new(mm(7.2 + 66.0 * (i % 3) as f64), mm(12.9 + 33.9 * (i / 3) as f64)),
        turn: Turn::Upright,
        name: format!("{:04} A", first + i),
        place: None,
    });
    Page {
        size: Size::new(mm(210.0), mm(297.0)),
        placed: placed.collect(),
        marks: vec![Item::Rule {
            from: Point::new(mm(55.0), mm(290.0)),
            to: Point::new(mm(155.0), mm(290.0)),
            weight: mm(0.2),
            dash: Dash::Solid,
        }],
        headings: vec![Heading { words: format!("Marsh Hen, from {first:04}"), at: Point::new(mm(7.2), mm(12.9)) }],
        sheet: None,
        piece: None,
    }
}

/// The same tag in all four turns, with every kind of item, on a page of its own size.
pub fn turns() -> Page {
    let mut frame = Frame { size: Size::new(mm(60.0), mm(30.0)), items: Vec::new() };
    frame.items.push(Item::Outline {
        area: Rect::new(mm(0.5), mm(0.5), mm(59.0), mm(29.0)),
        weight: mm(0.2),
        radius: mm(2.0),
    });
    frame.items.push(Item::Outline {
        area: Rect::new(mm(2.0), mm(22.0), mm(20.0), mm(5.0)),
        weight: mm(0.15),
        radius: mm(0.0),
    });
    frame.items.push(Item::Fill { area: Rect::new(mm(24.0), mm(22.0), mm(14.0), mm(5.0)), ink: Ink::Black });
    let mut white = text(Face::Strong, 3.0, 25.0, 25.7, "LIVE");
    white.ink = Ink::White;
    frame.items.push(Item::Text(white));
    frame.items.push(Item::Dot { centre: Point::new(mm(5.0), mm(19.0)), radius: mm(1.25), ink: Ink::Black });
    frame.items.push(Item::Rule {
        from: Point::new(mm(8.0), mm(19.0)),
        to: Point::new(mm(38.0), mm(19.0)),
        weight: mm(0.1),
        dash: Dash::Dashed(mm(1.0)),
    });
    let mut turned = text(Face::Words, 2.5, 2.5, 15.0, "aft bilge");
    turned.turn = Turn::Anticlockwise;
    frame.items.push(Item::Text(turned));
    let mut turned = text(Face::Words, 2.5, 37.0, 3.0, "flywheel");
    turned.turn = Turn::Clockwise;
    frame.items.push(Item::Text(turned));
    let mut turned = text(Face::Code, 3.5, 34.0, 12.0, "X3/2");
    turned.turn = Turn::Half;
    frame.items.push(Item::Text(turned));
    let mut stretched = text(Face::Words, 2.5, 6.0, 6.0, "AVALON office flow");
    stretched.stretch = Stretch { along: 1.0, across: 1.2 };
    frame.items.push(Item::Text(stretched));
    let mut symbol = qr("7KF4 A RAIL PRESSURE SIG J1/14-X3/2", 44.0, 6.0);
    symbol.turn = Turn::Clockwise;
    frame.items.push(Item::Symbol(symbol));
    let placed = [Turn::Upright, Turn::Clockwise, Turn::Half, Turn::Anticlockwise].into_iter().enumerate();
    let at = [(5.0, 5.0), (70.0, 5.0), (5.0, 70.0), (105.0, 40.0)];
    Page {
        size: Size::new(mm(140.0), mm(105.0)),
        placed: placed
            .map(|(i, turn)| Placed {
                frame: frame.clone(),
                at: Point::new(mm(at[i].0), mm(at[i].1)),
                turn,
                name: format!("turn {i}"),
                place: None,
            })
            .collect(),
        marks: vec![
            Item::Symbol(data_matrix("7KF4A", datamatrix::SymbolSize::Square14, 72.0, 75.0)),
            Item::Symbol(data_matrix("7KF4B", datamatrix::SymbolSize::Rect8x18, 72.0, 90.0)),
        ],
        headings: Vec::new(),
        sheet: None,
        piece: None,
    }
}

/// A strip of tube, longer than a renderer counts pixels in 16 bits at 600 dots an inch.
pub fn strip() -> Page {
    let frame = |number: usize| Frame {
        size: Size::new(mm(60.0), mm(18.0)),
        items: vec![
            Item::Text(text(Face::Code, 4.0, 2.0, 8.0, &format!("{number:04} B"))),
            Item::Symbol(qr(&format!("{number:04}"), 30.0, 4.0)),
        ],
    };
    let placed = (0..45).map(|number| Placed {
        frame: frame(number),
        at: Point::new(mm(62.0 * number as f64), mm(1.0)),
        turn: Turn::Upright,
        name: format!("{number:04} B"),
        place: None,
    });
    Page {
        size: Size::new(mm(2800.0), mm(20.0)),
        placed: placed.collect(),
        marks: Vec::new(),
        headings: Vec::new(),
        sheet: None,
        piece: None,
    }
}

/// Words that are hard on a font: ligatures, kerning, marks above and below, characters beyond the first plane's start, one glyph with
/// two meanings.
pub fn words() -> Page {
    let lines = [
        (Face::Words, "AVATAR To Wa 11 offset fjord fluffy"),
        (Face::Words, "se\u{f1}al D\u{fc}se \u{2300} \u{3a9} \u{b5}F \u{b1}5 % \u{2014} \u{201c}hull\u{201d}"),
        (Face::Words, "e\u{301}t x\u{302}y q\u{323}\u{307}z"),
        (Face::Strong, "no break\u{a0}here \u{416}\u{444}"),
        (Face::Code, "7KF4 A+B 0O1lI5S8B"),
    ];
    let items = lines.iter().enumerate().map(|(i, (face, words))| {
        let mut text = text(*face, 4.0, 4.0, 8.0 + 7.0 * i as f64, words);
        text.stretch = Stretch { along: 1.0 + 0.1 * i as f64, across: 1.0 };
        Item::Text(text)
    });
    Page {
        size: Size::new(mm(120.0), mm(45.0)),
        placed: Vec::new(),
        marks: items.collect(),
        headings: ["\u{d6}l", "Luft"]
            .map(|words| Heading { words: words.into(), at: Point::new(mm(4.0), mm(8.0)) })
            .to_vec(),
        sheet: None,
        piece: None,
    }
}
