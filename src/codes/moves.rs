//! An end sits in another place than the lists said: what the register knows, the lists, the end and its place come in; what to write
//! down goes out. Its letter never changes.
//!
//! The statement is a note, `found place`: it waits until the lists say the same, and then the end is found again there. Where the
//! lists said it first and a letter was issued there, both letters name one end. Nothing here is guessed: what is likely is told.

use std::collections::{BTreeMap, BTreeSet, HashMap};

use super::assign::{Change, Known, KnownEnd, assign, colour_text, join};
use super::failure::RegisterFailure;
use super::issued::Issued;
use crate::base::{EndLetter, Place, TagCode};
use crate::circuits::{Circuits, FarEnd, Naming};

/// What came of moving an end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moved {
    /// The lists have it there, and it keeps its letter.
    Now,
    /// The lists do not have it there yet.
    Ahead,
    /// The lists have it there; the code and letter that were issued for it meanwhile name it too.
    Joined(TagCode, EndLetter),
    /// It was there before.
    Already,
}

/// Why an end stays where it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum NotMoved {
    /// The lists have an end of the circuit in both places.
    BothListed,
    /// The lists have another circuit there.
    OfAnother(String),
    /// Another known end is or was there, by its code and letter.
    AnotherEnd(TagCode, EndLetter),
}

/// An end of the lists that is likely a known one in another cavity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LikelyMove {
    /// What the lists call the circuit.
    pub circuit: usize,
    /// The end of the lists, by its index.
    pub end: usize,
    /// The code and letter of the known end.
    pub mark: (TagCode, EndLetter),
    /// Where it was.
    pub old: Place,
}

/// Where the codes and letters of the lists are: circuit and end.
type Seats = HashMap<(TagCode, EndLetter), (usize, usize)>;

fn seats(issued: &Issued) -> Seats {
    let each = issued.circuits.iter().enumerate();
    each.flat_map(|(circuit, codes)| {
        codes.letters.iter().enumerate().map(move |(end, letter)| ((codes.code, *letter), (circuit, end)))
    })
    .collect()
}

