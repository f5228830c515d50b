//! The result of `wetrun rain` as JSON.

use super::{document, number, object};
use crate::design_rain::DesignRain;
use crate::outcome::Refusal;
use serde_json::Value;
use wetrun_rain::frequency::Series;

/// The whole result.
pub fn rain(rain: &DesignRain) -> Result<String, Refusal> {
    result(rain).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(rain: &DesignRain) -> Result<Value, Refusal> {
    let table = &rain.table;
    let said = |text: &Option<String>| {
        text.as_deref()
            .map_or(Value::Null, |text| Value::from(wetrun_site::clean_text(text).into_owned()))
    };
    let (latitude, longitude) = table.coordinates.clone().unzip();
    let series = match table.series {
        Some(Series::PartialDuration) => Value::from("partial-duration"),
        Some(Series::AnnualMaximum) => Value::from("annual-maximum"),
        None => Value::Null,
    };
    let storm = match rain.storm {
        None => Value::Null,
        Some((duration, intensity)) => object([
            ("duration_s", number(duration.to_s())?),
            ("intensity_m_per_s", number(intensity.to_m_per_s())?),
        ]),
    };
    let rows = rain.picked.rows.iter().map(|row| {
        Ok(object([
            ("duration_s", number(row.duration.to_s())?),
            ("depth_m", number(row.depth.to_m())?),
            ("intensity_m_per_s", number(row.intensity.to_m_per_s())?),
        ]))
    });
    let rows: Vec<Value> = rows.collect::<Result<_, Refusal>>()?;
    Ok(object([
        ("wetrun", Value::from(1)),
        ("years", number(rain.years)?),
        ("interpolated", Value::from(rain.interpolated())),
        ("series", series),
        ("edition", said(&table.edition)),
        ("station", said(&table.station)),
        ("place", said(&table.place)),
        ("latitude", said(&latitude)),
        ("longitude", said(&longitude)),
        ("storm", storm),
        ("rows", Value::from(rows)),
        ("notes", Value::from(rain.notes())),
    ]))
}
