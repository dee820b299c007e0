//! Delimited text (CSV and its like) -> its cells one after the other, each with the bytes that it stands in.
//!
//! The cutting is `csv-core`'s; the bytes that it takes for a cell tell where that stands, through quotes, line breaks of both
//! kinds, blank lines and cells over several lines.

use std::borrow::Cow;
use std::ops::Range;

use csv_core::{ReadFieldResult, Reader, ReaderBuilder};

/// What may stand between a separator and the quote that opens a cell.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BeforeQuote {
    /// Nothing: a quote behind a space is part of a cell (RFC 4180).
    Nothing,
    /// Spaces: `J1, 14, "pressure, rail"`, as people type.
    Spaces,
}

/// Text while it is cut.
pub struct Delimited<'t> {
    bytes: &'t [u8],
    reader: Reader,
    before_quote: BeforeQuote,
    at: usize,
    value: Vec<u8>,
    written: usize,
    begins_row: bool,
}

/// A cell that was cut; its value is [`Delimited::value`] until the next one is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Cut {
    /// The bytes it stands in, quotes included.
    pub span: Range<usize>,
    /// Whether its row ends with it.
    pub ends_row: bool,
    /// Whether the text ends with it, without a line break.
    pub ends_text: bool,
}

impl<'t> Delimited<'t> {
    /// Cuts a text at a separator, from a byte on.
    pub fn new(text: &'t str, separator: u8, from: usize, before_quote: BeforeQuote) -> Self {
        let reader = ReaderBuilder::new().delimiter(separator).build();
        let (bytes, value) = (text.as_bytes(), vec![0; 256]);
        Self { bytes, reader, before_quote, at: from.min(bytes.len()), value, written: 0, begins_row: true }
    }

    /// The next cell; `None` behind the last one.
    pub fn cut(&mut self) -> Option<Cut> {
        let mut start = self.at;
        if self.begins_row {
            start += self.count(start, |byte| matches!(byte, b'\r' | b'\n'));
        }
        if self.before_quote == BeforeQuote::Spaces {
            let spaces = self.count(start, |byte| byte == b' ');
            if spaces > 0 && self.bytes.get(start + spaces) == Some(&b'"') {
                start += spaces;
                self.at = start;
            }
        }
        self.written = 0;
        let (ends_row, ends_text) = loop {
            let (result, read, wrote) = self.reader.read_field(&self.bytes[self.at..], &mut self.value[self.written..]);
            self.at += read;
            self.written += wrote;
            match result {
                // The next call sees no input and so learns that the text has ended.
                ReadFieldResult::InputEmpty => {}
                ReadFieldResult::OutputFull => self.value.resize(self.value.len() * 2, 0),
                ReadFieldResult::Field { record_end } => break (record_end, read == 0),
                ReadFieldResult::End => return None,
            }
        };
        self.begins_row = ends_row;
        // The separator or line break that ended the cell is read as well, unless the text itself has ended.
        let end = if ends_text { self.at } else { self.at - 1 }.max(start);
        Some(Cut { span: start..end, ends_row, ends_text })
    }

    /// What stands in the cell that was cut last, without its quotes.
    pub fn value(&self) -> Cow<'_, str> {
        // Only ASCII quotes are left out of a valid text, so that a valid text is left.
        String::from_utf8_lossy(&self.value[..self.written])
    }

    /// How many bytes the value of that cell has.
    pub const fn value_bytes(&self) -> usize {
        self.written
    }

    fn count(&self, from: usize, is_one: impl Fn(u8) -> bool) -> usize {
        self.bytes[from..].iter().take_while(|&&byte| is_one(byte)).count()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Each cell as `bytes value`, rows ended with `|`.
    fn cells(text: &str, before_quote: BeforeQuote) -> String {
        let mut delimited = Delimited::new(text, b',', 0, before_quote);
        let mut shown = String::new();
        while let Some(cut) = delimited.cut() {
            let row = if cut.ends_row { "|" } else { "" };
            shown += &format!("{:?}={}{row} ", &text[cut.span], delimited.value());
        }
        shown
    }

    #[test]
    fn cells_know_their_bytes() {
        let text = "a,\"b \"\"c\"\"\nd\"\r\n\n , \"e\"\nf";
        assert_eq!(
            cells(text, BeforeQuote::Nothing),
            "\"a\"=a \"\\\"b \\\"\\\"c\\\"\\\"\\nd\\\"\"=b \"c\"\nd| \" \"=  \" \\\"e\\\"\"= \"e\"| \"f\"=f| "
        );
        assert!(cells(text, BeforeQuote::Spaces).contains("\"\\\"e\\\"\"=e| "));
    }

    proptest! {
        #[test]
        fn any_text_is_cut_in_order(text in "[a-zä\",; \r\n]{0,40}", from in 0_usize..50) {
            for before_quote in [BeforeQuote::Nothing, BeforeQuote::Spaces] {
                let mut delimited = Delimited::new(&text, b',', from, before_quote);
                let mut end = 0;
                while let Some(cut) = delimited.cut() {
                    prop_assert!(end <= cut.span.start && cut.span.end <= text.len());
                    end = cut.span.end;
                    prop_assert!(delimited.value().len() >= delimited.value_bytes());
                }
            }
        }
    }
}
