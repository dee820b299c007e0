//! The lists of a job folder: which they are, and what job.toml says of reading them.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use super::job::JobFailure;
use super::overlay::Overlay;
use super::problems::{LIST_NAMED_TWICE, LIST_OUTSIDE_JOB};
use super::settings::outside;
use crate::base::conductor::SizeUnit;
use crate::base::settings::{Reader, Table};
use crate::base::{ConnectorId, Insulation, Stated};
use crate::circuits::{self, Action, Form, ListSettings, OwnWords, Supply, list_columns};

/// Name of the file that describes the connectors of a job.
pub(super) const CONNECTORS_FILE: &str = "connectors.csv";
/// Names it may have; the first that is there is read.
pub(super) const CONNECTORS_FILES: [&str; 3] = [CONNECTORS_FILE, "connectors.xlsx", "connectors.ods"];
/// How the names of lists end.
pub(super) const LIST_ENDS: [&str; 4] = ["csv", "xlsx", "xlsm", "ods"];

const FORMS: [(&str, Form); 2] = [("chart", Form::Chart), ("wire", Form::Wire)];
const SIZE_UNITS: [(&str, SizeUnit); 2] = [("mm2", SizeUnit::SquareMillimetres), ("awg", SizeUnit::Awg)];

/// A list that job.toml names, or that lies in a job folder whose job.toml names none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct NamedList {
    pub(super) file: Stated<String>,
    pub(super) settings: ListSettings,
}

impl NamedList {
    /// Whether both name the same sheet, or one of them all sheets of the file.
    fn is_part_of(&self, other: &Self) -> bool {
        let sheets = (self.settings.sheet.as_ref(), other.settings.sheet.as_ref());
        let is_same_sheet = match sheets {
            (Some(one), Some(other)) => one.value == other.value,
            _ => true,
        };
        self.file.value == other.file.value && is_same_sheet
    }
}

/// Reads the `[[list]]` tables; `words` are the job's own.
pub(super) fn read_lists(reader: &mut Reader, top: &Table<'_>, words: &OwnWords) -> Vec<NamedList> {
    let mut lists: Vec<NamedList> = Vec::new();
    for table in reader.tables(top, "list").unwrap_or_default() {
        let Some(list) = read_list(reader, &table, words) else { continue };
        if let Some(first) = lists.iter().find(|known| known.is_part_of(&list)) {
            let sheet = list.settings.sheet.as_ref().filter(|_| first.settings.sheet.is_some());
            let what = match sheet {
                Some(sheet) => format!("sheet `{}` of `{}` is named twice", sheet.value, list.file.value),
                None => format!("`{}` is named twice", list.file.value),
            };
            let remedy = match list.settings.sheet.is_some() || first.settings.sheet.is_some() {
                true => "leave one of the two [[list]] tables out, or name another `sheet` in each",
                false => "leave one of the two [[list]] tables out",
            };
            let mut problem = LIST_NAMED_TWICE.says(what).remedy(remedy);
            if let Some(origin) = &first.file.origin {
                problem = problem.see("first named here", origin.clone());
            }
            reader.tell(list.file.point(problem));
            continue;
        }
        lists.push(list);
    }
    lists
}

