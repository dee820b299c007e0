//! The check of a job: how every tag fits, what is refused, what is still undecided.

use std::collections::BTreeMap;

use super::choice::Choice;
use super::failure::RunFailure;
use super::print::Refused;
use super::reading::{Reading, register_path};
use super::tally::Tally;
use crate::base::Purpose;
use crate::circuits::Action;
use crate::codes::{Issued, Register};
use crate::labels;
use crate::layout::{Diameter, Facts};

/// What a check of a job finds, beside the problems of its lists.
#[derive(Clone, Debug)]
pub struct Checkup {
    /// How each tag fits, in working order: work tags first.
    pub fits: Vec<Fit>,
    /// Tags that cannot be made.
    pub refused: Vec<Refused>,
    /// Counts over all tags.
    pub tally: Tally,
    /// How many circuits there are.
    pub circuits: usize,
    /// How many ends have each action, in the order of the actions.
    pub actions: BTreeMap<&'static str, usize>,
    /// Ends whose action is undecided.
    pub undecided: usize,
}

/// One row of the fit table.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The tag's name: `7KF4 A`. Codes that are not issued yet are what would be issued now.
    pub name: String,
    /// The place it is for.
    pub place: String,
    /// Work or final.
    pub purpose: Purpose,
    /// Name of its stock.
    pub stock: String,
    /// Letter heights, symbol, what was given up.
    pub facts: Facts,
    /// Where the diameter is assumed: what the table has near to the wire's size.
    pub near: Option<String>,
}

/// Checks a job. Nothing is issued or written.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn check(reading: &Reading, choice: &Choice) -> Result<Checkup, RunFailure> {
    let register = Register::open_to_read(&register_path(reading.job.folder()))?;
    let issued: Issued = register.preview(&reading.circuits)?;
    let mut checkup = Checkup {
        fits: Vec::new(),
        refused: Vec::new(),
        tally: Tally::default(),
        circuits: reading.circuits.all().len(),
        actions: BTreeMap::new(),
        undecided: 0,
    };
    for &purpose in &choice.purposes {
        for selected in choice.select(&reading.circuits, &issued, purpose) {
            let label = labels::label(&reading.circuits, &issued, reading.equipment.payload(), purpose, &selected);
            let (name, place) = (label.name.to_string(), label.place.to_string());
            match reading.equipment.make(&label) {
                Ok(made) => {
                    let facts = made.tag.facts;
                    checkup.tally.count(&label, &facts);
                    let stock = reading.equipment.stocks()[made.stock].stock.name().to_owned();
                    let is_assumed = matches!(facts.diameter, Diameter::Assumed(_));
                    let near = is_assumed.then(|| reading.equipment.near(&label)).flatten();
                    checkup.fits.push(Fit { name, place, purpose, stock, facts, near });
                }
                Err(refusal) => checkup.refused.push(Refused::new(&label, refusal, &reading.equipment)),
            }
        }
    }
    for end in reading.circuits.all().iter().flat_map(|circuit| circuit.ends()) {
        *checkup.actions.entry(end.action.word()).or_default() += 1;
        checkup.undecided += usize::from(end.action == Action::Undecided);
    }
    Ok(checkup)
}
