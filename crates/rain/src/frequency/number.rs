//! Numbers, return periods and durations as tables print them.

use wetrun_units::{Time, UnitSystem};

/// A plain decimal number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number {
    pub(super) value: f64,
    /// How many digits stand behind its point.
    pub(super) decimals: usize,
}

impl Number {
    /// Half a step of its last digit.
    pub(super) fn rounding(self) -> f64 {
        (0..self.decimals).fold(0.5, |half, _| half / 10.0)
    }
}

/// Digits with at most one point, nothing else: no sign, no exponent, no separators.
pub(super) fn number(text: &str) -> Option<Number> {
    let (whole, behind) = text.split_once('.').unwrap_or((text, ""));
    let digits = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
    let some = !whole.is_empty() || !behind.is_empty();
    if !some || !digits(whole) || !digits(behind) || text.len() > 20 {
        return None;
    }
    let value = text.parse().ok()?;
    Some(Number { value, decimals: behind.len() })
}

/// A return period as a header names it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Period {
    /// `10`: years.
    Years(f64),
    /// `1/10`: a probability within a year.
    Probability(f64),
}

impl Period {
    /// The years, or the inverse of the probability.
    pub(super) fn years(self) -> f64 {
        match self {
            Self::Years(years) | Self::Probability(years) => years,
        }
    }
}

/// A period in a header: `10`, `1/10`, or with the apostrophe that keeps a spreadsheet from
/// reading a date, `'1/10`.
pub(super) fn period(text: &str) -> Option<Period> {
    let text = text.trim_start_matches(['\'', '\u{2018}', '\u{2019}', '`']).trim();
    let usable = |number: Number| (number.value > 0.0).then_some(number.value);
    match text.split_once('/') {
        Some((one, years)) if one.trim() == "1" => {
            number(years.trim()).and_then(usable).map(Period::Probability)
        }
        Some(_) => None,
        None => number(text).and_then(usable).map(Period::Years),
    }
}

/// A duration with its unit: `5-min`, `2-hr:`, `60 min`, `1 d`.
pub(super) fn duration(text: &str) -> Option<Time> {
    let text = text.strip_suffix(':').unwrap_or(text).trim();
    let end = text.find(|c: char| !c.is_ascii_digit() && c != '.')?;
    let (amount, unit) = text.split_at(end);
    number(amount)?;
    let unit = unit.trim_start_matches([' ', '-']).trim();
    let unit = match unit.to_ascii_lowercase().as_str() {
        "hr" | "hrs" => "h".to_owned(),
        lower => lower.to_owned(),
    };
    let time = UnitSystem::Si.read_time(&format!("{amount} {unit}")).ok()?;
    (time.to_s() > 0.0).then_some(time)
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_plain_digits() {
        assert_eq!(number("0.409"), Some(Number { value: 0.409, decimals: 3 }));
        assert_eq!(number("27"), Some(Number { value: 27.0, decimals: 0 }));
        for none in ["", ".", "-1", "+1", "1e3", "nan", "inf", "1,2", "0x1", "1.2.3", " 1", "٣"] {
            assert_eq!(number(none), None, "{none}");
        }
        assert!((number("0.409").unwrap().rounding() - 0.0005).abs() < 1e-18);
    }

    #[test]
    fn periods_and_durations() {
        assert_eq!(period("'1/25"), Some(Period::Probability(25.0)));
        assert_eq!(period("1000"), Some(Period::Years(1000.0)));
        for none in ["2/5", "0", "1/0", "2-Jan", "1/", "10%"] {
            assert_eq!(period(none), None, "{none}");
        }
        let s = |text: &str| duration(text).map(Time::to_s);
        assert_eq!(
            (s("5-min:"), s("24-hr"), s("60-day:")),
            (Some(300.0), Some(86400.0), Some(5184e3))
        );
        assert_eq!((s("1 h"), s("90 s"), s("2 days")), (Some(3600.0), Some(90.0), Some(172_800.0)));
        for none in ["5", "min", "5-mm", "0-min", "-5-min", "5 min 30 s"] {
            assert_eq!(s(none), None, "{none}");
        }
    }
}
