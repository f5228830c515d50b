//! The rains of one return period out of a table.

use super::{Depth, FrequencyTable, Printed, plainly};
use wetrun_units::{Fraction, Intensity, Length, Time};

/// A duration whose printed digits are rounded by more than this is not used.
const COARSEST: f64 = 0.05 + 1e-9;
/// Two return periods this near, as a part, are one.
const SAME_YEARS: f64 = 1e-9;

/// The rains of one return period.
#[derive(Clone, Debug, PartialEq)]
pub struct Picked {
    /// Rising in duration, never falling in depth.
    pub rows: Vec<Row>,
    /// Where they differ from what is printed.
    pub notes: Vec<Note>,
}

/// The rain of a duration.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Row {
    /// The duration.
    pub duration: Time,
    /// What falls in it.
    pub depth: Length,
    /// The mean over it.
    pub intensity: Intensity,
}

/// Where the rains differ from what is printed, or are known less well.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Note {
    /// The duration is left out: its intensity is rounded too coarsely.
    LeftOut {
        /// The duration.
        duration: Time,
        /// How far the rounding may be off; nothing where 0 is printed.
        rounding: Option<Fraction>,
    },
    /// The depth is that of the shorter duration before it: what is printed is less, within the
    /// rounding of its digits.
    Raised {
        /// The duration.
        duration: Time,
        /// What is printed.
        printed: Length,
        /// What is taken.
        taken: Length,
    },
    /// The depth is used, but its digits are rounded coarsely.
    Coarse {
        /// The duration.
        duration: Time,
        /// How far the rounding may be off.
        rounding: Fraction,
    },
}

/// Why a table has no rains of a return period.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum NoRain {
    /// The return period lies outside the table.
    #[error(
        "{} years lie outside the table, which goes from {} to {} years",
        plainly(*asked, 7), plainly(*from, 7), plainly(*to, 7)
    )]
    OutsideYears {
        /// What was asked for, years.
        asked: f64,
        /// The shortest return period, years.
        from: f64,
        /// The longest, years.
        to: f64,
    },
    /// Every duration is rounded too coarsely.
    #[error("every duration of the table is rounded by more than 5 %: take the table of depths")]
    NothingLeft,
}

/// Where a return period stands among the columns.
struct Between {
    left: usize,
    right: usize,
    /// The way from left to right in the logarithm of the years.
    share: f64,
}

impl FrequencyTable {
    /// The rains of a return period in years, interpolated between columns in the logarithms of
    /// depth and years.
    ///
    /// # Errors
    /// Years outside the table's, or a table without a duration that could be used.
    pub fn of(&self, years: f64) -> Result<Picked, NoRain> {
        let between = self.between(years)?;
        let finest = self.finest();
        let mut picked = Picked { rows: Vec::new(), notes: Vec::new() };
        for row in &self.rows {
            let duration = row.duration;
            let rounding = rounding(row, &between, finest * duration.to_s());
            if self.intensities && rounding.is_none_or(|rounding| rounding > COARSEST) {
                let rounding = rounding.map(Fraction::ratio);
                picked.notes.push(Note::LeftOut { duration, rounding });
                continue;
            }
            let mut depth = interpolated(row, &between);
            if let Some(before) = picked.rows.last().filter(|before| before.depth > depth) {
                let (printed, taken) = (depth, before.depth);
                picked.notes.push(Note::Raised { duration, printed, taken });
                depth = taken;
            }
            if let Some(rounding) = rounding.filter(|rounding| *rounding > COARSEST) {
                let rounding = Fraction::ratio(rounding);
                picked.notes.push(Note::Coarse { duration, rounding });
            }
            let intensity = Intensity::m_per_s(depth.to_m() / duration.to_s());
            picked.rows.push(Row { duration, depth, intensity });
        }
        if picked.rows.is_empty() { Err(NoRain::NothingLeft) } else { Ok(picked) }
    }

    fn between(&self, years: f64) -> Result<Between, NoRain> {
        let same = |column: &f64| (column - years).abs() <= SAME_YEARS * column;
        if let Some(at) = self.years.iter().position(same) {
            return Ok(Between { left: at, right: at, share: 0.0 });
        }
        let right = self.years.iter().position(|column| *column > years);
        match right {
            Some(right) if right > 0 => {
                let (from, to) = (self.years[right - 1], self.years[right]);
                let share = libm::log(years / from) / libm::log(to / from);
                Ok(Between { left: right - 1, right, share })
            }
            _ => Err(NoRain::OutsideYears {
                asked: years,
                from: self.years.first().copied().unwrap_or_default(),
                to: self.years.last().copied().unwrap_or_default(),
            }),
        }
    }

    /// Half a step of the finest intensity that is printed, m/s. A spreadsheet drops the zeros at
    /// the end of `0.090`: all intensities of a table are taken as printed to the same decimal.
    fn finest(&self) -> f64 {
        if !self.intensities {
            return f64::INFINITY;
        }
        let steps = self.rows.iter().flat_map(|row| {
            row.cells.iter().map(|cell| cell.rounding.to_m() / row.duration.to_s())
        });
        steps.fold(f64::INFINITY, f64::min)
    }
}

/// How far the rounding of the printed digits may be off, as a part; `None` where 0 is printed.
fn rounding(row: &Printed, between: &Between, finest_m: f64) -> Option<f64> {
    let part = |cell: &Depth| {
        let depth_m = cell.depth.to_m();
        (depth_m > 0.0).then(|| cell.rounding.to_m().min(finest_m) / depth_m)
    };
    let (left, right) = (row.cells.get(between.left)?, row.cells.get(between.right)?);
    Some(part(left)?.max(part(right)?))
}

fn interpolated(row: &Printed, between: &Between) -> Length {
    let depth = |at: usize| row.cells.get(at).map_or(Length::ZERO, |cell| cell.depth);
    let (left, right) = (depth(between.left), depth(between.right));
    if between.left == between.right {
        return left;
    }
    left * libm::pow(right.to_m() / left.to_m(), between.share)
}
