//! What opening the low-point drains of a site does: each by itself, then all at once.

use crate::outcome::{Refusal, Status};
use crate::solved::{refuse_open_sizes, scenario};
use crate::storm::{Told, scene};
use wetrun_checks::Outcome;
use wetrun_motion::{COUNTS, Flushed, Hose, OpenDrain, Place, Scene, flush as follow};
use wetrun_network::{DownspoutId, End, LineId, PointId};
use wetrun_site::Site;
use wetrun_solver::Scenario;
use wetrun_units::{Flow, Length, Speed, Volume};

/// What an open drain loses besides the jet's own head: a square entrance and an open valve.
pub(crate) const DRAIN_K: f64 = 0.7;
/// The speed that carries silt where the file names none: small drains once a day, from memory of
/// EN 752; loose silt moves at a third of it, and mains are flushed at 0.76 m/s.
const CARRIES: Speed = Speed::m_per_s(0.7);

/// A site with its drains opened.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Flush {
    /// The site as read.
    pub site: Site,
    /// The speed that carries silt.
    pub carries: Speed,
    /// Every run that was asked for.
    pub runs: Vec<FlushRun>,
    /// Every drain, in the order in which to open them.
    pub order: Vec<PointId>,
    /// What is worth saying, worst first.
    pub findings: Vec<Told>,
    /// Hoses that ran.
    pub hoses: Vec<Hose>,
}

/// Some drains opened together.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct FlushRun {
    /// Which.
    pub open: Vec<PointId>,
    /// What came of it.
    pub flushed: Flushed,
    /// For each line the inflow at its upper end that would carry silt, where nothing does yet.
    pub needs: Vec<Option<Flow>>,
}

impl FlushRun {
    /// What stays behind in all.
    pub fn kept(&self) -> Volume {
        let flushed = &self.flushed;
        let left = flushed.left_in_lines.iter().chain(&flushed.left_in_downspouts);
        left.filter(|volume| **volume > COUNTS).copied().sum()
    }

    /// Whether a line reaches the speed that carries silt.
    pub fn carries(&self, line: usize, speed: Speed) -> bool {
        self.flushed.lines[line].peak_velocity >= speed
    }
}

/// What is asked of a flush beyond the site.
#[derive(Clone, Debug, Default)]
pub struct FlushAsked {
    /// Drains to open together, by tag; each by itself and all at once where there are none.
    pub open: Vec<String>,
    /// Hoses, as `10 gpm@D4`.
    pub hoses: Vec<String>,
}

