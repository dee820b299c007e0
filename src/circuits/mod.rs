//! CIRCUIT LISTS -> CIRCUITS.
//!
//! In come the lists of a job as bytes, CSV or workbooks, charts with a row per cavity and wire lists with a row per wire,
//! and perhaps connectors.csv. Out come circuits with their ends and wires, and every problem met on the way. The steps, in order:
//!
//! ```text
//! text        bytes    -> text, whatever its encoding
//! workbook    bytes    -> the sheets of a workbook, with their texts and cells
//! inputs      lists    -> texts and sheets, by the two above
//! cells       text     -> rows of cells, each with its exact place
//! columns     cells    -> which column is which (headers: those that are known, header_rows: where they stand)
//! sheet       all of the above for one list
//! connectors  connectors.csv -> connectors (face: how their cavities lie and are named)
//! rows        rows     -> mentions: what each says of an end (values: its lengths, words: its actions, supplies and the like,
//!             own_words: those of the user,
//!             blurred: colours that these would blur)
//! case        mentions -> cavities that differ in case only
//! naming      mentions -> which circuit each is of
//! join        mentions -> ends and circuits
//! wires       ends     -> which end is the far end of which
//! rules       ends     -> what shall be done with those whose rows say nothing
//! edits       what was decided beside the lists -> ends
//! check       circuits -> what is odd about them
//! ```
//!
//! `bench` reads what is noted at the bench, in the same way: its words stand in tables too. `as_listed` shows rows as they stand in a
//! list, for whoever has to put one right.

use std::collections::{BTreeMap, HashMap};
use std::convert::Infallible;

use crate::base::{Checked, ConnectorId, Origin, Problem, problem};

mod alike;
mod all;
pub mod as_listed;
pub mod bench;
mod blurred;
mod case;
pub mod caution;
mod cells;
mod check;
pub mod circuit;
mod columns;
mod connectors;
pub mod edits;
pub mod face;
mod header_rows;
mod headers;
mod inputs;
mod join;
pub mod list;
mod look;
mod mention;
mod naming;
mod own_words;
pub mod partner;
mod problems;
pub mod rating;
mod rows;
mod rules;
mod sheet;
mod spreadsheet;
mod standing;
#[cfg(test)]
mod tests;
mod text;
mod values;
mod wires;
mod words;
mod workbook;

pub use all::Circuits;
pub use check::fuses;
pub use circuit::{
    Action, Case, Circuit, Connector, ConnectorKind, Decided, End, FarEnd, Fuse, Naming, Supply, TagWish,
};
pub use edits::{Edit, Edited, Instead, Says};
pub use face::{ConnectorFace, View};
pub use headers::list_columns;
pub use list::{Form, List, ListSettings};
pub use look::{Looked, connector_named_by, look};
pub use own_words::OwnWords;
pub use problems::{has_no_rows, is_danger, problem_kinds, waits_for_errors};
pub use rules::ActionRule;
pub use standing::{Standing, StandingRow, TheirColumn, sheet_names, standing, standing_connectors};
pub use text::LARGEST_FILE;
pub use words::{action, insulation, supply};

/// All that a job has to say of its circuits.
#[derive(Clone, Copy, Debug, Default)]
pub struct JobLists<'a> {
    /// Charts and wire lists, in the order of the job.
    pub lists: &'a [List],
    /// connectors.csv.
    pub connectors: Option<&'a List>,
    /// Rules for the actions of many ends, the first that holds counts.
    pub rules: &'a [ActionRule],
}

impl<'a> JobLists<'a> {
    /// Lists alone.
    pub const fn of(lists: &'a [List]) -> Self {
        Self { lists, connectors: None, rules: &[] }
    }
}

/// Reads the lists of a job and joins them into circuits. All problems of all lists come together, in the order of the
/// lists and their rows; rows and ends with errors are left out of the circuits.
pub fn read(job: &JobLists<'_>) -> Checked<Circuits> {
    match read_through(job, |circuits, _| Ok::<_, Infallible>(circuits)) {
        Ok(read) => read,
        Err(never) => match never {},
    }
}

