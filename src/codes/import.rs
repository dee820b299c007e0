//! An export -> the tables of a register: every cell looked at, every problem told with its file, row and column, and the
//! register that the rows make up tried in memory before a file is touched.

use std::collections::{BTreeMap, HashSet};
use std::path::Path;

use jiff::Timestamp;
use rusqlite::Connection;

use super::csv_text::{Cell, Sheet};
use super::export::{self, ABOUT_COLUMNS, ABOUT_FILE, ABOUT_TIME, ABOUT_VERSION, ExportFile};
use super::failure::RegisterFailure;
use super::problems::{
    EXPORT_CELL, EXPORT_CHANGED, EXPORT_COLUMNS, EXPORT_INCOMPLETE, EXPORT_NEWER, EXPORT_ROW, NOT_AN_EXPORT,
};
use super::register::Register;
use super::safe_cell::bare;
use super::tables::{self, Column, Kind, Shape, Table, Value};
use super::{known, mint, schema};
use crate::base::{Checked, Origin, Problem, Source, TagCode};

/// Problems of one file that are told; behind these it is not read on.
const MOST_PROBLEMS: usize = 50;

/// An export that was read and tried.
#[derive(Debug)]
pub struct Import {
    /// When it was written.
    pub exported: Timestamp,
    /// The register that it makes up, in memory, brought up to the newest version.
    pub register: Register,
}

/// Reads the files of an export. The value is `None` when an error stands.
///
/// # Errors
/// When there is no memory for it.
pub fn read(files: Vec<ExportFile>) -> Result<Checked<Option<Import>>, RegisterFailure> {
    let mut problems = Vec::new();
    let import = Reading { files, problems: &mut problems }.import();
    let value = match import {
        Ok(import) => import,
        Err(error) => return Err(RegisterFailure::from_database(Path::new(":memory:"), error)),
    };
    Ok(Checked { value, problems })
}

/// When an export was written; `None` where its about.csv does not say.
pub fn written_at(about: &[u8]) -> Option<Timestamp> {
    let sheet = Sheet::read(ABOUT_FILE, about).ok()?;
    let row = sheet.rows.iter().find(|row| row.first().is_some_and(|cell| cell.text == ABOUT_TIME))?;
    row.get(1)?.text.trim().parse().ok()
}

/// What about.csv tells.
struct About {
    sheet: Sheet,
    version: i64,
    exported: Timestamp,
    /// For each other row, by what it is about, its index.
    rows: BTreeMap<String, usize>,
}

struct Reading<'p> {
    files: Vec<ExportFile>,
    problems: &'p mut Vec<Problem>,
}

/// A table with the sheet it was read from; row `n` of the table is row `n + 1` of the sheet.
struct Read {
    table: Table,
    sheet: Sheet,
}

