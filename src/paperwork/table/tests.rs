//! Tables as a person reads them: widths, breaks, and what stays together.

use proptest::prelude::*;

use super::laying::BRACE;
use super::*;
use crate::base::{Point, Rect};
use crate::layout::Item;
use crate::layout::text::Fonts;
use crate::paperwork::flow::{Binding, Strip};

fn words(frame: &Frame) -> String {
    let text = frame.items.iter().filter_map(|item| match item {
        Item::Text(text) => Some(text.glyphs.iter().map(|glyph| &*glyph.text).collect::<String>()),
        _ => None,
    });
    text.collect::<Vec<_>>().join("|")
}

fn table(cells: &[&str]) -> Table {
    let mut table = Table::new(vec![Column::new("cavity").right(), Column::new("function").growing()]);
    table.row(cells.iter().map(|cell| Cell::Words((*cell).to_owned())).collect());
    table
}

#[test]
fn a_growing_column_takes_what_is_left_and_long_words_make_rows_high() {
    let (fonts, mm) = (Fonts::new(), Length::mm);
    let wide = table(&["14", "rail pressure signal"]).passage(&fonts, mm(180.0), Length::ZERO);
    let (head, row) = (wide.head.as_ref().expect("has a head"), &wide.strips[0].frame);
    assert_eq!((words(head).as_str(), words(row).as_str()), ("cavity|function", "14|rail pressure signal"));
    assert_eq!((head.size.width, row.size.width), (mm(180.0), mm(180.0)));
    let narrow = table(&["14", "rail pressure signal"]).passage(&fonts, mm(22.0), Length::ZERO);
    assert!(narrow.strips[0].frame.size.height > row.size.height);
}

#[test]
fn a_row_of_a_hundred_lines_is_several_strips() {
    let long: Vec<String> = (0..100).map(|line| format!("line {line}")).collect();
    let passage = table(&["14", &long.join("\n")]).passage(&Fonts::new(), Length::mm(100.0), Length::ZERO);
    assert_eq!(passage.strips.len(), 3);
    let all: Vec<String> = passage.strips.iter().map(|strip| words(&strip.frame)).collect();
    assert_eq!(all.join("|").replacen("14|", "", 1), long.join("|"));
}

/// Cautions, headings, remarks and paragraphs that name thousands of places.
#[test]
fn no_strip_is_higher_than_a_page() {
    let (fonts, width) = (Fonts::new(), Length::mm(180.0));
    let names: Vec<String> = (0..3000).map(|n| format!("X{n}")).collect();
    let long = names.join(" ");
    let mut table = Table::new(vec![Column::new("")]);
    table.rows = vec![Row::Caution(long.clone()), Row::Heading(long.clone()), Row::Remark(long.clone())];
    let of_table = table.passage(&fonts, width, Length::ZERO).strips;
    let of_paragraph = paragraph(&fonts, width, &long, Look::words(CAP));
    let all: Vec<&Strip> = of_table.iter().chain(&of_paragraph).collect();
    assert!(all.iter().all(|strip| strip.frame.size.height < Length::mm(180.0)));
    let told: String = all.iter().map(|strip| words(&strip.frame)).collect();
    assert!(told.replace(['|', ' '], "") == long.replace(' ', "").repeat(4), "words are lost");
}

#[test]
fn a_caution_stays_with_its_row() {
    let mut table = table(&["14", "main feed"]);
    table.rows.insert(0, Row::Caution("LIVE WITH BATTERY ON".to_owned()));
    let passage = table.passage(&Fonts::new(), Length::mm(100.0), Length::ZERO);
    assert_eq!(passage.strips[0].binding, Binding::WithNext);
}

fn bindings(rows: Vec<Row>) -> Vec<(Binding, bool)> {
    let mut table = Table::new(vec![Column::new("")]);
    table.rows = rows;
    let passage = table.passage(&Fonts::new(), Length::mm(100.0), Length::ZERO);
    let is_bar = |item: &Item| matches!(item, Item::Fill { area, .. } if area.size.width == BRACE);
    passage.strips.iter().map(|strip| (strip.binding, strip.frame.items.iter().any(is_bar))).collect()
}

#[test]
fn partners_and_remarks_stay_with_their_rows() {
    let cells = || vec![Cell::Code("1".to_owned())];
    let remark = || Row::Remark("found empty".to_owned());
    let rows = vec![
        Row::Cells(cells()),
        Row::Bound(cells()),
        remark(),
        Row::Caution("LIVE".to_owned()),
        Row::Cells(cells()),
        remark(),
        Row::Cells(cells()),
        Row::Cells(cells()),
    ];
    let (free, bound) = (Binding::Free, Binding::WithNext);
    // The first, and the last but one, are bound so that no row stands alone.
    let expected = [
        (bound, false),
        (bound, true),
        (bound, true),
        (bound, true),
        (bound, true),
        (free, true),
        (bound, false),
        (free, false),
    ];
    assert_eq!(bindings(rows), expected);
}

proptest! {
    #[test]
    fn no_cell_leaves_its_table(
        rows in proptest::collection::vec(proptest::collection::vec("[a-zA-Z0-9/ ]{0,40}", 3), 1..8),
        width_mm in 40.0..200.0f64,
    ) {
        let fonts = Fonts::new();
        let mut table = Table::new(vec![Column::new("place"), Column::new("what it does"), Column::new("to do").right()]);
        for cells in &rows {
            table.row(cells.iter().map(|cell| Cell::Words(cell.clone())).collect());
        }
        let width = Length::mm(width_mm);
        let passage = table.passage(&fonts, width, Length::ZERO);
        prop_assert_eq!(passage.strips.len(), rows.len());
        for (strip, cells) in passage.strips.iter().zip(&rows) {
            let frame = &strip.frame;
            prop_assert!(frame.size.width <= width + Length::nm(10));
            for item in &frame.items {
                if let Item::Text(text) = item {
                    let whole = Rect { origin: Point::ORIGIN, size: frame.size };
                    prop_assert!(whole.holds(&text.bounds), "{:?} leaves {:?}", text.bounds, whole);
                }
            }
            let letters = |text: &str| text.chars().filter(|c| c.is_alphanumeric() || *c == '/').collect::<String>();
            prop_assert_eq!(letters(&words(frame)), letters(&cells.concat()));
        }
    }
}
