//! The result of `wetrun compare` as JSON.

use super::review::finding;
use super::{document, maybe, object};
use crate::comparison::{Comparison, Turn};
use crate::difference::Change;
use crate::outcome::{Refusal, Status};
use crate::solved::Solved;
use serde_json::Value;
use wetrun_checks::Finding;

/// The whole result.
pub fn compare(comparison: &Comparison) -> Result<String, Refusal> {
    result(comparison).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(comparison: &Comparison) -> Result<Value, Refusal> {
    let verdict = if comparison.status() == Status::Fail { "fail" } else { "pass" };
    let (before, after) = (&comparison.before, &comparison.after);
    Ok(object([
        ("wetrun", Value::from(1)),
        ("sites", Value::from(vec![before.site.name.as_str(), after.site.name.as_str()])),
        ("revisions", Value::Array(vec![revision(before), revision(after)])),
        ("verdict", Value::from(verdict)),
        ("changes", comparison.changes.iter().map(change).collect::<Result<_, Refusal>>()?),
        ("downspouts", downspouts(before, after)?),
        ("findings", comparison.findings.iter().map(turn).collect::<Result<_, Refusal>>()?),
    ]))
}

fn revision(solved: &Solved) -> Value {
    solved.facts.revision.as_deref().map_or(Value::Null, Value::from)
}

fn change(change: &Change) -> Result<Value, Refusal> {
    let text = |text: &Option<String>| text.as_deref().map_or(Value::Null, Value::from);
    Ok(object([
        ("key", Value::from(change.key.as_str())),
        ("before", text(&change.before)),
        ("after", text(&change.after)),
        ("by_m", maybe(change.by.map(|by| by.to_m()))?),
    ]))
}

fn downspouts(before: &Solved, after: &Solved) -> Result<Value, Refusal> {
    let mut entries = Vec::new();
    for (tag, was, now) in super::super::pairs(before, after) {
        let headroom = |solved: &Solved, index: Option<usize>| {
            maybe(index.map(|i| solved.steady.downspouts[i].headroom.to_m()))
        };
        let spills = |solved: &Solved, index: Option<usize>| {
            let rain = index.and_then(|i| solved.spill_rains.downspouts.get(i).copied().flatten());
            maybe(rain.map(|rain| rain.to_m_per_s()))
        };
        let entry = object([
            ("headroom_before_m", headroom(before, was)?),
            ("headroom_after_m", headroom(after, now)?),
            ("spills_at_before_m_per_s", spills(before, was)?),
            ("spills_at_after_m_per_s", spills(after, now)?),
        ]);
        entries.push((tag, entry));
    }
    Ok(object(entries))
}

fn turn(turn: &Turn) -> Result<Value, Refusal> {
    let side = |side: &Option<Finding>| side.as_ref().map_or(Ok(Value::Null), finding);
    Ok(object([("before", side(&turn.before)?), ("after", side(&turn.after)?)]))
}
