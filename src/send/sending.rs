//! PDFs of a run to their printers: first everything is looked up and asked, then one job after the other is sent and followed.

use std::io::Read;
use std::ops::RangeInclusive;
use std::sync::Arc;
use std::time::Duration;

use ipp::attribute::IppAttribute;
use ipp::model::{DelimiterTag, Operation};
use jiff::Timestamp;

use super::exchange::{Document, Exchange, name};
use super::failure::SendFailure;
use super::follow::{Ending, follow};
use super::pages::RasterPages;
use super::sent::{self, SentFile};
use super::supported::{ASKED, NEAR, Supported};
use super::ticket::{Format, Lie, Ticket, Wanted, requested};
use super::{Told, USER};
use crate::base::{Page, PrinterAddress, Remedy, Size};
use crate::pages::PrinterKind;
use crate::proof::PageDots;
use crate::run::Job;
use crate::run::sendable::{Sendable, SendableFile};
use crate::run::trying::PrinterTable;

/// Copies of a file that a printer is asked for at once.
pub const COPIES: RangeInclusive<u16> = 1..=99;

/// What is wished of a sending.
#[derive(Clone, Debug, PartialEq)]
pub struct Wish {
    /// The printer; without one, that of job.toml which prints the stock.
    pub printer: Option<PrinterAddress>,
    /// Copies of each page.
    pub copies: u16,
    /// Whether colours are printed.
    pub is_colour: bool,
    /// Whether what was printed already is sent once more.
    pub is_again: bool,
    /// Whether all of it is only looked at: then a printer that cannot be asked is no failure.
    pub is_rehearsal: bool,
    /// How long a job may stand still before it is left to the printer.
    pub patience: Duration,
}

/// All that is known before the first byte is sent.
pub struct Plan {
    /// What will be sent, in this order.
    pub files: Vec<PlannedFile>,
    /// What was printed already and is left out.
    pub left_out: Vec<SentFile>,
    /// Files of the run that go to the other printer of the job.
    pub others: Vec<String>,
    wish: Wish,
    sendable: Sendable,
}

/// A PDF with its printer and what is asked of it.
pub struct PlannedFile {
    /// The PDF.
    pub file: SendableFile,
    /// What the printer calls itself.
    pub printer: String,
    /// Number of its pages.
    pub pages: usize,
    /// Size of its pages.
    pub size: Size,
    /// Why the printer could not be asked, in a rehearsal: what would be sent is what printers usually take.
    pub unasked: Option<SendFailure>,
    bytes: Arc<Vec<u8>>,
    dots: PageDots,
    exchange: Exchange,
    supported: Supported,
    ticket: Ticket,
}

impl Plan {
    /// Whether stock must be changed between two jobs: printers know sizes, and several stocks have one.
    pub fn changes_stock(&self) -> bool {
        let differ =
            |one: &PlannedFile, other: &PlannedFile| one.address() == other.address() && one.stock() != other.stock();
        self.files.iter().any(|one| self.files.iter().any(|other| differ(one, other)))
    }
}

impl PlannedFile {
    /// What became of it, in words.
    pub fn ended(&self, sent: &SentFile) -> String {
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
        format!("{}: {job}{words}{why} ({}, {})", self.file.name(), self.printer, self.address())
    }

    /// Where it goes.
    pub fn address(&self) -> &PrinterAddress {
        self.exchange.address()
    }

    /// What to know before paper is spent.
    pub fn notes(&self) -> &[String] {
        &self.ticket.notes
    }

    /// The attributes that go with it, a line each.
    pub fn attributes(&self) -> Vec<String> {
        self.ticket.lines()
    }

    /// How its pages are sent: `PDF`, or the raster with its resolution.
    pub fn format(&self) -> String {
        match self.ticket.format {
            Format::Pdf => "PDF".to_owned(),
            Format::Raster(pixels, dpi) => format!("PWG raster ({}) at {dpi} dots an inch", pixels.word()),
        }
    }

    /// What the printer supports, by the names of the attributes that tell it.
    pub fn supports(&self) -> Vec<(&'static str, String)> {
        let of = &self.supported;
        let resolutions =
            |list: &[(u16, u16)]| list.iter().map(|(x, y)| format!("{x} x {y}")).collect::<Vec<_>>().join(", ");
        let names = |names: &[super::media_name::MediaName]| {
            names.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
        };
        let words =
            |words: &[String]| words.iter().map(|word| super::answer::plain(word)).collect::<Vec<_>>().join(", ");
        let copies =
            of.copies.as_ref().map(|range| format!("{} to {}", range.start(), range.end())).unwrap_or_default();
        let pixels = of.pixels.iter().map(|pixels| pixels.word()).collect::<Vec<_>>().join(", ");
        vec![
            ("document-format-supported", words(&of.formats)),
            ("media-supported", names(&of.media)),
            ("media-ready", names(&of.ready)),
            ("print-scaling-supported", words(&of.scaling)),
            ("print-color-mode-supported", words(&of.colour_modes)),
            ("sides-supported", words(&of.sides)),
            ("copies-supported", copies),
            ("printer-resolution-supported", resolutions(&of.resolutions)),
            ("pwg-raster-document-type-supported", pixels),
            ("pwg-raster-document-resolution-supported", resolutions(&of.raster_resolutions)),
        ]
    }

