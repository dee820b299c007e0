//! Cells -> the headers of a table: the row, or the two rows, that name most of our columns.
//!
//! Headers may stand in two rows, `From | | To |` above `connector | cavity | connector | cavity`: an upper cell stretches over
//! the blank cells right of it, in a workbook over what is merged into it, and both together name a column. Two rows are taken
//! for headers only where they name more columns than any single row, or as many and more units.

use super::cells::Table;
use super::headers::{Column, Named};

/// The headers of a table.
pub(super) struct Headers {
    /// The row they stand in; the lower one of two.
    pub(super) row: usize,
    pub(super) cells: Vec<Header>,
}

/// A header, or a blank.
pub(super) struct Header {
    /// Its words; of two rows those that name the column.
    pub(super) text: String,
    /// The row of its cell.
    pub(super) row: usize,
    pub(super) names: Option<Named>,
}

impl Headers {
    /// How many of our columns they name, and how many units, which may stand in a row of their own.
    fn count(&self) -> (usize, usize) {
        let units = self.cells.iter().filter(|header| header.names.is_some_and(|(_, unit)| unit.is_some())).count();
        let mut columns: Vec<Column> = self.cells.iter().filter_map(|header| Some(header.names?.0)).collect();
        columns.sort_unstable();
        columns.dedup();
        (columns.len(), units)
    }
}

/// The row among the first that names most columns, or two rows where they name more; the first of equals.
pub(super) fn find(table: &Table<'_>, column_of: &dyn Fn(&str) -> Option<Named>) -> Option<Headers> {
    const ROWS: usize = 40;
    let rows = || 0..table.len().min(ROWS);
    let best = |all: &mut dyn Iterator<Item = Headers>| {
        let mut best: Option<((usize, usize), Headers)> = None;
        for headers in all {
            let count = headers.count();
            if count.0 > 0 && best.as_ref().is_none_or(|(most, _)| count > *most) {
                best = Some((count, headers));
            }
        }
        best
    };
    let one = best(&mut rows().map(|row| one_row(table, row, column_of)));
    let two = best(&mut rows().skip(1).map(|row| two_rows(table, row, column_of)));
    match (one, two) {
        (Some((most, one)), Some((count, two))) => Some(if count > most { two } else { one }),
        (one, _) => one.map(|(_, headers)| headers),
    }
}

fn one_row(table: &Table<'_>, row: usize, column_of: &dyn Fn(&str) -> Option<Named>) -> Headers {
    let header = |text: &str| Header { text: text.to_owned(), row, names: column_of(text) };
    Headers { row, cells: table.row(row).values().map(header).collect() }
}

/// The headers of a row together with those above it.
fn two_rows(table: &Table<'_>, row: usize, column_of: &dyn Fn(&str) -> Option<Named>) -> Headers {
    let (above, below) = (table.row(row - 1), table.row(row));
    let mut upper = "";
    // Behind the last column of a merged cell; a workbook tells it, in CSV a value followed by blanks is all there is.
    let mut merged_to = 0;
    let mut headers = Vec::with_capacity(above.len().max(below.len()));
    // Columns of one side of a wire that a stretched cell names, with their own names.
    let mut stretched = Vec::new();
    for index in 0..above.len().max(below.len()) {
        let (own, lower) = (above.value(index), below.value(index));
        if !own.is_empty() {
            upper = own;
            let (_, columns) = table.stretch(row - 1, index);
            merged_to = if columns > 1 { index + columns } else { 0 };
        } else if index > 0 && index == merged_to {
            upper = "";
        }
        let alone = || {
            let names = column_of(lower);
            let is_told_whole = names.is_none() && !own.is_empty();
            Header { text: if is_told_whole { format!("{own} {lower}") } else { lower.to_owned() }, row, names }
        };
        let both = || {
            let text = format!("{upper} {lower}");
            column_of(&text).map(|names| Header { text, row, names: Some(names) })
        };
        headers.push(if lower.is_empty() {
            Header { text: own.to_owned(), row: row - 1, names: column_of(own) }
        } else {
            both().filter(|_| !upper.is_empty()).unwrap_or_else(alone)
        });
        if own.is_empty() && index >= merged_to {
            stretched.push(index);
        }
    }
    // How far an upper cell stretches is not told: an action behind `To | ` is of both ends unless `From | ` has one too.
    let names = |column: Column| move |header: &Header| header.names.is_some_and(|(own, _)| own == column);
    for (one, other) in [(Column::FromAction, Column::ToAction), (Column::FromTag, Column::ToTag)] {
        for (column, other) in [(one, other), (other, one)] {
            let at = headers.iter().position(names(column)).filter(|at| stretched.contains(at));
            if let Some(at) = at.filter(|_| !headers.iter().any(names(other))) {
                let lower = below.value(at);
                headers[at] = Header { text: lower.to_owned(), row, names: column_of(lower) };
            }
        }
    }
    Headers { row, cells: headers }
}
