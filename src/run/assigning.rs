//! What a blank proves to be, as a person types it: a circuit, a place, a code with its letter, or a circuit that no list has.
//!
//! In: the code of a blank and what was typed. Out: the blank tied to it, or why not: it names nothing, or several things, or
//! something speaks against it.

use jiff::Timestamp;
use thiserror::Error;

use super::failure::RunFailure;
use super::reading::Reading;
use super::recall::{By, EndRecord, Found, Recall, Record};
use super::register::{self, register_path};
use crate::base::{CircuitId, EndLetter, Page, Place, Remedy, TagCode, WireColour};
use crate::codes::{Again, Assigned, Target};

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The blank.
    pub code: TagCode,
    /// What it proved to be: a designation, a place, or a code; with `new` a place or nothing.
    pub what: Option<&'a str>,
    /// The designation of a circuit that no list has.
    pub new: Option<&'a str>,
    /// Whether what was told before was wrong.
    pub again: Again,
    /// Whether it shall be done although something speaks against it.
    pub is_sure: bool,
}

/// What came of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outcome {
    /// The blank is assigned.
    Done(Assigned),
    /// What speaks against it; nothing was changed.
    Objected(Vec<String>),
    /// Why what was typed cannot be assigned to; nothing was changed.
    NotNamed(NotNamed),
}

/// Why what was typed names nothing that a blank can be assigned to.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum NotNamed {
    /// Nothing is called so.
    #[error("no circuit, place or code of this job is `{0}`")]
    Unknown(String),
    /// Several ends or circuits are.
    #[error("`{typed}` is more than one thing; name one of them: {}", names.join(", "))]
    Several {
        /// What was typed.
        typed: String,
        /// How each of them is typed so that nothing else is meant.
        names: Vec<String>,
    },
    /// The code is a blank itself.
    #[error("{0} is a blank as well, and not assigned yet")]
    Blank(TagCode),
    /// The code has no end of that letter.
    #[error("{0}")]
    NoSuchEnd(String),
    /// A new circuit is to have a name or place that is known.
    #[error("`{0}` is known: {1}")]
    Known(String, String),
    /// Neither a designation nor a place.
    #[error("`{0}` is neither a designation nor a place")]
    Nothing(String),
}

impl NotNamed {
    /// What to do instead, where the message does not say it.
    pub fn remedy(&self) -> Option<Remedy> {
        match self {
            Self::Unknown(_) => {
                Some(Remedy::by("--new", Page::Here("No list has it")).words(" names a circuit that no list has yet"))
            }
            Self::Known(..) => Some(Remedy::by("leave --new out", Page::Words("look it up")).words(" to assign to it")),
            _ => None,
        }
    }
}

/// Ties a blank to what was typed.
///
/// # Errors
/// [`RunFailure`] when the code is no blank, is assigned to something else already or cannot be taken from its circuit; or when
/// the register fails.
pub fn assign(reading: &Reading, recall: &Recall, asked: Asked<'_>, now: Timestamp) -> Result<Outcome, RunFailure> {
    if !register_path(reading.job.folder()).exists() {
        return Err(RunFailure::NoCodeYet(reading.job.folder().to_owned()));
    }
    let named = match asked.new {
        Some(name) => new(recall, name, asked.what).map(|target| (target, None)),
        None => named(reading, recall, asked.what.unwrap_or_default()),
    };
    let (target, found) = match named {
        Ok(named) => named,
        Err(why) => return Ok(Outcome::NotNamed(why)),
    };
    if !asked.is_sure
        && let Some(found) = &found
    {
        let objections = objections(recall, asked.code, found);
        if !objections.is_empty() {
            return Ok(Outcome::Objected(objections));
        }
    }
    Ok(Outcome::Done(register::open(reading.job.folder())?.assign(asked.code, &target, asked.again, now)?))
}

/// A circuit, or one of its ends by its index in the record.
#[derive(Clone, Debug)]
struct Meant {
    record: Record,
    end: Option<usize>,
}

impl Meant {
    /// How it is typed so that nothing else is meant: `9C3M/B`, `9C3M`, `E14`.
    fn name(&self) -> String {
        let letter = self.end.and_then(|end| self.record.ends[end].letter.as_deref());
        let code = self.record.code.clone().or_else(|| self.record.designations.first().cloned());
        let name = [code.as_deref(), letter].into_iter().flatten().collect::<Vec<_>>().join("/");
        let mut facts: Vec<&str> = Vec::new();
        if let Some(end) = self.end.map(|end| &self.record.ends[end]) {
            facts.extend([end.colour.as_deref(), end.there.as_deref()].into_iter().flatten());
        }
        facts.extend(self.record.function.as_deref());
        if facts.is_empty() { name } else { format!("{name} ({})", facts.join(", ")) }
    }
}