/// Says that the end of a code and letter is at this place.
///
/// # Errors
/// When the code and letter were never issued, or letters are used up.
pub(super) fn move_end(
    known: &mut Known,
    circuits: &Circuits,
    mark: (TagCode, EndLetter),
    place: &Place,
) -> Result<(Result<Moved, NotMoved>, Vec<Change>), RegisterFailure> {
    let unknown = RegisterFailure::UnknownCode { code: mark.0 };
    let (keep, own) = find(known, mark).ok_or(unknown)?;
    let none = Vec::new();
    let (code, letter) = (mark.0, mark.1);
    let found_at = Change::FoundAt { code, letter, place: place.clone() };
    let now = seats(&looked_ahead(known, circuits)?);
    let of = |end: &KnownEnd| end.marks.iter().find_map(|mark| now.get(mark).copied());
    let place_of = |(circuit, end): (usize, usize)| &circuits.all()[circuit].ends()[end].place;
    let listed = of(&known.circuits[keep].ends[own]);
    if listed.is_some_and(|seat| place_of(seat) == place) {
        return Ok((Ok(Moved::Already), none));
    }
    let there: Vec<(TagCode, EndLetter)> =
        now.iter().filter(|(_, seat)| place_of(**seat) == place).map(|(mark, _)| *mark).collect();
    let there: BTreeSet<_> = there.into_iter().collect();
    if listed.is_some() && !there.is_empty() {
        let is_own = there.iter().any(|mark| known.circuits[keep].codes.contains(&mark.0));
        let other = there.first().map(|mark| circuits.all()[now[mark].0].id().to_string()).unwrap_or_default();
        return Ok((Err(if is_own { NotMoved::BothListed } else { NotMoved::OfAnother(other) }), none));
    }
    // An end that no list has there any more is another one for ever.
    let left_behind = known.circuits[keep]
        .ends
        .iter()
        .enumerate()
        .find(|(at, end)| *at != own && end.place == *place && of(end).is_none_or(|seat| place_of(seat) != place));
    if let Some((_, other)) = left_behind
        && let Some(&(code, letter)) = other.marks.first()
    {
        return Ok((Err(NotMoved::AnotherEnd(code, letter)), none));
    }
    if there.is_empty() {
        known.circuits[keep].ends[own].found_at.insert(0, place.clone());
        return Ok((Ok(Moved::Ahead), vec![found_at]));
    }
    // The lists have it there: either the note is enough, or a letter was issued there, and both name one end.
    let mut trial = known.clone();
    trial.circuits[keep].ends[own].found_at.insert(0, place.clone());
    let then = seats(&looked_ahead(&trial, circuits)?);
    let own_marks = &known.circuits[keep].ends[own].marks;
    if own_marks.iter().any(|mark| then.get(mark).is_some_and(|seat| place_of(*seat) == place)) {
        known.circuits[keep].ends[own].found_at.insert(0, place.clone());
        return Ok((Ok(Moved::Now), vec![found_at]));
    }
    let &[other] = &there.iter().copied().collect::<Vec<_>>()[..] else {
        let (code, letter) = *there.first().expect("is not empty");
        return Ok((Err(NotMoved::AnotherEnd(code, letter)), none));
    };
    let listed = &circuits.all()[now[&other].0];
    let Some((holder, end)) = find(known, other) else {
        return Ok((Err(NotMoved::OfAnother(listed.id().to_string())), none));
    };
    let is_by_place = |at: usize| known.circuits[at].names.iter().all(|name| name.naming == Naming::ByPlace);
    if holder != keep && !(is_by_place(keep) && is_by_place(holder) && known.circuits[holder].ends.len() == 1) {
        return Ok((Err(NotMoved::OfAnother(listed.id().to_string())), none));
    }
    let (first, second) = (&known.circuits[keep].ends[own], &known.circuits[holder].ends[end]);
    if !is_later_alike(first, second) || known.circuits[holder].codes.len() > 1 && holder != keep {
        return Ok((Err(NotMoved::AnotherEnd(other.0, other.1)), none));
    }
    let mut changes = vec![found_at];
    let (colour, far, ordinal) = (second.colour.clone(), second.far.clone(), second.ordinal);
    let moved = &mut known.circuits[keep].ends[own];
    changes.push(Change::Moved { end: moved.key, place: place.clone() });
    changes.push(Change::Corrected { end: moved.key, colour: colour.clone(), far: far.clone(), ordinal });
    (moved.place, moved.colour, moved.far, moved.ordinal) = (place.clone(), colour, far, ordinal);
    moved.found_at.insert(0, place.clone());
    if holder == keep {
        let mut gone = known.circuits[keep].ends.remove(end);
        let kept = own - usize::from(end < own);
        let kept = &mut known.circuits[keep].ends[kept];
        changes.push(Change::SameEnd { end: gone.key, proves: kept.key });
        kept.marks.append(&mut gone.marks);
    } else {
        join(known, keep, holder, &mut changes)?;
        known.circuits[keep].forget_unlisted(circuits, &mut changes);
    }
    Ok((Ok(Moved::Joined(other.0, other.1)), changes))
}

/// What the lists would be issued, `known` staying as it is.
fn looked_ahead(known: &Known, circuits: &Circuits) -> Result<Issued, RegisterFailure> {
    Ok(assign(&mut known.clone(), circuits, jiff::Timestamp::UNIX_EPOCH)?.0)
}

fn find(known: &Known, mark: (TagCode, EndLetter)) -> Option<(usize, usize)> {
    known.circuits.iter().enumerate().find_map(|(at, circuit)| {
        let end = circuit.ends.iter().position(|end| end.marks.contains(&mark))?;
        Some((at, end))
    })
}

