//! Every unit a value may carry, with its exact factor to SI.

use crate::kind::Kind;

/// A unit: its spellings and how to turn a number of it into SI.
#[derive(Debug)]
pub(crate) struct Unit {
    /// What it measures; [`Kind::Level`] for every length.
    pub(crate) kind: Kind,
    /// SI = number × `times` / `over` (after `less` is taken off): two whole numbers, so that
    /// whole and short decimal numbers come out as the nearest `f64` whatever their unit.
    pub(crate) times: f64,
    /// See `times`.
    pub(crate) over: f64,
    /// What is taken off first: 32 for degrees Fahrenheit.
    pub(crate) less: f64,
    /// Spellings, the one to suggest first.
    pub(crate) spellings: &'static [&'static str],
}

const fn unit(kind: Kind, times: f64, over: f64, spellings: &'static [&'static str]) -> Unit {
    Unit { kind, times, over, less: 0.0, spellings }
}

/// The table. 1 in = 25.4 mm and 1 US gal = 231 in³ exactly; 1 psi = 6894.757293168361 Pa
/// (pound-force of 4.4482216152605 N on 1 in²); masses weigh with g = 9.80665 m/s².
#[rustfmt::skip]
pub(crate) static UNITS: &[Unit] = &[
    unit(Kind::Level, 1.0, 1e3, &["mm", "millimeter", "millimetre"]),
    unit(Kind::Level, 1.0, 1e2, &["cm", "centimeter", "centimetre"]),
    unit(Kind::Level, 1.0, 1.0, &["m", "meter", "metre"]),
    unit(Kind::Level, 1e3, 1.0, &["km", "kilometer", "kilometre"]),
    unit(Kind::Level, 254.0, 1e4, &["in", "inch", "inches", "\"", "\u{2033}", "\u{201d}", "''"]),
    unit(Kind::Level, 3048.0, 1e4, &["ft", "foot", "feet", "'", "\u{2032}", "\u{2019}"]),
    unit(Kind::Level, 9144.0, 1e4, &["yd", "yard"]),
    unit(Kind::Area, 1.0, 1e6, &["mm2", "mm²", "sq mm"]),
    unit(Kind::Area, 1.0, 1e4, &["cm2", "cm²", "sq cm"]),
    unit(Kind::Area, 1.0, 1.0, &["m2", "m²", "sq m"]),
    unit(Kind::Area, 64_516.0, 1e8, &["sq in", "in2", "in²"]),
    unit(Kind::Area, 9_290_304.0, 1e8, &["sq ft", "ft2", "ft²", "square feet", "square foot"]),
    unit(Kind::Volume, 1.0, 1e3, &["L", "l", "liter", "litre"]),
    unit(Kind::Volume, 1.0, 1e6, &["mL", "ml"]),
    unit(Kind::Volume, 1.0, 1.0, &["m3", "m³", "cu m"]),
    unit(Kind::Volume, 3_785_411_784.0, 1e12, &["gal", "gallon"]),
    unit(Kind::Volume, 28_316_846_592.0, 1e12, &["cu ft", "ft3", "ft³", "cubic feet", "cubic foot"]),
    unit(Kind::Intensity, 1.0, 3.6e6, &["mm/h", "mm/hr"]),
    unit(Kind::Intensity, 254.0, 3.6e7, &["in/h", "in/hr"]),
    unit(Kind::Flow, 1.0, 1e3, &["L/s", "l/s"]),
    unit(Kind::Flow, 1.0, 6e4, &["L/min", "l/min"]),
    unit(Kind::Flow, 1.0, 1.0, &["m3/s", "m³/s"]),
    unit(Kind::Flow, 1.0, 3.6e3, &["m3/h", "m³/h", "m3/hr", "m³/hr"]),
    unit(Kind::Flow, 3_785_411_784.0, 6e13, &["gpm", "gal/min"]),
    unit(Kind::Flow, 3_785_411_784.0, 3.6e15, &["gph", "gal/h"]),
    unit(Kind::Flow, 1.0, 8.64e7, &["L/d", "l/d", "L/day"]),
    unit(Kind::Flow, 1.0, 8.64e4, &["m3/d", "m³/d", "m3/day"]),
    unit(Kind::Flow, 3_785_411_784.0, 8.64e16, &["gal/d", "gal/day", "gpd"]),
    unit(Kind::Flow, 28_316_846_592.0, 1e12, &["cfs", "ft3/s", "ft³/s"]),
    unit(Kind::Warmth, 1.0, 1.0, &["K", "C", "°C"]),
    unit(Kind::Warmth, 5.0, 9.0, &["F", "°F"]),
    unit(Kind::Temperature, 1.0, 1.0, &["C", "°C"]),
    Unit { kind: Kind::Temperature, times: 5.0, over: 9.0, less: 32.0, spellings: &["F", "°F"] },
    unit(Kind::Fraction, 1.0, 1e2, &["%"]),
    unit(Kind::Slope, 1.0, 1e2, &["%"]),
    unit(Kind::Slope, 1.0, 12.0, &["in/ft"]),
    unit(Kind::Slope, 1.0, 1e3, &["mm/m"]),
    unit(Kind::Pressure, 1e3, 1.0, &["kPa"]),
    unit(Kind::Pressure, 6_894.757_293_168_361, 1.0, &["psi"]),
    unit(Kind::Speed, 1.0, 1.0, &["m/s"]),
    unit(Kind::Speed, 3048.0, 1e4, &["ft/s", "fps"]),
    unit(Kind::Time, 1.0, 1.0, &["s", "sec", "second"]),
    unit(Kind::Time, 60.0, 1.0, &["min", "minute"]),
    unit(Kind::Time, 3.6e3, 1.0, &["h", "hr", "hour"]),
    unit(Kind::Time, 8.64e4, 1.0, &["d", "day"]),
    unit(Kind::Weight, 1.0, 1.0, &["N"]),
    unit(Kind::Weight, 1e3, 1.0, &["kN"]),
    unit(Kind::Weight, 980_665.0, 1e5, &["kg"]),
    unit(Kind::Weight, 980_665.0, 1e2, &["t", "tonne"]),
    unit(Kind::Weight, 4_448_221_615.260_5, 1e9, &["lb", "pound"]),
];

/// The number 1 itself: what a bare fraction is counted in.
pub(crate) static ONE: Unit = unit(Kind::Fraction, 1.0, 1.0, &[""]);

impl Unit {
    /// A number of this unit in SI.
    pub(crate) fn to_si(&self, number: f64) -> f64 {
        (number - self.less) * self.times / self.over
    }

    /// A number in SI as a number of this unit.
    pub(crate) fn of_si(&self, si: f64) -> f64 {
        si * self.over / self.times + self.less
    }

    /// The spelling to print.
    pub(crate) fn name(&self) -> &'static str {
        self.spellings.first().copied().unwrap_or_default()
    }
}

/// The last unit with this spelling: a thermometer's degrees stand after those of a difference.
pub(crate) fn named(spelling: &str) -> Option<&'static Unit> {
    UNITS.iter().rev().find(|unit| unit.spellings.contains(&spelling))
}
