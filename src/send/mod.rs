//! A PDF -> A PRINTER, by the Internet Printing Protocol (RFC 8010, RFC 8011).
//!
//! In: PDFs of a run, the address of a printer. Out: what became of the jobs. The printer is asked what it supports, and nothing is
//! asked of it that it does not list; a PDF goes as it is, or as PWG raster, rendered while it is sent. Nothing is written into the
//! register: whatever becomes of a job, the run and its codes stay as they are.
//!
//! - `answer`, `exchange`: a question and its answer
//! - `supported`: what a printer supports
//! - `media_name`: names of sizes
//! - `ticket`: what a job asks
//! - `raster`, `pages`: pages as PWG raster
//! - `sending`: the whole, called from here on
//! - `follow`, `states`: a job to its end, and printers in plain words
//! - `sent`: what was sent, kept beside the run
//! - `find`: printers that tell of themselves

use std::fmt;

mod answer;
mod exchange;
mod failure;
mod find;
mod follow;
mod media_name;
mod pages;
mod raster;
mod sending;
mod sent;
mod states;
mod supported;
mod ticket;

pub use failure::SendFailure;
pub use find::{FoundPrinter, find};
pub use follow::Ending;
pub use sending::{COPIES, Plan, PlannedFile, Wish, plan, send};
pub use sent::{SENT_FILE, SentFile, sent};

/// Who sends, for the printer's list of jobs.
const USER: &str = "loomtag";

/// `1 page`, `2 pages`
fn pages_in_words(count: usize) -> String {
    if count == 1 { "1 page".to_owned() } else { format!("{count} pages") }
}

impl fmt::Display for Told {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Sending { file, pages } => write!(f, "{file}: sending {}", pages_in_words(*pages)),
            Self::Page(page) => write!(f, "sending page {page}"),
            Self::Accepted(job) => {
                write!(f, "job {job}: the printer has it, and prints it also when nobody watches it any more")
            }
            Self::LeftOut(names) => write!(f, "the printer leaves out: {}", names.join(", ")),
            Self::Job { job, state, pages, why } => {
                write!(f, "job {job} {state}")?;
                if let Some(pages) = pages {
                    write!(f, ", {} out", pages_in_words(pages.unsigned_abs() as usize))?;
                }
                if why.is_empty() { Ok(()) } else { write!(f, ": {}", why.join("; ")) }
            }
            Self::Printer(reasons) if reasons.is_empty() => f.write_str("printer: all is well again"),
            Self::Printer(reasons) => write!(f, "printer: {}", reasons.join("; ")),
        }
    }
}

/// What is told while something is sent.
#[derive(Clone, Debug, PartialEq)]
pub enum Told {
    /// A file is about to be sent.
    Sending {
        /// Its name.
        file: String,
        /// Number of its pages.
        pages: usize,
    },
    /// A page is being rendered and sent, counted from 1.
    Page(usize),
    /// The printer has the job.
    Accepted(i32),
    /// The printer leaves something out that it was asked.
    LeftOut(Vec<String>),
    /// How the job stands.
    Job {
        /// Its number.
        job: i32,
        /// Its state in words.
        state: &'static str,
        /// Pages that are out, where the printer counts them.
        pages: Option<i32>,
        /// Why it stands so, in words.
        why: Vec<String>,
    },
    /// What the printer says of itself; empty when all is well again.
    Printer(Vec<String>),
}

#[cfg(test)]
mod tests;
