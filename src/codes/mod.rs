//! CIRCUITS -> REGISTER: every circuit gets a code for ever, every end a letter.

mod assign;
mod csv_text;
mod ends;
pub mod export;
mod failure;
pub mod import;
pub mod issued;
pub mod journal;
mod known;
pub mod link;
pub mod mint;
pub mod nearest;
mod problems;
pub mod rebuild;
pub mod recorded;
mod refused;
pub mod register;
mod renames;
mod safe_cell;
#[cfg(test)]
pub(crate) mod samples;
mod schema;
pub mod tables;
#[cfg(test)]
mod tests;
#[cfg(test)]
mod trials;

pub use failure::RegisterFailure;
pub use issued::{CircuitCodes, Issued};
pub use journal::{Outcome, PrintedTag, Printing, Run, RunNumber, Spot};
pub use link::{LinkBase, NotABase, Payload};
pub use problems::problem_kinds;
pub use register::{Joined, Record, RecordedEnd, Register};
pub use renames::LikelyRename;
