//! Values as people write them, against the exact definitions of their units.

#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

use proptest::prelude::*;
use wetrun_units::{Fault, Kind, Length, UnitSystem, feet_inches};

const US: UnitSystem = UnitSystem::Us;
const SI: UnitSystem = UnitSystem::Si;

fn close(found: f64, wanted: f64) {
    assert!((found - wanted).abs() <= 4e-16 * wanted.abs(), "{found} is not {wanted}");
}

fn length(text: &str) -> f64 {
    SI.read_level(text).unwrap_or_else(|e| panic!("{text}: {e}")).to_m()
}

/// 1 in = 25.4 mm exactly (international yard and pound agreement, 1959).
#[test]
fn lengths_in_every_spelling() {
    let inch = 0.0254;
    for (text, wanted) in [
        ("4 in", 4.0 * inch),
        ("4in", 4.0 * inch),
        ("4\"", 4.0 * inch),
        ("4 \"", 4.0 * inch),
        ("4 inches", 4.0 * inch),
        ("1 inch", inch),
        ("101.6 mm", 0.1016),
        ("101.6mm", 0.1016),
        ("10.16 cm", 0.1016),
        ("0.5 km", 500.0),
        ("3 yd", 108.0 * inch),
        ("3 yards", 108.0 * inch),
        ("13 ft 6 in", 162.0 * inch),
        ("13ft 6in", 162.0 * inch),
        ("13ft6in", 162.0 * inch),
        ("13 feet 6 inches", 162.0 * inch),
        ("13' 6\"", 162.0 * inch),
        ("13'6\"", 162.0 * inch),
        ("13'-6\"", 162.0 * inch),
        ("13' - 6\"", 162.0 * inch),
        ("13'-6 1/2\"", 162.5 * inch),
        ("13’ 6”", 162.0 * inch),
        ("-3 ft 6 in", -42.0 * inch),
        ("-3'-6\"", -42.0 * inch),
        ("+3 ft", 36.0 * inch),
        ("4 1/2 in", 4.5 * inch),
        ("4-1/2 in", 4.5 * inch),
        ("4 1/2\"", 4.5 * inch),
        ("1/2 in", 0.5 * inch),
        ("4½ in", 4.5 * inch),
        (".5 m", 0.5),
        ("5. m", 5.0),
        ("1.5e-3 m", 0.0015),
        ("2 meters", 2.0),
        ("2 metres", 2.0),
        ("  2 m  ", 2.0),
        ("0 ft", 0.0),
    ] {
        close(length(text), wanted);
    }
}

#[test]
fn equal_values_in_two_units_are_the_same_number() {
    for (a, b) in [
        ("4 in", "101.6 mm"),
        ("13 ft 6 in", "13.5 ft"),
        ("13 ft 6 in", "162 in"),
        ("0.5 in", "12.7 mm"),
        ("6.6 mm", "0.66 cm"),
        ("1 yd", "3 ft"),
    ] {
        assert_eq!(length(a).to_bits(), length(b).to_bits(), "{a} and {b}");
    }
}

