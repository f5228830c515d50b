//! The laws of one pipe with how they answer to a change, for a search that follows water in time.
//!
//! [`head_loss`](super::head_loss) and [`outfall`](super::outfall) hold the same laws with their
//! sources; here each gives its derivative too, and what does not change is worked out once.

use core::f64::consts::FRAC_PI_4;
use wetrun_network::Pipe;
use wetrun_units::{Area, Flow, Length, Temperature};

use super::critical;
use super::friction::Friction;
use super::water;
use crate::scenario::FrictionLaw;

/// Friction and critical flow of one pipe.
#[derive(Clone, Copy, Debug)]
pub struct PipeLaw {
    friction: Friction,
    bore_m: f64,
}

impl PipeLaw {
    /// The laws of a pipe by one friction law, in water of a temperature from 0 to 40 °C.
    pub fn new(law: FrictionLaw, temperature: Temperature, pipe: &Pipe) -> Self {
        let bore_m = pipe.inside.to_m();
        let viscosity_m2_per_s = water::viscosity_m2_per_s(temperature.to_celsius());
        let roughness_m = pipe.roughness.map_or(0.0, |roughness| roughness.to_m());
        let c = pipe.c.unwrap_or(f64::NAN);
        Self { friction: Friction::new(law, bore_m, roughness_m, c, viscosity_m2_per_s), bore_m }
    }

    /// Area of the bore.
    pub fn area(&self) -> Area {
        Area::m2(self.friction.area_m2())
    }

    /// Inside diameter.
    pub fn bore(&self) -> Length {
        Length::m(self.bore_m)
    }

    /// Head lost for each metre of full pipe at a flow of 0 or more, m/m, and its derivative by the
    /// flow, s/m³; the law of [`head_loss`](super::head_loss).
    pub fn gradient(&self, flow: Flow) -> (f64, f64) {
        self.friction.slope(flow.to_m3_per_s())
    }

    /// The least energy above the invert with which a flow of 0 or more leaves the pipe, and its
    /// derivative by the flow, s/m² (infinite at no flow); the law of [`outfall`](super::outfall).
    pub fn critical_energy(&self, flow: Flow) -> (Length, f64) {
        let critical = critical::energy(self.bore_m, flow.to_m3_per_s());
        (Length::m(critical.energy_m), critical.d_energy_d_flow)
    }

    /// The flow whose critical energy this is, and its derivative by that energy, m²/s; 0 and 0 at
    /// an energy of 0 or less.
    pub fn critical_flow(&self, energy: Length) -> (Flow, f64) {
        let (flow, slope) = critical::flow_at_energy(self.bore_m, energy.to_m());
        (Flow::m3_per_s(flow), slope)
    }
}

/// A tank's overflow pipe: what it lets go, and how that answers to the levels.
#[derive(Clone, Copy, Debug)]
pub struct OverflowLaw {
    bore_m: f64,
    k: f64,
}

impl OverflowLaw {
    /// The law of a pipe of this bore, above 0, and entrance loss `k`, 0 or more.
    pub fn new(bore: Length, k: f64) -> Self {
        Self { bore_m: bore.to_m(), k }
    }

    /// The flow with still water so high over its invert where it ends free, and the derivative by
    /// that height, m²/s; the law of [`outfall::overflow_flow`](super::outfall::overflow_flow).
    pub fn free(&self, head: Length) -> (Flow, f64) {
        let (flow, slope) = critical::overflow_flow(self.bore_m, self.k, head.to_m());
        (Flow::m3_per_s(flow), slope)
    }

    /// The flow with so much between the waters at its two ends, and the derivative by that, m²/s
    /// (infinite at 0); the law of
    /// [`outfall::drowned_overflow_head`](super::outfall::drowned_overflow_head).
    pub fn drowned(&self, across: Length) -> (Flow, f64) {
        let across_m = across.to_m().max(0.0);
        let flow = critical::drowned_overflow_flow(self.bore_m, self.k, across_m);
        (Flow::m3_per_s(flow), 0.5 * flow / across_m)
    }

    /// Height of still water over its invert for a flow of 0 or more where it ends free, and the
    /// derivative by the flow, s/m² (infinite at no flow).
    pub fn head(&self, flow: Flow) -> (Length, f64) {
        let (head_m, slope) = critical::overflow_head(self.bore_m, self.k, flow.to_m3_per_s());
        (Length::m(head_m), slope)
    }

    /// Area of the bore.
    pub fn area(&self) -> Area {
        Area::m2(FRAC_PI_4 * self.bore_m * self.bore_m)
    }
}
