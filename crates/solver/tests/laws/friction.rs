//! Friction by Hazen-Williams and Darcy-Weisbach.

use wetrun_solver::laws::{Caution, Viscosity, head_loss, water};
use wetrun_units::{Flow, Length, Speed, Temperature};

use crate::printed::{G_RATIO, agrees};

/// The rows take k = 1.318 · 0.3048^0.37 = 0.849182; the contract fixes 0.849. The loss goes with
/// k^(−1/0.54), so this factor carries ours to theirs exactly (it is 0.9996).
fn to_rows_constant() -> f64 {
    (0.849 / (1.318 * 0.3048_f64.powf(0.37))).powf(1.0 / 0.54)
}

fn hazen_williams_m(flow: f64, c: f64, bore_m: f64, length_m: f64) -> f64 {
    head_loss::hazen_williams(Flow::m3_per_s(flow), c, Length::m(bore_m), Length::m(length_m))
        .to_m()
        * to_rows_constant()
}

fn darcy_m(flow: f64, roughness_m: f64, bore_m: f64, length_m: f64, viscosity: f64) -> f64 {
    head_loss::darcy_weisbach(
        Flow::m3_per_s(flow),
        Length::m(roughness_m),
        Length::m(bore_m),
        Length::m(length_m),
        Viscosity::m2_per_s(viscosity),
    )
    .to_m()
}

/// H1 to H10, column "exact". Derived.
#[test]
fn hazen_williams_in_metres() {
    for (row, flow, c, bore_m, length_m, loss_m) in [
        ("H1", 0.001, 150.0, 0.05, 10.0, "0.0601596"),
        ("H2", 0.003, 150.0, 0.10, 25.0, "0.0393256"),
        ("H3", 0.005, 150.0, 0.10, 25.0, "0.101276"),
        ("H4", 0.005, 140.0, 0.10, 25.0, "0.115078"),
        ("H5", 0.010, 150.0, 0.15, 50.0, "0.101477"),
        ("H6", 0.010, 130.0, 0.15, 50.0, "0.132269"),
        ("H7", 0.020, 150.0, 0.20, 100.0, "0.180453"),
        ("H8", 0.002, 150.0, 0.0779, 30.0, "0.0751647"),
        ("H9", 0.0315451, 150.0, 0.15408, 100.0, "1.49480"),
        ("H10", 0.0438126, 100.0, 0.3048, 1000.0, "2.09864"),
    ] {
        agrees(row, hazen_williams_m(flow, c, bore_m, length_m), loss_m);
    }
}

/// H11 to H14, column "exact", in feet, inches and US gallons a minute. Derived.
#[test]
fn hazen_williams_in_us_units() {
    for (row, gpm, c, bore_in, length_ft, loss_ft) in [
        ("H11", 100.0, 150.0, 4.026, 100.0, "0.558868"),
        ("H12", 100.0, 140.0, 4.000, 100.0, "0.655391"),
        ("H13", 250.0, 150.0, 6.065, 850.0, "3.52320"),
        ("H14", 50.0, 150.0, 3.068, 100.0, "0.581620"),
    ] {
        let flow = gpm * 3.785_411_784e-3 / 60.0;
        let loss_m = hazen_williams_m(flow, c, bore_in * 0.0254, length_ft * 0.3048);
        agrees(row, loss_m / 0.3048, loss_ft);
    }
}

