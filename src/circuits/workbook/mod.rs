//! Bytes -> sheets: a workbook (XLSX or ODS) as the tables in it, each with its text and cells, so that columns and rows are
//! read as those of a CSV list are. A file may be damaged or made with ill will: what it unpacks to is measured, nothing is
//! allocated for what it only declares, and everything beyond a limit is told.
//!
//! ```text
//! package   bytes -> parts, measured as they are unpacked
//! xlsx, ods parts -> cells (numbers: as people see them)
//! grid      cells -> the sheet's text and table
//! ```

use std::sync::Arc;

use self::grid::{Budget, Grid};
use self::package::{MOST_UNPACKED, Package, Trouble};
use self::xlsx::Xlsx;
use super::cells::Cells;
use super::problems::{FILE_TOO_BIG, UNREADABLE_FILE};
use super::text::LARGEST_FILE;
use crate::base::{Origin, Problem, ProblemKind, Source};

mod grid;
mod numbers;
mod ods;
mod package;
#[cfg(test)]
mod tests;
mod xlsx;

/// What to do with a workbook that is not read.
const SAVE: &str = "open it in a spreadsheet program and save it as .xlsx or .ods, or each list as CSV";

/// The text and the cells of a sheet, or why it is not read.
pub(super) type SheetContent = Result<(Arc<Source>, Cells), Box<Problem>>;

/// A sheet of a workbook.
#[derive(Debug)]
pub(super) struct WorkbookSheet {
    pub(super) name: String,
    pub(super) is_hidden: bool,
    /// What stands in it; `None` where it was not wanted.
    pub(super) content: Option<SheetContent>,
}

/// Whether a file is a workbook of any kind, also of one that is not read.
pub(super) fn is_workbook(bytes: &[u8]) -> bool {
    bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"PK\x05\x06") || is_compound(bytes)
}

/// A compound file, as workbooks of older kinds and those with a password are.
fn is_compound(bytes: &[u8]) -> bool {
    bytes.starts_with(b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")
}

/// Reads those sheets of a workbook that are wanted, by their name and whether they are hidden; the others are named.
///
/// # Errors
/// A workbook that cannot be read at all. What is wrong with a single sheet stands in its content.
pub(super) fn read(
    file: &str,
    bytes: &[u8],
    wanted: &dyn Fn(&str, bool) -> bool,
) -> Result<Vec<WorkbookSheet>, Box<Problem>> {
    if bytes.len() > LARGEST_FILE {
        let what = format!("`{file}` has more than {} MiB", LARGEST_FILE / 1024 / 1024);
        return Err(told(file, &FILE_TOO_BIG, what, "split the workbook into several files"));
    }
    if is_compound(bytes) {
        let has = |name: &str| {
            let name: Vec<u8> = name.encode_utf16().flat_map(u16::to_le_bytes).collect();
            bytes.windows(name.len()).any(|window| window == name)
        };
        if has("EncryptedPackage") {
            return Err(trouble(file, Trouble::Encrypted));
        }
        let what = format!("`{file}` is a workbook or document of an older kind (.xls)");
        return Err(told(file, &UNREADABLE_FILE, what, SAVE));
    }
    sheets(file, bytes, wanted).map_err(|why| trouble(file, why))
}

fn sheets(file: &str, bytes: &[u8], wanted: &dyn Fn(&str, bool) -> bool) -> Result<Vec<WorkbookSheet>, Trouble> {
    let mut package = Package::open(bytes)?;
    let mut budget = Budget::whole();
    let mut sheets = Vec::new();
    let mut content = |name: &str, is_hidden, read: &mut dyn FnMut(&mut Grid<'_>) -> Result<(), Trouble>| {
        if !wanted(name, is_hidden) {
            return Ok(None);
        }
        let mut grid = Grid::new(file, name, &mut budget);
        match read(&mut grid).and_then(|()| grid.finish()) {
            Ok(content) => Ok(Some(Ok(content))),
            Err(Trouble::Beyond(problem)) => Ok(Some(Err(problem))),
            Err(other) => Err(other),
        }
    };
    if ods::is_one(&mut package)? {
        if ods::is_encrypted(&mut package)? {
            return Err(Trouble::Encrypted);
        }
        ods::walk(&mut package, |name, is_hidden, table| {
            let content = content(&name, is_hidden, &mut |grid| table.read(grid))?;
            sheets.push(WorkbookSheet { name, is_hidden, content });
            Ok(())
        })?;
        return Ok(sheets);
    }
    if ods::is_encrypted(&mut package)? {
        return Err(Trouble::Encrypted);
    }
    let Some(place) = xlsx::place(&mut package)? else { return Err(no_workbook(file)) };
    if place.to_lowercase().ends_with(".bin") {
        let what = format!("`{file}` is a binary workbook (.xlsb)");
        return Err(Trouble::Beyond(told(file, &UNREADABLE_FILE, what, SAVE)));
    }
    let workbook = Xlsx::open(&mut package, &place)?;
    for (index, sheet) in workbook.sheets.iter().enumerate() {
        let mut read = |grid: &mut Grid<'_>| workbook.read(&mut package, index, grid);
        let content = content(&sheet.name, sheet.is_hidden, &mut read)?;
        sheets.push(WorkbookSheet { name: sheet.name.clone(), is_hidden: sheet.is_hidden, content });
    }
    Ok(sheets)
}

fn no_workbook(file: &str) -> Trouble {
    let what = format!("`{file}` is a zip file without a workbook in it");
    Trouble::Beyond(told(file, &UNREADABLE_FILE, what, SAVE))
}

fn told(file: &str, kind: &ProblemKind, what: String, remedy: &str) -> Box<Problem> {
    Box::new(kind.says(what).at(Origin::whole(&Source::new(file, ""))).remedy(remedy))
}

fn trouble(file: &str, trouble: Trouble) -> Box<Problem> {
    match trouble {
        Trouble::Beyond(problem) => problem,
        Trouble::TooBig => {
            let what = format!("`{file}` unpacks to more than {} MiB", MOST_UNPACKED / 1024 / 1024);
            told(file, &FILE_TOO_BIG, what, "keep the lists in a workbook of their own, or save each as CSV")
        }
        Trouble::Encrypted => {
            let what = format!("`{file}` is encrypted with a password");
            told(file, &UNREADABLE_FILE, what, "open it in a spreadsheet program and save it without a password")
        }
        Trouble::Damaged(why) => {
            told(file, &UNREADABLE_FILE, format!("`{file}` is damaged, or no workbook: {why}"), SAVE)
        }
    }
}
