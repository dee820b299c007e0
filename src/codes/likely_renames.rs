//! Likely renamings: circuits that the lists call by a designation which is new to the register, in the very cavities of a
//! circuit that no list has any more. Without a word of the user each would get a new code, and its tags would be wrong.
//!
//! What the register knows and the circuits of the lists come in; pairs go out. Pure: nothing is issued or written. A circuit
//! known by its place alone needs no word: it is found again when it gets a name.

use std::collections::{BTreeMap, BTreeSet, HashMap, HashSet};

use super::assign::{Known, KnownCircuit};
use crate::base::{CircuitId, Place, TagCode};
use crate::circuits::{Circuit, Circuits, Naming};

/// A circuit of the lists that is likely one of the register under a new designation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LikelyRename {
    /// The designation that no list has any more.
    pub old: CircuitId,
    /// Its code.
    pub code: TagCode,
    /// The designation that is new to the register.
    pub new: CircuitId,
    /// The cavities that both have ends in.
    pub places: Vec<Place>,
}

/// Pairs, in the order of the lists. A place without cavities says nothing, as many circuits share it; where two circuits would
/// do, none is named.
pub(super) fn likely_renames(known: &Known, circuits: &Circuits) -> Vec<LikelyRename> {
    let names: HashSet<&CircuitId> =
        known.circuits.iter().flat_map(|circuit| &circuit.names).map(|name| &name.id).collect();
    let is_new = |circuit: &&Circuit| circuit.naming() == Naming::Designated && !names.contains(circuit.id());
    let new: Vec<&Circuit> = circuits.all().iter().filter(is_new).collect();
    if new.is_empty() {
        return Vec::new();
    }
    let mut gone_at: HashMap<&Place, Vec<usize>> = HashMap::new();
    for (at, circuit) in known.circuits.iter().enumerate().filter(|(_, circuit)| has_left(circuit, circuits)) {
        for place in cavities(circuit.ends.iter().map(|end| &end.place)) {
            gone_at.entry(place).or_default().push(at);
        }
    }
    let mut found: Vec<(usize, &Circuit, Vec<&Place>)> = Vec::new();
    for circuit in new {
        let here = cavities(circuit.ends().iter().map(|end| &end.place));
        let mut shared: BTreeMap<usize, Vec<&Place>> = BTreeMap::new();
        for place in &here {
            for &at in gone_at.get(place).into_iter().flatten() {
                shared.entry(at).or_default().push(place);
            }
        }
        let is_same = |at: &usize, shared: &Vec<&Place>| {
            let there = cavities(known.circuits[*at].ends.iter().map(|end| &end.place));
            shared.len() == here.len() || shared.len() == there.len()
        };
        shared.retain(|at, places| is_same(at, places));
        let most = shared.values().map(Vec::len).max().unwrap_or_default();
        let mut best = shared.into_iter().filter(|(_, places)| places.len() == most);
        if let (Some((at, places)), None) = (best.next(), best.next()) {
            found.push((at, circuit, places));
        }
    }
    // Two circuits in place of one: it was split, or one of them is new in truth.
    let mut claims: HashMap<usize, usize> = HashMap::new();
    found.iter().for_each(|(at, ..)| *claims.entry(*at).or_default() += 1);
    let found = found.into_iter().filter(|(at, ..)| claims[at] == 1);
    found
        .filter_map(|(at, circuit, places)| {
            let gone = &known.circuits[at];
            let old = gone.names.iter().find(|name| name.is_current && name.naming == Naming::Designated)?.id.clone();
            let places = places.into_iter().cloned().collect();
            Some(LikelyRename { old, code: gone.printed(), new: circuit.id().clone(), places })
        })
        .collect()
}

/// Whether lists gave it a designation, and have none of its designations now.
fn has_left(circuit: &KnownCircuit, circuits: &Circuits) -> bool {
    let was_named = circuit.names.iter().any(|name| name.is_current && name.naming == Naming::Designated);
    was_named && circuit.names.iter().all(|name| circuits.get(&name.id).is_none())
}

