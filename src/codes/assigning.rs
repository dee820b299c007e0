//! What a blank proves to be: a circuit, or one end of it. Pure: the register and what was found out come in; the changes to
//! write down go out.
//!
//! A code never names two circuits. So a blank that was assigned wrongly can be taken from its circuit only while its code is on
//! no other tag than its own, was not joined, and nothing was noted by it of an end: then nothing that hangs on a wire, and
//! nothing in the journal, tells of the wrong circuit.

use jiff::Timestamp;

use super::assign::{Change, Known, KnownCircuit, KnownEnd, find_again};
use super::blanks::KnownBlank;
use super::ends::{Listed, find_ends};
use super::failure::RegisterFailure;
use crate::base::{CircuitId, EndLetter, Place, TagCode};
use crate::circuits::{Circuits, Naming};

/// What a blank proves to be.
#[derive(Clone, Debug)]
pub enum Target<'a> {
    /// A circuit of the register by one of its codes, or its end of this letter.
    Recorded(TagCode, Option<EndLetter>),
    /// A circuit of the lists by its index in [`Circuits::all`], or one of its ends by index. It may have a code or not.
    Listed(&'a Circuits, usize, Option<usize>),
    /// A circuit that no list has, and its end where that is known.
    New(CircuitId, Option<Place>),
}

/// Whether a blank that is assigned may be assigned to something else.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Again {
    /// It may not.
    Refused,
    /// What was told before was wrong.
    Instead,
}

/// What came of assigning a blank.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Assigned {
    /// The code that is printed for its circuit; it may be the blank's own.
    pub printed: TagCode,
    /// A code and letter of the end that its tag hangs at, where that is known.
    pub end: Option<(TagCode, EndLetter)>,
    /// Whether that was known before.
    pub is_known: bool,
}

/// Ties a blank to what it proves to be.
///
/// # Errors
/// When the code is no blank or is assigned to something else already; when its circuit cannot be left any more; when what is named
/// is not there.
pub fn assign(
    known: &mut Known,
    code: TagCode,
    target: &Target<'_>,
    again: Again,
    now: Timestamp,
) -> Result<(Assigned, Vec<Change>), RegisterFailure> {
    let mut changes = Vec::new();
    let is_issued = || known.circuits.iter().any(|circuit| circuit.codes.contains(&code));
    let blank = known.blanks.iter().find(|blank| blank.code == code).cloned();
    let blank = blank.ok_or_else(|| match is_issued() {
        true => RegisterFailure::NotABlank { code },
        false => RegisterFailure::UnknownCode { code },
    })?;
    let seat = find(known, target, &mut changes)?;
    // Lists may just have shown that its circuit is another one.
    let before = known.circuits.iter().position(|circuit| circuit.codes.contains(&code));
    let holder = match (seat, before) {
        (Some((holder, end)), Some(before)) if holder == before => {
            let circuit = &known.circuits[holder];
            let earlier = blank.end.and_then(|mark| circuit.ends.iter().position(|end| end.marks.contains(&mark)));
            if end.is_none() || end == earlier {
                let assigned = Assigned { printed: circuit.printed(), end: blank.end, is_known: true };
                return Ok((assigned, changes));
            }
            // To tell the end of what was known as a circuit is to learn.
            if earlier.is_some() && again == Again::Refused {
                return Err(RegisterFailure::AssignedAlready { code });
            }
            Some((holder, end))
        }
        (_, Some(_)) if again == Again::Refused => return Err(RegisterFailure::AssignedAlready { code }),
        (seat, Some(before)) => {
            take_from(known, before, &blank, &mut changes)?;
            tied(known, code, seat, &mut changes)
        }
        (seat, None) => tied(known, code, seat, &mut changes),
    };
    let (holder, end) = match holder {
        Some(seat) => seat,
        None => make(known, code, target, now, &mut changes)?,
    };

    let circuit = &known.circuits[holder];
    changes.push(assigned(code, circuit, end));
    let end = end.and_then(|end| circuit.mark(&circuit.ends[end]));
    Ok((Assigned { printed: circuit.printed(), end, is_known: false }, changes))
}

