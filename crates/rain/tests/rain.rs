//! Rain against a published table of depths, blocks laid by hand and the closed form of a store.

#![allow(clippy::unwrap_used, clippy::disallowed_methods)]

use approx::assert_abs_diff_eq;
use wetrun_rain::{Course, RainError, RainTable, RoofStore};
use wetrun_units::{Intensity, Length, Time};

const INCH: f64 = 0.0254;

fn minutes(count: f64) -> Time {
    Time::s(60.0 * count)
}

/// The 10-year depths of a point of the national weather service's Atlas 14, volume 2.
fn table() -> RainTable {
    let depths = [(5.0, 0.647), (10.0, 0.999), (15.0, 1.23), (30.0, 1.71), (60.0, 2.17)];
    RainTable::new(&depths.map(|(t, inches)| (minutes(t), Length::m(inches * INCH)))).unwrap()
}

/// Straight lines between the rows on doubly logarithmic paper, worked outside the project.
#[test]
fn depths_between_rows_are_log_log() {
    for (t, inches) in [(5.0, 0.647), (7.0, 0.79889), (20.0, 1.41024), (45.0, 1.96571)] {
        let depth = table().depth(minutes(t)).unwrap().to_m() / INCH;
        assert_abs_diff_eq!(depth, inches, epsilon = 1e-5);
    }
    let in_an_hour = table().intensity(minutes(5.0)).unwrap().to_m_per_s() * 3600.0 / INCH;
    assert_abs_diff_eq!(in_an_hour, 7.764, epsilon = 1e-9);
    assert!(matches!(table().depth(minutes(4.0)), Err(RainError::OutsideTable { .. })));
    assert!(matches!(table().depth(minutes(61.0)), Err(RainError::OutsideTable { .. })));
}

/// Alternating blocks of the same table, 60 min by 5 min, worked outside the project (mm).
#[test]
fn nested_blocks_are_those_laid_by_hand() {
    let expected = [1.72, 1.98, 2.36, 4.01, 5.87, 16.43, 8.94, 4.58, 3.61, 2.15, 1.84, 1.62, 0.0];
    let course = table().nested(minutes(60.0), minutes(5.0)).unwrap();
    assert_eq!(course.blocks().len(), expected.len());
    for (block, mm) in course.blocks().iter().zip(expected) {
        assert_abs_diff_eq!(block.rain_m_per_s * 300_000.0, mm, epsilon = 0.0051);
    }
    assert_abs_diff_eq!(course.depth().to_m(), 2.17 * INCH, epsilon = 1e-12);
    let short = table().nested(minutes(60.0), minutes(4.0));
    assert!(matches!(short, Err(RainError::OutsideTable { .. })));
    assert_eq!(table().nested(minutes(60.0), minutes(7.0)), Err(RainError::NotWholeSteps));
}

/// Twelve blocks of 10 min by the formula `96.6/(t^0.97 + 13.9)` in/h, for Denver, 10 years (Chow,
/// Maidment and Mays, Applied Hydrology, example 14.4.1; from memory, worked again outside the project).
#[test]
fn a_textbook_storm_of_two_hours() {
    let depth = |t: f64| 96.6 / (t.powf(0.97) + 13.9) * t / 60.0;
    let ends: Vec<f64> = (1..=12).map(|block| 10.0 * f64::from(block)).collect();
    let rows: Vec<_> = ends.iter().map(|&t| (minutes(t), Length::m(depth(t) * INCH))).collect();
    let course = RainTable::new(&rows).unwrap().nested(minutes(120.0), minutes(10.0)).unwrap();
    let expected =
        [0.024, 0.033, 0.050, 0.084, 0.178, 0.693, 0.308, 0.118, 0.063, 0.040, 0.028, 0.021];
    for (block, inches) in course.blocks().iter().zip(expected) {
        let found = block.rain_m_per_s * 600.0 / INCH;
        assert_abs_diff_eq!(found, inches, epsilon = 1e-3);
    }
}

/// Whatever the table, the wettest so many neighbouring blocks hold what the table has for that time.
#[test]
fn every_stretch_about_the_heaviest_block_holds_its_depth() {
    let step = 5.0;
    let course = table().nested(minutes(60.0), minutes(step)).unwrap();
    let blocks: Vec<f64> =
        course.blocks().iter().map(|block| block.rain_m_per_s * step * 60.0).collect();
    for count in 1..=12_u32 {
        let stretches = blocks.windows(count as usize).map(|some| some.iter().sum::<f64>());
        let wettest = stretches.fold(0.0, f64::max);
        let depth = table().depth(minutes(step * f64::from(count))).unwrap().to_m();
        assert_abs_diff_eq!(wettest, depth, epsilon = 1e-12);
    }
}

fn course(rains: &[(f64, f64)]) -> Result<Course, RainError> {
    let rains: Vec<_> = rains.iter().map(|&(t, i)| (Time::s(t), Intensity::m_per_s(i))).collect();
    Course::new(&rains)
}

#[test]
fn wetting_takes_the_first_depth_and_no_more() {
    let whole = course(&[(0.0, 1e-6), (100.0, 2e-6), (200.0, 0.0)]).unwrap();
    // 0.2 mm: 0.1 mm of the first block, then 0.1 mm at 2e-6 m/s, which is 50 s.
    let left = whole.after_wetting(Length::m(2e-4));
    assert_abs_diff_eq!(left.depth().to_m(), 1e-4, epsilon = 1e-15);
    assert_abs_diff_eq!(left.blocks()[2].at_s, 150.0, epsilon = 1e-9);
    assert_eq!(whole.after_wetting(Length::m(0.0)), whole);
    assert_eq!(whole.after_wetting(Length::m(1.0)).depth().to_m(), 0.0);
}

#[test]
fn faults_of_courses_and_tables_are_located() {
    assert_eq!(course(&[]), Err(RainError::Empty));
    assert_eq!(course(&[(0.0, 1e-6)]), Err(RainError::NeverEnds));
    assert_eq!(course(&[(9.0, 1e-6), (9.0, 0.0)]), Err(RainError::OutOfOrder(1)));
    assert_eq!(course(&[(0.0, f64::NAN), (9.0, 0.0)]), Err(RainError::NotANumber(0)));
    let falling = [(Time::s(300.0), Length::m(0.02)), (Time::s(600.0), Length::m(0.01))];
    assert_eq!(RainTable::new(&falling), Err(RainError::DepthFalls(1)));
}

/// `q = i (1 − e^(−t/lag))` while it rains, `q₀ e^(−t/lag)` after; what fell has run off or lies there.
#[test]
fn a_roof_follows_the_closed_form_of_a_linear_store() {
    let mut roof = RoofStore::dry(60.0);
    let run_off = roof.pass(1e-3, 90.0);
    assert_abs_diff_eq!(roof.runoff(), 1e-3 * (1.0 - (-1.5_f64).exp()), epsilon = 1e-17);
    assert_abs_diff_eq!(run_off + roof.stored(), 0.09, epsilon = 1e-16);
    roof.pass(0.0, 60.0);
    let after = 1e-3 * (1.0 - (-1.5_f64).exp()) * (-1.0_f64).exp();
    assert_abs_diff_eq!(roof.runoff(), after, epsilon = 1e-17);
    let mut bare = RoofStore::dry(0.0);
    assert_eq!(bare.pass(1e-3, 10.0), 1e-2);
    assert_eq!((bare.runoff(), bare.stored()), (1e-3, 0.0));
}
