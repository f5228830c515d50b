//! Why a text is not a value: the fault, and the character it starts at.

use crate::kind::Kind;
use std::fmt;

/// A text that is not a value of the kind asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueError {
    /// The kind that was asked for.
    pub expected: Kind,
    /// Where the fault starts, in characters from the start of the text.
    pub at: usize,
    /// What is wrong.
    pub fault: Fault,
}

/// What is wrong with a text that should be a value.
#[derive(Clone, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum Fault {
    /// Nothing stands there.
    Empty,
    /// The text is far longer than any value.
    TooLong,
    /// No number where one should start.
    NoNumber {
        /// What stands there instead.
        found: String,
    },
    /// Not a number, or an infinity, written out.
    NotFinite,
    /// The number is too large to be stored.
    TooLarge,
    /// A fraction over zero.
    ZeroBelow,
    /// A comma or an underscore, where a decimal point or no separator belongs.
    Comma,
    /// A number that needs a unit.
    NoUnit,
    /// A unit nobody knows.
    UnknownUnit {
        /// The text that stands where a unit should.
        unit: String,
        /// The nearest unit of the kind asked for, where one is near.
        nearest: Option<&'static str>,
    },
    /// A unit of another kind.
    WrongKind {
        /// The unit as written.
        unit: String,
        /// The kinds it measures.
        found: Kind,
    },
    /// Parts that do not go from the larger unit to the smaller, as feet and inches do.
    PartOrder,
    /// Text after the end of the value.
    Trailing {
        /// What stands there.
        found: String,
    },
}

impl fmt::Display for ValueError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.expected.with_article();
        match &self.fault {
            Fault::Empty => write!(f, "{kind} is missing here"),
            Fault::TooLong => write!(f, "this is too long for {kind}"),
            Fault::NoNumber { found } => {
                write!(f, "{kind} starts with a number, not with `{found}`")
            }
            Fault::NotFinite => write!(f, "{kind} must be a finite number"),
            Fault::TooLarge => write!(f, "this number is too large"),
            Fault::ZeroBelow => write!(f, "a fraction cannot stand over 0"),
            Fault::Comma => {
                write!(f, "write a decimal point, and nothing else between the digits")
            }
            Fault::NoUnit => write!(f, "{kind} needs a unit here"),
            Fault::UnknownUnit { unit, .. } => write!(f, "unknown unit `{unit}`"),
            Fault::WrongKind { unit, found } => {
                write!(f, "`{unit}` measures {}, but {kind} belongs here", found.with_article())
            }
            Fault::PartOrder => {
                write!(f, "only feet and inches stand together, the feet first")
            }
            Fault::Trailing { found } => {
                write!(f, "`{found}` stands after the end of the value")
            }
        }
    }
}

impl std::error::Error for ValueError {}
