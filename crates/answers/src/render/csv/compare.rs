//! The tables of `wetrun compare`.

use super::review::FINDING;
use super::table::{inner, keyed, listed};
use crate::comparison::Comparison;
use crate::outcome::Refusal;
use crate::render::json;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CompareRow {
    /// A downspout of either file.
    Downspout,
    /// A key of the files that differs.
    Change,
    /// An item of the checklist that came out otherwise.
    Finding,
}

/// A table of the comparison.
pub fn compare(comparison: &Comparison, row: CompareRow) -> Result<String, Refusal> {
    let result = json::compare::result(comparison)?;
    let part = |path| inner(&result, path);
    match row {
        CompareRow::Downspout => keyed(
            part("downspouts"),
            "downspout",
            &[
                "headroom_before_m",
                "headroom_after_m",
                "spills_at_before_m_per_s",
                "spills_at_after_m_per_s",
            ],
        ),
        CompareRow::Change => listed(part("changes"), &["key", "before", "after", "by_m"]),
        CompareRow::Finding => {
            let side = |side: &str| FINDING.map(|key| format!("{side}.{key}"));
            let columns: Vec<String> = side("before").into_iter().chain(side("after")).collect();
            listed(part("findings"), &columns.iter().map(String::as_str).collect::<Vec<_>>())
        }
    }
}
