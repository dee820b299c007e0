//! `decide`: what shall be done with ends, beside the lists; what stands of it, and how it is taken back.

use std::path::Path;

use clap::Args as Arguments;
use jiff::Timestamp;
use serde_json::{Value, json};

use super::Ending;
use super::args::Answer;
use super::complaint::{Complaint, with_remedy};
use super::find::{tell_nearest, usable};
use super::output::Output;
use super::table::table;
use crate::base::counted;
use crate::codes::{Made, Undo};
use crate::run;
use crate::run::deciding::told::{Standing, Told, holds_now};
use crate::run::deciding::{Change, Decided, Known, NotDecided, OfThese, Wish};
use crate::run::named::unknown;
use crate::run::recall::{Recall, moment};

#[derive(Debug, Arguments)]
#[command(
    after_help = "actions: undecided, keep, remove, cut, move J2/9, add, extend, reserve; or `list`, for what the lists say.\n\
    The lists stay as they are: a decision lies in the register and counts above them, until it is taken back.\n\n\
    Examples:\n  loomtag decide J1/14 7KF4/B cut --note \"cap it\"\n  loomtag decide J1/9 move J2/9\n  \
    loomtag decide --connector J1 keep --undecided-only\n  loomtag decide J1/14 list\n  \
    loomtag decide --list\n  loomtag decide --csv > to-write.csv\n  loomtag decide --undo"
)]
pub struct Decide {
    /// Codes (`7KF4/A`), places (`J1/14`) or circuits, then the action
    #[arg(value_name = "CODE|PLACE... ACTION")]
    pub words: Vec<String>,
    /// The ends of all cavities of these connectors, too
    #[arg(long, value_name = "NAME,…", value_delimiter = ',')]
    pub connector: Vec<String>,
    /// Of these ends only those of which nothing is decided yet
    #[arg(long)]
    pub undecided_only: bool,
    /// The remark of the ends, instead of the list's; empty for none
    #[arg(long, value_name = "TEXT")]
    pub note: Option<String>,
    /// List what stands, with what the lists say
    #[arg(long, conflicts_with_all = ["words", "connector", "note", "undo", "csv"])]
    pub list: bool,
    /// List what was taken back or decided otherwise later, too
    #[arg(long, requires = "list")]
    pub all: bool,
    /// Write what the lists do not say yet as CSV, to carry it into them
    #[arg(long, conflicts_with_all = ["words", "connector", "note", "undo", "json"])]
    pub csv: bool,
    /// Take a decision back, by its number [without one: all of the last act]
    #[arg(long, value_name = "N", conflicts_with_all = ["words", "connector", "note"],
        value_parser = clap::value_parser!(u32).range(1..))]
    #[expect(clippy::option_option, reason = "given, and given with a number")]
    pub undo: Option<Option<u32>>,
    #[command(flatten)]
    pub answer: Answer,
}

/// Decides, lists or takes back, and tells.
pub fn run(job: &Path, asked: &Decide, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    let known = Known::of(&reading)?;
    let deciding = known.deciding(&reading);
    if let Some(number) = asked.undo {
        return undo(job, number.map_or(Undo::Last, Undo::Number), &known, asked.answer, now, output);
    }
    if asked.list || asked.csv {
        let told = deciding.told(&run::deciding::decisions(job)?);
        if asked.csv {
            output.bytes(&deciding.to_carry_over(&told))?;
            return Ok(Ending::Done);
        }
        let told: Vec<&Told> = told.iter().filter(|told| asked.all || told.standing.stands()).collect();
        return list(&told, asked, output);
    }
    let of_these = if asked.undecided_only { OfThese::Undecided } else { OfThese::All };
    let wish = deciding.wish(
        &asked.words,
        Wish { connectors: asked.connector.clone(), of_these, note: asked.note.clone(), ..Wish::default() },
    );
    let decided = match wish {
        Ok(wish) => deciding.decide(&[wish], now)?,
        Err(why) => Err(why),
    };
    match decided {
        Ok(decided) => {
            let stale = newly_stale(job, &known.recall, &decided)?;
            tell(&decided, stale, asked.answer, output)
        }
        Err(why) => not_decided(&why, asked.answer, &known.recall, output),
    }
}

/// How many tags on wires tell the truth no longer, that did before.
fn newly_stale(job: &Path, before: &Recall, decided: &Decided) -> Result<usize, Complaint> {
    if decided.act.is_none() {
        return Ok(0);
    }
    let Some(reading) = run::read(job)?.value else { return Ok(0) };
    Ok(run::recall(&reading)?.stale_tags().saturating_sub(before.stale_tags()))
}

fn tell(decided: &Decided, stale: usize, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    if answer.json {
        let changes: Vec<Value> = decided.changes.iter().map(change_json).collect();
        output.json(&json!({
            "act": decided.act, "decided": changes, "unchanged": decided.unchanged, "issued": decided.issued,
            "stale": stale,
        }))?;
        return Ok(Ending::Done);
    }
    if decided.issued > 0 {
        output.line(format!("{} issued", counted(decided.issued, "code")))?;
    }
    for change in &decided.changes {
        let matter = change.decision.matter.word();
        let said = match matter {
            "note" => format!("note {}, before {}", shown(&change.after), shown(&change.before)),
            _ => format!("{}, before {}", change.after, change.before),
        };
        let listed = match (change.decision.matter.words(), matter) {
            (None, _) => " (as the list says)".to_owned(),
            (Some(_), "note") => format!(" (the list says {})", shown(&change.listed)),
            (Some(_), _) => format!(" (the list says {})", change.listed),
        };
        output.line(format!("decision {}: {}: {said}{listed}", change.number, change.about))?;
        for warning in &change.warnings {
            output.line(format!("  ! {warning}"))?;
        }
    }
    if decided.unchanged > 0 {
        let verb = if decided.unchanged == 1 { "is" } else { "are" };
        output.line(format!("{} {verb} so already", counted(decided.unchanged, "end")))?;
    }
    if decided.changes.is_empty() && decided.unchanged == 0 {
        output.line("nothing is decided: none of these ends is undecided")?;
    }
    if stale > 0 {
        let verb = if stale == 1 { "tells" } else { "tell" };
        output
            .line(format!("{} on wires no longer {verb} the truth: `loomtag tags --changed`", counted(stale, "tag")))?;
    }
    Ok(Ending::Done)
}