    /// Asks the printer whether it would take the job (Validate-Job, RFC 8011, 4.2.3); nothing is printed.
    ///
    /// # Errors
    /// [`SendFailure`] when it would not.
    pub fn validate(&self) -> Result<(), SendFailure> {
        let question = (Operation::ValidateJob, "take such a job");
        let attributes = self.operation_attributes("trial of the attributes");
        self.exchange.ask(question, attributes, self.ticket.job_attributes(), None).map(drop)
    }

    /// Name of its stock, where that is known.
    pub fn stock(&self) -> Option<&str> {
        self.file.tried.as_ref().map(|tried| tried.stock.name())
    }

    fn operation_attributes(&self, title: &str) -> Vec<IppAttribute> {
        let names = [name("requesting-user-name", USER), name("job-name", title)];
        names.into_iter().flatten().chain(self.ticket.operation_attributes()).collect()
    }
}

/// Looks everything up and asks the printers. Nothing is sent yet.
///
/// # Errors
/// [`SendFailure`] when a printer cannot be asked, or cannot or must not print one of the files: then none is sent.
pub fn plan(job: &Job, sendable: Sendable, wish: Wish) -> Result<Plan, SendFailure> {
    let sent = if sendable.run.is_some() { sent::sent(&sendable.folder)? } else { Vec::new() };
    let (mut files, mut left_out, mut others) = (Vec::new(), Vec::new(), Vec::new());
    for file in &sendable.files {
        if is_for_another(job, &sendable, file, &wish) {
            others.push(file.name());
            continue;
        }
        let last = sent.iter().rfind(|sent| sent.file == file.name());
        match last.filter(|last| last.is_printed() && !wish.is_again) {
            Some(last) => left_out.push(last.clone()),
            None => files.push(planned(job, file, &wish)?),
        }
    }
    Ok(Plan { files, left_out, others, wish, sendable })
}

/// Whether a file of a run goes to the other printer of the job, when one printer is named for the whole run.
fn is_for_another(job: &Job, sendable: &Sendable, file: &SendableFile, wish: &Wish) -> bool {
    let Some(named) = &wish.printer else { return false };
    let of_tube = PrinterTable::Sleeves.of(job).and_then(|printer| printer.address.as_ref());
    let meant = if of_tube.is_some_and(|address| address.value == *named) {
        PrinterTable::Sleeves
    } else {
        PrinterTable::Sheets
    };
    file.table() != meant && sendable.files.iter().any(|other| other.table() == meant)
}

fn planned(job: &Job, file: &SendableFile, wish: &Wish) -> Result<PlannedFile, SendFailure> {
    let address = address(job, file, wish)?;
    let bytes = Arc::new(file.bytes()?);
    let dots = PageDots::open(Arc::clone(&bytes))?;
    let (pages, size) = (dots.pages(), dots.size(0)?);
    for page in 1..pages {
        let other = dots.size(page)?;
        if (other.width - size.width).abs() > NEAR || (other.height - size.height).abs() > NEAR {
            let what =
                format!("`{}` has pages of several sizes: page {} differs from the first", file.name(), page + 1);
            return Err(SendFailure::unfit(what, "send a PDF whose pages are all of one size"));
        }
    }
    let exchange = Exchange::new(address);
    let question = (Operation::GetPrinterAttributes, "tell what it supports");
    let (dpi, is_along) = (file.dpi(job), file.is_tube());
    let (supported, unasked) = match exchange.ask(question, requested(&ASKED), Vec::new(), None) {
        Ok(answer) => (Supported::of(&answer), None),
        Err(failure) if wish.is_rehearsal => {
            let name = "a printer that was not asked".to_owned();
            (Supported { name, ..Supported::assumed(size, dpi) }, Some(failure))
        }
        Err(failure) => return Err(failure),
    };
    let wanted = Wanted { size, is_along, dpi, copies: wish.copies, is_colour: wish.is_colour };
    let ticket = Ticket::new(&wanted, &supported)?;
    let printer = supported.name.clone();
    let dots = match ticket.lie {
        Lie::Turned => dots.turned(),
        Lie::Upright => dots,
    };
    Ok(PlannedFile { file: file.clone(), printer, pages, size, unasked, bytes, dots, exchange, supported, ticket })
}

