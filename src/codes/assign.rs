//! Known circuits found again, new ones numbered: what the register knows and the circuits of the lists come in; codes,
//! letters and the changes to write down go out. Pure: issuing and trying out take the same way through here.
//!
//! How a circuit is found again, in this order:
//! 1. by a designation that is current in the register;
//! 2. by a former designation, while none of the current ones is in the lists (a list of names was taken away again), unless
//!    its places are another circuit's (the name was given on);
//! 3. by its ends: a circuit known by place only, which the lists no longer have, has an end where exactly one circuit of
//!    the lists now has one. Learning a name must not change a code. If several prove to be one circuit, the code that was
//!    issued first is printed on, and the others name the same record. Where no place leads on, the one does at which a note says
//!    that an end was found, if no other known circuit is there.
//!
//! Whatever is left is new.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use jiff::Timestamp;

use super::blanks::{KnownBlank, Way};
use super::ends::{Listed, find_ends};
use super::failure::RegisterFailure;
use super::issued::{CircuitCodes, Issued};
use super::mint;
use crate::base::{CircuitId, EndLetter, Place, TagCode, WireColour};
use crate::circuits::{Circuit, Circuits, End, Naming};

/// All that the register knows.
#[derive(Clone, Debug, Default)]
pub struct Known {
    /// Its circuits, in the order in which their printed codes were issued.
    pub circuits: Vec<KnownCircuit>,
    /// The number of the next code.
    pub next_number: u32,
    /// The key of the next circuit.
    pub next_circuit: i64,
    /// The key of the next end.
    pub next_end: i64,
    /// For each code how many of its letters are used up, also by ends that it does not name any more.
    pub letters: HashMap<TagCode, u32>,
    /// Codes that were issued ahead of any circuit.
    pub blanks: Vec<KnownBlank>,
}

/// A circuit of the register.
#[derive(Clone, Debug)]
pub struct KnownCircuit {
    /// Its key in the database.
    pub key: i64,
    /// Its designations.
    pub names: Vec<KnownName>,
    /// Its codes, the printed one first.
    pub codes: Vec<TagCode>,
    /// When the printed code was issued.
    pub issued: Timestamp,
    /// Its ends, in the order in which they became known.
    pub ends: Vec<KnownEnd>,
    /// How many letters of the printed code are used up.
    pub letters: u32,
}

/// A designation of a circuit of the register.
#[derive(Clone, Debug)]
pub struct KnownName {
    /// The designation.
    pub id: CircuitId,
    /// Whether a list gave it.
    pub naming: Naming,
    /// Whether it counts, or has been replaced by another.
    pub is_current: bool,
}

/// An end of a circuit of the register.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KnownEnd {
    /// Its key in the database.
    pub key: i64,
    /// Where it sits.
    pub place: Place,
    /// Its colour in the letters of IEC 60757 or as typed; empty when unknown.
    pub colour: String,
    /// Where its wire goes; empty while that is not known.
    pub far: String,
    /// Tells ends with the same place, colour and far place apart.
    pub ordinal: u16,
    /// Every code and letter that names it.
    pub marks: Vec<(TagCode, EndLetter)>,
    /// Where a note says that it was found, while no later one says otherwise.
    pub found_at: Option<Place>,
    /// When its first letter was issued; `None` of one that gets it now.
    pub since: Option<Timestamp>,
}