/// Whether the second end became known after the first and may be the same wire: what got letters at one moment is two ends.
fn is_later_alike(first: &KnownEnd, second: &KnownEnd) -> bool {
    let is_alike = |one: &str, two: &str| one.is_empty() || two.is_empty() || one.eq_ignore_ascii_case(two);
    let is_later = first.since.zip(second.since).is_some_and(|(first, second)| first < second);
    is_later && is_alike(&first.colour, &second.colour) && is_alike(&first.far, &second.far)
}

/// Ends that are new to the register, each of a circuit that has lost just one end of the same colour and far place.
pub(super) fn likely_moves(known: &Known, circuits: &Circuits) -> Result<Vec<LikelyMove>, RegisterFailure> {
    Ok(likely_moves_from(known, circuits, &looked_ahead(known, circuits)?))
}

/// The same with what the lists would be issued.
pub(super) fn likely_moves_from(known: &Known, circuits: &Circuits, issued: &Issued) -> Vec<LikelyMove> {
    let marks: HashMap<(TagCode, EndLetter), (usize, usize)> = known
        .circuits
        .iter()
        .enumerate()
        .flat_map(|(at, circuit)| circuit.ends.iter().enumerate().map(move |(end, known)| (at, end, known)))
        .flat_map(|(at, end, known)| known.marks.iter().map(move |mark| (*mark, (at, end))))
        .collect();
    let now = seats(issued);
    let seen: BTreeSet<(usize, usize)> = now.keys().filter_map(|mark| marks.get(mark)).copied().collect();
    let by_code: HashMap<TagCode, usize> = known
        .circuits
        .iter()
        .enumerate()
        .flat_map(|(at, circuit)| circuit.codes.iter().map(move |code| (*code, at)))
        .collect();
    // By circuit, colour and far place: ends that are lost, and ends that are new.
    type Sides = (Vec<usize>, Vec<(usize, usize)>);
    let mut sides: BTreeMap<(usize, String, String), Sides> = BTreeMap::new();
    for (at, (listed, codes)) in circuits.all().iter().zip(&issued.circuits).enumerate() {
        let Some(&holder) = by_code.get(&codes.code) else { continue };
        for (end, letter) in codes.letters.iter().enumerate() {
            if marks.contains_key(&(codes.code, *letter)) || listed.ends()[end].place.cavity.is_none() {
                continue;
            }
            let far = match listed.far_end(end) {
                FarEnd::End(far) => listed.ends()[far].place.to_string(),
                FarEnd::ImpliedSplice | FarEnd::Unknown => String::new(),
            };
            let colour = colour_text(listed.ends()[end].colour.as_ref()).to_ascii_uppercase();
            sides.entry((holder, colour, far)).or_default().1.push((at, end));
        }
    }
    if sides.is_empty() {
        return Vec::new();
    }
    for (at, circuit) in known.circuits.iter().enumerate() {
        for (index, end) in circuit.ends.iter().enumerate().filter(|(index, _)| !seen.contains(&(at, *index))) {
            if end.place.cavity.is_some()
                && let Some(sides) = sides.get_mut(&(at, end.colour.to_ascii_uppercase(), end.far.clone()))
            {
                sides.0.push(index);
            }
        }
    }
    let mut moves: Vec<LikelyMove> = sides
        .into_iter()
        .filter_map(|((holder, ..), sides)| {
            let (&[lost], &[(circuit, end)]) = (&sides.0[..], &sides.1[..]) else { return None };
            let lost = &known.circuits[holder].ends[lost];
            Some(LikelyMove { circuit, end, mark: *lost.marks.first()?, old: lost.place.clone() })
        })
        .collect();
    moves.sort_by_key(|one| (one.circuit, one.end));
    moves
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;
    use proptest::prelude::*;

    use super::*;
    use crate::circuits::Circuits;
    use crate::codes::Register;
    use crate::codes::samples;

    /// An end of the model: where the lists have it, and where it will be.
    struct Wire {
        /// The designation of its circuit; `None` of a circuit that its place names.
        circuit: Option<&'static str>,
        listed: usize,
        is_told: bool,
        next: Option<usize>,
        had: Vec<usize>,
    }

    fn place(at: usize) -> String {
        format!("J1/{at}")
    }

    fn lists(wires: &[Wire]) -> Circuits {
        let mut ends: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for wire in wires {
            let place = place(wire.listed);
            ends.entry(wire.circuit.map_or_else(|| place.clone(), str::to_owned)).or_default().push(place);
        }
        samples::circuits(
            ends.iter().map(|(id, ends)| samples::circuit(id, &ends.iter().map(String::as_str).collect::<Vec<_>>())),
        )
    }

    fn marks(circuits: &Circuits, issued: &Issued) -> HashMap<String, (TagCode, EndLetter)> {
        let each = seats(issued).into_iter();
        each.map(|(mark, (circuit, end))| (circuits.all()[circuit].ends()[end].place.to_string(), mark)).collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(100))]

        /// Lists and register move ends in any order, with codes and letters issued at any time between: no code and letter ever
        /// names two wires, and each wire has the ones that it had first as soon as both say the same.
        #[test]
        fn letters_stay_whatever_comes_first(
            steps in prop::collection::vec((0_usize..3, 0_usize..6, 0_usize..12), 1..40),
        ) {
            let circuit_of = [Some("W1"), Some("W1"), Some("W2"), Some("W2"), None, None];
            let mut wires: Vec<Wire> = circuit_of
                .into_iter()
                .enumerate()
                .map(|(at, circuit)| Wire { circuit, listed: at, is_told: true, next: None, had: vec![at] })
                .collect();
            let mut register = Register::in_memory().expect("in memory");
            let mut named: HashMap<(TagCode, EndLetter), usize> = HashMap::new();
            let mut first = Vec::new();
            let mut told = Vec::new();
            for (second, (what, at, to)) in (1..).zip([(2, 0, 0)].into_iter().chain(steps).chain([(3, 0, 0), (2, 0, 0)])) {
                let now = Timestamp::from_second(second).expect("a time");
                if what == 3 {
                    for at in 0..wires.len() {
                        if let Some(next) = wires[at].next.take() {
                            let circuits = lists(&wires);
                            let typed = Place::from_typed(&place(next)).expect("a place");
                            register.move_end(&circuits, first[at], &typed, now).expect("moves").expect("is not refused");
                            (wires[at].listed, wires[at].is_told) = (next, true);
                        }
                    }
                    continue;
                }
                if what == 2 {
                    let circuits = lists(&wires);
                    let issued = register.issue(&circuits, now).expect("issues");
                    let marks = marks(&circuits, &issued);
                    told.push(format!("issue {marks:?}"));
                    for (at, wire) in wires.iter().enumerate() {
                        let mark = marks[&place(wire.listed)];
                        let before = *named.entry(mark).or_insert(at);
                        prop_assert_eq!(before, at, "{:?} names two wires\n{}", mark, told.join("\n"));
                        if first.len() == at {
                            first.push(mark);
                        }
                        if wire.is_told || wire.next.is_none() {
                            prop_assert_eq!(mark, first[at], "wire {}\n{}", at, told.join("\n"));
                        }
                    }
                    continue;
                }
                if wires[at].next.is_none() {
                    let is_used = wires.iter().enumerate().any(|(other, wire)| other != at && wire.had.contains(&to));
                    if is_used || wires[at].had.contains(&to) {
                        continue;
                    }
                    wires[at].had.push(to);
                    (wires[at].next, wires[at].is_told) = (Some(to), false);
                }
                let next = wires[at].next.expect("is set");
                told.push(format!("{} wire {at} from {} to {next}", ["list", "command"][what], wires[at].listed));
                if what == 0 {
                    wires[at].listed = next;
                } else {
                    let typed = Place::from_typed(&place(next)).expect("a place");
                    let answer = register.move_end(&lists(&wires), first[at], &typed, now).expect("moves");
                    prop_assert!(answer.is_ok(), "{:?}\n{}", answer, told.join("\n"));
                    wires[at].is_told = true;
                }
                if wires[at].is_told && wires[at].listed == next {
                    wires[at].next = None;
                }
            }
        }
    }
}
