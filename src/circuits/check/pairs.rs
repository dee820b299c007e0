//! Twisted pairs and screens: the column `with` names a partner, which must exist, and which goes when its wire goes.

use std::collections::{HashMap, HashSet};

use super::{Joined, by_whom};
use crate::base::nearest::{did_you_mean, nearest};
use crate::base::{Place, Problem};
use crate::circuits::alike::number_of;
use crate::circuits::partner::{names_in, places_meant};
use crate::circuits::problems::{PAIR_BROKEN, UNKNOWN_PARTNER};
use crate::circuits::{Action, Circuit, End};

/// Known designations that a mistyped partner is compared with, at most.
const MOST_COMPARED: usize = 1_000;

/// Mistyped partners that a known one is searched for, at most.
const MOST_SEARCHED: usize = 50;

/// Partners that are not there, and pairs of which one is removed and the other not.
pub(super) fn find_broken(joined: Joined<'_, '_>, problems: &mut Vec<Problem>) {
    if joined.ends().all(|(_, _, end)| end.partner.is_none()) {
        return;
    }
    let by_name: HashMap<&str, usize> =
        joined.circuits.iter().enumerate().map(|(at, circuit)| (circuit.id().as_str(), at)).collect();
    let partners = Partners { joined, by_name, by_place: places_of_partners(joined) };
    let mut unknown: HashSet<&str> = HashSet::new();
    let mut pairs: Vec<(usize, &End, usize)> = Vec::new();
    for (at, circuit) in joined.circuits.iter().enumerate() {
        for end in circuit.ends() {
            let Some(partner) = end.partner.as_deref() else { continue };
            let found = partners.named(partner, end);
            if found.is_empty() && joined.is_complete && unknown.insert(partner) {
                let compared = if unknown.len() <= MOST_SEARCHED { MOST_COMPARED } else { 0 };
                problems.push(partners.unknown(circuit, end, partner, compared));
            }
            pairs.extend(found.into_iter().filter(|other| *other != at).map(|other| (at, end, other)));
        }
    }
    let fates = Fates::of(joined.circuits, pairs.iter().map(|(_, _, other)| *other));
    let mut told: HashSet<(usize, usize, &str)> = HashSet::new();
    for (at, end, other) in pairs {
        let pair = (at.min(other), at.max(other), end.place.connector.as_str());
        if let Some(left) = fates.broken_by(end, other)
            && told.insert(pair)
        {
            problems.push(broken(&joined.circuits[at], end, &joined.circuits[other], left));
        }
    }
}

/// The first end that is removed, and the first that is not.
#[derive(Clone, Copy, Default)]
struct Fate<'a> {
    removed: Option<&'a End>,
    left: Option<&'a End>,
}

impl<'a> Fate<'a> {
    fn add(&mut self, end: &'a End) {
        let side = if end.action == Action::Remove { &mut self.removed } else { &mut self.left };
        side.get_or_insert(end);
    }
}

/// What becomes of the ends of partners: of all of a circuit, and of those in one connector.
struct Fates<'a> {
    all: HashMap<usize, Fate<'a>>,
    beside: HashMap<(usize, &'a str), Fate<'a>>,
}

impl<'a> Fates<'a> {
    fn of(circuits: &'a [Circuit], partners: impl Iterator<Item = usize>) -> Self {
        let mut fates = Self { all: HashMap::new(), beside: HashMap::new() };
        for partner in partners {
            if fates.all.contains_key(&partner) {
                continue;
            }
            let mut all = Fate::default();
            for end in circuits[partner].ends() {
                all.add(end);
                fates.beside.entry((partner, end.place.connector.as_str())).or_default().add(end);
            }
            fates.all.insert(partner, all);
        }
        fates
    }

    /// The end of a partner that shows the pair broken: in the same connector where it has ends there, else anywhere.
    fn broken_by(&self, end: &End, partner: usize) -> Option<&'a End> {
        let beside = self.beside.get(&(partner, end.place.connector.as_str()));
        let Fate { removed, left } = *beside.or_else(|| self.all.get(&partner))?;
        let (same, other) = if end.action == Action::Remove { (removed, left) } else { (left, removed) };
        if same.is_some() { None } else { other }
    }
}

fn broken(circuit: &Circuit, end: &End, partner: &Circuit, left: &End) -> Problem {
    let ((gone, gone_end), (kept, kept_end)) = match end.action {
        Action::Remove => ((circuit, end), (partner, left)),
        _ => ((partner, left), (circuit, end)),
    };
    let (gone, kept, action) = (gone.id(), kept.id(), kept_end.action.word());
    let what = format!(
        "`{gone}` is removed at `{}`{}, but its partner `{kept}` is not ({action})",
        gone_end.place,
        by_whom(gone_end)
    );
    let problem = PAIR_BROKEN.says(what).at(gone_end.origin.clone());
    let problem = problem.see(format!("`{kept}` here: {action}{}", by_whom(kept_end)), kept_end.origin.clone());
    problem.remedy("a twisted pair or a screen works only whole: remove both or neither, or mend the column `with`")
}

/// The places that partners are named by, with the circuits in them; empty where all are named by their circuit.
fn places_of_partners(joined: Joined<'_, '_>) -> HashMap<Place, Vec<usize>> {
    let mut places: HashMap<Place, Vec<usize>> = HashMap::new();
    for (_, _, end) in joined.ends() {
        for named in end.partner.iter().flat_map(|partner| names_in(partner)) {
            for place in places_meant(named, end).into_iter().flatten() {
                places.entry(place).or_default();
            }
        }
    }
    for (at, circuit) in joined.circuits.iter().enumerate() {
        for end in circuit.ends() {
            if let Some(here) = places.get_mut(&end.place)
                && here.last() != Some(&at)
            {
                here.push(at);
            }
        }
    }
    places
}

struct Partners<'a, 't> {
    joined: Joined<'a, 't>,
    by_name: HashMap<&'a str, usize>,
    by_place: HashMap<Place, Vec<usize>>,
}

impl Partners<'_, '_> {
    /// The circuits that a cell names: as a whole, else by its parts.
    fn named(&self, cell: &str, end: &End) -> Vec<usize> {
        let mut names = names_in(cell);
        let whole = names.next().map(|name| self.one(name, end)).unwrap_or_default();
        if whole.is_empty() { names.flat_map(|name| self.one(name, end)).collect() } else { whole }
    }

    fn one(&self, name: &str, end: &End) -> Vec<usize> {
        if let Some(&circuit) = self.by_name.get(name) {
            return vec![circuit];
        }
        let here = places_meant(name, end).into_iter().flatten().filter_map(|place| self.by_place.get(&place));
        here.flatten().copied().collect()
    }

    /// A partner that is nowhere; the nearest of the first `compared` circuits is offered.
    fn unknown(&self, circuit: &Circuit, end: &End, partner: &str, compared: usize) -> Problem {
        let what = format!("`{}` goes with `{partner}`, which is no circuit or place of the lists", circuit.id());
        let known = self.joined.circuits.iter().take(compared).map(|circuit| circuit.id().as_str());
        let alike = number_of(partner);
        let same = known.clone().find(|known| number_of(known) == alike);
        let near = same.or_else(|| nearest(partner, known.filter(|known| *known != circuit.id().as_str())));
        let otherwise = || "write the circuit or the place of the partner in the column `with`".to_owned();
        UNKNOWN_PARTNER.says(what).at(end.origin.clone()).remedy(near.map_or_else(otherwise, did_you_mean))
    }
}
