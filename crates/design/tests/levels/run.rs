//! Levelling: a run worked in a textbook, and runs worked by hand.

use wetrun_design::levels::{Instrument, LevelRun, RunError};
use wetrun_units::Length;

const FOOT_M: f64 = 0.3048;

fn ft(feet: f64) -> Length {
    Length::m(feet * FOOT_M)
}

fn is(found: Length, feet: f64) -> bool {
    (found.to_m() / FOOT_M - feet).abs() < 1e-9
}

/// *Elementary Surveying: An Introduction to Geomatics*, the chapter on differential levelling,
/// the example of field notes: a loop of seven set-ups over five turning points and a new
/// benchmark (recalled; its sums prove it: backsights 40.24 ft less foresights 40.21 ft are the
/// closing error of 0.03 ft).
#[test]
fn a_loop_of_a_textbook_closes_as_printed() {
    let loop_ft = [
        // backsight, height of instrument, foresight, level of the next point
        (1.33, 2054.51, 8.37, 2046.14),
        (0.22, 2046.36, 7.91, 2038.45),
        (0.96, 2039.41, 11.72, 2027.69),
        (0.46, 2028.15, 8.71, 2019.44),
        (11.95, 2031.39, 2.61, 2028.78),
        (12.55, 2041.33, 0.68, 2040.65),
    ];
    let mut run = LevelRun::new([("first".to_owned(), ft(2053.18))]);
    let mut on = "first".to_owned();
    for (index, (backsight, height, foresight, level)) in loop_ft.into_iter().enumerate() {
        assert!(is(run.backsight(&on, ft(backsight)).unwrap().height, height), "set-up {index}");
        on = format!("turn {index}");
        assert!(is(run.turn(&on, ft(foresight)).unwrap(), level), "turn {index}");
    }
    assert!(is(run.backsight(&on, ft(12.77)).unwrap().height, 2053.42));
    let close = run.close("first", ft(0.21)).unwrap();
    assert!(is(close.found, 2053.21) && is(close.error(), 0.03));
    assert_eq!(run.closes().len(), 1);
}

/// By hand: a benchmark at 100.00 ft and 4.32 ft on the rod put the sight at 104.32 ft; a gutter
/// at 109.60 ft is then 5.28 ft above the sight, on a rod upside down.
#[test]
fn above_the_sight_the_rod_stands_upside_down() {
    let instrument = Instrument::over(ft(100.0), ft(4.32));
    assert!(is(instrument.height, 104.32));
    assert!(is(instrument.reading(ft(98.65)), 5.67));
    assert!(is(instrument.reading(ft(109.60)), -5.28));
    assert!(is(instrument.level(ft(-5.28)), 109.60));
}

#[test]
fn a_run_needs_a_start_and_known_names() {
    let mut run = LevelRun::new([("BM1".to_owned(), ft(100.0))]);
    assert_eq!(run.foresight(ft(1.0)), Err(RunError::NoInstrument));
    assert_eq!(run.backsight("BM7", ft(1.0)), Err(RunError::Unknown("BM7".to_owned())));
    run.backsight("BM1", ft(4.0)).unwrap();
    assert_eq!(run.close("TP1", ft(1.0)), Err(RunError::Unknown("TP1".to_owned())));
}