/// The constant K of h = K L Q^1.851852/(C^1.851852 D^4.870370) that goes with k = 0.849:
/// 10.67416 (§1.1, derived). The rounded 10.67, 1.852, 4.8704 found in books is another law,
/// 0.10 to 0.17 % below.
#[test]
fn hazen_williams_has_the_contracts_constant() {
    let one = Length::m(1.0);
    let loss = head_loss::hazen_williams(Flow::m3_per_s(1.0), 1.0, one, one);
    agrees("§1.1", loss.to_m(), "10.67416");
    // And the rows for k = 0.849182, in the trade's other units.
    const FT: f64 = 0.3048;
    let gpm = 3.785_411_784e-3 / 60.0;
    agrees("§1.1 SI", hazen_williams_m(1.0, 1.0, 1.0, 1.0), "10.66992");
    agrees("§1.1 L/s, mm", hazen_williams_m(1e-3, 1.0, 1e-3, 1.0), "1.212597e10");
    agrees("§1.1 ft, ft³/s", hazen_williams_m(FT * FT * FT, 1.0, FT, 1.0), "4.727328");
    let per_foot = hazen_williams_m(gpm, 1.0, 0.0254, 1.0);
    agrees("§1.1 gal/min, in", per_foot, "10.45594");
    agrees("§1.1 psi, 62.37 lb/ft³", per_foot * 62.37 / 144.0, "4.52873");
}

/// F1 to F12 and F24, Colebrook. Library, re-checked with a second root search.
#[test]
fn colebrook() {
    for (row, reynolds, relative, factor) in [
        ("F1", 1e4, 0.0, "0.0308830"),
        ("F2", 5e4, 0.0, "0.0208914"),
        ("F3", 1e5, 0.0, "0.0179898"),
        ("F4", 1e6, 0.0, "0.0116450"),
        ("F5", 5e3, 1e-5, "0.0374039"),
        ("F6", 1e4, 1e-4, "0.0310372"),
        ("F7", 3e4, 1.5e-5, "0.0235239"),
        ("F8", 5e4, 1e-3, "0.0240208"),
        ("F9", 1e5, 1e-3, "0.0221745"),
        ("F10", 1e5, 0.02, "0.0490265"),
        ("F11", 1e6, 1e-4, "0.0134414"),
        ("F12", 1e7, 1e-5, "0.00899571"),
        // F23: von Karman's rough wall, the limit at great Re.
        ("F23", 1e14, 1e-3, "0.0196355"),
        ("F24", 1e5, 0.0, "0.0179898"),
    ] {
        agrees(row, head_loss::friction_factor(reynolds, relative), factor);
    }
}

/// F14 and F25, laminar. Library.
#[test]
fn laminar() {
    agrees("F14", head_loss::friction_factor(1e3, 0.0), "0.0640000");
    agrees("F25", head_loss::friction_factor(500.0, 0.0), "0.128000");
}

/// F17 to F22: explicit formulas of other authors. They are approximations of the same curve;
/// all of them lie within 1.2 % of it. Library.
#[test]
fn other_formulas_lie_near() {
    for (row, reynolds, relative, other) in [
        ("F17 Churchill", 1e5, 1e-3, 0.0223432),
        ("F18 Churchill", 1e6, 1e-4, 0.0135082),
        ("F19 Haaland", 1e5, 1e-3, 0.0219662),
        ("F19 Haaland", 1e4, 1e-4, 0.0309903),
        ("F20 Swamee-Jain", 1e5, 1e-3, 0.0223424),
        ("F20 Swamee-Jain", 1e4, 1e-4, 0.0311486),
        ("F21 Serghides", 1e5, 1e-3, 0.0221745),
        ("F21 Serghides", 1e4, 1e-4, 0.0310368),
        ("F22 Blasius", 1e5, 0.0, 0.0177925),
    ] {
        let off = head_loss::friction_factor(reynolds, relative) / other - 1.0;
        assert!(off.abs() < 0.012, "{row}: {off}");
    }
}

/// F28 to F31: pressure lost by a mass flow; a head is pressure/(ρ g). Library.
#[test]
fn pressure_losses() {
    const DENSITY: f64 = 999.7;
    for (row, mass_kg_per_s, bore_m, roughness_m, length_m, pressure_pa) in [
        ("F28", 3.0, 0.1, 1.5e-6, 25.0, "431.710"),
        ("F29", 5.0, 0.1, 1.5e-6, 25.0, "1067.43"),
        ("F30", 0.1, 0.1, 1.5e-6, 25.0, "1.33068"),
        ("F31", 10.0, 0.15, 6e-5, 50.0, "1135.51"),
    ] {
        let viscosity = 1.306e-3 / DENSITY;
        let loss_m = darcy_m(mass_kg_per_s / DENSITY, roughness_m, bore_m, length_m, viscosity);
        agrees(row, loss_m * DENSITY * 9.80665, pressure_pa);
    }
}

