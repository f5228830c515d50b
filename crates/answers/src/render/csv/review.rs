//! The checklist of `wetrun review` as a table, an item a row.

use super::table::{inner, listed};
use crate::outcome::Refusal;
use crate::render::json;
use crate::review::Review;
use crate::solved::Solved;

/// What a rule found, with its section and what would mend it.
pub(crate) const FINDING: [&str; 12] = [
    "rule", "section", "outcome", "where", "value", "limit", "unit", "message", "basis", "mend",
    "stated", "missing",
];

/// Every item of the checklist.
pub fn review(solved: &Solved, review: &Review) -> Result<String, Refusal> {
    let result = json::review::result(solved, review)?;
    listed(inner(&result, "findings"), &FINDING)
}
