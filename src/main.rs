//! The command line's entry: parse, run, exit code.

use std::process::ExitCode;

fn main() -> ExitCode {
    fretgrin::cli::main()
}
