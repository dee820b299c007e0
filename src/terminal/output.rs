//! Where answers and asides go: answers to standard output, all else to standard error.

use std::env;
use std::io::{self, IsTerminal, Write};

use serde::Serialize;

use super::complaint::Complaint;
use super::problems::{self, Colouring};
use crate::base::{Problem, Severity, counted};

/// The two streams of a terminal.
pub struct Output {
    answer: io::StdoutLock<'static>,
    colouring: Colouring,
}

impl Output {
    /// Standard output and standard error; colours only where a person looks and has not asked for none (`NO_COLOR`).
    pub fn new() -> Self {
        let wants_colour = io::stderr().is_terminal() && env::var_os("NO_COLOR").is_none();
        let colouring = if wants_colour { Colouring::Coloured } else { Colouring::Plain };
        Self { answer: io::stdout().lock(), colouring }
    }

    /// A line of the answer.
    ///
    /// # Errors
    /// When standard output is closed or full.
    pub fn line(&mut self, line: impl AsRef<str>) -> io::Result<()> {
        writeln!(self.answer, "{}", line.as_ref())
    }

    /// What was said so far goes out now, for a verb that runs on.
    ///
    /// # Errors
    /// When standard output is closed or full.
    pub fn flush(&mut self) -> io::Result<()> {
        self.answer.flush()
    }

    /// The answer as a file that is written elsewhere, byte for byte.
    ///
    /// # Errors
    /// When standard output is closed or full.
    pub fn bytes(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.answer.write_all(bytes)
    }

    /// Whether a person looks at the answer, and no other program reads it.
    pub fn is_seen(&self) -> bool {
        io::stdout().is_terminal()
    }

    /// The answer as JSON.
    ///
    /// # Errors
    /// When standard output is closed or full.
    pub fn json(&mut self, value: &impl Serialize) -> io::Result<()> {
        serde_json::to_writer_pretty(&mut self.answer, value)?;
        writeln!(self.answer)
    }

    /// A line beside the answer. Where nobody listens any more it is lost, and nothing else is.
    pub fn aside(&self, line: impl AsRef<str>) {
        let _ = writeln!(io::stderr(), "{}", line.as_ref());
    }

    /// All problems, in full, beside the answer.
    pub fn problems(&self, problems: &[Problem]) {
        if !problems.is_empty() {
            self.aside(problems::full(problems, self.colouring).trim_end());
            self.aside("");
            self.aside(count(problems));
        }
    }

    /// Why the program could not run.
    pub fn complain(&self, complaint: &Complaint) {
        self.aside(format!("error: {complaint}"));
        if let Some(remedy) = complaint.remedy() {
            self.aside(format!("help: {remedy}"));
        }
    }
}

/// `2 errors, 1 warning`.
pub fn count(problems: &[Problem]) -> String {
    let errors = problems.iter().filter(|problem| problem.severity == Severity::Error).count();
    let warnings = problems.len() - errors;
    match (errors, warnings) {
        (0, 0) => "no problems".to_owned(),
        (0, _) => counted(warnings, "warning"),
        (_, 0) => counted(errors, "error"),
        _ => format!("{}, {}", counted(errors, "error"), counted(warnings, "warning")),
    }
}
