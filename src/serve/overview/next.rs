//! What wants to be done next, in the order in which it matters, each with the way to where it is done.

use maud::{Markup, html};

use crate::base::{Problem, Severity, counted};
use crate::circuits::Action;
use crate::run::open_questions::is_question;
use crate::run::{Snapshot, must_be_seen};
use crate::serve::desk::Desk;
use crate::serve::parts::{tag, words};

/// So many problems, findings or codes are named; the others are counted.
const NAMED: usize = 4;
const CODES: usize = 24;

/// What waits in a job, in counts: what stands on its overview, and beside its title where several jobs are served.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Waits {
    /// Problems that keep tags from being printed.
    pub errors: usize,
    /// Other problems.
    pub warnings: usize,
    /// Ends whose action is undecided.
    pub undecided: usize,
    /// Blanks that are not assigned.
    pub blanks: usize,
    /// Ends at which an action asks for a step.
    pub asked: usize,
    /// Those at which it is done.
    pub done: usize,
}

impl Waits {
    /// Of a job.
    pub fn of(job: &Snapshot) -> Self {
        let mut waits = Self { blanks: job.recall.unassigned().count(), ..Self::default() };
        for problem in job.problems() {
            match problem.severity {
                Severity::Error => waits.errors += 1,
                Severity::Warning => waits.warnings += 1,
            }
        }
        for share in job.worked.connectors.values() {
            waits.undecided += share.actions.get(Action::Undecided.word()).copied().unwrap_or(0);
            waits.asked += share.asked;
            waits.done += share.done;
        }
        waits
    }
}

/// The list.
pub fn next(desk: &Desk, job: &Snapshot) -> Markup {
    let waits = Waits::of(job);
    let of = |is: &dyn Fn(&Problem) -> bool| job.problems().filter(|problem| is(problem)).collect::<Vec<_>>();
    let grave = of(&|problem| problem.severity == Severity::Warning && must_be_seen(problem));
    let questions = of(&is_question);
    let found = &job.worked.otherwise;
    let all_done =
        job.recall.stale_tags() == 0 && waits == Waits { asked: waits.asked, done: waits.asked, ..Waits::default() };
    html! {
        section {
            h2 { "Next" }
            @if all_done && job.reading.circuits.all().is_empty() {
                p { "No list names a circuit yet. " a href=(desk.link("/lists")) { "Add a list" } "." }
            } @else if all_done {
                p.good { "Every end is decided, and what the plan asks for is done." }
            }
            ul.todo {
                @if waits.errors > 0 {
                    li.stop {
                        a href=(desk.link("/problems?which=errors")) { (counted(waits.errors, "error")) }
                        " in settings and lists: no tags are printed before they are put right"
                    }
                }
                @if !grave.is_empty() {
                    li.stop {
                        a href=(desk.link("/problems?which=seen")) { (counted(grave.len(), "warning")) } " to be seen before tags are printed"
                        (named(&grave))
                    }
                }
                @if waits.undecided > 0 {
                    li {
                        a href=(desk.link("/circuits?action=undecided")) { (counted(waits.undecided, "end")) " undecided" }
                        ": keep, cut, remove, move?"
                    }
                }
                @let stale = job.recall.stale_tags();
                @if stale > 0 {
                    li {
                        a href=(desk.link("/circuits?stale=1")) { (counted(stale, "printed tag")) }
                        (if stale == 1 { " no longer tells the truth; " } else { " no longer tell the truth; " })
                        a href=(desk.link("/print?changed=1")) { "print what is changed" }
                    }
                }
                @if !found.is_empty() {
                    li {
                        a href=(desk.link("/problems?kind=found-otherwise")) { (counted(found.len(), "finding")) }
                        " of the bench that the lists speak against"
                        (named(&found.iter().collect::<Vec<_>>()))
                    }
                }
                @if !questions.is_empty() {
                    li { a href=(desk.link("/problems?which=questions")) { (counted(questions.len(), "open question")) } }
                }
                @if waits.blanks > 0 { li { (blanks(desk, job, waits.blanks)) } }
                @if waits.warnings > 0 {
                    li { a href=(desk.link("/problems")) { (counted(waits.warnings, "warning")) " in all" } }
                }
            }
        }
    }
}

fn named(problems: &[&Problem]) -> Markup {
    html! {
        ul {
            @for problem in problems.iter().take(NAMED) { li { (words(&problem.message)) } }
            @if problems.len() > NAMED { li.soft { "and " (problems.len() - NAMED) " more" } }
        }
    }
}

fn blanks(desk: &Desk, job: &Snapshot, count: usize) -> Markup {
    html! {
        (counted(count, "blank")) " not assigned yet: "
        span.codes { @for blank in job.recall.unassigned().take(CODES) { (tag(desk, blank.code.as_str(), None)) " " } }
        @if count > CODES { "and " (count - CODES) " more" }
    }
}