/// The places with a cavity, each once.
fn cavities<'a>(places: impl Iterator<Item = &'a Place>) -> Vec<&'a Place> {
    let with_cavity: BTreeSet<&Place> = places.filter(|place| place.cavity.is_some()).collect();
    with_cavity.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::super::Register;
    use super::super::samples::{self, NOW};

    /// What is told when a register that issued codes to the first lists sees the second ones: `old -> new: places`.
    fn told(before: &[(&str, &[&str])], now: &[(&str, &[&str])]) -> Vec<String> {
        let read = |all: &[(&str, &[&str])]| samples::circuits(all.iter().map(|(id, ends)| samples::circuit(id, ends)));
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&read(before), NOW).expect("issues");
        let found = register.likely_renames(&read(now)).expect("reads");
        let shown = found.iter().map(|one| {
            let places: Vec<String> = one.places.iter().map(ToString::to_string).collect();
            format!("{} -> {}: {}", one.old, one.new, places.join(" "))
        });
        shown.collect()
    }

    const E14: (&str, &[&str]) = ("E14", &["J1/14 BN", "B10/2 BN"]);
    const E15: (&str, &[&str]) = ("E15", &["J1/15 BN", "B10/1 BN"]);

    #[test]
    fn a_new_designation_in_the_same_cavities() {
        let renamed: (&str, &[&str]) = ("S14", &["J1/14 BN", "B10/2 BN"]);
        assert_eq!(told(&[E14, E15], &[renamed, E15]), ["E14 -> S14: B10/2 J1/14"]);
        // A list with one end of it was added or taken away with the renaming.
        assert_eq!(told(&[E14, E15], &[("S14", &["J1/14"]), E15]), ["E14 -> S14: J1/14"]);
        assert_eq!(told(&[("E14", &["J1/14"])], &[renamed]), ["E14 -> S14: J1/14"]);
        // Both at once.
        let other: (&str, &[&str]) = ("S15", &["J1/15", "B10/1"]);
        assert_eq!(told(&[E14, E15], &[renamed, other]), ["E14 -> S14: B10/2 J1/14", "E15 -> S15: B10/1 J1/15"]);
    }

    #[test]
    fn what_is_no_renaming() {
        for (why, now) in [
            ("nothing changed", vec![E14, E15]),
            ("the old one is still there", vec![E14, E15, ("S14", &["J1/14"][..])]),
            ("other cavities", vec![E15, ("S14", &["J1/20", "B10/3"][..])]),
            ("one cavity of two", vec![E15, ("S14", &["J1/14", "B10/3"][..])]),
            ("split into two", vec![E15, ("S14", &["J1/14"][..]), ("S24", &["B10/2"][..])]),
            ("circuits without a name", vec![E15, ("J1/14", &["J1/14"][..])]),
            ("a list was taken away", vec![E15]),
        ] {
            assert_eq!(told(&[E14, E15], &now), [""; 0], "{why}");
        }
        assert_eq!(told(&[], &[E14]), [""; 0], "an empty register");
        let at_stud: (&str, &[&str]) = ("G1", &["GND1"]);
        assert_eq!(told(&[at_stud], &[("G2", &["GND1"])]), [""; 0], "a stud is shared by many");
        assert_eq!(told(&[("J1/14", &["J1/14"])], &[("E14", &["J1/14"])]), [""; 0], "a name is learnt");
    }

    /// Once the new designation has a code of its own there is nothing to be saved by renaming.
    #[test]
    fn told_before_a_code_is_issued_and_not_after() {
        let read = |id: &str| samples::circuits([samples::circuit(id, &["J1/14", "B10/2"])]);
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&read("E14"), NOW).expect("issues");
        assert_eq!(register.likely_renames(&read("S14")).expect("reads").len(), 1);
        register.issue(&read("S14"), NOW).expect("issues");
        assert_eq!(register.likely_renames(&read("S14")).expect("reads"), []);
    }
}
