//! The laws of flow, and the steady state driven by head difference.
//!
//! [`solve`] finds the flows and heads at which every line, downspout, tank and crest obeys its
//! law and no water is lost; [`spill_rains`] finds the rain at which water first leaves each downspout, each
//! opening of a point and each tank's rim.
//! [`Prepared`] does both with one preparation.
//!
//! ```
//! use wetrun_network::Network;
//! use wetrun_solver::{FrictionLaw, Prepared, Scenario, TankState, solve, spill_rains};
//! use wetrun_units::{Intensity, Temperature};
//! # use wetrun_network::{
//! #     Downspout, DownspoutId, End, Line, Parts, Station, Tank, TankId,
//! # };
//! # use wetrun_units::{Area, Length};
//!
//! // Parts of one downspout on one line to a tank, as the documentation of `wetrun_network` has them.
//! # let pipe = wetrun_catalogue::pipe("pvc-sch40", "4 in")?;
//! # let (foot, inlet) = (Length::m(0.5), Length::m(2.6));
//! # let at = |at: f64, level| Station { at: Length::m(at), level, ground: None };
//! # let parts = Parts {
//! #     downspouts: vec![Downspout {
//! #         tag: "D1".to_owned(),
//! #         outlet: Length::m(3.0),
//! #         lip: Length::m(3.05),
//! #         foot,
//! #         pipe: pipe.clone(),
//! #         catchment: Area::m2(60.0),
//! #         ..Downspout::default()
//! #     }],
//! #     lines: vec![Line {
//! #         tag: "L1".to_owned(),
//! #         from: End::Downspout(DownspoutId::new(0)),
//! #         to: End::Tank(TankId::new(0)),
//! #         pipe,
//! #         length: Length::m(20.0),
//! #         fittings: Vec::new(),
//! #         k: 0.0,
//! #         profile: vec![at(0.0, foot), at(20.0, inlet)],
//! #     }],
//! #     tanks: vec![Tank { tag: "T1".to_owned(), inlet, ..Tank::default() }],
//! #     ..Parts::default()
//! # };
//! let network = Network::build(parts).map_err(|faults| faults[0].clone())?;
//! let storm = Scenario {
//!     law: FrictionLaw::DarcyWeisbach,
//!     temperature: Temperature::celsius(10.0),
//!     intensity: Intensity::m_per_s(90e-3 / 3600.0),
//!     tanks: TankState::Full,
//! };
//!
//! // 60 m2 under 90 mm/h bring 1.5 L/s, and all of it reaches the tank.
//! let steady = solve(&network, &storm)?;
//! assert!((steady.lines[0].flow.to_m3_per_s() - 1.5e-3).abs() < 1e-9);
//! assert!(steady.downspouts[0].headroom.to_m() > 0.3);
//!
//! // The water leaves the gutter only in a far harder rain.
//! let rain = spill_rains(&network, &storm)?.downspouts[0].ok_or("it never spills")?;
//! assert!(rain > storm.intensity);
//!
//! // With twice the roof twice as much comes, and the gutter has less to spare.
//! let mut prepared = Prepared::new(&network, &storm)?;
//! let mut downspout = network.downspouts()[0].clone();
//! downspout.catchment = downspout.catchment + downspout.catchment;
//! prepared.set_downspout(DownspoutId::new(0), downspout)?;
//! let more = prepared.steady()?;
//! assert!((more.lines[0].flow.to_m3_per_s() - 3e-3).abs() < 1e-9);
//! assert!(more.downspouts[0].headroom < steady.downspouts[0].headroom);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod assembly;
mod balance;
mod coupling;
mod elimination;
mod flood;
mod gap;
mod heads;
mod incidence;
mod junction;
pub mod laws;
mod line;
mod linear;
mod lip;
mod model;
mod passage;
mod polish;
mod prepared;
mod report;
mod rest;
mod routes;
mod scenario;
mod settings;
mod spill;
mod state;
mod steady;
mod still;
mod tangent;
mod tank;
mod tree;

pub use passage::{GradePoint, Passage, friction, grade_line};
pub use prepared::Prepared;
pub use rest::{Rest, StandingWater};
pub use routes::{Route, Routes};
pub use scenario::{FrictionLaw, Scenario, TankState};
pub use settings::Settings;
pub use spill::RAINS_UP_TO;
pub use state::{
    DownspoutState, LineState, NotSolved, NotTaken, OpeningState, PipeLacks, PointState, Residuals,
    SpillRains, Steady, TankLevels,
};

use wetrun_network::Network;

/// Finds the steady state of a network.
///
/// # Errors
/// [`NotSolved`] where a pipe lacks what the friction law needs, or where the search ends without a
/// state that satisfies continuity to 1e-9 of the total demand and every head equation to 1e-7 m; it
/// names the worst equation.
pub fn solve(network: &Network, scenario: &Scenario) -> Result<Steady, NotSolved> {
    Prepared::new(network, scenario)?.steady()
}

/// The intensities at which water first leaves each downspout, each opening and each tank's rim when
/// the rain on all roofs grows together, to 0.1 %.
///
/// # Errors
/// [`NotSolved`] where a pipe lacks what the friction law needs, or a steady state on the way was not
/// found.
pub fn spill_rains(network: &Network, scenario: &Scenario) -> Result<SpillRains, NotSolved> {
    Prepared::new(network, scenario)?.spill_rains()
}
