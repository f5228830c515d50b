//! The table of `wetrun rain`: a row a duration.

use super::table::{inner, listed};
use crate::design_rain::DesignRain;
use crate::outcome::Refusal;
use crate::render::json;

/// The rains by duration.
pub fn rain(rain: &DesignRain) -> Result<String, Refusal> {
    let all = json::rain::result(rain)?;
    listed(inner(&all, "rows"), &["duration_s", "depth_m", "intensity_m_per_s"])
}
