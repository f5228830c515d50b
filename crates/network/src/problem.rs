//! Why a set of parts is not a network: facts with tags, each readable as one sentence.

use thiserror::Error;

/// A reason why [`crate::Network::build`] refuses its parts.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Problem {
    /// No route leads from a downspout to a tank.
    #[error("downspout `{tag}` has no way to a tank")]
    NoWayToTank {
        /// The downspout.
        tag: String,
    },
    /// A line joins a tag to itself.
    #[error("line `{tag}` runs from `{end}` to itself")]
    SelfLoop {
        /// The line.
        tag: String,
        /// The tag at both its ends.
        end: String,
    },
    /// Overflows lead round in a circle.
    #[error("the overflows run in a circle: {}", tags.join(" -> "))]
    OverflowCircle {
        /// The tanks on the circle, in order.
        tags: Vec<String>,
    },
    /// A quantity that must be positive and finite is not.
    #[error("{what} of `{tag}` must be a positive number")]
    NotPositive {
        /// The item.
        tag: String,
        /// Which quantity.
        what: &'static str,
    },
    /// A quantity is so small or so large that it is a slip of the pen.
    #[error("{what} of `{tag}` must be {range}")]
    OutOfRange {
        /// The item.
        tag: String,
        /// Which quantity.
        what: &'static str,
        /// What it may be, in words.
        range: &'static str,
    },
    /// A level is not a number, or levels stand in the wrong order.
    #[error("`{tag}`: {what}")]
    Level {
        /// The item.
        tag: String,
        /// What is wrong, in words.
        what: &'static str,
    },
    /// A coefficient of a law, or a roof area, that no pipe and no roof has.
    #[error("`{tag}`: {what}")]
    Coefficient {
        /// The item.
        tag: String,
        /// What is wrong, in words.
        what: &'static str,
    },
    /// Two items of the same tag.
    #[error("`{tag}` is the tag of two things")]
    TagTwice {
        /// The tag.
        tag: String,
    },
    /// What is to take the place of a part bears another tag or joins other things.
    #[error("what takes the place of `{tag}` must bear its tag and join what it joins")]
    OtherJoints {
        /// The part.
        tag: String,
    },
    /// An id points at nothing.
    #[error("`{tag}` refers to something that does not exist")]
    Dangling {
        /// The item that holds the reference.
        tag: String,
    },
    /// A wye or tee that does not join exactly three lines, its branch among them.
    #[error("point `{tag}` is a {kind}: it needs exactly three lines, its branch one of them")]
    Junction {
        /// The point.
        tag: String,
        /// `wye` or `tee`.
        kind: &'static str,
    },
}
