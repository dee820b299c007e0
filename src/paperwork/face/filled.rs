//! A harness -> its connectors, each with its face and what every cavity of it holds.

use std::collections::{BTreeMap, BTreeSet};

use super::FacePlan;
use crate::base::{Cavity, ConnectorId, Finding, Place, WireColour};
use crate::circuits::caution::{danger_at, said_by};
use crate::circuits::{Action, Connector};
use crate::labels::Band;
use crate::labels::caution::danger;
use crate::paperwork::Harness;

/// What is to be done with a wire in a cavity, or what was found of it; of a wire of grave danger that it stays untouched, whatever
/// is planned.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Mark {
    /// It carries high voltage, or may: nobody touches it but trained persons.
    HighVoltage,
    /// It belongs to an airbag or belt tensioner, or may: never cut.
    Restraint,
    /// It is fed with the battery on; this stands beside the name of its cavity, besides what is to be done.
    Live,
    /// Nothing is decided.
    Undecided,
    /// It stays.
    Keep,
    /// It is pulled and leaves the harness.
    Remove,
    /// It loses its housing here.
    Cut,
    /// It goes to another place, where that is known.
    Move(Option<Place>),
    /// It comes here from another place.
    Arrives(Place),
    /// A new wire comes here.
    Add,
    /// It is spliced longer.
    Extend,
    /// It stays for a possible use.
    Reserve,
    /// No list names a wire.
    Empty,
    /// The lists name a wire, and at the bench there was none.
    FoundEmpty,
    /// At the bench it was found in another place.
    FoundIn(String),
}

/// One wire in a cavity, or one that is to come there.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Occupant {
    /// The name of its tag: `7KF4 A`.
    pub tag: String,
    /// Its colour: as it was found, else as listed.
    pub colour: Option<WireColour>,
    /// What is to be done with it.
    pub mark: Mark,
    /// Its danger; high voltage and restraint are its mark too, unless there is no wire.
    pub danger: Option<Band>,
}

/// A connector's face with what its cavities hold.
#[derive(Clone, Debug)]
pub struct FilledFace {
    /// The connector.
    pub id: ConnectorId,
    /// Its short name.
    pub short_name: Option<String>,
    /// Where its cavities lie.
    pub plan: FacePlan,
    /// What they hold; cavities of which no list says anything are not in it.
    pub held: BTreeMap<Option<Cavity>, Vec<Occupant>>,
}

impl FilledFace {
    /// The dangers that the whole connector carries: all its wires do, or its short name says so.
    pub(super) fn stops(&self) -> BTreeSet<Band> {
        let is_stop = |band: &Band| matches!(band, Band::HighVoltage | Band::Restraint);
        let named = self.short_name.as_deref().and_then(said_by).and_then(danger).filter(is_stop);
        let of_wires = || self.held.values().flatten().map(|occupant| occupant.danger.filter(is_stop));
        // `None` where a wire carries none.
        let of_all: Option<BTreeSet<Band>> = of_wires().collect();
        named.into_iter().chain(of_all.into_iter().flatten()).collect()
    }
}

type Held = BTreeMap<Option<Cavity>, Vec<Occupant>>;

/// The faces of all connectors: those that the lists name, those that ends move to, and those that are only described.
pub fn faces(harness: &Harness<'_>) -> BTreeMap<ConnectorId, FilledFace> {
    let held = held(harness);
    held.keys().filter_map(|id| Some(((*id).clone(), filled(harness, &held, id)?))).collect()
}

/// The face of one connector; `None` where nothing names it.
pub fn face_of(harness: &Harness<'_>, id: &ConnectorId) -> Option<FilledFace> {
    filled(harness, &held(harness), id)
}

/// What the cavities of all connectors hold.
fn held<'a>(harness: &Harness<'a>) -> BTreeMap<&'a ConnectorId, Held> {
    let mut held: BTreeMap<&ConnectorId, Held> =
        harness.circuits.connectors().map(|connector| (&connector.id, Held::new())).collect();
    for at in harness.circuits.working_order() {
        let end = harness.end(at);
        let danger = danger_of(harness, at);
        let mark = stop(danger, mark(harness, at));
        let occupant = Occupant { tag: harness.tag(at), colour: colour(harness, at), mark, danger };
        if let Action::Move(Some(to)) = &end.action
            && !harness.is_missing(at)
        {
            let arriving = Occupant { mark: stop(danger, Mark::Arrives(end.place.clone())), ..occupant.clone() };
            held.entry(&to.connector).or_default().entry(to.cavity.clone()).or_default().push(arriving);
        }
        held.entry(&end.place.connector).or_default().entry(end.place.cavity.clone()).or_default().push(occupant);
    }
    held
}

