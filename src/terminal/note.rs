//! `note`: what was done or found at an end, and the notes there are.

use std::path::Path;

use jiff::Timestamp;
use serde_json::{Value, json};

use super::Ending;
use super::args::{self, Answer};
use super::complaint::{Complaint, with_remedy};
use super::find::{tell_nearest, usable};
use super::output::Output;
use super::table::table;
use crate::codes::{Noted, Notes};
use crate::run;
use crate::run::named::unknown;
use crate::run::noting::{Asked, Bench, NotNoted, Planned, Subject, journal};
use crate::run::recall::{Recall, moment};

/// Notes and tells, or lists.
pub fn run(job: &Path, asked: &args::Note, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let recall = run::recall(&reading)?;
    let (notes, codes) = journal(job)?;
    let bench = Bench { recall: &recall, notes: &notes, codes: &codes };
    if asked.list {
        return match asked.words[..] {
            [] => tell_list(&bench, &notes.all().iter().collect::<Vec<_>>(), asked.answer, output),
            _ => match bench.subjects(&asked.words) {
                Ok(subjects) => tell_list(&bench, &of_subjects(&subjects, &notes), asked.answer, output),
                Err(why) => not_noted(&why, asked.answer, &recall, output),
            },
        };
    }
    let typed = Asked { words: asked.words.clone(), with: asked.with.clone(), supersedes: asked.instead };
    let planned = match bench.plan(&typed) {
        Ok(planned) => planned,
        Err(why) => return not_noted(&why, asked.answer, &recall, output),
    };
    let numbers = run::note(job, &planned, now)?;
    if asked.answer.json {
        let noted: Vec<Value> =
            numbers.iter().zip(&planned).map(|(&number, planned)| planned_json(number, planned, now)).collect();
        output.json(&json!({ "noted": noted }))?;
        return Ok(Ending::Done);
    }
    for (number, planned) in numbers.iter().zip(&planned) {
        let supersedes = planned.note.supersedes.map(|earlier| format!(" (supersedes note {earlier})"));
        let said = planned.note.in_words().replace('\n', "\n    ");
        output.line(format!("note {number}: {}: {said}{}", planned.about, supersedes.unwrap_or_default()))?;
        for warning in planned.warnings.iter().cloned().chain(bench.otherwise_in_words(planned)) {
            output.line(format!("  ! {warning}"))?;
        }
    }
    Ok(Ending::Done)
}

/// Tells why nothing was noted: what names nothing ends with 1, what cannot be followed with 2.
fn not_noted(why: &NotNoted, answer: Answer, recall: &Recall, output: &mut Output) -> Result<Ending, Complaint> {
    if let (true, NotNoted::Unknown(_) | NotNoted::CannotBe(_) | NotNoted::NoCode(_)) = (answer.json, why) {
        output.json(&json!({ "noted": [], "why": with_remedy(why, why.remedy()) }))?;
        return Ok(Ending::Problems);
    }
    match why {
        NotNoted::Words(why) => Err(Complaint::Typed { what: why.what.clone(), remedy: why.remedy.clone() }),
        NotNoted::Unknown(typed) => {
            output.line(format!("nothing is noted: {}", unknown(typed)))?;
            let nearest = recall.by_scanned(typed);
            tell_nearest(nearest.nearest(), output)?;
            if nearest.nearest().is_empty() && typed.contains('/') {
                output
                    .line("a wire that is in no list gets a blank tag (`loomtag blanks`), whose code can be noted")?;
            }
            Ok(Ending::Problems)
        }
        NotNoted::CannotBe(_) | NotNoted::NoCode(_) => {
            output.line(format!("nothing is noted: {}", with_remedy(why, why.remedy())))?;
            Ok(Ending::Problems)
        }
    }
}

/// The notes of what was named, in the order of their numbers.
fn of_subjects<'n>(subjects: &[Subject], notes: &'n Notes) -> Vec<&'n Noted> {
    let mut found: Vec<&Noted> = subjects.iter().flat_map(|subject| subject.all_notes(notes)).collect();
    found.sort_by_key(|noted| noted.number);
    found.dedup_by_key(|noted| noted.number);
    found
}

fn tell_list(bench: &Bench<'_>, notes: &[&Noted], answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    if answer.json {
        let notes: Vec<Value> = notes.iter().map(|noted| noted_json(noted)).collect();
        output.json(&json!({ "notes": notes }))?;
        return Ok(Ending::Done);
    }
    if notes.is_empty() {
        output.line("nothing is noted yet")?;
    }
    let rows: Vec<Vec<String>> = notes
        .iter()
        .map(|noted| {
            let by = noted.superseded_by.map(|by| format!(" (superseded by note {by})")).unwrap_or_default();
            let said = noted.note.in_words().replace('\n', "\n    ");
            let place = bench.place(&noted.note).unwrap_or_default();
            vec![noted.number.to_string(), moment(noted.at), noted.note.name(), place, said + &by]
        })
        .collect();
    for line in table(&["note", "when", "tag", "place", ""], &rows).iter().filter(|_| !rows.is_empty()) {
        output.line(line)?;
    }
    Ok(Ending::Done)
}

fn noted_json(noted: &Noted) -> Value {
    let note = &noted.note;
    let (sort, step) = note.said.words();
    let with =
        note.other.map(|(code, letter)| letter.map_or_else(|| code.to_string(), |letter| format!("{code} {letter}")));
    json!({
        "number": noted.number,
        "code": note.code.to_string(),
        "letter": note.letter.map(|letter| letter.to_string()),
        "sort": sort,
        "step": step,
        "value": note.value,
        "words": note.remark,
        "with": with,
        "supersedes": note.supersedes,
        "superseded_by": noted.superseded_by,
        "at": noted.at.to_string(),
    })
}

fn planned_json(number: u32, planned: &Planned, now: Timestamp) -> Value {
    let noted = Noted { number, note: planned.note.clone(), at: now, superseded_by: None };
    let mut told = noted_json(&noted);
    told["about"] = json!(planned.about);
    told["warnings"] = json!(planned.warnings);
    told["otherwise"] = json!(planned.otherwise);
    told
}
