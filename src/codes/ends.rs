//! Which end of the lists is which end of the register: a letter stays with its wire for ever.
//!
//! An end is known by its place, its colour, and where its wire goes; wires that are alike in all of these are told apart by
//! their order in the lists. In this order ends are found again:
//!
//! 1. the same place, colour and far place;
//! 2. the same place and far place, the colour put right, where there is one such end on either side;
//! 3. the same place and colour, where the far place is learnt or forgotten;
//! 4. the only end at a place, whatever has been put right;
//! 5. the end that a note says was found at a place, when the lists no longer have it where it was.
//!
//! What is left over is new. A wire that comes to a stud in place of another is another end: nothing is guessed.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::RegisterFailure;
use super::assign::{Change, KnownCircuit, KnownEnd, colour_text};
use crate::base::{EndLetter, Place};
use crate::circuits::{Circuit, End, FarEnd};

/// An end of the lists while it is looked for.
pub(super) struct Listed<'a> {
    end: &'a End,
    colour: String,
    far: String,
}

impl<'a> Listed<'a> {
    /// An end of a circuit, by its index.
    pub(super) fn of(circuit: &'a Circuit, index: usize) -> Self {
        let end = &circuit.ends()[index];
        let far = match circuit.far_end(index) {
            FarEnd::End(far) => circuit.ends()[far].place.to_string(),
            FarEnd::ImpliedSplice | FarEnd::Unknown => String::new(),
        };
        Self { end, colour: colour_text(end.colour.as_ref()), far }
    }
}

/// The letters of these ends of one record, in their order; those that are new get the next ones.
pub(super) fn find_ends(
    circuit: &mut KnownCircuit,
    ends: &[Listed<'_>],
    next_end: &mut i64,
    changes: &mut Vec<Change>,
) -> Result<Vec<EndLetter>, RegisterFailure> {
    let found = Search::new(&circuit.ends, ends).found();
    let mut letters = Vec::with_capacity(ends.len());
    for (listed, found) in ends.iter().zip(found) {
        if let Some(at) = found {
            correct(&mut circuit.ends[at], listed, changes);
        }
        letters.push(match found.and_then(|at| circuit.letter(&circuit.ends[at])) {
            Some(letter) => letter,
            None => {
                let key = *next_end;
                *next_end += 1;
                let new = KnownEnd {
                    key,
                    place: listed.end.place.clone(),
                    colour: listed.colour.clone(),
                    far: listed.far.clone(),
                    ordinal: listed.end.ordinal,
                    marks: Vec::new(),
                    found_at: None,
                    since: None,
                };
                changes.push(Change::End { circuit: circuit.key, end: new.clone() });
                circuit.take(new, changes)?
            }
        });
    }
    Ok(letters)
}

/// What the lists say now stands from now on; a far place once learnt is not forgotten.
fn correct(known: &mut KnownEnd, listed: &Listed<'_>, changes: &mut Vec<Change>) {
    if known.place != listed.end.place {
        known.place = listed.end.place.clone();
        changes.push(Change::Moved { end: known.key, place: known.place.clone() });
    }
    let far = if listed.far.is_empty() { &known.far } else { &listed.far };
    if known.colour.eq_ignore_ascii_case(&listed.colour) && known.far == *far && known.ordinal == listed.end.ordinal {
        return;
    }
    let (end, colour, far, ordinal) = (known.key, listed.colour.clone(), far.clone(), listed.end.ordinal);
    changes.push(Change::Corrected { end, colour: colour.clone(), far: far.clone(), ordinal });
    (known.colour, known.far, known.ordinal) = (colour, far, ordinal);
}

/// The ends of the lists while they are looked for among the known ones.
struct Search<'a> {
    known: &'a [KnownEnd],
    listed: &'a [Listed<'a>],
    /// For each listed end the known one it is.
    found: Vec<Option<usize>>,
    /// Known ends that are found.
    taken: BTreeSet<usize>,
}

