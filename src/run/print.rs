//! A print run: codes issued, tags fitted, placed, written as PDFs, proved, and only then given their names.
//!
//! The order makes a run safe to break off at any moment: codes are issued in one transaction first; the run is journalled
//! as planned; the PDFs are written under temporary names, read back, and renamed when all are whole; then the run is
//! journalled as done.

use std::cell::RefCell;
use std::collections::HashSet;
use std::fs;
use std::path::PathBuf;

use jiff::Timestamp;

use super::choice::{Again, Choice};
use super::equipment::{Equipment, StockInUse};
use super::failure::RunFailure;
use super::files::{Files, run_folder};
use super::headers::{Group, groups_of};
use super::making::Made;
use super::progress::Progress;
use super::reading::Reading;
use super::record::{RUN_FILE, TagRecord};
use super::register;
use super::sheets::{Laying, SheetLaid, Trays, TubeLaid};
use super::stale::{Due, OnWires};
use super::tally::Tally;
use crate::base::{EndLetter, Purpose, TagCode, counted};
use crate::codes::{Issued, Outcome, Register, RunNumber, SheetNumber};
use crate::labels::{AsSaid, Label, Subject};
use crate::layout::Refusal;
use crate::pages::{Piece, PrinterKind};
use crate::proof::Proof;

/// What is asked of a print run.
#[derive(Clone, Debug)]
pub struct Request {
    /// Which tags.
    pub choice: Choice,
    /// Tags of ends that no list has any more, as they said.
    pub as_said: Vec<AsSaid>,
    /// The folder for the PDFs; without one, a folder of the run's own under `prints` in the job folder.
    pub out: Option<PathBuf>,
    /// Whether every symbol is read back before the run counts as done.
    pub proof: Proving,
    /// The stock to go on, and in which order.
    pub laying: Laying,
    /// What was typed, for the journal.
    pub what: String,
}

/// Whether symbols are read back.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Proving {
    /// Every symbol of every page.
    Every,
    /// None: quicker, and at the user's own risk.
    None,
}

/// What came of a print run.
#[derive(Clone, Debug)]
pub struct Printed {
    /// Number of the run; `None` when nothing was to be printed.
    pub run: Option<RunNumber>,
    /// Folder of the files.
    pub folder: PathBuf,
    /// The PDFs, in the order of the stocks.
    pub files: Vec<PrintedFile>,
    /// Tags that could not be made.
    pub refused: Vec<Refused>,
    /// What was made, counted.
    pub tally: Tally,
    /// Where only new and changed tags were wanted: which they are, in working order.
    pub due: Option<Vec<Due>>,
}

/// One PDF of a run.
#[derive(Clone, Debug)]
pub struct PrintedFile {
    /// Where it lies.
    pub path: PathBuf,
    /// Name of its stock.
    pub stock: String,
    /// Work or final tags.
    pub purpose: Purpose,
    /// How its printer makes its mark.
    pub printer: PrinterKind,
    /// Resolution of its printer, in dots an inch.
    pub dpi: u16,
    /// How many tags.
    pub tags: usize,
    /// How many header labels.
    pub headers: usize,
    /// How many pages.
    pub pages: usize,
    /// The sheets of labels that its pages go on, in their order.
    pub sheets: Vec<SheetLaid>,
    /// Begun sheets that a new one was begun in spite of, for they suit another run better; with their free labels.
    pub waiting: Vec<(SheetNumber, usize)>,
    /// The tube that its pages are cut from.
    pub tube: Option<TubeLaid>,
    /// What reading it back found; `None` when that was not asked for.
    pub proof: Option<Proof>,
}

/// A tag that could not be made.
#[derive(Clone, Debug)]
pub struct Refused {
    /// Its name: `7KF4 A`.
    pub name: String,
    /// The place it was for.
    pub place: String,
    /// Work or final.
    pub purpose: Purpose,
    /// Why, and what would do.
    pub refusal: Refusal,
    /// Where the diameter is not known: what the table has near to the wire's size.
    pub near: Option<String>,
}