fn read_list(reader: &mut Reader, table: &Table<'_>, of_job: &OwnWords) -> Option<NamedList> {
    const KEYS: [&str; 12] = [
        "sheet",
        "connector",
        "blank_connector",
        "form",
        "size_unit",
        "insulation",
        "branch",
        "action",
        "supply",
        "columns",
        "ignore",
        "words",
    ];
    reader.expect_keys(table, &["file"], &KEYS);
    let sheet = reader.text(table, "sheet");
    let form = reader.word(table, "form", &FORMS).map(|form| form.value);
    let connector = reader.text(table, "connector").and_then(|text| ConnectorId::from_cell(&text.value));
    let connector_above = reader.word(table, "blank_connector", &[("above", true)]).is_some_and(|above| above.value);
    let size_unit = reader.word(table, "size_unit", &SIZE_UNITS).map(|unit| unit.value);
    let insulation = read_insulation(reader, table);
    let branch = reader.text(table, "branch").map(|branch| branch.value);
    let words = read_words(reader, table).before(of_job);
    let action = reader.word_by(table, "action", circuits::action, &Action::WORDS).map(|action| action.value);
    let action = action.or_else(|| words.blank_action());
    let supply = reader.word_by(table, "supply", circuits::supply, &Supply::ALL.map(Supply::word));
    let supply = supply.map_or_else(|| words.blank_supply(), |supply| supply.value);
    let mut columns = BTreeMap::new();
    if let Some(mapping) = reader.table(table, "columns") {
        let names: Vec<&str> = list_columns().collect();
        reader.expect_keys(&mapping, &[], &names);
        for name in names {
            if let Some(header) = reader.text(&mapping, name) {
                columns.insert(name.to_owned(), header.value);
            }
        }
    }
    let ignored = reader.texts(table, "ignore").unwrap_or_default().into_iter().map(|header| header.value).collect();
    let file = reader.text(table, "file")?;
    if let Some(problem) = outside(&LIST_OUTSIDE_JOB, "list", &file.value) {
        reader.tell(file.point(problem));
        return None;
    }
    Some(NamedList {
        file,
        settings: ListSettings {
            sheet,
            form,
            connector,
            connector_above,
            columns,
            ignored,
            size_unit,
            insulation,
            branch,
            action,
            supply,
            words,
        },
    })
}

/// The user's own words for what stands in cells.
pub(super) fn read_words(reader: &mut Reader, table: &Table<'_>) -> OwnWords {
    let mut own = OwnWords::default();
    if let Some(words) = reader.table(table, "words") {
        reader.expect_keys(&words, &[], &OwnWords::COLUMNS);
        for column in OwnWords::COLUMNS {
            reader.own_words(&words, column, |word, meaning| own.add(column, word, meaning));
        }
    }
    own
}

/// The insulation of wires, in the words that lists have for it.
pub(super) fn read_insulation(reader: &mut Reader, table: &Table<'_>) -> Option<Insulation> {
    let known = Insulation::ALL.map(Insulation::word);
    reader.word_by(table, "insulation", circuits::insulation, &known).map(|insulation| insulation.value)
}

/// Their file names.
pub(super) fn file_names(lists: Vec<NamedList>) -> Vec<String> {
    lists.into_iter().map(|list| list.file.value).collect()
}

/// Whether a file of this name is a list: CSV or a workbook, neither hidden nor the lock file of an open workbook, nor the
/// description of the connectors.
fn is_list(name: &str) -> bool {
    let end = Path::new(name).extension().and_then(|end| end.to_str()).unwrap_or_default();
    LIST_ENDS.iter().any(|known| end.eq_ignore_ascii_case(known))
        && !CONNECTORS_FILES.contains(&name)
        && !name.starts_with('.')
        && !is_lock_file(name)
}

/// Whether a spreadsheet program puts a file of this name beside a workbook while it is open (common practice).
pub(super) fn is_lock_file(name: &str) -> bool {
    name.starts_with("~$") || name.starts_with(".~lock.")
}

/// All lists of a folder but connectors.csv, as an overlay leaves them, in order of their names.
pub(super) fn lists_in(folder: &Path, overlay: &Overlay) -> Result<Vec<NamedList>, JobFailure> {
    let failure = |source| JobFailure::Read { path: folder.to_owned(), source };
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).map_err(failure)? {
        let entry = entry.map_err(failure)?;
        let Ok(name) = entry.file_name().into_string() else { continue };
        if is_list(&name) && entry.path().is_file() {
            names.push(name);
        }
    }
    overlay.apply(&mut names, is_list);
    names.sort();
    let unset = |name| NamedList { file: Stated::default(name), settings: ListSettings::default() };
    Ok(names.into_iter().map(unset).collect())
}