fn filled(harness: &Harness<'_>, all: &BTreeMap<&ConnectorId, Held>, id: &ConnectorId) -> Option<FilledFace> {
    let held = all.get(id)?;
    let connector = harness.circuits.connector(id);
    let mate = connector.and_then(|connector| harness.circuits.connector(connector.mates.as_ref()?));
    let of_mate = mate.and_then(|mate| all.get(&mate.id)).into_iter().flat_map(|held| held.keys());
    let names: Vec<Cavity> = held.keys().chain(of_mate).flatten().cloned().collect();
    let short_name = |connector: &Connector| connector.short_name.clone();
    Some(FilledFace {
        id: id.clone(),
        short_name: connector.and_then(short_name),
        plan: FacePlan::new(connector, mate, &names),
        held: held.clone(),
    })
}

/// The colour that was found, else that of the list.
fn colour(harness: &Harness<'_>, at: (usize, usize)) -> Option<WireColour> {
    let found = harness.on_bench(at).found.iter().rev().filter(|found| found.finding == Finding::Colour);
    let found = found.filter_map(|found| WireColour::from_cell(&found.value)).next();
    found.or_else(|| harness.end(at).colour.clone())
}

/// The danger of the wire of an end.
fn danger_of(harness: &Harness<'_>, at: (usize, usize)) -> Option<Band> {
    danger_at(harness.circuits, at).and_then(danger)
}

/// The mark of a wire of this danger: where the danger is grave, nothing is to be done that is planned.
fn stop(danger: Option<Band>, mark: Mark) -> Mark {
    match (danger, mark) {
        (_, Mark::FoundEmpty) => Mark::FoundEmpty,
        (Some(Band::HighVoltage), _) => Mark::HighVoltage,
        (Some(Band::Restraint), _) => Mark::Restraint,
        (_, mark) => mark,
    }
}

fn mark(harness: &Harness<'_>, at: (usize, usize)) -> Mark {
    if harness.is_missing(at) {
        return Mark::FoundEmpty;
    }
    let found = &harness.on_bench(at).found;
    if let Some(found) = found.iter().rev().find(|found| found.finding == Finding::Place) {
        return Mark::FoundIn(found.value.clone());
    }
    match &harness.end(at).action {
        Action::Undecided => Mark::Undecided,
        Action::Keep => Mark::Keep,
        Action::Remove => Mark::Remove,
        Action::Cut => Mark::Cut,
        Action::Move(to) => Mark::Move(to.clone()),
        Action::Add => Mark::Add,
        Action::Extend => Mark::Extend,
        Action::Reserve => Mark::Reserve,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::{JobLists, List, ListSettings, read};
    use crate::codes::Register;
    use crate::codes::link::Payload;
    use crate::paperwork::Found;

    /// An end that shall be added is none that is missing, and what is missing arrives nowhere.
    #[test]
    fn found_empty_is_what_the_work_list_takes_for_it() {
        let bytes = b"connector,cavity,circuit,action\nJ1,1,W1,add\nJ1,2,W2,move to J2/5\nJ1,3,W3,keep\n".to_vec();
        let lists = [List { name: "j.csv".to_owned(), bytes, settings: ListSettings::default() }];
        let circuits = read(&JobLists::of(&lists)).value;
        let issued = Register::in_memory().and_then(|register| register.preview(&circuits)).expect("there is memory");
        let mut harness = Harness::new(&circuits, &issued, &Payload::Code);
        let marks = |harness: &Harness<'_>, id: &str| {
            let faces = faces(harness);
            let held = faces.iter().filter(|(face, _)| face.as_str() == id).flat_map(|(_, face)| face.held.values());
            held.flatten().map(|occupant| occupant.mark.clone()).collect::<Vec<_>>()
        };
        assert_eq!(marks(&harness, "J2"), [Mark::Arrives(Place::from_typed("J1/2").expect("a place"))]);
        let (value, remark) = (String::new(), String::new());
        let found = Found { finding: Finding::Empty, value, remark, note: 1 };
        harness.on_bench.to_mut().iter_mut().flatten().for_each(|end| end.found.push(found.clone()));
        assert_eq!(marks(&harness, "J1"), [Mark::Add, Mark::FoundEmpty, Mark::FoundEmpty]);
        assert!(marks(&harness, "J2").is_empty());
    }
}
