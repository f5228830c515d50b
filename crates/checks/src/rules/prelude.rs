//! What nearly every rule needs.

pub(super) use super::stated::{said, stated};
pub(super) use crate::Judged;
pub(super) use crate::finding::{Finding, Outcome};
pub(super) use crate::rule::{Confidence, Rule, Section, Source, pass_if};
pub(super) use crate::say;
pub(super) use wetrun_facts::Amount;
pub(super) use wetrun_units::Length;

/// Levels closer than this count as equal.
pub(super) const LEVEL_TOLERANCE_M: f64 = 1e-9;

/// A length as an amount.
pub(super) const fn metres(value_m: f64) -> Amount {
    Amount::Length(Length::m(value_m))
}
