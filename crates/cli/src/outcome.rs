//! How a command ends: its text, its exit status, and the one place that writes.

use crate::args::Color;
use anstream::{AutoStream, ColorChoice};
use std::io::{self, ErrorKind, Write};
pub(crate) use wetrun_answers::{Refusal, Status};

/// What writes an answer while it is still worked out, and says how all of it ended.
type Course = Box<dyn FnOnce(&mut dyn Write) -> io::Result<Status>>;

/// A command that came to an answer.
pub(crate) struct Answer {
    /// What goes to stdout; styles in it are dropped where colour is off.
    pub(crate) stdout: String,
    /// What is too much to hold at once, written behind it.
    pub(crate) course: Option<Course>,
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
        Self { stdout, course: None, status, warning: String::new() }
    }

    /// An answer that is written while it is worked out.
    pub(crate) fn written(
        course: impl FnOnce(&mut dyn Write) -> io::Result<Status> + 'static,
    ) -> Self {
        Self { course: Some(Box::new(course)), ..Self::pass(String::new()) }
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
            let worked_out = answer.course.is_none();
            match print(&answer.stdout, answer.course, answer.status, color) {
                Ok(status) => status,
                // Whoever read the output has seen enough; what was not worked out does not pass.
                Err(error) if error.kind() == ErrorKind::BrokenPipe => match worked_out {
                    true => answer.status,
                    false => Status::Refused,
                },
                Err(error) => {
                    complain(&format!("error: cannot write the result: {error}\n"), color);
                    Status::Refused
                }
            }
        }
        Err(refusal) => {
            complain(&refusal.render(true), color);
            Status::Refused
        }
    }
}

/// What a command came to, unwritten.
pub(crate) fn ended(done: Result<Answer, Refusal>) -> crate::Ended {
    match done {
        Ok(answer) => {
            let mut stdout = answer.stdout.into_bytes();
            let course = answer.course.map(|course| course(&mut stdout));
            // Nothing fails that is written into memory.
            let status = course.transpose().ok().flatten().unwrap_or(answer.status);
            crate::Ended {
                stdout: String::from_utf8_lossy(&stdout).into_owned(),
                stderr: answer.warning,
                status: status as u8,
            }
        }
        Err(refusal) => crate::Ended {
            stdout: String::new(),
            stderr: refusal.render(true),
            status: Status::Refused as u8,
        },
    }
}

/// Writes what people need while a command goes on.
///
/// # Errors
/// A refusal where nobody can be told.
pub(crate) fn say(text: &str) -> Result<(), Refusal> {
    let refuse = |error| Refusal::because(format_args!("cannot write the result: {error}"));
    print(text, None, Status::Pass, ColorChoice::Never).map(|_| ()).map_err(refuse)
}

fn print(
    text: &str,
    course: Option<Course>,
    status: Status,
    color: ColorChoice,
) -> io::Result<Status> {
    let mut stdout = AutoStream::new(io::stdout(), color).lock();
    stdout.write_all(text.as_bytes())?;
    stdout.flush()?;
    drop(stdout);
    // What is written on the way has no styles.
    course.map_or(Ok(status), |course| course(&mut io::stdout().lock()))
}

fn complain(text: &str, color: ColorChoice) {
    let mut stderr = AutoStream::new(io::stderr(), color).lock();
    // Nobody is left to tell where stderr is closed.
    let _ = stderr.write_all(text.as_bytes());
}
