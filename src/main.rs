//! The command line's entry: parse, run, exit code.

fn main() {}
