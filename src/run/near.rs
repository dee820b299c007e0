//! The part of a job around one connector, for whoever stands before it or before one of its ends: what is to be done there, by the same
//! rules as the work lists of the whole job, and what sits beside it.
//!
//! Only the circuits that have to do with the connector are looked at: a record is asked for a hundred times a day.

use std::collections::BTreeSet;
use std::iter;

use super::bench_sheets::on_bench;
use super::held::Snapshot;
use super::recall::Record;
use crate::base::{ConnectorId, EndLetter, TagCode, natural};
use crate::circuits::{Action, Circuit, Circuits, End};
use crate::codes::Issued;
use crate::labels::Sources;
use crate::paperwork::work_list::{AtEnd, Entry, WorkLists};
use crate::paperwork::{Harness, OnBench};

/// What sits in the cavity before or behind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Beside {
    /// The place: `J1/13`.
    pub place: String,
    /// Its circuit's code, where one was issued.
    pub code: Option<TagCode>,
    /// What its circuit does.
    pub function: Option<String>,
    /// Colour as the list has it.
    pub colour: Option<String>,
}

/// The circuits that end in a connector or in its mate, or move to one of the two, with what the bench knows of their ends.
pub struct Near<'s> {
    job: &'s Snapshot,
    connector: ConnectorId,
    circuits: Circuits,
    issued: Issued,
    on_bench: Vec<Vec<OnBench>>,
    /// The number of each of its circuits among all.
    numbers: Vec<usize>,
}

impl Near<'_> {
    /// What its work list and its face are made from: they tell what those of the whole harness would.
    pub fn harness(&self) -> Harness<'_> {
        Harness {
            circuits: &self.circuits,
            issued: &self.issued,
            payload: self.job.reading.equipment.payload(),
            on_bench: self.on_bench.as_slice().into(),
            blanks: Vec::new(),
        }
    }

    /// What must be seen before anything of the connector is touched, each danger of the wires in it or of its own name.
    pub fn cautions(&self) -> Vec<String> {
        WorkLists::new(&self.harness()).told(&self.connector).map(|told| told.cautions).unwrap_or_default()
    }

    /// What is to be done at an end of the lists, with the letters of the ends that are on one tag with it.
    pub fn at_end(&self, at: (usize, usize)) -> Option<(AtEnd, Vec<EndLetter>)> {
        let told = WorkLists::new(&self.harness()).at_end(self.own(at)?)?;
        let letter = |&(circuit, end): &(usize, usize)| self.issued.circuits[circuit].letters[end];
        let letters = told.on_one_tag.iter().map(letter).collect();
        Some((told, letters))
    }

    /// The next end in the list of the same connector, in another cavity, at which something is left to do; after the last one the
    /// list begins again.
    pub fn next_open(&self, at: (usize, usize)) -> Option<(usize, usize)> {
        let own = self.own(at)?;
        let told = WorkLists::new(&self.harness()).told(&self.connector)?;
        let entries: Vec<&Entry> = told.entries().filter(|entry| !entry.arrives).collect();
        let here = entries.iter().position(|entry| entry.at == own)?;
        let is_elsewhere = |entry: &Entry| entry.cavity.is_none() || entry.cavity != entries[here].cavity;
        let (before, after) = (&entries[..here], &entries[here + 1..]);
        let is_open = |entry: &&&Entry| is_elsewhere(entry) && entry.steps.iter().any(|(_, is_done)| !is_done);
        let next = after.iter().chain(before).find(is_open)?;
        Some((self.numbers[next.at.0], next.at.1))
    }

    /// An end of the lists among its own.
    fn own(&self, (circuit, end): (usize, usize)) -> Option<(usize, usize)> {
        self.numbers.binary_search(&circuit).ok().map(|own| (own, end))
    }
}

impl Snapshot {
    /// Where the lists have an end of a record, by circuit and end.
    pub fn listed_end(&self, record: &Record, end: usize) -> Option<(usize, usize)> {
        self.recall.listed_end(record, end)
    }

