//! Days of the Gregorian calendar, counted one by one.

use std::fmt;

/// A day, counted from 1970-01-01.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date(i64);

impl Date {
    /// The day that a text such as `2024-07-31` names, in the years 1000 to 2999; nothing where it
    /// names none.
    pub fn read(text: &str) -> Option<Self> {
        let bytes = text.as_bytes();
        let digits = |range: std::ops::Range<usize>| {
            let part = bytes.get(range)?;
            part.iter().try_fold(0_i64, |sum, digit| {
                digit.is_ascii_digit().then(|| sum * 10 + i64::from(digit - b'0'))
            })
        };
        if bytes.len() != 10 || bytes.get(4) != Some(&b'-') || bytes.get(7) != Some(&b'-') {
            return None;
        }
        let (year, month, day) = (digits(0..4)?, digits(5..7)?, digits(8..10)?);
        let date = Self(days(year, month, day));
        let exists = (1000..3000).contains(&year) && date.parts() == (year, month, day);
        exists.then_some(date)
    }

    /// The day so many days later.
    pub fn plus(self, days: usize) -> Self {
        Self(self.0 + i64::try_from(days).unwrap_or(0))
    }

    /// How many days later this is than another; negative where it is earlier.
    pub fn days_since(self, other: Self) -> i64 {
        self.0 - other.0
    }

    /// Year, month from 1 to 12, day from 1.
    pub fn parts(self) -> (i64, i64, i64) {
        // Years begin in March here, so that the leap day is their last.
        let shifted = self.0 + 719_468;
        let era = shifted.div_euclid(146_097);
        let day_of_era = shifted.rem_euclid(146_097);
        let year_of_era =
            (day_of_era - day_of_era / 1460 + day_of_era / 36_524 - day_of_era / 146_096) / 365;
        let day_of_year = day_of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
        let from_march = (5 * day_of_year + 2) / 153;
        let day = day_of_year - (153 * from_march + 2) / 5 + 1;
        let month = if from_march < 10 { from_march + 3 } else { from_march - 9 };
        (year_of_era + era * 400 + i64::from(month <= 2), month, day)
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (year, month, day) = self.parts();
        write!(f, "{year:04}-{month:02}-{day:02}")
    }
}

fn days(year: i64, month: i64, day: i64) -> i64 {
    let year = year - i64::from(month <= 2);
    let era = year.div_euclid(400);
    let year_of_era = year.rem_euclid(400);
    let from_march = (month + 9) % 12;
    let day_of_year = (153 * from_march + 2) / 5 + day - 1;
    let day_of_era = year_of_era * 365 + year_of_era / 4 - year_of_era / 100 + day_of_year;
    era * 146_097 + day_of_era - 719_468
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 1970-01-01 is day 0 and 2000-03-01 day 11017 of POSIX time; 1900 has no leap day.
    #[test]
    fn days_are_those_of_the_calendar() {
        assert_eq!(Date::read("1970-01-01"), Some(Date(0)));
        assert_eq!(Date::read("2000-03-01"), Some(Date(11_017)));
        for wrong in ["1900-02-29", "2023-02-29", "2024-13-01", "2024-00-01", "2024-1-01", "x"] {
            assert_eq!(Date::read(wrong), None, "{wrong}");
        }
        let first = Date::read("1896-01-01");
        let all = (0..60_000).map(|day| first.map(|date| date.plus(day)));
        assert!(all.clone().all(|date| date.and_then(|d| Date::read(&d.to_string())) == date));
    }
}