/// What a typed word names: a code with or without a letter, a place, or a designation.
fn named<'r>(reading: &'r Reading, recall: &Recall, typed: &str) -> Result<(Target<'r>, Option<Meant>), NotNamed> {
    let found = recall.find(&[typed.to_owned()]);
    let mut meant: Vec<Meant> = found.into_iter().filter(|found| found.by != By::Words).flat_map(each).collect();
    // `a` and `A` may be two cavities, and a former name may be another's present one.
    let is_exact = |meant: &Meant| match meant.end {
        Some(end) => meant.record.ends[end].here == typed,
        None => meant.record.designations.iter().any(|name| name == typed),
    };
    if meant.iter().any(is_exact) {
        meant.retain(is_exact);
    }
    let by_code = || {
        let (code, letter) = TagCode::from_typed_with_letter(typed).ok()?;
        match (recall.by_code(code, letter), recall.blank(code)) {
            (Some(found), _) => Some(match found.doubt {
                Some(doubt) => Err(NotNamed::NoSuchEnd(doubt)),
                None => {
                    let end = letter.and_then(|_| found.ends.first().copied());
                    Ok((Target::Recorded(code, letter), Some(Meant { record: found.record, end })))
                }
            }),
            (None, Some(_)) => Some(Err(NotNamed::Blank(code))),
            (None, None) => None,
        }
    };
    match &meant[..] {
        [one] => {
            let target = target(reading, one).ok_or_else(|| NotNamed::Unknown(typed.to_owned()))?;
            Ok((target, meant.pop()))
        }
        [] => by_code().unwrap_or_else(|| Err(NotNamed::Unknown(typed.to_owned()))),
        several => Err(NotNamed::Several { typed: typed.to_owned(), names: several.iter().map(Meant::name).collect() }),
    }
}

/// The things that an answer of recall may mean, other than by its code.
fn each(found: Found) -> Vec<Meant> {
    match found.by {
        By::Place => found.ends.iter().map(|&end| Meant { record: found.record.clone(), end: Some(end) }).collect(),
        By::Designation => vec![Meant { record: found.record, end: None }],
        By::Code | By::Words => Vec::new(),
    }
}

/// What is meant, for the register: by code and letter where they were issued, else by its place in the lists.
fn target<'r>(reading: &'r Reading, meant: &Meant) -> Option<Target<'r>> {
    let code = meant.record.code.as_deref().and_then(|code| TagCode::from_typed(code).ok());
    let letter = |end: usize| meant.record.ends[end].letter.as_deref().and_then(EndLetter::from_typed);
    match (code, meant.end.map(|end| (end, letter(end)))) {
        (Some(code), None) => return Some(Target::Recorded(code, None)),
        (Some(code), Some((_, Some(letter)))) => return Some(Target::Recorded(code, Some(letter))),
        _ => {}
    }
    // A record tells the ends of its circuits one after the other.
    let circuits = &reading.circuits;
    let mut before = 0;
    for name in &meant.record.designations {
        let at = circuits.all().iter().position(|circuit| circuit.id().as_str() == name)?;
        let ends = circuits.all()[at].ends().len();
        match meant.end {
            None => return Some(Target::Listed(circuits, at, None)),
            Some(end) if end < before + ends => return Some(Target::Listed(circuits, at, Some(end - before))),
            Some(_) => before += ends,
        }
    }
    None
}

/// A circuit that nobody knows yet. A name such as `J9/3` is a place.
fn new<'r>(recall: &Recall, name: &str, place: Option<&str>) -> Result<Target<'r>, NotNamed> {
    let place = place.or_else(|| name.contains('/').then_some(name));
    for typed in [Some(name), place].into_iter().flatten() {
        let known = recall.find(&[typed.to_owned()]).into_iter().find(|found| found.by != By::Words);
        if let Some(found) = known {
            return Err(NotNamed::Known(typed.to_owned(), found.record.in_a_line()));
        }
    }
    let id = CircuitId::from_cell(name).ok_or_else(|| NotNamed::Nothing(name.to_owned()))?;
    let place = place.map(|place| Place::from_typed(place).ok_or_else(|| NotNamed::Nothing(place.to_owned())));
    Ok(Target::New(id, place.transpose()?))
}

/// What speaks against a blank hanging there: another one does already, or the wire in the hand was noted to be of another colour.
fn objections(recall: &Recall, code: TagCode, meant: &Meant) -> Vec<String> {
    let ends: Vec<&EndRecord> = match meant.end {
        Some(end) => vec![&meant.record.ends[end]],
        None => meant.record.ends.iter().collect(),
    };
    let mut objections = Vec::new();
    if let [end] = ends[..] {
        let hanging = recall.blanks_at(&meant.record, end).filter(|other| *other != code);
        objections.extend(hanging.map(|other| format!("{other} is a blank that hangs at {} already", end.here)));
    }
    let understood = |typed: &str| WireColour::from_cell(typed).filter(|colour| colour.base().is_some());
    let noted = recall.noted_colour(code).and_then(understood);
    let listed: Vec<WireColour> = ends.iter().filter_map(|end| end.colour.as_deref()).filter_map(understood).collect();
    if let Some(noted) = noted
        && listed.len() == ends.len()
        && !listed.iter().any(|listed| listed.same_as(&noted))
    {
        let mut colours: Vec<String> = listed.iter().map(WireColour::in_words).collect();
        colours.sort();
        colours.dedup();
        objections.push(format!("its wire was noted as {}, the list has {}", noted.in_words(), colours.join(" or ")));
    }
    objections
}