/// 1 US gal = 231 in³, 1 ft = 0.3048 m, 1 psi = 1 lbf/in² with 1 lbf = 0.45359237 kg × 9.80665
/// m/s²: exact by definition (NIST Special Publication 811, appendix B, recalled).
#[test]
fn the_other_kinds_in_every_spelling() {
    let foot = 0.3048;
    let gallon = 231.0 * 0.0254f64.powi(3);
    for text in ["640 sq ft", "640 ft2", "640 ft²", "640sq ft", "640 square feet", "640 sq. ft"] {
        close(SI.read_area(text).unwrap().to_m2(), 640.0 * foot * foot);
    }
    for text in ["59.5 m2", "59.5 m²", "59.5 sq m", "595000 cm2", "595000 cm²", "59500000 mm²"] {
        close(SI.read_area(text).unwrap().to_m2(), 59.5);
    }
    for text in ["12 sq in", "12 in2", "12 in²"] {
        close(SI.read_area(text).unwrap().to_m2(), 12.0 * 0.0254 * 0.0254);
    }
    for (text, wanted) in [
        ("2500 gal", 2500.0 * gallon),
        ("2500 gals", 2500.0 * gallon),
        ("2500 gallons", 2500.0 * gallon),
        ("9.5 m3", 9.5),
        ("9.5 m³", 9.5),
        ("9500 L", 9.5),
        ("500 mL", 0.0005),
        ("3 cu ft", 3.0 * foot.powi(3)),
        ("3 ft3", 3.0 * foot.powi(3)),
    ] {
        close(SI.read_volume(text).unwrap().to_m3(), wanted);
    }
    for (text, wanted) in [
        ("130 mm/h", 0.13 / 3600.0),
        ("130 mm/hr", 0.13 / 3600.0),
        ("5.2 in/h", 5.2 * 0.0254 / 3600.0),
        ("5.2in/hr", 5.2 * 0.0254 / 3600.0),
    ] {
        close(SI.read_intensity(text).unwrap().to_m_per_s(), wanted);
    }
    for (text, wanted) in [
        ("2.4 L/s", 0.0024),
        ("60 L/min", 0.001),
        ("0.2 m3/s", 0.2),
        ("3.6 m3/h", 0.001),
        ("3.6 m³/h", 0.001),
        ("38 gpm", 38.0 * gallon / 60.0),
        ("38 gph", 38.0 * gallon / 3600.0),
        ("2 cfs", 2.0 * foot.powi(3)),
    ] {
        close(SI.read_flow(text).unwrap().to_m3_per_s(), wanted);
    }
    for (text, wanted) in [("50 F", 10.0), ("50 °F", 10.0), ("10 C", 10.0), ("10°C", 10.0)] {
        close(SI.read_temperature(text).unwrap().to_celsius(), wanted);
    }
    for (text, wanted) in [
        ("0.5 %", 0.005),
        ("1:200", 0.005),
        ("1 : 200", 0.005),
        ("1/4 in/ft", 0.25 / 12.0),
        ("5 mm/m", 0.005),
        ("0", 0.0),
    ] {
        close(SI.read_slope(text).unwrap().to_ratio(), wanted);
    }
    for (text, wanted) in [("0.5", 0.5), ("50 %", 0.5), ("50%", 0.5), ("1", 1.0)] {
        close(SI.read_fraction(text).unwrap().to_ratio(), wanted);
    }
    close(SI.read_pressure("35 kPa").unwrap().to_pa(), 35_000.0);
    close(
        SI.read_pressure("5 psi").unwrap().to_pa(),
        5.0 * 0.45359237 * 9.80665 / 0.0254f64.powi(2),
    );
}

/// 1 lb = 0.45359237 kg exactly; a mass weighs with 9.80665 m/s² (both as NIST SP 811 has them).
#[test]
fn times_speeds_and_weights() {
    for (text, wanted) in [
        ("90 s", 90.0),
        ("15 min", 900.0),
        ("24 h", 86_400.0),
        ("2 days", 172_800.0),
        ("1.5 hrs", 5400.0),
    ] {
        close(SI.read_time(text).unwrap().to_s(), wanted);
    }
    for (text, wanted) in [("0.9 m/s", 0.9), ("3 ft/s", 0.9144), ("3 fps", 0.9144)] {
        close(SI.read_speed(text).unwrap().to_m_per_s(), wanted);
    }
    let pound = 0.45359237 * 9.80665;
    for (text, wanted) in [
        ("230 kg", 230.0 * 9.80665),
        ("500 lb", 500.0 * pound),
        ("500 lbs", 500.0 * pound),
        ("2.2 kN", 2200.0),
        ("10 N", 10.0),
        ("0.5 t", 500.0 * 9.80665),
    ] {
        close(SI.read_weight(text).unwrap().to_n(), wanted);
    }
    assert_eq!(SI.read_time("15").unwrap_err().fault, Fault::NoUnit);
    assert!(SI.read_level("15 min").is_err());
}

/// The table of bare numbers in the site file's reference.
#[test]
fn bare_numbers_take_the_systems_unit() {
    close(US.read_level("10").unwrap().to_m(), 3.048);
    close(SI.read_level("10").unwrap().to_m(), 10.0);
    close(US.read_size("4 1/2").unwrap().to_m(), 0.1143);
    close(SI.read_size("110").unwrap().to_m(), 0.11);
    close(US.read_area("100").unwrap().to_m2(), 9.290304);
    close(SI.read_area("100").unwrap().to_m2(), 100.0);
    close(US.read_intensity("1").unwrap().to_m_per_s(), 0.0254 / 3600.0);
    close(SI.read_intensity("36").unwrap().to_m_per_s(), 1e-5);
    close(US.read_volume("1").unwrap().to_m3(), 0.003785411784);
    close(SI.read_volume("1").unwrap().to_m3(), 0.001);
    close(US.read_temperature("50").unwrap().to_celsius(), 10.0);
    close(SI.read_temperature("10").unwrap().to_celsius(), 10.0);
}

