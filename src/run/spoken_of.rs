//! What a problem speaks of: the ends and connectors that were read from the rows it names. And whether that touches what somebody is
//! about to print.

use std::collections::{HashMap, HashSet};

use super::choice::Choice;
use super::held::Snapshot;
use super::rows::origins;
use crate::base::{ConnectorId, Origin, Problem};
use crate::labels::Subject;

/// A row: file, sheet of a workbook, line.
type Row = (String, Option<String>, usize);

/// What was read from each row.
#[derive(Debug, Default)]
pub struct ReadFrom {
    ends: HashMap<Row, Vec<(usize, usize)>>,
    connectors: HashMap<Row, Vec<ConnectorId>>,
}

/// Ends, by their numbers in the circuits, and connectors.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SpokenOf {
    /// Ends, each once.
    pub ends: Vec<(usize, usize)>,
    /// Connectors, each once.
    pub connectors: Vec<ConnectorId>,
}

/// What is about to be printed.
#[derive(Clone, Debug, Default)]
pub struct Chosen {
    ends: HashSet<(usize, usize)>,
    connectors: HashSet<ConnectorId>,
}

fn row(origin: &Origin) -> Option<Row> {
    Some((origin.file().to_owned(), origin.sheet().map(str::to_owned), origin.line()?))
}

impl ReadFrom {
    pub(super) fn of(job: &Snapshot) -> Self {
        let mut read = Self::default();
        let circuits = &job.reading.circuits;
        for (at, circuit) in circuits.all().iter().enumerate() {
            for (end, listed) in circuit.ends().iter().enumerate() {
                if let Some(row) = row(&listed.origin) {
                    read.ends.entry(row).or_default().push((at, end));
                }
            }
        }
        for connector in circuits.connectors() {
            if let Some(row) = row(&connector.origin) {
                read.connectors.entry(row).or_default().push(connector.id.clone());
            }
        }
        read
    }
}

impl Snapshot {
    /// What a problem speaks of; nothing where it is about the job as a whole.
    pub fn spoken_of(&self, problem: &Problem) -> SpokenOf {
        let read = self.read_from();
        let mut spoken = SpokenOf::default();
        for row in origins(problem).filter_map(row) {
            let ends = read.ends.get(&row).into_iter().flatten();
            let ends: Vec<_> = ends.filter(|end| !spoken.ends.contains(end)).copied().collect();
            spoken.ends.extend(ends);
            let connectors = read.connectors.get(&row).into_iter().flatten();
            let connectors: Vec<_> = connectors.filter(|id| !spoken.connectors.contains(id)).cloned().collect();
            spoken.connectors.extend(connectors);
        }
        spoken
    }

    /// What a choice of tags goes on.
    pub fn chosen_by(&self, choice: &Choice) -> Chosen {
        let mut chosen = Chosen::default();
        for &purpose in &choice.purposes {
            for subject in choice.select(&self.reading.circuits, &self.issued, purpose).subjects {
                chosen.connectors.extend(subject.connector(&self.reading.circuits).cloned());
                if let Subject::Ends(tag) | Subject::EndsAt(tag, _) = &subject {
                    chosen.ends.extend(tag.ends.clone().map(|end| (tag.circuit, end)));
                }
            }
        }
        chosen
    }

    /// All ends of these connectors.
    pub fn chosen_in(&self, connectors: impl IntoIterator<Item = ConnectorId>) -> Chosen {
        let connectors: HashSet<ConnectorId> = connectors.into_iter().collect();
        let circuits = self.reading.circuits.all().iter().enumerate();
        let ends =
            circuits.flat_map(|(at, circuit)| circuit.ends().iter().enumerate().map(move |(end, of)| ((at, end), of)));
        let ends = ends.filter(|(_, end)| connectors.contains(&end.place.connector)).map(|(at, _)| at).collect();
        Chosen { ends, connectors }
    }

    /// Whether a problem touches what is about to be printed; one that speaks of nothing touches all.
    pub fn touches(&self, chosen: &Chosen, problem: &Problem) -> bool {
        let spoken = self.spoken_of(problem);
        let is_whole = spoken.ends.is_empty() && spoken.connectors.is_empty();
        is_whole
            || spoken.ends.iter().any(|end| chosen.ends.contains(end))
            || spoken.connectors.iter().any(|id| chosen.connectors.contains(id))
    }
}
