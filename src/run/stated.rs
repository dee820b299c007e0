//! Settings out of TOML tables, each with the place it was read from; what cannot be used becomes a problem there.
//!
//! In: the parsed tables of a file. Out: [`Stated`] values, and problems that point at the key or value with the nearest known word.

use std::ops::RangeInclusive;
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use crate::base::nearest::did_you_mean_or_choose;
use crate::base::{Origin, Problem, Source};

/// A value together with the place that states it; without one it is the program's default.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stated<T> {
    /// The value.
    pub value: T,
    /// Where it is written; `None` for a default.
    pub origin: Option<Origin>,
}

impl<T> Stated<T> {
    /// A value written in the file.
    pub const fn written(value: T, origin: Origin) -> Self {
        Self { value, origin: Some(origin) }
    }

    /// A default.
    pub const fn default(value: T) -> Self {
        Self { value, origin: None }
    }

    /// The same place with another value.
    pub fn map<U>(self, into: impl FnOnce(T) -> U) -> Stated<U> {
        Stated { value: into(self.value), origin: self.origin }
    }

    /// Points a problem at the place, if there is one.
    pub fn blame(&self, problem: Problem) -> Problem {
        match &self.origin {
            Some(origin) => problem.at(origin.clone()),
            None => problem,
        }
    }
}

/// Reads tables of one file and gathers what is wrong in them.
pub(super) struct Reader<'a> {
    source: &'a Arc<Source>,
    pub(super) problems: Vec<Problem>,
}

/// A table under its heading as the file writes it (`[printer]`).
pub(super) struct Table<'a> {
    heading: &'a str,
    entries: &'a DeTable<'a>,
    pub(super) origin: Origin,
}

impl<'a> Table<'a> {
    fn get(&self, key: &str) -> Option<(&'a DeValue<'a>, std::ops::Range<usize>)> {
        let found = self.entries.iter().find(|(name, _)| name.get_ref() == key);
        found.map(|(_, value)| (value.get_ref(), value.span()))
    }

    /// All keys of the table with their places, in the order of their names.
    pub(super) fn keys(&self) -> impl Iterator<Item = (&'a str, std::ops::Range<usize>)> {
        self.entries.iter().map(|(name, _)| (name.get_ref().as_ref(), name.span()))
    }
}

impl<'a> Reader<'a> {
    pub(super) const fn new(source: &'a Arc<Source>) -> Self {
        Self { source, problems: Vec::new() }
    }

    pub(super) fn origin(&self, span: std::ops::Range<usize>) -> Origin {
        Origin::new(self.source, span)
    }

