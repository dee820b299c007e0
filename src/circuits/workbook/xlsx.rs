//! Parts -> cells of an XLSX workbook (ECMA-376): values, never formulas, in one walk over each sheet.

use std::collections::HashMap;

use quick_xml::events::{BytesStart, Event};

use super::grid::Grid;
use super::numbers::{DaysFrom, Shown, iso_date, shown};
use super::package::{MOST_PARTS, MOST_SHEETS, Package, Part, Trouble, attribute, attributes, number, push_text, raw};
use crate::circuits::cells::{Merged, Oddity};

/// Where the workbook is unless the package says otherwise.
const USUAL_PLACE: &str = "xl/workbook.xml";

/// Most formats of cells that are kept; spreadsheet programs have about as many.
const MOST_FORMATS: usize = 65_536;

/// What all sheets of a workbook share.
pub(super) struct Xlsx {
    pub(super) sheets: Vec<SheetPart>,
    strings: Strings,
    formats: Vec<Shown>,
    days: DaysFrom,
}

/// A sheet and its part.
pub(super) struct SheetPart {
    pub(super) name: String,
    pub(super) is_hidden: bool,
    part: String,
}

/// Texts that cells refer to, one behind the other.
#[derive(Default)]
struct Strings {
    text: String,
    ends: Vec<u32>,
}

impl Strings {
    fn get(&self, index: usize) -> Option<&str> {
        let end = *self.ends.get(index)? as usize;
        let start = index.checked_sub(1).map_or(0, |above| self.ends[above] as usize);
        self.text.get(start..end)
    }
}

/// The name of an element without its prefix; writers choose prefixes as they like.
fn local<'e>(element: &'e BytesStart<'_>) -> &'e str {
    element.local_name().into_inner()
}

/// Where the part of the workbook is, in a package that has one.
pub(super) fn place(package: &mut Package<'_>) -> Result<Option<String>, Trouble> {
    let all = relations(package, "_rels/.rels")?;
    let named = all.into_values().find(|relation| relation.kind == "officeDocument").map(|relation| relation.target);
    let place = named.filter(|name| package.has(name)).unwrap_or_else(|| USUAL_PLACE.to_owned());
    Ok(package.has(&place).then_some(place))
}

impl Xlsx {
    /// Reads what all sheets share.
    pub(super) fn open(package: &mut Package<'_>, place: &str) -> Result<Self, Trouble> {
        let (folder, file) = place.rsplit_once('/').unwrap_or(("", place));
        let inside = |target: &str| match target.strip_prefix('/') {
            Some(from_top) => from_top.to_owned(),
            None => resolved(folder, target),
        };
        let relations = relations(package, &resolved(folder, &format!("_rels/{file}.rels")))?;
        let of_kind = |kind: &str| relations.values().find(|relation| relation.kind == kind);
        let (mut sheets, mut days) = (Vec::new(), DaysFrom::default());
        let mut part = package.part(place)?.ok_or_else(|| Trouble::damaged("it has no list of sheets"))?;
        loop {
            match part.next()? {
                Event::Start(element) | Event::Empty(element) => match local(&element) {
                    "workbookPr" if raw(&element, "date1904").is_some_and(is_true) => days = DaysFrom::Year1904,
                    "sheet" => {
                        let name = attribute(&element, "name").unwrap_or_default();
                        let id = attributes(&element).find(|(key, _)| key.ends_with(":id"));
                        let id = id.map(|(_, id)| id).unwrap_or_default();
                        let is_hidden = raw(&element, "state").is_some_and(|state| state != "visible");
                        // Chart sheets and the like hold no cells.
                        if let Some(relation) = relations.get(id).filter(|relation| relation.kind == "worksheet") {
                            sheets.push(SheetPart { name, is_hidden, part: inside(&relation.target) });
                            if sheets.len() > MOST_SHEETS {
                                return Err(Trouble::too_many_sheets());
                            }
                        }
                    }
                    _ => {}
                },
                Event::Eof => break,
                _ => {}
            }
        }
        drop(part);
        let strings = match of_kind("sharedStrings") {
            Some(relation) => strings(package, &inside(&relation.target))?,
            None => Strings::default(),
        };
        let formats = match of_kind("styles") {
            Some(relation) => formats(package, &inside(&relation.target))?,
            None => Vec::new(),
        };
        Ok(Self { sheets, strings, formats, days })
    }

