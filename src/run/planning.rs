//! The planning table: every end of the lists with what is decided and done of it, filtered and in order.
//!
//! A snapshot comes in once; a filter and an order come in with each question, and the ends that match go out, with how many there
//! would be of every other choice. Ends are told by their numbers, and nothing is copied, so that 200,000 of them are gone through
//! in a moment.

use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};
use std::sync::OnceLock;

use super::danger::Danger;
use super::held::Snapshot;
use super::recall::Recall;
use super::worked;
use crate::base::{ConnectorId, EndLetter, Step, TagCode, natural};
use crate::circuits::caution::danger_at;
use crate::circuits::{Action, Circuit, Circuits, Decided, End, Supply};
use crate::codes::{Noted, progress};
use crate::paperwork::work_list::is_stopped;

/// Every end of the lists, in the order of the circuits.
pub struct Planning {
    ends: Vec<PlannedEnd>,
    /// For each circuit, the number of its first end.
    first: Vec<usize>,
    /// All connectors in natural order.
    pub connectors: Vec<ConnectorId>,
    /// All branches in natural order.
    pub branches: Vec<String>,
    totals: Counts,
    by_mark: OnceLock<HashMap<(TagCode, EndLetter), usize>>,
    orders: [OnceLock<Vec<usize>>; Order::ALL.len()],
}

/// An end with what is decided and done of it.
#[derive(Clone, Debug)]
pub struct PlannedEnd {
    /// Its circuit and which of its ends it is, in [`Circuits`].
    pub at: (usize, usize),
    /// The code of its circuit, and its letter; looked ahead at where none were issued yet.
    pub mark: (TagCode, EndLetter),
    /// Whether code and letter were issued.
    pub is_issued: bool,
    /// The number of its record, and which of its ends it is: [`Recall::record`].
    pub seat: (usize, usize),
    /// The word of its action.
    pub action: &'static str,
    /// How its wire counts for safety: as the supply column says, or words where they are graver.
    pub supply: Option<Supply>,
    /// The steps that are done by notes, in the order of the work.
    pub done: Vec<Step>,
    /// The step that its action asks for and that is not done, unless nothing is to be done for the danger of its wire; or the cap that a live end lacks which hangs free.
    pub left: Option<Step>,
    /// Whether a tag of it no longer tells the truth.
    pub is_stale: bool,
    /// Whether it was found otherwise than the lists say.
    pub is_otherwise: bool,
    /// Who decided its action.
    pub decided: Decided,
    /// Its connector, by its number in [`Planning::connectors`].
    connector: usize,
    /// Its branch, by its number in [`Planning::branches`].
    branch: Option<usize>,
}

/// What ends are asked for. What is not set lets all through.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Filter {
    /// Words, as of [`Recall::find`]; empty: any.
    pub words: String,
    /// In this connector.
    pub connector: Option<ConnectorId>,
    /// In this branch.
    pub branch: Option<String>,
    /// With this action, by its word.
    pub action: Option<&'static str>,
    /// Fed like this; `Some(None)`: it is not known how.
    pub supply: Option<Option<Supply>>,
    /// At which this step is left.
    pub left: Option<Step>,
    /// With a stale tag only.
    pub is_stale: bool,
    /// Found otherwise than listed only.
    pub is_otherwise: bool,
}

/// In which order ends are told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Order {
    /// By connector and cavity, as one works.
    #[default]
    Place,
    /// By code and letter.
    Code,
    /// By designation.
    Circuit,
    /// By what the circuit does.
    Function,
    /// By action, the undecided first.
    Action,
    /// By branch.
    Branch,
}

/// What a filter lets through.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Chosen {
    /// The ends, by their numbers, in the order that was asked for.
    pub ends: Vec<usize>,
    /// How many there would be of each choice.
    pub counts: Counts,
}