/// F32 and F34. Library.
#[test]
fn reynolds_and_fittings() {
    let (speed, bore) = (Speed::m_per_s(1.0), Length::m(0.1));
    agrees("F32", head_loss::reynolds(speed, bore, Viscosity::m2_per_s(1.306e-6)), "76569.7");
    let loss_m = head_loss::fitting(10.0, Speed::m_per_s(3.0)).to_m();
    agrees("F34", loss_m * 1000.0 * 9.80665, "45000.0");
}

/// The table of §1.3: Hazen-Williams ÷ Colebrook in 100 mm of ε = 0.0015 mm, water by IAPWS.
/// Derived. C = 150 is *not* on the safe side at the speeds of a wet pipe.
#[test]
fn hazen_williams_against_colebrook() {
    for (speed, ratios) in [
        (0.1, ["0.745", "0.777", "0.834", "0.847", "0.883", "0.947"]),
        (0.2, ["0.809", "0.840", "0.897", "0.919", "0.955", "1.020"]),
        (0.3, ["0.843", "0.874", "0.931", "0.958", "0.994", "1.058"]),
        (0.5, ["0.883", "0.914", "0.969", "1.003", "1.038", "1.101"]),
        (0.8, ["0.915", "0.946", "1.001", "1.040", "1.075", "1.137"]),
        (1.0, ["0.930", "0.960", "1.014", "1.056", "1.091", "1.152"]),
        (2.0, ["0.968", "0.997", "1.049", "1.100", "1.133", "1.192"]),
    ] {
        let flow = speed * std::f64::consts::PI / 4.0 * 0.01;
        let cases = [
            (150.0, 5.0),
            (150.0, 10.0),
            (150.0, 20.0),
            (140.0, 5.0),
            (140.0, 10.0),
            (140.0, 20.0),
        ];
        for ((c, celsius), ratio) in cases.into_iter().zip(ratios) {
            let viscosity = water::viscosity(Temperature::celsius(celsius)).to_m2_per_s();
            let found =
                hazen_williams_m(flow, c, 0.1, 1.0) / darcy_m(flow, 1.5e-6, 0.1, 1.0, viscosity);
            agrees(&format!("§1.3 {speed} m/s, {celsius} °C, C {c}"), found, ratio);
        }
    }
}

/// P1: Crane, *Technical Paper 410*, example 7-1 (read in the library's documentation): 50 mm of
/// plastic pipe, 30 °C, 200 L/min. The book reads 0.0179 from a chart at Re 100 600; re-solved at
/// Re 101 023 with the library's roughness for drawn pipe, 0.0015 mm.
#[test]
fn published_smooth_pipe() {
    agrees("P1", head_loss::friction_factor(101_023.0, 1.5e-6 / 0.05), "0.01811");
}

/// P4: Maurer, *Hydraulics and Water Resources: Examples Using R* (2023), examples 4.1 and 4.4
/// (read; the book prints Re 1 035 465, f 0.0133, 0.61 m), re-solved with g = 9.81.
#[test]
fn published_main() {
    let speed = head_loss::full_speed(Flow::m3_per_s(0.416), Length::m(0.5));
    let reynolds = head_loss::reynolds(speed, Length::m(0.5), Viscosity::m2_per_s(1.023_053e-6));
    agrees("P4", reynolds, "1035465");
    agrees("P4", head_loss::friction_factor(reynolds, 0.046e-3 / 0.5), "0.0132836");
    let loss_m = darcy_m(0.416, 0.046e-3, 0.5, 100.0, 1.023_053e-6);
    agrees("P4", loss_m * G_RATIO, "0.607820");
}

