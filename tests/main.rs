//! All integration tests, in one binary: the program is linked once.
#![expect(clippy::disallowed_methods, reason = "tests read and write the folders they set up")]

mod kit;
mod tidy;
