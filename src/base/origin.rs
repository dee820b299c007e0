//! Where a value came from: file, line and column, or sheet and cell, with the text around it for the message.

use std::borrow::Cow;
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// A list or settings file as it was read, kept so that messages can show the line they speak of.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    name: String,
    sheet: Option<String>,
    text: String,
    line_starts: Vec<usize>,
}

impl Source {
    /// A source from its name, as the user knows it (`ecu.csv`), and its decoded text.
    pub fn new(name: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Self::with_sheet(name.into(), None, text.into())
    }

    /// A sheet of a workbook, rendered as text: a line for each row from row 1 on, its cells from column A on with a tab
    /// between any two. The values in it hold neither tabs nor line breaks.
    pub fn sheet(file: impl Into<String>, sheet: impl Into<String>, text: impl Into<String>) -> Arc<Self> {
        Self::with_sheet(file.into(), Some(sheet.into()), text.into())
    }

    fn with_sheet(name: String, sheet: Option<String>, text: String) -> Arc<Self> {
        let after_breaks = text.bytes().enumerate().filter(|(_, byte)| *byte == b'\n').map(|(at, _)| at + 1);
        let line_starts = std::iter::once(0).chain(after_breaks).collect();
        Arc::new(Self { name, sheet, text, line_starts })
    }

    /// The name, as the user knows it.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Name of the sheet, of a sheet of a workbook.
    pub fn sheet_name(&self) -> Option<&str> {
        self.sheet.as_deref()
    }

    /// The whole decoded text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Index of the line that holds this byte, from 0.
    fn line_at(&self, byte: usize) -> usize {
        self.line_starts.partition_point(|&start| start <= byte).saturating_sub(1)
    }

    fn line_range(&self, line: usize) -> Range<usize> {
        let start = self.line_starts[line];
        let end = self.line_starts.get(line + 1).map_or(self.text.len(), |&next| next - 1);
        start..end.max(start)
    }
}

/// A stretch of a source, or a source as a whole.
#[derive(Clone, PartialEq, Eq)]
pub struct Origin {
    source: Arc<Source>,
    span: Option<Range<usize>>,
}

/// The line an origin starts in, for showing it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Excerpt<'a> {
    /// Line number, from 1.
    pub line: usize,
    /// The line without its line break.
    pub text: &'a str,
    /// The bytes of `text` that the origin covers.
    pub marked: Range<usize>,
}

impl Origin {
    /// A stretch of bytes of a source. A stretch outside the text, or not on character borders, becomes the whole source.
    pub fn new(source: &Arc<Source>, span: Range<usize>) -> Self {
        let is_inside = source.text.get(span.clone()).is_some();
        Self { source: Arc::clone(source), span: is_inside.then_some(span) }
    }

    /// A source as a whole.
    pub fn whole(source: &Arc<Source>) -> Self {
        Self { source: Arc::clone(source), span: None }
    }

    /// The source.
    pub fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// The bytes of the source's text that it covers; `None` of a source as a whole.
    pub fn span(&self) -> Option<Range<usize>> {
        self.span.clone()
    }

    /// Name of the source.
    pub fn file(&self) -> &str {
        &self.source.name
    }

    /// Name of the sheet, in a workbook.
    pub fn sheet(&self) -> Option<&str> {
        self.source.sheet_name()
    }

    /// The cell by its column letters and row, in a workbook: `D14`.
    pub fn cell(&self) -> Option<String> {
        self.sheet()?;
        Some(cell_name(self.column()?, self.line()?))
    }

    /// Line, from 1; in a workbook the row.
    pub fn line(&self) -> Option<usize> {
        self.span.as_ref().map(|span| self.source.line_at(span.start) + 1)
    }

    /// Column in characters, from 1; in a workbook the number of the column, 1 for A.
    pub fn column(&self) -> Option<usize> {
        let span = self.span.as_ref()?;
        let line = self.source.line_range(self.source.line_at(span.start));
        let before = &self.source.text[line.start..span.start];
        let count = match self.source.sheet {
            Some(_) => before.bytes().filter(|&byte| byte == b'\t').count(),
            None => before.chars().count(),
        };
        Some(count + 1)
    }

    /// The line that the origin starts in; a span over several lines is marked to the end of its first.
    pub fn excerpt(&self) -> Option<Excerpt<'_>> {
        let span = self.span.as_ref()?;
        let index = self.source.line_at(span.start);
        let line = self.source.line_range(index);
        let text = self.source.text[line.clone()].trim_end_matches('\r');
        let start = (span.start - line.start).min(text.len());
        let end = span.end.saturating_sub(line.start).clamp(start, text.len());
        Some(Excerpt { line: index + 1, text, marked: start..end })
    }
}

