//! Problems: what is wrong in the user's list, template or stock file, said so that it can be put right.

use super::Origin;

/// How much a problem matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Severity {
    /// The result is withheld until it is put right.
    Error,
    /// The result stands; the user should know.
    Warning,
}

/// Another place that belongs to a problem: "first used here".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Related {
    /// What is to be seen there.
    pub note: String,
    /// Where it is.
    pub origin: Origin,
}

/// Something in the user's files to put right, or to know. Messages are one short sentence: lower case, no full stop, the
/// user's value in backticks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// Stable name of the kind of problem: `unknown-action`.
    pub id: &'static str,
    /// Whether the result is withheld.
    pub severity: Severity,
    /// What is wrong.
    pub message: String,
    /// Where.
    pub origin: Option<Origin>,
    /// Other places that belong to it.
    pub related: Vec<Related>,
    /// What to type or do instead.
    pub remedy: Option<String>,
}

impl Problem {
    /// A problem that withholds the result.
    pub fn error(id: &'static str, message: impl Into<String>) -> Self {
        Self::new(id, Severity::Error, message.into())
    }

    /// A problem that leaves the result standing.
    pub fn warning(id: &'static str, message: impl Into<String>) -> Self {
        Self::new(id, Severity::Warning, message.into())
    }

    fn new(id: &'static str, severity: Severity, message: String) -> Self {
        Self { id, severity, message, origin: None, related: Vec::new(), remedy: None }
    }

    /// Adds where it is.
    #[must_use]
    pub fn at(mut self, origin: Origin) -> Self {
        self.origin = Some(origin);
        self
    }

    /// Adds another place that belongs to it.
    #[must_use]
    pub fn see(mut self, note: impl Into<String>, origin: Origin) -> Self {
        self.related.push(Related { note: note.into(), origin });
        self
    }

    /// Adds what to type or do instead.
    #[must_use]
    pub fn remedy(mut self, remedy: impl Into<String>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }
}

/// A result together with all problems met on the way. Where errors stand, the value holds what is left without the rows
/// and ends they concern.
#[derive(Clone, Debug)]
pub struct Checked<T> {
    /// What could be made of the input.
    pub value: T,
    /// All problems, in the order of the input.
    pub problems: Vec<Problem>,
}

impl<T> Checked<T> {
    /// Whether an error withholds the result.
    pub fn has_errors(&self) -> bool {
        has_errors(&self.problems)
    }
}

/// Whether one of these withholds the result.
pub fn has_errors(problems: &[Problem]) -> bool {
    problems.iter().any(|problem| problem.severity == Severity::Error)
}
