//! CIRCUITS -> REGISTER: every circuit gets a code for ever, every end a letter.

mod assign;
mod assigning;
#[cfg(test)]
mod blank_trials;
mod blanks;
pub(crate) mod csv_text;
pub mod decisions;
mod ends;
pub mod export;
mod failure;
pub mod import;
pub mod issued;
mod journal;
mod known;
mod likely_renames;
pub mod link;
mod mark;
pub mod mint;
mod moves;
pub mod nearest;
pub mod notes;
mod opening;
pub mod print_run;
mod problems;
pub mod rebuild;
pub mod recorded;
mod refused;
pub mod register;
pub mod rename;
mod safe_cell;
#[cfg(test)]
pub(crate) mod samples;
mod schema;
pub mod sheets;
pub mod tables;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod trials;

pub use assigning::{Again, Assigned, Target};
pub use blanks::{Assignment, Blank, BlankRun, MOST as MOST_BLANKS, Way};
pub use decisions::{DecidedEnds, Decision, Decisions, Made, Matter, Undo, WithoutEnd};
pub use failure::RegisterFailure;
pub use issued::{CircuitCodes, Issued};
pub use likely_renames::LikelyRename;
pub use link::{LinkBase, NotABase, Payload};
pub use moves::{LikelyMove, Moved, NotMoved};
pub use notes::{Note, Noted, Notes, Said, progress};
pub use print_run::{Outcome, PrintedConnectorTag, PrintedTag, Printing, Run, RunNumber, Spot};
pub use problems::problem_kinds;
pub use register::{Joined, LookedAhead, Record, RecordedEnd, Register, Renaming};
pub use rename::{Certainty, NotRenamed, Renamed};
pub use sheets::{LabelUse, SheetMark, SheetNumber, SheetUse, Telling, UsedSheet};
