//! Air in pipes that are meant to be full: when it leaves by itself, when it is swept out.

use core::f64::consts::PI;

use wetrun_units::{Flow, Fraction, Length, Speed};

use super::friction::G;

/// Speed over `√(g D)`, of a full pipe.
///
/// # Equation
/// `Fr = V/√(g D)`
/// # Arguments
/// * `speed`: mean speed, of either sign.
/// * `bore`: above 0.
/// # Returns
/// The pipe Froude number, never negative.
/// # Valid for
/// Any flow.
/// # Source
/// Definition.
/// # Example
/// 1 m/s in 100 mm: 1.01.
/// ```
/// # use wetrun_solver::laws::air;
/// # use wetrun_units::{Length, Speed};
/// assert!((air::froude(Speed::m_per_s(1.0), Length::m(0.1)) - 1.0098).abs() < 1e-4);
/// ```
pub fn froude(speed: Speed, bore: Length) -> f64 {
    speed.to_m_per_s().abs() / libm::sqrt(G * bore.to_m())
}

/// Largest flow at which air still passes a full pipe against the water.
///
/// # Equation
/// `V/√(g D) = 0.31`
/// # Arguments
/// * `bore`: above 0.
/// # Returns
/// Flow in m³/s. A pipe that carries less drains with air entering and does not run full by
/// itself.
/// # Valid for
/// A vertical pipe, or a level one that ends free.
/// # Source
/// Simpson's criterion (1969), from memory.
/// # Example
/// 100 mm: 2.411 L/s.
/// ```
/// # use wetrun_solver::laws::air;
/// # use wetrun_units::Length;
/// let flow = air::self_venting(Length::m(0.1));
/// assert!((flow.to_m3_per_s() - 2.411e-3).abs() < 5e-7);
/// ```
pub fn self_venting(bore: Length) -> Flow {
    let bore_m = bore.to_m();
    Flow::m3_per_s(0.31 * libm::sqrt(G * bore_m) * PI / 4.0 * bore_m * bore_m)
}

/// Speed at which water sweeps air down a falling pipe.
///
/// # Equation
/// `V = √(g D) (0.825 + 0.25 √sin θ)`
/// # Arguments
/// * `bore`: above 0.
/// * `sine`: sine of the pipe's fall: height lost ÷ length along the pipe, 0 to 1.
/// # Returns
/// Speed in m/s; below it air may stay behind a high point.
/// # Valid for
/// Falls of 0 to 90°.
/// # Source
/// R. L. Sanks, *Pumping Station Design*, as quoted in an engineering forum.
/// # Example
/// 100 mm falling at 1 %: 0.842 m/s.
/// ```
/// # use wetrun_solver::laws::air;
/// # use wetrun_units::{Fraction, Length};
/// let speed = air::clearing_speed(Length::m(0.1), Fraction::ratio(0.01));
/// assert!((speed.to_m_per_s() - 0.842).abs() < 5e-4);
/// ```
pub fn clearing_speed(bore: Length, sine: Fraction) -> Speed {
    swept(bore, sine, 0.825, 0.25)
}

/// Speed at which water sweeps air down a falling pipe, by the size of the pocket.
///
/// # Equation
/// `V = √(g D) (a + 0.56 √sin θ)`
/// # Arguments
/// * `bore`, `sine`: as [`clearing_speed`].
/// * `a`: about 0.45 for a small pocket to 0.61 for a large one (from memory).
/// # Returns
/// Speed in m/s.
/// # Valid for
/// As [`clearing_speed`].
/// # Source
/// *Air problems in pipelines*, a design manual of HR Wallingford; the form as quoted in a forum,
/// `a` from memory.
/// # Example
/// a = 0.61, 100 mm falling at 1 %: 0.660 m/s.
/// ```
/// # use wetrun_solver::laws::air;
/// # use wetrun_units::{Fraction, Length};
/// let speed = air::clearing_speed_by_pocket(Length::m(0.1), Fraction::ratio(0.01), 0.61);
/// assert!((speed.to_m_per_s() - 0.660).abs() < 5e-4);
/// ```
pub fn clearing_speed_by_pocket(bore: Length, sine: Fraction, a: f64) -> Speed {
    swept(bore, sine, a, 0.56)
}

fn swept(bore: Length, sine: Fraction, level: f64, steep: f64) -> Speed {
    let sine = sine.to_ratio().clamp(0.0, 1.0);
    Speed::m_per_s(libm::sqrt(G * bore.to_m()) * (level + steep * libm::sqrt(sine)))
}
