//! `send`: PDFs to a printer, and what it says meanwhile.

use std::io::{self, BufRead, IsTerminal};
use std::path::Path;
use std::time::Duration;

use indicatif::ProgressBar;
use jiff::Timestamp;
use serde_json::{Value, json};

use super::Ending;
use super::args::{Answer, Send};
use super::complaint::Complaint;
use super::output::Output;
use crate::base::{PrinterAddress, counted};
use crate::run::Job;
use crate::run::sendable::{SendableFile, sendable};
use crate::run::sheets::{after_printing, before_printing};
use crate::run::trying::Untried;
use crate::send::{self, FoundPrinter, Plan, PlannedFile, SentFile, Told, Wish};

/// Finds printers, shows what would be sent, or sends.
pub fn run(folder: &Path, asked: &Send, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    if asked.find {
        return find(asked.answer, output);
    }
    let read = Job::read(folder)?;
    // Lists are not looked at: what is printed here was proved when it was made.
    let Some(job) = read.value.filter(|_| !crate::base::problem::has_errors(&read.problems)) else {
        output.problems(&read.problems);
        return Ok(Ending::Problems);
    };
    let printer = asked.printer.as_deref().map(typed_address).transpose()?;
    let found = match sendable(&job, asked.what.as_deref())? {
        Ok(found) => found,
        Err(Untried::Typed { what, remedy }) => return Err(Complaint::Typed { what, remedy: remedy.into() }),
        Err(Untried::Problems(problems)) => {
            output.problems(&problems);
            return Ok(Ending::Problems);
        }
    };
    let wish = Wish {
        printer,
        copies: asked.copies,
        is_colour: asked.colour,
        // A dry run is not about what was sent before.
        is_again: asked.again || asked.dry_run,
        is_rehearsal: asked.dry_run,
        patience: Duration::from_secs(u64::from(asked.wait) * 60),
    };
    let plan = send::plan(&job, found, wish)?;
    if asked.dry_run {
        return rehearse(&plan, asked.answer, output);
    }
    if let (Some(last), true) = (plan.left_out.first(), plan.files.is_empty()) {
        let what = format!("`{}` was printed already, on {} by {}", last.file, when(&last.at), last.printer);
        let remedy = "--again sends it once more; a second copy of a code must not end on another wire".to_owned();
        return Err(Complaint::Typed { what, remedy });
    }
    for last in &plan.left_out {
        output.aside(format!(
            "left out: `{}` was printed already, on {}; --again sends it once more",
            last.file,
            when(&last.at)
        ));
    }
    for other in &plan.others {
        output.aside(format!("left out: `{other}` goes to the other printer of this job"));
    }
    if plan.changes_stock() && !io::stdin().is_terminal() {
        let names: Vec<String> = plan.files.iter().map(|planned| planned.file.path.display().to_string()).collect();
        return Err(Complaint::Typed {
            what: "this run needs several stocks in one printer, and nobody is asked here when to change them"
                .to_owned(),
            remedy: format!("send one PDF at a time: {}", names.join(", ")),
        });
    }
    let bar = ProgressBar::new_spinner();
    let mut ready = |planned: &PlannedFile| bar.suspend(|| lay_in(planned, &plan, output));
    let sent = send::send(&plan, now, &mut ready, &mut |told| tell(&told, &bar));
    bar.finish_and_clear();
    let sent = sent?;
    let is_done = sent.len() == plan.files.len() && sent.iter().all(SentFile::is_printed);
    if asked.answer.json {
        output.json(&json!({ "sent": sent, "left_out": plan.left_out }))?;
    } else {
        for (planned, sent) in plan.files.iter().zip(&sent) {
            output.line(planned.ended(sent))?;
            for line in after(&planned.file) {
                output.line(line)?;
            }
        }
        for planned in &plan.files[sent.len()..] {
            output.line(format!("{}: not sent; `loomtag send` goes on with it", planned.file.name()))?;
        }
        if !is_done {
            output.line("the run and its codes stay as they are: when the printer is ready, send it again")?;
        }
    }
    Ok(if is_done { Ending::Done } else { Ending::Problems })
}

fn typed_address(typed: &str) -> Result<PrinterAddress, Complaint> {
    PrinterAddress::from_typed(typed).map_err(|why| Complaint::Typed {
        what: format!("`{typed}` is no address of a printer: {}", why.what),
        remedy: why.remedy.to_owned(),
    })
}

fn find(answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    let found = send::find()?;
    if answer.json {
        let one = |printer: &FoundPrinter| {
            let by_number = printer.by_number.as_ref().map(ToString::to_string);
            json!({ "name": printer.name, "address": printer.address.to_string(), "by_number": by_number, "formats": printer.formats })
        };
        output.json(&json!({ "printers": found.iter().map(one).collect::<Vec<_>>() }))?;
        return Ok(Ending::Done);
    }
    if found.is_empty() {
        output.line("no printer tells of itself in this network")?;
        output.line(
            "it may still be there: look for its address in its own menu, and put it into job.toml: address = \"ipp://host/ipp/print\"",
        )?;
        return Ok(Ending::Done);
    }
    for printer in &found {
        output.line(&printer.name)?;
        output.line(format!("  address = \"{}\"", printer.address))?;
        if let Some(by_number) = &printer.by_number {
            output.line(format!("  or, where this computer does not know the name: \"{by_number}\""))?;
        }
        if !printer.formats.is_empty() {
            output.line(format!("  takes {}", printer.formats.join(", ")))?;
        }
    }
    output.line("put the address into job.toml, below [printer] or [sleeve_printer]")?;
    Ok(Ending::Done)
}

