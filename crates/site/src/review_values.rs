//! Values that only the review's keys take: times, weights, caps, and lists of drawings.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::Field;
use crate::tree::Value;
use std::time::Duration;
use wetrun_units::{Length, Speed};

/// A weight, in newtons.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Weight(f64);

impl Weight {
    /// A weight of so many newtons.
    pub const fn n(newtons: f64) -> Self {
        Self(newtons)
    }

    /// In newtons.
    pub const fn to_n(self) -> f64 {
        self.0
    }
}

/// The cap of a cleanout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cap {
    /// Tight against the water below.
    Sealed,
    /// Loose, with its top at a level.
    At(Length),
}

/// No time is longer: a century.
const LONGEST_S: f64 = 3.2e9;
/// No tank weighs more, in newtons.
const HEAVIEST_N: f64 = 1e9;
/// Standard gravity, exactly.
const G: f64 = 9.80665;
/// A pound avoirdupois in kilograms, exactly.
const KG_PER_LB: f64 = 0.45359237;

/// Units with their spellings and sizes.
type Units = [(&'static [&'static str], f64)];

const TIMES: &Units = &[
    (&["s", "sec", "second", "seconds"], 1.0),
    (&["min", "mins", "minute", "minutes"], 60.0),
    (&["h", "hr", "hrs", "hour", "hours"], 3600.0),
    (&["d", "day", "days"], 86_400.0),
];
const SPEEDS: &Units = &[(&["m/s"], 1.0), (&["ft/s", "fps"], 0.3048)];
const WEIGHTS: &Units = &[
    (&["kg", "kgs"], G),
    (&["lb", "lbs", "pound", "pounds"], KG_PER_LB * G),
    (&["t", "tonne", "tonnes"], 1000.0 * G),
    (&["kN"], 1000.0),
    (&["N"], 1.0),
];

/// Reads a time with its unit: `15 min`; `None` where the text is none.
pub fn read_time(text: &str) -> Option<Duration> {
    with_unit(text, TIMES, LONGEST_S).map(Duration::from_secs_f64)
}

/// Reads a speed with its unit: `0.9 m/s`, `3 ft/s`; `None` where the text is none.
pub fn read_speed(text: &str) -> Option<Speed> {
    with_unit(text, SPEEDS, 1000.0).map(Speed::m_per_s)
}

/// A time with its unit.
pub(crate) fn duration(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Duration> {
    let expected = "a time such as `15 min` or `24 h`";
    value(cx, field, TIMES, LONGEST_S, expected).map(Duration::from_secs_f64)
}

/// A weight with its unit; a mass stands for its weight.
pub(crate) fn weight(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Weight> {
    let expected = "a weight such as `500 lb`, `230 kg` or `2.2 kN`";
    value(cx, field, WEIGHTS, HEAVIEST_N, expected).map(Weight)
}

/// `sealed`, or the level of a loose cap.
pub(crate) fn pipe_cap(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Cap> {
    let text = field.text(cx, "`sealed`, or a level")?;
    if text.trim() == "sealed" {
        return Some(Cap::Sealed);
    }
    cx.level(field).map(Cap::At)
}

/// A list of names, or one name.
pub(crate) fn drawings(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Vec<String>> {
    if !matches!(field.node.value, Value::List(_)) {
        return cx.free_text(field).map(|one| vec![one]);
    }
    let items = field.list(cx, "the drawings: [plan, long section]")?;
    Some(items.iter().filter_map(|item| cx.free_text(item)).collect())
}

/// The value of a field, none below zero.
fn value(
    cx: &mut Context<'_>,
    field: &Field<'_>,
    units: &Units,
    most: f64,
    expected: &str,
) -> Option<f64> {
    let text = field.text(cx, expected)?;
    let value = with_unit(text, units, most);
    if value.is_none() {
        let message = format!("`{}` is no such value", crate::values::short(text));
        cx.fault(Code::Value, field, message, expected);
    }
    value
}

/// A number from 0 to `most` with one of the units.
fn with_unit(text: &str, units: &Units, most: f64) -> Option<f64> {
    let text = text.trim();
    let split = text.find(|c: char| c.is_alphabetic() && c != 'e')?;
    let (number, unit) = text.split_at(split);
    let (_, factor) = units.iter().find(|(names, _)| names.contains(&unit))?;
    let value = number.trim().parse::<f64>().ok()? * factor;
    (0.0..=most).contains(&value).then_some(value)
}
