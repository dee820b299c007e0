//! A list as it stands in its file, beside how its columns are understood: for a person to judge, and to put right.

use super::cells::Table;
use super::headers::{self, Column, TableKind};
use super::problems::UNREADABLE_FILE;
use super::{Form, List, inputs, workbook};
use crate::base::Source;
use crate::base::{Origin, Problem};

/// A list, or a sheet of a workbook, as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Standing {
    /// The sheet, in a workbook.
    pub sheet: Option<String>,
    /// How its rows are meant; `None` where no header is known, so that it is not read.
    pub form: Option<Form>,
    /// Its columns, in its order. Where no header is known, those of the row that has most cells.
    pub columns: Vec<TheirColumn>,
    /// The line of the headers, from 1; the lower one of two.
    pub header_line: usize,
    /// How many rows stand below the headers, blank ones left out.
    pub count: usize,
    /// The first rows below the headers.
    pub rows: Vec<StandingRow>,
}

/// A column of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TheirColumn {
    /// Its header; blank where it has none.
    pub header: String,
    /// Our column that it is read as.
    pub ours: Option<&'static str>,
    /// Our column that its header may mean, where it is not read.
    pub guess: Option<&'static str>,
}

/// A row as it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StandingRow {
    /// Its line, from 1; in a workbook the row.
    pub line: usize,
    /// Its cells, as many as it has.
    pub cells: Vec<String>,
}

/// Most characters of a cell that are shown.
const LONGEST: usize = 120;

/// The list as it stands, or its sheets that are read, with `most` rows each. `None` of what cannot be read at all: reading it says
/// why.
pub fn standing(list: &List, most: usize) -> Vec<Standing> {
    of_kind(list, TableKind::List, most)
}

/// The same of connectors.csv.
pub fn standing_connectors(list: &List, most: usize) -> Vec<Standing> {
    of_kind(list, TableKind::Connectors, most)
}

fn of_kind(list: &List, kind: TableKind, most: usize) -> Vec<Standing> {
    let mut ignored = Vec::new();
    let inputs = inputs::read(std::slice::from_ref(list), kind, &mut ignored);
    inputs.iter().filter_map(|input| of_input(list, input, kind, most)).collect()
}

fn of_input(list: &List, input: &inputs::Input<'_>, kind: TableKind, most: usize) -> Option<Standing> {
    let table = input.table(kind)?;
    let mut problems = Vec::new();
    let sheet = input.find_columns(kind, &mut problems);
    let (form, header_row, columns) = match &sheet {
        Some(sheet) => {
            let columns = sheet.columns();
            let read = |at: usize| Column::ALL.iter().copied().find(|&column| columns.at(column) == Some(at));
            let mut taken: Vec<Column> =
                Column::ALL.iter().copied().filter(|&column| columns.at(column).is_some()).collect();
            let mut theirs = Vec::with_capacity(columns.width());
            for at in 0..columns.width() {
                let (header, ours) = (columns.header(at), read(at));
                let is_ignored = list.settings.ignored.iter().any(|own| headers::is_same(header, own));
                let is_free = |column: Column| !taken.contains(&column) && column.is_of(sheet.form());
                let is_open = ours.is_none() && !is_ignored && !header.is_empty() && kind == TableKind::List;
                let guess = if is_open { headers::guess(header, &is_free) } else { None };
                taken.extend(guess);
                let (ours, guess) = (ours.map(Column::name), guess.map(Column::name));
                theirs.push(TheirColumn { header: header.to_owned(), ours, guess });
            }
            (Some(sheet.form()), columns.header_row(), theirs)
        }
        None => {
            let row = fullest_row(&table)?;
            let header = |header: &str| TheirColumn { header: header.to_owned(), ours: None, guess: None };
            (None, row, table.row(row).values().map(header).collect())
        }
    };
    let is_filled = |&row: &usize| table.row(row).values().any(|value| !value.is_empty());
    let line = |row: usize| table.origin(row, 0).line().unwrap_or(row + 1);
    let shown = |row: usize| StandingRow {
        line: line(row),
        cells: table.row(row).values().map(|value| value.chars().take(LONGEST).collect()).collect(),
    };
    Some(Standing {
        sheet: input.source().sheet_name().map(str::to_owned),
        form,
        columns,
        header_line: line(header_row),
        count: (header_row + 1..table.len()).filter(is_filled).count(),
        rows: (header_row + 1..table.len()).filter(is_filled).take(most).map(shown).collect(),
    })
}

/// The row among the first that has most filled cells: likely its headers, where none is known.
fn fullest_row(table: &Table<'_>) -> Option<usize> {
    const ROWS: usize = 40;
    let filled = |row: usize| table.row(row).values().filter(|value| !value.is_empty()).count();
    (0..table.len().min(ROWS)).rev().max_by_key(|&row| filled(row))
}

/// The sheets of a workbook and whether each is hidden; none of a list in text form.
///
/// # Errors
/// Why it cannot be read.
pub fn sheet_names(list: &List) -> Result<Vec<(String, bool)>, Box<Problem>> {
    if !workbook::is_workbook(&list.bytes) {
        return Ok(Vec::new());
    }
    let sheets = workbook::read(&list.name, &list.bytes, &|_, _| false)?;
    if sheets.is_empty() {
        let origin = Origin::whole(&Source::new(&list.name, ""));
        let problem = UNREADABLE_FILE.says(format!("`{}` has no sheets", list.name)).at(origin);
        return Err(Box::new(problem.remedy("save it anew from the program it comes from")));
    }
    Ok(sheets.into_iter().map(|sheet| (sheet.name, sheet.is_hidden)).collect())
}
