//! The ends of a connector, and those that move there.

use super::At;
use crate::base::ConnectorId;
use crate::circuits::Circuits;

/// What a list is of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Content<'a> {
    /// The ends in the connector, in working order.
    pub(super) ends: &'a [At],
    /// The ends that move there, in working order of where they are now.
    pub(super) arrivals: &'a [At],
}

impl<'a> Content<'a> {
    /// Of one connector; `None` where no wire ends there and none arrives.
    pub(super) fn of(circuits: &'a Circuits, connector: &ConnectorId) -> Option<Self> {
        let (ends, arrivals) = (circuits.ends_in(connector), circuits.arriving_at(connector));
        (!ends.is_empty() || !arrivals.is_empty()).then_some(Self { ends, arrivals })
    }
}
