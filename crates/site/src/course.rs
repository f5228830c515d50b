//! How the storm passes: rains in a list, or blocks laid from the rain table.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::rainfall::Rainfall;
use crate::tree::Value;
use wetrun_rain::{Course, RainError};
use wetrun_units::{Kind, Time, UnitSystem};

/// How the storm passes.
#[derive(Clone, Debug, PartialEq)]
pub struct StormCourse {
    /// The rains.
    pub course: Course,
    /// Whole duration and step, where it is laid from the rain table.
    pub nested: Option<(Time, Time)>,
}

const EXPECTED: &str = "a list of { at: 10 min, rain: 5.2 in/h }, `nested`, or \
                        { nested: 60 min, step: 5 min }";
const LIST: &str = "rains in order of time, the last one 0: [{ at: 0 min, rain: 5.2 in/h }, \
                    { at: 10 min, rain: 0 in/h }]";
const STEP_S: f64 = 300.0;

/// Reads `storm.course`.
pub(crate) fn course(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    rainfall: Option<&Rainfall>,
) -> Option<StormCourse> {
    match &field.node.value {
        Value::List(_) => list(cx, field),
        Value::Map(_) => {
            let fields = Fields::open(cx, field, &keys::COURSE_NESTED)?;
            let whole = fields.require(cx, "nested", "the whole duration, such as `60 min`")?;
            let duration = cx.value(&whole, Kind::Time, UnitSystem::read_time);
            let step_at = fields.get("step");
            let step = match &step_at {
                Some(step) => cx.value(step, Kind::Time, UnitSystem::read_time),
                None => Some(Time::s(STEP_S)),
            };
            let (duration, step) = (duration?, step?);
            nested(cx, (&whole, step_at.as_ref()), rainfall, Some(duration), step)
        }
        _ => {
            cx.choice(field, &[("nested", ())])?;
            nested(cx, (field, None), rainfall, None, Time::s(STEP_S))
        }
    }
}

fn list(cx: &mut Context<'_>, field: &Field<'_>) -> Option<StormCourse> {
    let items = field.list(cx, EXPECTED)?;
    let rains: Vec<_> = items
        .iter()
        .map(|item| {
            let fields = Fields::open(cx, item, &keys::COURSE_RAIN)?;
            let at = fields.require(cx, "at", "when it begins, such as `10 min`");
            let at = at.and_then(|at| {
                let time = cx.value(&at, Kind::Time, UnitSystem::read_time)?;
                if time.to_s() >= 0.0 && time.to_s() <= LONGEST_S {
                    return Some(time);
                }
                let message = "a rain that begins before 0 or after a year";
                cx.fault(Code::Range, &at, message, "0 or more, at most 365 d");
                None
            });
            let rain = fields.require(cx, "rain", "how hard it rains, such as `5.2 in/h`");
            let rain = rain.and_then(|rain| cx.intensity(&rain));
            Some((at?, rain?))
        })
        .collect();
    let rains: Option<Vec<_>> = rains.into_iter().collect();
    match Course::new(&rains?) {
        Ok(course) => Some(StormCourse { course, nested: None }),
        Err(error) => {
            let (at, key, message) = match error {
                RainError::OutOfOrder(at) => (at, "at", "this does not come after the one before"),
                RainError::NeverEnds => (
                    items.len().saturating_sub(1),
                    "rain",
                    "the last rain of a course must be 0: it says when the storm is over",
                ),
                RainError::NotANumber(at) => (at, "at", "this is no rain at a time"),
                _ => (0, "at", "a course needs one rain at least, and the 0 that ends it"),
            };
            let Some(item) = items.get(at) else {
                cx.fault(Code::Range, field, message, LIST);
                return None;
            };
            let fields = Fields::open(cx, item, &keys::COURSE_RAIN)?;
            match fields.get(key) {
                Some(place) => cx.fault(Code::Range, &place, message, LIST),
                None => cx.fault(Code::Range, item, message, LIST),
            }
            None
        }
    }
}

/// No rain begins later than a year from the start.
const LONGEST_S: f64 = 365.0 * 86_400.0;

fn nested(
    cx: &mut Context<'_>,
    (whole, step_at): (&Field<'_>, Option<&Field<'_>>),
    rainfall: Option<&Rainfall>,
    duration: Option<Time>,
    step: Time,
) -> Option<StormCourse> {
    let Some(rainfall) = rainfall else {
        // A table with a fault has been told of already.
        if !cx.has_errors() {
            let message = "there is no rain table to lay the blocks from";
            cx.fault(Code::Reference, whole, message, "a section `rainfall` with `depths`");
        }
        return None;
    };
    let table = &rainfall.table;
    let duration = duration.unwrap_or(table.longest());
    let words = crate::rainfall::in_words;
    let (at, message, expected) = match table.nested(duration, step) {
        Ok(course) => return Some(StormCourse { course, nested: Some((duration, step)) }),
        Err(RainError::OutsideTable { asked_s, .. }) if asked_s == step.to_s() => (
            step_at.unwrap_or(whole),
            format!(
                "a step of {} is outside the rain table, which begins with {}",
                words(step),
                words(table.shortest())
            ),
            "a step of a duration within the table",
        ),
        Err(RainError::OutsideTable { .. }) => (
            whole,
            format!(
                "{} is outside the rain table, which goes from {} to {}",
                words(duration),
                words(table.shortest()),
                words(table.longest())
            ),
            "a duration within the table",
        ),
        Err(_) => (
            step_at.unwrap_or(whole),
            format!("{} is not a whole number of steps of {}", words(duration), words(step)),
            "a step that divides the duration, into 100000 blocks at most",
        ),
    };
    cx.fault(Code::Range, at, message, expected);
    None
}
