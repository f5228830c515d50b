//! Keys of the section `doubts`.

use super::*;
use wetrun_units::Kind;

/// Shares of a number: at three standard deviations, one and a half times what is written, something
/// is left.
pub(crate) const DOUBT: Amount =
    Amount { kind: Kind::Fraction, least: Least::Zero, range: "0 to 60 %" };
pub(crate) const EVEN_DOUBT: Amount =
    Amount { kind: Kind::Fraction, least: Least::Zero, range: "0 to 90 %" };
pub(crate) const LEVEL_DOUBT: Amount =
    Amount { kind: Kind::Level, least: Least::Zero, range: "0 to 1 m" };
pub(crate) const WARMTH_DOUBT: Amount =
    Amount { kind: Kind::Warmth, least: Least::Zero, range: "0 to 20 C" };

const SPREAD: &str = "twice the standard deviation of a normal law, cut at three of them";
const EVEN: &str = "half the width of an even law about what is drawn";
const FACTOR: &str = "the number whose logarithm is twice the standard deviation of a normal law";
const BASIS: Key =
    optional("basis", Value::Text, "what it rests on; printed").example_is("a guess");

const fn of_shares(name: &'static str, usual: &'static str, meaning: &'static str) -> Key {
    default(name, Value::AmountOr(DOUBT, &OF_SHARES), usual, meaning).example_is("10 %")
}

const fn of_levels(name: &'static str, meaning: &'static str) -> Key {
    default(name, Value::AmountOr(LEVEL_DOUBT, &OF_LEVELS), "6 mm", meaning).example_is("6 mm")
}

/// How well the numbers are known.
pub(crate) static DOUBTS: Section = Section::new(
    "`doubts`",
    &[&[
        of_shares("rain", "15 %", "of the intensity, all roofs together"),
        of_shares("runoff", "3 %", "of every roof's runoff, together; never above 1"),
        of_shares("areas", "3 %", "of each roof's area, by itself"),
        of_shares("roughness", "{ factor: 3 }", "of each pipe type's roughness"),
        of_shares("c", "5 %", "of each pipe type's Hazen-Williams coefficient"),
        of_shares("bores", "0.5 %", "of each pipe type's bores, together"),
        of_shares(
            "fittings",
            "30 %",
            "of the loss of each kind of fitting, together, and of each extra `k` by itself",
        ),
        default(
            "junctions",
            Value::NumberOr(COEFFICIENT_DOUBT, &OF_JUNCTIONS),
            "0.2",
            "one number added to both coefficients of every wye and tee",
        )
        .example_is("0.2"),
        of_levels("openings", "of the level of each outlet or leaf head; its lip moves with it"),
        of_levels("inlets", "of the level of each tank inlet and its overflow, together"),
        default(
            "temperature",
            Value::AmountOr(WARMTH_DOUBT, &OF_WARMTH),
            "5 C",
            "of the water's temperature",
        ),
        default(
            "silt",
            Value::AmountOr(HEIGHT, &OF_SILT),
            "0 mm",
            "the deepest along the bottom of every line, from none evenly",
        )
        .example_is("10 mm"),
        optional("lines", Value::Items(&OF_LINE), "the same of single lines, by tag"),
    ]],
);

pub(crate) static OF_SHARES: Section = Section::new(
    "a doubt",
    &[&[
        optional("spread", Value::Amount(DOUBT), SPREAD).example_is("10 %"),
        optional("even", Value::Amount(EVEN_DOUBT), EVEN).example_is("10 %"),
        optional("factor", Value::Number(FACTOR_DOUBT), FACTOR),
        BASIS,
    ]],
)
.either(&[&["spread"], &["even"], &["factor"]]);

pub(crate) static OF_LEVELS: Section = Section::new(
    "a doubt",
    &[&[
        optional("spread", Value::Amount(LEVEL_DOUBT), SPREAD).example_is("6 mm"),
        optional("even", Value::Amount(LEVEL_DOUBT), EVEN).example_is("6 mm"),
        BASIS,
    ]],
)
.either(&[&["spread"], &["even"]]);

pub(crate) static OF_WARMTH: Section = Section::new(
    "a doubt",
    &[&[
        optional("spread", Value::Amount(WARMTH_DOUBT), SPREAD),
        optional("even", Value::Amount(WARMTH_DOUBT), EVEN),
        BASIS,
    ]],
)
.either(&[&["spread"], &["even"]]);

pub(crate) static OF_JUNCTIONS: Section = Section::new(
    "a doubt",
    &[&[
        optional("spread", Value::Number(COEFFICIENT_DOUBT), SPREAD).example_is("0.2"),
        optional("even", Value::Number(COEFFICIENT_DOUBT), EVEN).example_is("0.2"),
        BASIS,
    ]],
)
.either(&[&["spread"], &["even"]]);

pub(crate) static OF_SILT: Section = Section::new(
    "a depth of silt",
    &[&[
        required("depth", Value::Amount(HEIGHT), "the deepest that it may lie").example_is("10 mm"),
        BASIS,
    ]],
);

pub(crate) static OF_LINE: Section = Section::new(
    "the doubts of a line",
    &[&[required(
        "silt",
        Value::AmountOr(HEIGHT, &OF_SILT),
        "the deepest along its bottom, from none evenly",
    )
    .example_is("10 mm")]],
);
