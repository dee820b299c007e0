//! Which problems somebody has to answer at the bench or at a desk: where lists contradict each other, the notes or the register.
//! Problems of a job come in; those for the sheet of open questions go out.

use super::failure::RunFailure;
use super::reading::Reading;
use super::worked;
use crate::base::Problem;
use crate::codes::{Issued, Register};

/// Kinds of problems that are questions. Others are about how a list is written, or stand on sheets of their own.
const ASKED: [&str; 20] = [
    "likely-rename",
    "likely-moved",
    "charts-disagree",
    "wire-ends-differ",
    "two-circuits-in-one-cavity",
    "duplicate-row",
    "differ-by-case",
    "differ-by-zeros",
    "designations-look-alike",
    "cavity-outside-connector",
    "far-end-removed",
    "move-into-occupied-cavity",
    "two-moves-into-one-cavity",
    "both-ends-into-one-cavity",
    "move-to-unknown-connector",
    "unknown-mate",
    "unknown-partner",
    "pair-broken",
    "found-otherwise",
    "old-designation",
];

/// Whether somebody has to answer it.
pub fn is_question(problem: &Problem) -> bool {
    ASKED.contains(&problem.id)
}

/// The questions among the problems of the lists, and what the register has against the lists.
///
/// # Errors
/// [`RunFailure`] when the register cannot be read.
pub(super) fn asked(reading: &Reading, issued: &Issued, register: &Register) -> Result<Vec<Problem>, RunFailure> {
    let worked = worked::worked(&reading.circuits, issued, &register.records()?, &register.notes()?);
    let old = worked::old_designations(&reading.circuits, issued, &register.renamings()?);
    let all = reading.problems.iter().cloned().chain(worked.otherwise).chain(old);
    Ok(all.filter(is_question).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::Severity;
    use crate::run::all_problem_kinds;

    #[test]
    fn every_question_is_a_warning_that_there_is() {
        for id in ASKED {
            let kind = all_problem_kinds().find(|kind| kind.id == id);
            assert_eq!(kind.map(|kind| kind.severity), Some(Severity::Warning), "{id}");
        }
    }
}
