//! Air in full pipes, still water, and tanks that float.

use wetrun_solver::laws::{Density, Force, UnitWeight, air, buoyancy, statics};
use wetrun_units::{Area, Fraction, Length, Pressure, Volume};

use crate::printed::{G_RATIO, agrees};

const PSI: f64 = 6_894.757_293_168;
const LB_FT3: f64 = 16.018_463_373_960_14;
const LBF: f64 = 4.448_221_615_260_5;
const FT: f64 = 0.3048;

/// R17: self-venting flow at a pipe Froude number of 0.31. Criterion from memory, numbers
/// derived with g = 9.81.
#[test]
fn self_venting() {
    for (bore_m, l_per_s) in [(0.05, "0.426"), (0.075, "1.175"), (0.10, "2.411"), (0.15, "6.645")] {
        let flow = air::self_venting(Length::m(bore_m));
        agrees("R17", flow.to_m3_per_s() * 1e3 / G_RATIO.sqrt(), l_per_s);
    }
}

/// R18 and R19: speeds that clear air from 100 mm pipes. Forms read, numbers derived with
/// g = 9.81.
#[test]
fn clearing() {
    let bore = Length::m(0.1);
    let slope = 0.01_f64;
    let sines = [
        slope / (1.0 + slope * slope).sqrt(),
        5_f64.to_radians().sin(),
        45_f64.to_radians().sin(),
        1.0,
    ];
    for (sine, speed) in sines.into_iter().zip(["0.842", "0.890", "1.025", "1.065"]) {
        let found = air::clearing_speed(bore, Fraction::ratio(sine));
        agrees("R18", found.to_m_per_s() / G_RATIO.sqrt(), speed);
    }
    for (sine, speed) in [(sines[0], "0.660"), (sines[2], "1.071")] {
        let found = air::clearing_speed_by_pocket(bore, Fraction::ratio(sine), 0.61);
        agrees("R19", found.to_m_per_s() / G_RATIO.sqrt(), speed);
    }
}

/// F33 (library), R31 to R33 (derived): heads and pressures. R31 takes 999.7 kg/m³, and 62.4 lb/ft³
/// for its one foot but 62.37 for its ten.
#[test]
fn heads_and_pressures() {
    let head = statics::head(Pressure::pa(1e4), Density::kg_per_m3(999.7));
    agrees("F33", head.to_m(), "1.02002");
    let cold = Density::kg_per_m3(999.7);
    agrees("R31", statics::pressure(Length::m(1.0), cold).to_pa() / 1e3, "9.80371");
    let psi = |feet: f64, lb_per_ft3: f64| {
        let density = Density::kg_per_m3(lb_per_ft3 * LB_FT3);
        statics::pressure(Length::m(feet * FT), density).to_pa() / PSI
    };
    agrees("R31", psi(1.0, 62.4), "0.4333");
    agrees("R31", psi(10.0, 62.37), "4.331");
    agrees("R33", psi(25.0, 62.4), "10.8");
    let tested = statics::head(Pressure::pa(25.0 * PSI), cold);
    agrees("R32", tested.to_m(), "17.6");
}

/// R35: a county's flotation sheet (read: 301 ft³, 29 ft³, 21 kips), re-solved with a diameter of
/// 7.83 ft: 300.949 and 28.863 ft³, 20.580 kips.
#[test]
fn published_flotation() {
    let quarter_pi = std::f64::consts::FRAC_PI_4;
    let tank_ft3 = quarter_pi * 7.83 * 7.83 * 6.25;
    let sump_ft3 = quarter_pi * 3.5 * 3.5 * 3.0;
    agrees("R35", tank_ft3, "300.949");
    agrees("R35", sump_ft3, "28.863");
    let displaced = Volume::m3((tank_ft3 + sump_ft3) * FT * FT * FT);
    let uplift = buoyancy::uplift(displaced, Density::kg_per_m3(62.4 * LB_FT3));
    agrees("R35", uplift.to_n() / LBF / 1e3, "20.580");
}

/// R36: a tank that floats, and the cover that would hold it. Derived with 999.7 kg/m³.
#[test]
fn flotation() {
    let plan = Area::m2(7.0);
    let buoyant = UnitWeight::n_per_m3(9200.0);
    let uplift = buoyancy::uplift(Volume::m3(10.0), Density::kg_per_m3(999.7));
    agrees("R36", uplift.to_n() / 1e3, "98.0371");
    let cover = buoyancy::cover_weight(plan, Length::m(0.6), buoyant);
    let hold_down = Force::n(cover.to_n() + 2200.0);
    agrees("R36", hold_down.to_n() / 1e3, "40.84");
    agrees("R36", buoyancy::factor_of_safety(hold_down, uplift), "0.41658");
    let needed = buoyancy::cover_for(1.2, uplift, Force::n(2200.0), plan, buoyant);
    agrees("R36", needed.to_m(), "1.79262");
    let none = buoyancy::cover_for(1.2, uplift, Force::n(2e5), plan, buoyant);
    assert_eq!(none.to_m(), 0.0);
}