    /// Reads the cells of a sheet.
    pub(super) fn read(&self, package: &mut Package<'_>, sheet: usize, grid: &mut Grid<'_>) -> Result<(), Trouble> {
        let part = package.part(&self.sheets[sheet].part)?;
        let mut part = part.ok_or_else(|| Trouble::damaged("the part of a sheet is missing"))?;
        let (mut row, mut column) = (0_u32, 0_u32);
        let (mut value, mut number_text, mut is_among_cells) = (String::new(), String::new(), false);
        loop {
            match part.next()? {
                Event::Start(element) => match local(&element) {
                    "sheetData" => is_among_cells = true,
                    "mergeCell" => merge(&element, grid),
                    _ if !is_among_cells => {}
                    "row" => {
                        row = number(&element, "r").map_or(row, |number| number.saturating_sub(1));
                        column = 0;
                    }
                    "c" => {
                        let place = raw(&element, "r").and_then(position);
                        (row, column) = place.unwrap_or((row, column));
                        let kind = Kind::of(raw(&element, "t"));
                        let style = number(&element, "s").unwrap_or(0) as usize;
                        let has_formula = read_cell(&mut part, kind, &mut value)?;
                        let without_value = has_formula.then_some(Oddity::NoValue);
                        let odd = self.settle((kind, style), without_value, &mut value, &mut number_text)?;
                        grid.cell(row, column, &value, odd)?;
                        column = column.saturating_add(1);
                    }
                    _ => {}
                },
                Event::Empty(element) => match local(&element) {
                    "mergeCell" => merge(&element, grid),
                    _ if !is_among_cells => {}
                    "c" => {
                        let place = raw(&element, "r").and_then(position);
                        column = place.map_or(column, |(_, column)| column).saturating_add(1);
                    }
                    "row" => row = number(&element, "r").unwrap_or(row.saturating_add(1)),
                    _ => {}
                },
                Event::End(element) => match element.local_name().into_inner() {
                    "row" if is_among_cells => {
                        grid.end_row(row)?;
                        row = row.saturating_add(1);
                    }
                    "sheetData" => is_among_cells = false,
                    _ => {}
                },
                Event::Eof => return Ok(()),
                _ => {}
            }
        }
    }

    /// Makes of what stands in a cell what people see there; `without_value` is what is odd where nothing does.
    fn settle(
        &self,
        (kind, style): (Kind, usize),
        without_value: Option<Oddity>,
        value: &mut String,
        number_text: &mut String,
    ) -> Result<Option<Oddity>, Trouble> {
        match kind {
            Kind::Shared => {
                if value.trim().is_empty() {
                    return Ok(without_value);
                }
                let text = value.trim().parse().ok().and_then(|index| self.strings.get(index));
                let text = text.ok_or_else(|| Trouble::damaged("a cell refers to a text that is not there"))?;
                value.clear();
                value.push_str(text);
                Ok(None)
            }
            Kind::Inline | Kind::Text => {
                unescape(value);
                Ok(None)
            }
            Kind::Truth => {
                let text = if is_true(value.trim()) { "TRUE" } else { "FALSE" };
                value.clear();
                value.push_str(text);
                Ok(Some(Oddity::Truth))
            }
            Kind::Error => Ok(Some(Oddity::Error)),
            Kind::Date => {
                *value = iso_date(value);
                Ok(Some(Oddity::Date))
            }
            Kind::Number => {
                let trimmed = value.trim();
                if trimmed.is_empty() {
                    return Ok(without_value);
                }
                let format = self.formats.get(style).copied().unwrap_or(Shown::Plain);
                // Short whole numbers, most of all numbers, stand as people see them.
                if format == Shown::Plain && trimmed.len() < 10 && trimmed.bytes().all(|digit| digit.is_ascii_digit()) {
                    return Ok(None);
                }
                let Ok(number) = trimmed.parse::<f64>() else { return Ok(None) };
                number_text.clear();
                number_text.push_str(&shown(number, format, self.days));
                std::mem::swap(value, number_text);
                Ok(match format {
                    Shown::Date => Some(Oddity::Date),
                    Shown::Exponent => Some(Oddity::Exponent),
                    Shown::Plain | Shown::Padded(_) | Shown::Decimals(_) => None,
                })
            }
        }
    }
}