/// How many of which purpose: `16 final tags`, `2 work tags and 14 final tags`.
pub fn refused_by_purpose(refused: &[Refused]) -> String {
    let of = |purpose: Purpose| refused.iter().filter(|one| one.purpose == purpose).count();
    let counts = [Purpose::Work, Purpose::Final].map(|purpose| (of(purpose), format!("{purpose} tag")));
    let told: Vec<String> =
        counts.iter().filter(|(count, _)| *count > 0).map(|(count, what)| counted(*count, what)).collect();
    told.join(" and ")
}

impl Refused {
    /// A label that no tag can be made for.
    pub(super) fn new(label: &Label, refusal: Refusal, equipment: &Equipment) -> Self {
        let near = (refusal == Refusal::DiameterUnknown).then(|| equipment.near(label)).flatten();
        Self { name: label.name.to_string(), place: label.place_text(), purpose: label.purpose, refusal, near }
    }
}

/// Prints tags.
///
/// # Errors
/// [`RunFailure`] when the register, the disk or the proof fails; then no file is left under its final name, and codes that
/// were issued stay issued.
pub fn print(
    reading: &Reading,
    request: &Request,
    now: Timestamp,
    progress: &dyn Progress,
) -> Result<Printed, RunFailure> {
    refuse_occupied(request)?;
    let mut register = register::open(reading.job.folder())?;
    if let Some(blanks) = request.choice.blanks_alone() {
        // No circuit gets a code because of them: it may yet take that of a blank.
        let issued = Issued::default();
        let mut plan = Plan::new(reading, &issued);
        blanks.into_iter().for_each(|blank| plan.add(Purpose::Work, Subject::Blank(blank)));
        request.as_said.iter().for_each(|said| plan.add_as_said(said));
        return plan.print(&mut register, request, now, progress);
    }
    let issued = issue_for(&mut register, reading, &request.choice, now)?;
    let on_wires = match request.choice.again {
        Again::All => None,
        Again::Changed => Some(OnWires::read(&register, &register.records()?, |_, _| ())?),
    };
    let mut plan = Plan::new(reading, &issued);
    plan.choose(&request.choice, on_wires.as_ref());
    request.as_said.iter().for_each(|said| plan.add_as_said(said));
    plan.print(&mut register, request, now, progress)
}

/// The codes for what is chosen. Where all of it has its codes none is issued: a circuit that is not printed may yet prove to be
/// one that the register knows by another name.
fn issue_for(
    register: &mut Register,
    reading: &Reading,
    choice: &Choice,
    now: Timestamp,
) -> Result<Issued, RunFailure> {
    if !choice.only.is_empty() {
        let ahead = register.preview(&reading.circuits)?;
        let records = register.records()?;
        let known: HashSet<(TagCode, EndLetter)> =
            records.iter().flat_map(|record| record.ends.iter().map(|end| (record.code, end.letter))).collect();
        let is_known = |subject: &Subject| {
            let codes = subject.circuit().map(|circuit| &ahead.circuits[circuit]);
            codes.is_none_or(|codes| codes.letters.iter().all(|letter| known.contains(&(codes.code, *letter))))
        };
        let mut purposes = choice.purposes.iter();
        if purposes.all(|&purpose| choice.select(&reading.circuits, &ahead, purpose).subjects.iter().all(is_known)) {
            return Ok(ahead);
        }
    }
    Ok(register.issue(&reading.circuits, now)?)
}

/// No run is written over another.
pub(super) fn refuse_occupied(request: &Request) -> Result<(), RunFailure> {
    match request.out.as_ref().filter(|folder| folder.join(RUN_FILE).exists()) {
        Some(folder) => Err(RunFailure::Occupied(folder.clone())),
        None => Ok(()),
    }
}

