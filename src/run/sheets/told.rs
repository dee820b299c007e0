//! What a person asks and tells of sheets of labels: how far each is used, what is spoilt, gone, or was never printed.

use std::collections::BTreeSet;
use std::path::Path;

use jiff::Timestamp;

use super::{SheetRefusal, has_passes_left, labels_on};
use crate::base::{Source, TagCode};
use crate::codes::{Run, RunNumber, SheetMark, SheetNumber, Telling, UsedSheet};
use crate::pages::{PrinterKind, Stock};
use crate::run::failure::RunFailure;
use crate::run::headers::is_header;
use crate::run::job::Job;
use crate::run::register;
use crate::run::template::Template;

/// A sheet as `stock sheets` tells of it.
#[derive(Clone, Debug)]
pub struct SheetState {
    /// How far it is used.
    pub sheet: UsedSheet,
    /// Its stock, as long as there is one of that name.
    pub stock: Option<Stock>,
    /// Places without a tag, counted from 1.
    pub free: BTreeSet<u32>,
    /// How its printer makes its mark, as long as job.toml can be read.
    pub printer: Option<PrinterKind>,
}

impl SheetState {
    /// Whether its printer takes it no more, whatever is free.
    pub fn is_worn_out(&self) -> bool {
        self.printer.is_some_and(|printer| !has_passes_left(printer, self.sheet.runs.len()))
    }

    /// Whether a run may go on with it.
    pub fn takes_tags(&self) -> bool {
        !self.free.is_empty() && !self.is_worn_out()
    }
}

/// All sheets that were ever begun, in the order of their numbers.
///
/// # Errors
/// When the register cannot be read.
pub fn sheets(job: &Path) -> Result<Vec<SheetState>, RunFailure> {
    let sheets = register::open_to_read(job)?.sheets()?;
    let settings = Job::read(job).ok().and_then(|read| read.value);
    let mut states = Vec::with_capacity(sheets.len());
    for sheet in sheets {
        let stock = stock_named(job, &sheet.stock)?;
        let places = stock.as_ref().and_then(labels_on).unwrap_or_default();
        let places = u32::try_from(places).unwrap_or(u32::MAX);
        let free = (1..=places).filter(|place| !sheet.is_gone && !sheet.is_taken(*place)).collect();
        let printer = settings.as_ref().zip(stock.as_ref()).map(|(job, stock)| job.printer_of(stock).kind.value);
        states.push(SheetState { sheet, stock, free, printer });
    }
    Ok(states)
}

fn stock_named(job: &Path, name: &str) -> Result<Option<Stock>, RunFailure> {
    let file = Template::Stock.named(job, name)?;
    Ok(file.and_then(|file| Stock::from_toml(&Source::new(file.file, file.text)).value))
}

/// What is told of sheets by a person.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Told {
    /// These labels of a sheet are spoilt.
    Spoilt(SheetNumber, Vec<u32>),
    /// These sheets are gone.
    Gone(Vec<SheetNumber>),
    /// The paper of these runs never went through the printer.
    Unprinted(Vec<u32>),
}

/// A tag on a label that is told to be spoilt.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SpoiltTag {
    /// The sheet.
    pub sheet: SheetNumber,
    /// The place, counted from 1.
    pub place: u32,
    /// Name of the tag; `None` where nothing was printed on it.
    pub tag: Option<String>,
    /// Word of its kind.
    pub kind: String,
    /// A later run that printed it again.
    pub again: Option<RunNumber>,
}