/// One thing to write down, in the order in which it must happen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Change {
    /// A circuit with its first code.
    Circuit { key: i64, code: TagCode, number: u32 },
    /// A designation belongs to a circuit and counts from now on.
    Name { circuit: i64, id: CircuitId, naming: Naming },
    /// A designation has been replaced.
    FormerName { id: CircuitId },
    /// A new end.
    End { circuit: i64, end: KnownEnd },
    /// Colour, far place or ordinal of an end are put right.
    Corrected { end: i64, colour: String, far: String, ordinal: u16 },
    /// An end sits in another place than the lists said before.
    Moved { end: i64, place: Place },
    /// A note that an end, by one of its codes and letters, was found in this place.
    FoundAt { code: TagCode, letter: EndLetter, place: Place },
    /// An end now belongs to another circuit.
    Handed { end: i64, circuit: i64 },
    /// An end proves to be another one: its codes and letters name that one.
    SameEnd { end: i64, proves: i64 },
    /// A code and letter for an end.
    Letter { code: TagCode, letter: EndLetter, end: i64 },
    /// Two circuits prove to be one.
    Joined { kept: i64, kept_code: TagCode, other: i64, other_code: TagCode },
    /// A code that belongs to nothing yet.
    Blank { code: TagCode, number: u32, way: Way },
    /// A circuit whose code was issued as a blank.
    CircuitOfBlank { key: i64, code: TagCode },
    /// A code that was issued as a blank names a circuit too.
    AlsoNames { code: TagCode, circuit: i64 },
    /// Another code of a circuit is printed from now on.
    PrintedInstead { code: TagCode, of: TagCode },
    /// What a blank proved to be; the end by a code and letter of it.
    Assigned { code: TagCode, designation: String, place: String, end: Option<(TagCode, EndLetter)> },
    /// A circuit was given another designation.
    Renamed { code: TagCode, former: CircuitId, designation: CircuitId },
}

/// The codes and letters of these circuits: known ones are found again, new ones numbered. `known` is brought up to date, and
/// the changes are what the database must be told.
///
/// # Errors
/// When codes or letters are used up, or two circuits have one designation.
pub fn assign(
    known: &mut Known,
    circuits: &Circuits,
    now: Timestamp,
) -> Result<(Issued, Vec<Change>), RegisterFailure> {
    let mut changes = Vec::new();
    let mut holders = find_again(known, circuits, &mut changes)?;
    for (circuit, holder) in circuits.all().iter().zip(&mut holders) {
        if holder.is_none() {
            *holder = Some(known.number_next(circuit.id(), circuit.naming(), now, &mut changes)?);
        }
    }
    let holders: Vec<usize> = holders.into_iter().flatten().collect();
    let letters = letter_ends(known, circuits, &holders, &mut changes)?;
    let circuits = holders.iter().zip(letters).map(|(&holder, letters)| {
        let holder = &known.circuits[holder];
        CircuitCodes { code: holder.printed(), also: holder.codes[1..].to_vec(), letters }
    });
    Ok((Issued { circuits: circuits.collect() }, changes))
}

/// For each circuit of the lists the index of the known circuit that it is; `None` for those that are new.
///
/// # Errors
/// When letters are used up, or two circuits have one designation.
pub(super) fn find_again(
    known: &mut Known,
    circuits: &Circuits,
    changes: &mut Vec<Change>,
) -> Result<Vec<Option<usize>>, RegisterFailure> {
    let all = circuits.all();
    if let Some(pair) = all.windows(2).find(|pair| pair[0].id() == pair[1].id()) {
        return Err(RegisterFailure::TwoCircuits { designation: pair[0].id().clone() });
    }
    let mut holders = by_current_name(known, circuits);
    for (circuit, holder) in all.iter().zip(&holders) {
        if let Some(holder) = *holder {
            known.circuits[holder].call(circuit.id(), circuit.naming(), changes);
        }
    }
    by_former_name(known, circuits, &mut holders, changes);
    by_place(known, circuits, &mut holders, changes)?;
    Ok(holders)
}

