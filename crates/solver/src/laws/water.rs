//! Density and viscosity of the water, by temperature, at the pressure of the air.

use wetrun_units::Temperature;

use super::{Caution, Density, Viscosity};

/// Density of water at 101.325 kPa.
///
/// # Equation
/// `1/ρ = v(0.1 MPa) + 1325 Pa · (∂v/∂p)`, both terms by the series of the source in
/// `α = 10 K/(593 K − T)` and `β = 10 K/(T − 232 K)`.
/// # Arguments
/// * `temperature`: of the water.
/// # Returns
/// Density in kg/m³.
/// # Valid for
/// 0 to 40 °C here ([`range`]); the source from −20 to 110 °C. It follows IAPWS-95 to 4 parts in
/// 10⁸ over that range.
/// # Source
/// IAPWS SR6-08(2011), *Supplementary Release on Properties of Liquid Water at 0.1 MPa*,
/// equations 2 and 3; coefficients by way of the library `iapws` 1.5.5.
/// # Example
/// IAPWS-95 gives 999.7025 kg/m³ at 10 °C.
/// ```
/// # use wetrun_solver::laws::water;
/// # use wetrun_units::Temperature;
/// let density = water::density(Temperature::celsius(10.0));
/// assert!((density.to_kg_per_m3() - 999.7025).abs() < 1e-4);
/// ```
pub fn density(temperature: Temperature) -> Density {
    Density::kg_per_m3(density_kg_per_m3(temperature.to_celsius()))
}

/// Kinematic viscosity of water at 101.325 kPa.
///
/// # Equation
/// `ν = μ₀(T)·μ₁(T, ρ)/ρ`; the third factor of the source matters near the critical point only.
/// # Arguments
/// * `temperature`: of the water.
/// # Returns
/// Kinematic viscosity in m²/s.
/// # Valid for
/// 0 to 40 °C here ([`range`]); the source states an uncertainty of 1 % for liquid water at this
/// pressure. Handbook tables differ from it by up to 3 %.
/// # Source
/// IAPWS R12-08, *Release on the IAPWS Formulation 2008 for the Viscosity of Ordinary Water
/// Substance*, equations 10 to 12, with [`density`]; coefficients by way of the library
/// `iapws` 1.5.5.
/// # Example
/// It gives 1.3063e-6 m²/s at 10 °C.
/// ```
/// # use wetrun_solver::laws::water;
/// # use wetrun_units::Temperature;
/// let viscosity = water::viscosity(Temperature::celsius(10.0));
/// assert!((viscosity.to_m2_per_s() - 1.3063e-6).abs() < 1e-10);
/// ```
pub fn viscosity(temperature: Temperature) -> Viscosity {
    Viscosity::m2_per_s(viscosity_m2_per_s(temperature.to_celsius()))
}

/// Says when a temperature is outside the range for which the two laws are used here.
pub fn range(temperature: Temperature) -> Option<Caution> {
    let celsius = temperature.to_celsius();
    (!(0.0..=40.0).contains(&celsius)).then_some(Caution::WaterTemperature { celsius })
}

/// [`density`] in bare numbers.
pub(crate) fn density_kg_per_m3(celsius: f64) -> f64 {
    // R·(10 K)/(0.1 MPa), with R = 461.518 05 J/(kg K).
    const SCALE_M3_PER_KG: f64 = 461.518_05 * 10.0 / 1e5;
    const PRESSURE_STEP: f64 = 1325.0 / 1e5;
    let kelvin = celsius + 273.15;
    let alpha = 10.0 / (593.0 - kelvin);
    let beta = 10.0 / (kelvin - 232.0);
    let volume = VOLUME_CONSTANT + series(&VOLUME_ALPHA, alpha) + series(&VOLUME_BETA, beta);
    let by_pressure = series(&PRESSURE_ALPHA, alpha) + series(&PRESSURE_BETA, beta);
    1.0 / (SCALE_M3_PER_KG * (volume + PRESSURE_STEP * by_pressure))
}

/// [`viscosity`] in bare numbers.
pub(crate) fn viscosity_m2_per_s(celsius: f64) -> f64 {
    let density = density_kg_per_m3(celsius);
    let t = (celsius + 273.15) / 647.096;
    let r = density / 322.0;
    let mut dilute = 0.0;
    for h in DILUTE.iter().rev() {
        dilute = dilute / t + h;
    }
    let exponent: f64 = FINITE_DENSITY
        .iter()
        .map(|&(i, j, h)| h * power(1.0 / t - 1.0, i) * power(r - 1.0, j))
        .sum();
    let viscosity_pa_s = 1e-6 * 100.0 * libm::sqrt(t) / dilute * libm::exp(r * exponent);
    viscosity_pa_s / density
}

fn series(terms: &[(u32, f64)], x: f64) -> f64 {
    terms.iter().map(|&(n, factor)| factor * power(x, n)).sum()
}

/// `x` to a whole power, the same to the last digit on every machine.
fn power(x: f64, n: u32) -> f64 {
    (0..n).fold(1.0, |product, _| product * x)
}

/// Tables 1 of SR6-08: (power, factor) of the terms of v(0.1 MPa) …
const VOLUME_CONSTANT: f64 = 1.937_631_57e-2;
const VOLUME_ALPHA: [(u32, f64); 5] = [
    (4, 6.744_584_46e3),
    (5, -2.225_216_04e5),
    (7, 1.002_312_47e8),
    (8, -1.635_521_18e9),
    (9, 8.322_996_58e9),
];
const VOLUME_BETA: [(u32, f64); 6] = [
    (1, 5.785_452_92e-3),
    (2, -1.531_956_65e-2),
    (3, 3.113_378_59e-2),
    (4, -4.235_462_41e-2),
    (5, 3.387_135_07e-2),
    (6, -1.199_467_61e-2),
];
/// … and of its derivative by the pressure.
const PRESSURE_ALPHA: [(u32, f64); 5] = [
    (1, -7.524_587_8e-6),
    (3, -1.376_741_8e-2),
    (5, 1.062_729_3e1),
    (6, -2.045_779_5e2),
    (7, 1.203_741_4e3),
];
const PRESSURE_BETA: [(u32, f64); 7] = [
    (1, -3.109_147_0e-6),
    (3, 2.896_491_9e-5),
    (4, -1.311_276_3e-4),
    (5, 3.041_045_3e-4),
    (6, -3.903_459_4e-4),
    (7, 2.340_311_7e-4),
    (9, -4.851_010_1e-5),
];

/// Table 1 of R12-08, the dilute gas.
const DILUTE: [f64; 4] = [1.67752, 2.20462, 0.636_656_4, -0.241_605];

/// Table 2 of R12-08: (i, j, Hᵢⱼ).
const FINITE_DENSITY: [(u32, u32, f64); 21] = [
    (0, 0, 0.520_094),
    (1, 0, 8.508_95e-2),
    (2, 0, -1.083_74),
    (3, 0, -0.289_555),
    (0, 1, 0.222_531),
    (1, 1, 0.999_115),
    (2, 1, 1.887_97),
    (3, 1, 1.266_13),
    (5, 1, 0.120_573),
    (0, 2, -0.281_378),
    (1, 2, -0.906_851),
    (2, 2, -0.772_479),
    (3, 2, -0.489_837),
    (4, 2, -0.257_040),
    (0, 3, 0.161_913),
    (1, 3, 0.257_399),
    (0, 4, -3.253_72e-2),
    (3, 4, 6.984_52e-2),
    (4, 5, 8.721_02e-3),
    (3, 6, -4.356_73e-3),
    (5, 6, -5.932_64e-4),
];