/// Where a file goes. Tube goes nowhere but to the printer that the job declares for it.
fn address(job: &Job, file: &SendableFile, wish: &Wish) -> Result<PrinterAddress, SendFailure> {
    let stated = |table: PrinterTable| {
        let printer = table.of(job)?;
        printer.address.as_ref().map(|address| address.value.clone())
    };
    let table = file.table();
    let find = Remedy::by("`loomtag send --find`", Page::Here("Look for printers"))
        .words(" shows the addresses of printers; put `address = \"ipp://host/ipp/print\"` there");
    if !file.is_tube() {
        let address = wish.printer.clone().or_else(|| stated(table));
        return address.ok_or_else(|| {
            let what = format!("job.toml tells no address of [{}], which prints `{}`", table.name(), file.name());
            SendFailure::unfit(
                what,
                find.clone().words(", or name it ").and_by("with --printer", Page::Here("Printer")),
            )
        });
    }
    let declared = stated(PrinterTable::Sleeves).ok_or_else(|| {
        let what = format!(
            "`{}` is printed on heat-shrink tube, and job.toml tells no address of [sleeve_printer]",
            file.name()
        );
        SendFailure::unfit(what, find)
    })?;
    let kind = job.printer().kind.value;
    let would_melt = matches!(kind, PrinterKind::Laser | PrinterKind::Inkjet)
        && stated(PrinterTable::Sheets).as_ref() == Some(&declared);
    if would_melt {
        let what = format!(
            "{declared} stands in [printer] as {kind} too: heat-shrink tube must never go through such a printer"
        );
        return Err(SendFailure::unfit(what, "put right which of the two printers has this address"));
    }
    match &wish.printer {
        Some(other) if *other != declared => {
            let what =
                format!("`{}` is printed on heat-shrink tube: it goes to no printer but {declared}", file.name());
            Err(SendFailure::unfit(
                what,
                "tube in a laser or inkjet printer melts or jams; name another PDF of the run for this printer",
            ))
        }
        _ => Ok(declared),
    }
}

/// Sends what was planned, one job after the other, and follows each to its end. After one that was not printed the others are left:
/// sending the run again goes on there. Before each, `ready` tells whether its paper lies in the printer; where not, that is the end.
///
/// # Errors
/// [`SendFailure`] when the network or a printer fails; what became of the jobs before it stands in sent.json.
pub fn send(
    plan: &Plan,
    now: Timestamp,
    ready: &mut dyn FnMut(&PlannedFile) -> bool,
    tell: &mut dyn FnMut(Told),
) -> Result<Vec<SentFile>, SendFailure> {
    let mut sent = Vec::new();
    for planned in &plan.files {
        if !ready(planned) {
            break;
        }
        tell(Told::Sending { file: planned.file.name(), pages: planned.pages });
        let note = |job: Option<i32>, ended: &str, why: Vec<String>| SentFile {
            file: planned.file.name(),
            at: now.strftime("%Y-%m-%dT%H:%M:%SZ").to_string(),
            printer: planned.address().to_string(),
            job,
            format: planned.ticket.format.media_type().to_owned(),
            copies: plan.wish.copies,
            ended: ended.to_owned(),
            why,
        };
        // Beside a PDF that is no run's, nothing is written.
        let folder = plan.sendable.run.map(|_| plan.sendable.folder.as_path());
        let ended = submit(plan, planned, tell).and_then(|job| {
            tell(Told::Accepted(job));
            // Before it is followed: should this program be stopped, the job is known all the same.
            sent::note(folder, note(Some(job), Ending::Unknown.word(), Vec::new()))?;
            let (ending, why) = follow(&planned.exchange, job, plan.wish.patience, tell);
            Ok(note(Some(job), ending.word(), why))
        });
        match ended {
            Ok(one) => {
                sent::replace_last(folder, one.clone())?;
                let is_printed = one.is_printed();
                sent.push(one);
                if !is_printed {
                    break;
                }
            }
            Err(failure) => {
                sent::note(folder, note(None, "refused", vec![failure.to_string()]))?;
                return Err(failure);
            }
        }
    }
    Ok(sent)
}

/// Hands a document over; the printer's number for the job.
fn submit(plan: &Plan, planned: &PlannedFile, tell: &mut dyn FnMut(Told)) -> Result<i32, SendFailure> {
    if planned.supported.is_accepting == Some(false) {
        let why = "it takes no jobs now".to_owned();
        return Err(SendFailure::Refuses { what: "take the job", why, is_passing: true });
    }
    let question = (Operation::PrintJob, "take the job");
    let operation = planned.operation_attributes(&plan.sendable.title);
    let job = planned.ticket.job_attributes();
    let answer = match planned.ticket.format {
        Format::Pdf => {
            let mut bytes = planned.bytes.as_slice();
            let length = Some(bytes.len() as u64);
            let document = Document { bytes: &mut bytes as &mut dyn Read, length };
            planned.exchange.ask(question, operation, job, Some(document))?
        }
        Format::Raster(pixels, dpi) => {
            let mut page = |page| tell(Told::Page(page));
            let media = planned.ticket.media_name.as_str();
            let mut pages = RasterPages::new(&planned.dots, (pixels, dpi), media, &mut page);
            let document = Document { bytes: &mut pages, length: None };
            let answer = planned.exchange.ask(question, operation, job, Some(document));
            match pages.failure {
                Some(failure) => return Err(failure.into()),
                None => answer?,
            }
        }
    };
    let (_, left_out) = answer.refusal();
    if !left_out.is_empty() {
        tell(Told::LeftOut(left_out));
    }
    answer.number(DelimiterTag::JobAttributes, "job-id").ok_or_else(|| {
        let why = "it took the job, but gave it no number".to_owned();
        SendFailure::NotIpp { address: planned.address().clone(), why }
    })
}