impl<'a> Search<'a> {
    fn new(known: &'a [KnownEnd], listed: &'a [Listed<'a>]) -> Self {
        Self { known, listed, found: vec![None; listed.len()], taken: BTreeSet::new() }
    }

    fn found(mut self) -> Vec<Option<usize>> {
        self.pair_alike();
        self.pair_by_far_place();
        self.pair_learnt();
        self.pair_only();
        self.pair_moved();
        self.found
    }

    /// Step 5: found elsewhere by a note, and the lists say the same now. Where several ends would do, none is taken.
    fn pair_moved(&mut self) {
        let is_moved = |at: &usize| !self.taken.contains(at) && self.known[*at].found_at.is_some();
        let moved: Vec<usize> = (0..self.known.len()).filter(is_moved).collect();
        if moved.is_empty() {
            return;
        }
        let mut pairs = Vec::new();
        for (_, listed) in self.left().into_values() {
            let Some(place) = listed.first().map(|&at| &self.listed[at].end.place) else { continue };
            let here: Vec<usize> = moved.iter().copied().filter(|&at| self.known[at].was_found_at(place)).collect();
            if let ([known], [listed]) = (&here[..], &listed[..]) {
                pairs.push((*known, *listed));
            }
        }
        for (known, listed) in &pairs {
            // `j1/A` and `j1/a` may both be there: the note does not say which.
            if pairs.iter().filter(|pair| pair.0 == *known).count() == 1 {
                self.take(*listed, *known);
            }
        }
    }

    fn take(&mut self, listed: usize, known: usize) {
        self.found[listed] = Some(known);
        self.taken.insert(known);
    }

    /// What is left at each place: indices of known and of listed ends, each in the order of their ordinals.
    fn left(&self) -> BTreeMap<&'a Place, (Vec<usize>, Vec<usize>)> {
        let mut left: BTreeMap<&Place, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
        for (at, listed) in self.listed.iter().enumerate().filter(|(at, _)| self.found[*at].is_none()) {
            left.entry(&listed.end.place).or_default().1.push(at);
        }
        if !left.is_empty() {
            for (at, known) in self.known.iter().enumerate().filter(|(at, _)| !self.taken.contains(at)) {
                if let Some(pair) = left.get_mut(&known.place) {
                    pair.0.push(at);
                }
            }
        }
        for (known, listed) in left.values_mut() {
            known.sort_by_key(|&at| (self.known[at].ordinal, self.known[at].key));
            listed.sort_by_key(|&at| self.listed[at].end.ordinal);
        }
        left
    }

    /// Step 1: alike in everything. Where the far place is not known, the ordinal must be the same too: of two such wires one
    /// may be gone.
    fn pair_alike(&mut self) {
        let key = |colour: &str, far: &str, ordinal: u16| {
            (colour.to_ascii_uppercase(), far.to_owned(), far.is_empty().then_some(ordinal))
        };
        for (known, listed) in self.left().into_values() {
            let mut groups: HashMap<_, Vec<usize>> = HashMap::new();
            for at in known.into_iter().rev() {
                let end = &self.known[at];
                groups.entry(key(&end.colour, &end.far, end.ordinal)).or_default().push(at);
            }
            for at in listed {
                let Listed { end, colour, far } = &self.listed[at];
                if let Some(known) = groups.get_mut(&key(colour, far, end.ordinal)).and_then(Vec::pop) {
                    self.take(at, known);
                }
            }
        }
    }

    /// Step 2: the only ones whose wire goes to that far place.
    fn pair_by_far_place(&mut self) {
        for (known, listed) in self.left().into_values() {
            let groups = self.grouped(known, listed, |far, _| far.to_owned());
            for (far, (known, listed)) in groups {
                if let ([known], [listed]) = (&known[..], &listed[..])
                    && !far.is_empty()
                {
                    self.take(*listed, *known);
                }
            }
        }
    }

    /// Known and listed ends of one place by what a step compares: far place and colour are given.
    fn grouped(
        &self,
        known: Vec<usize>,
        listed: Vec<usize>,
        by: impl Fn(&str, &str) -> String,
    ) -> BTreeMap<String, (Vec<usize>, Vec<usize>)> {
        let mut groups: BTreeMap<String, (Vec<usize>, Vec<usize>)> = BTreeMap::new();
        for at in known {
            groups.entry(by(&self.known[at].far, &self.known[at].colour)).or_default().0.push(at);
        }
        for at in listed {
            groups.entry(by(&self.listed[at].far, &self.listed[at].colour)).or_default().1.push(at);
        }
        groups
    }

    /// Step 3: of a colour, wires whose far place was not known, and the register never told apart, learn theirs; or one
    /// that was known is forgotten by the lists, where it is the only one.
    fn pair_learnt(&mut self) {
        for (known, listed) in self.left().into_values() {
            let groups = self.grouped(known, listed, |_, colour| colour.to_ascii_uppercase());
            for (known, listed) in groups.into_values() {
                let all_open = known.iter().all(|&at| self.known[at].far.is_empty());
                let is_forgotten = known.len() == 1 && listed.len() == 1 && self.listed[listed[0]].far.is_empty();
                if all_open || is_forgotten {
                    for (&known, &listed) in known.iter().zip(&listed) {
                        self.take(listed, known);
                    }
                }
            }
        }
    }

