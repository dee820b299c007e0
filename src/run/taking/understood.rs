//! A file with what is said of it -> how it is understood: columns, first rows as they stand and as they are read, its problems.

use std::collections::BTreeMap;

use super::{Sent, Wish};
use crate::base::Problem;
use crate::circuits::{
    Form, JobLists, List, ListSettings, Looked, Standing, connector_named_by, look, read, sheet_names, standing,
    standing_connectors,
};
use crate::run::job::{Job, JobFailure};
use crate::run::overlay::Overlay;
use crate::run::proposal::{ProposedEnd, proposed};

/// How many rows are shown.
const SHOWN_ROWS: usize = 10;

/// How a file is understood.
#[derive(Clone, Debug, Default)]
pub struct Understood {
    /// Its parts, in the order of the wish.
    pub parts: Vec<OfPart>,
    /// What is wrong with it, beside the other lists.
    pub problems: Vec<Problem>,
}

/// How a list in text form, or a sheet, is understood.
#[derive(Clone, Debug, Default)]
pub struct OfPart {
    /// Whether the sheet is hidden.
    pub is_hidden: bool,
    /// It as it stands; `None` where it cannot be read at all.
    pub standing: Option<Standing>,
    /// Form and writing, of a list that is one.
    pub looked: Option<Looked>,
    /// What its first rows are read as, by their lines.
    pub rows: BTreeMap<usize, Vec<RowUnderstood>>,
    /// How many ends, or connectors, are read of it.
    pub count: usize,
}

/// What a row is read as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowUnderstood {
    /// An end of a wire.
    End(Box<ProposedEnd>),
    /// A connector: its name, and what is said of it.
    Connector(String, String),
}

impl Understood {
    /// Whether any of it is read.
    pub fn is_list(&self) -> bool {
        self.parts.iter().any(|part| part.count > 0)
    }
}

impl OfPart {
    /// The connector that its file or sheet is named after.
    pub fn named_after(&self, sent: &Sent) -> Option<String> {
        let sheet = self.standing.as_ref().and_then(|standing| standing.sheet.as_deref());
        let named = sheet.and_then(connector_named_by).or_else(|| connector_named_by(&sent.name));
        named.map(|connector| connector.to_string())
    }

    /// How its rows are meant.
    pub fn form(&self) -> Option<Form> {
        self.standing.as_ref()?.form
    }
}

/// Reads a file as it would be read with this overlay.
///
/// # Errors
/// [`JobFailure`] when the folder cannot be read.
pub fn understood(job: &Job, wish: &Wish, overlay: &Overlay) -> Result<Understood, JobFailure> {
    let with = Job::read_with(job.folder(), overlay)?.value;
    let with = with.as_ref().unwrap_or(job);
    let mut all = Understood::default();
    if wish.sent.is_connectors() {
        let list = wish.sent.list(ListSettings::default());
        let list = with.connectors().value.unwrap_or(list);
        all.parts.push(connectors(&list));
        all.problems = problems_of(with, &wish.sent.name);
        return Ok(all);
    }
    let list = wish.sent.list(ListSettings::default());
    let sheets = sheet_names(&list).unwrap_or_default();
    for part in &wish.parts {
        let sheet = part.sheet.as_deref();
        let is_part =
            |settings: &ListSettings| settings.sheet.as_ref().is_none_or(|own| Some(own.value.as_str()) == sheet);
        let of_file = with.named_lists().iter().filter(|list| list.file.value == wish.sent.name);
        let known = of_file.map(|list| &list.settings).find(|settings| is_part(settings));
        let own = part.settings();
        let settings = match known.filter(|_| part.is_read) {
            Some(known) => ListSettings { sheet: own.sheet, ..known.clone() },
            None => own,
        };
        let list = List { settings, ..list.clone() };
        let mut of_part = OfPart {
            is_hidden: sheets.iter().any(|(name, is_hidden)| *is_hidden && Some(name.as_str()) == sheet),
            standing: standing(&list, SHOWN_ROWS).into_iter().next(),
            ..OfPart::default()
        };
        if part.is_read {
            of_part.looked = look(&list).0.into_iter().next();
            ends(&list, &mut of_part);
        }
        all.parts.push(of_part);
    }
    let is_named = with.list_names().any(|name| name.value == wish.sent.name);
    all.problems = match is_named {
        true => problems_of(with, &wish.sent.name),
        false => read(&JobLists::of(&[list])).problems,
    };
    Ok(all)
}

/// What is wrong with it beside the other lists: an end that another list has is not missed.
fn problems_of(with: &Job, file: &str) -> Vec<Problem> {
    let (lists, connectors) = (with.lists(), with.connectors());
    let read = read(&JobLists { lists: &lists.value, connectors: connectors.value.as_ref(), rules: with.rules() });
    let is_of = |problem: &Problem| problem.origin.as_ref().is_some_and(|origin| origin.file() == file);
    read.problems.into_iter().filter(is_of).collect()
}

fn ends(list: &List, part: &mut OfPart) {
    let read = read(&JobLists::of(std::slice::from_ref(list)));
    let shown: Vec<usize> =
        part.standing.iter().flat_map(|standing| standing.rows.iter().map(|row| row.line)).collect();
    for circuit in read.value.all() {
        part.count += circuit.ends().len();
        for end in circuit.ends() {
            if let Some(line) = end.origin.line().filter(|line| shown.contains(line)) {
                part.rows.entry(line).or_default().push(RowUnderstood::End(Box::new(proposed(circuit, end))));
            }
        }
    }
}

fn connectors(list: &List) -> OfPart {
    let read = read(&JobLists { lists: &[], connectors: Some(list), rules: &[] });
    let mut part = OfPart { standing: standing_connectors(list, SHOWN_ROWS).into_iter().next(), ..OfPart::default() };
    for connector in read.value.connectors() {
        part.count += 1;
        let Some(line) = connector.origin.line() else { continue };
        let kind = crate::circuits::ConnectorKind::WORDS[connector.kind as usize].to_owned();
        let count = connector.face.count().map(|count| format!("{count} cavities"));
        let mates = connector.mates.as_ref().map(|mates| format!("mates with {mates}"));
        let words = [Some(kind), connector.short_name.clone(), count, mates].into_iter().flatten();
        let words = words.collect::<Vec<_>>().join(", ");
        part.rows.entry(line).or_default().push(RowUnderstood::Connector(connector.id.to_string(), words));
    }
    part
}