/// P6: Çengel and Cimbala, example 8-8 (second-hand): a reservoir with fittings. The book prints
/// f = 0.0315 and 31.8 m; re-solved with g = 9.81.
#[test]
fn published_reservoir() {
    let (bore, flow) = (Length::m(0.05), Flow::m3_per_s(0.006));
    let viscosity = 1.307e-3 / 999.7;
    let speed = head_loss::full_speed(flow, bore);
    let reynolds = head_loss::reynolds(speed, bore, Viscosity::m2_per_s(viscosity));
    agrees("P6", reynolds, "116865");
    agrees("P6", head_loss::friction_factor(reynolds, 0.26e-3 / 0.05), "0.0315189");
    let k = 0.5 + 2.0 * 0.3 + 0.2 + 1.06;
    let lost_m =
        darcy_m(0.006, 0.26e-3, 0.05, 89.0, viscosity) + head_loss::fitting(k, speed).to_m();
    agrees("P6", 4.0 + lost_m * G_RATIO, "31.8246");
}

/// P7: Çengel and Cimbala, example 8-3E (inputs second-hand; the book's 27.3 ft from memory),
/// re-solved with g = 32.2 ft/s².
#[test]
fn published_pipe_in_feet() {
    const FT: f64 = 0.3048;
    let viscosity = 7.536e-4 / 62.36 * FT * FT;
    let flow = 0.2 * FT * FT * FT;
    let bore_m = 2.0 * 0.0254;
    let speed = head_loss::full_speed(Flow::m3_per_s(flow), Length::m(bore_m));
    agrees("P7", speed.to_m_per_s() / FT, "9.16732");
    let reynolds = head_loss::reynolds(speed, Length::m(bore_m), Viscosity::m2_per_s(viscosity));
    agrees("P7", reynolds, "126432");
    agrees("P7", head_loss::friction_factor(reynolds, 7e-6 * FT / bore_m), "0.0173968");
    let loss_m = darcy_m(flow, 7e-6 * FT, bore_m, 200.0 * FT, viscosity);
    agrees("P7", loss_m / FT * 9.80665 / (32.2 * FT), "27.2427");
}

/// P11: EN 12056-3, table C.1 (second-hand; 4.2 to 80.6 L/s), a drain 70 % full, k_b 1.0 mm,
/// ν 1.31e-6; re-solved with Colebrook on 4R and g = 9.81. Checked backwards: the friction factor
/// at the printed flow must give the slope. That standard's Colebrook has 3.71 for 3.7, which is a
/// wall smoother by the ratio of the two.
#[test]
fn published_part_full_drain() {
    for (row, bore_m, slope, l_per_s) in [
        ("P11 96", 0.096, 0.01, 4.19009),
        ("P11 146", 0.146, 0.01, 12.8203),
        ("P11 292", 0.292, 0.01, 80.5845),
        ("P11 96", 0.096, 0.05, 9.43626),
        ("P11 146", 0.146, 0.05, 28.8234),
    ] {
        let theta = 2.0 * (1.0_f64 - 2.0 * 0.7).acos();
        let area_m2 = bore_m * bore_m * (theta - theta.sin()) / 8.0;
        let hydraulic_m = 4.0 * area_m2 / (bore_m * theta / 2.0);
        let speed = l_per_s * 1e-3 / area_m2;
        let factor = head_loss::friction_factor(
            speed * hydraulic_m / 1.31e-6,
            1e-3 / hydraulic_m * 3.7 / 3.71,
        );
        let found = factor * speed * speed / (2.0 * 9.81 * hydraulic_m);
        // Six digits of the flow are five of the slope.
        assert!((found / slope - 1.0).abs() < 1e-5, "{row}: {found}");
    }
}

