//! The notes of a circuit's ends, in their order -> where each end is, and what colour and size its wire was found to have.

use std::collections::{BTreeSet, HashMap, HashSet};

use super::Standing;
use crate::base::conductor::SizeUnit;
use crate::base::{Conductor, ConductorSize, ConnectorId, Finding, Place, Step, WireColour};
use crate::circuits::{Action, Circuit, Circuits, ConnectorKind, End};
use crate::codes::{Noted, Said};

/// What the notes tell of an end.
#[derive(Clone, Debug)]
pub(super) struct Now<'n> {
    /// Where it is.
    pub(super) standing: Standing,
    /// The notes that put it there, the first one first.
    pub(super) placed_by: Vec<&'n Noted>,
    /// Whether a place was found, be it the row's own: lists may have been put right since.
    has_found_place: bool,
    /// The steps that are done.
    pub(super) done: BTreeSet<Step>,
    /// The colour that was found, where it is another than the row's.
    pub(super) colour: Option<(WireColour, &'n Noted)>,
    /// The size that was found, likewise; without one where the note cannot be read as a size.
    pub(super) size: Option<(Option<Conductor>, &'n Noted)>,
    /// Other findings that stand.
    pub(super) findings: Vec<&'n Noted>,
    /// Findings of the whole circuit that cannot be of all its ends.
    pub(super) unclear: Vec<&'n Noted>,
}

impl Now<'_> {
    /// Whether the plan asks no more of the end.
    pub(super) fn is_settled(&self, planned: &End) -> bool {
        let is_done = |step| self.done.contains(&step);
        match &planned.action {
            Action::Undecided | Action::Keep | Action::Reserve => false,
            // What hangs free after it was pulled to leave is still to leave.
            Action::Remove => !self.standing.is_there(),
            Action::Move(Some(target)) => {
                let is_there = *target != planned.place && self.standing == Standing::Seated(target.clone());
                is_done(Step::Moved) || is_there
            }
            Action::Move(None) => is_done(Step::Moved),
            Action::Cut => is_done(Step::Cut),
            Action::Add => self.standing.is_there(),
            Action::Extend => is_done(Step::Extended),
        }
    }
}

/// The places of a plan, by what is typed.
pub(super) struct Places<'a> {
    exact: HashSet<&'a Place>,
    lower: HashMap<String, &'a Place>,
    connectors: HashMap<String, &'a ConnectorId>,
    /// Described as one place without cavities.
    whole: HashSet<&'a ConnectorId>,
}

impl<'a> Places<'a> {
    pub(super) fn of(circuits: &'a Circuits) -> Self {
        let ends = || circuits.all().iter().flat_map(Circuit::ends).map(|end| &end.place);
        let described = circuits.connectors();
        let is_whole = |kind| matches!(kind, ConnectorKind::Stud | ConnectorKind::Splice);
        let mut lower = HashMap::new();
        let mut connectors = HashMap::new();
        for place in ends() {
            lower.entry(place.to_string().to_lowercase()).or_insert(place);
        }
        for id in ends().map(|place| &place.connector).chain(circuits.connectors().map(|connector| &connector.id)) {
            connectors.entry(id.as_str().to_lowercase()).or_insert(id);
        }
        Self {
            exact: ends().collect(),
            lower,
            connectors,
            whole: described.filter(|connector| is_whole(connector.kind)).map(|connector| &connector.id).collect(),
        }
    }

    /// The place that a note means: one of the plan, another cavity of a connector, a stud or splice of connectors.csv, or one that
    /// is written with a slash. Anything else is words.
    fn read(&self, typed: &str) -> Option<Place> {
        let place = Place::from_typed(typed)?;
        if self.exact.contains(&place) {
            return Some(place);
        }
        let lower = place.to_string().to_lowercase();
        if let Some(known) = self.lower.get(&lower) {
            return Some((*known).clone());
        }
        let connector = self.connectors.get(&place.connector.as_str().to_lowercase());
        match (connector, &place.cavity) {
            (Some(known), Some(_)) => Some(Place::new((*known).clone(), place.cavity)),
            (Some(known), None) => self.whole.contains(known).then(|| Place::new((*known).clone(), None)),
            (None, Some(_)) => typed.contains('/').then_some(place),
            (None, None) => None,
        }
    }
}

/// What the notes of every end of a circuit tell.
pub(super) fn circuit<'n>(circuit: &Circuit, notes: &[Vec<&'n Noted>], places: &Places<'_>) -> Vec<Now<'n>> {
    let mut counts: HashMap<u32, usize> = HashMap::new();
    for noted in notes.iter().flatten() {
        *counts.entry(noted.number).or_default() += 1;
    }
    let none = Vec::new();
    let of = |at: usize| notes.get(at).unwrap_or(&none);
    let is_of_all = |noted: &Noted| counts.get(&noted.number).is_some_and(|count| *count > 1);
    circuit.ends().iter().enumerate().map(|(at, end)| replay(end, of(at), &is_of_all, places)).collect()
}

