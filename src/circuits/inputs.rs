//! Lists -> their texts: decodes a CSV list, and finds in a workbook the sheets that are lists.

use std::borrow::Cow;
use std::collections::HashMap;
use std::sync::Arc;

use super::cells::{self, Cells, Table};
use super::headers::{self, TableKind};
use super::problems::{MISSING_COLUMN, SHEET_NOT_FOUND, SHEET_NOT_READ, UNREADABLE_FILE};
use super::sheet::Sheet;
use super::workbook::{self, WorkbookSheet};
use super::{List, ListSettings, text};
use crate::base::nearest::{did_you_mean_or_choose, listed};
use crate::base::{Origin, Problem, Source, Stated};

/// Rows among which the header is.
const HEADER_ROWS: usize = 40;

/// A list that could be read as text, or a sheet of a workbook.
pub(super) struct Input<'l> {
    source: Arc<Source>,
    /// The cells of a sheet; those of a text are found when it is opened.
    cells: Option<Cells>,
    settings: &'l ListSettings,
}

impl<'l> Input<'l> {
    /// Its source.
    pub(super) const fn source(&self) -> &Arc<Source> {
        &self.source
    }

    /// Its cells; `None` when it cannot be cut into any, which opening it tells.
    pub(super) fn table(&self, kind: TableKind) -> Option<Table<'_>> {
        let is_header = |header: &str| headers::is_header(kind, &self.settings.columns, header);
        match &self.cells {
            Some(cells) => Some(Table::of(&self.source, Cow::Borrowed(cells))),
            None => cells::cut(&self.source, &is_header).ok(),
        }
    }

    /// Finds its columns; `None` when it cannot be read without what the problems name.
    pub(super) fn open(&self, kind: TableKind, problems: &mut Vec<Problem>) -> Option<Sheet<'_>> {
        let sheet = self.find_columns(kind, problems)?;
        sheet.is_complete(kind, problems).then_some(sheet)
    }

    /// Finds its columns, be they enough or not; `None` when it has no header row.
    pub(super) fn find_columns(&self, kind: TableKind, problems: &mut Vec<Problem>) -> Option<Sheet<'_>> {
        match &self.cells {
            Some(cells) => Sheet::of(Table::of(&self.source, Cow::Borrowed(cells)), kind, self.settings, problems),
            None => Sheet::open(&self.source, kind, self.settings, problems),
        }
    }
}

/// Reads lists, in their order; a workbook gives its sheets in theirs.
pub(super) fn read<'l>(lists: &'l [List], kind: TableKind, problems: &mut Vec<Problem>) -> Vec<Input<'l>> {
    let mut inputs = Vec::with_capacity(lists.len());
    // A workbook may be named once for each of its sheets, and is unpacked once.
    let mut workbooks: HashMap<&str, Option<Vec<WorkbookSheet>>> = HashMap::new();
    for list in lists {
        if !workbook::is_workbook(&list.bytes) {
            match text::decode(&list.name, &list.bytes) {
                Ok(source) => {
                    if let Some(sheet) = &list.settings.sheet {
                        let problem = SHEET_NOT_FOUND.says(format!("`{}` is no workbook and has no sheets", list.name));
                        let problem = problem.at(Origin::whole(&source)).remedy("leave `sheet` out of its [[list]]");
                        problems.push(sheet.point(problem));
                    }
                    inputs.push(Input { source, cells: None, settings: &list.settings });
                }
                Err(problem) => problems.push(*problem),
            }
            continue;
        }
        let sheets = workbooks.entry(&list.name).or_insert_with(|| {
            let wanted = |name: &str, is_hidden: bool| {
                let of_file = lists.iter().filter(|other| other.name == list.name);
                of_file.map(|other| other.settings.sheet.as_ref()).any(|sheet| match sheet {
                    Some(sheet) => sheet.value == name,
                    None => !is_hidden,
                })
            };
            workbook::read(&list.name, &list.bytes, &wanted).map_err(|problem| problems.push(*problem)).ok()
        });
        if let Some(sheets) = sheets {
            match &list.settings.sheet {
                Some(name) => named_sheet(list, name, sheets, &mut inputs, problems),
                None => all_sheets(list, kind, sheets, &mut inputs, problems),
            }
        }
    }
    inputs
}

/// Whether one of the first rows holds enough headers that we know to be a header row; a single one may be a word in a text.
fn has_headers(source: &Arc<Source>, cells: &Cells, kind: TableKind, settings: &ListSettings) -> bool {
    const LEAST: usize = 2;
    let table = Table::of(source, Cow::Borrowed(cells));
    let is_header = |header: &&str| headers::is_header(kind, &settings.columns, header);
    (0..table.len().min(HEADER_ROWS)).any(|row| table.row(row).values().filter(is_header).count() >= LEAST)
}

