//! Levels and heights in words, in the units of the site file, rounded to the safe side.

use wetrun_facts::Amount;
use wetrun_solver::laws::Force;
use wetrun_units::{Length, UnitSystem, Volume, decimal};

/// Levels this close are equal: rounding up does not climb a step for less.
const SAME_M: f64 = 5e-10;

/// A level above the site's datum.
pub(crate) fn level(units: UnitSystem, level_m: f64) -> String {
    units.show_level(Length::m(level_m)).to_string()
}

/// A difference of levels or a size.
pub(crate) fn height(units: UnitSystem, height_m: f64) -> String {
    Amount::Length(Length::m(height_m)).show(units)
}

/// A level that is asked for: the lowest that prints exactly and is not below it.
pub(crate) fn level_up(units: UnitSystem, level_m: f64) -> String {
    level(units, up_m(level_m, level_step_m(units)))
}

/// A level that is not to be passed: the highest that prints exactly and is not above it.
pub(crate) fn level_down(units: UnitSystem, level_m: f64) -> String {
    let step_m = level_step_m(units);
    level(units, ((level_m + SAME_M) / step_m).floor() * step_m)
}

/// A difference of levels that is asked for, rounded up to what is printed.
pub(crate) fn height_up(units: UnitSystem, height_m: f64) -> String {
    let small = up_m(height_m, small_step_m(units));
    let step_m = if small.abs() < 1.0 { small_step_m(units) } else { level_step_m(units) };
    height(units, up_m(height_m, step_m))
}

/// A bore or another size that is asked for, rounded up to what is printed.
pub(crate) fn size_up(units: UnitSystem, size_m: f64) -> String {
    let step_m = match units {
        UnitSystem::Us => 0.0254e-3,
        UnitSystem::Si => 1e-4,
    };
    units.show_size(Length::m(up_m(size_m, step_m))).to_string()
}

/// A volume that is asked for, rounded up to what is printed.
pub(crate) fn volume_up(units: UnitSystem, volume: Volume) -> String {
    let step_m3 = match units {
        UnitSystem::Us => 231.0 * 0.0254 * 0.0254 * 0.0254,
        UnitSystem::Si => 1e-3,
    };
    let steps = (volume.to_m3() / step_m3 - 1e-6).ceil();
    units.show_volume(Volume::m3(steps * step_m3)).to_string()
}

fn up_m(value_m: f64, step_m: f64) -> f64 {
    ((value_m - SAME_M) / step_m).ceil() * step_m
}

fn level_step_m(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => 0.003_048,
        UnitSystem::Si => 1e-3,
    }
}

fn small_step_m(units: UnitSystem) -> f64 {
    match units {
        UnitSystem::Us => 0.00254,
        UnitSystem::Si => 1e-3,
    }
}

/// A difference of levels and the one it is held against, with as many digits as tell them apart.
pub(crate) fn heights(units: UnitSystem, value_m: f64, limit_m: f64) -> (String, String) {
    let small = value_m.abs().max(limit_m.abs()) < 1.0;
    let (unit_m, unit, places) = match (units, small) {
        (UnitSystem::Us, true) => (0.0254, "in", 1),
        (UnitSystem::Si, true) => (1e-3, "mm", 0),
        (UnitSystem::Us, false) => (0.3048, "ft", 2),
        (UnitSystem::Si, false) => (1.0, "m", 3),
    };
    apart_by_digits((value_m, limit_m), unit_m, unit, places)
}

/// A level and the one it is held against, with as many digits as tell them apart.
pub(crate) fn levels(units: UnitSystem, value_m: f64, limit_m: f64) -> (String, String) {
    match units {
        UnitSystem::Us => apart_by_digits((value_m, limit_m), 0.3048, "ft", 2),
        UnitSystem::Si => apart_by_digits((value_m, limit_m), 1.0, "m", 3),
    }
}

