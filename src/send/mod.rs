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
pub use sending::{Plan, PlannedFile, Wish, plan, send};
pub use sent::{SENT_FILE, SentFile};

/// Who sends, for the printer's list of jobs.
const USER: &str = "loomtag";

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
