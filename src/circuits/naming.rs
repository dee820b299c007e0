//! Mentions -> circuits' names: which circuit each mention of an end belongs to.
//!
//! A row that names its circuit belongs to it. One that does not belongs to the circuit that other rows give its place, when
//! they give it exactly one, or the only one of them that has its colour. The two ends of a wire without a name are one
//! circuit, and so are all such wires that meet in a place; where no list names it, its designation is the first of its
//! places in natural order, so that sorting a list renames nothing.

use std::borrow::Cow;
use std::collections::HashMap;

use super::Naming;
use super::mention::{Mention, Mentions, PlaceRef};
use super::problems::CHARTS_DISAGREE;
use crate::base::{CircuitId, Place, Problem};

/// Which circuit and place each mention is of, by numbers.
#[derive(Debug)]
pub(super) struct Named {
    /// The circuits that are mentioned, by number.
    pub(super) circuits: Vec<(CircuitId, Naming)>,
    /// Number of the circuit of each mention.
    pub(super) circuit_of: Vec<u32>,
    /// Number of the place of each mention.
    pub(super) place_of: Vec<u32>,
}

/// What the lists call the circuits at a place.
#[derive(Clone, Copy)]
enum NamesHere {
    None,
    One(u32),
    Several,
}

/// Circuits by number, and their numbers by designation.
#[derive(Default)]
struct Designations<'t> {
    circuits: Vec<(CircuitId, Naming)>,
    numbers: HashMap<Cow<'t, str>, u32>,
}

impl<'t> Designations<'t> {
    /// The number of a circuit that a list names. `designation` is not blank.
    fn named(&mut self, designation: &'t str) -> Option<u32> {
        if let Some(&number) = self.numbers.get(designation) {
            return Some(number);
        }
        let id = CircuitId::from_cell(designation)?;
        Some(self.add(Cow::Borrowed(designation), id, Naming::Designated))
    }

    /// The number of the circuit whose designation is a place.
    fn by_place(&mut self, place: &Place) -> u32 {
        let id = CircuitId::from(place);
        match self.numbers.get(id.as_str()) {
            Some(&number) => number,
            None => self.add(Cow::Owned(id.as_str().to_owned()), id, Naming::ByPlace),
        }
    }

    fn add(&mut self, designation: Cow<'t, str>, id: CircuitId, naming: Naming) -> u32 {
        let number = self.circuits.len() as u32;
        self.circuits.push((id, naming));
        self.numbers.insert(designation, number);
        number
    }
}

/// Finds the circuit of every mention.
pub(super) fn name(mentions: &Mentions<'_>, problems: &mut Vec<Problem>) -> Named {
    let all = &mentions.all;
    let mut place_numbers: HashMap<PlaceRef<'_>, u32> = HashMap::with_capacity(all.len());
    let mut places: Vec<PlaceRef<'_>> = Vec::new();
    let mut place_of = Vec::with_capacity(all.len());
    for mention in all {
        let number = *place_numbers.entry(mention.place).or_insert_with(|| {
            places.push(mention.place);
            (places.len() - 1) as u32
        });
        place_of.push(number);
    }

    let mut designations = Designations::default();
    let mut given: Vec<Option<u32>> =
        all.iter().map(|mention| mention.circuit.and_then(|circuit| designations.named(circuit))).collect();
    let mut here = vec![NamesHere::None; places.len()];
    for (place, name) in place_of.iter().zip(&given) {
        let here = &mut here[*place as usize];
        match (*here, *name) {
            (NamesHere::None, Some(name)) => *here = NamesHere::One(name),
            (NamesHere::One(one), Some(name)) if one != name => *here = NamesHere::Several,
            _ => {}
        }
    }

    if given.contains(&None) {
        let mut wires = Joined::new(places.len());
        for (index, mention) in unnamed(all, &given) {
            if let Some(other) = mention.other {
                wires.join(place_of[index], place_of[other]);
            }
        }
        let groups =
            name_groups(&mut wires, &places, &here, &unnamed_places(all, &given, &place_of), &mut designations);
        let by_colour = names_by_colour(mentions, &given, &place_of, &here);
        let mut found = Vec::new();
        for (index, mention) in unnamed(all, &given) {
            // A wire's two mentions are named together, at the first.
            if mention.other.is_some_and(|other| other < index) {
                continue;
            }
            let name_at = |mention: &Mention<'_>, index: usize| match here[place_of[index] as usize] {
                NamesHere::One(name) => Some(name),
                NamesHere::Several => {
                    let colour = mention.colour.map(|colour| mentions.colour(colour).to_string());
                    by_colour.get(&(place_of[index], colour?)).copied().flatten()
                }
                NamesHere::None => None,
            };
            let own = name_at(mention, index);
            let others = mention.other.and_then(|other| name_at(&all[other], other));
            if let (Some(own), Some(others), Some(other)) = (own, others, mention.other)
                && own != others
            {
                let (one, two) = (&designations.circuits[own as usize].0, &designations.circuits[others as usize].0);
                let what = format!("this wire joins circuits `{one}` and `{two}`, and has no circuit of its own");
                let problem = CHARTS_DISAGREE.says(what).at(mentions.origin(mention));
                let problem = problem.see(format!("its end in circuit `{two}`"), mentions.origin(&all[other]));
                problems.push(problem.remedy(format!("it counts to `{one}`; write its circuit, or one name for both")));
            }
            let group = groups[wires.root(place_of[index]) as usize];
            let name = match (own.or(others), group) {
                (Some(name), _) | (None, NamesHere::One(name)) => name,
                (None, _) => match mention.place.to_place() {
                    Some(place) => designations.by_place(&place),
                    None => continue,
                },
            };
            found.push((index, name));
            found.extend(mention.other.map(|other| (other, name)));
        }
        for (index, name) in found {
            given[index] = Some(name);
        }
    }
    // Every mention has a name now: a place that was read is not blank.
    let circuit_of = given.into_iter().map(Option::unwrap_or_default).collect();
    Named { circuits: designations.circuits, circuit_of, place_of }
}

