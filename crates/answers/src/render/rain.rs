//! The rain at which water first leaves a place, told alike in tables and in sentences.

use super::show::Show;
use wetrun_solver::RAINS_UP_TO;
use wetrun_units::{Intensity, Shown, UnitSystem};
use wetrun_verdict::first_rain;

/// In a table: `9.39`, or `not to 52.00` where no rain looked at does it.
pub(crate) fn cell(system: UnitSystem, rain: Option<Intensity>, storm: Intensity) -> Shown {
    let unit = system.show_intensity(storm).unit;
    first_rain(system, rain, storm).unwrap_or(Shown { number: "-".to_owned(), unit })
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
            format!(
                "does not {do_it} up to {}",
                show.prose(|s| s.show_intensity(storm * RAINS_UP_TO))
            )
        }
        None => format!("does not {do_it} without rain"),
    }
}
