//! The full pipe as one moving column: how it swings, how it starts.

use core::f64::consts::PI;

use wetrun_units::{Area, Fraction, Length, Speed};

use super::Time;
use super::friction::G;

/// Period of a column of water that swings in a bent tube of one bore.
///
/// # Equation
/// `T = 2π √(L/2g)`
/// # Arguments
/// * `column`: length of the water from surface to surface, along the pipe.
/// # Returns
/// Period in s.
/// # Valid for
/// No friction; both legs of the pipe's own bore.
/// # Source
/// Rigid-column theory (worked by hand).
/// # Example
/// 20 m: 6.34 s.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::Length;
/// assert!((surge::u_tube_period(Length::m(20.0)).to_s() - 6.345).abs() < 1e-3);
/// ```
pub fn u_tube_period(column: Length) -> Time {
    Time::s(2.0 * PI * libm::sqrt(column.to_m() / (2.0 * G)))
}

/// Period of a pipe's water that swings between two free surfaces.
///
/// # Equation
/// `T = 2π √((L/A)/(g (1/A₁ + 1/A₂)))`
/// # Arguments
/// * `length`: of the pipe.
/// * `bore_area`: `A`.
/// * `surfaces`: areas `A₁`, `A₂` of the free surfaces at its ends (a tank's may be infinite);
///   several downspouts that swing together count as one with the sum of their areas.
/// # Returns
/// Period in s.
/// # Valid for
/// No friction; the water in the shafts themselves is left out.
/// # Source
/// Rigid-column theory (worked by hand); with one infinite surface it is that of a surge shaft,
/// J. F. Douglas and others, *Fluid Mechanics*, example 20.5 (90.8 s).
/// # Example
/// That example: 200 m of 1.227 m², shaft 12.57 m²: 90.8 s.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::{Area, Length};
/// let period = surge::period(
///     Length::m(200.0), Area::m2(1.227), [Area::m2(12.57), Area::m2(f64::INFINITY)]);
/// assert!((period.to_s() - 90.8).abs() < 0.05);
/// ```
pub fn period(length: Length, bore_area: Area, surfaces: [Area; 2]) -> Time {
    let stiffness = G * (1.0 / surfaces[0].to_m2() + 1.0 / surfaces[1].to_m2());
    Time::s(2.0 * PI * libm::sqrt(length.to_m() / bore_area.to_m2() / stiffness))
}

/// Highest rise of a downspout's water after its column is stopped short at the far end.
///
/// # Equation
/// `z = V √(L/g)`
/// # Arguments
/// * `speed`: before the stop.
/// * `column`: length of the moving water.
/// # Returns
/// Rise in m above the level of rest.
/// # Valid for
/// No friction, downspout and pipe of one bore: an upper bound.
/// # Source
/// Rigid-column theory (worked by hand).
/// # Example
/// 0.5 m/s, 30 m: 0.874 m.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::{Length, Speed};
/// let rise = surge::stop_rise(Speed::m_per_s(0.5), Length::m(30.0));
/// assert!((rise.to_m() - 0.8745).abs() < 1e-4);
/// ```
pub fn stop_rise(speed: Speed, column: Length) -> Length {
    Length::m(speed.to_m_per_s().abs() * libm::sqrt(column.to_m() / G))
}

/// The next turning point of a column that swings with a loss by the square of its speed.
///
/// # Equation
/// `(1 − m z′) e^(m z′) = (1 + m z) e^(−m z)` with `m = K/L`
/// # Arguments
/// * `from`: `z`, height of the last turning point above (or below) the level of rest, 0 or more.
/// * `k`: all losses of the column on its velocity head: `ΣK + f L/D`, 0 or more.
/// * `column`: `L`.
/// # Returns
/// `z′`, how far the surface goes on the other side, in m.
/// # Valid for
/// A tube of one bore with a constant `K`.
/// # Source
/// Rigid-column theory: `L dV/dt` + loss integrated over a half swing (worked by hand; a
/// numerical integration of the motion agrees in six digits).
/// # Example
/// L = 20 m, K = 5, from 0.5 m: 0.461516 m.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::Length;
/// let next = surge::next_extreme(Length::m(0.5), 5.0, Length::m(20.0));
/// assert!((next.to_m() - 0.461516).abs() < 5e-7);
/// ```
pub fn next_extreme(from: Length, k: f64, column: Length) -> Length {
    let m_per_m = k / column.to_m();
    let start = m_per_m * from.to_m();
    // Both sides lose their difference from 1 to rounding when m z is small; there the series
    // 1 − x²/2 ± x³/3 gives z′ = z (1 − 2/3 m z) to the last digit.
    if start < 1e-8 {
        return from * (1.0 - 2.0 / 3.0 * start);
    }
    let target = lost(-start);
    let (mut low, mut high) = (0.0, start.min(1.0));
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if lost(middle) < target {
            low = middle;
        } else {
            high = middle;
        }
    }
    Length::m(0.5 * (low + high) / m_per_m)
}

/// Speed that a resting column tends to under a head.
///
/// # Equation
/// `V₀ = √(2 g H/K)`
/// # Arguments
/// * `head`: driving head, 0 or more.
/// * `k`: all losses on the velocity head, `ΣK + f L/D`, above 0.
/// # Returns
/// Speed in m/s.
/// # Valid for
/// A constant `K`.
/// # Source
/// Rigid-column theory (worked by hand).
/// # Example
/// H = 0.5 m, K = 12: 0.904 m/s.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::Length;
/// assert!((surge::final_speed(Length::m(0.5), 12.0).to_m_per_s() - 0.904).abs() < 5e-4);
/// ```
pub fn final_speed(head: Length, k: f64) -> Speed {
    Speed::m_per_s(libm::sqrt(2.0 * G * head.to_m() / k))
}

/// Time in which a resting column reaches a part of its final speed.
///
/// # Equation
/// `V = V₀ tanh(t/τ)`, `τ = L V₀/(g H)`; so `t = τ artanh(part)`.
/// # Arguments
/// * `part`: of the final speed, 0 or more and below 1.
/// * `head`: driving head, above 0.
/// * `k`: as [`final_speed`].
/// * `column`: moving length `L`.
/// # Returns
/// Time in s; infinite at a part of 1.
/// # Valid for
/// A constant `K` and head.
/// # Source
/// Rigid-column theory (worked by hand; a numerical integration agrees to 1e-11).
/// # Example
/// L = 30 m, H = 0.5 m, K = 12, half the final speed: 3.04 s.
/// ```
/// # use wetrun_solver::laws::surge;
/// # use wetrun_units::{Fraction, Length};
/// let time = surge::start_up_time(
///     Fraction::ratio(0.5), Length::m(0.5), 12.0, Length::m(30.0));
/// assert!((time.to_s() - 3.038).abs() < 1e-3);
/// ```
pub fn start_up_time(part: Fraction, head: Length, k: f64, column: Length) -> Time {
    let time_constant_s = column.to_m() * final_speed(head, k).to_m_per_s() / (G * head.to_m());
    Time::s(time_constant_s * libm::atanh(part.to_ratio()))
}

/// `1 − (1 − x) e^x`: 0 at 0 and rising on either side.
fn lost(x: f64) -> f64 {
    if x.abs() > 0.1 {
        return 1.0 - (1.0 - x) * libm::exp(x);
    }
    // Σ xⁿ (n − 1)/n!, n from 2: the same without the cancellation.
    let (mut sum, mut power) = (0.0, x);
    for n in 2_u8..=16 {
        let n = f64::from(n);
        power *= x / n;
        sum += power * (n - 1.0);
    }
    sum
}