/// `ecu.csv:14:3`, or `ecu.csv` for a source as a whole; `ecu.xlsx:Sheet1!D14` or `ecu.xlsx:Sheet1` in a workbook.
impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.file())?;
        match (self.sheet(), self.line(), self.column()) {
            (Some(sheet), Some(line), Some(column)) => {
                write!(f, ":{}!{}", quoted_sheet(sheet), cell_name(column, line))
            }
            (Some(sheet), ..) => write!(f, ":{}", quoted_sheet(sheet)),
            (None, Some(line), Some(column)) => write!(f, ":{line}:{column}"),
            _ => Ok(()),
        }
    }
}

/// Name of a cell from its column and row, both from 1: `D14`.
pub fn cell_name(column: usize, row: usize) -> String {
    let mut letters = Vec::new();
    let mut rest = column;
    while rest > 0 {
        letters.push(char::from(b'A' + ((rest - 1) % 26) as u8));
        rest = (rest - 1) / 26;
    }
    letters.iter().rev().collect::<String>() + &row.to_string()
}

/// A sheet's name as formulas write it: in quotes where it is not plainly a word or could be a cell (`'J1'!D14`).
fn quoted_sheet(name: &str) -> Cow<'_, str> {
    let is_word = name.chars().all(|character| character.is_alphanumeric() || matches!(character, '_' | '.'));
    let letters = name.bytes().take_while(u8::is_ascii_alphabetic).count();
    let digits = name.len() - letters;
    let is_cell = (1..=3).contains(&letters) && digits > 0 && name[letters..].bytes().all(|byte| byte.is_ascii_digit());
    if is_word && !is_cell && name.starts_with(|first: char| first.is_alphabetic() || first == '_') {
        return Cow::Borrowed(name);
    }
    Cow::Owned(format!("'{}'", name.replace('\'', "''")))
}

impl fmt::Debug for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Origin({self})")
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn line_and_column_count_from_one_in_characters() {
        let source = Source::new("ecu.csv", "a,b\r\nä,14,x\n");
        let origin = Origin::new(&source, 8..10);
        assert_eq!(origin.to_string(), "ecu.csv:2:3");
        let excerpt = origin.excerpt().expect("has a line");
        assert_eq!((excerpt.text, &excerpt.text[excerpt.marked.clone()]), ("ä,14,x", "14"));
        assert_eq!(Origin::whole(&source).to_string(), "ecu.csv");
    }

    #[test]
    fn sheets_have_cells() {
        let shown = |sheet: &str, span| Origin::new(&Source::sheet("ecu.xlsx", sheet, "a\tb\n\n\t\té\tx"), span);
        let origin = shown("Sheet1", 10..11);
        assert_eq!(origin.to_string(), "ecu.xlsx:Sheet1!D3");
        assert_eq!((origin.line(), origin.column(), origin.cell().as_deref()), (Some(3), Some(4), Some("D3")));
        assert_eq!(shown("engine plugs", 2..3).to_string(), "ecu.xlsx:'engine plugs'!B1");
        assert_eq!(shown("J1", 2..3).to_string(), "ecu.xlsx:'J1'!B1");
        assert_eq!(shown("1b", 4..4).to_string(), "ecu.xlsx:'1b'!A2");
        assert_eq!(shown("hen's", 5..5).to_string(), "ecu.xlsx:'hen''s'!A3");
        assert_eq!(shown("Übersicht_2", 99..99).to_string(), "ecu.xlsx:Übersicht_2");
        let names = [(1, "A1"), (26, "Z1"), (27, "AA1"), (702, "ZZ1"), (703, "AAA1"), (16384, "XFD1")];
        for (column, name) in names {
            assert_eq!(cell_name(column, 1), name);
        }
    }

    proptest! {
        #[test]
        fn any_span_is_answered(text in "[a-zä\r\n,]{0,40}", start in 0_usize..50, len in 0_usize..50) {
            for source in [Source::new("x", text.clone()), Source::sheet("x", &text, text.replace(',', "\t"))] {
                let origin = Origin::new(&source, start..start + len);
                let _ = (origin.to_string(), origin.cell(), origin.excerpt());
            }
        }
    }
}
