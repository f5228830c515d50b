//! Quantities as numbers on an axis, in the units of the site file.

use wetrun_units::{Length, Time, UnitSystem, Volume};

/// A unit, and how many of it one SI unit is.
#[derive(Clone, Copy, Debug)]
pub(super) struct Scaled {
    /// How the unit is written.
    pub(super) unit: &'static str,
    per_si: f64,
}

impl Scaled {
    /// The number of a value in SI.
    pub(super) fn of(self, si: f64) -> f64 {
        si * self.per_si
    }
}

/// Heights, in inches or millimetres.
pub(super) fn height(units: UnitSystem) -> Scaled {
    match units {
        UnitSystem::Us => Scaled { unit: "in", per_si: 1.0 / 0.0254 },
        UnitSystem::Si => Scaled { unit: "mm", per_si: 1e3 },
    }
}

/// Rain, in inches or millimetres an hour.
pub(super) fn rain(units: UnitSystem) -> Scaled {
    match units {
        UnitSystem::Us => Scaled { unit: "in/h", per_si: 3600.0 / 0.0254 },
        UnitSystem::Si => Scaled { unit: "mm/h", per_si: 3.6e6 },
    }
}

/// Flows, in US gallons a minute or litres a second.
pub(super) fn flow(units: UnitSystem) -> Scaled {
    match units {
        UnitSystem::Us => Scaled { unit: "gpm", per_si: 60.0 / 3.785_411_784e-3 },
        UnitSystem::Si => Scaled { unit: "L/s", per_si: 1e3 },
    }
}

/// Volumes, in US gallons or cubic metres.
pub(super) fn volume(units: UnitSystem) -> Scaled {
    match units {
        UnitSystem::Us => Scaled { unit: "gal", per_si: 1.0 / 3.785_411_784e-3 },
        UnitSystem::Si => Scaled { unit: "m³", per_si: 1.0 },
    }
}

/// Time on an axis that ends there: minutes, or hours.
pub(super) fn time(end: Time) -> Scaled {
    if end.to_s() <= 3.0 * 3600.0 {
        Scaled { unit: "min", per_si: 1.0 / 60.0 }
    } else {
        Scaled { unit: "h", per_si: 1.0 / 3600.0 }
    }
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