/// What stands in a cell (ECMA-376 part 1, 18.18.11).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kind {
    Number,
    Shared,
    Inline,
    Text,
    Truth,
    Error,
    Date,
}

impl Kind {
    fn of(letter: Option<&str>) -> Self {
        match letter {
            Some("s") => Self::Shared,
            Some("inlineStr") => Self::Inline,
            Some("str") => Self::Text,
            Some("b") => Self::Truth,
            Some("e") => Self::Error,
            Some("d") => Self::Date,
            _ => Self::Number,
        }
    }
}

/// Reads the value of a cell whose start was read. Whether it has a formula is the answer.
fn read_cell(part: &mut Part<'_>, kind: Kind, value: &mut String) -> Result<bool, Trouble> {
    value.clear();
    let (mut has_formula, mut is_value) = (false, false);
    loop {
        match part.next()? {
            Event::Start(element) => match local(&element) {
                "v" => is_value = kind != Kind::Inline,
                "f" => has_formula = true,
                "is" if kind == Kind::Inline => {
                    read_rich_text(part, value)?;
                }
                _ => {}
            },
            Event::Empty(element) => has_formula |= local(&element) == "f",
            Event::End(element) => match element.local_name().into_inner() {
                "c" => return Ok(has_formula),
                "v" => is_value = false,
                _ => {}
            },
            Event::Eof => return Err(Trouble::damaged("it ends too early")),
            text if is_value => push_text(&text, value),
            _ => {}
        }
    }
}

/// Adds the text of an element that holds text or runs of text; not how it is spoken, which East Asian texts hold too.
fn read_rich_text(part: &mut Part<'_>, text: &mut String) -> Result<(), Trouble> {
    let (mut depth, mut is_text) = (0_usize, false);
    loop {
        match part.next()? {
            Event::Start(element) => match local(&element) {
                "rPh" => part.skip()?,
                name => {
                    is_text = name == "t";
                    depth += 1;
                }
            },
            Event::End(_) if depth == 0 => return Ok(()),
            Event::End(_) => {
                is_text = false;
                depth -= 1;
            }
            Event::Eof => return Err(Trouble::damaged("it ends too early")),
            event if is_text => push_text(&event, text),
            _ => {}
        }
    }
}

fn strings(package: &mut Package<'_>, name: &str) -> Result<Strings, Trouble> {
    let mut strings = Strings::default();
    let Some(mut part) = package.part(name)? else { return Ok(strings) };
    let mut text = String::new();
    loop {
        match part.next()? {
            Event::Start(element) if local(&element) == "si" => {
                text.clear();
                read_rich_text(&mut part, &mut text)?;
                unescape(&mut text);
                strings.text.push_str(&text);
                strings.ends.push(strings.text.len() as u32);
            }
            Event::Empty(element) if local(&element) == "si" => strings.ends.push(strings.text.len() as u32),
            Event::Eof => return Ok(strings),
            _ => {}
        }
    }
}

