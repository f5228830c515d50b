//! The rain at which water first leaves a place, as every table shows it.

use wetrun_solver::RAINS_UP_TO;
use wetrun_units::{Intensity, Shown, UnitSystem};

/// `9.39`; `any rain` where still water leaves there; `not to 52.00` where no rain looked at does it;
/// `None` where nothing rains.
pub fn first_rain(units: UnitSystem, rain: Option<Intensity>, storm: Intensity) -> Option<Shown> {
    let unit = units.show_intensity(storm).unit;
    match rain {
        Some(rain) if rain.to_m_per_s() == 0.0 => {
            Some(Shown { number: "any rain".to_owned(), unit })
        }
        Some(rain) => Some(units.show_intensity(rain)),
        None if storm.to_m_per_s() > 0.0 => {
            let most = units.show_intensity(storm * RAINS_UP_TO);
            Some(Shown { number: format!("not to {}", most.number), unit })
        }
        None => None,
    }
}
