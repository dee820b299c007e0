//! THE COMMAND LINE.

use std::process::ExitCode;

pub mod problems;

/// Runs the program on the arguments it was started with.
pub fn main() -> ExitCode {
    ExitCode::SUCCESS
}
