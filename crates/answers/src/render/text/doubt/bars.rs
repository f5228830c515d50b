//! Headrooms as bars of characters, against the opening and the freeboard.

use crate::doubt::Doubted;
use wetrun_units::{Length, UnitSystem};

/// Characters of a bar.
const WIDTH: usize = 22;

/// One scale for the bars of all downspouts.
pub(super) struct Bars {
    low_m: f64,
    high_m: f64,
    asked: Length,
}

impl Bars {
    pub(super) fn new(report: &Doubted) -> Self {
        let asked = report.settled.verdict.asked;
        let levels = report.study.downspouts.iter().filter_map(|at| at.headroom).flatten();
        let levels = levels.chain([Length::ZERO, asked]).map(Length::to_m);
        let (mut low_m, mut high_m) = (f64::INFINITY, f64::NEG_INFINITY);
        for level_m in levels {
            (low_m, high_m) = (low_m.min(level_m), high_m.max(level_m));
        }
        Self { low_m, high_m: high_m.max(low_m + 1e-6), asked }
    }

    /// The name of the column, as wide as a bar.
    pub(super) fn head(&self) -> String {
        format!("{:<WIDTH$}", "5 to 95 %")
    }

    /// What the signs say.
    pub(super) fn legend(&self, units: UnitSystem) -> String {
        format!(
            "Headroom in 5, 50 and 95 of 100 storms: from - to -, half of them below o; | is the \
             opening, : the freeboard of {} asked for.",
            units.show_height(self.asked)
        )
    }

    pub(super) fn bar(&self, headroom: Option<[Length; 3]>) -> String {
        let mut signs = [' '; WIDTH];
        let place = |level: Length| {
            let share = (level.to_m() - self.low_m) / (self.high_m - self.low_m);
            ((share * (WIDTH - 1) as f64).round() as usize).min(WIDTH - 1)
        };
        if let Some([low, _, high]) = headroom {
            signs[place(low)..=place(high)].fill('-');
        }
        signs[place(Length::ZERO)] = '|';
        signs[place(self.asked)] = ':';
        if let Some([_, middle, _]) = headroom {
            signs[place(middle)] = 'o';
        }
        signs.iter().collect()
    }
}