#[test]
fn what_is_no_value_says_why_and_where() {
    let fault = |text: &str| {
        let error = SI.read_level(text).expect_err(text);
        (error.at, error.fault)
    };
    assert_eq!(fault(""), (0, Fault::Empty));
    assert_eq!(fault("nan"), (0, Fault::NotFinite));
    assert_eq!(fault(".nan"), (0, Fault::NotFinite));
    assert_eq!(fault("-.inf"), (1, Fault::NotFinite));
    assert_eq!(fault("NaN m"), (0, Fault::NotFinite));
    assert_eq!(fault("1e400").1, Fault::TooLarge);
    assert_eq!(fault("1e308 km").1, Fault::TooLarge);
    assert_eq!(fault("1,5 m"), (1, Fault::Comma));
    assert_eq!(fault("1/0 in").1, Fault::ZeroBelow);
    assert_eq!(fault("4 1/0 in").1, Fault::ZeroBelow);
    assert_eq!(fault("13' 6"), (4, Fault::NoUnit));
    assert_eq!(fault("6 in 3 ft"), (5, Fault::PartOrder));
    assert_eq!(fault("3 m 20 cm").1, Fault::PartOrder);
    assert_eq!(fault("4 in x"), (5, Fault::Trailing { found: "x".into() }));
    assert_eq!(fault("a lot"), (0, Fault::NoNumber { found: "a".into() }));
    assert_eq!(fault("4 gal"), (2, Fault::WrongKind { unit: "gal".into(), found: Kind::Volume }));
    assert_eq!(fault("4 mm/h").1, Fault::WrongKind { unit: "mm/h".into(), found: Kind::Intensity });
    assert_eq!(fault("4 ft2").1, Fault::WrongKind { unit: "ft2".into(), found: Kind::Area });
    assert_eq!(fault("4 IN"), (2, Fault::UnknownUnit { unit: "IN".into(), nearest: Some("in") }));
    assert_eq!(fault("é4 m").1, Fault::NoNumber { found: "é4".into() });
    assert_eq!(fault(&"9".repeat(10_000)).1, Fault::TooLong);
    assert_eq!(SI.read_slope("1:0").unwrap_err().fault, Fault::ZeroBelow);
    assert_eq!(SI.read_slope("0.5").unwrap_err().fault, Fault::NoUnit);
    assert_eq!(SI.read_flow("4").unwrap_err().fault, Fault::NoUnit);
    assert_eq!(
        SI.read_area("4 sqr ft").unwrap_err().fault,
        Fault::UnknownUnit { unit: "sqr ft".into(), nearest: Some("sq ft") }
    );
}

#[test]
fn feet_and_inches_to_the_eighth() {
    let inches = |n: f64| feet_inches(Length::m(n * 0.0254));
    assert_eq!(inches(88.5), "7'-4 1/2\"");
    assert_eq!(inches(-42.0), "-3'-6\"");
    assert_eq!(inches(0.01), "0'-0\"");
    assert_eq!(inches(-0.01), "0'-0\"");
    assert_eq!(inches(11.99), "1'-0\"");
    assert_eq!(inches(0.125), "0'-0 1/8\"");
}

#[test]
fn a_difference_of_temperature_has_no_zero_of_its_own() {
    for (text, kelvins) in [("5 C", 5.0), ("9 F", 5.0), ("5 K", 5.0), ("0", 0.0), ("1.8 °F", 1.0)]
    {
        assert!((US.read_warmth(text).unwrap().to_k() - kelvins).abs() < 1e-12, "{text}");
    }
    assert!(SI.read_warmth("5").is_err() && SI.read_temperature("5 K").is_err());
    assert!((US.read_temperature("50").unwrap().to_celsius() - 10.0).abs() < 1e-12);
}