fn unnamed<'a, 't>(
    all: &'a [Mention<'t>],
    given: &'a [Option<u32>],
) -> impl Iterator<Item = (usize, &'a Mention<'t>)> + use<'a, 't> {
    all.iter().enumerate().filter(|(index, _)| given[*index].is_none())
}

fn unnamed_places(all: &[Mention<'_>], given: &[Option<u32>], place_of: &[u32]) -> Vec<u32> {
    unnamed(all, given).map(|(index, _)| place_of[index]).collect()
}

/// The name of each group of places that wires without names join, by its root: the one that lists give, or the first of
/// its places where they give none.
fn name_groups(
    wires: &mut Joined,
    places: &[PlaceRef<'_>],
    here: &[NamesHere],
    unnamed: &[u32],
    designations: &mut Designations<'_>,
) -> Vec<NamesHere> {
    let mut names = vec![NamesHere::None; places.len()];
    for place in 0..places.len() as u32 {
        let root = wires.root(place) as usize;
        names[root] = match (names[root], here[place as usize]) {
            (names, NamesHere::None) => names,
            (NamesHere::None, names) => names,
            (NamesHere::One(one), NamesHere::One(other)) if one == other => NamesHere::One(one),
            _ => NamesHere::Several,
        };
    }
    let mut firsts: HashMap<u32, Place> = HashMap::new();
    let mut roots = Vec::new();
    for &number in unnamed {
        let root = wires.root(number);
        if matches!(names[root as usize], NamesHere::None)
            && let Some(place) = places[number as usize].to_place()
        {
            match firsts.get(&root) {
                Some(first) if *first <= place => {}
                Some(_) => {
                    firsts.insert(root, place);
                }
                None => {
                    roots.push(root);
                    firsts.insert(root, place);
                }
            }
        }
    }
    for root in roots {
        names[root as usize] = NamesHere::One(designations.by_place(&firsts[&root]));
    }
    names
}

/// For places with several circuits: the circuit of each colour there, `None` where two circuits share one.
fn names_by_colour(
    mentions: &Mentions<'_>,
    given: &[Option<u32>],
    place_of: &[u32],
    here: &[NamesHere],
) -> HashMap<(u32, String), Option<u32>> {
    let mut names: HashMap<(u32, String), Option<u32>> = HashMap::new();
    for ((mention, &name), &place) in mentions.all.iter().zip(given).zip(place_of) {
        let is_shared = matches!(here[place as usize], NamesHere::Several);
        if let (true, Some(name), Some(colour)) = (is_shared, name, mention.colour) {
            let known = names.entry((place, mentions.colour(colour).to_string())).or_insert(Some(name));
            if *known != Some(name) {
                *known = None;
            }
        }
    }
    names
}

/// Places joined by wires: a forest in which each group has one root.
struct Joined {
    above: Vec<u32>,
}

impl Joined {
    fn new(count: usize) -> Self {
        Self { above: (0..count as u32).collect() }
    }

    fn root(&mut self, mut at: u32) -> u32 {
        while self.above[at as usize] != at {
            // Halving the path keeps it short.
            self.above[at as usize] = self.above[self.above[at as usize] as usize];
            at = self.above[at as usize];
        }
        at
    }

    fn join(&mut self, one: u32, other: u32) {
        let (one, other) = (self.root(one), self.root(other));
        self.above[one.max(other) as usize] = one.min(other);
    }
}