/// The tags of a run, each with the stock it goes on.
pub(super) struct Plan<'a> {
    reading: &'a Reading,
    issued: &'a Issued,
    tags: Vec<(Purpose, Subject, usize)>,
    refused: RefCell<Vec<Refused>>,
    tally: RefCell<Tally>,
    due: Option<Vec<Due>>,
}

impl<'a> Plan<'a> {
    pub(super) fn new(reading: &'a Reading, issued: &'a Issued) -> Self {
        let (refused, tally) = (RefCell::default(), RefCell::default());
        Self { reading, issued, tags: Vec::new(), refused, tally, due: None }
    }

    /// Adds all tags of a choice; with what hangs on the wires, those that are new or changed.
    pub(super) fn choose(&mut self, choice: &Choice, on_wires: Option<&OnWires>) {
        self.due = on_wires.map(|_| Vec::new());
        for &purpose in &choice.purposes {
            let selection = choice.select(&self.reading.circuits, self.issued, purpose);
            self.tally.get_mut().count_unmarked(&self.reading.circuits, &selection);
            for subject in selection.subjects {
                if on_wires.is_none() && choice.kinds.is_empty() {
                    self.add_copies(choice.copies, purpose, subject);
                    continue;
                }
                let label = self.reading.sources(self.issued).label(purpose, &subject);
                if !choice.kinds.is_empty() && !self.is_of(choice, &label) {
                    continue;
                }
                let Some(on_wires) = on_wires else {
                    self.add_copies(choice.copies, purpose, subject);
                    continue;
                };
                let make = || self.reading.equipment.make(&label).ok();
                let due = on_wires.due(self.reading, self.issued, purpose, &subject, &label, make);
                let before = self.tags.len();
                if due.is_some() {
                    self.add_copies(choice.copies, purpose, subject);
                }
                // What is refused is told as such.
                if self.tags.len() > before {
                    self.due.iter_mut().for_each(|all| all.extend(due.clone()));
                }
            }
        }
    }

    /// Whether the tag of a label comes out as one of the kinds, or asks for one of them and comes out as none, which is to be told.
    fn is_of(&self, choice: &Choice, label: &Label) -> bool {
        let equipment = &self.reading.equipment;
        let kind = equipment.make(label).map_or_else(|_| equipment.kind_asked(label), |made| made.tag.facts.kind);
        choice.wants(kind)
    }

    fn add_copies(&mut self, copies: usize, purpose: Purpose, subject: Subject) {
        for _ in 1..copies {
            let refused = self.refused.get_mut().len();
            self.add(purpose, subject.clone());
            if self.refused.get_mut().len() > refused {
                return;
            }
        }
        self.add(purpose, subject);
    }

    /// The frame is made when it is drawn, so that not all of them lie in memory at once.
    pub(super) fn add(&mut self, purpose: Purpose, subject: Subject) {
        let label = self.reading.sources(self.issued).label(purpose, &subject);
        match self.reading.equipment.stock_for(&label) {
            Ok(stock) => self.tags.push((purpose, subject, stock)),
            Err(refusal) => self.refuse(&label, refusal),
        }
    }

    /// Whether there is nothing to print.
    pub(super) const fn is_empty(&self) -> bool {
        self.tags.is_empty()
    }

    /// What is answered where there is nothing to print.
    pub(super) fn nothing(self, request: &Request) -> Printed {
        let folder = request.out.clone().unwrap_or_else(|| self.reading.job.folder().to_owned());
        let (refused, tally) = (self.refused.into_inner(), self.tally.into_inner());
        Printed { run: None, folder, files: Vec::new(), refused, tally, due: self.due }
    }