#[test]
fn printed_values_have_fixed_decimals() {
    let level = Length::m(102.35 * 0.3048);
    assert_eq!(US.show_level(level).to_string(), "102.35 ft");
    assert_eq!(SI.show_level(level).to_string(), "31.196 m");
    assert_eq!(SI.show_height(Length::m(-0.0004)).to_string(), "0 mm");
    assert_eq!(US.show_height(Length::m(0.0787)).number, "3.1");
    assert_eq!(
        US.show_temperature(wetrun_units::Temperature::celsius(10.0)).to_string(),
        "50.0 °F"
    );
    assert_eq!(US.show_speed(wetrun_units::Speed::m_per_s(0.3048)).to_string(), "1.00 ft/s");
}

proptest! {
    #[test]
    fn no_text_panics(text in "\\PC{0,40}", us in any::<bool>()) {
        let system = if us { US } else { SI };
        let _ = system.read_level(&text);
        let _ = system.read_slope(&text);
        let _ = system.read_area(&text);
    }

    #[test]
    fn no_text_of_the_alphabet_panics(text in "[-+0-9./' \":%,a-zA-Z²³°e]{0,16}") {
        for system in [US, SI] {
            let read = [
                system.read_size(&text).map(|v| v.to_m()),
                system.read_fraction(&text).map(|v| v.to_ratio()),
                system.read_slope(&text).map(|v| v.to_ratio()),
                system.read_flow(&text).map(|v| v.to_m3_per_s()),
                system.read_temperature(&text).map(|v| v.to_celsius()),
            ];
            for value in read {
                prop_assert!(value.is_err() || value.is_ok_and(f64::is_finite));
            }
        }
    }

    #[test]
    fn printed_levels_read_back(metres in -1e4..1e4f64) {
        let level = Length::m(metres);
        for (system, half_unit_m) in [(US, 0.005 * 0.3048), (SI, 0.0005)] {
            let back = system.read_level(&system.show_level(level).to_string()).unwrap();
            prop_assert!((back.to_m() - metres).abs() <= half_unit_m * (1.0 + 1e-9));
        }
        let back = SI.read_level(&feet_inches(level)).unwrap();
        prop_assert!((back.to_m() - metres).abs() <= 0.0254 / 16.0 * (1.0 + 1e-9));
    }

    #[test]
    fn printed_values_of_each_kind_read_back(x in 0.0..1e4f64) {
        use wetrun_units::{Area, Flow, Fraction, Intensity, Pressure, Slope, Temperature, Volume};
        let near = |found: f64, half_unit: f64| (found - x).abs() <= half_unit * (1.0 + 1e-9) + 1e-12;
        for (system, us) in [(US, true), (SI, false)] {
            let pick = |a: f64, b: f64| if us { a } else { b };
            let text = |shown: wetrun_units::Shown| shown.to_string();
            let area = system.read_area(&text(system.show_area(Area::m2(x)))).unwrap();
            prop_assert!(near(area.to_m2(), pick(0.5 * 0.09290304, 0.05)));
            let volume = system.read_volume(&text(system.show_volume(Volume::m3(x)))).unwrap();
            prop_assert!(near(volume.to_m3(), pick(0.5 * 0.003785411784, 0.0005)));
            let flow = system.read_flow(&text(system.show_flow(Flow::m3_per_s(x)))).unwrap();
            prop_assert!(near(flow.to_m3_per_s(), pick(0.05 * 0.003785411784 / 60.0, 5e-6)));
            let rain = Intensity::m_per_s(x * 1e-6);
            let rain = system.read_intensity(&text(system.show_intensity(rain))).unwrap();
            prop_assert!(near(rain.to_m_per_s() * 1e6, pick(0.005 * 25.4, 0.05) / 3.6));
            let warm = Temperature::celsius(x);
            let warm = system.read_temperature(&text(system.show_temperature(warm))).unwrap();
            prop_assert!(near(warm.to_celsius(), pick(0.05 / 1.8, 0.05)));
            let part = system.read_fraction(&text(system.show_fraction(Fraction::ratio(x)))).unwrap();
            prop_assert!(near(part.to_ratio(), 0.0005));
            let fall = system.read_slope(&text(system.show_slope(Slope::ratio(x)))).unwrap();
            prop_assert!(near(fall.to_ratio(), 0.00005));
            let head = system.read_pressure(&text(system.show_pressure(Pressure::pa(x)))).unwrap();
            prop_assert!(near(head.to_pa(), pick(0.05 * 6894.757293168361, 50.0)));
            let size = system.read_size(&text(system.show_size(Length::m(x)))).unwrap();
            prop_assert!(near(size.to_m(), pick(0.0005 * 0.0254, 0.00005)));
        }
    }
}
