//! The store on a roof: `lag · dq/dt = inflow − q`, solved exactly for a constant inflow.

/// What runs off a roof, m³/s, behind one linear store.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RoofStore {
    lag_s: f64,
    runoff: f64,
}

impl RoofStore {
    /// A dry roof; a lag of 0 s (or less) stores nothing.
    #[must_use]
    pub fn dry(lag_s: f64) -> Self {
        Self { lag_s, runoff: 0.0 }
    }

    /// What runs off now, m³/s.
    #[must_use]
    pub fn runoff(&self) -> f64 {
        self.runoff
    }

    /// What lies on the roof, m³.
    #[must_use]
    pub fn stored(&self) -> f64 {
        self.lag_s.max(0.0) * self.runoff
    }

    /// Lets `seconds` of a constant inflow in m³/s pass; gives the volume that ran off, m³.
    pub fn pass(&mut self, inflow: f64, seconds: f64) -> f64 {
        let before = self.stored();
        if self.lag_s > 0.0 {
            self.runoff -= (inflow - self.runoff) * libm::expm1(-seconds / self.lag_s);
        } else {
            self.runoff = inflow;
        }
        inflow * seconds - (self.stored() - before)
    }
}