/// W1 and the table of W2: friction and fittings of reference wet systems. Derived (`fluids` for
/// the factor, g = 9.80665, ν = 1.30629e-6, ε = 0.0015 mm, C = 150).
#[test]
fn wet_pipes() {
    for (row, bore_m, length_m, k, l_per_s, darcy, hazen) in [
        ("W1", 0.1, 25.0, 3.75, 3.0, "0.0719074", "0.0672217"),
        ("W2 D1-J1", 0.0779, 6.0, 2.25, 1.2, "0.0142016", "0.0131095"),
        ("W2 D2-J1", 0.0779, 4.0, 2.25, 0.8, "0.00551162", "0.00506873"),
        ("W2 J1-J2", 0.10226, 12.0, 0.3, 2.0, "0.0102104", "0.00889711"),
        ("W2 D3-J2", 0.0779, 5.0, 2.25, 1.5, "0.0198981", "0.0187163"),
        ("W2 J2-J3", 0.10226, 10.0, 0.3, 3.5, "0.0235584", "0.0215468"),
        ("W2 D4-J3", 0.0779, 3.0, 2.25, 1.0, "0.00757050", "0.00713246"),
        ("W2 J3-T", 0.10226, 15.0, 2.5, 4.5, "0.0869258", "0.0831043"),
    ] {
        let flow = l_per_s * 1e-3;
        let speed = head_loss::full_speed(Flow::m3_per_s(flow), Length::m(bore_m));
        let fittings_m = head_loss::fitting(k, speed).to_m();
        let wall_m = darcy_m(flow, 1.5e-6, bore_m, length_m, 1.30629e-6);
        agrees(row, wall_m + fittings_m, darcy);
        agrees(row, hazen_williams_m(flow, 150.0, bore_m, length_m) + fittings_m, hazen);
    }
}

/// A loss takes the sign of the flow.
#[test]
fn losses_turn_round_with_the_flow() {
    let (there, back) = (Flow::m3_per_s(0.003), Flow::m3_per_s(-0.003));
    let (bore, length) = (Length::m(0.1), Length::m(25.0));
    let hazen = |flow| head_loss::hazen_williams(flow, 150.0, bore, length).to_m();
    assert_eq!(hazen(there), -hazen(back));
    let viscosity = Viscosity::m2_per_s(1.3e-6);
    let darcy =
        |flow| head_loss::darcy_weisbach(flow, Length::ZERO, bore, length, viscosity).to_m();
    assert_eq!(darcy(there), -darcy(back));
    assert_eq!(
        head_loss::fitting(2.0, Speed::m_per_s(-1.0)).to_m(),
        -head_loss::fitting(2.0, Speed::m_per_s(1.0)).to_m()
    );
}

/// The bounds of the ranges. Those of Hazen-Williams are common practice, from memory.
#[test]
fn ranges() {
    let bore = Length::m(0.1);
    let slow = head_loss::hazen_williams_range(Speed::m_per_s(-0.4), bore);
    assert_eq!(
        slow,
        Some(Caution::HazenWilliamsSpeed {
            speed_m_per_s: 0.4,
            least_m_per_s: 0.9,
            most_m_per_s: 3.0
        })
    );
    assert_eq!(head_loss::hazen_williams_range(Speed::m_per_s(1.0), bore), None);
    assert_eq!(head_loss::hazen_williams_range(Speed::ZERO, bore), None);
    let small = head_loss::hazen_williams_range(Speed::m_per_s(1.0), Length::m(0.04));
    assert_eq!(small, Some(Caution::HazenWilliamsBore { bore_m: 0.04, least_m: 0.05 }));
    let rough = head_loss::darcy_weisbach_range(1e5, 0.06);
    assert_eq!(rough, Some(Caution::RelativeRoughness { ratio: 0.06, most: 0.05 }));
    let between = head_loss::darcy_weisbach_range(3000.0, 0.0);
    assert_eq!(between, Some(Caution::Transition { reynolds: 3000.0, turbulent_from: 4000.0 }));
    assert_eq!(head_loss::darcy_weisbach_range(1e5, 0.05), None);
    let words = slow.map(|caution| caution.to_string()).unwrap_or_default();
    assert!(words.contains("0.40 m/s"), "{words}");
}
