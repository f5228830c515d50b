//! What a roof gutter carries to its outlet.

use core::f64::consts::PI;

use wetrun_units::{Area, Flow, Length, Slope};

use super::Caution;

/// Section of a half-round gutter up to its rim.
///
/// # Equation
/// `A = π w²/8`
/// # Arguments
/// * `width`: across the rim.
/// # Returns
/// Area in m².
/// # Valid for
/// A half circle.
/// # Source
/// Geometry.
/// # Example
/// 100 mm wide: 3926.99 mm².
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Length;
/// let area = gutter::half_round_area(Length::m(0.1));
/// assert!((area.to_m2() - 3926.99e-6).abs() < 1e-8);
/// ```
pub fn half_round_area(width: Length) -> Area {
    Area::m2(PI / 8.0 * width.to_m() * width.to_m())
}

/// Nominal capacity of a short, level half-round eaves gutter.
///
/// # Equation
/// `Q_N = 2.78e-5 A_E^1.25` (mm², L/s)
/// # Arguments
/// * `area`: full section up to the rim.
/// # Returns
/// Flow in m³/s. [`design`] makes the design capacity of it.
/// # Valid for
/// Slopes up to 3 mm/m, lengths up to 50 water depths, an outlet that takes the flow freely.
/// # Source
/// EN 12056-3, eaves gutters, by a transcription of the standard.
/// # Example
/// A = 10 000 mm²: 2.78 L/s.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Area;
/// let flow = gutter::half_round(Area::m2(0.01));
/// assert!((flow.to_m3_per_s() - 2.78e-3).abs() < 1e-12);
/// ```
pub fn half_round(area: Area) -> Flow {
    by_area(2.78e-5, area)
}

/// Nominal capacity of a short, level rectangular or trapezoidal eaves gutter.
///
/// # Equation
/// `Q_SE = 3.48e-5 A_E^1.25 F_d F_s` (mm², L/s)
/// # Arguments
/// * `area`: full section up to the rim.
/// * `depth_factor`: `F_d`; see [`depth_factor`].
/// * `shape_factor`: `F_s`; see [`shape_factor`].
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// As [`half_round`].
/// # Source
/// As [`half_round`].
/// # Example
/// A = 10 000 mm², as deep as wide: 3.48 L/s.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Area;
/// let flow = gutter::rectangular(Area::m2(0.01), 1.0, 1.0);
/// assert!((flow.to_m3_per_s() - 3.48e-3).abs() < 1e-12);
/// ```
pub fn rectangular(area: Area, depth_factor: f64, shape_factor: f64) -> Flow {
    by_area(3.48e-5, area) * (depth_factor * shape_factor)
}

/// Nominal capacity of a short, level valley or parapet gutter.
///
/// # Equation
/// `Q_SV = 3.89e-5 A_W^1.25 F_d F_s` (mm², L/s)
/// # Arguments
/// * `area`: section below the [`freeboard`].
/// * `depth_factor`, `shape_factor`: as [`rectangular`].
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// As [`half_round`].
/// # Source
/// As [`half_round`].
/// # Example
/// A = 10 000 mm²: 3.89 L/s.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Area;
/// let flow = gutter::valley(Area::m2(0.01), 1.0, 1.0);
/// assert!((flow.to_m3_per_s() - 3.89e-3).abs() < 1e-12);
/// ```
pub fn valley(area: Area, depth_factor: f64, shape_factor: f64) -> Flow {
    by_area(3.89e-5, area) * (depth_factor * shape_factor)
}

/// How a gutter's capacity falls as it becomes shallow for its width.
///
/// # Equation
/// `F_d = (W/T)^(1/4)`
/// # Arguments
/// * `water_depth`: `W`.
/// * `top_width`: `T`, at the water's surface, above 0.
/// # Returns
/// The factor; 1 where the gutter is as deep as wide.
/// # Valid for
/// Level gutters that end free.
/// # Source
/// Worked here, not read: momentum in a level rectangular channel that gathers water evenly and
/// ends at critical depth gives `Q ∝ T W^1.5`, which is `A^1.25 (W/T)^0.25`. The standard draws
/// `F_d` as a curve; it has not been compared.
/// # Example
/// A sixteenth as deep as wide: 0.5.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Length;
/// assert!((gutter::depth_factor(Length::m(0.01), Length::m(0.16)) - 0.5).abs() < 1e-12);
/// ```
pub fn depth_factor(water_depth: Length, top_width: Length) -> f64 {
    libm::sqrt(libm::sqrt(water_depth.to_m() / top_width.to_m()))
}

/// How a gutter's capacity falls as its sole becomes narrow for its top.
///
/// # Equation
/// `F_s = 1 − 0.107 (1 − S/T)²`: from 0.893 (no sole, a triangle) to 1 (a rectangle).
/// # Arguments
/// * `sole_width`, `top_width`: the top above 0.
/// # Returns
/// The factor.
/// # Valid for
/// Level gutters that end free.
/// # Source
/// Worked here, not read: a curve within 0.4 % of the momentum balance of [`depth_factor`] for
/// trapezoids. (A triangular channel has `y_c = 0.4^(1/3) W` where a rectangular one has `W/√3`,
/// and so carries 0.893 of what a rectangle of its area, depth and top would by
/// `A^1.25 (W/T)^0.25`.) The standard draws `F_s` as a curve; it has not been compared.
/// # Example
/// A rectangle: 1.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Length;
/// assert_eq!(gutter::shape_factor(Length::m(0.1), Length::m(0.1)), 1.0);
/// ```
pub fn shape_factor(sole_width: Length, top_width: Length) -> f64 {
    let missing = 1.0 - (sole_width.to_m() / top_width.to_m()).clamp(0.0, 1.0);
    1.0 - 0.107 * missing * missing
}

