//! The check of a job: how every tag fits, what is refused, what is still undecided.

use std::collections::BTreeMap;

use super::choice::{Again, Choice};
use super::equipment::Equipment;
use super::failure::RunFailure;
use super::print::Refused;
use super::reading::Reading;
use super::register;
use super::rules::{self, Decision};
use super::sheets::Laying;
use super::shopping::{Basket, Need};
use super::stale::{Due, OnWires, Stale};
use super::tally::Tally;
use super::worked::{self, Worked};
use crate::base::{Problem, Purpose};
use crate::circuits::Action;
use crate::codes::{Issued, RunNumber};
use crate::labels::{Label, Position, TagName};
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
    /// Blanks that are not assigned yet.
    pub blanks: usize,
    /// What rules and connectors.csv decided, in the order of the rules.
    pub decisions: Vec<Decision>,
    /// What a run of these tags takes of each stock.
    pub needs: Vec<Need>,
    /// Tags on wires that no longer tell the truth.
    pub stale: Stale,
    /// Where only new and changed tags are wanted: which they are.
    pub due: Option<Vec<Due>>,
    /// How far the work is, by the notes of the bench.
    pub worked: Worked,
    /// What the register has against the lists: findings, designations.
    pub problems: Vec<Problem>,
}

/// One row of the fit table.
#[derive(Clone, Debug)]
pub struct Fit {
    /// The tag's name: `7KF4 A`. Codes that are not issued yet are what would be issued now.
    pub name: String,
    /// The place it is for.
    pub place: String,
    /// Whether it is the tag of a connector, which goes on no wire of its own.
    pub of_connector: bool,
    /// Where on its wire it sits, when marks along wires are wanted.
    pub at: Option<Position>,
    /// Work or final.
    pub purpose: Purpose,
    /// Name of its stock.
    pub stock: String,
    /// Letter heights, symbol, what was given up.
    pub facts: Facts,
    /// Where the diameter is assumed: what the table has near to the wire's size.
    pub near: Option<String>,
}

impl Fit {
    pub(super) fn new(label: &Label, stock: String, facts: Facts, equipment: &Equipment) -> Self {
        let near = matches!(facts.diameter, Diameter::Assumed(_)).then(|| equipment.near(label)).flatten();
        let (name, place) = (label.name.to_string(), label.place_text());
        let of_connector = matches!(label.name, TagName::Connector(_));
        Self { name, place, of_connector, at: label.at.clone(), purpose: label.purpose, stock, facts, near }
    }
}

/// Checks a job. Nothing is issued or written.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub fn check(reading: &Reading, choice: &Choice, laying: &Laying) -> Result<Checkup, RunFailure> {
    let register = register::open_to_read(reading.job.folder())?;
    let issued: Issued = register.preview(&reading.circuits)?;
    let records = register.records()?;
    let on_wires = OnWires::read(&register, &records, |_, _| ())?;
    let renames = register.likely_renames(&reading.circuits)?;
    let stale = on_wires.stale(reading, &issued, &records).expecting(&renames).within(choice);
    let on_wires = (choice.again == Again::Changed).then_some(on_wires);
    let mut basket = Basket::default();
    let mut checkup = Checkup {
        fits: Vec::new(),
        refused: Vec::new(),
        tally: Tally::default(),
        circuits: reading.circuits.all().len(),
        actions: BTreeMap::new(),
        undecided: 0,
        blanks: register.blanks()?.iter().filter(|blank| blank.assigned.is_none()).count(),
        decisions: rules::decisions(reading.job.rules(), &reading.circuits),
        needs: Vec::new(),
        stale,
        due: on_wires.as_ref().map(|_| Vec::new()),
        worked: worked::worked(&reading.circuits, &issued, &records, &register.notes()?),
        problems: worked::old_designations(&reading.circuits, &issued, &register.renamings()?),
    };
    checkup.problems.extend(checkup.worked.not_capped.iter().chain(&checkup.worked.otherwise).cloned());
    for &purpose in &choice.purposes {
        let selection = choice.select(&reading.circuits, &issued, purpose);
        checkup.tally.count_unmarked(&reading.circuits, &selection);
        for subject in &selection.subjects {
            let label = reading.sources(&issued).label(purpose, subject);
            let made = reading.equipment.make(&label);
            if let Some((on_wires, all)) = on_wires.as_ref().zip(checkup.due.as_mut()) {
                if made.as_ref().is_ok_and(|made| !choice.wants(made.tag.facts.kind)) {
                    continue;
                }
                let due = on_wires.due(reading, &issued, purpose, subject, &label, || made.clone().ok());
                if due.is_none() {
                    continue;
                }
                all.extend(due.filter(|_| made.is_ok()));
            }
            match made {
                Ok(made) if !choice.wants(made.tag.facts.kind) => {}
                Ok(made) => {
                    let stock = reading.equipment.stocks()[made.stock].stock.name().to_owned();
                    for _ in 0..choice.copies {
                        checkup.tally.count(&label, &made.tag.facts);
                        let connector = subject.connector(&reading.circuits).map(ToString::to_string);
                        basket.add(label.name.to_string(), connector, &made);
                    }
                    checkup.fits.push(Fit::new(&label, stock, made.tag.facts, &reading.equipment));
                }
                Err(_) if !choice.wants(reading.equipment.kind_asked(&label)) => {}
                Err(refusal) => checkup.refused.push(Refused::new(&label, refusal, &reading.equipment)),
            }
        }
    }
    for end in reading.circuits.all().iter().flat_map(|circuit| circuit.ends()) {
        *checkup.actions.entry(end.action.word()).or_default() += 1;
        checkup.undecided += usize::from(end.action == Action::Undecided);
    }
    // Heads on tube name the run, and so it takes as much tube as the next run will.
    let next = register.last_run()?.map_or(RunNumber::FIRST, RunNumber::next);
    checkup.needs = basket.needs(reading, next, &register, laying)?;
    Ok(checkup)
}
