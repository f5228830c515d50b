//! The laws put together for what a drawing shows: an outlet in its gutter, a tank in the ground.

use wetrun_facts::{Facts, Gutter, GutterShape, HoldDown};
use wetrun_network::{DownspoutId, Network, Tank};
use wetrun_solver::Steady;
use wetrun_solver::laws::outlet::{self, Cover, Opening};
use wetrun_solver::laws::{Force, UnitWeight, buoyancy, gutter, water};
use wetrun_units::{Flow, Length, Slope, Temperature, Volume};
use wetrun_verdict::Failure;

/// Weight of soil under water, by its volume (common practice for loose fill).
const SOIL_UNDER_WATER: UnitWeight = UnitWeight::n_per_m3(9200.0);

/// What a gutter outlet takes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Outlet {
    /// The flow it takes as the water stands, without its screen.
    pub(crate) bare: Flow,
    /// The flow it takes through its screen with no water standing over it.
    pub(crate) free: Flow,
    /// Whether the standing level in the downspout takes some of its head.
    pub(crate) drowned: bool,
    /// Whether a screen takes some of it.
    pub(crate) screened: bool,
    open: f64,
    head: Length,
    bore: Length,
}

impl Outlet {
    /// The bore that would take `flow` with the same water above it.
    pub(crate) fn bore_for(&self, flow: Flow) -> Option<Length> {
        let takes = |bore: Length| {
            let bare = outlet::capacity(Opening::Round { diameter: bore }, Cover::Open, self.head);
            bare.to_m3_per_s() * self.open
        };
        let (mut low_m, mut high_m) = (self.bore.to_m(), self.bore.to_m() * 20.0);
        if self.head.to_m() <= 0.0 || takes(Length::m(high_m)) < flow.to_m3_per_s() {
            return None;
        }
        for _ in 0..60 {
            let middle_m = (low_m + high_m) / 2.0;
            if takes(Length::m(middle_m)) < flow.to_m3_per_s() {
                low_m = middle_m;
            } else {
                high_m = middle_m;
            }
        }
        Some(Length::m(high_m))
    }
}

/// What the gutter outlet of a downspout takes, or `None` where no depth of water over it is
/// shown.
pub(crate) fn outlet_capacity(
    network: &Network,
    steady: &Steady,
    facts: &Facts,
    index: usize,
) -> Option<Outlet> {
    let downspout = &network.downspouts()[index];
    let shown = facts.downspout(index);
    let gutter = shown.gutter.and_then(|g| facts.gutters.get(g));
    let lip_m = downspout.lip.to_m() - downspout.outlet.to_m();
    let head = match gutter {
        Some(gutter) => {
            let depth = if lip_m > 0.0 { Length::m(lip_m) } else { gutter.depth };
            outlet::head_at_outlet(depth, floor(gutter), gutter.width)
        }
        None if lip_m > 0.0 => {
            let square = Length::m(1.0);
            outlet::head_at_outlet(Length::m(lip_m), square, square)
        }
        None => return None,
    };
    // Water standing above the hole leaves only what is above it to drive the flow.
    let standing = steady.downspouts[index].standing_level;
    let over_hole_m = (standing.to_m() - downspout.outlet.to_m()).max(0.0);
    let bore = shown.outlet_size.unwrap_or(downspout.pipe.inside);
    let takes = |head| outlet::capacity(Opening::Round { diameter: bore }, Cover::Open, head);
    let left = Length::m(head.to_m() - over_hole_m);
    let open = shown.screen.and_then(|screen| screen.open).map_or(1.0, |open| open.to_ratio());
    Some(Outlet {
        bare: takes(left),
        free: takes(head) * open,
        drowned: over_hole_m > 0.0,
        screened: open < 1.0,
        open,
        head,
        bore,
    })
}

/// What the gutter of a downspout carries to it, with the gutter's place; `None` where no gutter is
/// shown.
pub(crate) fn gutter_of(facts: &Facts, index: usize) -> Option<(&Gutter, Flow)> {
    let place = facts.downspout(index).gutter?;
    let gutter = facts.gutters.get(place)?;
    Some((gutter, gutter_capacity(gutter)))
}

