//! Fitted, coded tags for every wire of a harness.
//!
//! The folders below are the steps of the job, and alphabetical order is the data flow: a folder uses only folders above
//! it in this listing.
//!
//! ```text
//! base      the words: lengths, places, codes, colours, settings, problems
//! circuits  circuit lists        -> circuits, their wires and ends
//! codes     circuits             -> a code for each and a letter for each end, kept in a register
//! labels    circuits and codes   -> what each tag says
//! layout    what a tag says      -> a frame fitted to stock and wire
//! pages     frames and stock     -> pages, with the marks by which they are cut
//! paperwork circuits and codes   -> bench sheets, also pages; which removed wire is for what
//! pdf       pages                -> a PDF, streamed
//! proof     a PDF or photograph  -> what its symbols say
//! run       the whole run: job folder, check, print run, recall, notes of the bench, joining
//! send      a PDF                -> a printer, by IPP
//! serve     the bench in a browser
//! terminal  the command line
//! ```

pub mod base;
pub mod circuits;
pub mod codes;
pub mod labels;
pub mod layout;
pub mod pages;
pub mod paperwork;
pub mod pdf;
pub mod proof;
pub mod run;
pub mod send;
pub mod serve;
pub mod terminal;
