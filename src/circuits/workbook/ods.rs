//! Parts -> cells of an ODS workbook (OpenDocument 1.3): values, never formulas, in one walk over all sheets. Rows and cells
//! that stand once for many are counted before they are written out.

use std::collections::HashSet;

use quick_xml::events::{BytesStart, Event};

use super::grid::Grid;
use super::numbers::{iso_date, plain};
use super::package::{MOST_SHEETS, Package, Part, Trouble, attribute, number, push_text, raw};
use crate::circuits::cells::{MOST_COLUMNS, Merged, Oddity};

/// The part that holds the sheets.
pub(super) const CONTENT: &str = "content.xml";
const KIND: &[u8] = b"application/vnd.oasis.opendocument.spreadsheet";

/// Whether a package is an ODS workbook.
pub(super) fn is_one(package: &mut Package<'_>) -> Result<bool, Trouble> {
    let kind = package.start_of("mimetype")?;
    Ok(kind.is_some_and(|kind| kind.starts_with(KIND)) && package.has(CONTENT))
}

/// Whether a password protects it: then it is a workbook only by its list of parts.
pub(super) fn is_encrypted(package: &mut Package<'_>) -> Result<bool, Trouble> {
    if package.has("encrypted-package") {
        return Ok(true);
    }
    let Some(mut part) = package.part("META-INF/manifest.xml")? else { return Ok(false) };
    loop {
        match part.next()? {
            Event::Start(element) | Event::Empty(element) if element.name().0 == "manifest:encryption-data" => {
                return Ok(true);
            }
            Event::Eof => return Ok(false),
            _ => {}
        }
    }
}

/// Walks over all sheets: `each` gets the name of one, whether it is hidden, and the sheet itself, to be read or not.
pub(super) fn walk(
    package: &mut Package<'_>,
    mut each: impl FnMut(String, bool, &mut Table<'_, '_>) -> Result<(), Trouble>,
) -> Result<(), Trouble> {
    let mut part = package.part(CONTENT)?.ok_or_else(|| Trouble::damaged("it has no list of sheets"))?;
    let (mut hidden, mut style, mut count) = (HashSet::new(), String::new(), 0);
    loop {
        match part.next()? {
            Event::Start(element) if element.name().0 == "table:table" => {
                count += 1;
                if count > MOST_SHEETS {
                    return Err(Trouble::too_many_sheets());
                }
                let name = attribute(&element, "table:name").unwrap_or_default();
                let is_hidden = raw(&element, "table:style-name").is_some_and(|style| hidden.contains(style));
                let mut table = Table { part: &mut part, is_open: true };
                each(name, is_hidden, &mut table)?;
                table.skip()?;
            }
            Event::Start(element) | Event::Empty(element) => match element.name().0 {
                "style:style" => style = raw(&element, "style:name").unwrap_or_default().to_owned(),
                "style:table-properties" if raw(&element, "table:display") == Some("false") => {
                    hidden.insert(std::mem::take(&mut style));
                }
                _ => {}
            },
            Event::Eof => return Ok(()),
            _ => {}
        }
    }
}

/// A sheet whose start was read.
pub(super) struct Table<'t, 'p> {
    part: &'t mut Part<'p>,
    is_open: bool,
}

impl Table<'_, '_> {
    /// Skips what was not read of it.
    fn skip(&mut self) -> Result<(), Trouble> {
        if self.is_open { self.part.skip() } else { Ok(()) }
    }

    /// Reads its cells.
    pub(super) fn read(&mut self, grid: &mut Grid<'_>) -> Result<(), Trouble> {
        let (mut row, mut depth) = (0_u32, 0_usize);
        let mut text = String::new();
        loop {
            match self.part.next()? {
                Event::Start(element) => match element.name().0 {
                    "table:table-row" => {
                        let times = number(&element, "table:number-rows-repeated").unwrap_or(1).max(1);
                        let has_cells = read_row(self.part, row, grid, &mut text)?;
                        grid.end_row(row)?;
                        if has_cells {
                            for again in 1..times {
                                grid.repeat_row(row.saturating_add(again))?;
                            }
                        }
                        row = row.saturating_add(times);
                    }
                    // Groups of rows, and rows that repeat on each page.
                    "table:table-header-rows" | "table:table-row-group" | "table:table-rows" => depth += 1,
                    _ => self.part.skip()?,
                },
                Event::Empty(element) if element.name().0 == "table:table-row" => {
                    row = row.saturating_add(number(&element, "table:number-rows-repeated").unwrap_or(1).max(1));
                }
                Event::End(_) if depth == 0 => {
                    self.is_open = false;
                    return Ok(());
                }
                Event::End(_) => depth -= 1,
                Event::Eof => return Err(Trouble::damaged("it ends too early")),
                _ => {}
            }
        }
    }
}

/// What the start of a cell says of it.
struct Start {
    kind: Kind,
    value: String,
    has_formula: bool,
    times: u32,
    merged: (u32, u32),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Text,
    Number,
    Date,
    Truth,
    Error,
    /// No value is stated.
    None,
}

