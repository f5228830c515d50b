//! What a vertical downspout carries that runs as a film around a core of air.

use wetrun_units::{Flow, Fraction, Length};

use super::Caution;

/// Capacity of a vertical downspout by its filling degree, by the European standard.
///
/// # Equation
/// `Q = 2.5e-4 k_b^−0.167 d^2.667 f^1.667` (mm, L/s; Wyly-Eaton), with the exponents rounded as
/// the source rounds them: only so are its tables met.
/// # Arguments
/// * `bore`: above 0.
/// * `roughness`: `k_b`, above 0; the source's tables take 0.25 mm.
/// * `filling`: `f`, share of the bore's area that water fills; 0.33 by default in the source.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// Filling degrees of 0.20 to 0.33 ([`en_range`]); a downspout that drains freely. One that
/// stands full carries what the head allows instead, and far more.
/// # Source
/// EN 12056-3, table 8 and its equation, by a transcription of the standard.
/// # Example
/// 100 mm, f = 0.33: the table prints 10.7 L/s.
/// ```
/// # use wetrun_solver::laws::downspout;
/// # use wetrun_units::{Fraction, Length};
/// let flow = downspout::en_capacity(
///     Length::m(0.1), Length::m(0.25e-3), Fraction::ratio(0.33));
/// assert!((flow.to_m3_per_s() - 10.7e-3).abs() < 0.05e-3);
/// ```
pub fn en_capacity(bore: Length, roughness: Length, filling: Fraction) -> Flow {
    let (bore_mm, roughness_mm) = (bore.to_m() * 1e3, roughness.to_m() * 1e3);
    let l_per_s = 2.5e-4
        * libm::pow(roughness_mm, -0.167)
        * libm::pow(bore_mm, 2.667)
        * libm::pow(filling.to_ratio(), 1.667);
    Flow::m3_per_s(l_per_s * 1e-3)
}

/// Says when a filling degree is outside those of [`en_capacity`].
pub fn en_range(filling: Fraction) -> Option<Caution> {
    filled_within(filling, 0.20, 0.33)
}

/// Capacity of a vertical leader by its filling degree, by the formula behind US codes.
///
/// # Equation
/// `Q = 27.8 r^(5/3) d^(8/3)` (US gal/min, in; Wyly-Eaton)
/// # Arguments
/// * `bore`: above 0. The tables of the codes take the nominal size.
/// * `filling`: `r`, share of the bore's area that water fills. Codes differ: 7/24 in one table,
///   1/3 in another.
/// # Returns
/// Flow in m³/s.
/// # Valid for
/// Filling degrees of 1/4 to 1/3 ([`us_range`]; common practice, from memory).
/// # Source
/// *2006 National Standard Plumbing Code Illustrated*, table 13.6.1, page 321 ("7/24 full"); each
/// of its rows is met to the gallon.
/// # Example
/// 4 in, 7/24 full: the table prints 144 gal/min.
/// ```
/// # use wetrun_solver::laws::downspout;
/// # use wetrun_units::{Fraction, Length};
/// let flow = downspout::us_capacity(Length::m(0.1016), Fraction::ratio(7.0 / 24.0));
/// let gpm = flow.to_m3_per_s() / 3.785_411_784e-3 * 60.0;
/// assert_eq!(gpm.round(), 144.0);
/// ```
pub fn us_capacity(bore: Length, filling: Fraction) -> Flow {
    const M3_PER_S_PER_GPM: f64 = 3.785_411_784e-3 / 60.0;
    let gpm = 27.8
        * libm::pow(filling.to_ratio(), 5.0 / 3.0)
        * libm::pow(bore.to_m() / 0.0254, 8.0 / 3.0);
    Flow::m3_per_s(gpm * M3_PER_S_PER_GPM)
}

/// Says when a filling degree is outside those of [`us_capacity`].
pub fn us_range(filling: Fraction) -> Option<Caution> {
    filled_within(filling, 0.25, 1.0 / 3.0)
}

fn filled_within(filling: Fraction, least: f64, most: f64) -> Option<Caution> {
    let degree = filling.to_ratio();
    (!(least..=most).contains(&degree)).then_some(Caution::FillingDegree { degree, least, most })
}
