//! A circuit gets another designation: what the register knows, the lists and the two names come in; what to write down goes out. Its
//! code never changes.
//!
//! The lists have the last word on what a circuit is called, and a list and the register are never changed at one moment. So either may
//! come first: both names lead to the record from now on, and whichever the lists give counts. Where the lists have the new name
//! already and a code was issued for it, the two records become one.

use std::collections::BTreeSet;

use super::assign::{Change, Known, join};
use super::failure::RegisterFailure;
use crate::base::{CircuitId, Place, TagCode};
use crate::circuits::{Circuits, Naming};

/// What came of renaming a circuit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Renamed {
    /// It goes by the new designation.
    Now,
    /// It does, and the code that was issued under the new designation names it too.
    Joined(TagCode),
    /// It did before.
    Already,
}

/// Why a circuit keeps its designation.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotRenamed {
    /// The lists have both designations, as two circuits.
    BothListed,
    /// Another circuit, which the lists do not have any more, goes by the new designation.
    OfAnother(TagCode),
    /// The circuit that the lists call so now has no place in common with it.
    NothingInCommon,
}

/// Whether two circuits may become one although no place speaks for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// They need a place in common.
    ByPlace,
    /// The person is sure.
    Sure,
}

/// Renames the circuit of a code.
///
/// # Errors
/// When the code was never issued, or letters are used up.
pub fn rename(
    known: &mut Known,
    circuits: &Circuits,
    code: TagCode,
    (former, new): (&CircuitId, &CircuitId),
    certainty: Certainty,
) -> Result<(Result<Renamed, NotRenamed>, Vec<Change>), RegisterFailure> {
    let mut changes = Vec::new();
    let holder = known.circuits.iter().position(|circuit| circuit.codes.contains(&code));
    let keep = holder.ok_or(RegisterFailure::UnknownCode { code })?;
    let is_listed = |id: &CircuitId| circuits.get(id).is_some();
    let is_current =
        |at: usize, id: &CircuitId| known.circuits[at].names.iter().any(|name| name.is_current && name.id == *id);
    if former == new || (is_current(keep, new) && !is_current(keep, former)) {
        return Ok((Ok(Renamed::Already), changes));
    }
    if is_listed(former) && is_listed(new) {
        return Ok((Err(NotRenamed::BothListed), changes));
    }
    if let Some(listed) = circuits.get(new) {
        let places: BTreeSet<&Place> = listed.ends().iter().map(|end| &end.place).collect();
        let is_common = known.circuits[keep].ends.iter().any(|end| places.contains(&end.place));
        if !is_common && certainty == Certainty::ByPlace {
            return Ok((Err(NotRenamed::NothingInCommon), changes));
        }
    }
    let mut answer = Renamed::Now;
    let is_named = |at: &usize| known.circuits[*at].names.iter().any(|name| name.id == *new);
    if let Some(other) = (0..known.circuits.len()).filter(|at| *at != keep).find(is_named) {
        let lives_on = known.circuits[other].names.iter().any(|name| name.id != *new && is_listed(&name.id));
        if lives_on {
            // It was that one's name once; the lists call that one otherwise now.
            known.circuits[other].names.retain(|name| name.id != *new);
        } else if is_listed(new) {
            answer = Renamed::Joined(known.circuits[other].printed());
            join(known, keep, other, &mut changes)?;
        } else {
            return Ok((Err(NotRenamed::OfAnother(known.circuits[other].printed())), changes));
        }
    }
    let circuit = &mut known.circuits[keep];
    let code = circuit.printed();
    // A name that only the lists know yet must lead here too.
    let naming = circuits.get(former).map_or(Naming::Designated, |listed| listed.naming());
    if !circuit.names.iter().any(|name| name.id == *former) {
        circuit.call(former, naming, &mut changes);
    }
    circuit.call(new, Naming::Designated, &mut changes);
    let outlived = circuit
        .names
        .iter_mut()
        .filter(|name| name.is_current && name.id != *new && (name.id == *former || circuits.get(&name.id).is_none()));
    for name in outlived {
        name.is_current = false;
        changes.push(Change::FormerName { id: name.id.clone() });
    }
    changes.push(Change::Renamed { code, former: former.clone(), designation: new.clone() });
    Ok((Ok(answer), changes))
}
