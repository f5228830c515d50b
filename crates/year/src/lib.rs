//! Days of measured rain through roofs, tanks and uses: volumes, and no hydraulics but the steady
//! routes.
//!
//! ```text
//! rain file ─ rain::read ─> Rain ─┐
//! site and steady state ─> Plan ──┴─ run ─> Year
//! ```

mod date;
mod plan;
pub mod rain;
mod routes;
mod run;
mod year;

pub use date::Date;
pub use plan::{Catchment, Plan, Roof, Shut, Tank, Transfer, Use};
pub use rain::{Rain, RainError, RainUnit};
pub use routes::ways;
pub use run::{Order, run};
pub use year::{Course, MonthYear, TankYear, Totals, UseYear, Year};
