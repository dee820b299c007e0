//! Two codes that prove to be one circuit. Joining is for ever, so what speaks against it is told first.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;

use super::failure::RunFailure;
use super::recall::{Recall, Record};
use super::register::{self, register_path};
use crate::base::TagCode;
use crate::codes::Joined;

/// Makes one record of two codes of a job; `None` where no code was issued there yet. No register is made for it.
///
/// # Errors
/// [`RunFailure`] when one of the codes was never issued, or the register fails.
pub fn join(folder: &Path, keep: TagCode, other: TagCode, now: Timestamp) -> Result<Option<Joined>, RunFailure> {
    if !register_path(folder).exists() {
        return Ok(None);
    }
    Ok(Some(register::open(folder)?.join(keep, other, now)?))
}

/// What speaks against two codes being one circuit: the lists have them under two names, in other colours, as partners of a
/// twisted pair, or fed in different ways. Nothing does where one of them is known by its place alone, or has left the lists:
/// then to join is to learn, unless pair or supply say otherwise.
pub fn objections(recall: &Recall, keep: TagCode, other: TagCode) -> Vec<String> {
    let (Some(keep), Some(other)) = (recall.by_code(keep, None), recall.by_code(other, None)) else {
        return Vec::new();
    };
    let (keep, other) = (keep.record, other.record);
    if keep.code == other.code || !keep.listed || !other.listed {
        return Vec::new();
    }
    let mut objections = Vec::new();
    if names_as_partner(&keep, &other) || names_as_partner(&other, &keep) {
        objections.push("the lists give them as partners of one pair, which are two circuits".to_owned());
    }
    if let (Some(one), Some(two)) = (&keep.supply, &other.supply)
        && one != two
    {
        objections.push(format!("the lists feed one of them as {one}, the other as {two}"));
    }
    if !is_by_place(&keep) && !is_by_place(&other) {
        let names = [&keep, &other].map(|record| record.designations.join(" = "));
        objections.push(format!("the lists have them as two circuits, `{}` and `{}`", names[0], names[1]));
        let colours = [colours(&keep), colours(&other)];
        if colours.iter().all(|colours| !colours.is_empty()) && colours[0].is_disjoint(&colours[1]) {
            let words = colours.map(|colours| colours.into_iter().collect::<Vec<_>>().join(" and "));
            objections.push(format!("one is {}, the other {}", words[0], words[1]));
        }
    }
    objections
}

/// Whether an end of the one is twisted with, or screened by, the other.
fn names_as_partner(one: &Record, other: &Record) -> bool {
    let is_other = |with: &String| other.designations.contains(with) || other.ends.iter().any(|end| end.here == *with);
    one.ends.iter().filter_map(|end| end.with.as_ref()).any(is_other)
}

/// Whether no list gives it a designation.
fn is_by_place(record: &Record) -> bool {
    record.designations.iter().all(|name| record.ends.iter().any(|end| end.here == *name))
}

/// The colours of its wires that are understood.
fn colours(record: &Record) -> BTreeSet<&str> {
    record.ends.iter().filter_map(|end| end.colour_in_words.as_deref()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuits::{Circuit, FarEnd, Supply};
    use crate::codes::Register;
    use crate::codes::samples::{self, NOW};
    use crate::run::recall::TagTexts;

    fn code(typed: &str) -> TagCode {
        TagCode::from_typed(typed).expect("a code")
    }

    fn with_partner(circuit: &Circuit, partner: &str) -> Circuit {
        let mut ends = circuit.ends().to_vec();
        ends[0].partner = Some(partner.to_owned());
        let far = vec![FarEnd::Unknown; ends.len()];
        Circuit::new(circuit.id().clone(), circuit.naming(), ends, far).expect("equally long")
    }

    /// What speaks against joining the first two circuits, in natural order, while the lists have so many of them.
    fn against(circuits: &[Circuit], still_listed: usize) -> Vec<String> {
        let all = samples::circuits(circuits.iter().cloned());
        let mut register = Register::in_memory().expect("in memory");
        register.issue(&all, NOW).expect("issues");
        let left = samples::circuits(circuits.iter().take(still_listed).cloned());
        let issued = register.preview(&left).expect("previews");
        let recall = Recall::new(&left, &issued, &register.records().expect("reads"), TagTexts::default());
        let (one, two) = (code("FQGB"), code("RTCQ"));
        let told = objections(&recall, one, two);
        assert_eq!(objections(&recall, two, one).len(), told.len(), "either may be kept");
        told
    }

    #[test]
    fn two_names_and_two_colours_speak_against() {
        let (one, two) = (samples::circuit("E51", &["J1/1 YE"]), samples::circuit("E52", &["J1/2 GN"]));
        let told = against(&[one.clone(), two], 2);
        assert_eq!(told, ["the lists have them as two circuits, `E51` and `E52`", "one is yellow, the other green"]);
        let same_colour = samples::circuit("E52", &["J1/2 yellow"]);
        assert_eq!(against(&[one, same_colour], 2).len(), 1);
    }

    #[test]
    fn what_is_known_by_place_or_gone_is_joined_without() {
        let (one, two) = (samples::circuit("E51", &["J1/1 YE"]), samples::circuit("J1/2", &["J1/2 GN"]));
        assert_eq!(against(&[one.clone(), two], 2), [""; 0]);
        assert_eq!(against(&[one, samples::circuit("E52", &["J1/2 GN"])], 1), [""; 0]);
    }

    #[test]
    fn partners_and_supplies_speak_against_always() {
        let two = samples::circuit("J1/2", &["J1/2 GN"]);
        let one = with_partner(&samples::circuit("E51", &["J1/1 YE"]), "J1/2");
        assert!(against(&[one, two.clone()], 2)[0].contains("partners of one pair"));
        let (mut one, mut two) = (samples::circuit("E51", &["J1/1 YE"]), two);
        one.supply = Some(Supply::Constant);
        two.supply = Some(Supply::Ground);
        let either = |told: &str| told.contains("constant") && told.contains("ground");
        assert!(against(&[one, two], 2).iter().any(|told| either(told)));
    }
}
