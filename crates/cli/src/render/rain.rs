//! The rain at which water first leaves a place, told alike in tables and in sentences.

use super::show::Show;
use wetrun_units::{Intensity, Shown, UnitSystem};

/// So many times the storm are looked at.
const UP_TO: f64 = 10.0;

/// In a table: `9.39`, or `not to 52.00` where no rain looked at does it.
pub(crate) fn cell(system: UnitSystem, rain: Option<Intensity>, storm: Intensity) -> Shown {
    match rain {
        Some(rain) if rain.to_m_per_s() == 0.0 => {
            Shown { number: "any rain".to_owned(), unit: system.show_intensity(rain).unit }
        }
        Some(rain) => system.show_intensity(rain),
        None if storm.to_m_per_s() > 0.0 => {
            let shown = system.show_intensity(storm * UP_TO);
            Shown { number: format!("not to {}", shown.number), unit: shown.unit }
        }
        None => Shown { number: "-".to_owned(), unit: system.show_intensity(storm).unit },
    }
}

/// In a sentence: `spills at 9.39 in/h`, or `does not spill up to 52.00 in/h`.
pub(crate) fn words(
    show: Show,
    [does, do_it]: [&str; 2],
    rain: Option<Intensity>,
    storm: Intensity,
) -> String {
    match rain {
        Some(rain) if rain.to_m_per_s() == 0.0 => format!("{does} in any rain"),
        Some(rain) => format!("{does} at {}", show.prose(|s| s.show_intensity(rain))),
        None if storm.to_m_per_s() > 0.0 => {
            format!("does not {do_it} up to {}", show.prose(|s| s.show_intensity(storm * UP_TO)))
        }
        None => format!("does not {do_it} without rain"),
    }
}