/// Both numbers with the same places: more where they would read alike and are not.
fn apart_by_digits(
    (value_m, limit_m): (f64, f64),
    unit_m: f64,
    unit: &str,
    places: usize,
) -> (String, String) {
    const MOST_MORE: usize = 6;
    let show = |metres: f64, places| format!("{} {unit}", decimal(metres / unit_m, places));
    let differ = (value_m - limit_m).abs() > SAME_M;
    let enough = (places..places + MOST_MORE)
        .find(|&places| !differ || show(value_m, places) != show(limit_m, places));
    let places = enough.unwrap_or(places + MOST_MORE);
    (show(value_m, places), show(limit_m, places))
}

/// How far one level stands above or below another: `3.1 in below`.
pub(crate) fn apart(units: UnitSystem, above_m: f64) -> String {
    let side = if above_m < 0.0 { "below" } else { "above" };
    format!("{} {side}", height(units, above_m.abs()))
}

/// A force: pounds, or kilonewtons.
pub(crate) fn force(units: UnitSystem, force: Force) -> String {
    match units {
        UnitSystem::Us => format!("{:.0} lb", force.to_n() / N_PER_LB),
        UnitSystem::Si => format!("{:.1} kN", force.to_n() / 1000.0),
    }
}

/// A force that is asked for, rounded up to what is printed.
pub(crate) fn force_up(units: UnitSystem, asked: Force) -> String {
    let step_n = match units {
        UnitSystem::Us => N_PER_LB,
        UnitSystem::Si => 100.0,
    };
    force(units, Force::n((asked.to_n() / step_n - 1e-9).ceil() * step_n))
}

const N_PER_LB: f64 = 4.4482216152605; // exactly

/// Several tags in one sentence: `D1, D2 and D3`.
pub(crate) fn list<'a>(tags: impl IntoIterator<Item = &'a str>) -> String {
    let tags: Vec<&str> = tags.into_iter().collect();
    match tags.as_slice() {
        [] => String::new(),
        [one] => (*one).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const US: UnitSystem = UnitSystem::Us;
    const SI: UnitSystem = UnitSystem::Si;

    /// By hand: 33.3014 m is 109.2566 ft; 30.04 in is 763.016 mm.
    #[test]
    fn what_is_asked_for_is_rounded_up() {
        assert_eq!(level_up(US, 33.3014), "109.26 ft");
        assert_eq!(level_up(US, 109.26 * 0.3048), "109.26 ft");
        assert_eq!(level_up(US, 109.2601 * 0.3048), "109.27 ft");
        assert_eq!(level_up(SI, 102.2309), "102.231 m");
        assert_eq!(height_up(US, 30.04 * 0.0254), "30.1 in");
        assert_eq!(height_up(SI, 0.7500001), "751 mm");
        assert_eq!(height_up(SI, 0.75), "750 mm");
        assert_eq!(height_up(US, 3.281 * 0.3048), "3.29 ft");
        assert_eq!(size_up(US, 0.1016), "4.000 in");
        assert_eq!(size_up(SI, 0.10361), "103.7 mm");
        assert_eq!(volume_up(SI, Volume::m3(0.0204)), "21 L");
        assert_eq!(volume_up(SI, Volume::m3(0.020)), "20 L");
    }

    #[test]
    fn numbers_that_differ_never_read_alike() {
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(heights(US, 3.98 * 0.0254, 4.0 * 0.0254), pair("3.98 in", "4.00 in"));
        assert_eq!(heights(SI, 0.1, 0.1), pair("100 mm", "100 mm"));
        assert_eq!(heights(SI, 0.09996, 0.1), pair("99.96 mm", "100.00 mm"));
        assert_eq!(levels(SI, 102.2304, 102.2309), pair("102.230 m", "102.231 m"));
        assert_eq!(
            levels(US, 109.257 * 0.3048, 109.2601 * 0.3048),
            pair("109.257 ft", "109.260 ft")
        );
    }
}
