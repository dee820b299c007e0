//! The tables of the register as plain rows: what an export writes, an import reads, and a copy in memory is made of.
//!
//! Which tables and columns there are is asked of the database itself, so that none can be forgotten when the schema grows.

use std::path::Path;

use rusqlite::types::{ToSqlOutput, Value as Stored, ValueRef};
use rusqlite::{Connection, ToSql, TransactionBehavior, params_from_iter};

use super::failure::RegisterFailure;
use super::register::Register;

/// A table with all its rows, in the order of its primary key.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Table {
    /// Its shape.
    pub shape: Shape,
    /// Its rows, a value for each column.
    pub rows: Vec<Vec<Value>>,
}

/// What a table is called and made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Shape {
    /// Its name.
    pub name: String,
    /// Its columns, in order.
    pub columns: Vec<Column>,
}

/// A column of a table.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What stands in it.
    pub kind: Kind,
    /// Whether it may hold nothing.
    pub may_be_nothing: bool,
    /// The table and column that must hold its value.
    pub refers_to: Option<(String, String)>,
    /// Whether the rows are in its order.
    is_key: bool,
}

/// What stands in a column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Whole numbers.
    Number,
    /// Text.
    Text,
}

/// What stands in a row under a column.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Value {
    /// Nothing, which is not the empty text.
    Nothing,
    /// A whole number.
    Number(i64),
    /// A text.
    Text(String),
}

impl ToSql for Value {
    fn to_sql(&self) -> rusqlite::Result<ToSqlOutput<'_>> {
        Ok(match self {
            Self::Nothing => ToSqlOutput::Owned(Stored::Null),
            Self::Number(number) => ToSqlOutput::Owned(Stored::Integer(*number)),
            Self::Text(text) => ToSqlOutput::Borrowed(ValueRef::Text(text.as_bytes())),
        })
    }
}

impl Table {
    /// A column of it by name.
    pub fn column(&self, name: &str) -> Option<usize> {
        self.shape.columns.iter().position(|column| column.name == name)
    }
}

impl Register {
    /// All tables with all their rows, of one moment.
    ///
    /// # Errors
    /// When the register fails.
    pub fn tables(&self) -> Result<Vec<Table>, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.unchecked_transaction().map_err(failed)?;
        read(&transaction, &self.path)
    }

    /// Fills an empty register with these rows, all of them or none; `false` when it was not empty any more.
    ///
    /// # Errors
    /// When the register fails or does not take the rows.
    pub fn fill(&mut self, tables: &[Table]) -> Result<bool, RegisterFailure> {
        let failed = |error| RegisterFailure::from_database(&self.path, error);
        let transaction = self.connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(failed)?;
        if read(&transaction, &self.path)?.iter().any(|table| !table.rows.is_empty()) {
            return Ok(false);
        }
        transaction.pragma_update(None, "defer_foreign_keys", true).map_err(failed)?;
        for table in tables {
            for row in &table.rows {
                insert(&transaction, &table.shape, row).map_err(failed)?;
            }
        }
        transaction.commit().map_err(failed)?;
        Ok(true)
    }
}

/// All tables of a database. Call it inside a transaction, so that they are of one moment.
pub(super) fn read(connection: &Connection, path: &Path) -> Result<Vec<Table>, RegisterFailure> {
    let failed = |error| RegisterFailure::from_database(path, error);
    let mut tables = Vec::new();
    for shape in shapes(connection).map_err(failed)? {
        let rows = rows(connection, &shape).map_err(failed)?;
        tables.push(Table { shape, rows });
    }
    Ok(tables)
}

/// The shapes of all tables, by name.
pub(super) fn shapes(connection: &Connection) -> rusqlite::Result<Vec<Shape>> {
    let mut names = connection
        .prepare("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite%' ORDER BY name")?;
    let names: Vec<String> = names.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    names.into_iter().map(|name| shape(connection, name)).collect()
}

fn shape(connection: &Connection, name: String) -> rusqlite::Result<Shape> {
    let mut references = connection.prepare("SELECT \"from\", \"table\", \"to\" FROM pragma_foreign_key_list(?1)")?;
    let references: Vec<(String, (String, String))> = references
        .query_map([&name], |row| Ok((row.get(0)?, (row.get(1)?, row.get(2)?))))?
        .collect::<Result<_, _>>()?;
    let mut columns =
        connection.prepare("SELECT name, type, \"notnull\", pk FROM pragma_table_info(?1) ORDER BY cid")?;
    let columns = columns
        .query_map([&name], |row| {
            let (name, kind, is_filled, key): (String, String, bool, i64) =
                (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
            let refers_to = references.iter().find(|(from, _)| *from == name).map(|(_, to)| to.clone());
            let kind = if kind == "INTEGER" { Kind::Number } else { Kind::Text };
            Ok(Column { name, kind, may_be_nothing: !is_filled && key == 0, refers_to, is_key: key > 0 })
        })?
        .collect::<Result<_, _>>()?;
    Ok(Shape { name, columns })
}

fn rows(connection: &Connection, shape: &Shape) -> rusqlite::Result<Vec<Vec<Value>>> {
    let names = |is_wanted: fn(&Column) -> bool| {
        let names: Vec<String> =
            shape.columns.iter().filter(|column| is_wanted(column)).map(|column| quoted(&column.name)).collect();
        names.join(", ")
    };
    let sql =
        format!("SELECT {} FROM {} ORDER BY {}", names(|_| true), quoted(&shape.name), names(|column| column.is_key));
    let mut statement = connection.prepare(&sql)?;
    let mut found = statement.query([])?;
    let mut rows = Vec::new();
    while let Some(row) = found.next()? {
        let values = (0..shape.columns.len()).map(|at| {
            Ok(match row.get_ref(at)? {
                ValueRef::Null => Value::Nothing,
                ValueRef::Integer(number) => Value::Number(number),
                _ => Value::Text(row.get(at)?),
            })
        });
        rows.push(values.collect::<rusqlite::Result<_>>()?);
    }
    Ok(rows)
}

/// Writes a row of a table.
pub(super) fn insert(connection: &Connection, shape: &Shape, row: &[Value]) -> rusqlite::Result<()> {
    let names: Vec<String> = shape.columns.iter().map(|column| quoted(&column.name)).collect();
    let places = vec!["?"; names.len()].join(", ");
    let sql = format!("INSERT INTO {} ({}) VALUES ({places})", quoted(&shape.name), names.join(", "));
    connection.prepare_cached(&sql)?.execute(params_from_iter(row)).map(|_| ())
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