/// The same, with what was decided of ends beside the lists: `edits` is shown the circuits as the lists have them, and answers in
/// the order in which its edits count. Whatever is looked for across circuits is looked for in what holds then.
///
/// # Errors
/// What `edits` fails with.
pub fn read_edited<E>(
    job: &JobLists<'_>,
    edits: impl FnOnce(&Circuits) -> Result<Vec<Edit>, E>,
) -> Result<Checked<Circuits>, E> {
    read_through(job, |circuits, connectors| {
        // Edits name circuits by their place in natural order; what follows wants them in the order of the lists.
        let mut order: Vec<usize> = (0..circuits.len()).collect();
        order.sort_by(|&a, &b| circuits[a].id().cmp(circuits[b].id()));
        let sorted = Circuits::new(circuits, connectors.clone());
        let edits = edits(&sorted)?;
        let mut sorted = sorted.into_all();
        edits::apply(&mut sorted, edits);
        let mut as_listed: Vec<(usize, Circuit)> = order.into_iter().zip(sorted).collect();
        as_listed.sort_by_key(|(at, _)| *at);
        Ok(as_listed.into_iter().map(|(_, circuit)| circuit).collect())
    })
}

/// Reads the lists, and has `edit` look at the circuits before anything is looked for across them.
fn read_through<E>(
    job: &JobLists<'_>,
    edit: impl FnOnce(Vec<Circuit>, &BTreeMap<ConnectorId, Connector>) -> Result<Vec<Circuit>, E>,
) -> Result<Checked<Circuits>, E> {
    let JobLists { lists, connectors, rules } = *job;
    let mut problems = Vec::new();
    let described =
        connectors.map_or_else(connectors::Connectors::default, |list| connectors::read(list, &mut problems));
    let inputs = inputs::read(lists, headers::TableKind::List, &mut problems);
    let open = inputs.iter().filter_map(|input| input.open(headers::TableKind::List, &mut problems));
    let sheets: Vec<_> = open.collect();
    let mut mentions = rows::read(&sheets, &described.all, &mut problems);
    case::settle(&mut mentions, &described.all, &mut problems);
    let named = naming::name(&mentions, &mut problems);
    let mut circuits = join::join(&mentions, &named, &described.all, &mut problems);
    for circuit in &mut circuits {
        rules::decide(circuit, rules, |id| described.all.get(id));
    }
    let circuits = edit(circuits, &described.all)?;
    let is_complete = !problem::has_errors(&problems);
    let joined =
        check::Joined { circuits: &circuits, connectors: &described, mentions: &mentions, named: &named, is_complete };
    check::check(joined, &mut problems);
    sort(&mut problems, lists, &inputs);
    Ok(Checked { value: Circuits::new(circuits, described.all), problems })
}

/// Puts problems in the order of the input: lists as given and the sheets of each, connectors.csv last, then by place.
fn sort(problems: &mut [Problem], lists: &[List], inputs: &[inputs::Input<'_>]) {
    let mut files: HashMap<&str, usize> = HashMap::new();
    for (index, list) in lists.iter().enumerate() {
        files.entry(list.name.as_str()).or_insert(index);
    }
    let mut sheets: HashMap<(&str, &str), usize> = HashMap::new();
    for (index, source) in inputs.iter().map(inputs::Input::source).enumerate() {
        sheets.insert((source.name(), source.sheet_name().unwrap_or_default()), index);
    }
    problems.sort_by_cached_key(|problem| {
        let origin = problem.origin.as_ref();
        let file = origin.and_then(|origin| files.get(origin.file())).copied().unwrap_or(lists.len());
        // Sheets that are not read come behind those that are.
        let sheet = origin.and_then(|origin| Some((origin.file(), origin.sheet()?)));
        let sheet = sheet.map(|sheet| sheets.get(&sheet).copied().unwrap_or(inputs.len()));
        (file, sheet, origin.and_then(Origin::line), origin.and_then(Origin::column))
    });
}
