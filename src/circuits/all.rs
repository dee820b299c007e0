//! All circuits of a job, with the connectors it describes, and their ends in working order.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Range;
use std::sync::OnceLock;

use super::circuit::{Action, Circuit, Connector, End};
use crate::base::{CircuitId, ConnectorId};

/// An end, by circuit and end.
type At = (usize, usize);

/// All circuits of a job, with the connectors it describes.
#[derive(Clone, Debug, Default)]
pub struct Circuits {
    circuits: Vec<Circuit>,
    connectors: BTreeMap<ConnectorId, Connector>,
    /// Made when somebody asks for it first.
    order: OnceLock<WorkingOrder>,
}

/// The ends of all circuits in working order: connector, then cavity.
#[derive(Clone, Debug)]
struct WorkingOrder {
    ends: Vec<At>,
    /// Where among them those of each connector stand.
    seated: BTreeMap<ConnectorId, Range<usize>>,
    /// Those that move to each connector.
    arriving: BTreeMap<ConnectorId, Vec<At>>,
}

impl Circuits {
    /// From circuits in any order; they are put in natural order of their designations.
    pub fn new(mut circuits: Vec<Circuit>, connectors: BTreeMap<ConnectorId, Connector>) -> Self {
        circuits.sort_by(|a, b| a.id().cmp(b.id()));
        Self { circuits, connectors, order: OnceLock::new() }
    }

    /// All circuits, in natural order of their designations.
    pub fn all(&self) -> &[Circuit] {
        &self.circuits
    }

    /// Its circuits again.
    pub(super) fn into_all(self) -> Vec<Circuit> {
        self.circuits
    }

    /// The circuit of this designation.
    pub fn get(&self, id: &CircuitId) -> Option<&Circuit> {
        self.circuits.binary_search_by(|circuit| circuit.id().cmp(id)).ok().map(|at| &self.circuits[at])
    }

    /// What connectors.csv says of a connector.
    pub fn connector(&self, id: &ConnectorId) -> Option<&Connector> {
        self.connectors.get(id)
    }

    /// All connectors that connectors.csv describes, in natural order.
    pub fn connectors(&self) -> impl Iterator<Item = &Connector> {
        self.connectors.values()
    }

    /// Every connector that is described, in which a wire ends, or to which one moves, in natural order.
    pub fn all_connectors(&self) -> BTreeSet<&ConnectorId> {
        let order = self.order();
        self.connectors.keys().chain(order.seated.keys()).chain(order.arriving.keys()).collect()
    }

    /// Indices of circuit and end of every end, in working order: connector, then cavity.
    pub fn working_order(&self) -> Vec<(usize, usize)> {
        self.order().ends.clone()
    }

    /// The same, connector by connector: those in which a wire ends, in natural order.
    pub fn by_connector(&self) -> impl Iterator<Item = (&ConnectorId, &[(usize, usize)])> {
        let WorkingOrder { ends, seated, .. } = self.order();
        seated.iter().map(|(id, range)| (id, &ends[range.clone()]))
    }

    /// The same of one connector.
    pub fn ends_in(&self, id: &ConnectorId) -> &[(usize, usize)] {
        let WorkingOrder { ends, seated, .. } = self.order();
        seated.get(id).map_or(&[], |range| &ends[range.clone()])
    }

    /// The ends that move to a connector, in working order of where they are now.
    pub fn arriving_at(&self, id: &ConnectorId) -> &[(usize, usize)] {
        self.order().arriving.get(id).map_or(&[], Vec::as_slice)
    }

    fn order(&self) -> &WorkingOrder {
        self.order.get_or_init(|| WorkingOrder::of(&self.circuits))
    }
}

impl WorkingOrder {
    fn of(circuits: &[Circuit]) -> Self {
        let end = |at: &At| -> &End { &circuits[at.0].ends()[at.1] };
        let of_circuit = |(circuit, own): (usize, &Circuit)| (0..own.ends().len()).map(move |end| (circuit, end));
        let mut ends: Vec<At> = circuits.iter().enumerate().flat_map(of_circuit).collect();
        ends.sort_by(|a, b| end(a).place.cmp(&end(b).place).then(a.cmp(b)));
        let (mut seated, mut arriving) = (BTreeMap::new(), BTreeMap::<_, Vec<At>>::new());
        let mut first = 0;
        for own in ends.chunk_by(|a, b| end(a).place.connector == end(b).place.connector) {
            seated.insert(end(&own[0]).place.connector.clone(), first..first + own.len());
            first += own.len();
        }
        for at in &ends {
            if let Action::Move(Some(to)) = &end(at).action {
                arriving.entry(to.connector.clone()).or_default().push(*at);
            }
        }
        Self { ends, seated, arriving }
    }
}
