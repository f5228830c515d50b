//! The tables of `wetrun check`.

use super::table::{keyed, listed, single};
use crate::outcome::Refusal;
use crate::render::json;
use crate::render::json::tree::Tree;
use crate::solved::Solved;
use serde_json::Value;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckRow {
    /// The site: its verdict, its storm, its totals.
    Site,
    /// A downspout.
    Downspout,
    /// A line.
    Line,
    /// A point.
    Point,
    /// A vent or a loose cap.
    Opening,
    /// A tank.
    Tank,
    /// What a rule found.
    Finding,
}

/// What a rule found, in the order of the checklist.
pub(crate) const FINDING: [&str; 8] =
    ["rule", "outcome", "where", "value", "limit", "unit", "message", "basis"];

/// A table of the result.
pub fn check(solved: &Solved, row: CheckRow) -> Result<String, Refusal> {
    let result = json::check::result(solved)?;
    let part = |key| serde_json::to_value(result.get(key)).map_err(Refusal::because);
    match row {
        CheckRow::Site => single(
            &site(&result)?,
            &[
                "site",
                "verdict",
                "storm.intensity_m_per_s",
                "storm.basis",
                "storm.tanks",
                "totals.demand_m3_per_s",
                "totals.admitted_m3_per_s",
                "totals.spilled_m3_per_s",
                "solve.iterations",
                "solve.continuity_residual",
                "solve.head_residual_m",
            ],
        ),
        CheckRow::Downspout => keyed(
            &part("downspouts")?,
            "downspout",
            &[
                "demand_m3_per_s",
                "admitted_m3_per_s",
                "spilled_m3_per_s",
                "outlet_level_m",
                "lip_level_m",
                "leaf_head_level_m",
                "standing_level_m",
                "headroom_m",
                "foot_head_m",
                "spills_at_m_per_s",
                "route",
            ],
        ),
        CheckRow::Line => keyed(
            &part("lines")?,
            "line",
            &[
                "flow_m3_per_s",
                "velocity_m_per_s",
                "reynolds",
                "friction_loss_m",
                "fitting_loss_m",
                "from_head_m",
                "to_head_m",
            ],
        ),
        CheckRow::Point => keyed(&part("points")?, "point", &["head_m", "rest_level_m"]),
        CheckRow::Opening => keyed(
            &part("openings")?,
            "opening",
            &["kind", "level_m", "headroom_m", "escapes_m3_per_s", "escapes_at_m_per_s"],
        ),
        CheckRow::Tank => keyed(
            &part("tanks")?,
            "tank",
            &["inflow_m3_per_s", "overflow_m3_per_s", "over_rim_m3_per_s", "water_level_m"],
        ),
        CheckRow::Finding => listed(&part("findings")?, &FINDING),
    }
}

/// What of a result is the site's own.
fn site(result: &Tree<'_>) -> Result<Value, Refusal> {
    let own = ["site", "verdict", "storm", "totals", "solve"];
    let part = |key: &str| serde_json::to_value(result.get(key)).map_err(Refusal::because);
    own.into_iter().map(|key| Ok((key.to_owned(), part(key)?))).collect()
}
