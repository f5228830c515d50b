//! Whether a buried tank floats when it is empty and the ground around it is full of water.

use wetrun_units::{Area, Length, Volume};

use super::friction::G;
use super::{Density, Force, UnitWeight};

/// Uplift of the water that a body displaces.
///
/// # Equation
/// `U = ρ g V`
/// # Arguments
/// * `displaced`: outside volume under the water table.
/// * `density`: of the water.
/// # Returns
/// Force in N, upwards.
/// # Valid for
/// Still groundwater.
/// # Source
/// Archimedes' principle.
/// # Example
/// 10 m³ in water of 999.7 kg/m³: 98.0371 kN.
/// ```
/// # use wetrun_solver::laws::{Density, buoyancy};
/// # use wetrun_units::Volume;
/// let uplift = buoyancy::uplift(Volume::m3(10.0), Density::kg_per_m3(999.7));
/// assert!((uplift.to_n() - 98_037.1).abs() < 0.06);
/// ```
pub fn uplift(displaced: Volume, density: Density) -> Force {
    Force::n(density.to_kg_per_m3() * G * displaced.to_m3())
}

/// Weight of ground or concrete that lies on a body under the water table.
///
/// # Equation
/// `W = γ′ A t`
/// # Arguments
/// * `plan`: area of the layer.
/// * `thickness`: of the layer.
/// * `buoyant`: unit weight *under water* (of the saturated material less that of the water). The
///   dry weight, which some published sheets take, is not on the safe side.
/// # Returns
/// Force in N, downwards.
/// # Valid for
/// Water up to the top of the layer.
/// # Source
/// Archimedes' principle.
/// # Example
/// 7 m² of cover 0.60 m thick at 9.2 kN/m³: 38.64 kN.
/// ```
/// # use wetrun_solver::laws::{UnitWeight, buoyancy};
/// # use wetrun_units::{Area, Length};
/// let cover = buoyancy::cover_weight(
///     Area::m2(7.0), Length::m(0.6), UnitWeight::n_per_m3(9200.0));
/// assert!((cover.to_n() - 38_640.0).abs() < 1e-6);
/// ```
pub fn cover_weight(plan: Area, thickness: Length, buoyant: UnitWeight) -> Force {
    Force::n(plan.to_m2() * thickness.to_m() * buoyant.to_n_per_m3())
}

/// Factor of safety against floating.
///
/// # Equation
/// `FS = (weight of the empty body + everything that holds it down, under water)/U`
/// # Arguments
/// * `hold_down`: sum of the weights.
/// * `uplift`: from [`uplift`], above 0.
/// # Returns
/// The factor; below 1 the body floats.
/// # Valid for
/// The body taken empty, water up to the ground, no friction along the sides. 1.2 is asked of
/// fuel tanks in county permits, 1.1 to 1.5 elsewhere.
/// # Source
/// County permit files for underground tanks (factors 1.20 and 1.5).
/// # Example
/// 40.84 kN against 98.0371 kN: 0.41658, it floats.
/// ```
/// # use wetrun_solver::laws::{Force, buoyancy};
/// let factor = buoyancy::factor_of_safety(Force::n(40_840.0), Force::n(98_037.1));
/// assert!((factor - 0.41658).abs() < 5e-6);
/// ```
pub fn factor_of_safety(hold_down: Force, uplift: Force) -> f64 {
    hold_down.to_n() / uplift.to_n()
}

/// Cover that brings a body to a factor of safety.
///
/// # Equation
/// `t = (FS U − W)/(γ′ A)`
/// # Arguments
/// * `factor`: wanted.
/// * `uplift`: from [`uplift`].
/// * `weight`: of the empty body and all else but the cover.
/// * `plan`, `buoyant`: as [`cover_weight`], above 0.
/// # Returns
/// Thickness in m; 0 where none is needed.
/// # Valid for
/// As [`factor_of_safety`].
/// # Source
/// [`factor_of_safety`] solved for the cover.
/// # Example
/// 98.0371 kN, 2.2 kN, 7 m², 9.2 kN/m³, a factor of 1.2: 1.79262 m.
/// ```
/// # use wetrun_solver::laws::{Force, UnitWeight, buoyancy};
/// # use wetrun_units::Area;
/// let cover = buoyancy::cover_for(
///     1.2, Force::n(98_037.1), Force::n(2200.0), Area::m2(7.0), UnitWeight::n_per_m3(9200.0));
/// assert!((cover.to_m() - 1.79262).abs() < 5e-6);
/// ```
pub fn cover_for(
    factor: f64,
    uplift: Force,
    weight: Force,
    plan: Area,
    buoyant: UnitWeight,
) -> Length {
    let lacking_n = (factor * uplift.to_n() - weight.to_n()).max(0.0);
    Length::m(lacking_n / (plan.to_m2() * buoyant.to_n_per_m3()))
}
