//! `init`: begins a job folder.

use std::path::Path;

use super::Ending;
use super::args::Init;
use super::complaint::Complaint;
use super::output::Output;
use crate::run::init::{self, Beginning};

/// Writes the folder and tells what to do next.
pub fn run(job: &Path, asked: &Init, output: &mut Output) -> Result<Ending, Complaint> {
    let beginning = match (asked.example, asked.lists.is_empty()) {
        (true, _) => Beginning::Example,
        (false, true) => Beginning::Empty,
        (false, false) => Beginning::Lists(&asked.lists),
    };
    let new = init::init(job, beginning)?;
    output.line(format!("wrote {} in {}", new.written.join(", "), new.folder.display()))?;
    if !new.found.is_empty() {
        output.line(format!("part of the job now: {}", new.found.join(", ")))?;
    }
    let folder = if job == Path::new(".") { String::new() } else { format!(" --job {}", job.display()) };
    output.line(format!("next: loomtag check{folder}, then loomtag tags{folder}"))?;
    Ok(Ending::Done)
}
