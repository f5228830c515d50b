//! Sizes: the cheapest pipes that carry the storm, with the proof that nothing cheaper does.
//!
//! Where every downspout has one way to one tank the flows do not hang on the bores: the losses
//! add up along the way, and the optimum is found exactly, whatever the size of the network, by
//! carrying from the leaves to the tank the cheapest cost for every head that could be allowed
//! (`tree`). What lies on loops or between tanks is searched by branch and bound (`branch`):
//! each set of sizes solved for its flows, with those exact costs hanging on it (`ring`). The
//! chosen design is always solved as a whole in the end.

mod alternatives;
mod bounds;
mod branch;
mod cost;
mod design;
mod frame;
mod front;
mod joined;
mod ladder;
mod law;
mod layout;
mod local;
mod mend;
mod pipes;
mod relax;
mod ring;
mod run;
mod search;
mod strike;
mod tree;

pub use alternatives::{OneStep, OneStepDown, TrunkStep, one_step_down, trunk, trunk_steps};
pub use branch::Cut;
pub use cost::{PVC_DENSITY, wall_mass_per_m};
pub use design::{Design, DesignError, Fault};
pub use ladder::{Cheaper, next_cheaper};
pub use mend::{Mend, Shortfall, mended};
pub use search::{Chosen, NoneWorks, Outcome, Progress, choose, usual_tries};

use wetrun_network::{DownspoutId, LineId, Network, Pipe};
use wetrun_solver::Scenario;
use wetrun_units::{Length, Speed};

/// What is to be sized: a network in which some pipes are open.
#[derive(Clone, Debug)]
pub struct Problem {
    /// The network; the pipes that stand in it for open ones are of no account.
    pub network: Network,
    /// The design storm.
    pub scenario: Scenario,
    /// What counts as enough.
    pub targets: Targets,
    /// The open pipes.
    pub open: Vec<OpenPipe>,
}

/// What counts as enough.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Targets {
    /// How far the standing level must stay below every opening.
    pub freeboard: Length,
    /// The most speed in a line that carries water, where there is a limit.
    pub most_speed: Option<Speed>,
    /// The least speed in a line that carries water, where there is a limit.
    pub least_speed: Option<Speed>,
}

/// Whose pipe it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Owner {
    /// A downspout's own pipe.
    Downspout(DownspoutId),
    /// A line's.
    Line(LineId),
}

/// A pipe whose size is open; no pipe is open twice, and there is a candidate at least.
#[derive(Clone, Debug, PartialEq)]
pub struct OpenPipe {
    /// Whose it is.
    pub owner: Owner,
    /// The pipes to choose from, in any order.
    pub candidates: Vec<Candidate>,
}

/// One pipe to choose.
#[derive(Clone, Debug, PartialEq)]
pub struct Candidate {
    /// The pipe.
    pub pipe: Pipe,
    /// What a metre of it costs, finite and not negative, in whatever unit all candidates share.
    pub cost_per_m: f64,
}