/// Makes `other` part of `keep`, both as indices of [`Known::circuits`]; `other` stays behind without codes. What counts as
/// a designation of `other` still does: the lists may go on calling it so.
///
/// # Errors
/// When letters are used up.
pub fn join(known: &mut Known, keep: usize, other: usize, changes: &mut Vec<Change>) -> Result<(), RegisterFailure> {
    let other_code = known.circuits[other].printed();
    let taken = &mut known.circuits[other];
    let (names, codes, ends) =
        (std::mem::take(&mut taken.names), std::mem::take(&mut taken.codes), std::mem::take(&mut taken.ends));
    let other = taken.key;
    let kept = &mut known.circuits[keep];
    let own_ends = kept.ends.len();
    for mut end in ends {
        let is_same = |own: &&mut KnownEnd| {
            let is_open = own.colour.is_empty() || end.colour.is_empty();
            let is_same_wire = own.far == end.far || own.far.is_empty() || end.far.is_empty();
            own.place == end.place
                && own.ordinal == end.ordinal
                && is_same_wire
                && (is_open || own.has_colour(&end.colour))
        };
        let mut same = kept.ends[..own_ends].iter_mut().filter(is_same);
        if let (Some(own), None) = (same.next(), same.next()) {
            changes.push(Change::SameEnd { end: end.key, proves: own.key });
            own.marks.append(&mut end.marks);
            if own.colour.is_empty() && !end.colour.is_empty() {
                own.colour.clone_from(&end.colour);
                let (far, ordinal) = (own.far.clone(), own.ordinal);
                changes.push(Change::Corrected { end: own.key, colour: end.colour, far, ordinal });
            }
        } else {
            changes.push(Change::Handed { end: end.key, circuit: kept.key });
            kept.take(end, changes)?;
        }
    }
    kept.names.extend(names);
    kept.codes.extend(codes);
    changes.push(Change::Joined { kept: kept.key, kept_code: kept.printed(), other, other_code });
    Ok(())
}

impl Known {
    /// Whether a circuit of the lists has its ends where other known circuits have theirs, and none where this one has.
    fn is_elsewhere(&self, listed: &Circuit, at: usize) -> bool {
        !self.circuits[at].sits_in(listed) && self.circuits.iter().any(|other| other.sits_in(listed))
    }

    /// A new circuit with the next code; its index.
    fn number_next(
        &mut self,
        id: &CircuitId,
        naming: Naming,
        now: Timestamp,
        changes: &mut Vec<Change>,
    ) -> Result<usize, RegisterFailure> {
        let (key, number) = (self.next_circuit, self.next_number);
        let code = mint::nth(number).ok_or(RegisterFailure::NoCodesLeft)?;
        self.next_circuit += 1;
        self.next_number += 1;
        changes.push(Change::Circuit { key, code, number });
        let mut circuit =
            KnownCircuit { key, names: Vec::new(), codes: vec![code], issued: now, ends: Vec::new(), letters: 0 };
        circuit.call(id, naming, changes);
        self.circuits.push(circuit);
        Ok(self.circuits.len() - 1)
    }
}

impl KnownCircuit {
    /// Whether a circuit of the lists has an end where this one has one.
    pub(super) fn sits_in(&self, listed: &Circuit) -> bool {
        let places: BTreeSet<&Place> = listed.ends().iter().map(|end| &end.place).collect();
        self.ends.iter().any(|end| places.contains(&end.place))
    }

    /// The code that is printed.
    pub fn printed(&self) -> TagCode {
        *self.codes.first().expect("a circuit of the register has a code")
    }

    /// This designation counts from now on.
    pub(super) fn call(&mut self, id: &CircuitId, naming: Naming, changes: &mut Vec<Change>) {
        match self.names.iter_mut().find(|name| name.id == *id) {
            Some(name) if name.is_current && name.naming == naming => return,
            Some(name) => (name.is_current, name.naming) = (true, naming),
            None => self.names.push(KnownName { id: id.clone(), naming, is_current: true }),
        }
        changes.push(Change::Name { circuit: self.key, id: id.clone(), naming });
    }

    /// Designations that the lists no longer have do not count any more.
    pub(super) fn forget_unlisted(&mut self, circuits: &Circuits, changes: &mut Vec<Change>) {
        for name in self.names.iter_mut().filter(|name| name.is_current && circuits.get(&name.id).is_none()) {
            name.is_current = false;
            changes.push(Change::FormerName { id: name.id.clone() });
        }
    }

    /// Takes an end in and gives it the next free letter of the printed code.
    pub(super) fn take(&mut self, mut end: KnownEnd, changes: &mut Vec<Change>) -> Result<EndLetter, RegisterFailure> {
        let code = self.printed();
        let letter = u16::try_from(self.letters).map_err(|_| RegisterFailure::TooManyEnds { code })?;
        let letter = EndLetter::nth(letter);
        self.letters += 1;
        end.marks.push((code, letter));
        changes.push(Change::Letter { code, letter, end: end.key });
        self.ends.push(end);
        Ok(letter)
    }

