//! The result of `wetrun storm` as JSON.

use super::{document, maybe, number, object};
use crate::outcome::{Refusal, Status};
use crate::storm::{Storm, Told};
use serde_json::Value;
use wetrun_network::DownspoutId;
use wetrun_units::{Length, Time, Volume};

type Part = Result<Value, Refusal>;

/// The whole result as a document.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn storm(storm: &Storm) -> Result<String, Refusal> {
    Ok(document(&result(storm)?))
}

/// The whole result.
pub(crate) fn result(storm: &Storm) -> Part {
    let verdict = if storm.status() == Status::Fail { "fail" } else { "pass" };
    let blocks = storm.course.blocks().iter().map(|block| {
        Ok(object([("at_s", number(block.at_s)?), ("rain_m_per_s", number(block.rain_m_per_s)?)]))
    });
    let blocks: Vec<Value> = blocks.collect::<Result<_, Refusal>>()?;
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(storm.site.name.as_str())),
        ("verdict", Value::from(verdict)),
        ("course", Value::from(blocks)),
        ("ended_s", seconds(storm.passed.ended)?),
        ("totals", totals(storm)?),
        ("downspouts", downspouts(storm)?),
        ("openings", openings(storm)?),
        ("lines", lines(storm)?),
        ("tanks", tanks(storm)?),
        ("steady", steady(storm)?),
        ("findings", findings(&storm.findings)?),
        (
            "solve",
            object([
                ("steps", Value::from(storm.passed.steps)),
                ("level_error_m", m(storm.passed.level_error)?),
            ]),
        ),
    ]))
}

fn m(length: Length) -> Part {
    number(length.to_m())
}

fn m3(volume: Volume) -> Part {
    number(volume.to_m3())
}

fn seconds(time: Time) -> Part {
    number(time.to_s())
}

fn totals(storm: &Storm) -> Part {
    let totals = &storm.passed.totals;
    Ok(object([
        ("rain_m3", m3(totals.rain)?),
        ("wetted_m3", m3(totals.wetted)?),
        ("no_runoff_m3", m3(totals.no_runoff)?),
        ("runoff_m3", m3(totals.runoff)?),
        ("spilled_m3", m3(totals.spilled)?),
        ("escaped_m3", m3(totals.escaped)?),
        ("stored_m3", m3(totals.stored)?),
        ("overflowed_m3", m3(totals.overflowed)?),
        ("over_rim_m3", m3(totals.over_rim)?),
        ("balance_m3", m3(totals.balance)?),
    ]))
}

fn downspouts(storm: &Storm) -> Part {
    let mut entries = Vec::new();
    for (place, course) in storm.passed.downspouts.iter().enumerate() {
        let entry = object([
            ("peak_level_m", m(course.peak_level)?),
            ("peak_at_s", seconds(course.peak_at)?),
            ("least_headroom_m", m(storm.headroom(DownspoutId::new(place)))?),
            ("spilled_m3", m3(course.spilled)?),
            ("spills_from_s", maybe(course.spills_from.map(Time::to_s))?),
            ("spills_for_s", seconds(course.spills_for)?),
        ]);
        entries.push((storm.site.network.downspouts()[place].tag.clone(), entry));
    }
    Ok(object(entries))
}

fn openings(storm: &Storm) -> Part {
    let network = &storm.site.network;
    let mut entries = Vec::new();
    for ((id, _), course) in network.openings().zip(&storm.passed.openings) {
        let entry =
            object([("peak_level_m", m(course.peak_level)?), ("escaped_m3", m3(course.escaped)?)]);
        entries.push((network.point(id).tag.clone(), entry));
    }
    Ok(object(entries))
}

fn lines(storm: &Storm) -> Part {
    let mut entries = Vec::new();
    for (line, course) in storm.site.network.lines().iter().zip(&storm.passed.lines) {
        let entry = object([
            ("peak_flow_m3_per_s", number(course.peak_flow.to_m3_per_s())?),
            ("peak_velocity_m_per_s", number(course.peak_velocity.to_m_per_s())?),
            ("passed_m3", m3(course.passed)?),
        ]);
        entries.push((line.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn tanks(storm: &Storm) -> Part {
    let mut entries = Vec::new();
    for (tank, course) in storm.site.network.tanks().iter().zip(&storm.passed.tanks) {
        let entry = object([
            ("start_m3", maybe(course.start.map(Volume::to_m3))?),
            ("end_m3", maybe(course.end.map(Volume::to_m3))?),
            ("received_m3", m3(course.received)?),
            ("overflowed_m3", m3(course.overflowed)?),
            ("over_rim_m3", m3(course.over_rim)?),
            ("full_at_s", maybe(course.full_at.map(Time::to_s))?),
            ("peak_level_m", maybe(course.peak_level.map(Length::to_m))?),
        ]);
        entries.push((tank.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn steady(storm: &Storm) -> Part {
    let worst = storm.steady_worst();
    let tag = worst.map(|at| storm.site.network.downspout(at).tag.as_str());
    let headroom = worst.map(|at| storm.steady.downspouts[at.index()].headroom.to_m());
    Ok(object([
        ("worst_downspout", tag.map_or(Value::Null, Value::from)),
        ("headroom_m", maybe(headroom)?),
    ]))
}

pub(super) fn findings(findings: &[Told]) -> Part {
    let entry = |told: &Told| -> Part {
        Ok(object([
            ("rule", Value::from(told.rule)),
            ("outcome", Value::from(told.outcome.word())),
            ("where", Value::from(told.at.as_str())),
            ("value", maybe(told.value)?),
            ("limit", maybe(told.limit)?),
            ("unit", Value::from(told.unit)),
            ("message", Value::from(told.message.as_str())),
            ("basis", Value::from(told.basis.as_str())),
        ]))
    };
    findings.iter().map(entry).collect::<Result<Vec<_>, _>>().map(Value::Array)
}
