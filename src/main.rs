//! The command line: arguments in, exit status out. Everything it knows, the library knows.

mod cli;

use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run()
}
