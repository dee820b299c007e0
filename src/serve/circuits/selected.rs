//! What was selected -> ends: single rows by their names, all rows of a page, or all that a filter matches.
//!
//! Whoever selects what a filter matches has seen certain ends. Where it would be others by now, nothing is done.

use super::page::ROWS;
use super::view::{View, fields};
use crate::base::TagCode;
use crate::circuits::End;
use crate::run::Snapshot;
use crate::run::planning::{PlannedEnd, Planning};
use crate::serve::fields::Fields;
use crate::serve::trouble::Trouble;

/// Beside the name of an end whose code was not issued yet stands its place: a code that is looked ahead at may be another's when
/// the lists change.
const PLACE: char = '@';

/// How a row names its end in a form.
pub fn value_of(end: &PlannedEnd, listed: &End) -> String {
    if end.is_issued { end.name() } else { format!("{}{PLACE}{}", end.name(), listed.place) }
}

/// The end of this name.
pub fn named(job: &Snapshot, name: &str) -> Option<usize> {
    let (mark, place) = name.split_once(PLACE).map_or((name, None), |(mark, place)| (mark, Some(place)));
    let (code, letter) = TagCode::from_typed_with_letter(mark).ok()?;
    let planning = job.planning();
    let number = letter.and_then(|letter| planning.by_mark(code, letter)).or_else(|| {
        // A code that was joined, or the code of a blank, names an end too.
        let found = job.recall.by_code(code, letter)?;
        let [end] = found.ends[..] else { return None };
        let own = TagCode::from_typed(found.record.code.as_deref()?).ok()?;
        let letter = crate::base::EndLetter::from_typed(found.record.ends[end].letter.as_deref()?)?;
        planning.by_mark(own, letter)
    })?;
    let (_, listed) = planning.end(number).listed(&job.reading.circuits);
    place.is_none_or(|place| listed.place.to_string() == place).then_some(number)
}

/// A number that tells one selection of ends from another (FNV-1a).
pub fn seen(job: &Snapshot, ends: &[usize]) -> String {
    let planning = job.planning();
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    let mut add = |bytes: &[u8]| {
        for &byte in bytes {
            hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
    };
    for &number in ends {
        let end = planning.end(number);
        add(end.mark.0.as_str().as_bytes());
        add(&end.mark.1.ordinal().to_le_bytes());
        if !end.is_issued {
            let (_, listed) = end.listed(&job.reading.circuits);
            add(listed.place.connector.as_str().as_bytes());
            add(listed.place.cavity.as_ref().map_or("", |cavity| cavity.as_str()).as_bytes());
        }
    }
    format!("{hash:016x}")
}

/// The ends of a page.
pub fn on_page(ends: &[usize], page: usize) -> &[usize] {
    ends.chunks(ROWS).nth(page - 1).unwrap_or_default()
}

/// The ends that a form selects, each once, in the order in which they are told.
///
/// # Errors
/// When nothing is selected, or it is not there any more.
pub fn selected(job: &Snapshot, form: &Fields) -> Result<Vec<usize>, Trouble> {
    let planning: &Planning = job.planning();
    let which = form.given("which").unwrap_or("ticked");
    let mut ends: Vec<usize> = Vec::new();
    if which == "ticked" {
        for name in form.all("end") {
            let gone = || {
                Trouble::refused(format!("there is no end `{name}` in the lists any more"), "look at the table again")
            };
            ends.push(named(job, name).ok_or_else(gone)?);
        }
        ends.sort_unstable();
        ends.dedup();
    } else {
        let view = View::of(&fields(form.text("back")));
        let chosen = planning.choose(&view.filter, view.order, job).ends;
        let (wanted, expected) = match which {
            "shown" => (on_page(&chosen, view.page).to_vec(), form.given("seen_shown")),
            _ => (chosen, form.given("seen_all")),
        };
        if expected != Some(seen(job, &wanted).as_str()) {
            let what = "the filter matches other ends than it did when they were shown";
            return Err(Trouble::refused(what, "look at the table again, and select them again"));
        }
        ends = wanted;
    }
    if ends.is_empty() {
        return Err(Trouble::refused("no end is selected", "tick rows, or choose all that the filter matches"));
    }
    Ok(ends)
}
