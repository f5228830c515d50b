//! Quantities that keys hold, each with its range in words, as the reader's faults tell it.

use wetrun_units::Kind;

/// A quantity: its kind, and the range of its values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Amount {
    /// What it measures; also what unit a bare number takes.
    pub kind: Kind,
    /// Its range, in words.
    pub range: &'static str,
    /// How small it may be, as far as the sign tells.
    pub least: Least,
}

/// How small an amount may be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Least {
    /// Below 0 too.
    Any,
    /// 0 or more.
    Zero,
    /// More than 0.
    MoreThanZero,
}

const fn amount(kind: Kind, least: Least, range: &'static str) -> Amount {
    Amount { kind, range, least }
}

pub(crate) const LEVEL: Amount = amount(Kind::Level, Least::Any, "within 20 km of the datum");
pub(crate) const LENGTH: Amount = amount(Kind::Level, Least::MoreThanZero, "from 1 mm to 100 km");
pub(crate) const HEIGHT: Amount = amount(Kind::Level, Least::Zero, "0 or more, at most 100 km");
pub(crate) const SIZE: Amount =
    amount(Kind::Size, Least::MoreThanZero, "more than 0: from 1 mm to 50 m");
pub(crate) const BORE: Amount = amount(Kind::Size, Least::MoreThanZero, "from 1 mm to 10 m");
pub(crate) const THICKNESS: Amount = amount(Kind::Size, Least::Zero, "0 or more, at most 50 m");
pub(crate) const MESH: Amount = amount(Kind::Size, Least::MoreThanZero, "from 0.001 mm to 1 m");
pub(crate) const RAIN_DEPTH: Amount = amount(Kind::Size, Least::Zero, "0 or more, at most 1 m");
pub(crate) const AREA: Amount = amount(Kind::Area, Least::MoreThanZero, "more than 0");
pub(crate) const VOLUME: Amount = amount(Kind::Volume, Least::MoreThanZero, "more than 0");
pub(crate) const INTENSITY: Amount =
    amount(Kind::Intensity, Least::Zero, "0 or more, at most 360000 mm/h");
pub(crate) const TEMPERATURE: Amount =
    amount(Kind::Temperature, Least::Any, "from 0 to 40 °C (32 to 104 °F)");
pub(crate) const FRACTION: Amount =
    amount(Kind::Fraction, Least::Zero, "from 0 to 1, or 0 % to 100 %");
pub(crate) const SPEED: Amount =
    amount(Kind::Speed, Least::MoreThanZero, "more than 0, at most 100 m/s");
pub(crate) const SLOPE: Amount = amount(Kind::Slope, Least::Zero, "0 or more, at most 10:1");
pub(crate) const FLOW: Amount = amount(Kind::Flow, Least::Zero, "0 or more, at most 100 m3/s");
pub(crate) const TIME: Amount = amount(Kind::Time, Least::Zero, "0 or more, at most a century");
pub(crate) const BURST: Amount =
    amount(Kind::Time, Least::MoreThanZero, "from the shortest of the rain table to its longest");
pub(crate) const MOMENT: Amount = amount(Kind::Time, Least::Zero, "0 or more, at most 365 d");
pub(crate) const LAG: Amount = amount(Kind::Time, Least::Zero, "0 s or more, at most 1 d");
pub(crate) const WEIGHT: Amount = amount(Kind::Weight, Least::Zero, "0 or more, at most 100000 t");
