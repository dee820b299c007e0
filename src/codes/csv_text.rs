//! CSV text -> rows of cells, each exactly as written and with its place; and rows -> CSV text.
//!
//! What exports and charts are written in: comma, quotes where needed, lines ended as RFC 4180 has it, and a byte order mark, without
//! which some spreadsheets take UTF-8 for something else.

use std::ops::Range;
use std::sync::Arc;

use csv_core::{Terminator, WriteResult, Writer, WriterBuilder};

use crate::base::delimited::{BeforeQuote, Delimited};
use crate::base::{Origin, Source};

const BYTE_ORDER_MARK: &str = "\u{feff}";

/// A cell as it was read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    /// What stands in it, without its quotes.
    pub(super) text: String,
    span: Range<usize>,
}

/// The rows of a file.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    source: Arc<Source>,
    /// Its rows, blank lines left out.
    pub(super) rows: Vec<Vec<Cell>>,
}

impl Sheet {
    /// Cuts a file into rows and cells.
    ///
    /// # Errors
    /// The place at which it is not UTF-8.
    pub(super) fn read(name: &str, bytes: &[u8]) -> Result<Self, Origin> {
        let bytes = bytes.strip_prefix(BYTE_ORDER_MARK.as_bytes()).unwrap_or(bytes);
        let text = str::from_utf8(bytes).map_err(|error| {
            let valid = error.valid_up_to();
            let source = Source::new(name, String::from_utf8_lossy(bytes));
            Origin::new(&source, valid..valid + char::REPLACEMENT_CHARACTER.len_utf8())
        })?;
        let source = Source::new(name, text);
        let rows = cut(source.text());
        Ok(Self { source, rows })
    }

    /// Where a cell stands; where a row ends before it, the last one of the row.
    pub(super) fn origin(&self, row: usize, column: usize) -> Origin {
        let cells = self.rows.get(row).map_or(&[][..], Vec::as_slice);
        match cells.get(column).or(cells.last()) {
            Some(cell) => Origin::new(&self.source, cell.span.clone()),
            None => Origin::whole(&self.source),
        }
    }
}

fn cut(text: &str) -> Vec<Vec<Cell>> {
    let mut delimited = Delimited::new(text, b',', 0, BeforeQuote::Nothing);
    let (mut rows, mut row) = (Vec::new(), Vec::new());
    while let Some(cut) = delimited.cut() {
        row.push(Cell { text: delimited.value().into_owned(), span: cut.span });
        if cut.ends_row {
            rows.push(std::mem::take(&mut row));
        }
    }
    rows
}

/// A CSV file while it is written.
pub(crate) struct Writing {
    writer: Writer,
    bytes: Vec<u8>,
    is_in_row: bool,
}

impl Writing {
    /// An empty file.
    pub(crate) fn new() -> Self {
        let writer = WriterBuilder::new().terminator(Terminator::CRLF).build();
        Self { writer, bytes: BYTE_ORDER_MARK.into(), is_in_row: false }
    }

    /// The next cell of the row.
    pub(crate) fn cell(&mut self, text: &str) {
        if self.is_in_row {
            self.put(|writer, room| {
                let (result, written) = writer.delimiter(room);
                (result, 0, written)
            });
        }
        self.is_in_row = true;
        let mut rest = text.as_bytes();
        self.put(|writer, room| {
            let (result, read, written) = writer.field(rest, room);
            rest = &rest[read..];
            (result, read, written)
        });
    }

    /// Ends the row.
    pub(crate) fn end_row(&mut self) {
        self.is_in_row = false;
        self.put(|writer, room| {
            let (result, written) = writer.terminator(room);
            (result, 0, written)
        });
    }

    /// The file.
    pub(crate) fn bytes(self) -> Vec<u8> {
        self.bytes
    }

    fn put(&mut self, mut step: impl FnMut(&mut Writer, &mut [u8]) -> (WriteResult, usize, usize)) {
        let mut room = [0; 256];
        loop {
            let (result, _, written) = step(&mut self.writer, &mut room);
            self.bytes.extend_from_slice(&room[..written]);
            if result == WriteResult::InputEmpty {
                return;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn cells_keep_their_spaces_and_know_their_place() {
        let text = "\u{feff}a,b\r\n\r\n\" x \",\"two\r\nlines \"\"\"\r\n 7 ,\r\n";
        let sheet = Sheet::read("code.csv", text.as_bytes()).expect("is UTF-8");
        let texts: Vec<Vec<&str>> =
            sheet.rows.iter().map(|row| row.iter().map(|cell| cell.text.as_str()).collect()).collect();
        assert_eq!(texts, [vec!["a", "b"], vec![" x ", "two\r\nlines \""], vec![" 7 ", ""]]);
        assert_eq!(sheet.origin(0, 1).to_string(), "code.csv:1:3");
        assert_eq!(sheet.origin(1, 1).to_string(), "code.csv:3:7");
        assert_eq!(sheet.origin(2, 1).to_string(), "code.csv:5:5");
        assert_eq!(Sheet::read("x.csv", b"a,b\n1,\xff\n").expect_err("is not").to_string(), "x.csv:2:3");
    }

    proptest! {
        #[test]
        fn what_is_written_is_read(rows in prop::collection::vec(prop::collection::vec("[a,;\"'\r\n =é]{0,9}|[a-z]{250,600}", 3), 0..4)) {
            let mut writing = Writing::new();
            for row in &rows {
                row.iter().for_each(|cell| writing.cell(cell));
                writing.end_row();
            }
            let sheet = Sheet::read("x", &writing.bytes()).expect("is UTF-8");
            let read: Vec<Vec<String>> =
                sheet.rows.iter().map(|row| row.iter().map(|cell| cell.text.clone()).collect()).collect();
            prop_assert_eq!(read, rows);
        }

        #[test]
        fn any_bytes_are_cut(bytes in prop::collection::vec(prop_oneof![Just(b'"'), Just(b','), Just(b'\n'), Just(b'\r'), any::<u8>()], 0..60)) {
            if let Ok(sheet) = Sheet::read("x", &bytes) {
                for row in 0..sheet.rows.len() + 1 {
                    let _ = sheet.origin(row, 2).to_string();
                }
            }
        }
    }
}
