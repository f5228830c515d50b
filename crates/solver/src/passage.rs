//! A line whose flow is known: upstream the head is `max(downstream + loss, crest)`.
//!
//! The inverts on the way that can break the full pipe are folded into one level, the crest. The
//! search for the steady state knows the same law with its derivatives; a size, a check and a
//! drawing ask it here.

use crate::laws::{head_loss, outfall, water};
use crate::scenario::{FrictionLaw, Scenario};
use crate::state::LineState;
use wetrun_network::{End, Line, LineEnd, Pipe};
use wetrun_units::{Flow, Length};

/// A line of one bore that carries one flow in one direction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passage {
    upstream: LineEnd,
    /// Head lost in a metre of the full pipe, what its fittings cost spread over its length.
    gradient: f64,
    loss_m: f64,
    crest_m: f64,
    critical_m: f64,
    velocity_head_m: f64,
}

/// A place on the grade line of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GradePoint {
    /// Distance from the start of the line, along it.
    pub at: Length,
    /// Total head.
    pub head: Length,
}

impl Passage {
    /// The passage of `flow` (0 or more) through `line`, were it of `pipe`, from one of its ends.
    pub fn new(
        scenario: &Scenario,
        line: &Line,
        pipe: &Pipe,
        flow: Flow,
        upstream: LineEnd,
    ) -> Self {
        let speed = head_loss::full_speed(flow, pipe.inside);
        let velocity_head_m = head_loss::fitting(1.0, speed).to_m();
        let critical_m = outfall::critical_energy(flow, pipe.inside).to_m();
        let fittings_m = line.total_k() * velocity_head_m;
        let loss_m = friction(scenario, pipe, flow, line.length).to_m() + fittings_m;
        let gradient = loss_m / line.length.to_m();
        let upstream_at = station_at(line, upstream);
        let crest_m = breaking(line)
            .map(|i| {
                let station = &line.profile[i];
                let full_m = (station.at - upstream_at).abs().to_m();
                station.level.to_m() + critical_m + gradient * full_m
            })
            .fold(f64::NEG_INFINITY, f64::max);
        Self { upstream, gradient, loss_m, crest_m, critical_m, velocity_head_m }
    }

    /// Head lost from end to end where no invert breaks the pipe.
    pub fn loss(&self) -> Length {
        Length::m(self.loss_m)
    }

    /// The head at the upstream end is never below this; −∞ where no invert can break the pipe.
    pub fn crest(&self) -> Length {
        Length::m(self.crest_m)
    }

    /// Head at the upstream end for a head at the downstream end.
    pub fn rise(&self, downstream: Length) -> Length {
        (downstream + self.loss()).max(self.crest())
    }

    /// Total head at the tank end of a line, its invert there and the water level given.
    pub fn outfall(&self, invert: Length, water: Option<Length>) -> Length {
        let free = invert + Length::m(self.critical_m);
        water.map_or(free, |level| free.max(level + Length::m(self.velocity_head_m)))
    }

    /// The grade line over a head at the downstream end, from the start of the line to its finish:
    /// each station, and each place where water that runs down from an invert meets the full pipe.
    fn grade_line(&self, line: &Line, downstream: Length) -> Vec<GradePoint> {
        let last = line.profile.len() - 1;
        let place = |i: usize| if self.upstream == LineEnd::From { last - i } else { i };
        let mut breaks = vec![false; line.profile.len()];
        breaking(line).for_each(|i| breaks[i] = true);
        let over = |i: usize| line.profile[i].level + Length::m(self.critical_m);
        let mut head = downstream;
        if breaks[place(0)] {
            head = head.max(over(place(0)));
        }
        let mut path = vec![GradePoint { at: line.profile[place(0)].at, head }];
        for i in 1..=last {
            let (below, here) = (place(i - 1), place(i));
            let at = line.profile[here].at;
            let full = head + Length::m(self.gradient * (at - line.profile[below].at).abs().to_m());
            if breaks[here] && over(here) > full {
                path.extend(self.meets(line, head, [below, here]));
                head = over(here);
            } else {
                head = full;
            }
            path.push(GradePoint { at, head });
        }
        if self.upstream == LineEnd::From {
            path.reverse();
        }
        path
    }

