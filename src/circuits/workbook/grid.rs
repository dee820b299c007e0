//! Cells of a sheet -> its text and table. The text has a line for each row and a tab between any two cells, so that every
//! cell has its place; values with tabs or line breaks are kept beside it, as those of quoted cells of a CSV list are.

use std::sync::Arc;

use super::package::Trouble;
use crate::base::origin::cell_name;
use crate::base::{Origin, ProblemKind, Source};
use crate::circuits::cells::{Cells, LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, Merged, OddCell, Oddity};
use crate::circuits::problems::{CELL_TOO_LONG, FILE_TOO_BIG, TOO_MANY_COLUMNS, TOO_MANY_ROWS};
use crate::circuits::text::LARGEST_FILE;

/// Rows among which the header is; all rows are given as many cells as the longest of these, so that a blank cell at the
/// end of a row has its place too.
const HEADER_ROWS: usize = 40;
/// Most cells that merged cells are filled down into; merged cells that overlap, which no spreadsheet writes, come to more.
const MOST_FILLED: usize = 8_000_000;

/// How much text the sheets of a workbook may hold, separators counted as in a CSV list of the same cells.
pub(super) struct Budget(usize);

impl Budget {
    pub(super) const fn whole() -> Self {
        Self(LARGEST_FILE)
    }

    #[cfg(test)]
    pub(super) const fn of(bytes: usize) -> Self {
        Self(bytes)
    }

    fn spend(&mut self, bytes: usize) -> bool {
        let left = self.0.checked_sub(bytes);
        self.0 = left.unwrap_or(0);
        left.is_some()
    }
}

/// A sheet that is being read, row by row from the top.
pub(super) struct Grid<'n> {
    file: &'n str,
    sheet: &'n str,
    budget: &'n mut Budget,
    values: String,
    placed: Vec<Placed>,
    rows: Vec<Line>,
    merged: Vec<Merged>,
}

/// A cell that is not blank.
#[derive(Clone, Copy, Debug)]
struct Placed {
    start: u32,
    end: u32,
    column: u16,
    oddity: Option<Oddity>,
}

/// A row that is not blank: its number in the sheet, from 0, and the first cell behind it.
#[derive(Clone, Copy, Debug)]
struct Line {
    row: u32,
    end: u32,
}

/// A cell below others in a merged one.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Filled {
    line: u32,
    column: u16,
    from: u32,
}

impl<'n> Grid<'n> {
    pub(super) const fn new(file: &'n str, sheet: &'n str, budget: &'n mut Budget) -> Self {
        Self { file, sheet, budget, values: String::new(), placed: Vec::new(), rows: Vec::new(), merged: Vec::new() }
    }

    /// Adds a cell to the row that is being read; one without anything in it is left out.
    pub(super) fn cell(&mut self, row: u32, column: u32, value: &str, oddity: Option<Oddity>) -> Result<(), Trouble> {
        if value.trim().is_empty() && oddity != Some(Oddity::NoValue) {
            return Ok(());
        }
        let name = || cell_name(column as usize + 1, row as usize + 1);
        if row as usize >= MOST_ROWS {
            let what = format!("cell `{}` stands below row {MOST_ROWS}, the last that is read", name());
            return Err(self.beyond(&TOO_MANY_ROWS, what, "empty the cell if it is a stray one, or split the list"));
        }
        if column as usize >= MOST_COLUMNS {
            let what = format!("cell `{}` stands beyond column {MOST_COLUMNS}, the last that is read", name());
            let remedy = "empty the cell if it is a stray one; is this a list with one row per wire or cavity?";
            return Err(self.beyond(&TOO_MANY_COLUMNS, what, remedy));
        }
        if value.len() > LONGEST_CELL && value.chars().count() > LONGEST_CELL {
            let what = format!("cell `{}` has more than {LONGEST_CELL} characters", name());
            return Err(self.beyond(&CELL_TOO_LONG, what, "shorten it"));
        }
        if !self.budget.spend(value.len() + 1) {
            return Err(self.too_much_text());
        }
        let start = self.values.len() as u32;
        self.values.push_str(value);
        self.placed.push(Placed { start, end: self.values.len() as u32, column: column as u16, oddity });
        Ok(())
    }

    /// Ends the row that is being read, number `row` of the sheet from 0. Rows come from the top.
    pub(super) fn end_row(&mut self, row: u32) -> Result<(), Trouble> {
        let start = self.rows.last().map_or(0, |line| line.end as usize);
        let cells = &mut self.placed[start..];
        if cells.is_empty() {
            return Ok(());
        }
        let above = self.rows.last().map(|above| above.row);
        if above.is_some_and(|above| above >= row) {
            return Err(Trouble::damaged("its rows are out of order"));
        }
        if !cells.is_sorted_by(|a, b| a.column < b.column) {
            cells.sort_by_key(|cell| cell.column);
            if cells.windows(2).any(|pair| pair[0].column == pair[1].column) {
                return Err(Trouble::damaged("a row holds the same cell twice"));
            }
        }
        self.rows.push(Line { row, end: self.placed.len() as u32 });
        let blank_lines = row - above.unwrap_or(0);
        if self.budget.spend(blank_lines as usize) { Ok(()) } else { Err(self.too_much_text()) }
    }

