//! A job from its acceptance to its end (RFC 8011, 5.3.7): "success" only means that the printer has it.

use std::thread;
use std::time::Duration;

use ipp::attribute::IppAttribute;
use ipp::model::{DelimiterTag, Operation};
use ipp::value::IppValue;

use super::Told;
use super::answer::Answer;
use super::exchange::{Exchange, attribute, name};
use super::failure::SendFailure;
use super::states::{job_reason, printer_reason, stops};
use super::ticket::requested;

const JOB_ASKED: [&str; 6] = [
    "job-state",
    "job-state-reasons",
    "job-state-message",
    "job-impressions-completed",
    "job-media-sheets-completed",
    "job-id",
];
const PRINTER_ASKED: [&str; 2] = ["printer-state", "printer-state-reasons"];

/// Between two looks at a job: short at first, for labels are out at once.
const FIRST_PAUSE: Duration = Duration::from_millis(250);
const LONGEST_PAUSE: Duration = Duration::from_secs(2);
/// So often in a row the network may fail before the printer counts as lost.
const MOST_LOST: u32 = 5;

/// How a job ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The printer has printed it.
    Completed,
    /// The printer gave it up.
    Aborted,
    /// Somebody cancelled it.
    Cancelled,
    /// The printer knows it no more, or is not heard any more.
    Unknown,
    /// Nothing moved for so long that it was left to the printer.
    Waiting,
}

impl Ending {
    /// Words of sent.json.
    pub const WORDS: [(&str, Self); 5] = [
        ("completed", Self::Completed),
        ("aborted", Self::Aborted),
        ("cancelled", Self::Cancelled),
        ("unknown", Self::Unknown),
        ("waiting", Self::Waiting),
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        Self::WORDS.iter().find(|(_, known)| *known == self).map_or("", |(word, _)| word)
    }
}

/// A job's state once.
#[derive(Clone, Debug, Default, PartialEq)]
struct Look {
    state: Option<i32>,
    pages: Option<i32>,
    reasons: Vec<String>,
}

impl Look {
    fn of(answer: &Answer) -> Self {
        const JOB: DelimiterTag = DelimiterTag::JobAttributes;
        let pages = ["job-impressions-completed", "job-media-sheets-completed"];
        Self {
            state: answer.number(JOB, "job-state"),
            pages: pages.iter().filter_map(|name| answer.number(JOB, name)).max().filter(|pages| *pages > 0),
            reasons: answer.words(JOB, "job-state-reasons"),
        }
    }

    /// The end, if this is one: canceled 7, aborted 8, completed 9.
    fn ending(&self) -> Option<Ending> {
        match self.state? {
            7 => Some(Ending::Cancelled),
            8 => Some(Ending::Aborted),
            9 => Some(Ending::Completed),
            _ => None,
        }
    }

    fn words(&self) -> Vec<String> {
        self.reasons.iter().filter_map(|reason| job_reason(reason)).collect()
    }
}

/// Follows a job; `patience` is how long it may stand still. With the ending comes why, in words.
pub(super) fn follow(
    exchange: &Exchange,
    job: i32,
    patience: Duration,
    tell: &mut dyn FnMut(Told),
) -> (Ending, Vec<String>) {
    let (mut pause, mut still, mut lost) = (FIRST_PAUSE, Duration::ZERO, 0);
    let (mut last, mut last_reasons) = (Look::default(), Vec::new());
    loop {
        let look = match exchange.ask((Operation::GetJobAttributes, "tell of the job"), of_job(job), Vec::new(), None) {
            Ok(answer) => Look::of(&answer),
            // Some printers forget a job when it is out.
            Err(SendFailure::Refuses { is_passing: false, .. }) => {
                return (Ending::Unknown, vec!["the printer knows the job no more".to_owned()]);
            }
            Err(failure) if failure.may_pass() && lost < MOST_LOST => {
                lost += 1;
                thread::sleep(LONGEST_PAUSE);
                continue;
            }
            // It took the job: whatever it answers now, the job may come out.
            Err(failure) => return (Ending::Unknown, vec![failure.to_string()]),
        };
        lost = 0;
        if let Some(ending) = look.ending() {
            return (ending, look.words());
        }
        let reasons = printer_reasons(exchange).unwrap_or_else(|| last_reasons.clone());
        if look != last {
            tell(Told::Job { job, state: state_in_words(look.state), pages: look.pages, why: look.words() });
        }
        if reasons != last_reasons {
            tell(Told::Printer(reasons.iter().filter_map(|reason| printer_reason(reason)).collect()));
        }
        if look == last && reasons == last_reasons {
            still += pause;
        } else {
            still = Duration::ZERO;
        }
        if still >= patience {
            let stopping = reasons.iter().filter(|reason| stops(reason)).filter_map(|reason| printer_reason(reason));
            return (Ending::Waiting, stopping.chain(look.words()).collect());
        }
        (last, last_reasons) = (look, reasons);
        thread::sleep(pause);
        pause = (pause * 3 / 2).min(LONGEST_PAUSE);
    }
}

/// What the printer says of itself meanwhile; none where it does not answer: that is no sign that all is well.
fn printer_reasons(exchange: &Exchange) -> Option<Vec<String>> {
    let question = (Operation::GetPrinterAttributes, "tell of itself");
    let answer = exchange.ask(question, requested(&PRINTER_ASKED), Vec::new(), None).ok()?;
    let reasons = answer.words(DelimiterTag::PrinterAttributes, "printer-state-reasons").into_iter();
    Some(reasons.filter(|reason| printer_reason(reason).is_some()).collect())
}

fn of_job(job: i32) -> Vec<IppAttribute> {
    let id = attribute("job-id", IppValue::Integer(job));
    id.into_iter().chain(name("requesting-user-name", super::USER)).chain(requested(&JOB_ASKED)).collect()
}

/// A `job-state` (RFC 8011, 5.3.7) in words.
const fn state_in_words(state: Option<i32>) -> &'static str {
    match state {
        Some(3) => "waits its turn",
        Some(4) => "is held: release it at the printer",
        Some(5) => "is being printed",
        Some(6) => "has stopped",
        _ => "is with the printer",
    }
}
