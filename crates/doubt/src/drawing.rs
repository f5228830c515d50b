//! A drawing that is doubted, and its states with the inputs of a sample.

use crate::change::changed;
use crate::input::{Input, PipeType};
use wetrun_facts::Facts;
use wetrun_network::{Network, Parts};
use wetrun_solver::{Scenario, Steady};
use wetrun_units::Length;
use wetrun_verdict::Verdict;

/// Judges a state with what else the drawing shows.
pub type Judge<'a> = &'a (dyn Fn(&Network, &Steady, &Facts) -> Verdict + Sync);

/// What is doubted.
#[derive(Clone, Copy)]
pub struct Drawn<'a> {
    /// The network.
    pub network: &'a Network,
    /// For each line whether its two ends have levels of their own; else they move with what they
    /// are joined to.
    pub own_ends: &'a [[bool; 2]],
    /// The design storm.
    pub scenario: Scenario,
    /// What else the drawing shows, and how well its numbers are known.
    pub facts: &'a Facts,
    /// How its states are judged.
    pub judge: Judge<'a>,
    /// Asked before every state whether anybody still waits.
    pub wanted: &'a (dyn Fn() -> bool + Sync),
}

/// The same with what is worked out once.
pub(crate) struct Drawing<'a> {
    pub(crate) network: &'a Network,
    pub(crate) own_ends: &'a [[bool; 2]],
    pub(crate) scenario: Scenario,
    pub(crate) facts: &'a Facts,
    pub(crate) judge: Judge<'a>,
    pub(crate) wanted: &'a (dyn Fn() -> bool + Sync),
    pub(crate) parts: Parts,
    pub(crate) types: Vec<PipeType>,
    /// For each downspout its roofs, each with the share that it sends there.
    pub(crate) roofs_of: Vec<Vec<(usize, f64)>>,
}

/// So far above its lip a downspout goes on where it is asked how far it is beyond spilling.
const HIGHER: Length = Length::m(50.0);

impl<'a> Drawing<'a> {
    pub(crate) fn new(drawn: &Drawn<'a>) -> Self {
        let mut roofs_of = vec![Vec::new(); drawn.network.downspouts().len()];
        for (index, roof) in drawn.facts.roofs.iter().enumerate() {
            for share in &roof.shares {
                roofs_of[share.to.index()].push((index, share.share.to_ratio()));
            }
        }
        Self {
            network: drawn.network,
            own_ends: drawn.own_ends,
            scenario: drawn.scenario,
            facts: drawn.facts,
            judge: drawn.judge,
            wanted: drawn.wanted,
            parts: drawn.network.to_parts(),
            types: PipeType::all(drawn.network),
            roofs_of,
        }
    }

    /// The network with the inputs of a sample, and its state; `None` where that was not found, or
    /// nobody waits any more.
    pub(crate) fn state(&self, inputs: &[Input], z: &[f64]) -> Option<(Network, Steady)> {
        if !(self.wanted)() {
            return None;
        }
        let (parts, scenario) = changed(self, inputs, z);
        solved(parts, &scenario)
    }

    /// How far each downspout is from spilling: its lip less the level at which water would stand in
    /// it if it stood high enough, smooth on both sides of spilling. While no downspout spills these
    /// are its true levels; where one would stand above its lip something spills.
    pub(crate) fn left_m(&self, inputs: &[Input], z: &[f64]) -> Option<Vec<f64>> {
        if !(self.wanted)() {
            return None;
        }
        let (mut parts, scenario) = changed(self, inputs, z);
        let lips: Vec<Length> = parts.downspouts.iter().map(|d| d.spill_level()).collect();
        for (downspout, lip) in parts.downspouts.iter_mut().zip(&lips) {
            downspout.leaf_head = None;
            downspout.lip = *lip + HIGHER;
            downspout.outlet = downspout.outlet.min(downspout.lip);
        }
        let (_, steady) = solved(parts, &scenario)?;
        let levels = steady.downspouts.iter().map(|d| d.standing_level);
        Some(lips.iter().zip(levels).map(|(lip, level)| (*lip - level).to_m()).collect())
    }

    /// The downspout that spills most with the inputs of a sample, if one does.
    pub(crate) fn spilling(&self, inputs: &[Input], z: &[f64]) -> Option<usize> {
        let (network, steady) = self.state(inputs, z)?;
        let verdict = (self.judge)(&network, &steady, self.facts);
        let spilled = |index: &usize| steady.downspouts[*index].spilled.to_m3_per_s();
        let spills = verdict.margins.iter().filter(|margin| margin.spills);
        spills.map(|margin| margin.at.index()).max_by(|a, b| spilled(a).total_cmp(&spilled(b)))
    }
}

/// The network of these parts and its state.
///
/// Everything that a sample or a fault asks of the solver goes through here.
pub(crate) fn solved(parts: Parts, scenario: &Scenario) -> Option<(Network, Steady)> {
    let network = Network::build(parts).ok()?;
    let steady = wetrun_solver::solve(&network, scenario).ok()?;
    Some((network, steady))
}
