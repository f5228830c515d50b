//! What a hole in a gutter's floor takes when it discharges freely.

use wetrun_units::{Area, Flow, Length};

/// The opening of a gutter outlet in a flat sole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Opening {
    /// A round hole.
    Round {
        /// Diameter at the top of the outlet.
        diameter: Length,
    },
    /// Any other hole.
    Other {
        /// Plan area.
        area: Area,
        /// Length of edge over which water runs in.
        weir: Length,
    },
}

/// The factor for a strainer or grating over an outlet: `k_O` of EN 12056-3.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cover {
    /// Nothing in the way: 1.0.
    Open,
    /// A strainer or grating: 0.5.
    Strainer,
}

/// Flow into a gutter outlet that discharges freely.
///
/// # Equation
/// In mm, mm² and L/s. Round: `Q = k_O D h^1.5/7500` while `h ≤ D/2` (the edge is a weir), and
/// `Q = k_O D² h^0.5/15000` beyond (the hole is an orifice). Other: `Q = k_O L_W h^1.5/24000`
/// while `h ≤ 2 A_O/L_W`, and `Q = k_O A_O h^0.5/12000` beyond. The two meet where they change.
/// # Arguments
/// * `opening`: the hole.
/// * `cover`: what lies over it.
/// * `head`: water depth over the hole's edge ([`head_at_outlet`] gives it for a gutter); at 0 or
///   below it nothing flows.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// Free discharge below the hole only. Once the downspout stands full up to the outlet's head the
/// hole is drowned, and only gutter level less standing level is left to drive the water: the
/// lower of the two answers counts.
/// # Source
/// EN 12056-3, outlets, by a transcription of the standard. A second transcription prints the
/// round weir as 7.5e-5 D h^1.5, 1.78 times less; the form used here is the one that meets the
/// orifice form at D/2. To be confirmed against the standard itself.
/// # Example
/// 100 mm hole, 50 mm of water: 4.714 L/s.
/// ```
/// # use wetrun_solver::laws::outlet::{self, Cover, Opening};
/// # use wetrun_units::Length;
/// let hole = Opening::Round { diameter: Length::m(0.1) };
/// let flow = outlet::capacity(hole, Cover::Open, Length::m(0.05));
/// assert!((flow.to_m3_per_s() - 4.71405e-3).abs() < 5e-9);
/// ```
pub fn capacity(opening: Opening, cover: Cover, head: Length) -> Flow {
    let head_mm = head.to_m() * 1e3;
    if head_mm <= 0.0 {
        return Flow::ZERO;
    }
    let root_head = libm::sqrt(head_mm);
    let free_l_per_s = match opening {
        Opening::Round { diameter } => {
            let diameter_mm = diameter.to_m() * 1e3;
            if head_mm <= diameter_mm / 2.0 {
                diameter_mm * head_mm * root_head / 7500.0
            } else {
                diameter_mm * diameter_mm * root_head / 15_000.0
            }
        }
        Opening::Other { area, weir } => {
            let (area_mm2, weir_mm) = (area.to_m2() * 1e6, weir.to_m() * 1e3);
            if head_mm <= 2.0 * area_mm2 / weir_mm {
                weir_mm * head_mm * root_head / 24_000.0
            } else {
                area_mm2 * root_head / 12_000.0
            }
        }
    };
    let k_o = match cover {
        Cover::Open => 1.0,
        Cover::Strainer => 0.5,
    };
    Flow::m3_per_s(k_o * free_l_per_s * 1e-3)
}

/// Water depth over an outlet in the sole of a level gutter that runs at its design depth.
///
/// # Equation
/// `h = F_h W`; `F_h` falls from 0.649 (sole ÷ top width 0) by 0.518 (0.476) to 0.470 (1),
/// straight between.
/// # Arguments
/// * `water_depth`: `W`, the gutter's design water depth.
/// * `sole_width`, `top_width`: of the gutter, at the sole and at the water's surface; the top
///   above 0. A half-round gutter has no sole: 0.
/// # Returns
/// Depth in m.
/// # Valid for
/// A flat sole, free discharge. The standard draws a curve; these are three points of it.
/// # Source
/// EN 12056-3, by a transcription of the standard.
/// # Example
/// A box gutter (sole as wide as the top) 100 mm deep: 47 mm.
/// ```
/// # use wetrun_solver::laws::outlet;
/// # use wetrun_units::Length;
/// let wide = Length::m(0.15);
/// let head = outlet::head_at_outlet(Length::m(0.1), wide, wide);
/// assert!((head.to_m() - 0.047).abs() < 1e-12);
/// ```
pub fn head_at_outlet(water_depth: Length, sole_width: Length, top_width: Length) -> Length {
    let ratio = (sole_width.to_m() / top_width.to_m()).clamp(0.0, 1.0);
    let factor = if ratio <= 0.476 {
        0.649 + (0.518 - 0.649) * ratio / 0.476
    } else {
        0.518 + (0.470 - 0.518) * (ratio - 0.476) / (1.0 - 0.476)
    };
    water_depth * factor
}
