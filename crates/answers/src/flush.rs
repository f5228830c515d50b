//! What opening the low-point drains of a site does: each by itself, then all at once.

mod asked;
mod cures;
mod followed;
mod found;
mod needs;

use crate::outcome::{Refusal, Status};
use crate::solved::{refuse_open_sizes, scenario};
use crate::storm::{Told, scene, unless_called_off};
pub use cures::{Cure, Gulp};
use followed::Work;
use petgraph::algo::dijkstra;
use petgraph::graph::{NodeIndex, UnGraph};
use std::time::Duration;
use wetrun_checks::DrainOpened;
use wetrun_doubt::each;
use wetrun_facts::Facts;
use wetrun_motion::{Flushed, Hose, OpenDrain, Scene, Watch, flush as follow};
use wetrun_network::{End, PointId};
use wetrun_site::Site;
use wetrun_units::{Flow, Length, Speed, Volume};

/// A site with its drains opened.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Flush {
    /// The site as read.
    pub site: Site,
    /// What the drawing says besides its network.
    pub facts: Facts,
    /// Every run that was asked for.
    pub runs: Vec<FlushRun>,
    /// Every drain by itself, without hoses, in the order in which to open them.
    pub order: Vec<Alone>,
    /// What is worth saying, worst first.
    pub findings: Vec<Told>,
    /// Hoses that ran.
    pub hoses: Vec<Hose>,
}

/// A drain that was opened by itself.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Alone {
    /// Which.
    pub at: PointId,
    /// What came of it.
    pub flushed: Flushed,
}

impl Alone {
    /// What rules are told of it.
    pub(crate) fn told(&self) -> DrainOpened {
        let most_drained = Duration::try_from_secs_f64(self.flushed.most_drained.to_s());
        DrainOpened {
            at: self.at,
            drained: self.flushed.drained,
            left: self.flushed.left(),
            most_drained: most_drained.unwrap_or(Duration::MAX),
            fastest: self.flushed.lines.iter().map(|swept| swept.peak_velocity).collect(),
        }
    }
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
    pub needs: Vec<Option<Inflow>>,
    /// For each line what else would, where nothing does yet; nothing with a hose, nor in networks of
    /// more than 60 lines.
    pub cures: Vec<Cure>,
}

/// An inflow at a line's upper end that carries silt through it.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct Inflow {
    /// How much: where no inflow does it, what would have to pass the line.
    pub flow: Flow,
    /// Whether the drains that stand open draw so much through the line.
    pub does: bool,
}

impl FlushRun {
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
    /// Threads to use; results do not hang on it, and none is the caller's own alone.
    pub threads: usize,
}

impl Flush {
    /// Opens the drains of a site.
    ///
    /// # Errors
    /// A refusal where pipe sizes are open, a drain or a hose is none of the site's, or the motion
    /// could not be followed.
    pub fn new(site: Site, asked: &FlushAsked) -> Result<Self, Refusal> {
        Self::watched(site, asked, Watch::default())
    }

    /// The same as long as somebody waits for it.
    ///
    /// # Errors
    /// `None` where nobody waits any more; a refusal likewise.
    pub fn while_wanted(
        site: Site,
        asked: &FlushAsked,
        watch: Watch<'_>,
    ) -> Result<Option<Self>, Refusal> {
        unless_called_off(Self::watched(site, asked, watch), watch)
    }

    fn watched(site: Site, asked: &FlushAsked, watch: Watch<'_>) -> Result<Self, Refusal> {
        refuse_open_sizes(&site)?;
        let drains: Vec<PointId> = asked::drains(&site);
        let sets = asked::sets(&site, &drains, &asked.open)?;
        let hoses = asked.hoses.iter().map(|text| asked::hose(&site, text));
        let hoses: Vec<Hose> = hoses.collect::<Result<_, _>>()?;
        let facts = crate::facts::facts(&site)?;
        let carries = facts.silt_speed();
        let scenario = scenario(&site);
        let scene = Scene { roofs: Vec::new(), ..scene(&site, &scenario, watch)? };
        let work =
            Work { site: &site, facts: &facts, scene: &scene, carries, threads: asked.threads };
        let (order, runs) = work.done(&drains, sets, &hoses, &scenario)?;
        drop(scene);
        let mut flush = Self { site, facts, runs, order, findings: Vec::new(), hoses };
        flush.findings = found::found(&flush);
        Ok(flush)
    }

    /// The speed that carries silt.
    pub fn carries(&self) -> Speed {
        self.facts.silt_speed()
    }

