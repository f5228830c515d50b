//! Water that leaves a round pipe into the open: critical depth, its energy, the overflow.

use wetrun_units::{Flow, Length, Speed};

use super::critical;

/// Critical depth of a flow in a round bore.
///
/// # Equation
/// `Q² T = g A³`, with wetted area `A` and surface width `T` at that depth.
/// # Arguments
/// * `flow`: 0 or more.
/// * `bore`: above 0.
/// # Returns
/// Depth above the invert in m; it tends to the bore as the flow grows.
/// # Valid for
/// Any flow, in a pipe that ends free and level or nearly so. The depth at the very brink is less
/// (about 0.72 to 0.75 of it, from memory).
/// # Source
/// V. T. Chow, *Open-Channel Hydraulics*, chapter 4 (from memory); g = 9.80665 m/s².
/// # Example
/// 5 L/s in 100 mm: 0.07256 m.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::{Flow, Length};
/// let depth = outfall::critical_depth(Flow::m3_per_s(0.005), Length::m(0.1));
/// assert!((depth.to_m() - 0.07256).abs() < 1e-5);
/// ```
pub fn critical_depth(flow: Flow, bore: Length) -> Length {
    Length::m(critical::energy(bore.to_m(), flow.to_m3_per_s()).depth_m)
}

/// Mean speed of a flow at its critical depth in a round bore.
///
/// # Equation
/// `Vc = Q/A`, and so `Vc² = g A/T`.
/// # Arguments
/// * `flow`: 0 or more.
/// * `bore`: above 0.
/// # Returns
/// Speed in m/s; 0 at no flow.
/// # Valid for
/// As [`critical_depth`].
/// # Source
/// As [`critical_depth`].
/// # Example
/// 5 L/s in 100 mm: 0.819 m/s.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::{Flow, Length};
/// let speed = outfall::critical_speed(Flow::m3_per_s(0.005), Length::m(0.1));
/// assert!((speed.to_m_per_s() - 0.819).abs() < 1e-3);
/// ```
pub fn critical_speed(flow: Flow, bore: Length) -> Speed {
    Speed::m_per_s(critical::energy(bore.to_m(), flow.to_m3_per_s()).speed_m_per_s)
}

/// The least total head, above the invert, with which a flow leaves a round bore.
///
/// # Equation
/// `Ec = yc + Vc²/2g = yc + A/(2T)`
/// # Arguments
/// * `flow`: 0 or more.
/// * `bore`: above 0.
/// # Returns
/// Specific energy in m; it tends to bore + V²/2g as the pipe runs full.
/// # Valid for
/// As [`critical_depth`].
/// # Source
/// As [`critical_depth`].
/// # Example
/// 5 L/s in 100 mm: 0.10676 m.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::{Flow, Length};
/// let energy = outfall::critical_energy(Flow::m3_per_s(0.005), Length::m(0.1));
/// assert!((energy.to_m() - 0.10676).abs() < 2e-5);
/// ```
pub fn critical_energy(flow: Flow, bore: Length) -> Length {
    Length::m(critical::energy(bore.to_m(), flow.to_m3_per_s()).energy_m)
}

/// Height of still water above the invert of a level overflow pipe that carries a flow.
///
/// # Equation
/// `H = Ec(Q) + k Vc²/2g`
/// # Arguments
/// * `flow`: 0 or more.
/// * `bore`: of the overflow pipe, above 0.
/// * `k`: entrance loss on the critical velocity head, 0 or more (0.5 for a sharp edge).
/// # Returns
/// Height in m above the overflow's invert.
/// # Valid for
/// An overflow that ends free, so short that its wall costs nothing.
/// # Source
/// Energy from the still water to the control at the outlet; 0.5 for a flush sharp entrance from
/// tables of loss coefficients (0.50).
/// # Example
/// 100 mm pipe and k = 0.5: 3.59 L/s stand 0.100 m high.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::{Flow, Length};
/// let head = outfall::overflow_head(Flow::m3_per_s(3.58912e-3), Length::m(0.1), 0.5);
/// assert!((head.to_m() - 0.1).abs() < 2e-5);
/// ```
pub fn overflow_head(flow: Flow, bore: Length, k: f64) -> Length {
    Length::m(critical::overflow_head(bore.to_m(), k, flow.to_m3_per_s()).0)
}

/// Flow through a level overflow pipe by the height of still water above its invert.
///
/// # Equation
/// [`overflow_head`] solved for the flow.
/// # Arguments
/// * `head`: above the overflow's invert; at 0 or below it nothing flows.
/// * `bore`, `k`: as [`overflow_head`].
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// As [`overflow_head`].
/// # Source
/// As [`overflow_head`].
/// # Example
/// 100 mm pipe, k = 0.5, 0.05 m of water: 1.057 L/s.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::Length;
/// let flow = outfall::overflow_flow(Length::m(0.05), Length::m(0.1), 0.5);
/// assert!((flow.to_m3_per_s() - 1.057e-3).abs() < 1e-6);
/// ```
pub fn overflow_flow(head: Length, bore: Length, k: f64) -> Flow {
    Flow::m3_per_s(critical::overflow_flow(bore.to_m(), k, head.to_m()).0)
}

/// Height of a tank's water above that of the tank into whose water its overflow pipe ends.
///
/// # Equation
/// `H = (1 + k) V²/2g`, V over the full bore.
/// # Arguments
/// * `flow`: 0 or more.
/// * `bore`: of the overflow pipe, above 0.
/// * `k`: entrance loss on the velocity head, 0 or more (0.5 for a sharp edge).
/// # Returns
/// Height in m of one water above the other.
/// # Valid for
/// An overflow that ends under water, so short that its wall costs nothing.
/// # Source
/// Energy: the entrance loss, and the velocity head that is lost where a pipe ends in still water.
/// # Example
/// 6 L/s in 100 mm and k = 0.5: 0.04463 m.
/// ```
/// # use wetrun_solver::laws::outfall;
/// # use wetrun_units::{Flow, Length};
/// let head = outfall::drowned_overflow_head(Flow::m3_per_s(0.006), Length::m(0.1), 0.5);
/// assert!((head.to_m() - 0.04463).abs() < 1e-5);
/// ```
pub fn drowned_overflow_head(flow: Flow, bore: Length, k: f64) -> Length {
    Length::m(critical::drowned_overflow_head(bore.to_m(), k, flow.to_m3_per_s()))
}
