//! The program `wetrun`: reads its arguments, runs one command, writes what came of it.

use std::process::ExitCode;

fn main() -> ExitCode {
    wetrun_cli::main()
}
