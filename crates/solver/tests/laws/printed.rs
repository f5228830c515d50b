//! Comparing with a number as it is printed.

/// Asserts that `found` rounds to the printed number: half a unit of its last digit either way.
#[track_caller]
pub(crate) fn agrees(row: &str, found: f64, printed: &str) {
    off_by(row, found, printed, 0.5);
}

/// Asserts that `found` is within so many units of the printed number's last digit.
#[track_caller]
pub(crate) fn off_by(row: &str, found: f64, printed: &str, units: f64) {
    let (wanted, unit) = read(printed);
    let off = (found - wanted).abs() / unit;
    assert!(
        off <= units * (1.0 + 1e-6),
        "{row}: found {found}, the source prints {printed} ({off:.2} units of its last digit off)"
    );
}

/// The number, and one unit of its last digit.
fn read(printed: &str) -> (f64, f64) {
    let wanted: f64 = printed.parse().expect("a printed number");
    let (digits, power) = printed.split_once('e').unwrap_or((printed, "0"));
    let decimals = digits.split_once('.').map_or(0, |(_, d)| d.len());
    let power: i32 = power.parse().expect("a power of ten");
    (wanted, 10f64.powi(power - i32::try_from(decimals).expect("few digits")))
}

/// What carries a length or a speed from g = 9.81 to 9.80665 m/s²: rows worked with the other
/// value are met by scaling the flow so that Q²/g is the same, which is exact.
pub(crate) const G_RATIO: f64 = 9.80665 / 9.81;
