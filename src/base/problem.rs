//! Problems: what is wrong in the user's list, template or stock file, said so that it can be put right.

use super::{Origin, Remedy};

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

/// Something in the user's files to put right, or to know; made by [`ProblemKind::says`].
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
    pub remedy: Option<Remedy>,
}

impl Problem {
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
    pub fn remedy(mut self, remedy: impl Into<Remedy>) -> Self {
        self.remedy = Some(remedy.into());
        self
    }
}

/// A kind of problem. Kinds are declared by the macro `problem_kinds!` alone, so that every one of them is in a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ProblemKind {
    /// Stable name: `unknown-action`.
    pub id: &'static str,
    /// Whether the result is withheld.
    pub severity: Severity,
    /// What it means, in one line.
    pub meaning: &'static str,
}

impl ProblemKind {
    /// A problem of this kind: one short sentence, lower case, no full stop, the user's value in backticks.
    pub fn says(&self, message: impl Into<String>) -> Problem {
        let Self { id, severity, .. } = *self;
        Problem { id, severity, message: message.into(), origin: None, related: Vec::new(), remedy: None }
    }
}

/// Declares the kinds of problems of a step, `NAME Severity "id" "meaning";` each, and the list of them, `problem_kinds()`.
macro_rules! problem_kinds {
    ($($name:ident $severity:ident $id:literal $meaning:literal;)*) => {
        $(pub(super) const $name: $crate::base::ProblemKind = $crate::base::ProblemKind {
            id: $id,
            severity: $crate::base::Severity::$severity,
            meaning: $meaning,
        };)*

        /// All kinds of problems of this step, in the order of the work.
        pub const fn problem_kinds() -> &'static [$crate::base::ProblemKind] {
            const ALL: &[$crate::base::ProblemKind] = &[$($name),*];
            ALL
        }
    };
}
pub(crate) use problem_kinds;

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
