//! The table that a bench answers with, for a person to read.

use std::fmt::Display;

/// What the rows below are about.
#[expect(clippy::print_stdout, reason = "a bench answers on standard output")]
pub fn heading(words: &str) {
    println!("\n{words}");
}

/// What was measured, and what it came to.
#[expect(clippy::print_stdout, reason = "a bench answers on standard output")]
pub fn row(what: impl Display, answer: impl Display) {
    println!("  {what:<52}{answer}");
}