/// The notes that count: those that stand, without steps that were undone.
fn counting<'n>(notes: &[&'n Noted]) -> Vec<&'n Noted> {
    let mut counting: Vec<&Noted> = Vec::with_capacity(notes.len());
    for &noted in notes.iter().filter(|noted| noted.superseded_by.is_none()) {
        match noted.note.said {
            Said::Undone(step) => counting.retain(|earlier| earlier.note.said != Said::Done(step)),
            _ => counting.push(noted),
        }
    }
    counting
}

fn replay<'n>(end: &End, notes: &[&'n Noted], is_of_all: &dyn Fn(&Noted) -> bool, places: &Places<'_>) -> Now<'n> {
    let is_added = end.action == Action::Add;
    let standing = if is_added { Standing::NotYet } else { Standing::Seated(end.place.clone()) };
    let mut now = Now {
        standing,
        placed_by: Vec::new(),
        has_found_place: false,
        done: BTreeSet::new(),
        colour: None,
        size: None,
        findings: Vec::new(),
        unclear: Vec::new(),
    };
    for noted in counting(notes) {
        match noted.note.said {
            Said::Done(step) => {
                let then = after(step, end, &now);
                now.done.insert(step);
                now.put(then, noted);
            }
            Said::Found(Finding::Place | Finding::Empty) if is_of_all(noted) => now.unclear.push(noted),
            Said::Found(Finding::Place) => {
                let typed = noted.note.value.trim();
                let read = places.read(typed);
                now.has_found_place = read.is_some();
                now.put(Some(read.map_or_else(|| Standing::Somewhere(typed.to_owned()), Standing::Seated)), noted);
            }
            Said::Found(Finding::Empty) => {
                let is_seated = matches!(now.standing, Standing::Seated(_));
                now.put(is_seated.then_some(Standing::Missing), noted);
            }
            Said::Found(Finding::Colour) => {
                now.colour = other_colour(end, &noted.note.value).map(|found| (found, noted))
            }
            Said::Found(Finding::Size) => now.size = other_size(end, &noted.note.value).map(|found| (found, noted)),
            Said::Found(Finding::Damaged | Finding::Unlisted | Finding::Other) => now.findings.push(noted),
            Said::Undone(_) | Said::Text => {}
        }
    }
    now
}

impl<'n> Now<'n> {
    fn put(&mut self, then: Option<Standing>, noted: &'n Noted) {
        if let Some(then) = then.filter(|then| *then != self.standing) {
            self.standing = then;
            self.placed_by.push(noted);
        }
    }
}

/// Where an end is after a step; `None` where the step changes nothing.
fn after(step: Step, end: &End, now: &Now<'_>) -> Option<Standing> {
    let is_done = |step| now.done.contains(&step);
    let planned = || Standing::Seated(end.place.clone());
    match step {
        Step::Cut | Step::Pulled if is_done(Step::Moved) => None,
        Step::Cut | Step::Pulled if end.action == Action::Extend && is_done(Step::Extended) => None,
        Step::Pulled if end.action == Action::Remove => Some(Standing::Gone),
        Step::Cut | Step::Pulled => Some(Standing::Free),
        Step::Moved => {
            let found = match &now.standing {
                Standing::Seated(place) if *place != end.place => Some(place),
                _ => None,
            };
            match (&end.action, found) {
                (Action::Move(Some(_)), Some(found)) if found.connector != end.place.connector => None,
                (Action::Move(Some(target)), _) => Some(Standing::Seated(target.clone())),
                (_, Some(_)) => None,
                (_, None) if now.has_found_place => None,
                (_, None) => Some(Standing::Somewhere(String::new())),
            }
        }
        Step::Added => (!matches!(now.standing, Standing::Seated(_))).then(planned),
        Step::Extended => (end.action == Action::Extend && now.standing == Standing::Free).then(planned),
        Step::Spliced => (now.standing == Standing::Free).then(|| Standing::Somewhere(String::new())),
        Step::Tagged | Step::Untagged | Step::Sealed | Step::Capped | Step::Terminated | Step::Tested => None,
    }
}

/// The colour that was found, unless it is the row's.
fn other_colour(end: &End, value: &str) -> Option<WireColour> {
    let found = WireColour::from_cell(value)?;
    let listed = end.colour.as_ref();
    let is_own = listed.and_then(WireColour::own_letters).is_some_and(|own| own.eq_ignore_ascii_case(value.trim()));
    (!is_own && listed.is_none_or(|listed| !listed.same_as(&found))).then_some(found)
}

/// The size that was found, unless it is the row's; none where it is no size. A bare number has the unit of the row's size.
fn other_size(end: &End, value: &str) -> Option<Option<Conductor>> {
    let listed = end.conductor.as_ref().map(Conductor::size);
    let unit = listed.map(|size| match size {
        ConductorSize::CrossSection(_) => SizeUnit::SquareMillimetres,
        ConductorSize::Awg(_) => SizeUnit::Awg,
    });
    let found = Conductor::from_cell(value, unit).ok();
    let is_same = found.is_some() && found.as_ref().map(Conductor::size) == listed;
    (!is_same).then_some(found)
}