    /// Step 4: a place that has only ever had one end has the same one still. Where several were never told apart, as many
    /// are left as there were.
    fn pair_only(&mut self) {
        for (place, (known, listed)) in self.left() {
            let ever = self.known.iter().filter(|end| end.place == *place).count();
            let now = self.listed.iter().filter(|listed| listed.end.place == *place).count();
            let is_only_one = ever == 1 && now == 1;
            let first = known.first().map(|&at| &self.known[at]);
            let are_alike = known.iter().all(|&at| {
                let end = &self.known[at];
                end.far.is_empty() && first.is_some_and(|first| first.has_colour(&end.colour))
            });
            if is_only_one || (known.len() == listed.len() && are_alike) {
                for (known, listed) in known.into_iter().zip(listed) {
                    self.take(listed, known);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use crate::circuits::{self, JobLists, List, ListSettings};
    use crate::codes::Register;

    /// Letters at stud G2 by where the wire goes, after issuing for these rows.
    fn letters(register: &mut Register, rows: &[&str]) -> Vec<(String, String)> {
        let head = "circuit,from connector,from cavity,to connector,to cavity,colour\n";
        let list = List {
            name: "wires.csv".to_owned(),
            bytes: format!("{head}{}", rows.join("\n")).into_bytes(),
            settings: ListSettings::default(),
        };
        let circuits = circuits::read(&JobLists::of(&[list])).value;
        let issued = register.issue(&circuits, Timestamp::UNIX_EPOCH).expect("issues");
        let mut letters = Vec::new();
        for (circuit, codes) in circuits.all().iter().zip(&issued.circuits) {
            for (index, (end, letter)) in circuit.ends().iter().zip(&codes.letters).enumerate() {
                if end.place.to_string() == "G2"
                    && let circuits::FarEnd::End(far) = circuit.far_end(index)
                {
                    letters.push((circuit.ends()[far].place.to_string(), letter.to_string()));
                }
            }
        }
        letters.sort();
        letters
    }

    /// Three yellow grounds on one stud, in the order somebody typed them; then sorted, with one more in front, with one gone,
    /// and with that one back.
    #[test]
    fn letters_stay_with_their_wires_on_a_stud() {
        let (helm, pump, blower) = ("GND,G2,,H1,2,YE", "GND,G2,,M80,2,YE", "GND,G2,,M83,2,YE");
        let mut register = Register::in_memory().expect("opens");
        let first = letters(&mut register, &[helm, pump, blower]);
        assert_eq!(first.len(), 3);
        assert_eq!(letters(&mut register, &[blower, pump, helm]), first);
        let more = letters(&mut register, &["GND,G2,,L1,2,YE", blower, helm, pump]);
        assert!(first.iter().all(|letter| more.contains(letter)), "{first:?} {more:?}");
        let fewer = letters(&mut register, &[blower, helm]);
        assert!(fewer.iter().all(|letter| first.contains(letter)), "{first:?} {fewer:?}");
        assert_eq!(letters(&mut register, &[pump, helm, blower]), first);
    }

    /// Another wire comes to the stud when one is gone: it is not that one.
    #[test]
    fn a_wire_in_place_of_another_is_another_end() {
        let mut register = Register::in_memory().expect("opens");
        let first = letters(&mut register, &["GND,G2,,H1,2,YE", "GND,G2,,M80,2,YE"]);
        let later = letters(&mut register, &["GND,G2,,H1,2,YE", "GND,G2,,L4,2,YE"]);
        let letter = |of: &[(String, String)], place: &str| {
            of.iter().find(|(far, _)| far == place).map(|(_, letter)| letter.clone())
        };
        assert_eq!(letter(&first, "H1/2"), letter(&later, "H1/2"));
        assert_ne!(letter(&first, "M80/2"), letter(&later, "L4/2"));
    }

    /// In a cavity that only ever had one wire, colour and far end may be put right.
    #[test]
    fn corrections_keep_the_letter_of_the_only_wire() {
        let mut register = Register::in_memory().expect("opens");
        let of_h1 =
            |register: &mut Register, row: &str| letters(register, &[row]).into_iter().map(|(_, letter)| letter);
        let first: Vec<String> = of_h1(&mut register, "GND,G2,,H1,2,YE").collect();
        let second: Vec<String> = of_h1(&mut register, "GND,G2,,H1,3,BK").collect();
        assert_eq!(first, second);
    }
}
