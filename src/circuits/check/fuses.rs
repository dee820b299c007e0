//! Fuses that are larger than their conductors bear, by the table that the job names.

use std::collections::BTreeSet;

use super::first_of;
use crate::base::{Problem, counted};
use crate::circuits::problems::{FUSE_ABOVE_RATING, SIZE_NOT_IN_RATING_TABLE};
use crate::circuits::rating::{Allowed, Rating};
use crate::circuits::{Circuits, End, Supply};

/// Compares the fuse of every circuit with its thinnest conductor. Circuits that start engines are exempt by the rules of the
/// tables, and those of high voltage are beyond them.
pub fn fuses(circuits: &Circuits, rating: Rating) -> Vec<Problem> {
    let mut problems = Vec::new();
    let mut not_in_table: Vec<&End> = Vec::new();
    for circuit in circuits.all() {
        let Some((fuse, amperes)) = circuit.fuse.as_ref().and_then(|fuse| Some((fuse, fuse.milliamperes()?))) else {
            continue;
        };
        if matches!(circuit.supply, Some(Supply::Start | Supply::HighVoltage)) {
            continue;
        }
        let mut thinnest: Option<(Allowed, &End)> = None;
        for end in circuit.ends() {
            let Some(conductor) = &end.conductor else { continue };
            match rating.allowed(conductor.size()) {
                None => not_in_table.push(end),
                Some(allowed) if thinnest.is_none_or(|(least, _)| allowed.fuse < least.fuse) => {
                    thinnest = Some((allowed, end));
                }
                Some(_) => {}
            }
        }
        let Some((allowed, end)) = thinnest.filter(|(allowed, _)| amperes > allowed.fuse) else { continue };
        let Some(conductor) = &end.conductor else { continue };
        let (most, id, at) = (in_amperes(allowed.fuse), circuit.id(), &end.place);
        let what = format!(
            "fuse `{fuse}` of circuit `{id}` is above the {most} A that `{conductor}` at `{at}` bears ({rating})"
        );
        let problem = FUSE_ABOVE_RATING.says(what).at(circuit.fuse_at.clone().unwrap_or_else(|| end.origin.clone()));
        let problem = problem.see(format!("`{conductor}` here"), end.origin.clone());
        let working = match rating {
            Rating::Cfr { .. } => {
                format!("at most 150 % of {} A below 50 V (33 CFR 183.455): ", in_amperes(allowed.conductor))
            }
            Rating::Ac { .. } => String::new(),
        };
        let memory =
            if rating.is_from_memory() { "; the factor for engine spaces is from memory: look it up" } else { "" };
        let remedy = format!("{working}a smaller fuse or a thicker conductor; local codes come first{memory}");
        problems.push(problem.remedy(remedy));
    }
    problems.extend(not_in(rating, &not_in_table));
    problems
}

/// Tells once what the table lacks.
fn not_in(rating: Rating, ends: &[&End]) -> Option<Problem> {
    let first = ends.first()?;
    let sizes: BTreeSet<String> =
        ends.iter().filter_map(|end| Some(end.conductor.as_ref()?.size().to_string())).collect();
    let mut sizes: Vec<String> = sizes.into_iter().collect();
    sizes.sort_by(|a, b| crate::base::natural::compare(a, b));
    let count = counted(ends.len(), "end");
    let what = format!("{rating} has no {}: {count} not compared with a fuse", first_of(&sizes));
    let remedy = "nothing is converted: look these conductors up in a table of their own";
    Some(SIZE_NOT_IN_RATING_TABLE.says(what).at(first.origin.clone()).remedy(remedy))
}

/// `37.5` of 37500.
fn in_amperes(thousandths: u32) -> String {
    (f64::from(thousandths) / 1000.0).to_string()
}