    /// The letter of an end under the printed code.
    pub(super) fn letter(&self, end: &KnownEnd) -> Option<EndLetter> {
        let printed = self.printed();
        end.marks.iter().find(|mark| mark.0 == printed).map(|mark| mark.1)
    }
}

impl KnownEnd {
    /// Whether a note says that it was found there; at the bench case does not matter.
    pub(super) fn was_found_at(&self, place: &Place) -> bool {
        let is_same = |found: &Place| found == place || found.to_string().eq_ignore_ascii_case(&place.to_string());
        self.found_at.as_ref().is_some_and(is_same)
    }

    pub(super) fn has_colour(&self, colour: &str) -> bool {
        self.colour.eq_ignore_ascii_case(colour)
    }
}

/// Way 1: for each circuit of the lists the index of the known circuit that has its designation now.
fn by_current_name(known: &Known, circuits: &Circuits) -> Vec<Option<usize>> {
    let names: HashMap<&CircuitId, usize> = known
        .circuits
        .iter()
        .enumerate()
        .flat_map(|(at, circuit)| circuit.names.iter().filter(|name| name.is_current).map(move |name| (&name.id, at)))
        .collect();
    circuits.all().iter().map(|circuit| names.get(circuit.id()).copied()).collect()
}

/// Way 2: a former designation comes back while no current one is there.
fn by_former_name(known: &mut Known, circuits: &Circuits, holders: &mut [Option<usize>], changes: &mut Vec<Change>) {
    let held: BTreeSet<usize> = holders.iter().copied().flatten().collect();
    let names: HashMap<CircuitId, usize> = known
        .circuits
        .iter()
        .enumerate()
        .filter(|(at, _)| !held.contains(at))
        .flat_map(|(at, circuit)| circuit.names.iter().map(move |name| (name.id.clone(), at)))
        .collect();
    for (circuit, holder) in circuits.all().iter().zip(holders) {
        if holder.is_none()
            && let Some(&at) = names.get(circuit.id())
            && !known.is_elsewhere(circuit, at)
        {
            *holder = Some(at);
            known.circuits[at].forget_unlisted(circuits, changes);
            known.circuits[at].call(circuit.id(), circuit.naming(), changes);
        }
    }
}

/// Way 3: circuits known by place only, which the lists no longer have, are found among the ends of others.
fn by_place(
    known: &mut Known,
    circuits: &Circuits,
    holders: &mut [Option<usize>],
    changes: &mut Vec<Change>,
) -> Result<(), RegisterFailure> {
    let held: BTreeSet<usize> = holders.iter().copied().flatten().collect();
    let is_by_place = |circuit: &KnownCircuit| {
        let mut current = circuit.names.iter().filter(|name| name.is_current).peekable();
        current.peek().is_some() && current.all(|name| name.naming == Naming::ByPlace)
    };
    let is_loose = |at: &usize| !held.contains(at) && is_by_place(&known.circuits[*at]);
    let loose: Vec<usize> = (0..known.circuits.len()).filter(is_loose).collect();
    if loose.is_empty() {
        return Ok(());
    }
    let mut at_places: HashMap<&Place, Vec<(usize, &End)>> = HashMap::new();
    for (at, circuit) in circuits.all().iter().enumerate() {
        for end in circuit.ends() {
            at_places.entry(&end.place).or_default().push((at, end));
        }
    }
    let mut claims: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut moved: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for lost in loose {
        let circuit = &known.circuits[lost];
        match only_claimant(circuit, &at_places) {
            Ok(claimant) => claims.entry(claimant).or_default().push(lost),
            Err(Unclaimed::Nowhere) => {
                if let Some(claimant) = found_again(circuit, &at_places) {
                    moved.entry(claimant).or_default().push(lost);
                }
            }
            Err(Unclaimed::Several) => {}
        }
    }
    // A note says where a wire is, and nothing of what else sits there: only a circuit that is nobody's is taken.
    for (claimant, lost) in moved {
        let sits_elsewhere = |at: &usize| known.circuits[*at].sits_in(&circuits.all()[claimant]);
        let is_free = holders[claimant].is_none() && !(0..known.circuits.len()).any(|at| sits_elsewhere(&at));
        if let ([one], true, false) = (&lost[..], is_free, claims.contains_key(&claimant)) {
            claims.insert(claimant, vec![*one]);
        }
    }
    for (claimant, mut lost) in claims {
        let circuit = &circuits.all()[claimant];
        let keep = match holders[claimant] {
            Some(holder) => holder,
            None => lost.remove(0),
        };
        holders[claimant] = Some(keep);
        for other in lost {
            join(known, keep, other, changes)?;
        }
        known.circuits[keep].forget_unlisted(circuits, changes);
        known.circuits[keep].call(circuit.id(), circuit.naming(), changes);
    }
    Ok(())
}