    /// The whole file as a table.
    pub(super) fn top(&self, entries: &'a DeTable<'a>) -> Table<'a> {
        Table { heading: "job.toml", entries, origin: Origin::whole(self.source) }
    }

    /// Complains of every key that is not among `known`.
    pub(super) fn expect_keys(&mut self, table: &Table<'a>, known: &[&str]) {
        for (key, span) in table.keys().filter(|(key, _)| !known.contains(key)) {
            let message = format!("{} has no setting `{key}`", table.heading);
            self.complain("unknown-setting", message, span, did_you_mean_or_choose(key, known));
        }
    }

    pub(super) fn text(&mut self, table: &Table<'a>, key: &str) -> Option<Stated<String>> {
        let (value, span) = table.get(key)?;
        match value {
            DeValue::String(text) if !text.trim().is_empty() => {
                Some(Stated::written(text.trim().to_owned(), self.origin(span)))
            }
            DeValue::String(_) => {
                let remedy = format!("write a value between the quotes, or leave `{key}` out");
                self.complain("empty-setting", format!("`{key}` is empty"), span, remedy);
                None
            }
            other => self.wrong_kind(key, other, span, "text in quotes"),
        }
    }

    /// A text that must be one of the words.
    pub(super) fn word<T: Copy>(
        &mut self,
        table: &Table<'a>,
        key: &str,
        words: &[(&'static str, T)],
    ) -> Option<Stated<T>> {
        let text = self.text(table, key)?;
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == text.value) {
            return Some(text.map(|_| *value));
        }
        let known: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let problem = Problem::error("unknown-word", format!("`{key}` cannot be `{}`", text.value))
            .remedy(did_you_mean_or_choose(&text.value, &known));
        self.problems.push(text.blame(problem));
        None
    }

    /// A number, whole or not, inside `range`; `unit` is named in the message.
    pub(super) fn number(
        &mut self,
        table: &Table<'a>,
        key: &str,
        range: RangeInclusive<f64>,
        unit: &str,
    ) -> Option<Stated<f64>> {
        let (value, span) = table.get(key)?;
        let (number, typed) = match value {
            DeValue::Integer(whole) => {
                (i64::from_str_radix(whole.as_str(), whole.radix()).ok().map(|n| n as f64), whole.to_string())
            }
            DeValue::Float(float) => (float.as_str().parse::<f64>().ok(), float.to_string()),
            other => return self.wrong_kind(key, other, span, &format!("a number of {unit}, without quotes")),
        };
        match number.filter(|number| range.contains(number)) {
            Some(number) => Some(Stated::written(number, self.origin(span))),
            None => {
                let remedy = format!("write a number from {} to {}", range.start(), range.end());
                self.complain("number-out-of-range", format!("`{key}` cannot be {typed} {unit}"), span, remedy);
                None
            }
        }
    }

    /// A list of texts, each with its own place.
    pub(super) fn texts(&mut self, table: &Table<'a>, key: &str) -> Option<Vec<Stated<String>>> {
        let (value, span) = table.get(key)?;
        let DeValue::Array(items) = value else {
            return self.wrong_kind(key, value, span, "a list of texts: [\"one\", \"another\"]");
        };
        let mut texts = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::String(text) => texts.push(Stated::written(text.trim().to_owned(), self.origin(item.span()))),
                other => {
                    self.wrong_kind::<()>(key, other, item.span(), "a list of texts: [\"one\", \"another\"]");
                }
            }
        }
        Some(texts)
    }

    /// A table inside this one.
    pub(super) fn table(&mut self, table: &Table<'a>, key: &'a str, heading: &'a str) -> Option<Table<'a>> {
        let (value, span) = table.get(key)?;
        match value {
            DeValue::Table(entries) => Some(Table { heading, entries, origin: self.origin(span) }),
            other => self.wrong_kind(key, other, span, &format!("a table: {heading}")),
        }
    }

    /// The tables of `[[key]]`, in the order of the file.
    pub(super) fn tables(&mut self, table: &Table<'a>, key: &'a str, heading: &'a str) -> Option<Vec<Table<'a>>> {
        let (value, span) = table.get(key)?;
        let expected = format!("written as {heading} with its settings below");
        let DeValue::Array(items) = value else {
            return self.wrong_kind(key, value, span, &expected);
        };
        let mut tables = Vec::new();
        for item in items.iter() {
            match item.get_ref() {
                DeValue::Table(entries) => {
                    tables.push(Table { heading, entries, origin: self.origin(item.span()) });
                }
                other => {
                    self.wrong_kind::<()>(key, other, item.span(), &expected);
                }
            }
        }
        Some(tables)
    }

    fn wrong_kind<T>(
        &mut self,
        key: &str,
        found: &DeValue<'_>,
        span: std::ops::Range<usize>,
        expected: &str,
    ) -> Option<T> {
        let found = match found {
            DeValue::String(_) => "text",
            DeValue::Integer(_) | DeValue::Float(_) => "a number",
            DeValue::Boolean(_) => "true or false",
            DeValue::Datetime(_) => "a date",
            DeValue::Array(_) => "a list",
            DeValue::Table(_) => "a table",
        };
        let message = format!("`{key}` is {found}");
        self.complain("wrong-kind-of-setting", message, span, format!("`{key}` is {expected}"));
        None
    }

    fn complain(&mut self, id: &'static str, message: String, span: std::ops::Range<usize>, remedy: String) {
        let problem = Problem::error(id, message).at(self.origin(span)).remedy(remedy);
        self.problems.push(problem);
    }
}
