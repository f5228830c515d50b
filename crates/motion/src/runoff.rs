//! What has run off the roofs to each downspout by any moment, exactly.

use crate::scene::Roof;
use wetrun_rain::{Course, RoofStore};

/// The runoff of all roofs: roofs of one lag and wetting follow one curve.
#[derive(Clone, Debug)]
pub(crate) struct Runoff {
    curves: Vec<Curve>,
    /// For each downspout the catchment that hangs on each curve, m².
    catchment: Vec<Vec<f64>>,
    /// All moments at which some roof's rain changes, in order.
    breaks: Vec<f64>,
    rained: Vec<(f64, f64, f64)>,
    roofs: Vec<(f64, f64, usize)>,
}

/// Runoff of a roof of 1 m² on which all rain runs off.
#[derive(Clone, Debug)]
struct Curve {
    lag_s: f64,
    wetting_m: f64,
    knots: Vec<Knot>,
}

#[derive(Clone, Copy, Debug)]
struct Knot {
    at_s: f64,
    rain: f64,
    /// Runoff at that moment, m/s, and all that has run off till then, m.
    runoff: f64,
    gone_m: f64,
    fallen_m: f64,
}

impl Runoff {
    pub(crate) fn new(roofs: &[Roof], downspouts: usize, course: &Course) -> Self {
        let mut curves: Vec<Curve> = Vec::new();
        let mut catchment = vec![Vec::new(); downspouts];
        let mut of_roofs = Vec::new();
        for roof in roofs {
            let (lag_s, wetting_m) = (roof.lag.to_s(), roof.wetting.to_m());
            let place = curves.iter().position(|c| c.lag_s == lag_s && c.wetting_m == wetting_m);
            let place = place.unwrap_or_else(|| {
                curves.push(Curve::new(lag_s, wetting_m, roof, course));
                curves.len() - 1
            });
            let runs_m2 = roof.area.to_m2() * roof.runoff.to_ratio();
            for (to, share) in &roof.shares {
                let of: &mut Vec<f64> = &mut catchment[to.index()];
                of.resize(of.len().max(place + 1), 0.0);
                of[place] += runs_m2 * share.to_ratio();
            }
            of_roofs.push((roof.area.to_m2(), runs_m2, place));
        }
        let own = curves.iter().flat_map(|c| c.knots.iter().map(|k| k.at_s));
        let mut breaks: Vec<f64> = own.chain(course.blocks().iter().map(|b| b.at_s)).collect();
        breaks.sort_unstable_by(f64::total_cmp);
        breaks.dedup();
        let mut rained = Vec::new();
        let mut depth = 0.0;
        for (place, block) in course.blocks().iter().enumerate() {
            rained.push((block.at_s, block.rain_m_per_s, depth));
            if let Some(next) = course.blocks().get(place + 1) {
                depth += block.rain_m_per_s * (next.at_s - block.at_s);
            }
        }
        Self { curves, catchment, breaks, rained, roofs: of_roofs }
    }

    /// No rain at all.
    pub(crate) fn none(downspouts: usize) -> Self {
        Self {
            curves: Vec::new(),
            catchment: vec![Vec::new(); downspouts],
            breaks: Vec::new(),
            rained: Vec::new(),
            roofs: Vec::new(),
        }
    }

    /// No rain, but hoses that bring each downspout so much all the time, m³/s: as a rain of 1 m/s on
    /// as many square metres.
    pub(crate) fn hosed(hoses: &[f64]) -> Self {
        let always = Knot { at_s: 0.0, rain: 1.0, runoff: 1.0, gone_m: 0.0, fallen_m: 0.0 };
        let curve = Curve { lag_s: 0.0, wetting_m: 0.0, knots: vec![always] };
        let catchment = hoses.iter().map(|flow| vec![*flow]).collect();
        Self { curves: vec![curve], catchment, ..Self::none(hoses.len()) }
    }

    /// The first moment at which something begins to run off.
    pub(crate) fn first_runoff_s(&self) -> Option<f64> {
        let first = |curve: &Curve| curve.knots.iter().find(|k| k.rain > 0.0).map(|k| k.at_s);
        self.curves.iter().filter_map(first).min_by(f64::total_cmp)
    }

    /// Catchment of a downspout, m².
    pub(crate) fn catchment(&self, downspout: usize) -> f64 {
        self.catchment[downspout].iter().sum()
    }

    /// All that has run off by a moment for each m² of each curve.
    pub(crate) fn gone(&self, at_s: f64) -> Vec<f64> {
        self.curves.iter().map(|curve| curve.at(at_s).0).collect()
    }

