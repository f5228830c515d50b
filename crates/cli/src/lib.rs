//! The program `wetrun` as a library: one run of a command, for `main` and for tests that feed many.

mod args;
mod clock;
mod commands;
mod desk_files;
mod files;
mod outcome;
mod picture;

use clap::Parser;
use std::ffi::OsString;
use std::process::ExitCode;

/// How a run ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ended {
    /// What goes to stdout, with the styles of a terminal.
    pub stdout: String,
    /// What goes to stderr, with the styles of a terminal.
    pub stderr: String,
    /// The exit status.
    pub status: u8,
}

/// Runs the command of this process, writes what came of it, and says how it ended.
pub fn main() -> ExitCode {
    if let Some(refusal) = args::hidden_characters(std::env::args_os()) {
        return status(Err(refusal), args::Color::Auto);
    }
    let args = args::Args::parse();
    let done = commands::run(args.command);
    status(done, args.color)
}

fn status(done: Result<outcome::Answer, outcome::Refusal>, color: args::Color) -> ExitCode {
    ExitCode::from(outcome::write(done, color) as u8)
}

/// Runs the command that `args` give, the program's name first; nothing is written but the files
/// that the command is asked for.
pub fn run(args: impl IntoIterator<Item = impl Into<OsString>>) -> Ended {
    let args: Vec<OsString> = args.into_iter().map(Into::into).collect();
    if let Some(refusal) = args::hidden_characters(args.iter().cloned()) {
        return outcome::ended(Err(refusal));
    }
    match args::Args::try_parse_from(args) {
        Ok(args) => outcome::ended(commands::run(args.command)),
        Err(told) => {
            let status = u8::try_from(told.exit_code()).unwrap_or(2);
            let text = told.render().ansi().to_string();
            let (stdout, stderr) = match told.use_stderr() {
                true => (String::new(), text),
                false => (text, String::new()),
            };
            Ended { stdout, stderr, status }
        }
    }
}
