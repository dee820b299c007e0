//! job.toml with other `[[list]]` tables of one file, and nothing else changed: comments, order and all other keys keep their place.

use std::collections::BTreeMap;

use toml_edit::{Array, ArrayOfTables, DocumentMut, InlineTable, Item, Table, TableLike, Value};

use super::{Part, Said};
use crate::circuits::Form;
use crate::run::proposal::unit_words;

/// What the tables of a file shall be.
pub(super) struct Tables<'a> {
    /// The file that they name so far, if they do.
    pub(super) old: Option<&'a str>,
    /// The file that they shall name.
    pub(super) file: &'a str,
    /// What they shall say, each of a table that is read; none where the file is to leave the job.
    pub(super) parts: &'a [Part],
    /// Files to be named first, where job.toml names none yet.
    pub(super) others: &'a [String],
}

/// The text with these tables. `None` where it cannot be changed without losing something of it.
pub(super) fn with_tables(text: &str, tables: &Tables<'_>) -> Option<String> {
    let (mark, text) = text.strip_prefix('\u{feff}').map_or(("", text), |rest| ("\u{feff}", rest));
    let mut document: DocumentMut = text.parse().ok()?;
    let top = document.as_table_mut();
    let had_none = top.get("list").is_none();
    let lists = top.entry("list").or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    let lists = lists.as_array_of_tables_mut()?;
    if had_none {
        for file in tables.others {
            lists.push(new_table(file));
        }
    }
    let mut wanted: Vec<&Part> = tables.parts.iter().filter(|part| part.is_read).collect();
    let mut kept = ArrayOfTables::new();
    let mut behind: Option<usize> = None;
    let mut orphaned = String::new();
    for table in lists.iter() {
        let mut table = table.clone();
        let names = |key: &str| table.get(key).and_then(Item::as_str).map(str::trim).map(str::to_owned);
        if tables.old.is_some_and(|old| names("file").as_deref() == Some(old)) {
            let sheet = names("sheet");
            let same = wanted.iter().position(|part| part.sheet == sheet);
            // A table of all sheets, or of a sheet where a list in text form comes instead, is taken over by the first part.
            let open = || (sheet.is_none() || wanted.iter().any(|part| part.sheet.is_none())).then_some(0);
            match same.or_else(open).filter(|&at| at < wanted.len()) {
                Some(at) => {
                    say(&mut table, tables.file, wanted.remove(at));
                    behind = Some(kept.len());
                }
                None => {
                    orphaned.push_str(comments_of(&table));
                    continue;
                }
            }
        }
        if !orphaned.is_empty() {
            let own = comments_of(&table).to_owned();
            table.decor_mut().set_prefix(format!("{orphaned}{own}"));
            orphaned.clear();
        }
        kept.push(table);
    }
    // What is new stands behind the others of its file, else behind all.
    let rest: Vec<Table> = wanted
        .into_iter()
        .map(|part| {
            let mut table = new_table(tables.file);
            say(&mut table, tables.file, part);
            table
        })
        .collect();
    let at = behind.map_or(kept.len(), |last| last + 1);
    let mut all: Vec<Table> = kept.iter().cloned().collect();
    // Without positions of their own they stand in this order, where the first of them stood.
    let first = lists.iter().next().and_then(Table::position);
    all.splice(at..at, rest);
    *lists = ArrayOfTables::new();
    for (index, mut table) in all.into_iter().enumerate() {
        if index == 0 && table.position().is_none() {
            table.set_position(first);
        }
        lists.push(table);
    }
    if lists.is_empty() {
        top.remove("list");
    }
    if !orphaned.is_empty() {
        let trailing = document.trailing().as_str().unwrap_or_default().to_owned();
        document.set_trailing(format!("{orphaned}{trailing}"));
    }
    let written = document.to_string();
    let has_windows_lines = text.contains("\r\n") && !text.replace("\r\n", "").contains('\n');
    let written = if has_windows_lines { written.replace("\r\n", "\n").replace('\n', "\r\n") } else { written };
    let new = format!("{mark}{written}");
    keeps_the_rest(text, &written, tables).then_some(new)
}

fn comments_of(table: &Table) -> &str {
    let prefix = table.decor().prefix().and_then(|prefix| prefix.as_str()).unwrap_or_default();
    if prefix.contains('#') { prefix } else { "" }
}

fn new_table(file: &str) -> Table {
    let mut table = Table::new();
    table.decor_mut().set_prefix("\n");
    table.insert("file", toml_edit::value(file));
    table
}

