//! Rows that have an error and are left out of the circuits: how many they are, and which of them name a place or connector that
//! somebody asks for. A row that cannot be read may be of a wire that is live.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use super::held::Snapshot;
use super::named_lists::CONNECTORS_FILES;
use super::recall::compared;
use super::rows::line_name;
use crate::base::{Origin, Severity, Source};
use crate::circuits::as_listed::AsListed;

/// What is left out while settings and lists have errors.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct LeftOut {
    /// How many rows.
    pub rows: usize,
    /// How many errors there are in all: of settings and whole lists too.
    pub errors: usize,
    /// Those of the rows that name what was asked for.
    pub naming: Vec<LeftRow>,
}

/// A row that is left out, at one of the places that it names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeftRow {
    /// The row: `loom.csv:14`.
    pub line: String,
    /// The place, as the row has it.
    pub place: String,
    /// The row's own words for how the circuit is fed.
    pub supply: Option<String>,
}

impl LeftOut {
    /// The rows that name this place.
    pub fn at<'l>(&'l self, place: &str) -> impl Iterator<Item = &'l LeftRow> {
        let asked = compared(place);
        self.naming.iter().filter(move |row| compared(&row.place) == asked)
    }
}

impl Snapshot {
    /// What is left out, with the rows that name a place or a connector; `None` where nothing has an error.
    pub fn left_out(&self, asked: &str) -> Option<LeftOut> {
        let errors: Vec<_> = self.problems().filter(|problem| problem.severity == Severity::Error).collect();
        if errors.is_empty() {
            return None;
        }
        let is_list =
            |source: &&Arc<Source>| !source.name().ends_with(".toml") && !CONNECTORS_FILES.contains(&source.name());
        let left: Vec<&Origin> = errors.iter().filter_map(|problem| problem.origin.as_ref()).collect();
        // Each list with the rows from which an end was read.
        let mut lists: BTreeMap<*const Source, (AsListed<'_>, BTreeSet<usize>)> = BTreeMap::new();
        let sources: BTreeMap<*const Source, &Arc<Source>> =
            left.iter().map(|origin| (Arc::as_ptr(origin.source()), origin.source())).collect();
        for (key, source) in sources.into_iter().filter(|(_, source)| is_list(source)) {
            lists.extend(self.as_listed(source).map(|list| (key, (list, BTreeSet::new()))));
        }
        // An error that was found in what was read leaves its row in.
        for end in self.reading.circuits.all().iter().flat_map(|circuit| circuit.ends()) {
            if let Some((list, read)) = lists.get_mut(&Arc::as_ptr(end.origin.source())) {
                read.extend(list.row_of(&end.origin));
            }
        }
        let asked = compared(asked);
        let mut told = LeftOut { errors: errors.len(), ..LeftOut::default() };
        let mut seen = BTreeSet::new();
        for origin in left {
            let Some((list, read)) = lists.get(&Arc::as_ptr(origin.source())) else { continue };
            let row = list.row_of(origin).filter(|row| list.header_row().is_some_and(|header| header < *row));
            let Some(row) = row.filter(|row| !read.contains(row)) else { continue };
            if !seen.insert((Arc::as_ptr(origin.source()), row)) {
                continue;
            }
            told.rows += 1;
            let Some(line) = line_name(origin) else { continue };
            let said = list.said_by(row);
            for (connector, cavity) in said.places {
                let place = cavity.map_or_else(|| connector.clone(), |cavity| format!("{connector}/{cavity}"));
                if compared(&connector) == asked || compared(&place) == asked {
                    told.naming.push(LeftRow { line: line.clone(), place, supply: said.supply.clone() });
                }
            }
        }
        Some(told)
    }
}
