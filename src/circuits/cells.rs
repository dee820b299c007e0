//! Text -> cells: finds out what separates the cells of a list, and cuts it into rows of cells, each with its value and
//! the exact bytes it stands in, through quotes, line breaks of both kinds, blank lines and cells over several lines.

use std::borrow::Cow;
use std::ops::Range;
use std::sync::Arc;

use super::problems::{CELL_TOO_LONG, TOO_MANY_COLUMNS, TOO_MANY_ROWS, UNCLOSED_QUOTE};
use crate::base::delimited::{BeforeQuote, Cut, Delimited};
use crate::base::{Origin, Problem, Source};

/// Most characters of a cell.
pub(super) const LONGEST_CELL: usize = 10_000;
/// Most rows of a list.
pub(super) const MOST_ROWS: usize = 1_000_000;
/// Most cells of a row.
pub(super) const MOST_COLUMNS: usize = 1_000;

/// What may separate cells, the likeliest first.
const SEPARATORS: [u8; 4] = [b',', b';', b'\t', b'|'];

/// A cell: where it stands in the source, quotes included. A list has many, so they are kept small: a file has at most
/// 64 MiB, and 32 bits are enough.
#[derive(Clone, Copy, Debug)]
struct Cell {
    start: u32,
    end: u32,
    /// Index of its value among the quoted ones; [`NOT_QUOTED`] when the source itself has it.
    quoted: u32,
}

const NOT_QUOTED: u32 = u32::MAX;

impl Cell {
    fn raw<'t>(&self, text: &'t str) -> &'t str {
        &text[self.start as usize..self.end as usize]
    }

    /// The bytes it stands in, without the spaces around it.
    fn span(&self, text: &str) -> Range<usize> {
        let raw = self.raw(text);
        let start = self.start as usize + raw.len() - raw.trim_start().len();
        start..start.max(start + raw.trim().len())
    }
}

/// The cells of a source, apart from it. Blank lines are no rows.
#[derive(Clone, Debug, Default)]
pub(super) struct Cells {
    cells: Vec<Cell>,
    quoted: Vec<Box<str>>,
    /// Index of the first cell behind each row.
    row_ends: Vec<u32>,
    /// Cells of a workbook that are no plain text or number, in the order of rows and columns.
    odd: Vec<OddCell>,
    /// Merged cells of a workbook, likewise.
    merged: Vec<Merged>,
}

/// A cell of a workbook that is no plain text or number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct OddCell {
    pub(super) row: u32,
    pub(super) column: u32,
    pub(super) oddity: Oddity,
}

/// What is odd about a cell of a workbook.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Oddity {
    /// A date or time.
    Date,
    /// A number that the workbook shows with an exponent.
    Exponent,
    /// A truth value.
    Truth,
    /// A formula that ends in an error.
    Error,
    /// A formula whose value the file does not hold.
    NoValue,
}

/// Cells of a workbook merged into one, which stands at the first of these rows and columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Merged {
    pub(super) row: u32,
    pub(super) column: u32,
    pub(super) rows: u32,
    pub(super) columns: u32,
}

impl Cells {
    /// Adds a cell to the row that is being filled: the bytes it stands in, and its value where the source has another one.
    pub(super) fn push(&mut self, span: Range<usize>, value: Option<&str>) {
        let mut quoted = NOT_QUOTED;
        if let Some(value) = value {
            quoted = self.quoted.len() as u32;
            self.quoted.push(value.into());
        }
        self.cells.push(Cell { start: span.start as u32, end: span.end as u32, quoted });
    }

    /// Ends the row that is being filled.
    pub(super) fn end_row(&mut self) {
        self.row_ends.push(self.cells.len() as u32);
    }

    /// Whether there is no row.
    pub(super) fn is_empty(&self) -> bool {
        self.row_ends.is_empty()
    }

    /// Marks a cell as odd, in the order of rows and columns.
    pub(super) fn mark(&mut self, odd: OddCell) {
        self.odd.push(odd);
    }

    /// Tells of merged cells, in the order of rows and columns.
    pub(super) fn merge(&mut self, merged: Merged) {
        self.merged.push(merged);
    }
}

/// A source and its cells.
#[derive(Clone, Debug)]
pub(super) struct Table<'s> {
    source: &'s Arc<Source>,
    cells: Cow<'s, Cells>,
}

/// A row of a table.
#[derive(Clone, Copy, Debug)]
pub(super) struct Row<'t> {
    table: &'t Table<'t>,
    cells: &'t [Cell],
}