/// The lines of a table, for a person to write them.
pub(super) fn as_lines(tables: &Tables<'_>) -> String {
    let mut text = String::new();
    for part in tables.parts.iter().filter(|part| part.is_read) {
        let mut table = new_table(tables.file);
        say(&mut table, tables.file, part);
        text.push_str("[[list]]\n");
        text.push_str(&table.to_string());
    }
    text
}

/// Has a table say what is said of a part; what it says besides stays.
fn say(table: &mut Table, file: &str, part: &Part) {
    let Said { form, connector, connector_above, size_unit, columns, ignored } = &part.said;
    let form = form.map(|form| match form {
        Form::Chart => "chart",
        Form::Wire => "wire",
    });
    put(table, "file", Some(file.into()));
    put(table, "sheet", part.sheet.as_deref().map(Value::from));
    put(table, "connector", connector.as_ref().map(|connector| connector.as_str().into()));
    put(table, "blank_connector", connector_above.then(|| "above".into()));
    put(table, "form", form.map(Value::from));
    put(table, "size_unit", size_unit.map(|unit| unit_words(unit).0.into()));
    put(table, "ignore", (!ignored.is_empty()).then(|| Value::Array(ignored.iter().collect::<Array>())));
    put_columns(table, columns);
}

/// Puts a value in the place of another, with what stands round that; one that is the same stays as it is written.
fn put(table: &mut Table, key: &str, value: Option<Value>) {
    let Some(value) = value else {
        table.remove(key);
        return;
    };
    match table.get_mut(key) {
        Some(Item::Value(old)) if plainly(old) == plainly(&value) => {}
        Some(Item::Value(old)) => {
            let decor = old.decor().clone();
            *old = value;
            *old.decor_mut() = decor;
        }
        _ => {
            table.insert(key, Item::Value(value));
        }
    }
}

fn plainly(value: &Value) -> String {
    match value {
        Value::String(text) => text.value().trim().to_owned(),
        Value::Array(all) => all.iter().map(plainly).collect::<Vec<_>>().join("\n"),
        other => other.to_string(),
    }
}

fn put_columns(table: &mut Table, columns: &BTreeMap<String, String>) {
    if columns.is_empty() {
        if table.get("columns").and_then(Item::as_table_like).is_some_and(|known| !known.is_empty()) {
            table.remove("columns");
        }
        return;
    }
    let known = table.entry("columns").or_insert_with(|| Item::Value(Value::InlineTable(InlineTable::new())));
    let Some(known) = known.as_table_like_mut() else { return };
    let gone: Vec<String> =
        known.iter().map(|(key, _)| key.to_owned()).filter(|key| !columns.contains_key(key)).collect();
    for key in gone {
        known.remove(&key);
    }
    for (column, header) in columns {
        put_column(known, column, header);
    }
}

fn put_column(known: &mut dyn TableLike, column: &str, header: &str) {
    match known.get_mut(column) {
        Some(Item::Value(old)) if old.as_str().map(str::trim) == Some(header) => {}
        Some(Item::Value(old)) => {
            let decor = old.decor().clone();
            *old = header.into();
            *old.decor_mut() = decor;
        }
        _ => {
            known.insert(column, Item::Value(header.into()));
        }
    }
}

/// Whether the new text says all that the old one did, the tables of the file apart, and has every line that is a comment alone.
fn keeps_the_rest(old: &str, new: &str, tables: &Tables<'_>) -> bool {
    let rest = |text: &str| -> Option<toml::Table> {
        let mut top: toml::Table = text.parse().ok()?;
        let lists = top.remove("list").and_then(|lists| lists.as_array().cloned()).unwrap_or_default();
        let is_other = |list: &toml::Value| {
            let file = list.get("file").and_then(toml::Value::as_str).map(str::trim);
            let added = |file: &str| {
                tables.others.iter().any(|other| other == file) && list.as_table().is_some_and(|list| list.len() == 1)
            };
            file != Some(tables.file) && file != tables.old && !file.is_some_and(added)
        };
        top.insert("list".to_owned(), toml::Value::Array(lists.into_iter().filter(is_other).collect()));
        Some(top)
    };
    let comments = |text: &str| {
        let mut lines: Vec<String> =
            text.lines().map(str::trim).filter(|line| line.starts_with('#')).map(str::to_owned).collect();
        lines.sort();
        lines
    };
    let (before, mut after) = (comments(old), comments(new));
    let has_all = before.iter().all(|line| match after.binary_search(line) {
        Ok(at) => {
            after.remove(at);
            true
        }
        Err(_) => false,
    });
    rest(old).is_some() && rest(old) == rest(new) && (has_all || tables.parts.is_empty())
}