impl Flush {
    /// Opens the drains of a site.
    ///
    /// # Errors
    /// A refusal where pipe sizes are open, a drain or a hose is none of the site's, or the motion
    /// could not be followed.
    pub fn new(site: Site, asked: &FlushAsked) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let drains: Vec<PointId> = drains(&site);
        let sets = sets(&site, &drains, &asked.open)?;
        let hoses = asked.hoses.iter().map(|text| hose(&site, text));
        let hoses: Vec<Hose> = hoses.collect::<Result<_, _>>()?;
        let carries = site.targets.flush_speed.unwrap_or(CARRIES);
        let scenario = scenario(&site);
        let scene = dry(&site, &scenario)?;
        let runs = sets.into_iter().map(|open| run(&site, &scene, open, &hoses, carries));
        let runs: Vec<FlushRun> = runs.collect::<Result<_, _>>()?;
        let order = order(&site, &scene, &drains, &runs, carries)?;
        drop(scene);
        let mut flush = Self { site, carries, runs, order, findings: Vec::new(), hoses };
        flush.findings = flush.found();
        Ok(flush)
    }

    /// What stays behind in a run, by the tag of the line or the downspout.
    pub fn left(&self, run: &FlushRun) -> Vec<(String, Volume)> {
        let network = &self.site.network;
        let lines = network.lines().iter().map(|line| line.tag.clone());
        let downspouts = network.downspouts().iter().map(|downspout| downspout.tag.clone());
        let lines = lines.zip(run.flushed.left_in_lines.iter().copied());
        let downspouts = downspouts.zip(run.flushed.left_in_downspouts.iter().copied());
        lines.chain(downspouts).filter(|(_, volume)| *volume > COUNTS).collect()
    }

    /// Where a drain runs out, where the file says it.
    pub fn runs_to(&self, drain: PointId) -> Option<&str> {
        let outlet = self.site.points[drain.index()].review.drain_outlet.as_ref()?;
        outlet.to.as_deref()
    }

    /// The way from a line's far end to the nearest open drain, along the lines.
    pub fn way(&self, run: &FlushRun, line: usize) -> Option<Length> {
        let network = &self.site.network;
        let ends: Vec<End> = network.lines().iter().flat_map(|line| [line.from, line.to]).collect();
        let place = |end: End| ends.iter().position(|other| *other == end);
        let mut far = vec![f64::INFINITY; ends.len()];
        for drain in &run.open {
            if let Some(at) = place(End::Point(*drain)) {
                far[at] = 0.0;
            }
        }
        for _ in network.lines() {
            for line in network.lines() {
                let (Some(a), Some(b)) = (place(line.from), place(line.to)) else { continue };
                let length_m = line.length.to_m();
                far[a] = far[a].min(far[b] + length_m);
                far[b] = far[b].min(far[a] + length_m);
            }
        }
        let line = &network.lines()[line];
        let (a, b) = (far[place(line.from)?], far[place(line.to)?]);
        let way = a.max(b);
        way.is_finite().then(|| Length::m(way))
    }

    /// A flush never fails; it warns.
    pub fn status(&self) -> Status {
        Status::Pass
    }

    fn found(&self) -> Vec<Told> {
        let network = &self.site.network;
        let units = self.site.units;
        let mut found = Vec::new();
        if drains(&self.site).is_empty() {
            found.push(told(
                "flush-no-drain",
                "site",
                "no point has a drain: the lines cannot be flushed, nor emptied before frost",
            ));
        }
        for shut in self.runs.first().into_iter().flat_map(|run| &run.flushed.shut) {
            let (line, tank) = (network.line(shut.line), &network.tanks()[shut.tank.index()]);
            let out = lets_out(tank, shut.water, shut.inlet);
            let how_much = out.map_or_else(
                || format!("the {} that stand over it", units.show_height(shut.water - shut.inlet)),
                |volume| units.show_volume(volume).to_string(),
            );
            let message = format!(
                "{} ends under the water of {}, which would run out through an open drain: \
                 {how_much}; shut that line at the tank first",
                line.tag, tank.tag
            );
            found.push(Told {
                value: out.map(Volume::to_m3),
                unit: if out.is_some() { "m3" } else { "" },
                ..told("flush-submerged-inlet", &tank.tag, &message)
            });
        }
        found
    }
}

fn told(rule: &'static str, at: &str, message: &str) -> Told {
    Told {
        rule,
        outcome: Outcome::Caution,
        at: at.to_owned(),
        value: None,
        limit: None,
        unit: "",
        message: message.to_owned(),
        basis: String::new(),
    }
}

/// What a tank would let out down to an inlet under its water, where the file says how much it holds.
fn lets_out(tank: &wetrun_network::Tank, stands: Length, inlet: Length) -> Option<Volume> {
    let (floor, volume) = (tank.floor?, tank.volume?);
    let depth = tank.overflow.as_ref()?.level - floor;
    let share = (stands - inlet.max(floor)).to_m() / depth.to_m();
    (depth > Length::ZERO).then(|| Volume::m3(volume.to_m3() * share))
}

/// Points with a drain, in file order.
fn drains(site: &Site) -> Vec<PointId> {
    let points = site.network.points().iter().enumerate();
    points.filter(|(_, p)| p.drain.is_some()).map(|(place, _)| PointId::new(place)).collect()
}

/// Which drains each run opens.
fn sets(site: &Site, drains: &[PointId], asked: &[String]) -> Result<Vec<Vec<PointId>>, Refusal> {
    if asked.is_empty() {
        let mut sets: Vec<_> = drains.iter().map(|drain| vec![*drain]).collect();
        if drains.len() > 1 {
            sets.push(drains.to_vec());
        }
        return Ok(sets);
    }
    let mut set = Vec::new();
    for tag in asked {
        let point = site.network.points().iter().position(|point| point.tag == *tag);
        let Some(point) = point.map(PointId::new) else {
            return Err(Refusal::because(format_args!(
                "--open `{}`: no point has this tag{}",
                tag.escape_debug(),
                known(site, drains)
            )));
        };
        if !drains.contains(&point) {
            return Err(Refusal::because(format_args!(
                "--open `{tag}`: this point has no drain{}",
                known(site, drains)
            )));
        }
        if !set.contains(&point) {
            set.push(point);
        }
    }
    set.sort_unstable();
    Ok(vec![set])
}