/// What is written down of a blank that proves to be this circuit, or this end of it.
fn assigned(code: TagCode, circuit: &KnownCircuit, end: Option<usize>) -> Change {
    let end = end.map(|end| &circuit.ends[end]);
    let name = circuit.names.iter().find(|name| name.is_current).or(circuit.names.first());
    let designation = name.map(|name| name.id.to_string()).unwrap_or_default();
    let place = end.map(|end| end.place.to_string()).unwrap_or_default();
    Change::Assigned { code, designation, place, end: end.and_then(|end| circuit.mark(end)) }
}

/// A circuit and one of its ends, as indices of [`Known::circuits`] and [`KnownCircuit::ends`].
type Seat = (usize, Option<usize>);

/// What is named, where the register has it.
fn find(known: &mut Known, target: &Target<'_>, changes: &mut Vec<Change>) -> Result<Option<Seat>, RegisterFailure> {
    match target {
        Target::Recorded(code, letter) => {
            let holder = known.circuits.iter().position(|circuit| circuit.codes.contains(code));
            let holder = holder.ok_or(RegisterFailure::UnknownCode { code: *code })?;
            let end = |letter: EndLetter| {
                let ends = &known.circuits[holder].ends;
                let end = ends.iter().position(|end| end.marks.contains(&(*code, letter)));
                end.ok_or(RegisterFailure::NoSuchEnd { code: *code, letter })
            };
            Ok(Some((holder, letter.map(end).transpose()?)))
        }
        Target::Listed(circuits, circuit, end) => {
            let holders = find_again(known, circuits, changes)?;
            let Some(holder) = holders[*circuit] else { return Ok(None) };
            // Joined circuits that the lists still keep apart share one record, and with it one row of letters.
            let sharing = (0..holders.len()).filter(|&other| holders[other] == Some(holder));
            let seats = sharing.flat_map(|other| (0..circuits.all()[other].ends().len()).map(move |end| (other, end)));
            let seats: Vec<(usize, usize)> = seats.collect();
            let end = end.map(|end| (*circuit, end));
            let letters = letter(known, circuits, holder, &seats, changes)?;
            let at = end.and_then(|end| seats.iter().position(|seat| *seat == end));
            Ok(Some((holder, at.and_then(|at| known.circuits[holder].end_of(letters[at])))))
        }
        Target::New(id, _) => {
            let is_taken = known.circuits.iter().any(|circuit| circuit.names.iter().any(|name| name.id == *id));
            if is_taken { Err(RegisterFailure::NameTaken { designation: id.clone() }) } else { Ok(None) }
        }
    }
}

/// The letters of these ends of the lists, each by circuit and end; those that are new get the next ones.
fn letter(
    known: &mut Known,
    circuits: &Circuits,
    holder: usize,
    seats: &[(usize, usize)],
    changes: &mut Vec<Change>,
) -> Result<Vec<EndLetter>, RegisterFailure> {
    let listed: Vec<Listed<'_>> =
        seats.iter().map(|&(circuit, end)| Listed::of(&circuits.all()[circuit], end)).collect();
    find_ends(&mut known.circuits[holder], &listed, &mut known.next_end, changes)
}

/// The blank's code names a circuit that has a code too.
fn tied(known: &mut Known, code: TagCode, seat: Option<Seat>, changes: &mut Vec<Change>) -> Option<Seat> {
    let (holder, end) = seat?;
    let circuit = &mut known.circuits[holder];
    circuit.codes.push(code);
    changes.push(Change::AlsoNames { code, circuit: circuit.key });
    Some((holder, end))
}

