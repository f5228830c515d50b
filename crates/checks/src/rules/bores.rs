//! A larger bore as a mend: with it, all that stands below it and would be smaller than it.

use super::prelude::*;
use wetrun_network::{End, LineId, Pipe, TankId};

/// What must have a bore so that nothing is smaller than what feeds it.
pub(super) struct Larger<'a> {
    input: &'a Judged<'a>,
    bore_m: f64,
    lines: Vec<LineId>,
    tanks: Vec<TankId>,
    fits: bool,
}

impl<'a> Larger<'a> {
    /// Nothing yet.
    pub(super) fn new(input: &'a Judged<'a>, bore_m: f64) -> Self {
        Self { input, bore_m, lines: Vec::new(), tanks: Vec::new(), fits: true }
    }

    /// A line, and what is below it.
    pub(super) fn line(mut self, line: LineId) -> Self {
        self.lines.push(line);
        self.follow(0)
    }

    /// What is below the foot of a downspout.
    pub(super) fn below(mut self, foot: End) -> Self {
        self.leave(foot);
        self.follow(0)
    }

    /// The overflow of a tank, and those that what it gives must pass.
    pub(super) fn overflow(mut self, tank: TankId) -> Self {
        self.fill(tank);
        self
    }

    fn follow(mut self, mut next: usize) -> Self {
        while let Some(&line) = self.lines.get(next) {
            next += 1;
            let forth = self.input.steady.lines[line.index()].flow.to_m3_per_s() >= 0.0;
            let line = self.input.network.line(line);
            self.leave(if forth { line.to } else { line.from });
        }
        self
    }

    /// Adds what carries water away from an end and is smaller.
    fn leave(&mut self, end: End) {
        if let End::Tank(tank) = end {
            return self.fill(tank);
        }
        for (id, _) in self.input.network.meets(end) {
            let line = self.input.network.line(id);
            let flow = self.input.steady.lines[id.index()].flow.to_m3_per_s();
            let away = if line.from == end { flow > 0.0 } else { flow < 0.0 };
            if away && self.is_smaller(line.pipe.inside) && !self.lines.contains(&id) {
                self.lines.push(id);
            }
        }
    }

    /// A pipe of the bore fills a tank: its overflow is as large, its air gap as high.
    fn fill(&mut self, tank: TankId) {
        let own = self.input.network.tank(tank);
        let Some(overflow) = &own.overflow else { return };
        let gap_m = own.inlet.to_m() - overflow.level.to_m();
        let asked_m = self.bore_m * super::inlet_air_gap::RULE.limit_si(self.input);
        self.fits &= gap_m >= asked_m - LEVEL_TOLERANCE_M;
        if overflow.pipe.as_ref().is_some_and(|pipe| self.is_smaller(pipe.inside))
            && !self.tanks.contains(&tank)
        {
            self.tanks.push(tank);
            if let Some(next) = overflow.to {
                self.fill(next);
            }
        }
    }

    fn is_smaller(&self, inside: Length) -> bool {
        inside.to_m() < self.bore_m - 1e-6
    }

    /// All of it by name, after the downspout that it begins with, or `None` where something that
    /// held would not.
    pub(super) fn words(self, first: Option<usize>) -> Option<String> {
        let network = self.input.network;
        let bore = say::size_up(self.input.facts.units, self.bore_m);
        let inside = self.input.facts.units.read_size(&bore).ok()?;
        super::proof::sound(self.input, |parts| {
            let pipes = self.lines.iter().map(|id| id.index());
            for index in pipes {
                widen(&mut parts.lines[index].pipe, inside);
            }
            if let Some(index) = first {
                widen(&mut parts.downspouts[index].pipe, inside);
            }
            for id in &self.tanks {
                let overflow = parts.tanks[id.index()].overflow.as_mut();
                if let Some(pipe) = overflow.and_then(|overflow| overflow.pipe.as_mut()) {
                    widen(pipe, inside);
                }
            }
        })?;
        let first = first.map(|index| network.downspouts()[index].tag.clone());
        let lines = self.lines.iter().map(|id| network.line(*id).tag.clone());
        let overflows =
            self.tanks.iter().map(|id| format!("the overflow of {}", network.tank(*id).tag));
        let all: Vec<String> = first.into_iter().chain(lines).chain(overflows).collect();
        let all = say::list(all.iter().map(String::as_str));
        self.fits.then(|| format!("give {all} a bore of {bore} or more"))
    }
}

/// A larger bore in a wall as thick.
fn widen(pipe: &mut Pipe, inside: Length) {
    let wall = pipe.outside.map(|outside| outside - pipe.inside);
    pipe.outside = wall.map(|wall| wall + inside);
    pipe.inside = inside;
}
