//! Gutters, their outlets, and vertical downspouts that run part full.

use wetrun_solver::laws::outlet::{Cover, Opening};
use wetrun_solver::laws::{Caution, downspout, gutter, outlet};
use wetrun_units::{Area, Flow, Fraction, Length, Slope};

use crate::printed::agrees;

fn l_per_s(flow: Flow) -> f64 {
    flow.to_m3_per_s() * 1e3
}

/// E1: half-round eaves gutters. Derived from EN 12056-3's equation (second-hand).
#[test]
fn half_round() {
    for (width_m, area_mm2, nominal, design) in [
        (0.100, "3926.99", "0.864211", "0.777790"),
        (0.125, "6135.92", "1.50971", "1.35874"),
        (0.150, "8835.73", "2.38148", "2.14334"),
    ] {
        let area = gutter::half_round_area(Length::m(width_m));
        agrees("E1", area.to_m2() * 1e6, area_mm2);
        let found = gutter::half_round(area);
        agrees("E1", l_per_s(found), nominal);
        agrees("E1", l_per_s(gutter::design(found, 1.0, false)), design);
    }
}

/// E2: 10 000 mm² in the three equations, exact.
#[test]
fn ten_thousand() {
    let area = Area::m2(0.01);
    agrees("E2", l_per_s(gutter::half_round(area)), "2.780000");
    agrees("E2", l_per_s(gutter::rectangular(area, 1.0, 1.0)), "3.480000");
    agrees("E2", l_per_s(gutter::valley(area, 1.0, 1.0)), "3.890000");
}

/// The rows of the table of capacity factors (second-hand), and what lies between and beyond.
#[test]
fn long_gutters() {
    let depth = Length::m(0.05);
    let factor = |slenderness: f64, slope: f64| {
        gutter::length_factor(depth * slenderness, depth, Slope::ratio(slope))
    };
    let rows = [50.0, 75.0, 100.0, 150.0, 200.0, 300.0, 400.0, 500.0];
    let level = ["1.00", "0.97", "0.93", "0.86", "0.80", "0.73", "0.67", "0.60"];
    let sloping = ["1.00", "1.09", "1.18", "1.37", "1.55", "1.55", "1.55", "1.55"];
    for ((slenderness, level), sloping) in rows.into_iter().zip(level).zip(sloping) {
        agrees("F_L level", factor(slenderness, 0.0), level);
        agrees("F_L 3 mm/m", factor(slenderness, 0.003), level);
        agrees("F_L 10 mm/m", factor(slenderness, 0.010), sloping);
    }
    assert_eq!(factor(10.0, 0.0), 1.0);
    assert!((factor(125.0, 0.0) - 0.895).abs() < 1e-12);
    assert!((factor(900.0, 0.0) - 0.60).abs() < 1e-12);
    assert_eq!(gutter::length_range(depth * 500.0, depth, Slope::ratio(0.01)), None);
    let long = gutter::length_range(depth * 600.0, depth, Slope::ratio(0.0));
    assert!(matches!(long, Some(Caution::GutterTable { .. })));
    let steep = gutter::length_range(depth * 100.0, depth, Slope::ratio(0.02));
    assert!(matches!(steep, Some(Caution::GutterTable { .. })));
    let corner = gutter::design(Flow::m3_per_s(1.0), 1.0, true);
    assert!((corner.to_m3_per_s() - 0.9 * 0.85).abs() < 1e-15);
}

/// Freeboard of valley gutters, EN 12056-3 table 5 (second-hand).
#[test]
fn freeboard() {
    for (depth_m, kept_mm) in [(0.05, "25"), (0.1, "30"), (0.2, "60"), (0.25, "75"), (0.3, "75")] {
        agrees("table 5", gutter::freeboard(Length::m(depth_m)).to_m() * 1e3, kept_mm);
    }
}

/// E3 to E6: round outlets, L/s. Derived from the /7500 form; see the trap told beside
/// [`outlet::capacity`].
#[test]
fn round_outlets() {
    let heads_m = [0.010, 0.020, 0.025, 0.040, 0.050, 0.075, 0.100];
    for (row, diameter_m, flows) in [
        (
            "E3",
            0.100,
            ["0.421637", "1.19257", "1.66667", "3.37310", "4.71405", "5.77350", "6.66667"],
        ),
        (
            "E4",
            0.075,
            ["0.316228", "0.894427", "1.25000", "2.37171", "2.65165", "3.24760", "3.75000"],
        ),
        (
            "E5",
            0.050,
            ["0.210819", "0.596285", "0.833333", "1.05409", "1.17851", "1.44338", "1.66667"],
        ),
        (
            "E6",
            0.150,
            ["0.632456", "1.78885", "2.50000", "5.05964", "7.07107", "12.9904", "15.0000"],
        ),
    ] {
        let hole = Opening::Round { diameter: Length::m(diameter_m) };
        for (head_m, flow) in heads_m.into_iter().zip(flows) {
            let found = outlet::capacity(hole, Cover::Open, Length::m(head_m));
            agrees(row, l_per_s(found), flow);
            let strained = outlet::capacity(hole, Cover::Strainer, Length::m(head_m));
            assert_eq!(l_per_s(strained), 0.5 * l_per_s(found));
        }
    }
}

