//! THE JOB AS IT IS AND AS IT WOULD BE -> BY WHAT THEY DIFFER: circuits and ends that are new, gone or changed, connectors, problems.
//!
//! In: two readings' circuits and problems. Out: a [`Difference`]. A function of its arguments.
//!
//! An end is the same where its circuit and place are; of several in one place, first those that are alike, then in their order. One
//! whose circuit is another now, at the same place, has changed its circuit: so a circuit that is called otherwise shows at each of
//! its ends.

use std::collections::BTreeMap;

use super::problems::DECISION_WITHOUT_END;
use crate::base::problem::has_errors;
use crate::base::{ConnectorId, Problem};
use crate::circuits::{Circuit, Circuits, Connector, End, FarEnd, waits_for_errors};

/// By what two states of a job differ.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Difference {
    /// Circuits, by their designations.
    pub circuits: Changes,
    /// Ends, by their circuit and place: `E14 at J1/14`.
    pub ends: Changes,
    /// What connectors.csv says of connectors.
    pub connectors: Changes,
    /// Problems that there would be and are not, in their order.
    pub new_problems: Vec<Problem>,
    /// Problems that there are and would not be.
    pub gone_problems: Vec<Problem>,
    /// Whether errors stand in one of the two states alone: what is looked for only where every row can be read is then neither new
    /// nor gone.
    pub some_wait: bool,
}

/// What is new, gone and changed of one sort, in natural order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Changes {
    /// What there would be and is not.
    pub new: Vec<Named>,
    /// What there is and would not be.
    pub gone: Vec<Named>,
    /// What would be otherwise.
    pub changed: Vec<Changed>,
}

/// A circuit, an end or a connector, with a few words of what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Its name.
    pub name: String,
    /// What it is.
    pub words: String,
}

/// A circuit, an end or a connector with what would be otherwise of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Changed {
    /// Its name, as it would be.
    pub name: String,
    /// What would be otherwise.
    pub facts: Vec<Fact>,
}

/// A fact of it before and after; blank where nothing is said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fact {
    /// Which: `colour`.
    pub what: &'static str,
    /// What is said now.
    pub before: String,
    /// What would be said.
    pub after: String,
}

impl Changes {
    /// Whether nothing is.
    pub fn is_empty(&self) -> bool {
        self.count() == 0
    }

    /// How many there are.
    pub fn count(&self) -> usize {
        self.new.len() + self.gone.len() + self.changed.len()
    }
}

impl Difference {
    /// Whether the two say the same.
    pub fn is_empty(&self) -> bool {
        let changes = [&self.circuits, &self.ends, &self.connectors];
        changes.iter().all(|changes| changes.is_empty())
            && self.new_problems.is_empty()
            && self.gone_problems.is_empty()
    }
}

/// Lays what would be beside what is.
pub fn difference(before: (&Circuits, &[Problem]), after: (&Circuits, &[Problem])) -> Difference {
    let (mut new_problems, mut gone_problems) = problems(before.1, after.1);
    let some_wait = has_errors(before.1) != has_errors(after.1);
    if some_wait {
        let waits = |problem: &Problem| waits_for_errors(problem) || problem.id == DECISION_WITHOUT_END.id;
        new_problems.retain(|problem| !waits(problem));
        gone_problems.retain(|problem| !waits(problem));
    }
    Difference {
        circuits: circuits(before.0, after.0),
        ends: ends(before.0, after.0),
        connectors: connectors(before.0, after.0),
        new_problems,
        gone_problems,
        some_wait,
    }
}

