//! Levels to set as survey points: number, northing, easting, level, description, in file units.

use super::{guarded, written};
use crate::level_report::Report;
use crate::outcome::Refusal;
use crate::site_levels::number;
use crate::survey::place;
use wetrun_units::Length;

/// Survey points, and what is not among them.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Points {
    /// The file.
    pub text: String,
    /// The names of levels that have no place in plan.
    pub without_place: Vec<String>,
}

impl Points {
    /// What is said where levels are left out; nothing where none is.
    pub fn warning(&self) -> String {
        let (left_out, names) = (self.without_place.len(), self.without_place.join(", "));
        match left_out {
            0 => String::new(),
            1 => format!(
                "warning: a level without a place in plan is not among the points: {names}\n"
            ),
            _ => format!(
                "warning: {left_out} levels without a place in plan are not among the points: {names}\n"
            ),
        }
    }
}

/// Every level to set that has a place in plan.
///
/// # Errors
/// A refusal where none has one.
pub fn points(report: &Report) -> Result<Points, Refusal> {
    let site = &report.solved.site;
    let (mut rows, mut without_place) = (Vec::new(), Vec::new());
    for level in &report.levels {
        let Some((north, east)) = place(&report.solved, level.set_point) else {
            without_place.push(level.name());
            continue;
        };
        let written = |length: Length| number(site.units, length).0;
        rows.push([
            (rows.len() + 1).to_string(),
            written(north),
            written(east),
            written(level.design),
            guarded(&level.name()),
        ]);
    }
    if rows.is_empty() {
        return Err(Refusal::because(
            "no level has a place in plan: give downspouts, points and tanks `at: [east, north]`",
        ));
    }
    let (_, unit) = number(site.units, Length::ZERO);
    let header = ["number", "northing_", "easting_", "level_", "description"];
    let header =
        header.map(|name| format!("{name}{}", if name.ends_with('_') { unit } else { "" }));
    Ok(Points { text: written(header, rows)?, without_place })
}