impl Start {
    fn of(element: &BytesStart<'_>) -> Self {
        let is_error = raw(element, "calcext:value-type") == Some("error");
        let (kind, value) = match raw(element, "office:value-type") {
            _ if is_error => (Kind::Error, None),
            Some("string") => (Kind::Text, attribute(element, "office:string-value")),
            Some("float" | "percentage" | "currency") => (Kind::Number, attribute(element, "office:value")),
            Some("date") => (Kind::Date, attribute(element, "office:date-value")),
            Some("time") => (Kind::Date, attribute(element, "office:time-value")),
            Some("boolean") => (Kind::Truth, attribute(element, "office:boolean-value")),
            _ => (Kind::None, None),
        };
        let count = |name| number(element, name).unwrap_or(1).max(1);
        Self {
            kind,
            value: value.unwrap_or_default(),
            has_formula: raw(element, "table:formula").is_some(),
            times: count("table:number-columns-repeated"),
            merged: (count("table:number-rows-spanned"), count("table:number-columns-spanned")),
        }
    }
}

/// Reads the cells of a row whose start was read. Whether anything stands in them is the answer.
fn read_row(part: &mut Part<'_>, row: u32, grid: &mut Grid<'_>, text: &mut String) -> Result<bool, Trouble> {
    let (mut column, mut has_cells) = (0_u32, false);
    loop {
        let (start, is_whole) = match part.next()? {
            Event::Start(element) if is_cell(&element) => (Start::of(&element), false),
            Event::Empty(element) if is_cell(&element) => (Start::of(&element), true),
            Event::Start(_) => {
                part.skip()?;
                continue;
            }
            Event::End(_) => return Ok(has_cells),
            Event::Eof => return Err(Trouble::damaged("it ends too early")),
            _ => continue,
        };
        text.clear();
        if !is_whole {
            read_text(part, text)?;
        }
        let odd = settle(&start, text);
        if start.merged != (1, 1) {
            let (rows, columns) = start.merged;
            grid.merge(Merged { row, column, rows, columns });
        }
        if !text.trim().is_empty() || odd.is_some() {
            has_cells = true;
            // One more than may be, so that it is told.
            for again in 0..start.times.min(MOST_COLUMNS as u32 + 1) {
                grid.cell(row, column.saturating_add(again), text, odd)?;
            }
        }
        column = column.saturating_add(start.times);
    }
}

fn is_cell(element: &BytesStart<'_>) -> bool {
    matches!(element.name().0, "table:table-cell" | "table:covered-table-cell")
}

/// Makes of the text that a cell shows what counts; numbers by their value, as they may be shown rounded.
fn settle(start: &Start, text: &mut String) -> Option<Oddity> {
    match start.kind {
        Kind::Text => {
            if text.is_empty() {
                text.push_str(&start.value);
            }
            None
        }
        Kind::None => (start.has_formula && text.trim().is_empty()).then_some(Oddity::NoValue),
        Kind::Number => {
            let Ok(number) = start.value.trim().parse::<f64>() else { return None };
            let has_exponent = text.contains(['E', 'e']) && text.trim().parse::<f64>().is_ok();
            // Zeros in front and at the end are the cell's format: the value has none.
            let shown = text.trim().replace(',', ".");
            let is_digits = shown.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
            if !has_exponent {
                text.clear();
                text.push_str(&if is_digits && shown.parse() == Ok(number) { shown } else { plain(number) });
            }
            has_exponent.then_some(Oddity::Exponent)
        }
        Kind::Date => {
            text.clear();
            text.push_str(&iso_date(&start.value));
            Some(Oddity::Date)
        }
        Kind::Truth => {
            text.clear();
            text.push_str(if start.value == "true" { "TRUE" } else { "FALSE" });
            Some(Oddity::Truth)
        }
        Kind::Error => Some(Oddity::Error),
    }
}

/// Reads the text of a cell whose start was read: its paragraphs, one a line, without comments and drawings.
fn read_text(part: &mut Part<'_>, text: &mut String) -> Result<(), Trouble> {
    let (mut depth, mut paragraphs, mut in_paragraph) = (0_usize, 0, 0_usize);
    loop {
        match part.next()? {
            Event::Start(element) => match element.name().0 {
                "text:p" | "text:h" => {
                    if paragraphs > 0 {
                        text.push('\n');
                    }
                    paragraphs += 1;
                    depth += 1;
                    in_paragraph = depth;
                }
                "text:s" => {
                    push_spaces(&element, text);
                    depth += 1;
                }
                "text:tab" | "text:line-break" => {
                    text.push(if element.name().0 == "text:tab" { '\t' } else { '\n' });
                    depth += 1;
                }
                name if name.starts_with("text:") => depth += 1,
                _ => part.skip()?,
            },
            Event::Empty(element) => match element.name().0 {
                "text:p" | "text:h" => {
                    if paragraphs > 0 {
                        text.push('\n');
                    }
                    paragraphs += 1;
                }
                "text:s" => push_spaces(&element, text),
                "text:tab" => text.push('\t'),
                "text:line-break" => text.push('\n'),
                _ => {}
            },
            Event::End(_) if depth == 0 => return Ok(()),
            Event::End(_) => {
                if depth == in_paragraph {
                    in_paragraph = 0;
                }
                depth -= 1;
            }
            Event::Eof => return Err(Trouble::damaged("it ends too early")),
            event if in_paragraph > 0 => push_text(&event, text),
            _ => {}
        }
    }
}

fn push_spaces(element: &BytesStart<'_>, text: &mut String) {
    const MOST: u32 = 1_000;
    let count = number(element, "text:c").unwrap_or(1).min(MOST);
    text.extend(std::iter::repeat_n(' ', count as usize));
}
