//! The public laws by name, fed from the rows of an `inputs.yaml`.
//!
//! Our g is 9.80665 m/s². Where a source takes another (`gravity`), its row is carried over
//! exactly: a loss by V²/2g goes with 1/g, a flow at critical depth with √g, a time with 1/√g.

use std::collections::BTreeMap;
use std::f64::consts::FRAC_PI_4;

use serde_yaml::{Mapping, Value as Yaml};
use wetrun_network::JunctionKind;
use wetrun_solver::laws::drain::Drain;
use wetrun_solver::laws::outlet::{Cover, Opening};
use wetrun_solver::laws::{
    Density, Force, UnitWeight, Viscosity, air, buoyancy, downspout, drain, gutter, head_loss,
    junction, outfall, outlet, statics, surge, water,
};
use wetrun_units::{Area, Flow, Fraction, Length, Pressure, Speed, Temperature, Volume};

use super::case::{quantity, words};

const G: f64 = 9.80665;

/// What goes into a law.
pub(super) struct Inputs(pub(super) Mapping);

impl Inputs {
    fn maybe(&self, key: &str) -> Option<f64> {
        self.0.get(key).map(quantity)
    }

    fn n(&self, key: &str) -> f64 {
        self.maybe(key).unwrap_or_else(|| panic!("no `{key}` in {:?}", self.0))
    }

    fn m(&self, key: &str) -> Length {
        Length::m(self.n(key))
    }

    /// The source's g over ours.
    fn gravity(&self) -> f64 {
        self.maybe("gravity").unwrap_or(G) / G
    }

    fn density(&self) -> f64 {
        self.maybe("density").unwrap_or(1000.0)
    }

    fn viscosity(&self) -> f64 {
        self.maybe("viscosity").unwrap_or_else(|| self.n("dynamic_viscosity") / self.density())
    }

    fn flow(&self) -> f64 {
        self.maybe("flow").unwrap_or_else(|| self.n("mass_flow") / self.density())
    }
}

type Row = BTreeMap<String, f64>;

