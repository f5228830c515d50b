//! The tables of `wetrun doubt`.

use super::table::{inner, keyed, listed};
use crate::doubt::Doubted;
use crate::outcome::Refusal;
use crate::render::json;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DoubtRow {
    /// A downspout.
    Downspout,
    /// An input that is doubted.
    Input,
    /// An input's share of the variance of the least headroom.
    Share,
    /// A fault.
    Fault,
}

/// A table of the doubt.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn doubt(report: &Doubted, row: DoubtRow) -> Result<String, Refusal> {
    let all = json::doubt::result(report)?;
    let part = |path| inner(&all, path);
    match row {
        DoubtRow::Downspout => keyed(
            part("downspouts"),
            "downspout",
            &[
                "spills.chance",
                "spills.low",
                "spills.high",
                "short.chance",
                "short.low",
                "short.high",
                "headroom_m.p05",
                "headroom_m.p50",
                "headroom_m.p95",
            ],
        ),
        DoubtRow::Input => keyed(part("inputs"), "input", &["like", "spread", "unit", "basis"]),
        DoubtRow::Share => listed(part("owed_to"), &["input", "first", "total"]),
        DoubtRow::Fault => listed(
            part("faults"),
            &[
                "fault",
                "where",
                "no_way",
                "worst_downspout",
                "worst_headroom_m",
                "spilled_m3_per_s",
                "spills",
            ],
        ),
    }
}
