//! `tags`: a print run, and how its result is told.

use std::path::Path;

use jiff::Timestamp;
use serde_json::json;

use super::args::Answer;
use super::complaint::Complaint;
use super::made::{
    no_symbol_lines, positions, positions_json, refusals, refused_json, stand_ins, tally_line, undrawn, unmarked,
};
use super::output::Output;
use super::progress::with_bars;
use super::shopping::{needs_json, needs_lines, tube_json};
use super::stale::{NOTHING_CHANGED, due_json, due_lines};
use super::tag_args::{Making, Tags};
use super::which::chosen;
use super::{Ending, problems, sheets};
use crate::base::{Origin, Problem, Purpose, Severity, counted};
use crate::labels::AsSaid;
use crate::layout::Diameter;
use crate::layout::wire::MEASURE_FIRST;
use crate::run::check::check;
use crate::run::needs::tube_line;
use crate::run::preview_pages::PagePreview;
use crate::run::tally::Tally;
use crate::run::{self, Again, Choice, Printed, PrintedFile, Proving, Reading, Request};

/// As many warnings are told before a print run, beside those that must be seen; more are counted.
const WARNINGS_TOLD: usize = 12;

/// What is told when a choice names no tag.
const NOTHING_TO_PRINT: &str = "no tags to print: work tags go on ends that lose their housing and on their far ends (--all prints every end), final \
     tags on ends that come free";

/// What is told when only connectors have tags, as in a job where nothing is decided yet.
const NO_ENDS: &str = "no end loses its housing: fill the action column, or print a tag for every end with --all";

/// Prints and tells.
pub fn run(job: &Path, asked: &Tags, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    let read = run::read(job)?;
    let Some(mut reading) = read.value else {
        return withhold(&read.problems, asked.making.answer, output);
    };
    let renames = run::likely_renames(&reading)?;
    reading.problems.splice(0..0, renames);
    if reading.has_errors() && !asked.skip_problems {
        return withhold(&reading.problems, asked.making.answer, output);
    }
    if !asked.making.answer.json {
        if reading.has_errors() {
            output.problems(&reading.problems);
            output.aside(format!(
                "left out, without tags: {}; mend them before you cut there",
                left_out(&reading.problems)
            ));
        } else {
            warn(&reading.problems, output);
        }
    }
    let Some(choice) = chosen(&asked.which, &reading, asked.making.answer, output)? else {
        return Ok(Ending::Problems);
    };
    let again = if asked.changed { Again::Changed } else { Again::All };
    let choice = Choice { again, copies: asked.copies.into(), ..choice };
    if let Some(why) = run::no_tags(&reading, &choice)? {
        let why = format!("no tags to print: {}", why.in_words(&choice));
        if asked.making.answer.json {
            let files: [&str; 0] = [];
            let problems = problems::records(&reading.problems);
            output.json(&json!({ "run": null, "files": files, "no_tags": why, "problems": problems }))?;
        } else {
            output.line(why)?;
        }
        return Ok(Ending::Problems);
    }
    if asked.preview {
        return draw(&reading, &choice, &asked.making, output);
    }
    if again == Again::All && !asked.making.answer.json {
        run::printed_before(&reading, &choice)?.iter().for_each(|before| output.aside(&*before.in_words()));
    }
    if asked.dry_run {
        return rehearse(&reading, &choice, &asked.making, output);
    }
    print(&reading, choice, Vec::new(), &asked.making, "tags", now, output)
}

/// Warnings on a line each: whoever prints has seen them in full, or can. What must be seen comes first, all of it.
pub fn warn(warnings: &[Problem], output: &Output) {
    let (seen, mut others): (Vec<Problem>, Vec<Problem>) = warnings.iter().cloned().partition(run::must_be_seen);
    let more = others.split_off(others.len().min(WARNINGS_TOLD));
    for line in problems::one_line(&seen).lines().chain(problems::one_line(&others).lines()) {
        output.aside(line);
    }
    if !more.is_empty() {
        output.aside(format!("{}: {}", counted(more.len(), "more warning"), kinds(&more)));
    }
    if !warnings.is_empty() {
        output.aside("`loomtag check` shows each in its list");
    }
}

/// How many there are of each kind, as none of them may go unseen: `2 work-on-restraint, 1 unknown-mate`.
fn kinds(problems: &[Problem]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for problem in problems {
        match counts.iter_mut().find(|(id, _)| *id == problem.id) {
            Some((_, count)) => *count += 1,
            None => counts.push((problem.id, 1)),
        }
    }
    counts.iter().map(|(id, count)| format!("{count} {id}")).collect::<Vec<_>>().join(", ")
}

/// Tells the problems that stand in the way; nothing is printed while they do.
pub fn withhold(found: &[Problem], answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    if answer.json {
        output.json(&json!({ "problems": problems::records(found) }))?;
    } else {
        output.problems(found);
        output
            .aside("nothing is printed while errors stand; --skip-problems leaves those rows out and prints the rest");
    }
    Ok(Ending::Problems)
}

