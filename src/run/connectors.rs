//! All connectors of a job, and which one a name means: kind, what is to be done in each, how far that is.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use rayon::iter::{IntoParallelIterator, ParallelIterator};

use super::held::Snapshot;
use crate::base::nearest::nearest;
use crate::base::{ConnectorId, TagCode};
use crate::circuits::ConnectorKind;
use crate::labels::connector::{NotWhole, WholeConnector, whole_connector};
use crate::paperwork::Harness;
use crate::paperwork::work_list::{ToldList, Totals, WorkLists};

/// Most names that are offered where none was meant.
const OFFERED: usize = 8;

/// A connector as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConnectorSummary {
    /// Its designation.
    pub id: ConnectorId,
    /// What it is.
    pub kind: ConnectorKind,
    /// Its short name.
    pub short_name: Option<String>,
    /// The leg of the harness it lies in.
    pub branch: Option<String>,
    /// What its work list comes to; nothing where no wire ends there and none arrives.
    pub totals: Totals,
    /// How many steps its work list asks for, and how many of them are done.
    pub steps: (usize, usize),
    /// Whether it stays whole, so that one tag is enough.
    pub whole: Result<WholeConnector, NotWhole>,
    /// How many of its circuits have tags that no longer tell the truth.
    pub stale: usize,
}

/// Every connector that a list names, that a wire moves to or that is described, in natural order.
pub(super) fn summaries(job: &Snapshot) -> Vec<ConnectorSummary> {
    let harness = job.harness();
    let lists = WorkLists::new(&harness);
    let stale = job.recall.stale_codes();
    let of = |id| summary(&harness, lists.told(id).as_ref(), &stale, id);
    let names: Vec<&ConnectorId> = names(job).into_iter().collect();
    names.into_par_iter().map(of).collect()
}

/// One of them, of its work list.
pub fn connector_summary(
    job: &Snapshot,
    harness: &Harness<'_>,
    told: Option<&ToldList>,
    id: &ConnectorId,
) -> ConnectorSummary {
    summary(harness, told, &job.recall.stale_codes(), id)
}

fn summary(
    harness: &Harness<'_>,
    told: Option<&ToldList>,
    stale: &HashSet<TagCode>,
    id: &ConnectorId,
) -> ConnectorSummary {
    let described = harness.circuits.connector(id);
    let entries = || told.iter().flat_map(|told| told.entries());
    let steps = entries().flat_map(|entry| &entry.steps);
    let (asked, done) = steps.fold((0, 0), |(asked, done), (_, is_done)| (asked + 1, done + usize::from(*is_done)));
    let circuits: BTreeSet<usize> = entries().filter(|entry| !entry.arrives).map(|entry| entry.at.0).collect();
    let is_stale = |circuit: &&usize| stale.contains(&harness.issued.circuits[**circuit].code);
    ConnectorSummary {
        id: id.clone(),
        kind: described.map(|connector| connector.kind).unwrap_or_default(),
        short_name: described.and_then(|connector| connector.short_name.clone()),
        branch: described.and_then(|connector| connector.branch.clone()),
        stale: circuits.iter().filter(is_stale).count(),
        totals: told.map(|told| told.totals.clone()).unwrap_or_default(),
        steps: (asked, done),
        whole: whole_connector(harness.circuits, id),
    }
}

/// The designations of all connectors, in natural order.
pub fn names(job: &Snapshot) -> BTreeSet<&ConnectorId> {
    job.reading.circuits.all_connectors()
}

/// Which connector a name means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NamedConnector {
    /// This one.
    One(ConnectorId),
    /// One of these, which differ in case alone.
    OneOf(Vec<ConnectorId>),
    /// None; these are near.
    Unknown(Vec<ConnectorId>),
}

impl NamedConnector {
    /// Whether there is one of this name.
    pub const fn is_known(&self) -> bool {
        !matches!(self, Self::Unknown(_))
    }
}

/// The connector that is written just so, else the one that differs in case alone: the symbols of tags are in capitals.
pub fn named_connector(job: &Snapshot, typed: &str) -> NamedConnector {
    let names = names(job);
    if let Some(id) = names.iter().find(|id| id.as_str() == typed) {
        return NamedConnector::One((*id).clone());
    }
    let folded = typed.to_uppercase();
    let alike: Vec<ConnectorId> =
        names.iter().filter(|id| id.as_str().to_uppercase() == folded).map(|id| (*id).clone()).collect();
    match &alike[..] {
        [one] => NamedConnector::One(one.clone()),
        [] => NamedConnector::Unknown(near(&names, typed)),
        _ => NamedConnector::OneOf(alike),
    }
}

/// The connectors whose names differ from this one's in case alone.
pub fn alike(job: &Snapshot, id: &ConnectorId) -> Vec<ConnectorId> {
    let folded = id.as_str().to_uppercase();
    let is_alike = |other: &&ConnectorId| *other != id && other.as_str().to_uppercase() == folded;
    names(job).into_iter().filter(is_alike).cloned().collect()
}

fn near(names: &BTreeSet<&ConnectorId>, typed: &str) -> Vec<ConnectorId> {
    let best = nearest(typed, names.iter().map(|id| id.as_str()));
    let lower = typed.to_lowercase();
    let has_it = |id: &&&ConnectorId| !lower.is_empty() && id.as_str().to_lowercase().contains(&lower);
    let mut seen: BTreeMap<&ConnectorId, ()> = BTreeMap::new();
    let all = names.iter().filter(|id| Some(id.as_str()) == best).chain(names.iter().filter(has_it));
    all.filter(|id| seen.insert(**id, ()).is_none()).take(OFFERED).map(|id| (*id).clone()).collect()
}
