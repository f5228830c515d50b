//! Depths of rain by duration, as a table of the place gives them.

use crate::{Course, RainError};
use wetrun_units::{Intensity, Length, Time};

const MOST_STEPS: f64 = 100_000.0;

/// Depths by duration for one return period: durations rise, depths are above 0 and do not fall.
#[derive(Clone, Debug, PartialEq)]
pub struct RainTable {
    /// Duration in s and depth in m.
    first: (f64, f64),
    rest: Vec<(f64, f64)>,
}

impl RainTable {
    /// A table from its durations and depths.
    ///
    /// # Errors
    /// No entries, durations out of order, depths that fall, numbers not above 0.
    pub fn new(depths: &[(Time, Length)]) -> Result<Self, RainError> {
        let rows: Vec<_> = depths.iter().map(|(t, d)| (t.to_s(), d.to_m())).collect();
        let usable = |v: f64| v.is_finite() && v > 0.0;
        if let Some(at) = rows.iter().position(|&(t, d)| !usable(t) || !usable(d)) {
            return Err(RainError::NotANumber(at));
        }
        for (at, (short, long)) in rows.iter().zip(rows.iter().skip(1)).enumerate() {
            if long.0 <= short.0 {
                return Err(RainError::OutOfOrder(at + 1));
            }
            if long.1 < short.1 {
                return Err(RainError::DepthFalls(at + 1));
            }
        }
        let (first, rest) = rows.split_first().ok_or(RainError::Empty)?;
        Ok(Self { first: *first, rest: rest.to_vec() })
    }

    /// The shortest duration of the table.
    #[must_use]
    pub fn shortest(&self) -> Time {
        Time::s(self.first.0)
    }

    /// The longest duration of the table.
    #[must_use]
    pub fn longest(&self) -> Time {
        Time::s(self.rest.last().unwrap_or(&self.first).0)
    }

    /// The depth of a duration, interpolated in log depth over log duration.
    ///
    /// # Errors
    /// A duration outside the table.
    pub fn depth(&self, duration: Time) -> Result<Length, RainError> {
        let asked_s = duration.to_s();
        let mut short = self.first;
        if asked_s == short.0 {
            return Ok(Length::m(short.1));
        }
        for &long in &self.rest {
            if asked_s == long.0 {
                return Ok(Length::m(long.1));
            }
            if asked_s > short.0 && asked_s < long.0 {
                let share = libm::log(asked_s / short.0) / libm::log(long.0 / short.0);
                return Ok(Length::m(short.1 * libm::pow(long.1 / short.1, share)));
            }
            short = long;
        }
        Err(RainError::OutsideTable { asked_s, from_s: self.first.0, to_s: self.longest().to_s() })
    }

    /// The mean intensity of a duration.
    ///
    /// # Errors
    /// A duration outside the table.
    pub fn intensity(&self, duration: Time) -> Result<Intensity, RainError> {
        Ok(Intensity::m_per_s(self.depth(duration)?.to_m() / duration.to_s()))
    }

    /// Alternating blocks: the heaviest is block ⌈n/2⌉ of n, the others right and left of it by
    /// depth, so that every duration of whole steps has its depth of the table.
    ///
    /// # Errors
    /// A step or duration outside the table, or a duration that is not a whole number of steps.
    pub fn nested(&self, duration: Time, step: Time) -> Result<Course, RainError> {
        self.depth(step)?;
        self.depth(duration)?;
        let (whole_s, step_s) = (duration.to_s(), step.to_s());
        let count = libm::round(whole_s / step_s);
        if libm::fabs(count * step_s - whole_s) > 1e-9 * whole_s || count > MOST_STEPS {
            return Err(RainError::NotWholeSteps);
        }
        let (mut fallen, mut parts, mut number) = (0.0, Vec::new(), 1.0);
        while number <= count {
            // The last end is the duration itself: a rounded product may lie outside the table.
            let end = if number == count { duration } else { Time::s(number * step_s) };
            let depth = self.depth(end)?.to_m();
            parts.push(depth - fallen);
            fallen = depth;
            number += 1.0;
        }
        parts.sort_by(|a, b| b.total_cmp(a));
        // Ranks 1, 3, 5 … lie right of the heaviest, 2, 4, 6 … left of it.
        let left = parts.iter().skip(2).step_by(2).rev();
        let right = parts.iter().skip(1).step_by(2);
        let blocks = left.chain(parts.first()).chain(right);
        let (mut at, mut course) = (0.0, Vec::new());
        for depth in blocks {
            course.push((Time::s(at * step_s), Intensity::m_per_s(depth / step_s)));
            at += 1.0;
        }
        course.push((duration, Intensity::m_per_s(0.0)));
        Course::new(&course)
    }
}
