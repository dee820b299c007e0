//! One end before which somebody stands: what is to be done there, by the same rules as the work lists, and what sits beside it.
//!
//! Only the circuits that have to do with its connector are looked at: a record is asked for a hundred times a day.

use std::collections::{BTreeMap, BTreeSet, HashSet};

use super::bench_sheets::on_bench;
use super::held::Snapshot;
use super::recall::Record;
use crate::base::{ConnectorId, EndLetter, TagCode, natural};
use crate::circuits::{Action, Circuit, Circuits, End};
use crate::codes::Issued;
use crate::labels::Sources;
use crate::paperwork::Harness;
use crate::paperwork::work_list::{AtEnd, Entry, WorkLists};

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

impl Snapshot {
    /// Where the lists have an end of a record, by circuit and end.
    pub fn listed_end(&self, record: &Record, end: usize) -> Option<(usize, usize)> {
        self.recall.listed_end(record, end)
    }

    /// What is to be done at an end of the lists, with the letters of the ends that are on one tag with it.
    pub fn at_end(&self, at: (usize, usize)) -> Option<(AtEnd, Vec<EndLetter>)> {
        self.with_lists_near(at, |lists, near, own| {
            let told = lists.at_end(own)?;
            let letter = |&(circuit, end): &(usize, usize)| self.issued.circuits[near[circuit]].letters[end];
            let letters = told.on_one_tag.iter().map(letter).collect();
            Some((told, letters))
        })
    }

    /// The next end in the list of the same connector, in another cavity, at which something is left to do; after the last one the
    /// list begins again.
    pub fn next_open(&self, at: (usize, usize)) -> Option<(usize, usize)> {
        self.with_lists_near(at, |lists, near, own| {
            let connector = &self.reading.circuits.all().get(at.0)?.ends().get(at.1)?.place.connector;
            let told = lists.told(connector)?;
            let entries: Vec<&Entry> = told.entries().filter(|entry| !entry.arrives).collect();
            let here = entries.iter().position(|entry| entry.at == own)?;
            let is_elsewhere = |entry: &Entry| entry.cavity.is_none() || entry.cavity != entries[here].cavity;
            let (before, after) = (&entries[..here], &entries[here + 1..]);
            let is_open = |entry: &&&Entry| is_elsewhere(entry) && entry.steps.iter().any(|(_, is_done)| !is_done);
            let next = after.iter().chain(before).find(is_open)?;
            Some((near[next.at.0], next.at.1))
        })
    }

    /// Asks the work lists of the circuits that have to do with the connector of an end: with their numbers, and the end among them.
    fn with_lists_near<T>(
        &self,
        at: (usize, usize),
        tell: impl FnOnce(&WorkLists<'_, '_>, &[usize], (usize, usize)) -> Option<T>,
    ) -> Option<T> {
        let all = &self.reading.circuits;
        let connector = &all.all().get(at.0)?.ends().get(at.1)?.place.connector;
        let seated = all.ends_in(connector).iter().map(|at| at.0);
        let near: BTreeSet<usize> =
            seated.chain((0..all.all().len()).filter(|&nth| moves_to(&all.all()[nth], connector))).collect();
        let near: Vec<usize> = near.into_iter().collect();
        let ends = || near.iter().flat_map(|&nth| all.all()[nth].ends());
        let described: BTreeMap<_, _> = ends()
            .filter_map(|end| all.connector(&end.place.connector))
            .map(|connector| (connector.id.clone(), connector.clone()))
            .collect();
        let circuits = Circuits::new(near.iter().map(|&nth| all.all()[nth].clone()).collect(), described);
        let issued = Issued { circuits: near.iter().map(|&nth| self.issued.circuits[nth].clone()).collect() };
        let equipment = &self.reading.equipment;
        let sources = Sources {
            circuits: &circuits,
            issued: &issued,
            payload: equipment.payload(),
            title: self.reading.job.title(),
        };
        let codes: HashSet<TagCode> = issued.circuits.iter().map(|codes| codes.code).collect();
        let records = self.records.iter().filter(|record| codes.contains(&record.code));
        let mut harness = Harness::new(&circuits, &issued, equipment.payload());
        harness.on_bench = on_bench(&sources, equipment, records, self.recall.notes());
        let own = near.iter().position(|&nth| nth == at.0)?;
        tell(&WorkLists::new(&harness), &near, (own, at.1))
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

/// Whether an end of a circuit moves to a connector.
fn moves_to(circuit: &Circuit, connector: &ConnectorId) -> bool {
    circuit.ends().iter().any(|end| matches!(&end.action, Action::Move(Some(to)) if to.connector == *connector))
}
