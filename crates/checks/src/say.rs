//! Amounts in words, in the units of the site file.

use crate::facts::Units;
use wetrun_units::{Flow, Length, Speed};

const M_PER_FT: f64 = 0.3048;
const M_PER_IN: f64 = 0.0254;
const M3_PER_GAL: f64 = 0.003785411784;

/// A level: decimal feet, or metres.
pub(crate) fn level(units: Units, level: Length) -> String {
    match units {
        Units::Us => format!("{:.2} ft", level.to_m() / M_PER_FT),
        Units::Si => format!("{:.3} m", level.to_m()),
    }
}

/// A difference of levels or a size: inches, or millimetres.
pub(crate) fn small(units: Units, length: Length) -> String {
    match units {
        Units::Us => format!("{:.1} in", length.to_m() / M_PER_IN),
        Units::Si => format!("{:.0} mm", length.to_m() * 1000.0),
    }
}

/// A flow: US gallons a minute, or litres a second.
pub(crate) fn flow(units: Units, flow: Flow) -> String {
    match units {
        Units::Us => format!("{:.1} gpm", flow.to_m3_per_s() / M3_PER_GAL * 60.0),
        Units::Si => format!("{:.2} L/s", flow.to_m3_per_s() * 1000.0),
    }
}

/// A speed: feet or metres a second.
pub(crate) fn speed(units: Units, speed: Speed) -> String {
    match units {
        Units::Us => format!("{:.2} ft/s", speed.to_m_per_s() / M_PER_FT),
        Units::Si => format!("{:.2} m/s", speed.to_m_per_s()),
    }
}
