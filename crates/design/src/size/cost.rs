//! What stands in for a price where there is none: the mass of the pipe's wall.

use std::f64::consts::PI;
use wetrun_network::Pipe;
use wetrun_solver::laws::Density;

/// Density of rigid PVC. Published values run from 1350 to 1460 kg/m³, 1400 being the usual
/// figure of pipe handbooks (common practice). It weighs every type alike, so of pipes of one
/// material the order of costs does not hang on it.
pub const PVC_DENSITY: Density = Density::kg_per_m3(1400.0);

/// Mass of a metre of pipe wall in kg, at the density of PVC; `None` where the outside diameter
/// is not known.
///
/// `π/4 (outside² − inside²) ρ`. A 4 in schedule 40 pipe of 114.3 mm and 102.26 mm has
/// 2.867 kg/m (worked by hand; makers print about 3.0 kg/m, for walls above the least).
pub fn wall_mass_per_m(pipe: &Pipe) -> Option<f64> {
    let (outside_m, inside_m) = (pipe.outside?.to_m(), pipe.inside.to_m());
    Some(PI / 4.0 * (outside_m * outside_m - inside_m * inside_m) * PVC_DENSITY.to_kg_per_m3())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: π/4 · (0.1143² − 0.102260²) · 1400 = 2.867 kg/m.
    #[test]
    fn four_inch_schedule_40() {
        let pipe = wetrun_catalogue::pipe("pvc-sch40", "4 in").unwrap();
        assert!((wall_mass_per_m(&pipe).unwrap() - 2.867).abs() < 5e-3);
    }
}
