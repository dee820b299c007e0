//! What is told of a code that belongs to nothing yet: a blank comes in, words go out.

use jiff::Timestamp;

use crate::codes::{Blank, Way};

/// `7KF4 is a blank, printed 2026-11-25 in run 3, not assigned yet: loomtag assign 7KF4 CIRCUIT|PLACE tells what it proved to be`.
pub fn in_words(blank: &Blank) -> String {
    format!("{}: {}", what(blank), assigning(blank.code.as_str()))
}

/// `7KF4 is a blank, printed 2026-11-25 in run 3, not assigned yet`.
pub fn what(blank: &Blank) -> String {
    format!("{} is a blank, {}, not assigned yet", blank.code, origin(blank))
}

/// How a terminal tells what a blank proved to be.
pub fn assigning(code: &str) -> String {
    format!("`loomtag assign {code} CIRCUIT` or `... PLACE` tells what it proved to be")
}

/// `printed 2026-11-25 in run 3`.
pub fn origin(blank: &Blank) -> String {
    match (&blank.run, blank.way) {
        (Some(run), _) => format!("printed {} in run {}", day(run.planned), run.number),
        (None, Way::Listed) => format!("listed {} for a marker pen", day(blank.issued)),
        (None, Way::Printed) => format!("issued {}, its print run was not finished", day(blank.issued)),
    }
}

/// The day of a moment, in universal time as the register keeps it.
pub fn day(moment: Timestamp) -> String {
    moment.strftime("%Y-%m-%d").to_string()
}
