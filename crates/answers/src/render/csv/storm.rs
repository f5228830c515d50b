//! The tables of `wetrun storm`.

use super::table::{inner, keyed, listed};
use crate::outcome::Refusal;
use crate::render::json;
use crate::storm::Storm;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StormRow {
    /// A downspout.
    Downspout,
    /// A vent or a loose cap.
    Opening,
    /// A line.
    Line,
    /// A tank.
    Tank,
    /// A rain of the course.
    Rain,
    /// What a rule found.
    Finding,
}

/// A table of the storm.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn storm(storm: &Storm, row: StormRow) -> Result<String, Refusal> {
    let all = json::storm::result(storm)?;
    let part = |path| inner(&all, path);
    match row {
        StormRow::Downspout => keyed(
            part("downspouts"),
            "downspout",
            &[
                "peak_level_m",
                "peak_at_s",
                "least_headroom_m",
                "spilled_m3",
                "spills_from_s",
                "spills_for_s",
            ],
        ),
        StormRow::Opening => keyed(part("openings"), "opening", &["peak_level_m", "escaped_m3"]),
        StormRow::Line => keyed(
            part("lines"),
            "line",
            &["peak_flow_m3_per_s", "peak_velocity_m_per_s", "passed_m3"],
        ),
        StormRow::Tank => keyed(
            part("tanks"),
            "tank",
            &[
                "start_m3",
                "end_m3",
                "received_m3",
                "overflowed_m3",
                "over_rim_m3",
                "full_at_s",
                "peak_level_m",
            ],
        ),
        StormRow::Rain => listed(part("course"), &["at_s", "rain_m_per_s"]),
        StormRow::Finding => listed(part("findings"), &super::check::FINDING),
    }
}
