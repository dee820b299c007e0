//! The ends of every connector, and those that move there.

use std::collections::BTreeMap;

use super::At;
use crate::base::ConnectorId;
use crate::circuits::Action;
use crate::paperwork::Harness;

/// What a list is of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Content {
    /// The ends in the connector, in working order.
    pub(super) ends: Vec<At>,
    /// The ends that move there, in working order of where they are now.
    pub(super) arrivals: Vec<At>,
}

/// All connectors.
pub(super) struct Contents<'a> {
    by_connector: BTreeMap<&'a ConnectorId, Content>,
}

impl<'a> Contents<'a> {
    /// Of a harness.
    pub(super) fn of(harness: &Harness<'a>) -> Self {
        let mut by_connector: BTreeMap<&ConnectorId, Content> = BTreeMap::new();
        for (id, ends) in harness.circuits.by_connector() {
            by_connector.entry(id).or_default().ends = ends.to_vec();
            for &at in ends {
                if let Action::Move(Some(to)) = &harness.end(at).action {
                    by_connector.entry(&to.connector).or_default().arrivals.push(at);
                }
            }
        }
        Self { by_connector }
    }

    /// In natural order.
    pub(super) fn connectors(&self) -> impl Iterator<Item = &'a ConnectorId> + '_ {
        self.by_connector.keys().copied()
    }

    /// Of one connector.
    pub(super) fn get(&self, connector: &ConnectorId) -> Option<&Content> {
        self.by_connector.get(connector)
    }
}