/// How many ends each choice would leave, everything else of the filter left as it is.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Of each connector, by its number.
    pub connectors: Vec<usize>,
    /// Of each branch, by its number.
    pub branches: Vec<usize>,
    /// Of each action, by its word.
    pub actions: BTreeMap<&'static str, usize>,
    /// Of each supply.
    pub supplies: BTreeMap<Option<Supply>, usize>,
    /// Of each step that is left.
    pub left: BTreeMap<Step, usize>,
    /// With a stale tag.
    pub stale: usize,
    /// Found otherwise.
    pub otherwise: usize,
}

impl Order {
    /// All of them.
    pub const ALL: [Self; 6] = [Self::Place, Self::Circuit, Self::Code, Self::Function, Self::Action, Self::Branch];

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Place => "place",
            Self::Code => "code",
            Self::Circuit => "circuit",
            Self::Function => "function",
            Self::Action => "action",
            Self::Branch => "branch",
        }
    }

    /// The order of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|order| order.word() == word)
    }
}

/// Parts of a filter, as bits of what an end fails.
mod part {
    pub(super) const WORDS: u8 = 1;
    pub(super) const CONNECTOR: u8 = 2;
    pub(super) const BRANCH: u8 = 4;
    pub(super) const ACTION: u8 = 8;
    pub(super) const SUPPLY: u8 = 16;
    pub(super) const LEFT: u8 = 32;
    pub(super) const STALE: u8 = 64;
    pub(super) const OTHERWISE: u8 = 128;
}

impl Planning {
    /// All ends of a job.
    pub(super) fn of(job: &Snapshot) -> Self {
        let circuits = &job.reading.circuits;
        let all = || circuits.all().iter().flat_map(Circuit::ends);
        let mut connectors: Vec<ConnectorId> = Vec::new();
        let mut connector_of: HashMap<&ConnectorId, usize> = HashMap::new();
        let mut branches: Vec<String> = Vec::new();
        for end in all() {
            if !connector_of.contains_key(&end.place.connector) {
                connector_of.insert(&end.place.connector, 0);
                connectors.push(end.place.connector.clone());
            }
        }
        connectors.sort();
        for (at, id) in connectors.iter().enumerate() {
            if let Some(number) = connector_of.get_mut(id) {
                *number = at;
            }
        }
        let mut branch_of: HashMap<&str, usize> = all().filter_map(|end| Some((end.branch.as_deref()?, 0))).collect();
        branches.extend(branch_of.keys().map(|name| (*name).to_owned()));
        branches.sort_by(|a, b| natural::compare(a, b));
        for (at, name) in branches.iter().enumerate() {
            if let Some(number) = branch_of.get_mut(name.as_str()) {
                *number = at;
            }
        }
        let records: HashMap<TagCode, _> = job.records.iter().map(|record| (record.code, record)).collect();
        let notes = job.recall.notes();
        let (mut ends, mut first) = (Vec::new(), Vec::with_capacity(circuits.all().len()));
        for (circuit, codes) in job.issued.circuits.iter().enumerate().take(circuits.all().len()) {
            first.push(ends.len());
            let record = records.get(&codes.code).filter(|_| !notes.all().is_empty());
            for (index, end) in circuits.all()[circuit].ends().iter().enumerate() {
                let (at, letter) = ((circuit, index), codes.letters[index]);
                let noted_at = |end: usize| {
                    record.map(|record| worked::of_end(record, codes.letters[end], notes)).unwrap_or_default()
                };
                let noted = noted_at(index);
                let connector = connector_of.get(&end.place.connector).copied().unwrap_or_default();
                let branch = end.branch.as_deref().and_then(|branch| branch_of.get(branch).copied());
                let mut told = PlannedEnd::of(job, at, (codes.code, letter), &noted);
                let done = told.done.iter().copied().collect();
                if worked::hangs_live(circuits, at, &done, |end| progress(noted_at(end)).done).is_some() {
                    told.left = Some(Step::Capped);
                }
                ends.push(PlannedEnd { connector, branch, ..told });
            }
        }
        let orders = std::array::from_fn(|_| OnceLock::new());
        let totals = Counts::default();
        let mut planning = Self { ends, first, connectors, branches, totals, by_mark: OnceLock::new(), orders };
        planning.totals = planning.counts(&vec![0; planning.ends.len()]);
        planning
    }

