//! The tables of `wetrun size`.

use super::table::{inner, single};
use super::{guarded, written};
use crate::outcome::Refusal;
use crate::render::json;
use crate::sizing::Sized;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SizeRow {
    /// A pipe that was open: what was chosen for it.
    Pipe,
    /// The site: what came of it.
    Site,
}

/// A table of what was chosen; without rows where nothing works.
pub fn size(sized: &Sized, row: SizeRow) -> Result<String, Refusal> {
    let result = json::size::result(sized)?;
    match row {
        SizeRow::Pipe => {
            let chosen = inner(&result, "chosen").as_object().into_iter().flatten();
            let text = |pipe: &serde_json::Value| guarded(pipe.as_str().unwrap_or_default());
            written(["tag", "pipe"], chosen.map(|(tag, pipe)| [guarded(tag), text(pipe)]))
        }
        SizeRow::Site => single(
            &result,
            &[
                "outcome",
                "verdict",
                "cost",
                "cost_basis",
                "lower_bound",
                "proven",
                "worst_margin_m",
                "worst_downspout",
            ],
        ),
    }
}