    /// The part of the job around the connector of an end. What its wires are proposed for is not in it: nothing of it depends on that,
    /// and it takes the whole job to find.
    pub fn near_end(&self, (circuit, end): (usize, usize)) -> Option<Near<'_>> {
        Some(self.around(&self.reading.circuits.all().get(circuit)?.ends().get(end)?.place.connector))
    }

    /// The part of the job around a connector.
    pub fn near(&self, connector: &ConnectorId) -> Near<'_> {
        let mut near = self.around(connector);
        for (circuit, ends) in near.numbers.iter().zip(&mut near.on_bench) {
            for (end, on_bench) in ends.iter_mut().enumerate() {
                on_bench.proposals = self.proposals_at((*circuit, end)).to_vec();
            }
        }
        near
    }

    fn around(&self, connector: &ConnectorId) -> Near<'_> {
        let all = &self.reading.circuits;
        let mate = all.connector(connector).and_then(|connector| connector.mates.as_ref());
        let near: BTreeSet<usize> = iter::once(connector)
            .chain(mate)
            .flat_map(|id| all.ends_in(id).iter().chain(all.arriving_at(id)))
            .map(|at| at.0)
            .collect();
        let numbers: Vec<usize> = near.into_iter().collect();
        let own: Vec<Circuit> = numbers.iter().map(|&nth| all.all()[nth].clone()).collect();
        let of_end = |end: &End| -> [Option<ConnectorId>; 2] {
            let to = match &end.action {
                Action::Move(Some(to)) => Some(to.connector.clone()),
                _ => None,
            };
            [Some(end.place.connector.clone()), to]
        };
        let named: BTreeSet<ConnectorId> = own
            .iter()
            .flat_map(Circuit::ends)
            .flat_map(of_end)
            .flatten()
            .chain([connector.clone()])
            .chain(mate.cloned())
            .collect();
        let described = named.iter().filter_map(|id| all.connector(id)).map(|known| (known.id.clone(), known.clone()));
        let circuits = Circuits::new(own, described.collect());
        let issued = Issued { circuits: numbers.iter().map(|&nth| self.issued.circuits[nth].clone()).collect() };
        let equipment = &self.reading.equipment;
        let sources = Sources {
            circuits: &circuits,
            issued: &issued,
            payload: equipment.payload(),
            title: self.reading.job.title(),
        };
        let records = issued.circuits.iter().filter_map(|codes| self.record_of(codes.code));
        let known = on_bench(&sources, equipment, records, self.recall.notes());
        Near { job: self, connector: connector.clone(), circuits, issued, on_bench: known, numbers }
    }

    /// What sits in the cavities before and behind an end's, in the order of their names.
    pub fn beside(&self, (circuit, end): (usize, usize)) -> [Option<Beside>; 2] {
        let all = self.reading.circuits.all();
        let Some(own) = all.get(circuit).and_then(|circuit| circuit.ends().get(end)).map(|end| &end.place) else {
            return [None, None];
        };
        let Some(cavity) = &own.cavity else { return [None, None] };
        // Of ends in one cavity the first of the lists counts.
        let each: BTreeSet<(usize, usize)> = self.reading.circuits.ends_in(&own.connector).iter().copied().collect();
        let mut around: [Option<(usize, &End)>; 2] = [None, None];
        for (nth, other) in each.into_iter().map(|(nth, end)| (nth, &all[nth].ends()[end])) {
            let Some(name) = &other.place.cavity else { continue };
            let to_own = natural::compare(name.as_str(), cavity.as_str());
            if to_own.is_eq() {
                continue;
            }
            let nearest = &mut around[usize::from(to_own.is_gt())];
            let is_nearer = nearest.is_none_or(|(_, known)| {
                let known = known.place.cavity.as_ref().map_or("", |cavity| cavity.as_str());
                natural::compare(known, name.as_str()) == to_own
            });
            if is_nearer {
                *nearest = Some((nth, other));
            }
        }
        around.map(|found| {
            found.map(|(nth, end)| Beside {
                place: end.place.to_string(),
                code: Some(self.issued.circuits[nth].code).filter(|code| self.codes.contains(code)),
                function: all[nth].function.clone(),
                colour: end.colour.as_ref().map(ToString::to_string),
            })
        })
    }
}