/// The results of a law in SI, by quantity.
pub(super) fn results(law: &str, i: &Inputs) -> Row {
    let found = match law {
        "hazen-williams" => hazen_williams(i),
        "darcy-weisbach" => darcy_weisbach(i),
        "friction-factor" => {
            vec![("factor", head_loss::friction_factor(i.n("reynolds"), i.n("relative_roughness")))]
        }
        "part-full" => vec![("flow", part_full(i))],
        "water" => {
            let temperature = Temperature::celsius(i.n("temperature"));
            vec![
                ("density", water::density(temperature).to_kg_per_m3()),
                ("viscosity", water::viscosity(temperature).to_m2_per_s()),
            ]
        }
        "combining" => combining(i),
        "outfall" => {
            // Q²/g decides the depth, so the speed goes with √g and the energy not at all.
            let (flow, bore) = (Flow::m3_per_s(i.n("flow") / i.gravity().sqrt()), i.m("bore"));
            let speed = outfall::critical_speed(flow, bore).to_m_per_s();
            vec![
                ("depth", outfall::critical_depth(flow, bore).to_m()),
                ("speed", speed * i.gravity().sqrt()),
                ("energy", outfall::critical_energy(flow, bore).to_m()),
            ]
        }
        "outfall-curve" => outfall_curve(i.n("depth")),
        "overflow-pipe" => {
            let flow = outfall::overflow_flow(i.m("head"), i.m("bore"), i.n("k"));
            vec![("flow", flow.to_m3_per_s() * i.gravity().sqrt())]
        }
        "gutter-half-round" => {
            let area = gutter::half_round_area(i.m("width"));
            let nominal = gutter::half_round(area);
            vec![
                ("area", area.to_m2()),
                ("nominal", nominal.to_m3_per_s()),
                ("design", gutter::design(nominal, 1.0, false).to_m3_per_s()),
            ]
        }
        "gutter-by-area" => {
            let area = Area::m2(i.n("area"));
            vec![
                ("half-round", gutter::half_round(area).to_m3_per_s()),
                ("rectangular", gutter::rectangular(area, 1.0, 1.0).to_m3_per_s()),
                ("valley", gutter::valley(area, 1.0, 1.0).to_m3_per_s()),
            ]
        }
        "outlet-round" => {
            let hole = Opening::Round { diameter: i.m("diameter") };
            let (open, strained) = (Cover::Open, Cover::Strainer);
            vec![
                ("flow", outlet::capacity(hole, open, i.m("head")).to_m3_per_s()),
                ("strained flow", outlet::capacity(hole, strained, i.m("head")).to_m3_per_s()),
            ]
        }
        "downspout-en" => {
            let filling = Fraction::ratio(i.n("filling"));
            let flow = downspout::en_capacity(i.m("bore"), i.m("roughness"), filling);
            vec![("flow", flow.to_m3_per_s())]
        }
        "leader-us" => {
            let flow = downspout::us_capacity(i.m("bore"), Fraction::ratio(i.n("filling")));
            vec![("flow", flow.to_m3_per_s())]
        }
        "surge-period" => vec![("period", period(i) / i.gravity().sqrt())],
        "surge-stop" => {
            let rise = surge::stop_rise(Speed::m_per_s(i.n("speed")), i.m("column"));
            vec![("rise", rise.to_m() / i.gravity().sqrt())]
        }
        "surge-damped" => {
            let names = ["extreme 1", "extreme 2", "extreme 3", "extreme 4"];
            let mut at = i.m("start");
            let next = |name| {
                at = surge::next_extreme(at, i.n("k"), i.m("column"));
                (name, at.to_m())
            };
            names.into_iter().map(next).collect()
        }
        "surge-start" => start_up(i),
        "drain-constant-loss" => drain_constant(i),
        "drain-friction" => drain_friction(i),
        "self-venting" => {
            vec![("flow", air::self_venting(i.m("bore")).to_m3_per_s() * i.gravity().sqrt())]
        }
        "clearing" => {
            let (bore, sine) = (i.m("bore"), Fraction::ratio(i.n("sine")));
            let by_pocket = air::clearing_speed_by_pocket(bore, sine, 0.61);
            vec![
                ("speed", air::clearing_speed(bore, sine).to_m_per_s() * i.gravity().sqrt()),
                ("speed by pocket", by_pocket.to_m_per_s() * i.gravity().sqrt()),
            ]
        }
        "flotation" => flotation(i),
        "still-water" => {
            let density = Density::kg_per_m3(i.density());
            let pressure = i.maybe("head").map(|h| statics::pressure(Length::m(h), density));
            let head = i.maybe("pressure").map(|p| statics::head(Pressure::pa(p), density));
            let pressure = pressure.map(|p| ("pressure", p.to_pa()));
            pressure.into_iter().chain(head.map(|h| ("head", h.to_m()))).collect()
        }
        other => panic!("`{other}` is no law"),
    };
    found.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

fn hazen_williams(i: &Inputs) -> Vec<(&'static str, f64)> {
    let flow = Flow::m3_per_s(i.flow());
    let loss = head_loss::hazen_williams(flow, i.n("c"), i.m("bore"), i.m("length")).to_m();
    // The loss goes with the velocity constant to the power −1/0.54. In feet the constant is
    // 1.318 ft^0.37/s.
    let constant = match i.0.get("constant") {
        None => 0.849,
        Some(Yaml::Number(n)) => n.as_f64().unwrap(),
        Some(text) => {
            let feet = words(text).strip_suffix(" ft").expect("a constant in ft and s");
            feet.parse::<f64>().unwrap() * 0.3048_f64.powf(0.37)
        }
    };
    vec![("loss", loss * (0.849 / constant).powf(1.0 / 0.54))]
}

fn darcy_weisbach(i: &Inputs) -> Vec<(&'static str, f64)> {
    let bore = i.m("bore");
    let loss = |flow: f64| {
        let viscosity = Viscosity::m2_per_s(i.viscosity());
        let flow = Flow::m3_per_s(flow);
        let wall =
            head_loss::darcy_weisbach(flow, i.m("roughness"), bore, i.m("length"), viscosity);
        let speed = head_loss::full_speed(flow, bore);
        let fittings = head_loss::fitting(i.maybe("k").unwrap_or(0.0), speed);
        (wall + fittings).to_m() / i.gravity()
    };
    let speed = head_loss::full_speed(Flow::m3_per_s(i.flow()), bore);
    let reynolds = head_loss::reynolds(speed, bore, Viscosity::m2_per_s(i.viscosity()));
    let factor = head_loss::friction_factor(reynolds, i.n("roughness") / bore.to_m());
    let lost = loss(i.flow());
    let mut found = vec![
        ("speed", speed.to_m_per_s()),
        ("reynolds", reynolds),
        ("factor", factor),
        ("loss", lost),
        ("head", i.maybe("lift").unwrap_or(0.0) + lost),
        ("pressure loss", lost * i.density() * i.gravity() * G),
    ];
    if let Some(head_m) = i.maybe("head") {
        found.push(("flow at head", root(0.0, 10.0, |flow| loss(flow) - head_m)));
    }
    found
}

/// Where a rising function passes 0.
fn root(mut low: f64, mut high: f64, rising: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// The flow of a drain that is not full, by the friction factor on four hydraulic radii. A
/// Colebrook-White with another constant than 3.7 is that of another wall in the same ratio.
fn part_full(i: &Inputs) -> f64 {
    let (bore_m, depth) = (i.n("bore"), i.n("filling"));
    let angle = 2.0 * (1.0 - 2.0 * depth).acos();
    let area_m2 = bore_m * bore_m * (angle - angle.sin()) / 8.0;
    let hydraulic_m = 4.0 * area_m2 / (bore_m * angle / 2.0);
    let factor = |flow: f64| match i.maybe("reynolds") {
        Some(reynolds) => head_loss::friction_factor(reynolds, i.n("relative_roughness")),
        None => {
            let reynolds = flow / area_m2 * hydraulic_m / i.n("viscosity");
            let constant = i.maybe("colebrook").unwrap_or(3.7);
            let relative = i.n("roughness") / hydraulic_m * 3.7 / constant;
            head_loss::friction_factor(reynolds, relative)
        }
    };
    let slope = |flow: f64| {
        let head = (flow / area_m2).powi(2) / (2.0 * G * i.gravity());
        factor(flow) * head / hydraulic_m
    };
    root(1e-9, 100.0, |flow| slope(flow) - i.n("slope"))
}

fn combining(i: &Inputs) -> Vec<(&'static str, f64)> {
    let kind = match words(&i.0["kind"]) {
        "tee" => JunctionKind::Tee,
        "wye" => JunctionKind::Wye,
        other => panic!("`{other}` is no junction"),
    };
    let (combined, share) = (Length::m(0.1), Fraction::ratio(i.n("share")));
    let branch_bore = Length::m(0.1 * i.n("beta"));
    let branch = junction::branch_coefficient(kind, branch_bore, combined, share);
    let run = junction::run_coefficient(kind, branch_bore, combined, share);
    let mut found = vec![("branch", branch), ("run", run)];
    if let Some(speed) = i.maybe("speed").map(Speed::m_per_s) {
        found.push(("branch loss", head_loss::fitting(branch, speed).to_m()));
        found.push(("run loss", head_loss::fitting(run, speed).to_m()));
    }
    found
}

/// The universal curve: the flow over √(gD⁵) that is critical at a depth, found from our depths,
/// and our energy there, both in bores.
fn outfall_curve(depth: f64) -> Vec<(&'static str, f64)> {
    let bore = Length::m(1.0);
    let flow = |q: f64| Flow::m3_per_s(q * G.sqrt());
    let found = root(1e-9, 5.0, |q| outfall::critical_depth(flow(q), bore).to_m() - depth);
    vec![("flow", found), ("energy", outfall::critical_energy(flow(found), bore).to_m())]
}

fn period(i: &Inputs) -> f64 {
    if let Some(column) = i.maybe("column") {
        return surge::u_tube_period(Length::m(column)).to_s();
    }
    let circle = |bore: f64| FRAC_PI_4 * bore * bore;
    let area = |bore: &str, area: &str| i.maybe(area).or_else(|| i.maybe(bore).map(circle));
    let first = area("shaft", "shaft_area").unwrap();
    let second = area("second_shaft", "second_shaft_area").unwrap_or(f64::INFINITY);
    let bore_area = area("bore", "bore_area").unwrap();
    let surfaces = [Area::m2(first), Area::m2(second)];
    surge::period(i.m("length"), Area::m2(bore_area), surfaces).to_s()
}

/// Speeds go with √g, times with 1/√g.
fn start_up(i: &Inputs) -> Vec<(&'static str, f64)> {
    let (head, k, column, root_g) = (i.m("head"), i.n("k"), i.m("column"), i.gravity().sqrt());
    let last = surge::final_speed(head, k).to_m_per_s() * root_g;
    let time =
        |part: f64| surge::start_up_time(Fraction::ratio(part), head, k, column).to_s() / root_g;
    let mut found = vec![
        ("final speed", last),
        ("time to 50 %", time(0.5)),
        ("time to 90 %", time(0.9)),
        ("time to 99 %", time(0.99)),
    ];
    if let Some(to) = i.maybe("to") {
        found.push(("time to speed", time(to / last)));
    }
    found
}

fn drain_constant(i: &Inputs) -> Vec<(&'static str, f64)> {
    let (bore, k, from) = (i.m("bore"), i.n("k"), i.m("head"));
    let root_g = i.gravity().sqrt();
    let flow = drain::constant_loss_flow(bore, k, from).to_m3_per_s() * root_g;
    let mut found = vec![("flow", flow)];
    if let Some(surface) = i.maybe("surface") {
        let time = drain::constant_loss_time(Area::m2(surface), bore, k, from, i.m("to"));
        found.push(("time", time.to_s() / root_g));
    }
    found
}

/// With another g the same flows need heads in the ratio of the two, and take the same times from
/// a surface smaller in that ratio.
fn drain_friction(i: &Inputs) -> Vec<(&'static str, f64)> {
    let g = i.gravity();
    let pipe = Drain {
        bore: i.m("bore"),
        length: i.m("length"),
        roughness: i.m("roughness"),
        k: i.n("k"),
    };
    let viscosity = Viscosity::m2_per_s(i.n("viscosity"));
    let [from, to] = ["head", "to"].map(|key| Length::m(i.n(key) * g));
    let speed =
        |head| head_loss::full_speed(drain::flow(&pipe, viscosity, head), pipe.bore).to_m_per_s();
    let time = drain::time(&pipe, viscosity, Area::m2(i.n("surface") / g), from, to);
    vec![("time", time.to_s()), ("speed", speed(from)), ("last speed", speed(to))]
}

fn flotation(i: &Inputs) -> Vec<(&'static str, f64)> {
    let uplift = buoyancy::uplift(Volume::m3(i.n("volume")), Density::kg_per_m3(i.density()));
    let mut found = vec![("uplift", uplift.to_n())];
    if let Some(weight) = i.maybe("weight") {
        let (plan, buoyant) = (Area::m2(i.n("plan")), UnitWeight::n_per_m3(i.n("buoyant")));
        let cover = buoyancy::cover_weight(plan, i.m("cover"), buoyant);
        let hold_down = Force::n(cover.to_n() + weight);
        let needed = buoyancy::cover_for(i.n("factor"), uplift, Force::n(weight), plan, buoyant);
        found.push(("factor", buoyancy::factor_of_safety(hold_down, uplift)));
        found.push(("cover", needed.to_m()));
    }
    found
}
