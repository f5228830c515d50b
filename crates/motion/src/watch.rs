//! Whoever looks on while a run is followed: told how far it has come, and asked whether to go on.

use std::fmt::{self, Debug, Formatter};
use wetrun_units::Time;

/// An onlooker of a run; by default nobody, for whom it goes on to its end.
#[derive(Clone, Copy)]
pub struct Watch<'a> {
    /// Whether anybody still waits: asked at every step. Once it says no it must go on to say so.
    pub wanted: &'a (dyn Fn() -> bool + Sync),
    /// Told at every step the moment that the run has come to.
    pub told: &'a (dyn Fn(Time) + Sync),
}

impl Watch<'_> {
    /// Tells the moment, and asks whether to go on.
    pub(crate) fn goes_on(&self, at_s: f64) -> bool {
        (self.told)(Time::s(at_s));
        (self.wanted)()
    }
}

impl Default for Watch<'_> {
    fn default() -> Self {
        Self { wanted: &always, told: &silent }
    }
}

fn always() -> bool {
    true
}

fn silent(_: Time) {}

impl Debug for Watch<'_> {
    fn fmt(&self, f: &mut Formatter<'_>) -> fmt::Result {
        f.debug_struct("Watch").finish_non_exhaustive()
    }
}
