//! Rod readings on the command line and in print.

use crate::outcome::Refusal;
use wetrun_site::Site;
use wetrun_units::{
    Length, Shown, UnitSystem, decimal, feet_inches, nearest, whole_steps_down, whole_steps_up,
};

/// No rod is longer.
const LONGEST_M: f64 = 20.0;

/// How a rod is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rod {
    /// Decimal feet, to 0.01.
    Ft,
    /// Feet and inches, to 1/8.
    Ftin,
    /// Whole millimetres.
    Mm,
}

impl Rod {
    /// The rod that a site's own system goes with.
    pub fn of(units: UnitSystem) -> Self {
        match units {
            UnitSystem::Us => Self::Ft,
            UnitSystem::Si => Self::Mm,
        }
    }

    /// A reading as the rod shows it.
    pub(crate) fn show(self, reading: Length) -> Shown {
        match self {
            Self::Ft => Shown { number: decimal(reading.to_m() / 0.3048, 2), unit: "ft" },
            Self::Ftin => Shown { number: feet_inches(reading), unit: "" },
            Self::Mm => Shown { number: decimal(reading.to_m() * 1000.0, 0), unit: "mm" },
        }
    }

    /// The same rounded up or down, so that a limit as printed still holds.
    pub(crate) fn show_limit(self, reading: Length, upwards: bool) -> Shown {
        let step_m = match self {
            Self::Ft => 0.01 * 0.3048,
            Self::Ftin => 0.0254 / 8.0,
            Self::Mm => 0.001,
        };
        let steps = reading.to_m() / step_m;
        let steps = if upwards { whole_steps_up(steps) } else { whole_steps_down(steps) };
        self.show(Length::m(steps * step_m))
    }
}

/// `BM1=4.32 ft`: a benchmark of the site and a reading.
pub(crate) fn sight(option: &str, text: &str, site: &Site) -> Result<(String, Length), Refusal> {
    let wrong =
        |why: String| Refusal::because(format_args!("{option} `{}`: {why}", text.escape_debug()));
    let Some((on, reading)) = text.split_once('=') else {
        return Err(wrong("write a benchmark and a reading, such as `BM1=4.32 ft`".to_owned()));
    };
    let on = on.trim();
    if !site.benchmarks.iter().any(|b| b.tag == on) {
        let tags = || site.benchmarks.iter().map(|b| b.tag.as_str());
        let near = nearest(on, tags()).map_or(String::new(), |n| format!("; the nearest is `{n}`"));
        let none =
            if tags().next().is_none() { "; the site file has no `benchmarks:`" } else { "" };
        return Err(wrong(format!("there is no such benchmark{near}{none}")));
    }
    let reading = site.units.read_level(reading).map_err(|error| wrong(error.to_string()))?;
    if reading.to_m().abs() > LONGEST_M {
        return Err(wrong("a rod reading is within 20 m (65 ft)".to_owned()));
    }
    Ok((on.to_owned(), reading))
}