    /// What stays behind in a run, by the tag of the line or the downspout.
    pub fn left(&self, run: &FlushRun) -> Vec<(String, Volume)> {
        let network = &self.site.network;
        let lines = network.lines().iter().map(|line| line.tag.clone());
        let downspouts = network.downspouts().iter().map(|downspout| downspout.tag.clone());
        let lines = lines.zip(run.flushed.left_in_lines.iter().copied());
        let downspouts = downspouts.zip(run.flushed.left_in_downspouts.iter().copied());
        lines.chain(downspouts).filter(|(_, volume)| *volume > Volume::ZERO).collect()
    }

    /// Where a drain runs out, where the file says it.
    pub fn runs_to(&self, drain: PointId) -> Option<&str> {
        let outlet = self.site.points[drain.index()].review.drain_outlet.as_ref()?;
        outlet.to.as_deref()
    }

    /// For each line the way from its far end to the nearest drain that is open, along the lines and
    /// through no tank.
    pub fn ways(&self, run: &FlushRun) -> Vec<Option<Length>> {
        let network = &self.site.network;
        let mut graph = UnGraph::<(), f64>::new_undirected();
        let places: Vec<_> = (0..network.places()).map(|_| graph.add_node(())).collect();
        // An end at a tank is a place of its own: no way leads on through it.
        let mut ends = Vec::new();
        for line in network.lines() {
            let own = [line.from, line.to].map(|end| match end {
                End::Tank(_) => graph.add_node(()),
                _ => places[network.place(end).index()],
            });
            graph.add_edge(own[0], own[1], line.length.to_m());
            ends.push(own);
        }
        let from = |drain: &PointId| -> Vec<Option<f64>> {
            let start = places[network.place(End::Point(*drain)).index()];
            let ways = dijkstra(&graph, start, None, |edge| *edge.weight());
            graph.node_indices().map(|place| ways.get(&place).copied()).collect()
        };
        let from: Vec<Vec<Option<f64>>> = run.open.iter().map(from).collect();
        let way = |ends: &[NodeIndex; 2]| {
            let far = |ways: &Vec<Option<f64>>| {
                let [one, other] = ends.map(|end| ways[end.index()]);
                Some(one?.max(other?))
            };
            from.iter().filter_map(far).min_by(f64::total_cmp).map(Length::m)
        };
        ends.iter().map(way).collect()
    }

    /// A flush never fails; it warns.
    pub fn status(&self) -> Status {
        Status::Pass
    }
}

/// Every drain opened by itself, in the order in which to open them: first the one that carries silt
/// through the most line, then the one that lets the most out.
pub(crate) fn alone(
    site: &Site,
    facts: &Facts,
    watch: Watch<'_>,
    threads: usize,
) -> Result<Vec<Alone>, Refusal> {
    let scenario = scenario(site);
    let scene = Scene { roofs: Vec::new(), ..scene(site, &scenario, watch)? };
    let carries = facts.silt_speed();
    let drains = asked::drains(site);
    let runs = each(drains.len(), threads, |place| {
        let drain: Vec<OpenDrain> = opened(site, facts, drains[place]).into_iter().collect();
        follow(&scene, &drain, &[], carries)
    });
    let runs: Vec<Flushed> =
        runs.into_iter().collect::<Result<_, _>>().map_err(Refusal::because)?;
    Ok(ranked(site, carries, drains, runs))
}

/// Drains that were opened by themselves, in the order in which to open them.
fn ranked(site: &Site, carries: Speed, drains: Vec<PointId>, runs: Vec<Flushed>) -> Vec<Alone> {
    let mut ranked = Vec::new();
    for (at, flushed) in drains.into_iter().zip(runs) {
        let lines = site.network.lines().iter().zip(&flushed.lines);
        let carried = lines.filter(|(_, swept)| swept.peak_velocity >= carries);
        let carried_m: f64 = carried.map(|(line, _)| line.length.to_m()).sum();
        ranked.push((carried_m, Alone { at, flushed }));
    }
    ranked.sort_by(|(carried, a), (other, b)| {
        let drained = |alone: &Alone| alone.flushed.drained.to_m3();
        other.total_cmp(carried).then(drained(b).total_cmp(&drained(a)))
    });
    ranked.into_iter().map(|(_, alone)| alone).collect()
}

/// A drain as it stands open.
fn opened(site: &Site, facts: &Facts, at: PointId) -> Option<OpenDrain> {
    let point = site.network.point(at);
    let shown = facts.point(at.index());
    let outlet = shown.drain_outlet.as_ref().and_then(|outlet| outlet.level);
    Some(OpenDrain {
        at,
        bore: point.drain?,
        outlet: outlet.unwrap_or(point.level),
        k: shown.drain_loss(),
    })
}