type Facts = Vec<(&'static str, String)>;

fn changed_facts(before: Facts, after: Facts) -> Vec<Fact> {
    let pairs = before.into_iter().zip(after).filter(|((_, before), (_, after))| before != after);
    pairs.map(|((what, before), (_, after))| Fact { what, before, after }).collect()
}

fn said(value: Option<impl ToString>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

fn circuit_facts(circuit: &Circuit) -> Facts {
    vec![
        ("function", said(circuit.function.as_ref())),
        ("supply", said(circuit.supply)),
        ("fuse", said(circuit.fuse.as_ref())),
    ]
}

fn circuits(before: &Circuits, after: &Circuits) -> Changes {
    let named = |circuit: &Circuit| {
        let count = match circuit.ends().len() {
            1 => "1 end".to_owned(),
            count => format!("{count} ends"),
        };
        let words = circuit.function.iter().cloned().chain([count]).collect::<Vec<_>>().join(", ");
        Named { name: circuit.id().to_string(), words }
    };
    let lacks = |circuits: &Circuits, circuit: &&Circuit| circuits.get(circuit.id()).is_none();
    let changed = after.all().iter().filter_map(|circuit| {
        let facts = changed_facts(circuit_facts(before.get(circuit.id())?), circuit_facts(circuit));
        (!facts.is_empty()).then(|| Changed { name: circuit.id().to_string(), facts })
    });
    Changes {
        new: after.all().iter().filter(|circuit| lacks(before, circuit)).map(named).collect(),
        gone: before.all().iter().filter(|circuit| lacks(after, circuit)).map(named).collect(),
        changed: changed.collect(),
    }
}

/// An end with the circuit it is of.
#[derive(Clone, Copy)]
struct OfCircuit<'c> {
    circuit: &'c Circuit,
    index: usize,
}

impl<'c> OfCircuit<'c> {
    fn end(self) -> &'c End {
        &self.circuit.ends()[self.index]
    }

    fn name(self) -> String {
        format!("{} at {}", self.circuit.id(), self.end().place)
    }

    fn facts(self) -> Facts {
        let end = self.end();
        let there = match self.circuit.far_end(self.index) {
            FarEnd::End(other) => self.circuit.ends()[other].place.to_string(),
            FarEnd::ImpliedSplice => "a splice".to_owned(),
            FarEnd::Unknown => String::new(),
        };
        let tag = [end.tag.work, end.tag.final_tag].into_iter().flatten().map(|kind| kind.to_string());
        vec![
            ("circuit", self.circuit.id().to_string()),
            ("there", there),
            ("colour", said(end.colour.as_ref())),
            ("size", said(end.conductor.as_ref())),
            ("insulation", said(end.insulation)),
            ("diameter", said(end.diameter.map(|length| length.to_string()))),
            ("slides over", said(end.slides_over.map(|length| length.to_string()))),
            ("length", said(end.length.map(|length| length.to_string()))),
            ("terminal", said(end.terminal.as_ref())),
            ("action", end.action.to_string()),
            ("extend by", said(end.extend_by.map(|length| length.to_string()))),
            ("tag", tag.collect::<Vec<_>>().join(" ")),
            ("branch", said(end.branch.as_ref())),
            ("with", said(end.partner.as_ref())),
            ("note", said(end.note.as_ref())),
        ]
    }

    fn named(self) -> Named {
        let end = self.end();
        let action = end.action.to_string();
        let colour = end.colour.as_ref().map(ToString::to_string);
        let words = colour.into_iter().chain(end.conductor.as_ref().map(ToString::to_string)).chain([action]);
        Named { name: self.name(), words: words.collect::<Vec<_>>().join(", ") }
    }
}

