//! Levels and heights in words, in the units of the site file.

use crate::finding::Amount;
use wetrun_solver::laws::Force;
use wetrun_units::{Length, UnitSystem};

/// A level above the site's datum.
pub(crate) fn level(units: UnitSystem, level_m: f64) -> String {
    units.show_level(Length::m(level_m)).to_string()
}

/// A difference of levels or a size.
pub(crate) fn height(units: UnitSystem, height_m: f64) -> String {
    Amount::Length(Length::m(height_m)).show(units)
}

/// How far one level stands above or below another: `3.1 in below`.
pub(crate) fn apart(units: UnitSystem, above_m: f64) -> String {
    let side = if above_m < 0.0 { "below" } else { "above" };
    format!("{} {side}", height(units, above_m.abs()))
}

/// A force: pounds, or kilonewtons.
pub(crate) fn force(units: UnitSystem, force: Force) -> String {
    const N_PER_LB: f64 = 4.4482216152605; // exactly
    match units {
        UnitSystem::Us => format!("{:.0} lb", force.to_n() / N_PER_LB),
        UnitSystem::Si => format!("{:.1} kN", force.to_n() / 1000.0),
    }
}

/// Several tags in one sentence: `D1, D2 and D3`.
pub(crate) fn list<'a>(tags: impl IntoIterator<Item = &'a str>) -> String {
    let tags: Vec<&str> = tags.into_iter().collect();
    match tags.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}