/// E7: weir and orifice meet, at D/2 and at 2 A_O/L_W; the equivalent coefficients are 0.4545 of
/// 2/3 √(2g) π D h^1.5 and 0.6060 of A √(2 g h) (g = 9.81).
#[test]
fn weir_and_orifice_meet() {
    let round = Opening::Round { diameter: Length::m(0.1) };
    let at = |head_m: f64| l_per_s(outlet::capacity(round, Cover::Open, Length::m(head_m)));
    agrees("E7", at(0.05 * (1.0 - 1e-12)), "4.71405");
    agrees("E7", at(0.05 * (1.0 + 1e-12)), "4.71405");
    let (pi, g) = (std::f64::consts::PI, 9.81_f64);
    let weir = 2.0 / 3.0 * (2.0 * g).sqrt() * pi * 0.1 * 0.02_f64.powf(1.5) * 1e3;
    agrees("E7", at(0.02) / weir, "0.4545");
    let orifice = pi / 4.0 * 0.01 * (2.0 * g * 0.08_f64).sqrt() * 1e3;
    agrees("E7", at(0.08) / orifice, "0.6060");
    let (area, weir) = (Area::m2(0.006), Length::m(0.2));
    let other = Opening::Other { area, weir };
    let at = |head_m: f64| l_per_s(outlet::capacity(other, Cover::Open, Length::m(head_m)));
    // By hand: 200 mm · 60^1.5/24000 = 6000 mm² · 60^0.5/12000 = 3.87298 L/s.
    agrees("2 A_O/L_W", at(0.06 * (1.0 - 1e-12)), "3.87298");
    agrees("2 A_O/L_W", at(0.06 * (1.0 + 1e-12)), "3.87298");
    assert_eq!(at(0.0), 0.0);
    assert_eq!(at(-0.01), 0.0);
}

/// Depth over an outlet, three points of the standard's curve (second-hand).
#[test]
fn head_at_outlet() {
    for (sole, factor) in [(0.0, "0.649"), (0.476, "0.518"), (1.0, "0.470")] {
        let head = outlet::head_at_outlet(Length::m(1.0), Length::m(sole * 0.15), Length::m(0.15));
        agrees("F_h", head.to_m(), factor);
    }
}

/// E8 and E9: EN 12056-3 table 8 (second-hand), the formula's value and the table's print. The
/// table is met with the exponents 0.167, 2.667 and 1.667 only. E10: 1/3 instead of 0.33.
#[test]
fn downspouts_by_en() {
    let at = |bore_mm: f64, filling: f64| {
        l_per_s(downspout::en_capacity(
            Length::m(bore_mm * 1e-3),
            Length::m(0.25e-3),
            Fraction::ratio(filling),
        ))
    };
    for (bore_mm, formula, table, formula_20, table_20) in [
        (50.0, "1.687", "1.7", "0.732", "0.7"),
        (75.0, "4.973", "5.0", "2.158", "2.2"),
        (100.0, "10.711", "10.7", "4.648", "4.6"),
        (150.0, "31.585", "31.6", "13.707", "13.7"),
        (200.0, "68.029", "68.0", "29.522", "29.5"),
        (300.0, "200.599", "200.6", "87.053", "87.1"),
    ] {
        agrees("E8 formula", at(bore_mm, 0.33), formula);
        agrees("E8 table", at(bore_mm, 0.33), table);
        agrees("E9 formula", at(bore_mm, 0.20), formula_20);
        agrees("E9 table", at(bore_mm, 0.20), table_20);
    }
    agrees("E9, the row that the table rounds down to 4.0", at(95.0, 0.20), "4.054");
    agrees("E10", at(100.0, 1.0 / 3.0), "10.892");
    assert_eq!(downspout::en_range(Fraction::ratio(0.33)), None);
    let full = downspout::en_range(Fraction::ratio(1.0));
    let wanted = Caution::FillingDegree { degree: 1.0, least: 0.20, most: 0.33 };
    assert_eq!(full, Some(wanted));
}

/// The leaders of the National Standard Plumbing Code, table 13.6.1 (read): 7/24 full. And the
/// same formula at 1/3 (derived), which another code's table meets at 4 in only.
#[test]
fn leaders_by_us_codes() {
    let at = |bore_in: f64, filling: f64| {
        let bore = Length::m(bore_in * 0.0254);
        let flow = downspout::us_capacity(bore, Fraction::ratio(filling));
        flow.to_m3_per_s() * 60.0 / 3.785_411_784e-3
    };
    for (bore_in, table, formula, third) in [
        (2.0, "23", "22.64", "28.3"),
        (3.0, "67", "66.76", "83.4"),
        (4.0, "144", "143.77", "179.6"),
        (5.0, "261", "260.68", "325.7"),
        (6.0, "424", "423.90", "529.6"),
        (8.0, "913", "912.91", "1140.5"),
        (10.0, "1655", "1655.22", "2067.8"),
        (12.0, "2692", "2691.57", "3362.5"),
        (15.0, "4880", "4880.15", "6096.6"),
    ] {
        agrees("table 13.6.1", at(bore_in, 7.0 / 24.0), table);
        agrees("27.8 r^(5/3) d^(8/3)", at(bore_in, 7.0 / 24.0), formula);
        agrees("r = 1/3", at(bore_in, 1.0 / 3.0), third);
    }
    assert_eq!(downspout::us_range(Fraction::ratio(7.0 / 24.0)), None);
    assert!(downspout::us_range(Fraction::ratio(0.5)).is_some());
}
