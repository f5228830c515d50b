//! Still water: head and pressure.

use wetrun_units::{Length, Pressure};

use super::Density;
use super::friction::G;

/// Pressure under a head of still water.
///
/// # Equation
/// `p = ρ g h`, g = 9.80665 m/s²
/// # Arguments
/// * `head`: of water above the place.
/// * `density`: of the water.
/// # Returns
/// Gauge pressure in Pa.
/// # Valid for
/// Water at rest.
/// # Source
/// Definition.
/// # Example
/// 1 m of 999.7 kg/m³ (10 °C): 9.80371 kPa.
/// ```
/// # use wetrun_solver::laws::{Density, statics};
/// # use wetrun_units::Length;
/// let pressure = statics::pressure(Length::m(1.0), Density::kg_per_m3(999.7));
/// assert!((pressure.to_pa() - 9803.71).abs() < 0.01);
/// ```
pub fn pressure(head: Length, density: Density) -> Pressure {
    Pressure::pa(density.to_kg_per_m3() * G * head.to_m())
}

/// Head of still water that makes a pressure.
///
/// # Equation
/// `h = p/(ρ g)`
/// # Arguments
/// * `pressure`: gauge.
/// * `density`: of the water.
/// # Returns
/// Head in m.
/// # Valid for
/// Water at rest.
/// # Source
/// Definition.
/// # Example
/// 10 kPa and 999.7 kg/m³: 1.02002 m.
/// ```
/// # use wetrun_solver::laws::{Density, statics};
/// # use wetrun_units::Pressure;
/// let head = statics::head(Pressure::pa(1e4), Density::kg_per_m3(999.7));
/// assert!((head.to_m() - 1.02002).abs() < 5e-6);
/// ```
pub fn head(pressure: Pressure, density: Density) -> Length {
    Length::m(pressure.to_pa() / (density.to_kg_per_m3() * G))
}