fn known(site: &Site, drains: &[PointId]) -> String {
    let tags: Vec<&str> = drains.iter().map(|id| site.network.point(*id).tag.as_str()).collect();
    if tags.is_empty() { String::new() } else { format!("; drains are at {}", tags.join(", ")) }
}

/// A hose as it was written on a command line.
fn hose(site: &Site, text: &str) -> Result<Hose, Refusal> {
    let wrong = |why: &dyn std::fmt::Display| {
        Refusal::because(format_args!("--hose `{}`: {why}", text.escape_debug()))
    };
    let Some((flow, tag)) = text.rsplit_once('@') else {
        return Err(wrong(&"a flow and a place, such as `10 gpm@D4`"));
    };
    let flow = site.units.read_flow(flow.trim()).map_err(|error| wrong(&error))?;
    if flow <= Flow::ZERO {
        return Err(wrong(&"a hose brings more than nothing"));
    }
    let tag = tag.trim();
    let network = &site.network;
    let downspout = network.downspouts().iter().position(|d| d.tag == tag);
    let point = network.points().iter().position(|p| p.tag == tag);
    let at = match (downspout, point) {
        (Some(place), _) => Place::Downspout(DownspoutId::new(place)),
        (None, Some(place)) => Place::Point(PointId::new(place)),
        (None, None) => return Err(wrong(&"no downspout and no point has this tag")),
    };
    Ok(Hose { at, flow })
}

/// The system at rest in dry weather.
fn dry<'a>(site: &'a Site, scenario: &Scenario) -> Result<Scene<'a>, Refusal> {
    Ok(Scene { roofs: Vec::new(), ..scene(site, scenario)? })
}

/// A drain as it stands open.
fn opened(site: &Site, at: PointId) -> Option<OpenDrain> {
    let point = site.network.point(at);
    let notes = &site.points[at.index()];
    let outlet = notes.review.drain_outlet.as_ref().and_then(|outlet| outlet.level);
    Some(OpenDrain {
        at,
        bore: point.drain?,
        outlet: outlet.unwrap_or(point.level),
        k: notes.drain_k.unwrap_or(DRAIN_K),
    })
}

fn run(
    site: &Site,
    scene: &Scene<'_>,
    open: Vec<PointId>,
    hoses: &[Hose],
    carries: Speed,
) -> Result<FlushRun, Refusal> {
    let drains: Vec<OpenDrain> = open.iter().filter_map(|at| opened(site, *at)).collect();
    let flushed = follow(scene, &drains, hoses, carries).map_err(Refusal::because)?;
    let needs = (0..site.network.lines().len())
        .map(|line| needs(site, scene, &drains, &flushed, line, carries))
        .collect();
    Ok(FlushRun { open, flushed, needs })
}

/// The inflow at a line's upper end that carries silt through it.
fn needs(
    site: &Site,
    _scene: &Scene<'_>,
    _drains: &[OpenDrain],
    flushed: &Flushed,
    line: usize,
    carries: Speed,
) -> Option<Flow> {
    if flushed.lines[line].peak_velocity >= carries {
        return None;
    }
    let bore_m = site.network.line(LineId::new(line)).pipe.inside.to_m();
    Some(Flow::m3_per_s(core::f64::consts::FRAC_PI_4 * bore_m * bore_m * carries.to_m_per_s()))
}

/// The order in which to open the drains: first the one that carries silt through the most line, then
/// the one that lets the most out.
fn order(
    site: &Site,
    scene: &Scene<'_>,
    drains: &[PointId],
    runs: &[FlushRun],
    carries: Speed,
) -> Result<Vec<PointId>, Refusal> {
    let mut ranked = Vec::new();
    for &drain in drains {
        let alone = runs.iter().find(|run| run.open == [drain]).map(|run| run.flushed.clone());
        let flushed = match alone {
            Some(flushed) => flushed,
            None => {
                let open: Vec<OpenDrain> = opened(site, drain).into_iter().collect();
                follow(scene, &open, &[], carries).map_err(Refusal::because)?
            }
        };
        let lines = site.network.lines().iter().zip(&flushed.lines);
        let carried: f64 = lines
            .filter(|(_, swept)| swept.peak_velocity >= carries)
            .map(|(line, _)| line.length.to_m())
            .sum();
        ranked.push((drain, carried, flushed.drained.to_m3()));
    }
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1).then(b.2.total_cmp(&a.2)));
    Ok(ranked.into_iter().map(|(drain, _, _)| drain).collect())
}
