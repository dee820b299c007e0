//! What bench sheets are made from: the circuits, their codes, and what is known of each end from the bench.

use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

use crate::base::{ConnectorId, Finding, Place, Step, TagCode, TagKind};
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, Circuit, Circuits, End, FarEnd, Supply};
use crate::codes::Issued;
use crate::codes::link::Payload;

/// A finding that stands at an end.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// What was found.
    pub finding: Finding,
    /// The colour, size or place that was found; empty where the finding names none.
    pub value: String,
    /// What was remarked with it.
    pub remark: String,
    /// The number of the note.
    pub note: u32,
}

/// What the bench knows of an end beside its row.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct OnBench {
    /// The kind of work tag it gets; `None` where it gets none.
    pub work: Option<TagKind>,
    /// The kind of final tag it gets.
    pub final_tag: Option<TagKind>,
    /// The steps that are done.
    pub done: BTreeSet<Step>,
    /// The findings that stand, in their order.
    pub found: Vec<Found>,
    /// What was noted in words, the oldest first.
    pub remarks: Vec<String>,
    /// What its wire is proposed for, where it shall be removed and used again.
    pub proposals: Vec<String>,
}

/// All that sheets are made from.
#[derive(Clone, Debug)]
pub struct Harness<'a> {
    /// The circuits, of the plan or as built.
    pub circuits: &'a Circuits,
    /// Their codes and letters.
    pub issued: &'a Issued,
    /// What symbols say.
    pub payload: &'a Payload,
    /// What the bench knows, by circuit and end.
    pub on_bench: Cow<'a, [Vec<OnBench>]>,
    /// Blank coded tags that are not assigned yet.
    pub blanks: Vec<TagCode>,
}

impl<'a> Harness<'a> {
    /// Circuits with their codes alone: nothing is done or found, and no end gets a tag.
    pub fn new(circuits: &'a Circuits, issued: &'a Issued, payload: &'a Payload) -> Self {
        let on_bench: Vec<_> =
            circuits.all().iter().map(|circuit| vec![OnBench::default(); circuit.ends().len()]).collect();
        Self { circuits, issued, payload, on_bench: on_bench.into(), blanks: Vec::new() }
    }

    /// The circuit of this index.
    pub fn circuit(&self, circuit: usize) -> &'a Circuit {
        &self.circuits.all()[circuit]
    }

    /// The end of these indices.
    pub fn end(&self, (circuit, end): (usize, usize)) -> &'a End {
        &self.circuit(circuit).ends()[end]
    }

    /// What the bench knows of an end.
    pub fn on_bench(&self, (circuit, end): (usize, usize)) -> &OnBench {
        &self.on_bench[circuit][end]
    }

    /// Whether the lists have a wire in an end's cavity and the bench found none there. One that shall be added is not missed.
    pub fn is_missing(&self, at: (usize, usize)) -> bool {
        let is_empty = self.on_bench(at).found.iter().any(|found| found.finding == Finding::Empty);
        is_empty && self.end(at).action != Action::Add
    }

    /// Whether an end that is to be pulled then hangs on its wire, as its other end is in: of a live wire until the bench has noted
    /// that it is out, of others by the plan.
    pub fn hangs_pulled(&self, at: (usize, usize)) -> bool {
        let is_out = match self.circuit(at.0).far_end(at.1) {
            FarEnd::End(far) => {
                let far = (at.0, far);
                let is_live = danger_at(self.circuits, at) == Some(Supply::Constant);
                let is_noted = self.on_bench(far).done.contains(&Step::Pulled) || self.is_missing(far);
                is_noted || (!is_live && self.end(far).action == Action::Remove)
            }
            FarEnd::ImpliedSplice | FarEnd::Unknown => false,
        };
        self.end(at).action == Action::Remove && !is_out
    }

    /// The name of an end's tag: `7KF4 A`.
    pub fn tag(&self, (circuit, end): (usize, usize)) -> String {
        let codes = &self.issued.circuits[circuit];
        format!("{} {}", codes.code, codes.letters[end])
    }

    /// Every end by circuit and end, under its connector and in working order there. Connectors that are described and in which
    /// no wire ends are there too.
    pub fn by_connector(&self) -> BTreeMap<&'a ConnectorId, Vec<(usize, usize)>> {
        let mut connectors: BTreeMap<&ConnectorId, Vec<(usize, usize)>> =
            self.circuits.connectors().map(|connector| (&connector.id, Vec::new())).collect();
        for at in self.circuits.working_order() {
            connectors.entry(&self.end(at).place.connector).or_default().push(at);
        }
        connectors
    }

    /// The place at the other end of an end's wire; `None` where it is a splice that no list names, or not known.
    pub fn there(&self, (circuit, end): (usize, usize)) -> Option<&'a Place> {
        match self.circuit(circuit).far_end(end) {
            FarEnd::End(far) => Some(&self.circuit(circuit).ends()[far].place),
            FarEnd::ImpliedSplice | FarEnd::Unknown => None,
        }
    }
}
