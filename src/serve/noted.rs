//! Notes of the bench, from whatever page they come: what of them is asked about first, what is told of them afterwards, and how they are
//! taken back.

use std::collections::BTreeMap;

use maud::{Markup, html};

use super::access::Visitor;
use super::desk::Desk;
use super::sure::Reason;
use super::trouble::Trouble;
use crate::run::danger::Danger;
use crate::run::deciding::Change;
use crate::run::noting::Planned;
use crate::run::{self, Snapshot};

/// Most that is told one by one after a deed, or named where it is no matter of life: the others are counted.
const TOLD: usize = 5;
/// Most other warnings on the page that asks.
const SHOWN: usize = 20;

/// What should be known of one end.
#[derive(Clone, Copy)]
pub struct Warned<'a> {
    about: &'a str,
    danger: Option<Danger>,
    warnings: &'a [String],
}

impl<'a> From<&'a Planned> for Warned<'a> {
    fn from(planned: &'a Planned) -> Self {
        Self { about: &planned.about, danger: planned.danger, warnings: &planned.warnings }
    }
}

impl<'a> From<&'a Change> for Warned<'a> {
    fn from(change: &'a Change) -> Self {
        Self { about: &change.about, danger: change.danger, warnings: &change.warnings }
    }
}

/// Danger as it is asked about: each sort apart, the gravest first, with every end that it is of.
pub fn dangers(each: impl IntoIterator<Item = (Danger, String)>) -> Vec<Reason> {
    let mut by_danger: BTreeMap<Danger, Vec<String>> = BTreeMap::new();
    for (danger, of) in each {
        let known = by_danger.entry(danger).or_default();
        // Several steps of one end come one after the other.
        if known.last() != Some(&of) {
            known.push(of);
        }
    }
    let reason =
        |(danger, of): (Danger, Vec<String>)| Reason { what: danger.words().to_owned(), of, named: usize::MAX };
    by_danger.into_iter().map(reason).collect()
}

/// The same of notes.
pub fn dangers_of(planned: &[Planned]) -> Vec<Reason> {
    dangers(planned.iter().filter_map(|one| Some((one.danger?, one.about.clone()))))
}

/// What else should be known of ends, on the page that asks.
pub fn others<'a>(each: impl Iterator<Item = Warned<'a>>) -> Vec<String> {
    shortened(others_of(each), SHOWN)
}

/// Tells what should be known after the deed: danger first and of all ends, then the others.
pub fn tell_warnings<'a>(visitor: &Visitor, each: impl Iterator<Item = Warned<'a>> + Clone) {
    for danger in dangers(each.clone().filter_map(|one| Some((one.danger?, one.about.to_owned())))) {
        visitor.tell(format!("mind: {}: {}", danger.what, danger.of.join("; ")));
    }
    for told in shortened(others_of(each), TOLD) {
        visitor.tell(format!("mind: {told}"));
    }
}

/// Warnings beside danger, each with what it is of.
fn others_of<'a>(each: impl Iterator<Item = Warned<'a>>) -> Vec<String> {
    let of = |one: Warned<'a>| {
        let danger = one.danger.map(Danger::words);
        let others = one.warnings.iter().filter(move |words| Some(words.as_str()) != danger);
        others.map(move |words| format!("{}: {words}", one.about))
    };
    each.flat_map(of).collect()
}

fn shortened(mut all: Vec<String>, most: usize) -> Vec<String> {
    let more = all.len().saturating_sub(most);
    all.truncate(most);
    if more > 0 {
        all.push(format!("and {more} more"));
    }
    all
}

/// Numbers of notes, as an address has them: `5-9`.
pub fn in_address(numbers: &[u32]) -> String {
    let (first, last) = (numbers.first().copied(), numbers.last().copied());
    format!("noted={}-{}", first.unwrap_or_default(), last.unwrap_or_default())
}

/// The notes of a range, `5-9`, that stand.
pub fn standing(job: &Snapshot, range: &str) -> Vec<u32> {
    let numbers = range.split_once('-').and_then(|(first, last)| Some(first.parse().ok()?..=last.parse().ok()?));
    let Some(numbers) = numbers else { return Vec::new() };
    let notes = job.recall.notes().all().iter();
    let standing = notes.filter(|noted| noted.superseded_by.is_none() && numbers.contains(&noted.number));
    standing.map(|noted| noted.number).collect()
}

/// Takes the notes of a range back, and tells how many.
///
/// # Errors
/// [`Trouble`] when none of them stands, or the register fails.
pub fn take_back(desk: &Desk, visitor: &Visitor, range: &str) -> Result<(), Trouble> {
    let job = desk.snapshot()?;
    let planned = job.bench().taken_back(standing(&job, range));
    if planned.is_empty() {
        return Err(Trouble::refused("it is undone already", "look at the page again"));
    }
    run::note(desk.folder(), &planned, desk.now())?;
    let taken = if planned.len() == 1 { "1 note".to_owned() } else { format!("{} notes", planned.len()) };
    visitor.tell(format!("taken back: {taken}"));
    Ok(())
}

/// The button that takes back the notes of a range, where any stand; with other fields that go with it.
pub fn undo(job: &Snapshot, action: &str, range: &str, fields: &[(&str, &str)]) -> Markup {
    let number = standing(job, range).len();
    html! {
        @if number > 0 {
            form.undo method="post" action=(action) {
                @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
                input type="hidden" name="noted" value=(range);
                button.second type="submit" { "Undo: take back " @if number == 1 { "the note" } @else { "all " (number) " notes" } }
            }
        }
    }
}