impl Reading<'_> {
    fn import(mut self) -> rusqlite::Result<Option<Import>> {
        let Some(about) = self.about() else { return Ok(None) };
        let mut connection = Connection::open_in_memory()?;
        schema::migrate_to(&mut connection, about.version)?;
        let shapes = tables::shapes(&connection)?;
        let read: Vec<Read> = shapes.into_iter().filter_map(|shape| self.table(shape, &about)).collect();
        if !self.problems.is_empty() {
            return Ok(None);
        }
        self.references(&read);
        self.codes(&read);
        if self.problems.is_empty() {
            self.insert(&connection, &read)?;
        }
        if !self.problems.is_empty() {
            return Ok(None);
        }
        schema::migrate_to(&mut connection, schema::VERSION)?;
        // What is left is whether circuits, codes, ends and letters make sense together.
        if let Err(failure) = known::read(&connection, Path::new(ABOUT_FILE), None) {
            let what = match failure {
                RegisterFailure::Damaged { what, .. } => what,
                other => other.to_string(),
            };
            self.problems
                .push(EXPORT_ROW.says(format!("the rows do not make up a register: {what}")).remedy(TAKE_ANOTHER));
            return Ok(None);
        }
        let register = Register::of_memory(connection)?;
        Ok(Some(Import { exported: about.exported, register }))
    }

    fn take(&mut self, name: &str) -> Option<Vec<u8>> {
        let at = self.files.iter().position(|file| file.name == name)?;
        Some(self.files.swap_remove(at).bytes)
    }

    fn sheet(&mut self, name: &str, missing: &crate::base::ProblemKind) -> Option<Sheet> {
        let Some(bytes) = self.take(name) else {
            self.problems.push(missing.says(format!("there is no `{name}`")).remedy(TAKE_ANOTHER));
            return None;
        };
        match Sheet::read(name, &bytes) {
            Ok(sheet) => Some(sheet),
            Err(origin) => {
                let what = format!("`{name}` is not UTF-8 text");
                self.problems.push(NOT_AN_EXPORT.says(what).at(origin).remedy(TAKE_ANOTHER));
                None
            }
        }
    }

    fn about(&mut self) -> Option<About> {
        let sheet = self.sheet(ABOUT_FILE, &NOT_AN_EXPORT)?;
        let mut rows = BTreeMap::new();
        for (at, row) in sheet.rows.iter().enumerate().skip(1) {
            rows.entry(row.first().map(|cell| bare(&cell.text)).unwrap_or_default()).or_insert(at);
        }
        let value = |what: &str| {
            let row = rows.get(what)?;
            Some((sheet.rows[*row].get(1)?.text.trim(), sheet.origin(*row, 1)))
        };
        let is_ours = sheet.rows.first().is_some_and(|row| row.iter().map(|cell| cell.text.as_str()).eq(ABOUT_COLUMNS));
        let (Some((version, version_origin)), Some((exported, time_origin)), true) =
            (value(ABOUT_VERSION), value(ABOUT_TIME), is_ours)
        else {
            let what = format!("`{ABOUT_FILE}` does not tell of an export of a register");
            self.problems.push(NOT_AN_EXPORT.says(what).at(sheet.origin(0, 0)).remedy(TAKE_ANOTHER));
            return None;
        };
        let version = match version.parse::<i64>() {
            Ok(version) if version > schema::VERSION => {
                let what = format!(
                    "the export is of version {version}, this program knows versions up to {}",
                    schema::VERSION
                );
                let remedy = "use the newer version of loomtag that wrote it";
                self.problems.push(EXPORT_NEWER.says(what).at(version_origin).remedy(remedy));
                return None;
            }
            Ok(version) if version >= 1 => version,
            _ => {
                let what = format!("`{version}` is no version of a register");
                self.problems.push(EXPORT_CELL.says(what).at(version_origin).remedy(TAKE_ANOTHER));
                return None;
            }
        };
        let exported = match exported.parse() {
            Ok(time) => time,
            Err(_) => {
                let what = format!("`{exported}` is no time");
                let remedy = "write it as 2026-05-30T08:00:00Z";
                self.problems.push(EXPORT_CELL.says(what).at(time_origin).remedy(remedy));
                return None;
            }
        };
        Some(About { sheet, version, exported, rows })
    }

    fn table(&mut self, shape: Shape, about: &About) -> Option<Read> {
        let sheet = self.sheet(&export::file_name(&shape.name), &EXPORT_INCOMPLETE)?;
        let before = self.problems.len();
        let wanted: Vec<&str> = shape.columns.iter().map(|column| column.name.as_str()).collect();
        let headed = sheet.rows.first().map_or(&[][..], Vec::as_slice);
        if !headed.iter().map(|cell| cell.text.as_str()).eq(wanted.iter().copied()) {
            let what = format!("the columns of `{}` are not those of its table", export::file_name(&shape.name));
            let remedy = format!("the first line must be `{}`", wanted.join(","));
            self.problems.push(EXPORT_COLUMNS.says(what).at(sheet.origin(0, 0)).remedy(remedy));
            return None;
        }
        let mut rows = Vec::with_capacity(sheet.rows.len() - 1);
        for (at, cells) in sheet.rows.iter().enumerate().skip(1) {
            if self.problems.len() >= before + MOST_PROBLEMS {
                return None;
            }
            if cells.len() != wanted.len() {
                let what = format!("this row has {} cells, its table {} columns", cells.len(), wanted.len());
                self.problems.push(EXPORT_ROW.says(what).at(sheet.origin(at, cells.len() - 1)).remedy(TAKE_ANOTHER));
                continue;
            }
            let values = shape.columns.iter().zip(cells).enumerate().map(|(column, (shape, cell))| {
                value(shape, cell)
                    .map_err(|what| Box::new(EXPORT_CELL.says(what).at(sheet.origin(at, column)).remedy(TAKE_ANOTHER)))
            });
            match values.collect::<Result<Vec<_>, _>>() {
                Ok(values) => rows.push(values),
                Err(problem) => self.problems.push(*problem),
            }
        }
        if self.problems.len() > before {
            return None;
        }
        let table = Table { shape, rows };
        self.compare(&table, about);
        Some(Read { table, sheet })
    }

    /// Whether a table is as about.csv says that it was written. An empty check is not compared.
    fn compare(&mut self, table: &Table, about: &About) {
        let name = export::file_name(&table.shape.name);
        let Some(&row) = about.rows.get(&table.shape.name) else {
            let what = format!("`{ABOUT_FILE}` says nothing of `{name}`");
            self.problems.push(
                EXPORT_INCOMPLETE.says(what).at(Origin::whole(&Source::new(ABOUT_FILE, ""))).remedy(TAKE_ANOTHER),
            );
            return;
        };
        let cell = |column: usize| about.sheet.rows[row].get(column).map_or("", |cell| cell.text.trim());
        let (count, written) = (cell(1), cell(2));
        if written.is_empty() {
            return;
        }
        if count != table.rows.len().to_string() {
            let what = format!("`{name}` has {} rows, {count} were written", table.rows.len());
            self.problems.push(EXPORT_INCOMPLETE.says(what).at(about.sheet.origin(row, 1)).remedy(CHANGED));
        } else if written != export::check(table) {
            let what = format!("`{name}` does not hold what was written, as after a spreadsheet has saved it");
            self.problems.push(EXPORT_CHANGED.says(what).at(about.sheet.origin(row, 2)).remedy(CHANGED));
        }
    }

    /// Whether every row that speaks of another one has it.
    fn references(&mut self, read: &[Read]) {
        for one in read {
            for (at, column) in one.table.shape.columns.iter().enumerate() {
                let Some((table, to)) = &column.refers_to else { continue };
                let other = read.iter().find(|other| other.table.shape.name == *table);
                let Some((other, to)) = other.and_then(|other| Some((other, other.table.column(to)?))) else {
                    continue;
                };
                let there: HashSet<&Value> = other.table.rows.iter().map(|row| &row[to]).collect();
                let lost = one
                    .table
                    .rows
                    .iter()
                    .enumerate()
                    .filter(|(_, row)| row[at] != Value::Nothing && !there.contains(&row[at]));
                for (row, values) in lost.take(MOST_PROBLEMS) {
                    let what = format!("{} is not in `{}`", shown(&values[at]), export::file_name(table));
                    let origin = one.sheet.origin(row + 1, at);
                    self.problems.push(EXPORT_ROW.says(what).at(origin).remedy(TAKE_ANOTHER));
                }
            }
        }
    }

    /// Whether every code stands under its own number: to go on from a wrong one would be to issue a code twice.
    fn codes(&mut self, read: &[Read]) {
        let Some(codes) = read.iter().find(|one| one.table.shape.name == "code") else { return };
        let (Some(code), Some(number)) = (codes.table.column("code"), codes.table.column("number")) else { return };
        let is_right = |row: &[Value]| match (&row[code], &row[number]) {
            (Value::Text(code), Value::Number(number)) => {
                let nth = u32::try_from(*number).ok().and_then(mint::nth);
                nth.is_some_and(|nth| nth.as_str() == code)
            }
            _ => false,
        };
        let wrong = codes.table.rows.iter().enumerate().filter(|(_, row)| !is_right(row));
        for (at, row) in wrong.take(MOST_PROBLEMS) {
            let what = match &row[code] {
                Value::Text(text) if TagCode::from_typed(text).is_ok() => {
                    format!("code `{text}` stands under number {}, which is not its own", shown(&row[number]))
                }
                other => format!("{} is no code", shown(other)),
            };
            self.problems.push(EXPORT_CELL.says(what).at(codes.sheet.origin(at + 1, code)).remedy(TAKE_ANOTHER));
        }
    }

    fn insert(&mut self, connection: &Connection, read: &[Read]) -> rusqlite::Result<()> {
        let transaction = connection.unchecked_transaction()?;
        transaction.pragma_update(None, "defer_foreign_keys", true)?;
        for one in read {
            for (at, row) in one.table.rows.iter().enumerate() {
                match tables::insert(&transaction, &one.table.shape, row) {
                    Ok(()) => {}
                    Err(error) if error.sqlite_error_code() == Some(rusqlite::ErrorCode::ConstraintViolation) => {
                        let what = format!("the register does not take this row: {}", constraint(&error));
                        let origin = one.sheet.origin(at + 1, 0);
                        self.problems.push(EXPORT_ROW.says(what).at(origin).remedy(TAKE_ANOTHER));
                        if self.problems.len() >= MOST_PROBLEMS {
                            return Ok(());
                        }
                    }
                    Err(error) => return Err(error),
                }
            }
        }
        // Rows that were refused are missing to others.
        if self.problems.is_empty() { transaction.commit() } else { transaction.rollback() }
    }
}

const TAKE_ANOTHER: &str = "take the export as it was written, or an earlier one";
const CHANGED: &str =
    "take the export as it was written, or an earlier one; if the change is meant, empty the `check` of this row";

fn value(column: &Column, cell: &Cell) -> Result<Value, String> {
    match column.kind {
        _ if cell.text.is_empty() && column.may_be_nothing => Ok(Value::Nothing),
        Kind::Text => Ok(Value::Text(bare(&cell.text))),
        Kind::Number => {
            let number = cell.text.trim().parse().map(Value::Number);
            number.map_err(|_| format!("`{}` is no whole number", cell.text))
        }
    }
}

fn shown(value: &Value) -> String {
    match value {
        Value::Nothing => "nothing".to_owned(),
        Value::Number(number) => format!("`{number}`"),
        Value::Text(text) => format!("`{text}`"),
    }
}

/// What of the tables' rules a row breaks.
fn constraint(error: &rusqlite::Error) -> String {
    match error {
        rusqlite::Error::SqliteFailure(_, Some(what)) => what.clone(),
        other => other.to_string(),
    }
}