impl<'t> Row<'t> {
    /// Number of its cells.
    pub(super) const fn len(self) -> usize {
        self.cells.len()
    }

    /// The value of a cell without the spaces around it; blank where the row ends before it.
    pub(super) fn value(self, column: usize) -> &'t str {
        self.cells.get(column).map_or("", |cell| self.table.value(cell).trim())
    }

    /// The values of all its cells, in order.
    pub(super) fn values(self) -> impl ExactSizeIterator<Item = &'t str> + DoubleEndedIterator {
        (0..self.len()).map(move |column| self.value(column))
    }
}

impl<'s> Table<'s> {
    /// A source with the cells that were found in it.
    pub(super) const fn of(source: &'s Arc<Source>, cells: Cow<'s, Cells>) -> Self {
        Self { source, cells }
    }

    /// Number of rows, header and titles included.
    pub(super) fn len(&self) -> usize {
        self.cells.row_ends.len()
    }

    /// The odd cells of a row, in the order of columns.
    pub(super) fn odd_cells(&self, row: usize) -> &[OddCell] {
        let odd = &self.cells.odd;
        let start = odd.partition_point(|cell| (cell.row as usize) < row);
        let count = odd[start..].iter().take_while(|cell| cell.row as usize == row).count();
        &odd[start..start + count]
    }

    /// How many rows and columns a cell takes: more than one where cells of a workbook are merged into it.
    pub(super) fn stretch(&self, row: usize, column: usize) -> (usize, usize) {
        let merged = &self.cells.merged;
        let at = merged.binary_search_by_key(&(row, column), |area| (area.row as usize, area.column as usize));
        at.map_or((1, 1), |at| (merged[at].rows as usize, merged[at].columns as usize))
    }

    /// Whether it is a sheet of a workbook, whose rows end where nothing more is written in them.
    pub(super) fn is_sheet(&self) -> bool {
        self.source.sheet_name().is_some()
    }

    /// A row; one without cells where there is no such row.
    pub(super) fn row(&self, row: usize) -> Row<'_> {
        Row { table: self, cells: self.cells_of(row) }
    }

    fn cells_of(&self, row: usize) -> &[Cell] {
        let Cells { cells, row_ends, .. } = &*self.cells;
        let start = row.checked_sub(1).and_then(|above| row_ends.get(above)).map_or(0, |&end| end as usize);
        row_ends.get(row).and_then(|&end| cells.get(start..end as usize)).unwrap_or_default()
    }

    fn value(&self, cell: &Cell) -> &str {
        match self.cells.quoted.get(cell.quoted as usize) {
            Some(value) => value,
            None => cell.raw(self.source.text()),
        }
    }

    /// The bytes of each cell of a row, quotes and the spaces around it included.
    pub(super) fn spans(&self, row: usize) -> impl DoubleEndedIterator<Item = Range<usize>> {
        self.cells_of(row).iter().map(|cell| cell.start as usize..cell.end as usize)
    }

    /// Where a cell stands; where a row is too short for it, its last cell.
    pub(super) fn origin(&self, row: usize, column: usize) -> Origin {
        let cells = self.cells_of(row);
        match cells.get(column).or(cells.last()) {
            Some(cell) => Origin::new(self.source, cell.span(self.source.text())),
            None => Origin::whole(self.source),
        }
    }

    /// The bytes of a row as they stand in the source.
    pub(super) fn row_text(&self, row: usize) -> &'s str {
        match self.cells_of(row) {
            [] => "",
            [first, .., last] => &self.source.text()[first.start as usize..last.end as usize],
            [only] => &self.source.text()[only.start as usize..only.end as usize],
        }
    }

    /// The source.
    pub(super) const fn source(&self) -> &'s Arc<Source> {
        self.source
    }
}

/// Cuts a list into cells. `is_header` knows the names of columns: the separator that makes most of them out of one line
/// is the right one, and a decimal comma cannot mislead.
///
/// # Errors
/// A list beyond the limits or with an unclosed quote is not cut at all.
pub(super) fn cut<'s>(source: &'s Arc<Source>, is_header: &dyn Fn(&str) -> bool) -> Result<Table<'s>, Box<Problem>> {
    let text = source.text();
    let (separator, start) = match stated_separator(text) {
        Some((separator, start)) => (separator, start),
        None => (likely_separator(text, is_header), 0),
    };
    cut_at(source, separator, start)
}

/// What separates the cells of a list, in words.
pub(super) fn separator_in_words(text: &str, is_header: &dyn Fn(&str) -> bool) -> &'static str {
    let separator =
        stated_separator(text).map_or_else(|| likely_separator(text, is_header), |(separator, _)| separator);
    match separator {
        b';' => "semicolons",
        b'\t' => "tabs",
        b'|' => "bars",
        _ => "commas",
    }
}

