//! The tables of `wetrun flush`.

use super::table::listed;
use crate::flush::Flush;
use crate::outcome::Refusal;
use crate::render::json;
use serde_json::Value;

/// What a row of the table is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FlushRow {
    /// A run.
    Run,
    /// A line in a run.
    Line,
    /// A downspout in a run.
    Downspout,
    /// A drain in a run.
    Drain,
    /// What a rule found.
    Finding,
}

/// A table of the flush; `open` names the run by its drains.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn flush(flush: &Flush, row: FlushRow) -> Result<String, Refusal> {
    let all = json::flush::result(flush)?;
    let none = Vec::new();
    let runs = all["runs"].as_array().unwrap_or(&none);
    let under = |key: &str, name: &str| -> Value {
        let rows = runs.iter().flat_map(|run| {
            let entries = run[key].as_object().into_iter().flatten();
            entries.map(|(tag, entry)| {
                let mut entry = entry.clone();
                entry["open"] = Value::from(open(run));
                entry[name] = Value::from(tag.as_str());
                entry
            })
        });
        Value::Array(rows.collect())
    };
    match row {
        FlushRow::Run => {
            let rows = runs.iter().map(|run| {
                let mut run = run.clone();
                run["open"] = Value::from(open(&run));
                run
            });
            let rows = Value::Array(rows.collect());
            listed(&rows, &["open", "drained_m3", "left_m3", "most_drained_s"])
        }
        FlushRow::Line => listed(
            &under("lines", "line"),
            &[
                "open",
                "line",
                "peak_velocity_m_per_s",
                "peak_at_s",
                "passed_m3",
                "carries_silt",
                "needs_inflow_m3_per_s",
                "needs_drain_m",
                "needs_gulp_m3",
                "needs_gulp_level_m",
            ],
        ),
        FlushRow::Downspout => listed(
            &under("columns", "downspout"),
            &["open", "downspout", "start_level_m", "down_at_s"],
        ),
        FlushRow::Drain => {
            listed(&under("drains", "drain"), &["open", "drain", "peak_flow_m3_per_s", "passed_m3"])
        }
        FlushRow::Finding => listed(&all["findings"], &super::check::FINDING),
    }
}

/// The drains of a run, with spaces between.
fn open(run: &Value) -> String {
    let tags = run["open"].as_array().into_iter().flatten();
    tags.filter_map(Value::as_str).collect::<Vec<_>>().join(" ")
}