/// The rows that have errors, `helm.csv:6` or `helm.xlsx:Sheet1:6`, each once.
pub fn left_out(found: &[Problem]) -> String {
    let errors = found.iter().filter(|problem| problem.severity == Severity::Error);
    let mut rows: Vec<String> = errors
        .filter_map(|problem| problem.origin.as_ref())
        .map(|origin| {
            let whole = Origin::whole(origin.source());
            origin.line().map_or_else(|| whole.to_string(), |line| format!("{whole}:{line}"))
        })
        .collect();
    rows.dedup();
    rows.join(", ")
}

fn draw(reading: &Reading, choice: &Choice, making: &Making, output: &mut Output) -> Result<Ending, Complaint> {
    let previews = run::preview_pages(reading, choice, &making.laying(), making.out.as_deref())?;
    let is_done = previews.refused.is_empty() && !previews.pages.is_empty();
    if making.answer.json {
        let one = |page: &PagePreview| json!({ "file": page.path, "stock": page.stock, "tags": page.tags });
        output.json(&json!({
            "pages": previews.pages.iter().map(one).collect::<Vec<_>>(),
            "not_drawn": previews.more,
            "refused": refused_json(&previews.refused),
        }))?;
        return Ok(if is_done { Ending::Done } else { Ending::Problems });
    }
    for page in &previews.pages {
        output.line(format!("{}: {}", page.path.display(), counted(page.tags, "tag")))?;
    }
    if previews.more > 0 {
        output.line(format!(
            "{} not drawn: narrow it, as with --connector or --kind",
            counted(previews.more, "more page")
        ))?;
    }
    for line in refusals(&previews.refused) {
        output.line(line)?;
    }
    output.line(if previews.pages.is_empty() { NOTHING_TO_PRINT } else { "nothing was issued or printed" })?;
    Ok(if is_done { Ending::Done } else { Ending::Problems })
}

fn rehearse(reading: &Reading, choice: &Choice, making: &Making, output: &mut Output) -> Result<Ending, Complaint> {
    let checkup = check(reading, choice, &making.laying())?;
    if making.answer.json {
        output.json(&json!({
            "tags": checkup.tally.tags(),
            "changed": checkup.due.as_deref().map(due_json),
            "along": choice.along.map(|_| positions_json(&checkup.tally)),
            "refused": refused_json(&checkup.refused),
            "shopping": needs_json(&checkup.needs),
            "problems": problems::records(&reading.problems),
        }))?;
    } else if checkup.due.as_ref().is_some_and(Vec::is_empty) {
        for line in refusals(&checkup.refused) {
            output.line(line)?;
        }
        output.line(NOTHING_CHANGED)?;
    } else {
        for line in checkup.due.as_deref().map(due_lines).unwrap_or_default() {
            output.line(line)?;
        }
        output.line(format!("would print {}", tally_line(&checkup.tally)))?;
        let stand_ins = stand_ins(&checkup.tally).into_iter().chain(undrawn(&checkup.tally));
        let on_wires = stand_ins.chain(positions(&checkup.tally)).chain(unmarked(&checkup.tally));
        let said = no_symbol_lines(&checkup.tally).map(|(_, line)| line).chain(refusals(&checkup.refused));
        for line in on_wires.chain(said).chain(needs_lines(&checkup.needs)) {
            output.line(line)?;
        }
        output.line("nothing was issued or written")?;
    }
    Ok(Ending::Done)
}

/// Makes a print run of a choice and of tags as they said, and tells what came of it.
pub fn print(
    reading: &Reading,
    choice: Choice,
    as_said: Vec<AsSaid>,
    making: &Making,
    what: &str,
    now: Timestamp,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    let request = Request { as_said, ..request(choice, making, what) };
    let printed = with_bars(|progress| run::print(reading, &request, now, progress))?;
    told(&printed, reading, &request.choice, making.answer, output)
}

/// A print run as it is asked for.
pub fn request(choice: Choice, making: &Making, what: &str) -> Request {
    let proof = if making.no_proof { Proving::None } else { Proving::Every };
    let (out, laying, what) = (making.out.clone(), making.laying(), what.to_owned());
    Request { choice, as_said: Vec::new(), out, proof, laying, what }
}

/// Tells what came of a print run.
pub fn told(
    printed: &Printed,
    reading: &Reading,
    choice: &Choice,
    answer: Answer,
    output: &mut Output,
) -> Result<Ending, Complaint> {
    if answer.json {
        output.json(&printed_json(printed, reading, choice))?;
    } else {
        tell(printed, output)?;
    }
    // An end that is cut without its tag is what this program is there to prevent; a final tag can still follow.
    let lacks_work_tag = printed.refused.iter().any(|tag| tag.purpose == Purpose::Work);
    let makes_none = printed.run.is_none() && !printed.refused.is_empty() && printed.due.is_none();
    Ok(if lacks_work_tag || makes_none { Ending::Problems } else { Ending::Done })
}

