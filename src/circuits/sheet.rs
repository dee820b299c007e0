//! A list made ready for reading its rows: text, cells and columns found. Sheets of workbooks come with their cells.

use std::sync::Arc;

use super::cells::{self, Oddity, Table};
use super::columns::{self, Columns};
use super::headers::{self, Column, HeaderUnit, TableKind};
use super::problems::{
    CHANGED_BY_SPREADSHEET, FORMULA_ERROR, FORMULA_WITHOUT_VALUE, NO_ROWS, ROW_TOO_LONG, ROW_TOO_SHORT, UNUSED_COLUMN,
};
use super::spreadsheet::{self, Became};
use super::{Form, ListSettings, OwnWords};
use crate::base::conductor::SizeUnit;
use crate::base::{Insulation, Origin, Problem, Severity, Source, formula, problem};

/// A list with its columns.
#[derive(Clone, Debug)]
pub(super) struct Sheet<'s> {
    table: Table<'s>,
    columns: Columns,
    form: Form,
    settings: &'s ListSettings,
}

impl<'s> Sheet<'s> {
    /// Cuts a source into cells and finds its columns; `None` when it has no header row, which is told.
    pub(super) fn open(
        source: &'s Arc<Source>,
        kind: TableKind,
        settings: &'s ListSettings,
        problems: &mut Vec<Problem>,
    ) -> Option<Self> {
        let is_header = |header: &str| headers::is_header(kind, &settings.columns, header);
        let table = cells::cut(source, &is_header).map_err(|problem| problems.push(*problem)).ok()?;
        Self::of(table, kind, settings, problems)
    }

    /// Finds the columns of a table; `None` when it has no header row, which is told.
    pub(super) fn of(
        table: Table<'s>,
        kind: TableKind,
        settings: &'s ListSettings,
        problems: &mut Vec<Problem>,
    ) -> Option<Self> {
        let mut columns = columns::find(&table, kind, (&settings.columns, &settings.ignored), problems)?;
        let form = settings.form.unwrap_or_else(|| columns.form());
        if kind == TableKind::List {
            if form == Form::Wire {
                columns.begin_wires();
            }
            columns::leave_out_unfit(&table, &mut columns, form, problems);
        }
        Some(Self { table, columns, form, settings })
    }

    /// Whether the list has the columns it cannot do without; those that it lacks are told.
    pub(super) fn is_complete(&self, kind: TableKind, problems: &mut Vec<Problem>) -> bool {
        columns::are_complete(&self.table, &self.columns, kind, self.form, self.settings.connector.as_ref(), problems)
    }

    /// Its columns.
    pub(super) const fn columns(&self) -> &Columns {
        &self.columns
    }

    /// How its rows are meant.
    pub(super) const fn form(&self) -> Form {
        self.form
    }

    /// The connector of rows that name none.
    pub(super) fn connector(&self) -> Option<&str> {
        self.settings.connector.as_ref().map(|connector| connector.as_str())
    }

    /// The unit of bare whole numbers in the size column: what the job says, else what the header says.
    pub(super) fn size_unit(&self) -> Option<SizeUnit> {
        match self.columns.unit(Column::Size) {
            _ if self.settings.size_unit.is_some() => self.settings.size_unit,
            Some(HeaderUnit::Size(unit)) => Some(unit),
            _ => None,
        }
    }

    /// The insulation of wires whose rows name none.
    pub(super) const fn insulation(&self) -> Option<Insulation> {
        self.settings.insulation
    }

    /// What the job says about reading it.
    pub(super) const fn settings(&self) -> &ListSettings {
        self.settings
    }