/// Writes down what a person tells of sheets, or takes it back. Nothing is written where a part of it cannot be.
///
/// # Errors
/// When the register fails, or there is no such sheet, place or run.
pub fn tell(job: &Path, told: &Told, telling: Telling, now: Timestamp) -> Result<(), RunFailure> {
    let states = sheets(job)?;
    let known = |number: &SheetNumber| {
        states.iter().find(|state| state.sheet.number == *number).ok_or(SheetRefusal::Unknown(*number))
    };
    let mut register = register::open(job)?;
    let marks: Vec<SheetMark> = match told {
        Told::Spoilt(number, places) => {
            let state = known(number)?;
            if let Some((stock, of)) = state.stock.as_ref().and_then(|stock| Some((stock, labels_on(stock)?)))
                && let Some(&place) = places.iter().find(|place| **place == 0 || **place as usize > of)
            {
                let stock = stock.name().to_owned();
                return Err(SheetRefusal::NoSuchPlace { stock, place, places: of }.into());
            }
            places.iter().map(|place| SheetMark::Spoilt(*number, *place)).collect()
        }
        Told::Gone(numbers) => {
            numbers.iter().try_for_each(|number| known(number).map(|_| ()))?;
            numbers.iter().copied().map(SheetMark::Gone).collect()
        }
        Told::Unprinted(numbers) => {
            let runs = register.runs()?;
            let run = |number: &u32| {
                let run = runs.iter().find(|run| run.number.get() == *number);
                run.map(|run| SheetMark::Unprinted(run.number)).ok_or(SheetRefusal::NoRun(*number))
            };
            numbers.iter().map(run).collect::<Result<_, _>>()?
        }
    };
    for mark in marks {
        register.mark_sheet(mark, telling, now)?;
    }
    Ok(())
}

/// The labels that are told to be spoilt, with the tags that were on them.
///
/// # Errors
/// When the register cannot be read.
pub fn spoilt(job: &Path) -> Result<Vec<SpoiltTag>, RunFailure> {
    let register = register::open_to_read(job)?;
    let mut spoilt = Vec::new();
    for sheet in register.sheets()? {
        for &place in &sheet.spoilt {
            let used = sheet.labels.get(&place);
            let (tag, kind) = used.map(|used| (used.tag.clone(), used.kind.clone())).unzip();
            let tag = tag.filter(|tag| !is_header(tag));
            let kind = kind.unwrap_or_default();
            spoilt.push((used.map(|used| used.run), SpoiltTag { sheet: sheet.number, place, tag, kind, again: None }));
        }
    }
    let mut printed = |run: &Run, name: &str, kind: &str| {
        for (on, spoilt) in spoilt.iter_mut().filter(|_| run.may_be_there()) {
            let is_it = spoilt.tag.as_deref().is_some_and(|tag| tag == name) && spoilt.kind == kind;
            if is_it && on.is_some_and(|on| run.number > on) {
                spoilt.again = Some(run.number);
            }
        }
    };
    register.each_printed(|run, tag| printed(run, &tag.name(), &tag.kind))?;
    register.each_printed_connector(|run, tag| printed(run, &tag.connector, &tag.kind))?;
    Ok(spoilt.into_iter().map(|(_, spoilt)| spoilt).collect())
}

/// The names by which the tags of spoilt labels are printed again, each once, as long as no later run has; and the marks along wires
/// among them, which have no name of their own.
///
/// # Errors
/// When the register cannot be read.
pub fn spoilt_names(job: &Path) -> Result<(Vec<String>, Vec<String>), RunFailure> {
    let (mut names, mut marks) = (Vec::new(), Vec::new());
    for tag in spoilt(job)?.into_iter().filter(|spoilt| spoilt.again.is_none()).filter_map(|spoilt| spoilt.tag) {
        if tag.ends_with(" mm") {
            marks.push(tag);
            continue;
        }
        let name = match tag.split_once(' ') {
            // One letter of a doubled cavity names its tag.
            Some((code, letters)) if TagCode::from_typed(code).is_ok() => {
                format!("{code}/{}", letters.split('+').next().unwrap_or(letters))
            }
            _ => tag,
        };
        if !names.contains(&name) {
            names.push(name);
        }
    }
    Ok((names, marks))
}

/// No sheet has more labels.
const MOST_NUMBERS: usize = 10_000;

/// Numbers of labels, sheets or runs as they are typed in one word: `17`, `17-19`, `5,6`.
///
/// # Errors
/// What is wanted instead.
pub fn numbers_from_typed(typed: &str) -> Result<Vec<u32>, String> {
    let wanted = || "a number is wanted, or several such as `17-19` or `5,6`".to_owned();
    let number = |text: &str| text.trim().parse::<u32>().map_err(|_| wanted());
    let mut all = Vec::new();
    for part in typed.split(',') {
        let (first, last) = part.split_once(['-', '–']).unwrap_or((part, part));
        let (first, last) = (number(first)?, number(last)?);
        let count = last.checked_sub(first).ok_or_else(wanted)? as usize;
        if all.len() + count >= MOST_NUMBERS {
            return Err(format!("these are more than {MOST_NUMBERS} numbers"));
        }
        all.extend(first..=last);
    }
    Ok(all)
}
