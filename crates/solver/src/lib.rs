//! The laws of flow, and the steady state driven by head difference.

pub mod laws;
mod scenario;
mod state;

pub use scenario::{FrictionLaw, Scenario, TankState};
pub use state::{DownspoutState, LineState, NotSolved, PointState, Residuals, Steady, TankLevels};