/// The separator of a first line `sep=;`, and where the list begins below it.
fn stated_separator(text: &str) -> Option<(u8, usize)> {
    let line = text.split_inclusive('\n').next()?;
    let line_text = line.trim_end_matches(['\r', '\n']).trim_matches('"');
    let stated = line_text.get(..4).filter(|key| key.eq_ignore_ascii_case("sep=")).and(line_text.get(4..))?;
    match stated.as_bytes() {
        [separator] if SEPARATORS.contains(separator) => Some((*separator, line.len())),
        _ => None,
    }
}

fn likely_separator(text: &str, is_header: &dyn Fn(&str) -> bool) -> u8 {
    const LINES: usize = 40;
    const LONGEST_LINE: usize = 20_000;
    let lines: Vec<&str> =
        text.lines().filter(|line| !line.trim().is_empty() && line.len() <= LONGEST_LINE).take(LINES).collect();
    let headers_in = |line: &&str, separator: u8| {
        line.split(char::from(separator)).filter(|cell| is_header(cell.trim().trim_matches('"'))).count()
    };
    // Headers first, then how many lines are cut into the same number of cells as most others.
    let score = |separator: u8| {
        let headers = lines.iter().map(|line| headers_in(line, separator)).max().unwrap_or(0);
        let mut counts: Vec<usize> = lines.iter().map(|line| separators_outside_quotes(line, separator)).collect();
        counts.sort_unstable();
        let steady = counts.chunk_by(|a, b| a == b).filter(|run| run[0] > 0).map(<[usize]>::len).max().unwrap_or(0);
        (headers, steady)
    };
    let mut best = (SEPARATORS[0], (0, 0));
    for separator in SEPARATORS {
        let score = score(separator);
        if score > best.1 {
            best = (separator, score);
        }
    }
    best.0
}

fn separators_outside_quotes(line: &str, separator: u8) -> usize {
    let mut is_quoted = false;
    let mut count = 0;
    for byte in line.bytes() {
        match byte {
            b'"' => is_quoted = !is_quoted,
            _ if byte == separator && !is_quoted => count += 1,
            _ => {}
        }
    }
    count
}

/// Whether a cell begins with a quote that nothing closes; two quotes in a row stand for one.
fn is_unclosed(raw: &str) -> bool {
    let Some(mut inside) = raw.strip_prefix('"') else { return false };
    while let Some(quote) = inside.find('"') {
        match inside[quote + 1..].strip_prefix('"') {
            Some(behind) => inside = behind,
            None => return false,
        }
    }
    true
}

