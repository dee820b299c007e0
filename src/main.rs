//! `loomtag`: arguments in, exit code out.

use std::process::ExitCode;

fn main() -> ExitCode {
    loomtag::terminal::main()
}