/// Design capacity of a gutter from its nominal one.
///
/// # Equation
/// `Q_L = 0.9 Q_N F_L`, and 0.85 of that where the gutter turns a corner.
/// # Arguments
/// * `nominal`: [`half_round`], [`rectangular`] or [`valley`].
/// * `length_factor`: `F_L`; see [`length_factor`].
/// * `corner`: whether it changes direction by more than 10° on its way.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// As the nominal capacity.
/// # Source
/// As [`half_round`].
/// # Example
/// A half-round gutter 100 mm wide, short and straight: 0.778 L/s.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Length;
/// let nominal = gutter::half_round(gutter::half_round_area(Length::m(0.1)));
/// let flow = gutter::design(nominal, 1.0, false);
/// assert!((flow.to_m3_per_s() - 0.777790e-3).abs() < 1e-9);
/// ```
pub fn design(nominal: Flow, length_factor: f64, corner: bool) -> Flow {
    nominal * (0.9 * length_factor * if corner { 0.85 } else { 1.0 })
}

/// How a gutter's capacity changes with its length and slope.
///
/// # Equation
/// A table of `F_L` by length ÷ water depth, straight between its rows: one column for level
/// gutters (up to 3 mm/m), one for 10 mm/m; between 3 and 10 mm/m straight from one to the other.
/// (The standard has columns between, from memory somewhat higher: this is the safe side.)
/// # Arguments
/// * `length`: drainage length, from the far end or the parting of the water to the outlet.
/// * `water_depth`: design depth of water, above 0.
/// * `slope`: fall towards the outlet; 0 or more.
/// # Returns
/// The factor; 1 up to 50 water depths.
/// # Valid for
/// Up to 500 water depths and 10 mm/m ([`length_range`]); beyond, that of the table's end.
/// # Source
/// EN 12056-3, table of capacity factors, by a transcription of the standard.
/// # Example
/// A level gutter of 100 water depths: 0.93.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::{Length, Slope};
/// let factor =
///     gutter::length_factor(Length::m(7.5), Length::m(0.075), Slope::ratio(0.0));
/// assert!((factor - 0.93).abs() < 1e-12);
/// ```
pub fn length_factor(length: Length, water_depth: Length, slope: Slope) -> f64 {
    let slenderness = length.to_m() / water_depth.to_m();
    let tilt = ((slope.to_ratio() - 0.003) / 0.007).clamp(0.0, 1.0);
    let factor = |(_, level, sloping): &(f64, f64, f64)| level + (sloping - level) * tilt;
    let mut last = &LENGTH_FACTORS[0];
    for row in &LENGTH_FACTORS {
        if slenderness <= row.0 {
            let width = row.0 - last.0;
            let part = if width > 0.0 { (slenderness - last.0) / width } else { 0.0 };
            return factor(last) + (factor(row) - factor(last)) * part;
        }
        last = row;
    }
    factor(last)
}

/// Says when a gutter is longer or steeper than the table of [`length_factor`].
pub fn length_range(length: Length, water_depth: Length, slope: Slope) -> Option<Caution> {
    let slenderness = length.to_m() / water_depth.to_m();
    let slope = slope.to_ratio();
    (slenderness > 500.0 || slope > 0.01).then_some(Caution::GutterTable { slenderness, slope })
}

/// Depth to be kept dry at the top of a valley or parapet gutter.
///
/// # Equation
/// 25 mm where the gutter is less than 85 mm deep, 0.3 of the depth up to 250 mm, 75 mm beyond.
/// # Arguments
/// * `depth`: full depth of the gutter.
/// # Returns
/// Freeboard in m.
/// # Valid for
/// Valley and parapet gutters; eaves gutters need none by the source.
/// # Source
/// EN 12056-3, table 5, by a transcription of the standard.
/// # Example
/// 100 mm deep: 30 mm.
/// ```
/// # use wetrun_solver::laws::gutter;
/// # use wetrun_units::Length;
/// assert!((gutter::freeboard(Length::m(0.1)).to_m() - 0.03).abs() < 1e-12);
/// ```
pub fn freeboard(depth: Length) -> Length {
    let depth_m = depth.to_m();
    Length::m(if depth_m < 0.085 {
        0.025
    } else if depth_m <= 0.25 {
        0.3 * depth_m
    } else {
        0.075
    })
}

/// Length ÷ water depth, `F_L` level, `F_L` at 10 mm/m.
const LENGTH_FACTORS: [(f64, f64, f64); 8] = [
    (50.0, 1.00, 1.00),
    (75.0, 0.97, 1.09),
    (100.0, 0.93, 1.18),
    (150.0, 0.86, 1.37),
    (200.0, 0.80, 1.55),
    (300.0, 0.73, 1.55),
    (400.0, 0.67, 1.55),
    (500.0, 0.60, 1.55),
];

fn by_area(factor: f64, area: Area) -> Flow {
    Flow::m3_per_s(factor * libm::pow(area.to_m2() * 1e6, 1.25) * 1e-3)
}
