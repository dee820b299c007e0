//! As built: the notes of the register under the ends they are of, and the charts on the disk. What is, by plan and notes, is
//! `paperwork::as_built`.

use std::collections::HashMap;
use std::path::{Path, PathBuf};

use super::export::write_whole;
use super::failure::RunFailure;
use super::worked::of_end;
use crate::circuits::Circuits;
use crate::codes::export::ExportFile;
use crate::codes::{Blank, Issued, Notes, Record};
use crate::paperwork::as_built::{BenchNotes, charts};

/// Charts that were written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ChartsWritten {
    /// The folder.
    pub folder: PathBuf,
    /// Names of the files with their rows.
    pub files: Vec<(String, usize)>,
    /// What no column can hold, in words.
    pub untold: Vec<String>,
}

/// The notes of every end, and of blanks that are not assigned.
pub(super) fn bench_notes<'n>(
    issued: &Issued,
    records: &[Record],
    notes: &'n Notes,
    blanks: &[Blank],
) -> BenchNotes<'n> {
    let by_code: HashMap<_, _> = records.iter().map(|record| (record.code, record)).collect();
    let of_ends = issued.circuits.iter().map(|codes| {
        let record = by_code.get(&codes.code);
        let of_letter = |letter| record.map(|record| of_end(record, letter, notes)).unwrap_or_default();
        codes.letters.iter().map(|letter| of_letter(*letter)).collect()
    });
    let of_ends = of_ends.collect();
    let of_blanks = blanks.iter().filter(|blank| blank.assigned.is_none()).map(|blank| {
        let standing = notes.of_codes([blank.code]).into_iter().filter(|noted| noted.superseded_by.is_none());
        (blank.code, standing.collect())
    });
    BenchNotes { of_ends, of_blanks: of_blanks.collect() }
}

/// Writes the charts of a harness into a folder that is not there yet or empty: all of them or none, and never over a list.
///
/// # Errors
/// [`RunFailure`] when the folder is taken, or the disk refuses.
pub(super) fn write_charts(circuits: &Circuits, folder: &Path) -> Result<ChartsWritten, RunFailure> {
    let charts = charts(circuits);
    let told = charts.files.iter().map(|file| (file.name.clone(), file.rows)).collect();
    let files: Vec<ExportFile> =
        charts.files.into_iter().map(|file| ExportFile { name: file.name, bytes: file.bytes }).collect();
    write_whole(folder, &files)?;
    Ok(ChartsWritten { folder: folder.to_owned(), files: told, untold: charts.untold })
}
