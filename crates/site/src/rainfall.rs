//! The rain table of the place, and the intensity that the storm takes from it.

use crate::context::Context;
use crate::diagnostic::Code;
use crate::fields::{Field, Fields};
use crate::keys;
use crate::values::short;
use wetrun_rain::{RainError, RainTable};
use wetrun_units::{Intensity, Kind, Length, Time, UnitSystem};

/// What the rain table of the place says.
#[derive(Clone, Debug, PartialEq)]
pub struct Rainfall {
    /// Where the depths come from, in words.
    pub source: Option<String>,
    /// Return period of the depths, in years.
    pub years: Option<f64>,
    /// Depths by duration.
    pub table: RainTable,
}

const DURATION: &str = "a duration, such as `5 min` or `1 h`";
const DEPTHS: &str = "depths by duration, the shortest first: { 5 min: 0.44 in, 10 min: 0.70 in }";

/// Reads the section `rainfall`.
pub(crate) fn rainfall(cx: &mut Context<'_>, root: &Fields<'_>) -> Option<Rainfall> {
    let section = root.get("rainfall")?;
    let fields = Fields::open(cx, &section, &keys::RAINFALL)?;
    let source = fields.get("source").and_then(|field| cx.free_text(&field));
    let years = fields.get("years").and_then(|field| {
        let years = cx.number(&field, "a return period in years")?;
        if keys::YEARS.holds(years) {
            return Some(years);
        }
        cx.fault(Code::Range, &field, "a return period of no years", keys::YEARS.words);
        None
    });
    let depths = fields.require(cx, "depths", DEPTHS)?;
    let entries = depths.entries(cx, DEPTHS)?;
    let rows: Vec<Option<(Time, Length)>> = entries.iter().map(|entry| row(cx, entry)).collect();
    let rows: Option<Vec<_>> = rows.into_iter().collect();
    match RainTable::new(&rows?) {
        Ok(table) => Some(Rainfall { source, years, table }),
        Err(error) => {
            let (at, message) = match error {
                RainError::OutOfOrder(at) => {
                    (at, "this duration is not longer than the one before")
                }
                RainError::DepthFalls(at) => {
                    (at, "less falls in this duration than in the shorter one before")
                }
                RainError::NotANumber(at) => (at, "a rain table has durations and depths above 0"),
                _ => (0, "a rain table needs a depth at least"),
            };
            cx.fault(Code::Range, entries.get(at).unwrap_or(&depths), message, DEPTHS);
            None
        }
    }
}

fn row(cx: &mut Context<'_>, entry: &Field<'_>) -> Option<(Time, Length)> {
    let written = entry.path.name();
    let duration = match cx.units.read_time(written) {
        Ok(duration) => Some(duration),
        Err(error) => {
            let at_key = Field { node: crate::head::KEY_ONLY, ..*entry };
            let message = format!("`{}` is no duration: {error}", short(written));
            cx.fault(Code::Value, &at_key, message, DURATION);
            None
        }
    };
    let depth = cx.rain_depth(entry);
    Some((duration?, depth?))
}

/// The storm's intensity: its own, or the mean of a duration of the rain table.
pub(crate) fn intensity(
    cx: &mut Context<'_>,
    storm: &Fields<'_>,
    rainfall: Option<&Rainfall>,
) -> Option<(Intensity, Option<String>)> {
    const OWN: &str = "the peak intensity, such as `5.2 in/h` or `130 mm/h`";
    let (own, from, duration) = (storm.get("intensity"), storm.get("from"), storm.get("duration"));
    let Some(from) = from else {
        if let Some(duration) = duration {
            let message = "a duration is that of a rain table";
            cx.fault(Code::Reference, &duration, message, "`from: rainfall` beside it");
        }
        let field = storm.require(cx, "intensity", OWN)?;
        return Some((cx.intensity(&field)?, None));
    };
    cx.choice(&from, &[("rainfall", ())])?;
    if let Some(own) = own {
        let message = "the storm has an intensity of its own and one from the table";
        cx.fault(Code::Value, &own, message, "either `intensity`, or `from` and `duration`");
        return None;
    }
    let field = storm.require(cx, "duration", DURATION)?;
    let duration = cx.value(&field, Kind::Time, UnitSystem::read_time)?;
    let Some(rainfall) = rainfall else {
        // A table with a fault has been told of already.
        if !cx.has_errors() {
            let message = "there is no rain table to take it from";
            cx.fault(Code::Reference, &from, message, "a section `rainfall` with `depths`");
        }
        return None;
    };
    let Ok(intensity) = rainfall.table.intensity(duration) else {
        let message = format!(
            "the rain table goes from {} to {}",
            in_words(rainfall.table.shortest()),
            in_words(rainfall.table.longest())
        );
        cx.fault(Code::Range, &field, message, "a duration within it");
        return None;
    };
    let years = rainfall.years.map_or(String::new(), |years| format!(", {years} years"));
    let source = rainfall.source.as_ref().map_or(String::new(), |source| format!(": {source}"));
    Some((intensity, Some(format!("{}{years}{source}", in_words(duration)))))
}

pub(crate) fn in_words(duration: Time) -> String {
    let seconds = duration.to_s();
    if seconds >= 60.0 { format!("{} min", seconds / 60.0) } else { format!("{seconds} s") }
}