    /// What runs off at a moment for each m² of each curve.
    pub(crate) fn rates(&self, at_s: f64) -> Vec<f64> {
        self.curves.iter().map(|curve| curve.at(at_s).1).collect()
    }

    /// The same as a moment is reached: where the rain changes at it, before it does.
    pub(crate) fn rates_before(&self, at_s: f64) -> Vec<f64> {
        self.curves.iter().map(|curve| curve.before(at_s)).collect()
    }

    /// The part of a downspout: m³ of what is gone, or m³/s of the rates.
    pub(crate) fn of(&self, downspout: usize, curves: &[f64]) -> f64 {
        self.catchment[downspout].iter().zip(curves).map(|(m2, value)| m2 * value).sum()
    }

    /// The next moment after `at_s` at which some rain changes.
    pub(crate) fn next_break(&self, at_s: f64) -> Option<f64> {
        self.breaks.iter().copied().find(|b| *b > at_s)
    }

    /// The moment from which no rain falls any more.
    pub(crate) fn ends_s(&self) -> f64 {
        self.breaks.last().copied().unwrap_or(0.0)
    }

    /// Rain, wetting, what does not run off, and what still lies on the roofs, m³.
    pub(crate) fn account(&self, at_s: f64) -> Account {
        let mut account = Account::default();
        let mut depth = 0.0;
        for &(from_s, rain, before) in &self.rained {
            if at_s >= from_s {
                depth = before + rain * (at_s - from_s);
            }
        }
        for &(area_m2, runs_m2, curve) in &self.roofs {
            let curve = &self.curves[curve];
            let (gone, rate) = curve.at(at_s);
            let after_wetting = curve.fallen(at_s);
            account.rain += area_m2 * depth;
            account.wetted += area_m2 * (depth - after_wetting);
            account.no_runoff += (area_m2 - runs_m2) * after_wetting;
            account.on_roofs += runs_m2 * (after_wetting - gone);
            account.flowing += runs_m2 * rate;
        }
        account
    }
}

/// Where the rain on the roofs is, m³.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Account {
    pub(crate) rain: f64,
    pub(crate) wetted: f64,
    pub(crate) no_runoff: f64,
    pub(crate) on_roofs: f64,
    /// What runs off now, m³/s.
    pub(crate) flowing: f64,
}

impl Curve {
    fn new(lag_s: f64, wetting_m: f64, roof: &Roof, course: &Course) -> Self {
        let course = course.after_wetting(roof.wetting);
        let (mut store, mut gone_m, mut fallen_m) = (RoofStore::dry(lag_s), 0.0, 0.0);
        let mut knots: Vec<Knot> = Vec::new();
        for block in course.blocks() {
            if let Some(before) = knots.last() {
                let seconds = block.at_s - before.at_s;
                gone_m += store.pass(before.rain, seconds);
                fallen_m += before.rain * seconds;
            }
            // Without a lag what falls runs off at once: the rate of this block, not of the last.
            let rain = block.rain_m_per_s;
            let runoff = if lag_s > 0.0 { store.runoff() } else { rain };
            knots.push(Knot { at_s: block.at_s, rain, runoff, gone_m, fallen_m });
        }
        Self { lag_s, wetting_m, knots }
    }

    fn knot(&self, at_s: f64) -> Option<&Knot> {
        let after = self.knots.partition_point(|knot| knot.at_s <= at_s);
        self.knots.get(after.checked_sub(1)?)
    }

    /// What has run off, m, and what runs off, m/s.
    fn at(&self, at_s: f64) -> (f64, f64) {
        let Some(knot) = self.knot(at_s) else { return (0.0, 0.0) };
        let passed = at_s - knot.at_s;
        if self.lag_s <= 0.0 {
            return (knot.gone_m + knot.rain * passed, knot.rain);
        }
        let change = -(knot.rain - knot.runoff) * libm::expm1(-passed / self.lag_s);
        let runoff = knot.runoff + change;
        (knot.gone_m + knot.rain * passed - self.lag_s * change, runoff)
    }

    /// What runs off as a moment is reached, m/s.
    fn before(&self, at_s: f64) -> f64 {
        if self.lag_s > 0.0 {
            return self.at(at_s).1;
        }
        let after = self.knots.partition_point(|knot| knot.at_s < at_s);
        after.checked_sub(1).and_then(|last| self.knots.get(last)).map_or(0.0, |knot| knot.rain)
    }

    /// What has fallen beyond the wetting, m.
    fn fallen(&self, at_s: f64) -> f64 {
        self.knot(at_s).map_or(0.0, |knot| knot.fallen_m + knot.rain * (at_s - knot.at_s))
    }
}