    /// Reads the last row once more, as row `row`.
    pub(super) fn repeat_row(&mut self, row: u32) -> Result<(), Trouble> {
        let end = self.rows.last().map_or(0, |line| line.end as usize);
        let start = self.rows.iter().rev().nth(1).map_or(0, |line| line.end as usize);
        for index in start..end {
            let cell = self.placed[index];
            let value = self.values[cell.start as usize..cell.end as usize].to_owned();
            self.cell(row, u32::from(cell.column), &value, cell.oddity)?;
        }
        self.end_row(row)
    }

    /// Tells of merged cells, with rows and columns of the sheet.
    pub(super) fn merge(&mut self, merged: Merged) {
        self.merged.push(merged);
    }

    fn beyond(&self, kind: &ProblemKind, what: String, remedy: &str) -> Trouble {
        let source = Source::sheet(self.file, self.sheet, "");
        Trouble::Beyond(Box::new(kind.says(what).at(Origin::whole(&source)).remedy(remedy)))
    }

    fn too_much_text(&self) -> Trouble {
        let most = LARGEST_FILE / 1024 / 1024;
        let what = format!("the cells of `{}` hold more than {most} MiB of text", self.file);
        self.beyond(&FILE_TOO_BIG, what, "split the workbook into several files")
    }

    /// The source and its cells; without rows where the sheet is blank.
    pub(super) fn finish(mut self) -> Result<(Arc<Source>, Cells), Trouble> {
        let merged = self.merged_lines();
        let Some(filled) = self.filled(&merged) else { return Err(self.too_much_text()) };
        let header =
            self.rows.get(HEADER_ROWS.min(self.rows.len()).wrapping_sub(1)).map_or(0, |line| line.end as usize);
        let width = self.placed[..header].iter().map(|cell| cell.column + 1).max().unwrap_or(0);
        let mut text = String::with_capacity(self.values.len() + self.placed.len());
        let mut cells = Cells::default();
        let (mut filled, mut start, mut at) = (filled.into_iter().peekable(), 0, 0);
        for (index, line) in self.rows.iter().enumerate() {
            text.push_str(&"\n".repeat((line.row - at) as usize));
            at = line.row;
            let mut placed = self.placed[start..line.end as usize].iter().copied().peekable();
            let last = self.placed[..line.end as usize].last().map_or(0, |cell| cell.column + 1);
            start = line.end as usize;
            for column in 0..width.max(last) {
                if column > 0 {
                    text.push('\t');
                }
                let below = filled.next_if(|cell| (cell.line as usize, cell.column) == (index, column));
                let cell = placed.next_if(|cell| cell.column == column);
                let cell = cell.or_else(|| below.map(|below| self.placed[below.from as usize]));
                // A value that stands for merged cells counts once for each.
                if let (Some(cell), Some(_)) = (cell, below)
                    && !self.budget.spend((cell.end - cell.start) as usize)
                {
                    return Err(self.too_much_text());
                }
                let from = text.len();
                let Some(cell) = cell else {
                    if !self.budget.spend(1) {
                        return Err(self.too_much_text());
                    }
                    cells.push(from..from, None);
                    continue;
                };
                let value = &self.values[cell.start as usize..cell.end as usize];
                let is_plain = !value.contains(['\t', '\n', '\r']);
                if is_plain {
                    text.push_str(value);
                } else {
                    text.extend(value.chars().map(|c| if matches!(c, '\t' | '\n' | '\r') { ' ' } else { c }));
                }
                cells.push(from..text.len(), (!is_plain).then_some(value));
                if let Some(oddity) = cell.oddity {
                    cells.mark(OddCell { row: index as u32, column: u32::from(column), oddity });
                }
            }
            while filled.next_if(|cell| cell.line as usize <= index).is_some() {}
            cells.end_row();
        }
        merged.into_iter().for_each(|merged| cells.merge(merged));
        Ok((Source::sheet(self.file, self.sheet, text), cells))
    }

    /// The merged cells that are not blank, by rows of the table instead of those of the sheet, in their order.
    fn merged_lines(&mut self) -> Vec<Merged> {
        let mut merged: Vec<Merged> = Vec::new();
        for area in std::mem::take(&mut self.merged) {
            let Ok(first) = self.rows.binary_search_by_key(&area.row, |line| line.row) else { continue };
            let behind = area.row.saturating_add(area.rows);
            let rows = self.rows.partition_point(|line| line.row < behind) - first;
            merged.push(Merged { row: first as u32, rows: rows as u32, ..area });
        }
        merged.sort_by_key(|area| (area.row, area.column));
        merged.dedup_by_key(|area| (area.row, area.column));
        merged
    }

    /// The value of a merged cell counts for all its rows that hold anything else: a connector's name beside its cavities.
    /// Not for its columns: a remark across a row is no colour and no size. `None` where that is too much.
    fn filled(&self, merged: &[Merged]) -> Option<Vec<Filled>> {
        let mut filled = Vec::new();
        for area in merged.iter().filter(|area| area.rows > 1) {
            let line = area.row as usize;
            let start = line.checked_sub(1).map_or(0, |above| self.rows[above].end as usize);
            let cells = &self.placed[start..self.rows[line].end as usize];
            let column = u16::try_from(area.column).unwrap_or(u16::MAX);
            let Ok(at) = cells.binary_search_by_key(&column, |cell| cell.column) else { continue };
            if filled.len() + area.rows as usize > MOST_FILLED {
                return None;
            }
            let from = (start + at) as u32;
            filled.extend((1..area.rows).map(|below| Filled { line: area.row + below, column, from }));
        }
        filled.sort_unstable();
        filled.dedup_by_key(|cell| (cell.line, cell.column));
        Some(filled)
    }
}
