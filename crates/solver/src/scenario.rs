//! What a steady state is asked for: the rain, the tanks, the water and the friction law.

use wetrun_units::{Intensity, Temperature};

/// The friction law a run uses.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum FrictionLaw {
    /// Darcy-Weisbach with Colebrook-White.
    #[default]
    DarcyWeisbach,
    /// Hazen-Williams.
    HazenWilliams,
}

/// How the tanks stand during the storm.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TankState {
    /// Every tank stands at its overflow.
    #[default]
    Full,
    /// Every tank's water is below every inlet.
    Empty,
}

/// The circumstances of one steady state.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scenario {
    /// Friction law.
    pub law: FrictionLaw,
    /// Water temperature, 0 to 40 degrees Celsius.
    pub temperature: Temperature,
    /// Rain on all roofs.
    pub intensity: Intensity,
    /// How the tanks stand.
    pub tanks: TankState,
}