/// The one circuit of the lists that has an end where this one had: the same end if there is such, else one at the place.
fn only_claimant(lost: &KnownCircuit, at_places: &HashMap<&Place, Vec<(usize, &End)>>) -> Result<usize, Unclaimed> {
    let mut exact = BTreeSet::new();
    let mut near = BTreeSet::new();
    for known in &lost.ends {
        for (claimant, end) in at_places.get(&known.place).into_iter().flatten() {
            near.insert(*claimant);
            if known.ordinal == end.ordinal && known.has_colour(&colour_text(end.colour.as_ref())) {
                exact.insert(*claimant);
            }
        }
    }
    let claimants = if exact.is_empty() { near } else { exact };
    match (claimants.first(), claimants.len()) {
        (Some(&one), 1) => Ok(one),
        (None, _) => Err(Unclaimed::Nowhere),
        _ => Err(Unclaimed::Several),
    }
}

/// Why a lost circuit is none of the lists' by its places.
enum Unclaimed {
    /// No circuit of the lists has an end where it had one.
    Nowhere,
    /// Several have.
    Several,
}

/// The circuit of the lists that has an end where a note says that one of this was found; none where notes lead to several.
fn found_again(lost: &KnownCircuit, at_places: &HashMap<&Place, Vec<(usize, &End)>>) -> Option<usize> {
    let is_there = |place: &Place| lost.ends.iter().any(|end| end.was_found_at(place));
    let found = at_places.iter().filter(|(place, _)| is_there(place));
    let claimants: BTreeSet<usize> = found.flat_map(|(_, ends)| ends).map(|(claimant, _)| *claimant).collect();
    (claimants.len() == 1).then(|| claimants.first().copied()).flatten()
}

/// An end of the lists while it is looked for: its circuit and its place in it.
type Seat = (usize, usize);

/// The letters of all ends, in the order of the circuits and their ends.
fn letter_ends(
    known: &mut Known,
    circuits: &Circuits,
    holders: &[usize],
    changes: &mut Vec<Change>,
) -> Result<Vec<Vec<EndLetter>>, RegisterFailure> {
    let all = circuits.all();
    let mut letters: Vec<Vec<EndLetter>> = all.iter().map(|c| vec![EndLetter::FIRST; c.ends().len()]).collect();
    // Joined circuits that the lists still keep apart share one record, and with it one row of letters.
    let mut shares: BTreeMap<usize, Vec<Seat>> = BTreeMap::new();
    for (circuit, &holder) in holders.iter().enumerate() {
        let seats = (0..all[circuit].ends().len()).map(|end| (circuit, end));
        shares.entry(holder).or_default().extend(seats);
    }
    for (holder, seats) in shares {
        let ends: Vec<Listed<'_>> = seats.iter().map(|&(circuit, end)| Listed::of(&all[circuit], end)).collect();
        let found = find_ends(&mut known.circuits[holder], &ends, &mut known.next_end, changes)?;
        for ((circuit, end), letter) in seats.into_iter().zip(found) {
            letters[circuit][end] = letter;
        }
    }
    Ok(letters)
}

/// The text by which the register knows a colour; empty when there is none.
pub fn colour_text(colour: Option<&WireColour>) -> String {
    colour.map(ToString::to_string).unwrap_or_default()
}
