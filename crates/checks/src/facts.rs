//! What the drawing says besides the network: every item optional, as plain data.

use wetrun_units::Length;

/// The units a person reads a message in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Units {
    /// Feet, inches, gallons.
    Us,
    /// Metres, millimetres, litres.
    #[default]
    Si,
}

/// What the site file shows besides the network. `None` means that it is not shown.
#[derive(Clone, Debug, PartialEq)]
pub struct Facts {
    /// The units of the site file.
    pub units: Units,
    /// How far the standing level must stay below the opening.
    pub freeboard: Length,
}

impl Default for Facts {
    fn default() -> Self {
        Self { units: Units::Si, freeboard: Length::m(0.1) }
    }
}
