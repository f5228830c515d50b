//! The full pipe as a moving column, and draining. The rows take g = 9.81: times go with 1/√g,
//! speeds with √g, and where there is friction the viscosity goes with √g too, so that Reynolds
//! numbers stay. All three are exact.

use wetrun_solver::laws::drain::Drain;
use wetrun_solver::laws::{Viscosity, drain, head_loss, surge};
use wetrun_units::{Area, Fraction, Length, Speed};

use crate::printed::{G_RATIO, agrees};

fn their_time(time: wetrun_solver::laws::Time) -> f64 {
    time.to_s() * G_RATIO.sqrt()
}

fn bore_area(bore_m: f64) -> Area {
    Area::m2(std::f64::consts::FRAC_PI_4 * bore_m * bore_m)
}

/// S1 and S2. Derived.
#[test]
fn periods() {
    agrees("S1", their_time(surge::u_tube_period(Length::m(20.0))), "6.343740");
    // The row prints 10.030334; 2π √(50/19.62) is 10.0303334.
    agrees("S1", their_time(surge::u_tube_period(Length::m(50.0))), "10.03033");
    let pipe = bore_area(0.1);
    let tank = Area::m2(f64::INFINITY);
    let period = |surfaces| their_time(surge::period(Length::m(30.0), pipe, surfaces));
    agrees("S2", period([bore_area(0.1), tank]), "10.98768");
    agrees("S2", period([bore_area(0.075), tank]), "8.240760");
    agrees("S2", period([bore_area(0.1), bore_area(0.1)]), "7.769463");
}

/// S3: Douglas and others, example 20.5 (second-hand; the book prints 90.8 s), re-solved.
#[test]
fn published_surge_shaft() {
    let surfaces = [Area::m2(12.57), Area::m2(f64::INFINITY)];
    let period = surge::period(Length::m(200.0), Area::m2(1.227), surfaces);
    agrees("S3", their_time(period), "90.80415");
}

/// S4. Derived: z goes with 1/√g.
#[test]
fn sudden_stop() {
    let rise = surge::stop_rise(Speed::m_per_s(0.5), Length::m(30.0));
    agrees("S4", rise.to_m() * G_RATIO.sqrt(), "0.874372");
}

/// S5: successive turning points of a swing with loss. Derived; an integration of the motion
/// agrees in six digits. The extremes do not depend on g.
#[test]
fn turning_points() {
    for (column_m, k, start_m, extremes) in [
        (20.0, 0.5, 0.5, ["0.495868", "0.491803", "0.487805", "0.483871"]),
        (20.0, 5.0, 0.5, ["0.461516", "0.428535", "0.399956", "0.374951"]),
        (20.0, 20.0, 0.5, ["0.374217", "0.299201", "0.249307", "0.213704"]),
        (30.0, 4.5, 1.0, ["0.909016", "0.833218", "0.769094", "0.714140"]),
        (30.0, 12.0, 1.0, ["0.788539", "0.651122", "0.554581", "0.483013"]),
    ] {
        let mut at = Length::m(start_m);
        for extreme in extremes {
            at = surge::next_extreme(at, k, Length::m(column_m));
            agrees("S5", at.to_m(), extreme);
        }
    }
    let lossless = surge::next_extreme(Length::m(0.5), 0.0, Length::m(20.0));
    assert_eq!(lossless.to_m(), 0.5);
}

/// S6. Derived; an integration of the motion agrees to 1e-11.
#[test]
fn start_up() {
    let column = Length::m(30.0);
    for (head_m, final_speed, times) in [
        (0.5, "0.904157", ["3.03767", "8.14139", "14.6360"]),
        (1.0, "1.27867", ["2.14796", "5.75683", "10.3492"]),
    ] {
        let head = Length::m(head_m);
        let found = surge::final_speed(head, 12.0).to_m_per_s();
        agrees("S6", found / G_RATIO.sqrt(), final_speed);
        for (part, time) in [0.5, 0.9, 0.99].into_iter().zip(times) {
            let found = surge::start_up_time(Fraction::ratio(part), head, 12.0, column);
            agrees("S6", their_time(found), time);
        }
    }
    let never = surge::start_up_time(Fraction::ratio(1.0), Length::m(1.0), 12.0, column);
    assert_eq!(never.to_s(), f64::INFINITY);
}

/// S7: a book's problem 6.12 (second-hand): 1225 ft of 4 in, of which 1200 ft move, Fanning's
/// f 0.008 (four times that here) and 1.5 besides, 50 ft of head, to 4 ft/s. The book prints
/// 3.95 s; re-solved with g = 32.2 ft/s²: 5.19963 ft/s, 3.947491 s.
#[test]
fn published_start_up() {
    const FT: f64 = 0.3048;
    let ratio = (9.80665 / (32.2 * FT)).sqrt();
    let k = 4.0 * 0.008 * 1225.0 * 3.0 + 1.5;
    let head = Length::m(50.0 * FT);
    let final_speed = surge::final_speed(head, k).to_m_per_s() / FT / ratio;
    agrees("S7", final_speed, "5.19963");
    let part = Fraction::ratio(4.0 / final_speed);
    let time = surge::start_up_time(part, head, k, Length::m(1200.0 * FT));
    agrees("S7", time.to_s() * ratio, "3.947491");
}