/// How the cells of each style show numbers.
fn formats(package: &mut Package<'_>, name: &str) -> Result<Vec<Shown>, Trouble> {
    let (mut defined, mut formats, mut is_cells) = (HashMap::new(), Vec::new(), false);
    let Some(mut part) = package.part(name)? else { return Ok(formats) };
    loop {
        match part.next()? {
            Event::Start(element) | Event::Empty(element) => match local(&element) {
                "numFmt" if defined.len() < MOST_FORMATS => {
                    if let (Some(id), Some(code)) = (number(&element, "numFmtId"), attribute(&element, "formatCode")) {
                        defined.insert(id, Shown::by_definition(&code));
                    }
                }
                "cellXfs" => is_cells = true,
                "xf" if is_cells && formats.len() < MOST_FORMATS => {
                    let id = number(&element, "numFmtId").unwrap_or(0);
                    formats.push(defined.get(&id).copied().unwrap_or(Shown::by_number(id)));
                }
                _ => {}
            },
            Event::End(element) if element.local_name().into_inner() == "cellXfs" => is_cells = false,
            Event::Eof => return Ok(formats),
            _ => {}
        }
    }
}

/// What one part says of another.
struct Relation {
    kind: String,
    target: String,
}

fn relations(package: &mut Package<'_>, name: &str) -> Result<HashMap<String, Relation>, Trouble> {
    let mut relations = HashMap::new();
    let Some(mut part) = package.part(name)? else { return Ok(relations) };
    loop {
        match part.next()? {
            Event::Start(element) | Event::Empty(element) if local(&element) == "Relationship" => {
                let kind = attribute(&element, "Type").unwrap_or_default();
                let kind = kind.rsplit('/').next().unwrap_or_default().to_owned();
                let target = attribute(&element, "Target").unwrap_or_default();
                if relations.len() > MOST_PARTS {
                    return Err(Trouble::damaged("it has too many parts"));
                }
                relations.insert(attribute(&element, "Id").unwrap_or_default(), Relation { kind, target });
            }
            Event::Eof => return Ok(relations),
            _ => {}
        }
    }
}

/// A path from a folder of the package on.
fn resolved(folder: &str, target: &str) -> String {
    let mut parts: Vec<&str> = folder.split('/').filter(|part| !part.is_empty()).collect();
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => _ = parts.pop(),
            part => parts.push(part),
        }
    }
    parts.join("/")
}

fn is_true(value: &str) -> bool {
    matches!(value, "1" | "true" | "on")
}

/// Row and column from a name such as `D14`, both from 0.
fn position(name: &str) -> Option<(u32, u32)> {
    let letters = name.bytes().take_while(u8::is_ascii_alphabetic).count();
    if !(1..=3).contains(&letters) {
        return None;
    }
    let column = name[..letters]
        .bytes()
        .fold(0, |column, letter| column * 26 + u32::from(letter.to_ascii_uppercase() - b'A') + 1);
    let row: u32 = name[letters..].parse().ok()?;
    Some((row.checked_sub(1)?, column - 1))
}

fn merge(element: &BytesStart<'_>, grid: &mut Grid<'_>) {
    let Some((from, to)) = raw(element, "ref").and_then(|range| range.split_once(':')) else { return };
    let (Some((row, column)), Some((last_row, last_column))) = (position(from), position(to)) else { return };
    if last_row >= row && last_column >= column {
        grid.merge(Merged { row, column, rows: last_row - row + 1, columns: last_column - column + 1 });
    }
}

/// Characters that XML cannot hold stand as `_x000D_` (ECMA-376 part 1, 22.4.2.4); carriage returns of line breaks go.
fn unescape(text: &mut String) {
    if !text.contains("_x") {
        return;
    }
    let mut plain = String::with_capacity(text.len());
    let mut rest = text.as_str();
    while let Some(at) = rest.find("_x") {
        plain.push_str(&rest[..at]);
        let code = rest.get(at + 2..at + 6).filter(|_| rest.as_bytes().get(at + 6) == Some(&b'_'));
        let character = code.filter(|code| code.bytes().all(|digit| digit.is_ascii_hexdigit()));
        let character = character.and_then(|code| char::from_u32(u32::from_str_radix(code, 16).ok()?));
        match character {
            Some('\r') => rest = &rest[at + 7..],
            Some(character) => {
                plain.push(character);
                rest = &rest[at + 7..];
            }
            None => {
                plain.push_str("_x");
                rest = &rest[at + 2..];
            }
        }
    }
    plain.push_str(rest);
    *text = plain;
}
