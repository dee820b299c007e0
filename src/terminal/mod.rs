//! THE COMMAND LINE: arguments in, words and an exit code out. No rule of the trade lives here.
//!
//! `args`, with `stock_args`, `tag_args` and `trial_args`, says what can be typed; then one file a verb, each of which asks `run` and words the answer. Exit codes: 0 done, 1
//! problems found in lists or proof, 2 could not run. A reader that closes the pipe has read enough: that is success.

mod args;
mod assign;
mod bench_sheets;
mod blanks;
mod check;
mod complaint;
mod decide;
mod explain;
mod export;
mod find;
mod fits;
mod import;
mod init;
mod join;
mod made;
mod note;
mod outlook;
mod output;
mod picture;
mod preview;
pub mod problems;
mod progress;
mod proof;
mod rename;
mod reprint;
mod reuse;
mod scan;
mod send;
mod serve;
mod sheets;
mod shopping;
mod site;
mod spelled;
mod stale;
mod stock;
mod stock_args;
mod table;
mod tag_args;
mod tags;
mod trial;
mod trial_args;
mod which;
mod wording;

use std::io;
use std::process::ExitCode;

use clap::Parser;
use jiff::Timestamp;

use args::{Args, Verb};
use complaint::Complaint;
use output::Output;

/// How a verb ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ending {
    /// All is done.
    Done,
    /// Problems were found in lists or proof, and told.
    Problems,
}

/// Runs the program on the arguments it was started with.
pub fn main() -> ExitCode {
    let args = Args::parse();
    let mut output = Output::new();
    match run(&args, &mut output) {
        Ok(Ending::Done) => ExitCode::SUCCESS,
        Ok(Ending::Problems) => ExitCode::from(1),
        Err(Complaint::Output(error)) if error.kind() == io::ErrorKind::BrokenPipe => ExitCode::SUCCESS,
        Err(complaint) => {
            output.complain(&complaint);
            ExitCode::from(2)
        }
    }
}

fn run(args: &Args, output: &mut Output) -> Result<Ending, Complaint> {
    let job = args.job.as_path();
    // The one place where the clock is read.
    let now = Timestamp::now();
    match &args.verb {
        Verb::Init(asked) => init::run(job, asked, output),
        Verb::Check(asked) => check::run(job, asked, output),
        Verb::Tags(asked) => tags::run(job, asked, now, output),
        Verb::Reprint(asked) => reprint::run(job, asked, now, output),
        Verb::Blanks(asked) => blanks::run(job, asked, now, output),
        Verb::Assign(asked) => assign::run(job, asked, now, output),
        Verb::Reuse(asked) => reuse::run(job, asked, output),
        Verb::Find(asked) => find::run(job, asked, output),
        Verb::Scan(asked) => scan::run(job, asked, output),
        Verb::Decide(asked) => decide::run(job, asked, now, output),
        Verb::Note(asked) => note::run(job, asked, now, output),
        Verb::Rename(asked) => rename::run(job, asked, now, output),
        Verb::Join(asked) => join::run(job, asked, now, output),
        Verb::Sheets(asked) => bench_sheets::run(job, asked, now, output),
        Verb::Proof(asked) => proof::run(job, asked, output),
        Verb::Export(asked) => export::run(job, asked, now, output),
        Verb::Import(asked) => import::run(job, asked, now, output),
        Verb::Explain(asked) => explain::run(asked, output),
        Verb::Stock(asked) => stock::run(job, asked, now, output),
        Verb::Send(asked) => send::run(job, asked, now, output),
        Verb::Serve(asked) => serve::run(job, asked, output),
        Verb::Site(asked) => site::run(job, asked, output),
        Verb::Wording(asked) => wording::run(job, asked, output),
    }
}
