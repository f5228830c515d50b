//! Quantities as numbers on an axis, in the units that the tables print.

use wetrun_units::{Flow, Intensity, Length, Scale, Shown, Time, UnitSystem, Volume};

/// Heights.
pub(super) fn height(units: UnitSystem) -> Scale {
    Scale::of(&units.show_height(Length::ZERO))
}

/// Rain.
pub(super) fn rain(units: UnitSystem) -> Scale {
    Scale::of(&units.show_intensity(Intensity::ZERO))
}

/// Flows.
pub(super) fn flow(units: UnitSystem) -> Scale {
    Scale::of(&units.show_flow(Flow::ZERO))
}

/// Volumes.
pub(super) fn volume(units: UnitSystem) -> Scale {
    Scale::of(&units.show_volume(Volume::ZERO))
}

/// Time on an axis that ends there: minutes, or hours.
pub(super) fn time(end: Time) -> Scale {
    let unit = if end.to_s() <= 3.0 * 3600.0 { "min" } else { "h" };
    Scale::of(&Shown { number: String::new(), unit })
}

/// What part of a tank's volume stands in it at a level, in per cent; `None` without floor and
/// overflow, or where nothing lies between them.
pub(super) fn per_cent(floor: Option<Length>, top: Option<Length>, level: Length) -> Option<f64> {
    let (floor, top) = (floor?, top?);
    (top > floor).then(|| 100.0 * (level - floor).to_m() / (top - floor).to_m())
}

/// A share of a volume in per cent; 0 of nothing.
pub(super) fn share(part: Volume, of: Volume) -> f64 {
    if of.to_m3() > 0.0 { 100.0 * part.to_m3() / of.to_m3() } else { 0.0 }
}