    /// Makes the files, as a run of its own.
    pub(super) fn print(
        self,
        register: &mut Register,
        request: &Request,
        now: Timestamp,
        progress: &dyn Progress,
    ) -> Result<Printed, RunFailure> {
        if self.tags.is_empty() {
            return Ok(self.nothing(request));
        }
        let trays = Trays::new(register, &request.laying, self.stocks_used())?;
        let run = register.begin_run(now, &request.what)?;
        let folder = request.out.clone().unwrap_or_else(|| run_folder(self.reading.job.folder(), run));
        let is_new = !folder.exists();
        let files = Files { reading: self.reading, plan: &self, folder: &folder, run, trays, now, progress };
        let made = files.write(request, register);
        if made.is_err() && is_new {
            // Only an empty folder goes; the failure itself is what is told.
            let _ = fs::remove_dir(&folder);
        }
        let outcome = if made.is_ok() { Outcome::Done } else { Outcome::Failed };
        let ended = register.end_run(run, outcome, now);
        let files = made?;
        ended?;
        let (refused, tally) = (self.refused.into_inner(), self.tally.into_inner());
        Ok(Printed { run: Some(run), folder, files, refused, tally, due: self.due })
    }

    /// How many tags there are.
    pub(super) const fn count(&self) -> usize {
        self.tags.len()
    }

    /// Whether tags go on the stock with this index.
    pub(super) fn goes_on(&self, stock: usize) -> bool {
        self.tags.iter().any(|(_, _, on)| *on == stock)
    }

    /// The stocks that tags go on.
    pub(super) fn stocks_used(&self) -> impl Iterator<Item = &StockInUse> {
        let stocks = self.reading.equipment.stocks().iter().enumerate();
        stocks.filter(|(index, _)| self.goes_on(*index)).map(|(_, stock)| stock)
    }

    fn add_as_said(&mut self, said: &AsSaid) {
        match self.reading.equipment.make_in(&said.label, &said.wording) {
            Ok(made) => self.tags.push((said.label.purpose, Subject::AsSaid(Box::new(said.clone())), made.stock)),
            Err(refusal) => self.refuse(&said.label, refusal),
        }
    }

    fn make(&self, purpose: Purpose, subject: &Subject) -> Option<(Label, Made)> {
        let label = self.reading.sources(self.issued).label(purpose, subject);
        let equipment = &self.reading.equipment;
        let made = match subject {
            Subject::AsSaid(said) => equipment.make_in(&label, &said.wording),
            _ => equipment.make(&label),
        };
        match made {
            Ok(made) => Some((label, made)),
            Err(refusal) => {
                self.refuse(&label, refusal);
                None
            }
        }
    }

    /// The tags that could not be made so far.
    pub(super) fn refused(self) -> Vec<Refused> {
        self.refused.into_inner()
    }

    fn refuse(&self, label: &Label, refusal: Refusal) {
        self.refused.borrow_mut().push(Refused::new(label, refusal, &self.reading.equipment));
    }

    /// What a tag should stay together with.
    fn group(&self, subject: &Subject) -> Option<String> {
        subject.connector(&self.reading.circuits).map(ToString::to_string)
    }

    /// The groups of the tags on a stock in their order, each with how many there are.
    pub(super) fn groups(&self, stock: usize) -> Vec<Group> {
        let tags = self.tags.iter().filter(|(_, _, on)| *on == stock);
        groups_of(tags.map(|(_, subject, _)| self.group(subject)))
    }

    /// The frames for a stock, made one at a time as they are asked for; what each says is written to `records`.
    pub(super) fn pieces<'p>(
        &'p self,
        stock: usize,
        records: &'p RefCell<Vec<TagRecord>>,
    ) -> impl Iterator<Item = Piece> + 'p {
        let tags = self.tags.iter().filter(move |(_, _, on)| *on == stock);
        tags.filter_map(move |(purpose, subject, _)| {
            let (label, made) = self.make(*purpose, subject)?;
            self.tally.borrow_mut().count(&label, &made.tag.facts);
            let circuit = subject.circuit().map(|circuit| &self.reading.circuits.all()[circuit]);
            let record = TagRecord::of(circuit, &label, &made.tag.facts);
            let name = record.name();
            records.borrow_mut().push(record);
            let heading = label.place.as_ref().map(|place| place.connector.to_string());
            Some(Piece { frame: made.tag.frame, name, heading, group: self.group(subject), labels: made.labels })
        })
    }
}
