//! An amount of any kind that a threshold can be of, for people and for programs.

use std::time::Duration;
use wetrun_units::{
    Area, Flow, Fraction, Intensity, Length, Pressure, Slope, Speed, UnitSystem, Volume,
};

/// A number in its quantity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// A length, a size, a level or a difference of levels.
    Length(Length),
    /// An area.
    Area(Area),
    /// A volume.
    Volume(Volume),
    /// A flow.
    Flow(Flow),
    /// A rain intensity.
    Intensity(Intensity),
    /// A speed of water.
    Speed(Speed),
    /// A slope.
    Slope(Slope),
    /// A fraction of a whole.
    Fraction(Fraction),
    /// A count, or a ratio without unit.
    Number(f64),
    /// A time.
    Time(Duration),
    /// A pressure.
    Pressure(Pressure),
}

impl Amount {
    /// The number in the SI unit that [`Amount::unit`] names.
    pub fn si(self) -> f64 {
        match self {
            Self::Length(x) => x.to_m(),
            Self::Area(x) => x.to_m2(),
            Self::Volume(x) => x.to_m3(),
            Self::Flow(x) => x.to_m3_per_s(),
            Self::Intensity(x) => x.to_m_per_s(),
            Self::Speed(x) => x.to_m_per_s(),
            Self::Slope(x) => x.to_ratio(),
            Self::Fraction(x) => x.to_ratio(),
            Self::Number(x) => x,
            Self::Time(x) => x.as_secs_f64(),
            Self::Pressure(x) => x.to_pa(),
        }
    }

    /// The SI unit as the JSON result writes it; `1` for a number without unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Length(_) => "m",
            Self::Area(_) => "m2",
            Self::Volume(_) => "m3",
            Self::Flow(_) => "m3/s",
            Self::Intensity(_) | Self::Speed(_) => "m/s",
            Self::Slope(_) | Self::Fraction(_) | Self::Number(_) => "1",
            Self::Time(_) => "s",
            Self::Pressure(_) => "Pa",
        }
    }

    /// The amount as exactly as a person would write it: no more than four significant digits,
    /// lengths in the unit that keeps them short.
    pub fn exact(self, units: UnitSystem) -> String {
        let Self::Length(length) = self else { return self.show(units) };
        let (unit_m, unit) = match units {
            UnitSystem::Us if length.to_m() < 1.0 => (0.0254, "in"),
            UnitSystem::Us => (0.3048, "ft"),
            UnitSystem::Si if length.to_m() < 1.0 => (1e-3, "mm"),
            UnitSystem::Si => (1.0, "m"),
        };
        let number = length.to_m() / unit_m;
        let before = if number >= 1.0 { libm::log10(number) as usize + 1 } else { 0 };
        let places = if number > 0.0 && number < 0.1 { 4 } else { 4 - before.min(4) };
        format!("{} {unit}", wetrun_units::trimmed(number, places))
    }

    /// The amount for people, in the units of a site file.
    pub fn show(self, units: UnitSystem) -> String {
        match self {
            Self::Length(x) => height(units, x),
            Self::Area(x) => units.show_area(x).to_string(),
            Self::Volume(x) => units.show_volume(x).to_string(),
            Self::Flow(x) => units.show_flow(x).to_string(),
            Self::Intensity(x) => units.show_intensity(x).to_string(),
            Self::Speed(x) => units.show_speed(x).to_string(),
            Self::Slope(x) => units.show_slope(x).to_string(),
            Self::Fraction(x) => units.show_fraction(x).to_string(),
            Self::Number(x) => wetrun_units::decimal(x, 2),
            Self::Time(x) => time(x),
            Self::Pressure(x) => units.show_pressure(x).to_string(),
        }
    }
}

/// A difference of levels: small ones in inches or millimetres, large ones in feet or metres.
fn height(units: UnitSystem, length: Length) -> String {
    if length.to_m().abs() < 1.0 {
        units.show_height(length).to_string()
    } else {
        units.show_level(length).to_string()
    }
}

/// A time in the unit a person would say.
fn time(time: Duration) -> String {
    let seconds = time.as_secs_f64();
    match seconds {
        s if s < 120.0 => format!("{s:.0} s"),
        s if s < 7200.0 => format!("{:.0} min", s / 60.0),
        s => format!("{:.1} h", s / 3600.0),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1.6 mm is 0.06299 in, 0.2 mm is 0.00787 in, 6 in is 152.4 mm.
    #[test]
    fn thresholds_are_written_exactly() {
        let both = |m: f64| {
            let length = Amount::Length(Length::m(m));
            (length.exact(UnitSystem::Us), length.exact(UnitSystem::Si))
        };
        let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
        assert_eq!(both(0.0016), pair("0.063 in", "1.6 mm"));
        assert_eq!(both(0.0002), pair("0.0079 in", "0.2 mm"));
        assert_eq!(both(0.1524), pair("6 in", "152.4 mm"));
        assert_eq!(both(30.48), pair("100 ft", "30.48 m"));
        assert_eq!(both(0.0), pair("0 in", "0 mm"));
    }
}