/// The sheet that the job names.
fn named_sheet<'l>(
    list: &'l List,
    named: &Stated<String>,
    sheets: &mut [WorkbookSheet],
    inputs: &mut Vec<Input<'l>>,
    problems: &mut Vec<Problem>,
) {
    let name = named.value.as_str();
    let Some(at) = sheets.iter().position(|sheet| sheet.name == name) else {
        let names: Vec<&str> = sheets.iter().map(|sheet| sheet.name.as_str()).collect();
        let problem = SHEET_NOT_FOUND.says(format!("`{}` has no sheet `{name}`", list.name));
        let remedy = match names.is_empty() {
            true => "it has no sheets at all".to_owned(),
            false => did_you_mean_or_choose(name, &names),
        };
        problems.push(named.point(problem.at(Origin::whole(&Source::new(&list.name, ""))).remedy(remedy)));
        return;
    };
    match sheets[at].content.take() {
        Some(Ok((source, cells))) if cells.is_empty() => {
            let what = format!("sheet `{name}` of `{}` is empty", list.name);
            let remedy = "write a header row and one row for each cavity or wire, or name another sheet";
            problems.push(UNREADABLE_FILE.says(what).at(Origin::whole(&source)).remedy(remedy));
        }
        Some(Ok((source, cells))) => inputs.push(Input { source, cells: Some(cells), settings: &list.settings }),
        Some(Err(problem)) => problems.push(*problem),
        // Named twice, which is told where the job is read.
        None => {}
    }
}

/// All sheets that are lists. A single one that is not blank must be one; of several, those without headers that we know
/// are told and left out.
fn all_sheets<'l>(
    list: &'l List,
    kind: TableKind,
    sheets: &mut [WorkbookSheet],
    inputs: &mut Vec<Input<'l>>,
    problems: &mut Vec<Problem>,
) {
    let mut found = Vec::new();
    for sheet in sheets.iter_mut() {
        match sheet.content.take() {
            Some(Ok((_, cells))) if cells.is_empty() => {}
            Some(Ok((source, cells))) => found.push((source, cells)),
            Some(Err(problem)) => problems.push(*problem),
            None => {}
        }
    }
    let whole = Origin::whole(&Source::new(&list.name, ""));
    let hidden: Vec<&str> = sheets.iter().filter(|sheet| sheet.is_hidden).map(|sheet| sheet.name.as_str()).collect();
    if found.is_empty() {
        let what = format!("`{}` has nothing in its sheets", list.name);
        let remedy = match &hidden[..] {
            [] => "write a header row and one row for each cavity or wire, or take the list out of job.toml".to_owned(),
            hidden => format!("hidden sheets are read only when job.toml names them: {}", listed(hidden)),
        };
        problems.push(UNREADABLE_FILE.says(what).at(whole).remedy(remedy));
        return;
    }
    let is_alone = found.len() == 1;
    let is_list = |(source, cells): &(Arc<Source>, Cells)| is_alone || has_headers(source, cells, kind, &list.settings);
    let (lists, others): (Vec<_>, Vec<_>) = found.into_iter().partition(is_list);
    if lists.is_empty() {
        let names: Vec<&str> = others.iter().filter_map(|(source, _)| source.sheet_name()).collect();
        let what = format!("no sheet of `{}` has a header row that is known", list.name);
        let remedy = format!(
            "the sheets are {}: name one in job.toml (`sheet = \"{}\"`), and its headers in `columns`",
            listed(&names),
            names.first().copied().unwrap_or_default()
        );
        problems.push(MISSING_COLUMN.says(what).at(whole).remedy(remedy));
        return;
    }
    for (source, _) in others {
        let what = format!("sheet `{}` has no header row and is not read", source.sheet_name().unwrap_or_default());
        let remedy = "if it is a list, name its columns in job.toml; else name the sheets that are: `sheet = \"…\"`";
        problems.push(SHEET_NOT_READ.says(what).at(Origin::whole(&source)).remedy(remedy));
    }
    for name in hidden {
        let what = format!("sheet `{name}` is hidden and is not read");
        let origin = Origin::whole(&Source::sheet(&list.name, name, ""));
        let remedy = format!("if it is a list, name it in job.toml: `sheet = \"{name}\"`");
        problems.push(SHEET_NOT_READ.says(what).at(origin).remedy(remedy));
    }
    inputs.extend(lists.into_iter().map(|(source, cells)| Input {
        source,
        cells: Some(cells),
        settings: &list.settings,
    }));
}
