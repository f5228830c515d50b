//! The tables of `wetrun storm`.

use super::table::{inner, keyed, listed};
use super::{guarded, written};
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

/// The courses: a row for every step, with the rain, each downspout's level and spill, each line's
/// flow, the head at each opening, each tank's level, and what runs over from it. Where a place has no level of
/// its own the cell is empty.
///
/// # Errors
/// A refusal where the table cannot be written.
pub fn series(storm: &Storm) -> Result<String, Refusal> {
    let network = &storm.site.network;
    let named = |tag: &str, what: &str| guarded(&format!("{tag} {what}"));
    let mut header = vec!["at_s".to_owned(), "rain_m_per_s".to_owned()];
    for downspout in network.downspouts() {
        header.push(named(&downspout.tag, "level_m"));
        header.push(named(&downspout.tag, "spill_m3_per_s"));
    }
    header.extend(network.lines().iter().map(|line| named(&line.tag, "flow_m3_per_s")));
    header.extend(network.openings().map(|(id, _)| named(&network.point(id).tag, "head_m")));
    for tank in network.tanks() {
        header.push(named(&tank.tag, "level_m"));
        header.push(named(&tank.tag, "overflow_m3_per_s"));
    }
    let cell = |value: f64| json::number(value).map(|number| number.to_string());
    let blocks = storm.course.blocks();
    let rows = storm.passed.moments.iter().map(|moment| {
        let at_s = moment.at.to_s();
        let rains = blocks.iter().take_while(|block| block.at_s <= at_s);
        let rain = rains.last().map_or(0.0, |block| block.rain_m_per_s);
        let mut row = vec![Some(at_s), Some(rain)];
        for (level, spill) in moment.levels.iter().zip(&moment.spills) {
            row.extend([Some(level.to_m()), Some(spill.to_m3_per_s())]);
        }
        row.extend(moment.flows.iter().map(|flow| Some(flow.to_m3_per_s())));
        row.extend(moment.heads.iter().map(|head| Some(head.to_m())));
        for (level, over) in moment.tanks.iter().zip(&moment.overflows) {
            row.extend([level.map(|level| level.to_m()), Some(over.to_m3_per_s())]);
        }
        let cells = row.into_iter().map(|value| value.map_or(Ok(String::new()), cell));
        cells.collect::<Result<Vec<_>, Refusal>>()
    });
    written(header, rows.collect::<Result<Vec<_>, Refusal>>()?)
}
