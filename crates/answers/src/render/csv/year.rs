//! The tables of `wetrun year`, volumes in cubic metres.

use super::table::{inner, keyed, listed};
use super::{guarded, written};
use crate::days::Days;
use crate::outcome::Refusal;
use crate::render::json;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum YearRow {
    /// A month.
    Month,
    /// A day.
    Day,
    /// A use of the water.
    Use,
    /// A tank.
    Tank,
    /// A tank of another size.
    Size,
}

/// A table of the run.
pub fn year(report: &Days, row: YearRow) -> Result<String, Refusal> {
    let part = |path| json::year::result(report).map(|all| inner(&all, path).clone());
    match row {
        YearRow::Month => months(report),
        YearRow::Day => days(report),
        YearRow::Use => keyed(
            &part("uses")?,
            "use",
            &["asked_m3", "met_m3", "days_short", "longest_short_days"],
        ),
        YearRow::Tank => keyed(
            &part("tanks")?,
            "tank",
            &["start_m3", "received_m3", "given_m3", "overflowed_m3", "end_m3", "days_empty"],
        ),
        YearRow::Size => listed(&part("sizes")?, &["tank", "volume_m3", "met_m3"]),
    }
}

/// The months.
fn months(report: &Days) -> Result<String, Refusal> {
    let header = ["month", "rain_m3", "caught_m3", "overflowed_m3", "asked_m3", "met_m3", "end_m3"];
    let rows = report.year.months.iter().map(|month| {
        let values =
            [month.rain, month.caught, month.overflowed, month.asked, month.met, month.end];
        let values = values.map(|volume| wetrun_units::decimal(volume.to_m3(), 6));
        std::iter::once(format!("{:04}-{:02}", month.year, month.month)).chain(values)
    });
    written(header, rows)
}

/// The days; each tank's is what it holds in the evening.
fn days(report: &Days) -> Result<String, Refusal> {
    let tanks = report.site.network.tanks().iter();
    let tanks = tanks.map(|tank| guarded(&format!("{}_m3", tank.tag)));
    let header = ["date", "rain_m3", "overflowed_m3", "asked_m3", "met_m3"];
    let header = header.map(str::to_owned).into_iter().chain(tanks);
    let rows = report.year.course.iter().enumerate().map(|(index, day)| {
        let values = [day.rain, day.overflowed, day.asked, day.met];
        let values = values.into_iter().chain(day.tanks.iter().copied());
        let values = values.map(|volume| wetrun_units::decimal(volume.to_m3(), 6));
        std::iter::once(report.rain.first.plus(index).to_string()).chain(values.collect::<Vec<_>>())
    });
    written(header, rows)
}