/// A note as it is told.
fn shown(note: &str) -> String {
    if note.is_empty() { "none".to_owned() } else { format!("`{note}`") }
}

fn undo(
    job: &Path,
    what: Undo,
    known: &Known,
    answer: Answer,
    now: Timestamp,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    let undone = run::undo(job, what, now)?;
    if answer.json {
        let undone: Vec<Value> = undone.iter().map(made_json).collect();
        output.json(&json!({ "taken_back": undone }))?;
        return Ok(Ending::Done);
    }
    let by_now = run::read(job)?.value.map(|reading| run::recall(&reading)).transpose()?;
    for made in &undone {
        let (code, letter) = made.mark();
        let about = known.about(code, letter);
        output.line(format!("decision {} is taken back: {about}: {}", made.number, said(made)))?;
        if let Some(holds) = by_now.as_ref().and_then(|recall| holds_now(recall, made)) {
            output.line(format!("  now {holds}"))?;
        }
    }
    Ok(Ending::Done)
}

/// `cut`, `note `cap it``.
fn said(made: &Made) -> String {
    let matter = &made.decision.matter;
    match (matter.word(), matter.words()) {
        (word, None) => format!("{word} as the list says"),
        ("note", Some(note)) => format!("note {}", shown(&note)),
        (_, Some(words)) => words,
    }
}

/// Tells why nothing was decided: what names nothing ends with 1, what cannot be followed with 2.
fn not_decided(why: &NotDecided, answer: Answer, recall: &Recall, output: &mut Output) -> Result<Ending, Complaint> {
    match why {
        NotDecided::Words { what, remedy } => {
            return Err(Complaint::Typed { what: what.clone(), remedy: remedy.to_string() });
        }
        _ if answer.json => output.json(&json!({ "decided": [], "why": with_remedy(why, why.remedy()) }))?,
        NotDecided::Unknown(typed) => {
            output.line(format!("nothing is decided: {}", unknown(typed)))?;
            tell_nearest(recall.by_scanned(typed).nearest(), output)?;
        }
        NotDecided::CannotBe(_) | NotDecided::NoCode(_) => {
            output.line(format!("nothing is decided: {}", with_remedy(why, why.remedy())))?;
        }
    }
    Ok(Ending::Problems)
}

fn list(told: &[&Told], asked: &Decide, output: &mut Output) -> Result<Ending, Complaint> {
    if asked.answer.json {
        let decisions: Vec<Value> = told.iter().map(|told| told_json(told)).collect();
        output.json(&json!({ "decisions": decisions }))?;
        return Ok(Ending::Done);
    }
    if told.is_empty() {
        output.line("nothing is decided beside the lists")?;
        return Ok(Ending::Done);
    }
    let rows: Vec<Vec<String>> = told
        .iter()
        .map(|told| {
            let (code, letter) = told.made.mark();
            let standing = match (told.standing, told.made.undoes, told.made.undone_by) {
                (Standing::TakesBack, Some(of), _) => format!("takes {of} back"),
                (Standing::TakenBack, _, Some(by)) => format!("taken back by {by}"),
                (standing, ..) => standing.words().to_owned(),
            };
            let listed = told.listed.as_deref().map(|listed| if listed.is_empty() { "nothing" } else { listed });
            vec![
                told.made.number.to_string(),
                moment(told.made.when),
                format!("{code} {letter}"),
                told.place.as_ref().map(ToString::to_string).unwrap_or_default(),
                said(&told.made),
                listed.unwrap_or_default().to_owned(),
                told.row.clone().unwrap_or_default(),
                standing,
            ]
        })
        .collect();
    for line in table(&["decision", "when", "tag", "place", "decided", "the list says", "row", ""], &rows) {
        output.line(line)?;
    }
    Ok(Ending::Done)
}

fn made_json(made: &Made) -> Value {
    let (code, letter) = made.mark();
    json!({
        "number": made.number,
        "act": made.act,
        "code": code.to_string(),
        "letter": letter.to_string(),
        "matter": made.decision.matter.word(),
        "words": made.decision.matter.words(),
        "undoes": made.undoes,
        "undone_by": made.undone_by,
        "at": made.when.to_string(),
    })
}

fn told_json(told: &Told) -> Value {
    let mut json = made_json(&told.made);
    json["place"] = json!(told.place.as_ref().map(ToString::to_string));
    json["listed"] = json!(told.listed);
    json["row"] = json!(told.row);
    json["standing"] = json!(told.standing.words());
    json
}

fn change_json(change: &Change) -> Value {
    json!({
        "number": change.number,
        "code": change.decision.code.to_string(),
        "letter": change.decision.letter.to_string(),
        "place": change.place.to_string(),
        "about": change.about,
        "matter": change.decision.matter.word(),
        "words": change.decision.matter.words(),
        "before": change.before,
        "after": change.after,
        "listed": change.listed,
        "warnings": change.warnings,
    })
}