/// `48 tags and 5 headers`.
fn tags_of(file: &PrintedFile) -> String {
    let tags = counted(file.tags, "tag");
    if file.headers == 0 { tags } else { format!("{tags} and {}", counted(file.headers, "header")) }
}

fn tell(printed: &Printed, output: &mut Output) -> Result<(), Complaint> {
    match printed.due.as_deref() {
        Some([]) => {
            for line in refusals(&printed.refused) {
                output.line(line)?;
            }
            return Ok(output.line(NOTHING_CHANGED)?);
        }
        Some(due) => {
            for line in due_lines(due) {
                output.line(line)?;
            }
        }
        None => {}
    }
    let Some(run) = printed.run else {
        for line in refusals(&printed.refused) {
            output.line(line)?;
        }
        if printed.refused.is_empty() {
            output.line(NOTHING_TO_PRINT)?;
        }
        return Ok(());
    };
    for file in &printed.files {
        let proof = file.proof.as_ref().map_or_else(
            || "not read back".to_owned(),
            |proof| if proof.expected == 0 { "no symbols".to_owned() } else { proof.to_string() },
        );
        output.line(format!(
            "{}: {} on {}, {proof}",
            file.path.display(),
            tags_of(file),
            counted(file.pages, "page")
        ))?;
    }
    for file in &printed.files {
        if let Some(tube) = &file.tube {
            output.line(format!("{}: {}", file.stock, tube_line(tube)))?;
        }
        for line in sheets::laid_lines(file) {
            output.line(line)?;
        }
    }
    output.line(tally_line(&printed.tally))?;
    let tally = &printed.tally;
    let told = [stand_ins(tally), undrawn(tally), positions(tally), unmarked(tally)];
    for line in told.into_iter().flatten() {
        output.line(line)?;
    }
    for (note, tags) in &printed.tally.symbol_notes {
        output.line(format!("{note} ({})", tags.join(", ")))?;
    }
    // Of flags and tie-ons the notes above say more.
    for (_, line) in no_symbol_lines(&printed.tally).filter(|(kind, _)| kind.is_round()) {
        output.line(line)?;
    }
    for (tag, needs) in &printed.tally.strips {
        output.line(format!("strip {tag} goes under {needs}"))?;
    }
    let tally = &printed.tally;
    if tally.round_one_wire > 0 {
        let tags = counted(tally.round_one_wire, "tag");
        let assumed = Diameter::assumed().length();
        output
            .line(format!("{tags} of connectors: each goes round one of its wires, close to it; made for {assumed}"))?;
    }
    if tally.connectors > 0 && tally.connectors == tally.tags() {
        output.line(NO_ENDS)?;
    }
    if printed.tally.assumed > 0 {
        let tags = counted(printed.tally.assumed, "flag");
        let assumed = Diameter::assumed().length();
        output.line(format!("{tags} made for a wire of {assumed}, because the diameter is not known"))?;
    }
    if printed.tally.tabled > 0 {
        let tags = counted(printed.tally.tabled, "final tag");
        output.line(format!(
            "{tags} made for a table value of the diameter: {MEASURE_FIRST} (`loomtag check` shows which)"
        ))?;
    }
    for line in refusals(&printed.refused) {
        output.line(line)?;
    }
    output.line(format!("run {run}; print at 100 %, and measure the ruler before you cut"))?;
    for line in cautions(&printed.tally) {
        output.line(line)?;
    }
    Ok(())
}

/// What to mind with the tags that were printed, in short; the README has it in full.
fn cautions(tally: &Tally) -> Vec<String> {
    let mut lines = tally.dangers_in_words();
    lines.push("disconnect every battery, negative first; tag both sides, then cut between the tags".to_owned());
    lines.push("no mark does not mean dead: test".to_owned());
    lines
}

fn printed_json(printed: &Printed, reading: &Reading, choice: &Choice) -> serde_json::Value {
    let files: Vec<_> = printed
        .files
        .iter()
        .map(|file| {
            json!({
                "file": file.path,
                "stock": file.stock,
                "purpose": file.purpose.to_string(),
                "tags": file.tags,
                "headers": file.headers,
                "pages": file.pages,
                "sheets": sheets::laid_json(file),
                "tube": file.tube.as_ref().map(tube_json),
                "symbols": file.proof.as_ref().map(|proof| json!({ "expected": proof.expected, "read": proof.read })),
            })
        })
        .collect();
    json!({
        "run": printed.run.map(|run| run.get()),
        "folder": printed.folder,
        "files": files,
        "changed": printed.due.as_deref().map(due_json),
        "along": choice.along.map(|_| positions_json(&printed.tally)),
        "refused": refused_json(&printed.refused),
        "problems": problems::records(&reading.problems),
    })
}