    /// How many ends of each choice there are at all.
    pub fn totals(&self) -> &Counts {
        &self.totals
    }

    /// All ends, in the order of the circuits.
    pub fn all(&self) -> &[PlannedEnd] {
        &self.ends
    }

    /// The end of this number.
    pub fn end(&self, number: usize) -> &PlannedEnd {
        &self.ends[number]
    }

    /// The number of an end, by circuit and end.
    pub fn number(&self, (circuit, end): (usize, usize)) -> Option<usize> {
        let number = self.first.get(circuit)? + end;
        self.ends.get(number).filter(|found| found.at == (circuit, end)).map(|_| number)
    }

    /// The number of the end that a code and a letter name, looked ahead at or not.
    pub fn by_mark(&self, code: TagCode, letter: EndLetter) -> Option<usize> {
        let marks = || self.ends.iter().enumerate().map(|(number, end)| (end.mark, number)).collect();
        self.by_mark.get_or_init(marks).get(&(code, letter)).copied()
    }

    /// The name of an end's branch.
    pub fn branch(&self, end: &PlannedEnd) -> Option<&str> {
        end.branch.map(|branch| self.branches[branch].as_str())
    }

    /// The ends that a filter lets through, in this order.
    pub fn choose(&self, filter: &Filter, order: Order, job: &Snapshot) -> Chosen {
        let worded = Worded::of(filter, &job.recall);
        let connector = filter.connector.as_ref().map(|id| self.connectors.binary_search(id).ok());
        let is_branch = |known: &&String| filter.branch.as_ref().is_some_and(|name| known.eq_ignore_ascii_case(name));
        let branch = filter.branch.as_ref().map(|_| self.branches.iter().position(|known| is_branch(&known)));
        let fails = |end: &PlannedEnd| {
            let failed = |part: u8, is_failed: bool| if is_failed { part } else { 0 };
            failed(part::WORDS, !worded.answers(end))
                | failed(part::CONNECTOR, connector.is_some_and(|wanted| wanted != Some(end.connector)))
                | failed(part::BRANCH, branch.is_some_and(|wanted| wanted.is_none() || wanted != end.branch))
                | failed(part::ACTION, filter.action.is_some_and(|wanted| wanted != end.action))
                | failed(part::SUPPLY, filter.supply.is_some_and(|wanted| wanted != end.supply))
                | failed(part::LEFT, filter.left.is_some_and(|wanted| Some(wanted) != end.left))
                | failed(part::STALE, filter.is_stale && !end.is_stale)
                | failed(part::OTHERWISE, filter.is_otherwise && !end.is_otherwise)
        };
        let failed: Vec<u8> = self.ends.iter().map(fails).collect();
        let ordered = self.ordered(order, &job.reading.circuits);
        Chosen {
            ends: ordered.iter().copied().filter(|&number| failed[number] == 0).collect(),
            counts: self.counts(&failed),
        }
    }

    fn counts(&self, failed: &[u8]) -> Counts {
        let mut counts = Counts {
            connectors: vec![0; self.connectors.len()],
            branches: vec![0; self.branches.len()],
            ..Counts::default()
        };
        for (end, failed) in self.ends.iter().zip(failed) {
            let passes_but = |part: u8| failed & !part == 0;
            counts.connectors[end.connector] += usize::from(passes_but(part::CONNECTOR));
            if let Some(branch) = end.branch {
                counts.branches[branch] += usize::from(passes_but(part::BRANCH));
            }
            if passes_but(part::ACTION) {
                *counts.actions.entry(end.action).or_default() += 1;
            }
            if passes_but(part::SUPPLY) {
                *counts.supplies.entry(end.supply).or_default() += 1;
            }
            if let Some(step) = end.left.filter(|_| passes_but(part::LEFT)) {
                *counts.left.entry(step).or_default() += 1;
            }
            counts.stale += usize::from(end.is_stale && passes_but(part::STALE));
            counts.otherwise += usize::from(end.is_otherwise && passes_but(part::OTHERWISE));
        }
        counts
    }