/// S10: draining with a constant loss. Derived.
#[test]
fn drain_with_constant_loss() {
    let bore = Length::m(0.05);
    let (from, to) = (Length::m(2.0), Length::m(0.2));
    let time = |surface: f64| {
        their_time(drain::constant_loss_time(Area::m2(surface), bore, 1.5, from, to))
    };
    agrees("S10", time(0.007_853_98), "2.76145");
    // The row prints 8.28435, three times its rounded 2.76145.
    agrees("S10", time(3.0 * 0.007_853_98), "8.2843");
    let flow = drain::constant_loss_flow(bore, 1.5, from).to_m3_per_s();
    agrees("S10", flow * 1e3 / G_RATIO.sqrt(), "7.77901");
    let (bore, from, to) = (Length::m(0.04), Length::m(1.5), Length::m(0.1));
    let found = drain::constant_loss_time(bore_area(1.8), bore, 4.0, from, to);
    agrees("S10", their_time(found), "1857.48");
    let flow = drain::constant_loss_flow(bore, 4.0, from).to_m3_per_s();
    agrees("S10", flow * 1e3 / G_RATIO.sqrt(), "3.04874");
}

/// P9: Fox and McDonald, example 8.7 (second-hand; 350.07 gal/min): an 80 ft standpipe through
/// 680 ft of 4 in with a gate valve of 8 bores, f = 0.031; re-solved with g = 32.2 ft/s².
#[test]
fn published_standpipe() {
    const FT: f64 = 0.3048;
    let ratio = (9.80665 / (32.2 * FT)).sqrt();
    let k = 0.031 * (680.0 * 3.0 + 8.0);
    let flow = drain::constant_loss_flow(Length::m(4.0 * 0.0254), k, Length::m(80.0 * FT));
    let gpm = flow.to_m3_per_s() * 60.0 / 3.785_411_784e-3;
    agrees("P9", gpm / ratio, "350.089");
}

/// S11: Çengel and Cimbala, example 5-2 (second-hand; 11.6 min): a 0.9 m tank through a 13 mm jet,
/// re-solved.
#[test]
fn published_drain() {
    let (from, to) = (Length::m(1.2), Length::m(0.6));
    let time = drain::constant_loss_time(bore_area(0.9), Length::m(0.013), 0.0, from, to);
    agrees("S11", their_time(time) / 60.0, "11.57251");
}

/// S12: draining with wall friction. Derived (`scipy` quadrature over Colebrook).
#[test]
fn drain_with_friction() {
    let viscosity = Viscosity::m2_per_s(1.306e-6 * G_RATIO.sqrt());
    for (surface, bore_m, length_m, k, from_m, to_m, time, speeds) in [
        (0.02, 0.04, 10.0, 2.0, 2.0, 0.5, "14.62696", ["2.22601", "1.05615"]),
        (0.0236, 0.05, 30.0, 3.0, 1.5, 0.3, "15.45121", ["1.33384", "0.551282"]),
    ] {
        let bore = Length::m(bore_m);
        let pipe = Drain { bore, length: Length::m(length_m), roughness: Length::m(1.5e-6), k };
        let (from, to) = (Length::m(from_m), Length::m(to_m));
        let found = drain::time(&pipe, viscosity, Area::m2(surface), from, to);
        agrees("S12", their_time(found), time);
        for (head, speed) in [from, to].into_iter().zip(speeds) {
            let found = head_loss::full_speed(drain::flow(&pipe, viscosity, head), bore);
            agrees("S12", found.to_m_per_s() / G_RATIO.sqrt(), speed);
        }
    }
    // The same pipe with a constant factor of 0.02 is a constant loss of 2 + 0.02 · 10/0.04.
    let (from, to) = (Length::m(2.0), Length::m(0.5));
    let constant = drain::constant_loss_time(Area::m2(0.02), Length::m(0.04), 7.0, from, to);
    agrees("S12", their_time(constant), "14.37244");
}

/// The ends of a drain: nothing to do, no pipe, and the last of the water.
#[test]
fn drain_at_its_ends() {
    let viscosity = Viscosity::m2_per_s(1.3e-6);
    let pipe = |length_m: f64| Drain {
        bore: Length::m(0.04),
        length: Length::m(length_m),
        roughness: Length::ZERO,
        k: 2.0,
    };
    let time = |length_m: f64, from_m: f64, to_m: f64| {
        let (from, to) = (Length::m(from_m), Length::m(to_m));
        drain::time(&pipe(length_m), viscosity, Area::m2(0.02), from, to).to_s()
    };
    assert_eq!(time(10.0, 0.5, 0.5), 0.0);
    assert_eq!(time(10.0, 0.5, 0.0), f64::INFINITY);
    let bare = drain::constant_loss_time(
        Area::m2(0.02),
        Length::m(0.04),
        2.0,
        Length::m(0.5),
        Length::ZERO,
    );
    assert_eq!(time(0.0, 0.5, 0.0), bare.to_s());
    assert_eq!(drain::flow(&pipe(10.0), viscosity, Length::ZERO).to_m3_per_s(), 0.0);
}
