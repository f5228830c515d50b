//! The two ways an answer can end: it says whether everything passes, or there is none.

use std::fmt::{self, Display, Formatter};
use wetrun_site::Diagnostics;

/// Whether everything passes; also the exit status of the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// Everything passes.
    Pass = 0,
    /// Something fails.
    Fail = 1,
    /// The input could not be read or solved.
    Refused = 2,
}

/// Why there is no answer: the input is wrong, or nothing was found.
#[derive(Clone, Debug)]
pub struct Refusal(Why);

#[derive(Clone, Debug)]
enum Why {
    /// Every fault of a file, each at its place.
    Wrong(Box<Diagnostics>),
    /// One sentence.
    Because(String),
}

impl Refusal {
    /// A refusal in one sentence.
    pub fn because(reason: impl Display) -> Self {
        Self(Why::Because(reason.to_string()))
    }

    /// The same, naming the file it is about where it does not yet.
    pub fn about(self, file: &str) -> Self {
        match self.0 {
            Why::Because(reason) if !reason.contains(file) => {
                Self::because(format_args!("{file}: {reason}"))
            }
            why => Self(why),
        }
    }

    /// The faults of the file, where it is that which is wrong.
    pub fn diagnostics(&self) -> Option<&Diagnostics> {
        match &self.0 {
            Why::Wrong(found) => Some(found),
            Why::Because(_) => None,
        }
    }

    /// The text for people, ending with a new line, with the styles of a terminal if wanted.
    pub fn render(&self, styled: bool) -> String {
        match &self.0 {
            Why::Wrong(found) => found.render(styled),
            Why::Because(reason) => format!("error: {reason}\n"),
        }
    }
}

impl From<Diagnostics> for Refusal {
    fn from(found: Diagnostics) -> Self {
        Self(Why::Wrong(Box::new(found)))
    }
}

impl Display for Refusal {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        match &self.0 {
            Why::Wrong(found) => f.write_str(found.render(false).trim_end()),
            Why::Because(reason) => f.write_str(reason),
        }
    }
}

impl std::error::Error for Refusal {}
