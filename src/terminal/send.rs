//! `send`: PDFs to a printer, and what it says meanwhile.

use std::io::{self, BufRead, IsTerminal};
use std::path::Path;
use std::time::Duration;

use indicatif::ProgressBar;
use jiff::Timestamp;
use serde_json::{Value, json};

use super::Ending;
use super::args::Send;
use super::complaint::Complaint;
use super::output::{Output, plural};
use crate::base::PrinterAddress;
use crate::run::Job;
use crate::run::record::{FileRecord, SheetRecord};
use crate::run::sendable::{SendableFile, sendable};
use crate::run::trying::Untried;
use crate::send::{self, FoundPrinter, Plan, PlannedFile, SentFile, Told, Wish};

/// Finds printers, shows what would be sent, or sends.
pub fn run(folder: &Path, asked: &Send, now: Timestamp, output: &mut Output) -> Result<Ending, Complaint> {
    if asked.find {
        return find(asked.json, output);
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
        Err(Untried::Typed { what, remedy }) => return Err(Complaint::Typed { what, remedy }),
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
        return rehearse(&plan, asked.json, output);
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
    let changes = stocks_change(&plan);
    if changes && !io::stdin().is_terminal() {
        let names: Vec<String> = plan.files.iter().map(|planned| planned.file.path.display().to_string()).collect();
        return Err(Complaint::Typed {
            what: "this run needs several stocks in one printer, and nobody is asked here when to change them"
                .to_owned(),
            remedy: format!("send one PDF at a time: {}", names.join(", ")),
        });
    }
    let bar = ProgressBar::new_spinner();
    let mut ready = |planned: &PlannedFile| bar.suspend(|| lay_in(planned, changes, output));
    let sent = send::send(&plan, now, &mut ready, &mut |told| tell(&told, &bar));
    bar.finish_and_clear();
    let sent = sent?;
    let is_done = sent.len() == plan.files.len() && sent.iter().all(SentFile::is_printed);
    if asked.json {
        output.json(&json!({ "sent": sent, "left_out": plan.left_out }))?;
    } else {
        for (planned, sent) in plan.files.iter().zip(&sent) {
            output.line(ended(planned, sent))?;
            for line in sheets_after(&planned.file) {
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

fn find(json: bool, output: &mut Output) -> Result<Ending, Complaint> {
    let found = send::find()?;
    if json {
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

fn rehearse(plan: &Plan, json: bool, output: &mut Output) -> Result<Ending, Complaint> {
    let mut is_fine = true;
    let mut answers = Vec::new();
    for planned in &plan.files {
        let refusal = match &planned.unasked {
            Some(failure) => Some(failure.to_string()),
            None => planned.validate().err().map(|failure| failure.to_string()),
        };
        is_fine &= refusal.is_none();
        if json {
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
        for line in sheets_before(&planned.file) {
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
    if json {
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
    let (name, pages) = (planned.file.name(), plural(planned.pages, "page"));
    format!("{name}: {pages} of {size} as {} to {}, {}", planned.format(), planned.printer, planned.address())
}

/// Whether stock must be changed between two jobs: printers know sizes, and several stocks have one.
fn stocks_change(plan: &Plan) -> bool {
    plan.files
        .iter()
        .any(|one| plan.files.iter().any(|other| one.address() == other.address() && one.stock() != other.stock()))
}

/// Tells notes and the sheets to lay in, and waits for them where a person is there: a printer must not begin before.
fn lay_in(planned: &PlannedFile, changes: bool, output: &Output) -> bool {
    for note in planned.notes() {
        output.aside(format!("note: {note}"));
    }
    let lines = sheets_before(&planned.file);
    let is_begun = !lines.is_empty();
    lines.into_iter().for_each(|line| output.aside(line));
    if !(is_begun || changes) || !io::stdin().is_terminal() {
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

fn sheets(file: &SendableFile) -> &[SheetRecord] {
    file.record.as_ref().map_or(&[], |record: &FileRecord| &record.sheets)
}

/// Sheets to lay in, in the order in which they are printed, where any of them is begun.
fn sheets_before(file: &SendableFile) -> Vec<String> {
    let sheets = sheets(file);
    if sheets.iter().all(|sheet| sheet.new) {
        return Vec::new();
    }
    let stock = file.record.as_ref().map_or("", |record| record.stock.as_str());
    let mut lines = vec![format!("lay in {stock} so that it is printed in this order:")];
    for group in sheets.chunk_by(|one, other| one.new && other.new) {
        lines.push(match group {
            [only] if only.new => format!("  page {}: a new sheet, numbered {}", only.page, only.number),
            [only] => {
                format!("  page {}: sheet {}, which is begun, the same way round as before", only.page, only.number)
            }
            [first, .., last] => {
                let (pages, numbers) = ((first.page, last.page), (first.number, last.number));
                format!("  pages {} to {}: new sheets, numbered {} to {}", pages.0, pages.1, numbers.0, numbers.1)
            }
            [] => String::new(),
        });
    }
    lines
}

/// Which sheet is which, once they are out.
fn sheets_after(file: &SendableFile) -> Vec<String> {
    match sheets(file) {
        [] => Vec::new(),
        [only] => vec![format!("  page {} is sheet {}: the number stands in its margin", only.page, only.number)],
        [first, .., last]
            if last
                .number
                .checked_sub(first.number)
                .is_some_and(|more| last.page.checked_sub(first.page) == Some(more as usize)) =>
        {
            vec![format!(
                "  pages {} to {} are sheets {} to {}, in this order",
                first.page, last.page, first.number, last.number
            )]
        }
        many => {
            let all: Vec<String> =
                many.iter().map(|sheet| format!("page {} is sheet {}", sheet.page, sheet.number)).collect();
            vec![format!("  {}", all.join(", "))]
        }
    }
}

/// What became of a file.
fn ended(planned: &PlannedFile, sent: &SentFile) -> String {
    let job = sent.job.map(|job| format!("job {job} ")).unwrap_or_default();
    let words = match sent.ended.as_str() {
        "completed" => "is printed",
        "aborted" => "was given up by the printer",
        "cancelled" => "was cancelled",
        "waiting" => {
            "stands still and is left to the printer: it may still print it, so look there before you send it again"
        }
        _ => "went out of sight: look at the printer before you send it again",
    };
    let why = if sent.why.is_empty() { String::new() } else { format!(": {}", sent.why.join("; ")) };
    format!("{}: {job}{words}{why} ({}, {})", planned.file.name(), planned.printer, planned.address())
}

/// The progress: a line that changes where a person looks, else lines below one another.
fn tell(told: &Told, bar: &ProgressBar) {
    let line = match told {
        Told::Sending { file, pages } => format!("{file}: sending {}", plural(*pages, "page")),
        Told::Page(page) => format!("sending page {page}"),
        Told::Accepted(job) => {
            format!("job {job}: the printer has it, and prints it also when Ctrl-C ends the watching")
        }
        Told::LeftOut(names) => format!("the printer leaves out: {}", names.join(", ")),
        Told::Job { job, state, pages, why } => {
            let pages = pages
                .map(|pages| format!(", {} out", plural(pages.unsigned_abs() as usize, "page")))
                .unwrap_or_default();
            let why = if why.is_empty() { String::new() } else { format!(": {}", why.join("; ")) };
            format!("job {job} {state}{pages}{why}")
        }
        Told::Printer(reasons) if reasons.is_empty() => "printer: all is well again".to_owned(),
        Told::Printer(reasons) => format!("printer: {}", reasons.join("; ")),
    };
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

/// The day and minute of a time of sent.json, in UTC.
fn when(at: &str) -> String {
    at.get(..16).map_or_else(|| at.to_owned(), |at| format!("{} UTC", at.replace('T', " ")))
}