    /// All ends in an order, which is found once; alike ends stand by their places.
    fn ordered(&self, order: Order, circuits: &Circuits) -> &[usize] {
        let place = Order::ALL.iter().position(|one| *one == order).unwrap_or_default();
        self.orders[place].get_or_init(|| {
            let by_place = || circuits.working_order().into_iter().filter_map(|at| self.number(at));
            if order == Order::Circuit {
                return (0..self.ends.len()).collect();
            }
            let mut ordered: Vec<usize> = by_place().collect();
            let circuit = |number: &usize| &circuits.all()[self.ends[*number].at.0];
            match order {
                Order::Place | Order::Circuit => {}
                Order::Code => ordered.sort_by_cached_key(|&number| {
                    let (code, letter) = self.ends[number].mark;
                    (code.as_str().to_owned(), letter)
                }),
                Order::Function => {
                    ordered.sort_by(|a, b| last_if_none(circuit(a).function.as_deref(), circuit(b).function.as_deref()))
                }
                Order::Action => ordered
                    .sort_by_key(|&number| Action::WORDS.iter().position(|word| *word == self.ends[number].action)),
                Order::Branch => ordered.sort_by_key(|&number| self.ends[number].branch.unwrap_or(usize::MAX)),
            }
            ordered
        })
    }
}

fn last_if_none(one: Option<&str>, other: Option<&str>) -> Ordering {
    match (one, other) {
        (Some(one), Some(other)) => natural::compare(one, other),
        (one, other) => one.is_none().cmp(&other.is_none()),
    }
}

impl PlannedEnd {
    fn of(job: &Snapshot, at: (usize, usize), mark: (TagCode, EndLetter), noted: &[&Noted]) -> Self {
        let circuits = &job.reading.circuits;
        let end: &End = &circuits.all()[at.0].ends()[at.1];
        let now = progress(noted.iter().copied());
        let seat = job.recall.seat(at);
        let record = job.recall.record(seat.0);
        let told = &record.ends[seat.1];
        Self {
            at,
            mark,
            is_issued: record.code.is_some() && told.letter.is_some(),
            seat,
            action: end.action.word(),
            supply: danger_at(circuits, at),
            left: end.action.step().filter(|step| !now.done.contains(step) && !is_stopped(circuits, at)),
            is_stale: told.stale,
            is_otherwise: now.findings.iter().any(|noted| worked::otherwise(end, noted).is_some()),
            done: now.done.into_iter().collect(),
            decided: end.decided,
            connector: 0,
            branch: None,
        }
    }

    /// Its name, as it is typed: `7KF4/A`.
    pub fn name(&self) -> String {
        format!("{}/{}", self.mark.0, self.mark.1)
    }

    /// The end of the lists.
    pub fn listed<'c>(&self, circuits: &'c Circuits) -> (&'c Circuit, &'c End) {
        let circuit = &circuits.all()[self.at.0];
        (circuit, &circuit.ends()[self.at.1])
    }

    /// What may hurt somebody when this is done with it.
    pub fn danger_to(&self, action: &Action) -> Option<Danger> {
        Danger::of_action(self.supply, action)
    }
}

/// The ends that answer the words of a filter.
enum Worded {
    All,
    These(HashMap<usize, Vec<usize>>),
}

impl Worded {
    fn of(filter: &Filter, recall: &Recall) -> Self {
        let words: Vec<String> = filter.words.split_whitespace().map(str::to_owned).collect();
        if words.is_empty() {
            return Self::All;
        }
        let mut these: HashMap<usize, Vec<usize>> = HashMap::new();
        for (record, ends) in recall.answering(&words) {
            these.entry(record).or_default().extend(ends);
        }
        Self::These(these)
    }

    fn answers(&self, end: &PlannedEnd) -> bool {
        match self {
            Self::All => true,
            Self::These(these) => these.get(&end.seat.0).is_some_and(|ends| ends.contains(&end.seat.1)),
        }
    }
}