    /// Where the grade line of the full pipe, from a head at the lower of two stations, meets the
    /// water that runs down to it from the higher one.
    fn meets(&self, line: &Line, head: Length, [below, crest]: [usize; 2]) -> Option<GradePoint> {
        let [below, crest] = [&line.profile[below], &line.profile[crest]];
        let length_m = (crest.at - below.at).abs().to_m();
        let over_m = (head - below.level).to_m() - self.critical_m;
        let steeper = (crest.level - below.level).to_m() / length_m - self.gradient;
        let along_m = over_m / steeper;
        (over_m > 0.0 && along_m > 0.0 && along_m < length_m).then(|| GradePoint {
            at: below.at + (crest.at - below.at) * (along_m / length_m),
            head: head + Length::m(self.gradient * along_m),
        })
    }
}

/// The grade line of a line in a solved state, from its start to its finish: total head at each
/// station, at each place where the pipe begins to run full, and twice at an end where a wye or tee
/// takes its loss, the point's own head outermost. Where nothing flows it is the still water's
/// surface, or the invert where the pipe stands dry.
pub fn grade_line(scenario: &Scenario, line: &Line, state: &LineState) -> Vec<GradePoint> {
    let heads = [state.from_head, state.to_head];
    if state.flow == Flow::ZERO {
        return still(line, heads);
    }
    let with_line = state.flow > Flow::ZERO;
    let (upstream, to) = if with_line { (LineEnd::From, 1) } else { (LineEnd::To, 0) };
    let passage = Passage::new(scenario, line, &line.pipe, state.flow.abs(), upstream);
    let mut path = passage.grade_line(line, heads[to] + state.junction_heads[to]);
    let ends = [LineEnd::From, LineEnd::To].map(|end| station_at(line, end));
    if state.junction_heads[0] != Length::ZERO {
        path.insert(0, GradePoint { at: ends[0], head: heads[0] });
    }
    if state.junction_heads[1] != Length::ZERO {
        path.push(GradePoint { at: ends[1], head: heads[1] });
    }
    path
}

/// Still water: what stands at either end reaches as far as no invert rises out of it.
fn still(line: &Line, [from, to]: [Length; 2]) -> Vec<GradePoint> {
    let wet = |level: Length, head: Length| level.to_m() <= head.to_m() + SAME_M;
    let count = line.profile.len();
    let of_from = line.profile.iter().take_while(|s| wet(s.level, from)).count().max(1);
    let of_to = line.profile.iter().rev().take_while(|s| wet(s.level, to)).count().max(1);
    let heads = line.profile.iter().enumerate().map(|(index, station)| {
        let head = if index + 1 == count {
            to
        } else if index < of_from {
            from
        } else if index + of_to >= count {
            to
        } else {
            station.level
        };
        GradePoint { at: station.at, head }
    });
    heads.collect()
}

/// Levels closer than this are one.
const SAME_M: f64 = 1e-9;

fn station_at(line: &Line, end: LineEnd) -> Length {
    let station = match end {
        LineEnd::From => line.profile.first(),
        LineEnd::To => line.profile.last(),
    };
    station.map_or(Length::ZERO, |s| s.at)
}

/// The stations whose invert can break the full pipe: all but an end in a tank.
fn breaking(line: &Line) -> impl Iterator<Item = usize> {
    let last = line.profile.len() - 1;
    let tank = [line.from, line.to].map(|end| matches!(end, End::Tank(_)));
    (0..=last).filter(move |&i| !(i == 0 && tank[0] || i == last && tank[1]))
}

/// Head lost to friction in a length of full pipe by the scenario's law.
pub fn friction(scenario: &Scenario, pipe: &Pipe, flow: Flow, length: Length) -> Length {
    match scenario.law {
        FrictionLaw::DarcyWeisbach => {
            let roughness = pipe.roughness.unwrap_or(Length::ZERO);
            let viscosity = water::viscosity(scenario.temperature);
            head_loss::darcy_weisbach(flow, roughness, pipe.inside, length, viscosity)
        }
        FrictionLaw::HazenWilliams => {
            head_loss::hazen_williams(flow, pipe.c.unwrap_or(f64::NAN), pipe.inside, length)
        }
    }
}
