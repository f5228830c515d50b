//! The result of `wetrun flush` as JSON.

use super::storm::findings;
use super::{document, maybe, number, object};
use crate::flush::{Flush, FlushRun};
use crate::outcome::Refusal;
use serde_json::Value;
use wetrun_network::PointId;
use wetrun_units::{Length, Time};

type Part = Result<Value, Refusal>;

/// The whole result as a document.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn flush(flush: &Flush) -> Result<String, Refusal> {
    Ok(document(&result(flush)?))
}

/// The whole result.
pub(crate) fn result(flush: &Flush) -> Part {
    let runs = flush.runs.iter().map(|run| one(flush, run)).collect::<Result<Vec<_>, _>>()?;
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(flush.site.name.as_str())),
        ("runs", Value::from(runs)),
        ("order", tags(flush, flush.order.iter().map(|alone| alone.at))),
        ("findings", findings(&flush.findings)?),
    ]))
}

fn tags(flush: &Flush, points: impl Iterator<Item = PointId>) -> Value {
    let tag = |id: PointId| Value::from(flush.site.network.point(id).tag.as_str());
    Value::from(points.map(tag).collect::<Vec<_>>())
}

fn one(flush: &Flush, run: &FlushRun) -> Part {
    let flushed = &run.flushed;
    let left = flush.left(run).into_iter().map(|(tag, volume)| Ok((tag, number(volume.to_m3())?)));
    let left: Vec<(String, Value)> = left.collect::<Result<_, Refusal>>()?;
    let mut entries = vec![
        ("open".to_owned(), tags(flush, run.open.iter().copied())),
        ("drained_m3".to_owned(), number(flushed.drained.to_m3())?),
        ("left_m3".to_owned(), number(flushed.left().to_m3())?),
        ("left_in".to_owned(), object(left)),
        ("most_drained_s".to_owned(), number(flushed.most_drained.to_s())?),
    ];
    if !flush.hoses.is_empty() {
        entries.push(("ended_s".to_owned(), number(flushed.ended.to_s())?));
        entries.push(("hosed_m3".to_owned(), number(flushed.hosed.to_m3())?));
    }
    entries.push(("columns".to_owned(), columns(flush, run)?));
    entries.push(("drains".to_owned(), drains(flush, run)?));
    entries.push(("lines".to_owned(), lines(flush, run)?));
    Ok(object(entries))
}

fn columns(flush: &Flush, run: &FlushRun) -> Part {
    let mut entries = Vec::new();
    for (downspout, column) in flush.site.network.downspouts().iter().zip(&run.flushed.columns) {
        let entry = object([
            ("start_level_m", number(column.start_level.to_m())?),
            ("down_at_s", maybe(column.down_at.map(Time::to_s))?),
        ]);
        entries.push((downspout.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn drains(flush: &Flush, run: &FlushRun) -> Part {
    let mut entries = Vec::new();
    for (id, drain) in run.open.iter().zip(&run.flushed.drains) {
        let entry = object([
            ("peak_flow_m3_per_s", number(drain.peak_flow.to_m3_per_s())?),
            ("passed_m3", number(drain.passed.to_m3())?),
        ]);
        entries.push((flush.site.network.point(*id).tag.clone(), entry));
    }
    Ok(object(entries))
}

fn lines(flush: &Flush, run: &FlushRun) -> Part {
    let mut entries = Vec::new();
    for (place, line) in flush.site.network.lines().iter().enumerate() {
        let (swept, cure) = (&run.flushed.lines[place], &run.cures[place]);
        let entry = object([
            ("peak_velocity_m_per_s", number(swept.peak_velocity.to_m_per_s())?),
            ("peak_at_s", number(swept.peak_at.to_s())?),
            ("passed_m3", number(swept.passed.to_m3())?),
            ("carries_silt", Value::from(run.carries(place, flush.carries()))),
            (
                "needs_inflow_m3_per_s",
                maybe(run.needs[place].map(|needs| needs.flow.to_m3_per_s()))?,
            ),
            ("needs_drain_m", maybe(cure.drain.map(Length::to_m))?),
            ("needs_gulp_m3", maybe(cure.gulp.map(|gulp| gulp.volume.to_m3()))?),
            ("needs_gulp_level_m", maybe(cure.gulp.map(|gulp| gulp.level.to_m()))?),
        ]);
        entries.push((line.tag.clone(), entry));
    }
    Ok(object(entries))
}