    /// The user's own words for what stands in it.
    pub(super) const fn words(&self) -> &'s OwnWords {
        &self.settings.words
    }

    /// The unit of bare numbers in a column of lengths.
    pub(super) fn length_unit(&self, column: Column) -> Option<&'static str> {
        match self.columns.unit(column) {
            Some(HeaderUnit::Length(unit)) => Some(unit),
            _ => None,
        }
    }

    /// Name of the file.
    pub(super) fn name(&self) -> &str {
        self.table.source().name()
    }

    /// Whether it has such a column.
    pub(super) fn has(&self, column: Column) -> bool {
        self.columns.at(column).is_some()
    }

    /// A cell as it stands, without the mark of a text that looks like a formula; `None` when it is blank. Dashes alone count as blank
    /// except where they may be a cavity, as the terminals of a battery are `+` and `-`, or are a word of the user's own.
    pub(super) fn get(&self, row: usize, column: Column) -> Option<&str> {
        let value = formula::unmarked(self.table.row(row).value(self.columns.at(column)?));
        let is_cavity = matches!(column, Column::Cavity | Column::FromCavity | Column::ToCavity);
        let is_dash = matches!(value, "-" | "–" | "—" | "--");
        let is_blank = value.is_empty() || (is_dash && !is_cavity && !self.words().knows(column, value));
        (!is_blank).then_some(value)
    }

    /// Where a cell stands; where its row ends before it, the end of the row.
    pub(super) fn origin(&self, row: usize, column: Column) -> Origin {
        self.table.origin(row, self.columns.at(column).unwrap_or(0))
    }

    /// A row as it stands in the source, for telling repeated rows.
    pub(super) fn row_text(&self, row: usize) -> &'s str {
        self.table.row_text(row)
    }

    /// The rows below the header that are not blank and not longer than it. Longer ones are told one by one, as their
    /// cells may stand in wrong columns; shorter ones once, with their number, and so are values below no header.
    pub(super) fn rows(&self, problems: &mut Vec<Problem>) -> Vec<usize> {
        let header = self.columns.header_row();
        let (width, widest) = (self.columns.width(), self.columns.widest());
        let before = problems.len();
        let mut rows = Vec::with_capacity(self.table.len());
        let mut shorter: Option<(usize, usize)> = None;
        let mut unnamed: Option<(usize, usize)> = None;
        for row in header + 1..self.table.len() {
            let cells = self.table.row(row);
            if cells.values().all(str::is_empty) && self.table.odd_cells(row).is_empty() {
                continue;
            }
            // Lists made for printing say their headers again on every page.
            if cells.values().eq(self.table.row(header).values()) {
                continue;
            }
            if self.tell_odd_cells(row, problems) {
                continue;
            }
            let is_filled = |at: &usize| !cells.value(*at).is_empty();
            let beyond = (widest..cells.len()).find(is_filled);
            if let Some(at) = beyond.filter(|_| !self.table.is_sheet()) {
                let what = format!("`{}` stands beyond the last column: the header has {widest}", cells.value(at));
                let remedy = "put quotes round a cell that contains the separator, or give the column a header";
                problems.push(ROW_TOO_LONG.says(what).at(self.table.origin(row, at)).remedy(remedy));
                continue;
            }
            if unnamed.is_none() {
                unnamed = self.columns.unnamed().iter().copied().find(is_filled).or(beyond).map(|at| (row, at));
            }
            if cells.len() < width && !self.table.is_sheet() {
                let (_, count) = shorter.get_or_insert((row, 0));
                *count += 1;
            }
            rows.push(row);
        }
        if rows.is_empty() && problems.len() == before {
            let what = format!("`{}` has a header and no rows", self.name());
            let remedy = "write one row for each cavity, wire or connector";
            problems.push(NO_ROWS.says(what).at(self.table.origin(header, 0)).remedy(remedy));
        }
        if let Some((row, at)) = unnamed {
            let what = "this column has no header and is not read";
            problems.push(UNUSED_COLUMN.says(what).at(self.table.origin(row, at)).remedy("give it a header: `note`"));
        }
        if let Some((row, count)) = shorter {
            let cells = self.table.row(row).len();
            let what = match count {
                1 => format!("this row has {cells} cells, the header has {width}: the rest counts as blank"),
                _ => format!("{count} rows have fewer cells than the header ({width}): the rest counts as blank"),
            };
            let remedy = "if a separator is missing, cells stand in wrong columns: compare the row with the header";
            problems.push(ROW_TOO_SHORT.says(what).at(self.table.origin(row, cells)).remedy(remedy));
        }
        rows
    }

    /// Tells what is odd about the cells of a row that are read. Whether the row is left out for it is the answer.
    fn tell_odd_cells(&self, row: usize, problems: &mut Vec<Problem>) -> bool {
        let before = problems.len();
        for odd in self.table.odd_cells(row) {
            let at = odd.column as usize;
            let Some(column) = Column::ALL.iter().copied().find(|&column| self.columns.at(column) == Some(at)) else {
                continue;
            };
            let value = self.table.row(row).value(at);
            let changed = |into: &str| {
                // What may have been typed is told as of a list that a spreadsheet has written.
                let looked = match column.is_designation() {
                    true => spreadsheet::look(value),
                    false => spreadsheet::look_at_measure(value),
                };
                let is_date = odd.oddity == Oddity::Date && !column.is_words();
                let dated = looked.filter(|looked| is_date && looked.became == Became::Date);
                let typed = dated.map(|dated| dated.may_have_been()).unwrap_or_default();
                let what = format!("`{value}` is {into}: a spreadsheet program made it of what was typed{typed}");
                let remedy =
                    "format the column as text and type the cell again; the file does not hold what stood there";
                CHANGED_BY_SPREADSHEET.says(what).remedy(remedy)
            };
            let problem = match odd.oddity {
                Oddity::Error => FORMULA_ERROR
                    .says(format!("the formula of this cell ends in an error: `{value}`"))
                    .remedy("mend the formula, or type the value"),
                Oddity::NoValue => FORMULA_WITHOUT_VALUE
                    .says("the file does not hold the value of this formula")
                    .remedy("open the workbook in a spreadsheet program, let it calculate, and save it"),
                // A value that is none is told by those who read it; words are printed as they are.
                Oddity::Exponent | Oddity::Truth if !column.is_designation() => continue,
                Oddity::Date if column.is_words() => Problem { severity: Severity::Warning, ..changed("a date") },
                Oddity::Date => changed("a date"),
                Oddity::Exponent => changed("a number"),
                Oddity::Truth => changed("a truth value"),
            };
            problems.push(problem.at(self.table.origin(row, at)));
        }
        problem::has_errors(&problems[before..])
    }
}