fn by<'c, K: Ord>(circuits: &'c Circuits, key: impl Fn(OfCircuit<'c>) -> K) -> BTreeMap<K, Vec<OfCircuit<'c>>> {
    let mut all: BTreeMap<K, Vec<OfCircuit<'c>>> = BTreeMap::new();
    for circuit in circuits.all() {
        for index in 0..circuit.ends().len() {
            let end = OfCircuit { circuit, index };
            all.entry(key(end)).or_default().push(end);
        }
    }
    all
}

fn ends(before: &Circuits, after: &Circuits) -> Changes {
    let key = |end: OfCircuit<'_>| (end.end().place.clone(), end.circuit.id().clone());
    let (mut old, new) = (by(before, key), by(after, key));
    let mut pairs = Vec::new();
    // What is left at each place, of whichever circuit.
    let mut left: BTreeMap<_, (Vec<OfCircuit<'_>>, Vec<OfCircuit<'_>>)> = BTreeMap::new();
    for (key, after) in new {
        let mut before = old.remove(&key).unwrap_or_default();
        let mut rest = Vec::new();
        for end in after {
            match before.iter().position(|known| known.facts() == end.facts()) {
                Some(at) => drop(before.remove(at)),
                None => rest.push(end),
            }
        }
        let both = before.len().min(rest.len());
        pairs.extend(before.drain(..both).zip(rest.drain(..both)));
        let (gone, new) = left.entry(key.0).or_default();
        gone.append(&mut before);
        new.append(&mut rest);
    }
    for ((place, _), mut before) in old {
        left.entry(place).or_default().0.append(&mut before);
    }
    let mut changes = Changes::default();
    for (_, (mut gone, mut new)) in left {
        // By their circuits, so that the way back pairs the same.
        for ends in [&mut gone, &mut new] {
            ends.sort_by(|one, other| one.circuit.id().cmp(other.circuit.id()));
        }
        let both = gone.len().min(new.len());
        pairs.extend(gone.drain(..both).zip(new.drain(..both)));
        changes.gone.extend(gone.into_iter().map(OfCircuit::named));
        changes.new.extend(new.into_iter().map(OfCircuit::named));
    }
    pairs.sort_by(|(_, one), (_, other)| one.end().place.cmp(&other.end().place));
    for (before, after) in pairs {
        let facts = changed_facts(before.facts(), after.facts());
        if !facts.is_empty() {
            changes.changed.push(Changed { name: after.name(), facts });
        }
    }
    changes
}

fn connector_facts(connector: &Connector) -> Facts {
    let face = &connector.face;
    vec![
        ("kind", crate::circuits::ConnectorKind::WORDS[connector.kind as usize].to_owned()),
        ("short name", said(connector.short_name.as_ref())),
        ("cavities", said(face.count())),
        ("mates", said(connector.mates.as_ref())),
        ("branch", said(connector.branch.as_ref())),
        ("plug type", said(connector.plug_type.as_ref())),
        ("action", said(connector.action.as_ref())),
    ]
}

fn connectors(before: &Circuits, after: &Circuits) -> Changes {
    let by_id = |circuits| -> BTreeMap<ConnectorId, Connector> {
        let all = Circuits::connectors(circuits);
        all.map(|connector| (connector.id.clone(), connector.clone())).collect()
    };
    let (before, after) = (by_id(before), by_id(after));
    let named =
        |connector: &Connector| Named { name: connector.id.to_string(), words: said(connector.short_name.as_ref()) };
    let changed = after.iter().filter_map(|(id, connector)| {
        let known = before.get(id)?;
        let mut facts = changed_facts(connector_facts(known), connector_facts(connector));
        if known.face != connector.face || known.case != connector.case {
            facts.push(Fact { what: "face", before: "as it is".to_owned(), after: "drawn otherwise".to_owned() });
        }
        (!facts.is_empty()).then(|| Changed { name: id.to_string(), facts })
    });
    Changes {
        new: after.values().filter(|connector| !before.contains_key(&connector.id)).map(named).collect(),
        gone: before.values().filter(|connector| !after.contains_key(&connector.id)).map(named).collect(),
        changed: changed.collect(),
    }
}

/// Problems of one list that are not in the other: the same words are the same problem, on whichever row they stand by now.
fn problems(before: &[Problem], after: &[Problem]) -> (Vec<Problem>, Vec<Problem>) {
    fn counted(problems: &[Problem]) -> BTreeMap<(&str, &str), usize> {
        let mut counts = BTreeMap::new();
        for problem in problems {
            *counts.entry((problem.id, problem.message.as_str())).or_default() += 1;
        }
        counts
    }
    fn beyond<'p>(all: &'p [Problem], mut known: BTreeMap<(&'p str, &'p str), usize>) -> Vec<Problem> {
        let mut found = Vec::new();
        for problem in all {
            match known.get_mut(&(problem.id, problem.message.as_str())) {
                Some(count) if *count > 0 => *count -= 1,
                _ => found.push(problem.clone()),
            }
        }
        found
    }
    (beyond(after, counted(before)), beyond(before, counted(after)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::{JobLists, List, ListSettings, read};
    use proptest::prelude::*;

    fn job(rows: &[String]) -> (Circuits, Vec<Problem>) {
        let text = format!("connector,cavity,circuit,colour,action,function\n{}\n", rows.join("\n"));
        let list = List { name: "a.csv".to_owned(), bytes: text.into_bytes(), settings: ListSettings::default() };
        let read = read(&JobLists::of(&[list]));
        (read.value, read.problems)
    }

    fn between(before: &(Circuits, Vec<Problem>), after: &(Circuits, Vec<Problem>)) -> Difference {
        difference((&before.0, &before.1), (&after.0, &after.1))
    }

    #[test]
    fn a_circuit_called_otherwise_shows_at_its_ends() {
        let rows = |circuit: &str| vec![format!("J1,1,{circuit},RD,,horn"), format!("J2,1,{circuit},RD,keep,")];
        let found = between(&job(&rows("E1")), &job(&rows("E2")));
        assert_eq!((found.circuits.new.len(), found.circuits.gone.len(), found.ends.count()), (1, 1, 2));
        let fact = Fact { what: "circuit", before: "E1".to_owned(), after: "E2".to_owned() };
        assert_eq!(found.ends.changed[0], Changed { name: "E2 at J1/1".to_owned(), facts: vec![fact] });
    }

    /// While an error stands, what is looked for among all rows alone is not looked for: that is no difference.
    #[test]
    fn what_waits_for_errors_is_neither_new_nor_gone() {
        let rows = |size: &str| vec!["J1,1,E1,RD,remove,".to_owned(), format!("J2,1,E2,RD,{size},")];
        let (sound, broken) = (job(&rows("keep")), job(&rows("chop")));
        assert!(sound.1.iter().any(|problem| problem.id == "connector-left-empty"));
        let found = between(&sound, &broken);
        assert!(found.some_wait && found.new_problems.iter().any(|problem| problem.id == "unknown-action"));
        for there_and_back in [found, between(&broken, &sound)] {
            let all = there_and_back.new_problems.iter().chain(&there_and_back.gone_problems);
            assert!(all.clone().all(|problem| problem.id != "connector-left-empty"), "{there_and_back:?}");
        }
    }

    /// Everything that is said of each end, by its place.
    fn by_place(circuits: &Circuits) -> BTreeMap<String, Vec<String>> {
        let mut all: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for circuit in circuits.all() {
            for (index, end) in circuit.ends().iter().enumerate() {
                let there = match circuit.far_end(index) {
                    FarEnd::End(other) => circuit.ends()[other].place.to_string(),
                    other => format!("{other:?}"),
                };
                let said = format!("{} {there} {:?} {}", circuit.id(), end.colour, end.action);
                all.entry(end.place.to_string()).or_default().push(said);
            }
        }
        all
    }

    fn rows() -> impl Strategy<Value = Vec<String>> {
        let row = (
            1..3_u8,
            1..4_u8,
            prop::sample::select(vec!["", "A", "B", "C"]),
            prop::sample::select(vec!["", "RD", "BU"]),
            prop::sample::select(vec!["", "keep", "cut", "chop"]),
        );
        let row = row.prop_map(|(connector, cavity, circuit, colour, action)| {
            format!("J{connector},{cavity},{circuit},{colour},{action},")
        });
        prop::collection::vec(row, 1..8)
    }

    proptest! {
        /// A job does not differ from itself; the way back has gone what the way there has new; and the ends are as many as by
        /// counting what stands at each place, by hand.
        #[test]
        fn differences_are_counted(before in rows(), after in rows()) {
            let (before, after) = (job(&before), job(&after));
            prop_assert!(between(&before, &before).is_empty());
            let (there, back) = (between(&before, &after), between(&after, &before));
            prop_assert_eq!(&there.ends.new, &back.ends.gone);
            prop_assert_eq!(&there.circuits.new, &back.circuits.gone);
            prop_assert_eq!(&there.new_problems, &back.gone_problems);
            let (old, new) = (by_place(&before.0), by_place(&after.0));
            let mut counted = (0, 0, 0);
            let places: std::collections::BTreeSet<&String> = old.keys().chain(new.keys()).collect();
            for place in places {
                let at = |all: &BTreeMap<String, Vec<String>>| all.get(place).cloned().unwrap_or_default();
                let (old, mut new) = (at(&old), at(&new));
                let (was, is) = (old.len(), new.len());
                let same = old.iter().filter(|said| new.iter().position(|other| other == *said).map(|at| new.remove(at)).is_some()).count();
                counted.0 += is.saturating_sub(was);
                counted.1 += was.min(is) - same;
                counted.2 += was.saturating_sub(is);
            }
            prop_assert_eq!((there.ends.new.len(), there.ends.changed.len(), there.ends.gone.len()), counted);
        }
    }
}
