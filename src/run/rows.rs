//! Rows of the user's own lists: which lists there are, and where a row is that somebody names.
//!
//! In: a job as it is held. Out: the source of a list and a line in it, to be shown as it stands.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::held::Snapshot;
use super::named_lists::CONNECTORS_FILES;
use crate::base::{Origin, Problem, Source};
use crate::circuits::as_listed::{AsListed, Which};

/// A line of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ListLine<'s> {
    /// The list.
    pub source: &'s Arc<Source>,
    /// The line, from 1; in a workbook the row.
    pub line: usize,
}

impl Snapshot {
    /// All sources that a row can be of: those of ends, connectors and problems, by their names.
    pub fn sources(&self) -> Vec<&Arc<Source>> {
        let circuits = &self.reading.circuits;
        let ends = circuits.all().iter().flat_map(|circuit| circuit.ends()).map(|end| &end.origin);
        let connectors = circuits.connectors().map(|connector| &connector.origin);
        let problems = self.problems().flat_map(origins);
        let mut found: BTreeMap<(&str, Option<&str>), &Arc<Source>> = BTreeMap::new();
        let mut last: Option<&Arc<Source>> = None;
        for source in ends.chain(connectors).chain(problems).map(Origin::source) {
            // Ends of one list follow each other.
            if !last.is_some_and(|last| Arc::ptr_eq(last, source)) {
                found.entry((source.name(), source.sheet_name())).or_insert(source);
                last = Some(source);
            }
        }
        found.into_values().collect()
    }

    /// The line that a text names as messages and records do: `j1.csv:14`, `j1.csv:14:3`, `loom.xlsx:Sheet1!D14`.
    pub fn line_named<'s>(&'s self, named: &str) -> Option<ListLine<'s>> {
        let mut sources = self.sources();
        // Of a file whose name begins with the name of another the longer one is meant.
        sources.sort_by_key(|source| std::cmp::Reverse(source.name().len()));
        sources.into_iter().find_map(|source| {
            let whole = Origin::whole(source).to_string();
            let rest = named.strip_prefix(&whole)?;
            let line = match source.sheet_name() {
                Some(_) => rest.strip_prefix('!')?.trim_start_matches(|c: char| c.is_ascii_alphabetic()),
                None => rest.strip_prefix(':')?.split(':').next()?,
            };
            Some(ListLine { source, line: line.parse().ok()? })
        })
    }

    /// A list cut into cells, with the headers as its user wrote them.
    pub fn as_listed<'s>(&self, source: &'s Arc<Source>) -> Option<AsListed<'s>> {
        let is_of_connectors = CONNECTORS_FILES.contains(&source.name());
        let which = if is_of_connectors { Which::Connectors } else { Which::Circuits };
        AsListed::of(source, &self.reading.job.settings_of(source.name(), source.sheet_name()), which)
    }
}

/// All places of a problem, its own first.
pub fn origins(problem: &Problem) -> impl Iterator<Item = &Origin> {
    problem.origin.iter().chain(problem.related.iter().map(|related| &related.origin))
}

/// The line of a place without its column, as [`Snapshot::line_named`] reads it: `j1.csv:14`, `loom.xlsx:Sheet1!14`.
pub fn line_name(origin: &Origin) -> Option<String> {
    let line = origin.line()?;
    let whole = Origin::whole(origin.source());
    Some(if origin.sheet().is_some() { format!("{whole}!{line}") } else { format!("{whole}:{line}") })
}