fn rehearse(plan: &Plan, answer: Answer, output: &mut Output) -> Result<Ending, Complaint> {
    let mut is_fine = true;
    let mut answers = Vec::new();
    for planned in &plan.files {
        let refusal = match &planned.unasked {
            Some(failure) => Some(failure.to_string()),
            None => planned.validate().err().map(|failure| failure.to_string()),
        };
        is_fine &= refusal.is_none();
        if answer.json {
            answers.push(rehearsed_json(planned, refusal));
            continue;
        }
        output.line(heading(planned))?;
        output.line(match planned.unasked {
            None => "would be sent:",
            Some(_) => "would be sent, where the printer takes PDF and pages of this size:",
        })?;
        for line in planned.attributes() {
            output.line(format!("  {line}"))?;
        }
        if planned.unasked.is_none() {
            output.line("the printer supports:")?;
            for (name, values) in planned.supports() {
                let values = if values.is_empty() { "not told".to_owned() } else { values };
                output.line(format!("  {name}: {values}"))?;
            }
        }
        for note in planned.notes() {
            output.line(format!("note: {note}"))?;
        }
        for line in before(&planned.file) {
            output.line(line)?;
        }
        output.line(match (refusal, &planned.unasked) {
            (None, _) => "the printer would take it; nothing was printed".to_owned(),
            (Some(why), None) => format!("the printer would not take it: {why}"),
            (Some(why), Some(_)) => {
                format!("the printer was not asked: {why}; `loomtag send --find` looks for printers")
            }
        })?;
    }
    if answer.json {
        output.json(&json!({ "files": answers }))?;
    }
    Ok(if is_fine { Ending::Done } else { Ending::Problems })
}

fn rehearsed_json(planned: &PlannedFile, refusal: Option<String>) -> Value {
    let supports: serde_json::Map<String, Value> =
        planned.supports().into_iter().map(|(name, values)| (name.to_owned(), values.into())).collect();
    json!({
        "file": planned.file.path,
        "printer": planned.address().to_string(),
        "printer_name": planned.printer,
        "pages": planned.pages,
        "size_mm": [planned.size.width.as_mm(), planned.size.height.as_mm()],
        "format": planned.format(),
        "attributes": planned.attributes(),
        "supports": planned.unasked.is_none().then_some(supports),
        "asked": planned.unasked.is_none(),
        "notes": planned.notes(),
        "refused": refusal,
    })
}

/// What is sent where, on one line.
fn heading(planned: &PlannedFile) -> String {
    let size = format!("{:.1} x {:.1} mm", planned.size.width.as_mm(), planned.size.height.as_mm());
    let (name, pages) = (planned.file.name(), counted(planned.pages, "page"));
    format!("{name}: {pages} of {size} as {} to {}, {}", planned.format(), planned.printer, planned.address())
}

/// Tells notes and the sheets to lay in, and waits for them where a person is there: a printer must not begin before.
fn lay_in(planned: &PlannedFile, plan: &Plan, output: &Output) -> bool {
    for note in planned.notes() {
        output.aside(format!("note: {note}"));
    }
    let lines = before(&planned.file);
    let is_begun = !lines.is_empty();
    lines.into_iter().for_each(|line| output.aside(line));
    if !(is_begun || plan.changes_stock()) || !io::stdin().is_terminal() {
        return true;
    }
    let what = planned.stock().unwrap_or("paper");
    output.aside(format!(
        "{}: press Enter when {what} lies in {}, or type `no` to stop",
        planned.file.name(),
        planned.printer
    ));
    let mut typed = String::new();
    let read = io::stdin().lock().read_line(&mut typed);
    read.is_ok_and(|count| count > 0) && typed.trim().is_empty()
}

/// The progress: a line that changes where a person looks, else lines below one another.
fn tell(told: &Told, bar: &ProgressBar) {
    let line = told.to_string();
    let is_passing = matches!(told, Told::Page(_) | Told::Job { .. } | Told::Sending { .. } | Told::Accepted(_));
    if bar.is_hidden() {
        // Nobody looks at a line that changes: every one is kept. Where nobody listens any more it is lost, and nothing else.
        let _ = io::Write::write_all(&mut io::stderr(), format!("{line}\n").as_bytes());
    } else if is_passing {
        bar.set_message(line);
        bar.tick();
    } else {
        bar.println(line);
    }
}

/// Sheets to lay in before, where any of them is begun.
fn before(file: &SendableFile) -> Vec<String> {
    file.record.as_ref().map(before_printing).unwrap_or_default()
}

/// Which sheet is which, once they are out.
fn after(file: &SendableFile) -> Vec<String> {
    let told = file.record.as_ref().and_then(after_printing);
    told.into_iter().map(|line| format!("  {line}")).collect()
}

/// The day and minute of a time of sent.json, in UTC.
fn when(at: &str) -> String {
    at.get(..16).map_or_else(|| at.to_owned(), |at| format!("{} UTC", at.replace('T', " ")))
}
