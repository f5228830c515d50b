//! Values that only the review's keys take: times, weights, caps, and lists of drawings.

use crate::context::Context;
use crate::fields::Field;
use crate::keys;
use crate::review_keys::FirstFlush;
use crate::tree::Value;
use std::time::Duration;
use wetrun_units::{Kind, Length, UnitSystem, Weight, holds_a_place};

/// The cap of a cleanout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cap {
    /// Tight against the water below.
    Sealed,
    /// Loose, with its top at a level.
    At(Length),
}

/// A device that keeps back the first water of a storm, or the word that there is none.
#[derive(Clone, Debug, PartialEq)]
pub enum Device {
    /// There is none.
    None,
    /// There is one.
    Is(FirstFlush),
}

/// No time is longer, in seconds: a century.
const LONGEST_S: f64 = 3.2e9;
/// No tank weighs more, in newtons.
const HEAVIEST_N: f64 = 1e9;

/// A time with its unit.
pub(crate) fn duration(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Duration> {
    let time_s = cx.value(field, Kind::Time, UnitSystem::read_time)?.to_s();
    let fits = (0.0..=LONGEST_S).contains(&time_s);
    cx.within(fits, field, time_s, "a time", keys::TIME.range).map(Duration::from_secs_f64)
}

/// A weight with its unit; a mass stands for its weight.
pub(crate) fn weight(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Weight> {
    let weight = cx.value(field, Kind::Weight, UnitSystem::read_weight)?;
    let fits = (0.0..=HEAVIEST_N).contains(&weight.to_n());
    cx.within(fits, field, weight, "a weight", keys::WEIGHT.range)
}

/// A first-flush device, or `no`.
pub(crate) fn device(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Device> {
    if matches!(&field.node.value, Value::Text(text) if matches!(text.trim(), "no" | "none")) {
        return Some(Device::None);
    }
    FirstFlush::section(cx, field).map(Device::Is)
}

/// The opening of a mesh: far finer than a pipe.
pub(crate) fn mesh(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Length> {
    let opening = cx.value(field, Kind::Size, UnitSystem::read_size)?;
    let fits = (1e-6..=1.0).contains(&opening.to_m());
    cx.within(fits, field, opening, "the opening of a mesh", keys::MESH.range)
}

/// Whether a value only holds the place of one that is still to come: it is not shown.
pub(crate) fn is_placeholder(field: &Field<'_>) -> bool {
    matches!(&field.node.value, Value::Text(text) if holds_a_place(text))
}

/// `sealed`: levels differ from place to place.
pub(crate) fn sealed_cap(cx: &mut Context<'_>, field: &Field<'_>) -> Option<Cap> {
    cx.choice(field, &[("sealed", Cap::Sealed)])
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
