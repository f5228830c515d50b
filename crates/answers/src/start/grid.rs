//! Levels and lengths of a new site in whole steps, so that what is written adds up exactly.

use wetrun_units::{Length, UnitSystem};

/// Steps of a hundredth of a foot, or of a millimetre.
#[derive(Clone, Copy, Debug)]
pub(super) struct Grid {
    pub(super) units: UnitSystem,
}

impl Grid {
    fn step_m(self) -> f64 {
        match self.units {
            UnitSystem::Us => 0.3048 / 100.0,
            UnitSystem::Si => 0.001,
        }
    }

    /// The nearest whole number of steps.
    pub(super) fn steps(self, length: Length) -> i64 {
        (length.to_m() / self.step_m()).round() as i64
    }

    /// The same, not less.
    pub(super) fn steps_up(self, length: Length) -> i64 {
        wetrun_units::whole_steps_up(length.to_m() / self.step_m()) as i64
    }

    pub(super) fn length(self, steps: i64) -> Length {
        Length::m(steps as f64 * self.step_m())
    }

    /// As it is written into a file: `98.60 ft`, `30.050 m`.
    pub(super) fn written(self, steps: i64) -> String {
        let (parts, digits, unit) = match self.units {
            UnitSystem::Us => (100, 2, "ft"),
            UnitSystem::Si => (1000, 3, "m"),
        };
        let sign = if steps < 0 { "-" } else { "" };
        let steps = steps.abs();
        format!("{sign}{}.{:0digits$} {unit}", steps / parts, steps % parts)
    }

    /// A length that both systems have a round number for.
    pub(super) fn round(self, us_ft: f64, si_m: f64) -> i64 {
        self.steps(match self.units {
            UnitSystem::Us => Length::m(us_ft * 0.3048),
            UnitSystem::Si => Length::m(si_m),
        })
    }
}
