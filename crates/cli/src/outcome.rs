//! How a command ends: its text, its exit status, and the one place that writes.

use crate::args::Color;
use anstream::{AutoStream, ColorChoice};
use std::io::{self, ErrorKind, Write};
use std::process::ExitCode;

/// A command that came to an answer.
#[derive(Debug)]
pub(crate) struct Answer {
    /// What goes to stdout; styles in it are dropped where colour is off.
    pub(crate) stdout: String,
    /// Whether everything passes.
    pub(crate) status: Status,
    /// What goes to stderr besides, ending with a new line; mostly nothing.
    pub(crate) warning: String,
}

impl Answer {
    /// An answer with nothing to fail.
    pub(crate) fn pass(stdout: String) -> Self {
        Self::new(stdout, Status::Pass)
    }

    /// An answer, and whether all of it passes.
    pub(crate) fn new(stdout: String, status: Status) -> Self {
        Self { stdout, status, warning: String::new() }
    }
}

/// A command that came to none: what goes to stderr, ending with a new line.
#[derive(Debug)]
pub(crate) struct Refusal(pub(crate) String);

impl Refusal {
    /// A refusal in one sentence.
    pub(crate) fn because(reason: impl std::fmt::Display) -> Self {
        Self(format!("error: {reason}\n"))
    }

    /// The same, naming the file it is about where it does not yet.
    pub(crate) fn about(self, file: &str) -> Self {
        match self.0.strip_prefix("error: ") {
            Some(reason) if !self.0.contains(file) => Self(format!("error: {file}: {reason}")),
            _ => self,
        }
    }
}

/// The exit status.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Status {
    /// Everything passes.
    Pass = 0,
    /// Something fails.
    Fail = 1,
    /// The input could not be read or solved.
    Refused = 2,
}

impl From<Status> for ExitCode {
    fn from(status: Status) -> Self {
        Self::from(status as u8)
    }
}

/// Writes what a command came to, and says with which status the program ends.
pub(crate) fn write(done: Result<Answer, Refusal>, color: Color) -> Status {
    let color = match color {
        Color::Auto => ColorChoice::Auto,
        Color::Always => ColorChoice::Always,
        Color::Never => ColorChoice::Never,
    };
    match done {
        Ok(answer) => {
            complain(&answer.warning, color);
            match print(&answer.stdout, color) {
                Ok(()) => answer.status,
                // Whoever read the output has seen enough.
                Err(error) if error.kind() == ErrorKind::BrokenPipe => answer.status,
                Err(error) => {
                    complain(&format!("error: cannot write the result: {error}\n"), color);
                    Status::Refused
                }
            }
        }
        Err(Refusal(text)) => {
            complain(&text, color);
            Status::Refused
        }
    }
}

/// What a command came to, unwritten.
pub(crate) fn ended(done: Result<Answer, Refusal>) -> crate::Ended {
    match done {
        Ok(answer) => crate::Ended {
            stdout: answer.stdout,
            stderr: answer.warning,
            status: answer.status as u8,
        },
        Err(Refusal(stderr)) => {
            crate::Ended { stdout: String::new(), stderr, status: Status::Refused as u8 }
        }
    }
}

fn print(text: &str, color: ColorChoice) -> io::Result<()> {
    let mut stdout = AutoStream::new(io::stdout(), color).lock();
    stdout.write_all(text.as_bytes())?;
    stdout.flush()
}

fn complain(text: &str, color: ColorChoice) {
    let mut stderr = AutoStream::new(io::stderr(), color).lock();
    // Nobody is left to tell where stderr is closed.
    let _ = stderr.write_all(text.as_bytes());
}
