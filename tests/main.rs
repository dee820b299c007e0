//! All integration tests, in one binary: the program is linked once.
#![expect(clippy::disallowed_methods, reason = "tests read and write the folders they set up")]

// `pdf_outside` shares its hand-made pages with the unit tests, and those name the crate's folders.
use loomtag::{base, layout, pages};

mod cli;
mod example;
mod failures;
mod golden;
mod held;
mod hostile;
mod kept;
mod kit;
mod landing;
mod nesting;
mod outside;
mod pdf_outside;
mod register;
mod reuse;
mod scripts;
mod sending;
mod serve;
mod standards;
mod stocks;
mod tidy;
mod trial;
mod walks;
mod workbooks;
