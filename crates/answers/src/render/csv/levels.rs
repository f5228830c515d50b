//! The tables of `wetrun levels`, in metres.

use super::table::{inner, keyed, listed};
use super::{guarded, written};
use crate::level_report::Report;
use crate::outcome::Refusal;
use crate::render::json;
use crate::render::text::levels::stopped_by;
use wetrun_design::levels::{By, Stop};
use wetrun_units::{Length, whole_steps_down, whole_steps_up};

/// Five decimals of a metre.
const STEPS_PER_M: f64 = 1e5;

const HEADER: [&str; 14] = [
    "tag",
    "level",
    "design_m",
    "lowest_m",
    "highest_m",
    "margin_if_1_mm_low_m",
    "margin_if_1_mm_high_m",
    "built_m",
    "rod_m",
    "lowest_by_rules_m",
    "lowest_limited_by",
    "highest_by_rules_m",
    "highest_limited_by",
    "would_hold_at_m",
];

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LevelRow {
    /// A level that somebody sets.
    Level,
    /// A downspout: up to what level its joints must be watertight.
    Downspout,
    /// A level that was measured: what it does to the worst margin.
    Measured,
    /// A benchmark that the run was closed on.
    Benchmark,
}

/// A table of the report.
pub fn levels(report: &Report, row: LevelRow) -> Result<String, Refusal> {
    let part = |path| json::levels::result(report).map(|all| inner(&all, path).clone());
    match row {
        LevelRow::Level => set_points(report),
        LevelRow::Downspout => keyed(&part("watertight_to_m")?, "downspout", &["watertight_to_m"]),
        LevelRow::Measured => listed(
            &part("as_built.deviations")?,
            &["tag", "level", "design_m", "built_m", "deviation_m", "effect_m"],
        ),
        LevelRow::Benchmark => {
            listed(&part("closing")?, &["benchmark", "level_m", "found_m", "error_m"])
        }
    }
}

/// One row for each level.
fn set_points(report: &Report) -> Result<String, Refusal> {
    let rows = report.levels.iter().map(|level| {
        let limits = report.limits(level);
        let rod = report.instrument.map(|i| i.reading(level.design));
        let low_stop = limits.and_then(|l| l.low_stop.as_ref());
        let high_stop = limits.and_then(|l| l.high_stop.as_ref());
        [
            guarded(&level.tag),
            guarded(&level.key),
            metres(Some(level.design)),
            limit(limits.and_then(|l| l.lowest), whole_steps_up),
            limit(limits.and_then(|l| l.highest), whole_steps_down),
            metres(limits.map(|l| l.effect.if_low)),
            metres(limits.map(|l| l.effect.if_high)),
            metres(report.found(level)),
            metres(rod),
            limit(low_stop.and_then(by_rule), whole_steps_up),
            limited_by(low_stop),
            limit(high_stop.and_then(by_rule), whole_steps_down),
            limited_by(high_stop),
            metres(limits.and_then(|l| l.mend)),
        ]
    });
    written(HEADER, rows)
}

/// To a hundredth of a millimetre; nothing where there is no number.
fn metres(length: Option<Length>) -> String {
    length.map_or(String::new(), |l| wetrun_units::decimal(l.to_m(), 5))
}

/// A limit to a hundredth of a millimetre, rounded so that it still holds.
fn limit(length: Option<Length>, whole: fn(f64) -> f64) -> String {
    metres(length.map(|l| Length::m(whole(l.to_m() * STEPS_PER_M) / STEPS_PER_M)))
}

fn by_rule(stop: &Stop) -> Option<Length> {
    matches!(stop.by, By::Rule(_)).then_some(stop.level)
}

fn limited_by(stop: Option<&Stop>) -> String {
    let words = stop.and_then(|stop| Some(format!("{} {}", stopped_by(stop.by)?, stop.at)));
    guarded(&words.unwrap_or_default())
}
