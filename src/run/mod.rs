//! THE WHOLE RUN: the one place where the steps are joined.
//!
//! A job folder comes in; a print run, a check, a record recalled go out. The command line and later the browser are thin
//! faces over this step and hold no rules of the trade.

pub mod assigning;
mod blanks;
mod bounded;
pub mod check;
pub mod choice;
pub mod equipment;
pub mod export;
pub mod failure;
pub mod import;
pub mod init;
pub mod job;
pub mod joining;
pub mod kinds;
mod letters;
pub mod likely_renames;
pub mod making;
pub mod measured;
mod named_lists;
pub mod noting;
pub mod picture;
pub mod preview;
pub mod print;
mod problems;
pub mod progress;
pub mod proofing;
pub mod proposal;
mod rating;
pub mod reading;
pub mod recall;
pub mod record;
pub mod register;
pub mod renaming;
pub mod rules;
pub mod sample;
pub mod scanning;
pub mod settings;
pub mod shopping;
pub mod stale;
pub mod tally;
pub mod template;
pub mod trying;
mod whole_file;
pub mod worked;

pub use assigning::assign;
pub use blanks::{blanks, issue_listed, print_blanks};
pub use choice::{Again, Choice, Connectors, Named, NotNamed, Only};
pub use export::export;
pub use failure::RunFailure;
pub use import::import;
pub use job::{Job, JobFailure};
pub use joining::join;
pub use likely_renames::likely_renames;
pub use noting::note;
pub use preview::{Preview, Previews, preview};
pub use print::{Printed, Proving, Refused, Request, print};
pub use problems::{all_problem_kinds, must_be_seen};
pub use progress::{Progress, Silent};
pub use reading::{Reading, read, register_path};
pub use recall::recall;
pub use scanning::scan;
pub use settings::{PayloadSettings, Printer, SymbolText, TagSettings};
pub use template::{Template, TemplateFile, Whose};