/// What gutters and their outlets cannot pass of their shares, where a gutter is shown. A standing
/// level that drowns an outlet lacks freeboard, and fails for that.
pub(crate) fn gutter_failures(network: &Network, steady: &Steady, facts: &Facts) -> Vec<Failure> {
    let mut found = Vec::new();
    for (index, state) in steady.downspouts.iter().enumerate() {
        let at = DownspoutId::new(index);
        let short = |capacity: Flow| {
            let short = state.demand - capacity;
            (short.to_m3_per_s() > 0.0).then_some(short)
        };
        let gutter = gutter_of(facts, index).and_then(|(_, capacity)| short(capacity));
        found.extend(gutter.map(|short| Failure::Gutter { at, short }));
        let outlet = gutter_of(facts, index)
            .and_then(|_| outlet_capacity(network, steady, facts, index))
            .and_then(|outlet| short(outlet.free));
        found.extend(outlet.map(|short| Failure::Outlet { at, short }));
    }
    found
}

/// What a gutter carries to one of its outlets.
fn gutter_capacity(given: &Gutter) -> Flow {
    let area = match given.shape {
        // A half ellipse: half a circle where the depth is half the width.
        GutterShape::HalfRound => {
            gutter::half_round_area(given.width) * (2.0 * given.depth.to_m() / given.width.to_m())
        }
        GutterShape::Rectangular => {
            let middle_m = (given.width.to_m() + floor(given).to_m()) / 2.0;
            wetrun_units::Area::m2(middle_m * given.depth.to_m())
        }
    };
    let nominal = match given.shape {
        GutterShape::HalfRound => gutter::half_round(area),
        GutterShape::Rectangular => gutter::rectangular(
            area,
            gutter::depth_factor(given.depth, given.width),
            gutter::shape_factor(floor(given), given.width),
        ),
    };
    let length = given.length.unwrap_or(Length::ZERO);
    let slope = given.slope.unwrap_or(Slope::ZERO);
    gutter::design(nominal, gutter::length_factor(length, given.depth, slope), false)
}

/// The width that an outlet finds: the flat floor, or the top of a round one.
pub(crate) fn sole(gutter: &Gutter) -> Length {
    match gutter.shape {
        GutterShape::HalfRound => gutter.width,
        GutterShape::Rectangular => floor(gutter),
    }
}

fn floor(gutter: &Gutter) -> Length {
    match gutter.shape {
        GutterShape::HalfRound => Length::ZERO,
        GutterShape::Rectangular => gutter.floor.unwrap_or(gutter.width),
    }
}

/// Forces on an empty buried tank.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Flotation {
    /// Hold-down over uplift; `None` where the ground water does not reach the tank.
    pub(crate) factor: Option<f64>,
    /// Weight that holds it down.
    pub(crate) hold_down: Force,
    /// Uplift of the ground water.
    pub(crate) uplift: Force,
    weight: Force,
    plan: wetrun_units::Area,
}

impl Flotation {
    /// The cover that brings it to a factor of safety.
    pub(crate) fn cover_for(&self, factor: f64) -> Option<Length> {
        (self.plan.to_m2() > 0.0).then(|| {
            buoyancy::cover_for(factor, self.uplift, self.weight, self.plan, SOIL_UNDER_WATER)
        })
    }
}

/// Whether an empty buried tank floats with ground water at `table`; `None` where its outside
/// volume, weight, plan, cover or floor is not shown.
pub(crate) fn flotation(
    tank: &Tank,
    hold: &HoldDown,
    table: Length,
    temperature: Temperature,
) -> Option<Flotation> {
    let (outside, plan, cover) = (hold.outside?, hold.plan?, hold.cover?);
    let weight = Force::n(hold.weight?.to_n());
    let floor_m = tank.floor?.to_m();
    // As deep as it is under water: from its floor to its top, which lies a cover below ground.
    let top_m = tank.ground.map(|ground| ground.to_m() - cover.to_m());
    let under_water = match top_m {
        Some(top_m) if top_m > floor_m => {
            ((table.to_m() - floor_m) / (top_m - floor_m)).clamp(0.0, 1.0)
        }
        _ if table.to_m() > floor_m => 1.0,
        _ => 0.0,
    };
    let displaced = Volume::m3(outside.to_m3() * under_water);
    let uplift = buoyancy::uplift(displaced, water::density(temperature));
    let soil = buoyancy::cover_weight(plan, cover, SOIL_UNDER_WATER);
    let hold_down = Force::n(weight.to_n() + soil.to_n());
    let factor = (uplift.to_n() > 0.0).then(|| buoyancy::factor_of_safety(hold_down, uplift));
    Some(Flotation { factor, hold_down, uplift, weight, plan })
}
