//! `blanks`: coded tags that belong to nothing yet, printed or listed for a marker pen; and what became of them.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::args::Answer;
use super::complaint::Complaint;
use super::find::usable;
use super::output::Output;
use super::progress::with_bars;
use super::spelled::spelled;
use super::table::{columns, table, wrapped};
use super::tag_args::Blanks;
use super::{Ending, tags};
use crate::base::{Length, TagKind, counted};
use crate::codes::{Blank, Way};
use crate::layout::{Diameter, Refusal};
use crate::run::recall::blank::{day, origin};
use crate::run::{self, Choice, DIAMETERS, Reading};

/// So many listed codes stand together.
const TOGETHER: usize = 5;

/// Prints blanks, or issues codes for a marker pen, or lists what there is.
pub fn run(job: &Path, asked: &Blanks, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let Some(reading) = usable(job, output)? else { return Ok(Ending::Problems) };
    match asked.count {
        None => tell_all(&reading, asked.making.answer, output),
        Some(count) if asked.list => list(&reading, count, asked.making.answer, now, output),
        Some(count) => print(&reading, count, asked, now, output),
    }
}

fn print(
    reading: &Reading,
    count: u32,
    asked: &Blanks,
    now: Timestamp,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    let kind = asked.kind.as_deref().and_then(TagKind::from_word);
    let diameter = match asked.diameter {
        Some(mm) if !DIAMETERS.contains(&mm) => {
            return Err(Complaint::Typed {
                what: format!("`--diameter` cannot be {mm} mm"),
                remedy: format!("tell one from {} to {} mm", DIAMETERS.start(), DIAMETERS.end()),
            });
        }
        told => told.map(Length::mm),
    };
    let of_kind = asked.kind.as_ref().map(|kind| format!(" --kind {kind}")).unwrap_or_default();
    let request = tags::request(Choice::default(), &asked.making, &format!("blanks {count}{of_kind}"));
    let printed = with_bars(|progress| run::print_blanks(reading, count, kind, diameter, &request, now, progress))?;
    if let (None, Some(refused), false) = (printed.run, printed.refused.first(), asked.making.answer.json) {
        // No row of a list can be filled for a blank.
        let why = match needs_diameter(&refused.refusal) {
            true => {
                "a wrap is made for a wire's diameter; tell that of the thinnest wire with --diameter, in mm".to_owned()
            }
            false => refused.refusal.to_string(),
        };
        for line in wrapped(&format!("no blanks: {why}"), 2) {
            output.line(line)?;
        }
        output.line("no code was issued")?;
        return Ok(Ending::Problems);
    }
    let ending = tags::told(&printed, reading, &request.choice, asked.making.answer, output)?;
    if printed.run.is_some() && !asked.making.answer.json {
        if asked.diameter.is_none() && printed.tally.kinds.contains_key(&TagKind::Flag) {
            let assumed = Diameter::assumed().length();
            output.line(format!("flags are made for wires of {assumed}; for thick ones tell another --diameter"))?;
        }
        output.line(
            "hang one on a wire that is in no chart; `loomtag assign CODE PLACE` tells later what it proved to be",
        )?;
    }
    Ok(ending)
}

fn needs_diameter(refusal: &Refusal) -> bool {
    match refusal {
        Refusal::Otherwise { refusal, .. } => needs_diameter(refusal),
        refusal => *refusal == Refusal::DiameterUnknown,
    }
}

fn list(
    reading: &Reading,
    count: u32,
    answer: Answer,
    now: Timestamp,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    let codes = run::issue_listed(reading, count, now)?;
    if answer.json {
        output.json(&json!({ "codes": codes.iter().map(ToString::to_string).collect::<Vec<_>>() }))?;
        return Ok(Ending::Done);
    }
    let rows: Vec<Vec<String>> =
        codes.iter().map(|&code| vec![code.to_string(), spelled(code), "_".repeat(40)]).collect();
    for (index, line) in columns(&rows).into_iter().enumerate() {
        if index > 0 && index % TOGETHER == 0 {
            output.line("")?;
        }
        output.line(line)?;
    }
    output.aside("");
    output.aside("these codes are yours: write each on one tag only, and strike it out here");
    Ok(Ending::Done)
}

/// Blanks that nobody has told of first: they are what is looked for.
fn tell_all(reading: &Reading, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    let blanks = run::blanks(reading)?;
    let (assigned, open): (Vec<&Blank>, Vec<&Blank>) = blanks.iter().partition(|blank| blank.assigned.is_some());
    if answer.json {
        output.json(&blanks.iter().map(as_json).collect::<Vec<_>>())?;
        return Ok(Ending::Done);
    }
    if blanks.is_empty() {
        output.line("no blanks yet: `loomtag blanks 24` prints some")?;
        return Ok(Ending::Done);
    }
    if !open.is_empty() {
        output.line(format!("{} not assigned yet", counted(open.len(), "blank")))?;
        let rows: Vec<Vec<String>> = open.iter().map(|blank| vec![blank.code.to_string(), origin(blank)]).collect();
        for line in columns(&rows) {
            output.line(format!("  {line}"))?;
        }
    }
    if !assigned.is_empty() {
        output.line(format!("{} assigned", counted(assigned.len(), "blank")))?;
        let row = |blank: &&Blank| {
            let (circuit, place, when) = blank
                .assigned
                .as_ref()
                .map(|assigned| (assigned.designation.clone(), assigned.place.clone(), day(assigned.when)))
                .unwrap_or_default();
            vec![blank.code.to_string(), circuit, place, when]
        };
        let rows: Vec<Vec<String>> = assigned.iter().map(row).collect();
        for line in table(&["code", "circuit", "place", "told"], &rows) {
            output.line(format!("  {line}"))?;
        }
    }
    Ok(Ending::Done)
}

fn as_json(blank: &Blank) -> serde_json::Value {
    json!({
        "code": blank.code.to_string(),
        "way": match blank.way { Way::Printed => "printed", Way::Listed => "listed" },
        "issued": blank.issued.to_string(),
        "run": blank.run.as_ref().map(|run| run.number.get()),
        "kind": blank.run.as_ref().map(|run| run.kind.clone()),
        "assigned": blank.assigned.as_ref().map(|assigned| json!({
            "circuit": assigned.designation,
            "place": Some(&assigned.place).filter(|place| !place.is_empty()),
            "end": assigned.end.map(|(code, letter)| format!("{code} {letter}")),
            "when": assigned.when.to_string(),
        })),
    })
}
