//! The laws that inputs follow, told from a standard normal number.

use crate::normal;

/// Normal laws end at so many standard deviations.
const CUT: f64 = 3.0;
/// Nothing farther than this from the drawing is looked at.
pub(crate) const FAR: f64 = 6.0;

/// A law, by what a standard normal number `z` stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Law {
    /// `z` itself, cut at three standard deviations.
    Normal,
    /// From −1 to 1, evenly: the number of the same chance.
    Even,
    /// From 0 to 1, evenly, 0 being what is drawn: then `z` is never negative.
    Filling,
}

impl Law {
    /// The `z` of a number drawn evenly between 0 and 1.
    pub(crate) fn drawn(self, unit: f64) -> f64 {
        match self {
            Self::Normal => {
                let cut = normal::below(-CUT);
                normal::quantile(cut + unit * (1.0 - 2.0 * cut))
            }
            Self::Even => normal::quantile(unit),
            Self::Filling => normal::quantile(0.5 * (1.0 + unit)),
        }
    }

    /// What `z` stands for: standard deviations, or the part of the width.
    pub(crate) fn value(self, z: f64) -> f64 {
        match self {
            Self::Normal => z,
            Self::Even | Self::Filling => 2.0 * normal::below(z) - 1.0,
        }
    }

    /// The least and the most that `z` may be.
    pub(crate) fn bounds(self) -> (f64, f64) {
        match self {
            Self::Normal => (-CUT, CUT),
            Self::Even => (-FAR, FAR),
            Self::Filling => (0.0, FAR),
        }
    }
}