fn cut_at(source: &Arc<Source>, separator: u8, from: usize) -> Result<Table<'_>, Box<Problem>> {
    let text = source.text();
    let mut delimited = Delimited::new(text, separator, from, BeforeQuote::Spaces);
    let mut table = Cells { cells: Vec::with_capacity(text.len() / 8), ..Cells::default() };
    let mut row_start = 0;
    while let Some(Cut { span, ends_row, ends_text }) = delimited.cut() {
        let Range { start, end } = span;
        let raw = &text[start..end];
        let origin = || Origin::new(source, start..end);
        if ends_text && is_unclosed(raw) {
            let first = Origin::new(source, start..start + raw.lines().next().map_or(1, str::len));
            let remedy = "close the quote, or write two quotes `\"\"` where one is meant (for inches: `in`)";
            return Err(Box::new(UNCLOSED_QUOTE.says("this quote is never closed").at(first).remedy(remedy)));
        }
        if delimited.value_bytes() > LONGEST_CELL {
            let characters = delimited.value().chars().count();
            if characters > LONGEST_CELL {
                let what = format!("this cell has {characters} characters, the most is {LONGEST_CELL}");
                let remedy = "shorten it, or close the quote it begins with";
                return Err(Box::new(CELL_TOO_LONG.says(what).at(origin()).remedy(remedy)));
            }
        }
        let mut quoted = NOT_QUOTED;
        if raw.starts_with('"') {
            table.quoted.push(delimited.value().into());
            quoted = (table.quoted.len() - 1) as u32;
        }
        table.cells.push(Cell { start: start as u32, end: end as u32, quoted });
        if table.cells.len() - row_start > MOST_COLUMNS {
            let what = format!("this row has more than {MOST_COLUMNS} cells");
            return Err(Box::new(
                TOO_MANY_COLUMNS.says(what).at(origin()).remedy("is this a list with one row per wire or cavity?"),
            ));
        }
        if ends_row {
            row_start = table.cells.len();
            table.row_ends.push(row_start as u32);
            if table.row_ends.len() > MOST_ROWS {
                let what = format!("this list has more than {MOST_ROWS} rows");
                return Err(Box::new(
                    TOO_MANY_ROWS.says(what).at(origin()).remedy("split the list into several files"),
                ));
            }
        }
    }
    Ok(Table::of(source, Cow::Owned(table)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn values(text: &str) -> Vec<Vec<String>> {
        let source = Source::new("ecu.csv", text);
        let table = cut(&source, &|_| false).expect("within limits");
        (0..table.len()).map(|row| table.row(row).values().map(str::to_owned).collect()).collect()
    }

    #[test]
    fn quotes_line_breaks_and_blank_lines() {
        let text = "a,b\r\n\r\n\"x, \"\"y\"\"\",\"two\nlines\"\n,\nlast,";
        assert_eq!(values(text), [vec!["a", "b"], vec!["x, \"y\"", "two\nlines"], vec!["", ""], vec!["last", ""]]);
    }

    #[test]
    fn origins_are_exact() {
        let source = Source::new("ecu.csv", "a,b\r\n\r\n\"x\"\"\",\"two\nlines\"\n é , 17 \nend");
        let table = cut(&source, &|_| false).expect("within limits");
        let shown = |row, column| table.origin(row, column).to_string();
        assert_eq!(shown(0, 1), "ecu.csv:1:3");
        assert_eq!(shown(1, 0), "ecu.csv:3:1");
        assert_eq!(shown(1, 1), "ecu.csv:3:7");
        assert_eq!(shown(2, 1), "ecu.csv:5:6");
        assert_eq!(shown(3, 0), "ecu.csv:6:1");
    }

    #[test]
    fn separators_are_found() {
        for separator in [',', ';', '\t', '|'] {
            let text = "cavity,size\n14,0.75\n15,1.5\n".replace(',', &separator.to_string());
            assert_eq!(values(&text)[1], ["14", "0.75"], "{separator}");
        }
        let source = Source::new("ecu.csv", "cavity;size\n14;0,75\n15;1,5\n16;2,5\n");
        let table = cut(&source, &|cell| cell == "cavity").expect("within limits");
        assert_eq!(table.row(1).value(1), "0,75");
        assert_eq!(values("sep=|\na,1|b\n"), [["a,1", "b"]]);
        assert_eq!(values("only\none\ncolumn\n").len(), 3);
    }

    #[test]
    fn limits_are_told() {
        let id = |text: String| cut(&Source::new("ecu.csv", text), &|_| false).expect_err("beyond a limit").id;
        assert_eq!(id("x".repeat(LONGEST_CELL + 1)), "cell-too-long");
        assert_eq!(id(",".repeat(MOST_COLUMNS + 1)), "too-many-columns");
        assert_eq!(id("x\n".repeat(MOST_ROWS + 1)), "too-many-rows");
        assert_eq!(id("a,\"b\nc,d\n".to_owned()), "unclosed-quote");
    }

    proptest! {
        /// The span of every cell, read again as a list of its own, gives the cell's value.
        #[test]
        fn spans_reread_to_their_values(text in "[a,;\"\r\n é]{0,60}", separator in 0_usize..2) {
            let source = Source::new("x", text);
            let Ok(table) = cut_at(&source, SEPARATORS[separator], 0) else { return Ok(()) };
            let mut behind = 0;
            for cell in &table.cells.cells {
                prop_assert!(cell.start as usize >= behind && cell.end >= cell.start);
                behind = cell.end as usize;
                let raw = cell.raw(source.text());
                let again = Source::new("x", format!("-{}{raw}", char::from(SEPARATORS[separator])));
                let again = cut_at(&again, SEPARATORS[separator], 0).map_err(|problem| TestCaseError::fail(problem.message))?;
                prop_assert_eq!(again.len(), 1);
                prop_assert_eq!(again.value(&again.cells.cells[1]), table.value(cell));
                prop_assert_eq!(again.row(0).len(), 2);
            }
            // What lies between the cells is separators and line breaks alone, and spaces before quotes.
            let covered: usize = table.cells.cells.iter().map(|cell| (cell.end - cell.start) as usize).sum();
            let outside = source.text().len() - covered;
            prop_assert!(outside <= source.text().matches([char::from(SEPARATORS[separator]), '\r', '\n', ' ']).count());
        }
    }
}
