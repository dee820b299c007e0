//! The register as CSV files that any spreadsheet opens, and back: an export.
//!
//! One file a table, named as the table, its columns in the first line, its rows in the order of its key; and about.csv,
//! which says what wrote it and when, and for each table how many rows it has and a check of what they hold. In a column
//! that may hold nothing, an empty cell is nothing and a lone apostrophe the empty text. Reading back gives the same rows.

use jiff::Timestamp;

use super::csv_text::Writing;
use super::safe_cell::{EMPTY, guarded};
use super::schema;
use super::tables::{Column, Table, Value};
use crate::base::Fingerprint;

/// Name of the file that tells about the others.
pub const ABOUT_FILE: &str = "about.csv";

/// Columns of about.csv.
pub(super) const ABOUT_COLUMNS: [&str; 3] = ["what", "value", "check"];
/// Row of about.csv that names the version of the tables.
pub(super) const ABOUT_VERSION: &str = "version of the tables";
/// Row of about.csv that says when it was written.
pub(super) const ABOUT_TIME: &str = "exported at";

/// A file of an export.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExportFile {
    /// Its name.
    pub name: String,
    /// What stands in it.
    pub bytes: Vec<u8>,
}

/// Writes all tables of a register, [`crate::codes::Register::tables`], as files.
pub fn write(tables: &[Table], now: Timestamp) -> Vec<ExportFile> {
    let mut about = Writing::new();
    let mut tell = |cells: [&str; 3]| {
        cells.iter().for_each(|cell| about.cell(&guarded(cell)));
        about.end_row();
    };
    tell(ABOUT_COLUMNS);
    tell(["written by", concat!("loomtag ", env!("CARGO_PKG_VERSION")), ""]);
    tell([ABOUT_VERSION, &schema::VERSION.to_string(), ""]);
    tell([ABOUT_TIME, &now.to_string(), ""]);
    for table in tables {
        tell([&table.shape.name, &table.rows.len().to_string(), &check(table)]);
    }
    let mut files = vec![ExportFile { name: ABOUT_FILE.to_owned(), bytes: about.bytes() }];
    files.extend(tables.iter().map(|table| ExportFile { name: file_name(&table.shape.name), bytes: text(table) }));
    files
}

/// Name of the file of a table.
pub(super) fn file_name(table: &str) -> String {
    format!("{table}.csv")
}

fn text(table: &Table) -> Vec<u8> {
    let mut writing = Writing::new();
    for column in &table.shape.columns {
        writing.cell(&guarded(&column.name));
    }
    writing.end_row();
    for row in &table.rows {
        for (column, value) in table.shape.columns.iter().zip(row) {
            writing.cell(&cell(column, value));
        }
        writing.end_row();
    }
    writing.bytes()
}

fn cell(column: &Column, value: &Value) -> String {
    match value {
        Value::Nothing => String::new(),
        Value::Number(number) => number.to_string(),
        Value::Text(text) if text.is_empty() && column.may_be_nothing => EMPTY.to_owned(),
        Value::Text(text) => guarded(text),
    }
}

/// A check of what a table holds, whatever its file looks like: it notices accidents, not ill will.
pub(super) fn check(table: &Table) -> String {
    let mut fingerprint = Fingerprint::new();
    let mut take = |bytes: &[u8]| fingerprint.take(bytes);
    for column in &table.shape.columns {
        take(column.name.as_bytes());
        take(&[0]);
    }
    for value in table.rows.iter().flatten() {
        match value {
            Value::Nothing => take(&[1]),
            Value::Number(number) => {
                take(&[2]);
                take(&number.to_le_bytes());
            }
            Value::Text(text) => {
                take(&[3]);
                take(&(text.len() as u64).to_le_bytes());
                take(text.as_bytes());
            }
        }
    }
    format!("fnv1a {fingerprint}")
}