/// A circuit of which no code was issued: the blank's code is printed from now on, and its end has the first letter.
fn make(
    known: &mut Known,
    code: TagCode,
    target: &Target<'_>,
    now: Timestamp,
    changes: &mut Vec<Change>,
) -> Result<(usize, Option<usize>), RegisterFailure> {
    let (key, holder) = (known.next_circuit, known.circuits.len());
    known.next_circuit += 1;
    changes.push(Change::CircuitOfBlank { key, code });
    let letters = known.letters.get(&code).copied().unwrap_or(0);
    let circuit = KnownCircuit { key, names: Vec::new(), codes: vec![code], issued: now, ends: Vec::new(), letters };
    known.circuits.push(circuit);
    match target {
        Target::Listed(circuits, at, end) => {
            let circuit = &circuits.all()[*at];
            known.circuits[holder].call(circuit.id(), circuit.naming(), changes);
            let others = (0..circuit.ends().len()).filter(|other| Some(*other) != *end);
            let seats: Vec<(usize, usize)> = end.iter().copied().chain(others).map(|end| (*at, end)).collect();
            letter(known, circuits, holder, &seats, changes)?;
            Ok((holder, end.map(|_| 0)))
        }
        Target::New(id, place) => {
            // No list gave the name: where one has an end at the place, its name counts.
            known.circuits[holder].call(id, Naming::ByPlace, changes);
            let Some(place) = place else { return Ok((holder, None)) };
            let key = known.next_end;
            known.next_end += 1;
            let (colour, far) = (String::new(), String::new());
            let end = KnownEnd {
                key,
                place: place.clone(),
                colour,
                far,
                ordinal: 0,
                marks: Vec::new(),
                found_at: None,
                since: None,
            };
            changes.push(Change::End { circuit: known.circuits[holder].key, end: end.clone() });
            known.circuits[holder].take(end, changes)?;
            Ok((holder, Some(0)))
        }
        Target::Recorded(code, _) => Err(RegisterFailure::UnknownCode { code: *code }),
    }
}

/// Takes a blank's code from the circuit that it was assigned to wrongly. Where it was the printed code, the next one is printed, or,
/// without any, the circuit is as if it had never had a code.
fn take_from(
    known: &mut Known,
    holder: usize,
    blank: &KnownBlank,
    changes: &mut Vec<Change>,
) -> Result<(), RegisterFailure> {
    let code = blank.code;
    if let Some(run) = blank.on_tags_of_run {
        return Err(RegisterFailure::OnOtherTags { code, run });
    }
    let is_joined_now = |change: &Change| match change {
        Change::Joined { kept_code, other_code, .. } => [*kept_code, *other_code].contains(&code),
        _ => false,
    };
    if blank.is_joined || changes.iter().any(is_joined_now) {
        return Err(RegisterFailure::JoinedForEver { code });
    }
    if blank.has_noted_ends {
        return Err(RegisterFailure::EndsNoted { code });
    }
    let circuit = &mut known.circuits[holder];
    let was_printed = circuit.printed() == code;
    // Other blanks hang at ends that are known by a letter of this code.
    let hanging: Vec<(TagCode, usize)> = known
        .blanks
        .iter()
        .filter(|other| other.code != code && circuit.codes.contains(&other.code))
        .filter_map(|other| {
            let mark = other.end.filter(|(of, _)| *of == code)?;
            Some((other.code, circuit.ends.iter().position(|end| end.marks.contains(&mark))?))
        })
        .collect();
    circuit.codes.retain(|own| *own != code);
    for end in &mut circuit.ends {
        end.marks.retain(|(own, _)| *own != code);
    }
    if !was_printed {
        return Ok(());
    }
    let Some(&next) = circuit.codes.first() else {
        circuit.names.clear();
        circuit.ends.clear();
        return Ok(());
    };
    changes.push(Change::PrintedInstead { code: next, of: code });
    circuit.letters = known.letters.get(&next).copied().unwrap_or(0);
    for end in std::mem::take(&mut circuit.ends) {
        match circuit.letter(&end) {
            Some(_) => circuit.ends.push(end),
            None => drop(circuit.take(end, changes)?),
        }
    }
    let circuit = &known.circuits[holder];
    changes.extend(hanging.into_iter().map(|(other, end)| assigned(other, circuit, Some(end))));
    Ok(())
}

impl KnownCircuit {
    /// The printed code with the letter of an end.
    fn mark(&self, end: &KnownEnd) -> Option<(TagCode, EndLetter)> {
        Some((self.printed(), self.letter(end)?))
    }

    /// The index of the end that has this letter under the printed code.
    fn end_of(&self, letter: EndLetter) -> Option<usize> {
        let mark = (self.printed(), letter);
        self.ends.iter().position(|end| end.marks.contains(&mark))
    }
}
