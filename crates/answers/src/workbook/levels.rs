//! Flows and levels of the network as formulas, from the roofs down and from the tanks up.

use super::book::{Look, Sheet};
use super::critical::{Critical, Depth};
use super::ex::{Ex, n};
use super::inputs::{Cost, Friction, Inputs, metres, names};
use super::junctions;
use super::ways::Ways;
use crate::solved::Solved;
use wetrun_network::{End, LineId, Network, PointId, TankId, cascade};
use wetrun_solver::TankState;
use wetrun_verdict::leaves;

/// A place that has a head: a downspout's foot or a point.
type Node = End;

/// What a line costs, and how deep its flow is where the line is not full.
type Losses<'a> = (&'a Cost, &'a Depth);

/// The sheets of the network, and what their cells come to.
pub(super) struct Levels<'s> {
    solved: &'s Solved,
    inputs: &'s Inputs,
    friction: Friction,
    critical: Critical,
    ways: Ways,
    downspouts: Sheet,
    lines: Sheet,
    stations: Sheet,
    points: Sheet,
    tanks: Sheet,
    junctions: Sheet,
    demands: Vec<Ex>,
    /// What each downspout takes.
    taken: Vec<Ex>,
    /// The flow of each line, 0 or more, along its way, once it is known.
    flows: Vec<Option<Ex>>,
    costs: Vec<Option<Cost>>,
    depths: Vec<Option<Depth>>,
    lengths: Vec<Ex>,
    fittings: Vec<Ex>,
    /// What a wye or tee adds at the upstream and the downstream end.
    offsets: Vec<[Ex; 2]>,
    water: Vec<Option<Ex>>,
    /// Heads of downspouts' feet and of points.
    feet: Vec<Option<Ex>>,
    heads: Vec<Option<Ex>>,
    standing: Vec<Ex>,
    station_row: u32,
}

impl<'s> Levels<'s> {
    pub(super) fn new(
        solved: &'s Solved,
        inputs: &'s Inputs,
        friction: Friction,
        demands: Vec<Ex>,
    ) -> Self {
        let network = &solved.site.network;
        let (lines, downspouts) = (network.lines().len(), network.downspouts().len());
        let sheet = |name, widths: &[f64]| Sheet::new(name, widths, 1);
        let wide = |count: usize| [vec![18.0], vec![14.0; count]].concat();
        Self {
            solved,
            inputs,
            friction,
            critical: Critical::new(),
            ways: Ways::of(network, &solved.steady),
            downspouts: sheet("Downspouts", &wide(16)),
            lines: sheet("Lines", &wide(14)),
            stations: sheet("Stations", &wide(7)),
            points: sheet("Points", &wide(6)),
            tanks: sheet("Tanks", &wide(15)),
            junctions: sheet("Wyes and tees", &wide(17)),
            demands,
            taken: Vec::new(),
            flows: vec![None; lines],
            costs: vec![None; lines],
            depths: vec![None; lines],
            lengths: vec![n(0.0); lines],
            fittings: vec![n(0.0); lines],
            offsets: vec![[n(0.0), n(0.0)]; lines],
            water: vec![None; network.tanks().len()],
            feet: vec![None; downspouts],
            heads: vec![None; network.points().len()],
            standing: Vec::new(),
            station_row: 0,
        }
    }

    /// Works everything out, in the order in which cells refer to each other.
    pub(super) fn work(&mut self) {
        self.heads_of_columns();
        self.take();
        self.give();
        let order = self.ways.order(&self.solved.site.network);
        for node in &order {
            self.send(*node);
        }
        for line in 0..self.flows.len() {
            self.line(line);
        }
        self.junctions();
        self.fill_tanks();
        for node in order.iter().rev() {
            self.raise(*node);
        }
        self.stand();
        self.rest_of_lines();
        self.list_points();
    }

    pub(super) fn sheets(self) -> Vec<Sheet> {
        let mut sheets = vec![self.downspouts, self.lines, self.stations, self.points, self.tanks];
        if !self.junctions.cells.is_empty() {
            sheets.push(self.junctions);
        }
        sheets.push(self.friction.sheet);
        sheets.push(self.critical.sheet);
        sheets
    }

    fn heads_of_columns(&mut self) {
        let unit = names(self.inputs.units).length;
        let of = |sheet: &mut Sheet, heads: &[&str]| {
            let heads: Vec<String> = heads.iter().map(|head| head.replace('@', unit)).collect();
            let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
            sheet.heads(0, &heads);
        };
        of(
            &mut self.downspouts,
            &[
                "downspout",
                "opening, @",
                "spills at, @",
                "foot, @",
                "fittings K",
                "demand, m3/s",
                "takes, m3/s",
                "head at foot, m",
                "friction, m/m",
                "velocity head, m",
                "standing level, m",
                "standing level, @",
                "headroom, @",
                "level of `check`, @",
                "apart, m",
                "over where it spills, @",
                "head there as solved, m",
            ],
        );
        of(
            &mut self.lines,
            &[
                "line",
                "from",
                "to",
                "runs to",
                "length, @",
                "fittings K",
                "flow, m3/s",
                "friction, m/m",
                "fittings, m/m",
                "head at its lower end, m",
                "head at its upper end, m",
                "that of `check`, m",
                "apart, m",
            ],
        );
        of(
            &mut self.stations,
            &[
                "line",
                "from its start, @",
                "invert, @",
                "stretch, m",
                "head by losses, m",
                "head by the invert, m",
                "head, m",
            ],
        );
        of(
            &mut self.points,
            &[
                "point",
                "head, m",
                "head, @",
                "that of `check`, @",
                "apart, m",
                "comes out as solved, m3/s",
                "head there as solved, m",
            ],
        );
        of(
            &mut self.tanks,
            &[
                "tank",
                "inlet, @",
                "overflow, @",
                "k of its edge",
                "receives, m3/s",
                "bore, m",
                "depth over it, m",
                "velocity head, m",
                "full bore's velocity head, m",
                "water beyond, m",
                "rim, @",
                "water level, m",
                "water level, @",
                "level of `check`, @",
                "apart, m",
                "overflows as solved, m3/s",
            ],
        );
    }

    /// A length or level as an input in the file's unit, in metres.
    fn level(sheet: &mut Sheet, inputs: &Inputs, at: (u32, u32), metres_: f64) -> Ex {
        let (unit_m, _) = metres(inputs.units);
        sheet.number(at.0, at.1, metres_ / unit_m, Look::Input) * &inputs.length
    }

    fn take(&mut self) {
        let network = &self.solved.site.network;
        let total: wetrun_units::Flow =
            self.solved.steady.downspouts.iter().map(|state| state.demand).sum();
        for (index, (spout, state)) in
            network.downspouts().iter().zip(&self.solved.steady.downspouts).enumerate()
        {
            let row = index as u32 + 1;
            self.downspouts.text(row, 0, &spout.tag, Look::Plain);
            let demand = self.downspouts.formula(row, 5, &self.demands[index], Look::Small);
            let whole = !leaves(state.spilled, total) && state.admitted.to_m3_per_s() >= 0.0;
            let taken = match whole {
                true => self.downspouts.formula(row, 6, &demand, Look::Small),
                false => self.downspouts.number(row, 6, state.admitted.to_m3_per_s(), Look::Solved),
            };
            self.taken.push(taken);
        }
    }

    fn network(&self) -> &'s Network {
        &self.solved.site.network
    }

    /// What tanks give back into lines: as solved.
    fn give(&mut self) {
        for line in 0..self.flows.len() {
            if let Some([End::Tank(_), _]) = self.ways.ends(line) {
                self.flows[line] = Some(self.flow_as_solved(line));
            }
        }
    }

    fn flow_as_solved(&mut self, line: usize) -> Ex {
        let flow = self.solved.steady.lines[line].flow.to_m3_per_s().abs();
        self.lines.number(line as u32 + 1, 6, flow, Look::Solved)
    }

    /// What a node sends on: by its first line what comes to it, by others as solved.
    fn send(&mut self, node: Node) {
        let network = self.network();
        let outs = self.ways.outs(network, node).to_vec();
        let ins = self.ways.ins(network, node).iter().map(|line| self.flows[*line].clone());
        // None of a place in a circle, whose water comes back to it.
        let comes: Option<Vec<Ex>> = ins.collect();
        let own = match node {
            End::Downspout(id) => self.taken[id.index()].clone(),
            End::Point(id) => self.comes_out(id).map_or(n(0.0), |out| -&out),
            End::Tank(_) => n(0.0),
        };
        let mut sent = n(0.0);
        for (number, &line) in outs.iter().enumerate().rev() {
            let comes = comes.clone().filter(|_| number == 0);
            let flow = match comes {
                None => {
                    let flow = self.flow_as_solved(line);
                    sent = sent + &flow;
                    flow
                }
                Some(comes) => {
                    let mut flow = Ex::sum(comes) + &own;
                    if outs.len() > 1 {
                        flow = flow - &sent;
                    }
                    self.lines.formula(line as u32 + 1, 6, &flow, Look::Small)
                }
            };
            self.flows[line] = Some(flow);
        }
    }

    /// What comes out by an opening: as solved, where any does.
    fn comes_out(&mut self, point: PointId) -> Option<Ex> {
        let openings = &self.solved.steady.openings;
        let out = openings.iter().find(|opening| opening.at == point)?.escapes.to_m3_per_s();
        let row = point.index() as u32 + 1;
        (out != 0.0).then(|| self.points.number(row, 5, out, Look::Solved))
    }

    /// What is known of a line before heads are.
    fn line(&mut self, index: usize) {
        let network = &self.solved.site.network;
        let this = network.line(LineId::new(index));
        let row = index as u32 + 1;
        self.lines.text(row, 0, &this.tag, Look::Plain);
        self.lines.text(row, 1, network.end_tag(this.from), Look::Plain);
        self.lines.text(row, 2, network.end_tag(this.to), Look::Plain);
        let to = self.ways.ends(index).map_or("stands still", |[_, to]| network.end_tag(to));
        self.lines.text(row, 3, to, Look::Plain);
        self.lengths[index] =
            Self::level(&mut self.lines, self.inputs, (row, 4), this.length.to_m());
        let mut k = n(this.k);
        for fitting in this.fittings.iter().filter(|fitting| fitting.count > 0) {
            k = k + n(f64::from(fitting.count)) * n(fitting.k);
        }
        self.fittings[index] = self.lines.formula(row, 5, &k, Look::Input);
        let Some(flow) = self.flows[index].clone() else {
            let none = self.lines.number(row, 6, 0.0, Look::Plain);
            if self.stands_in_a_wye(index) {
                let cost = self.friction.pipe(self.inputs, &this.tag, &this.pipe, &none);
                self.costs[index] = Some(cost);
            }
            return;
        };
        let cost = self.friction.pipe(self.inputs, &this.tag, &this.pipe, &flow);
        let name = format!("{} at an invert", this.tag);
        self.depths[index] = Some(self.critical.depth(self.inputs, &name, &flow, &cost.bore));
        self.lines.formula(row, 7, &cost.slope, Look::Small);
        let fittings = &self.fittings[index] * &cost.velocity_head / &self.lengths[index];
        self.lines.formula(row, 8, &fittings, Look::Small);
        self.costs[index] = Some(cost);
    }

    /// Whether a line is a leg of a wye or a tee.
    fn stands_in_a_wye(&self, line: usize) -> bool {
        let network = self.network();
        let this = network.line(LineId::new(line));
        [this.from, this.to]
            .into_iter()
            .any(|end| matches!(end, End::Point(id) if network.point(id).fitting.is_some()))
    }

    fn junctions(&mut self) {
        let network = self.network();
        let mut row = 0;
        for (index, point) in network.points().iter().enumerate() {
            let Some(junction) = point.fitting else { continue };
            let here = End::Point(PointId::new(index));
            let branch = junction.branch.index();
            let met = network.meets(here).map(|(line, _)| line.index());
            let run: Vec<usize> = met.filter(|line| *line != branch).collect();
            let [one, two] = run[..] else { continue };
            let legs = [branch, one, two].map(|line| {
                let inward = self.ways.ends(line).is_some_and(|[_, to]| to == here);
                let flow = match &self.flows[line] {
                    None => n(0.0),
                    Some(flow) if inward => flow.clone(),
                    Some(flow) => -flow,
                };
                let area =
                    self.costs[line].as_ref().map_or_else(|| n(0.0), |cost| cost.area.clone());
                (flow, area)
            });
            row += 1;
            let g = &self.inputs.g;
            let offsets = junctions::row(&mut self.junctions, row, &point.tag, junction, legs, g);
            for (line, offset) in [branch, one, two].into_iter().zip(offsets) {
                let side = self.ways.ends(line).is_some_and(|[_, to]| to == here);
                self.offsets[line][usize::from(side)] = offset;
            }
        }
    }

    /// Water levels of full tanks, those first into which others overflow.
    fn fill_tanks(&mut self) {
        let network = &self.solved.site.network;
        let full = self.solved.scenario.tanks == TankState::Full;
        let to: Vec<Option<TankId>> = network
            .tanks()
            .iter()
            .map(|tank| tank.overflow.as_ref().filter(|_| full).and_then(|overflow| overflow.to))
            .collect();
        let order: Vec<usize> = cascade(&to).into_iter().map(TankId::index).collect();
        let mut nets = vec![n(0.0); to.len()];
        for &tank in &order {
            let here = End::Tank(TankId::new(tank));
            let flows = |lines: &[usize]| -> Vec<Ex> {
                lines.iter().filter_map(|line| self.flows[*line].clone()).collect()
            };
            let mut net = Ex::sum(flows(self.ways.ins(network, here)));
            for flow in flows(self.ways.outs(network, here)) {
                net = net - &flow;
            }
            for (giver, _) in
                to.iter().enumerate().filter(|(_, to)| **to == Some(TankId::new(tank)))
            {
                let state = &self.solved.steady.tanks[giver];
                net = match state.over_rim.to_m3_per_s() > 0.0 {
                    // The rest goes over its rim.
                    true => {
                        let over = state.overflow.to_m3_per_s();
                        net + self.tanks.number(giver as u32 + 1, 15, over, Look::Solved)
                    }
                    false => net + nets[giver].max(&n(0.0)),
                };
            }
            let row = tank as u32 + 1;
            let this = network.tank(TankId::new(tank));
            self.tanks.text(row, 0, &this.tag, Look::Plain);
            nets[tank] = self.tanks.formula(row, 4, &net, Look::Small);
        }
        for &tank in order.iter().rev() {
            self.fill(tank, &nets[tank], to[tank], full);
        }
    }

    fn fill(&mut self, tank: usize, net: &Ex, to: Option<TankId>, full: bool) {
        let this = self.solved.site.network.tank(TankId::new(tank));
        let state = &self.solved.steady.tanks[tank];
        let row = tank as u32 + 1;
        Self::level(&mut self.tanks, self.inputs, (row, 1), this.inlet.to_m());
        let Some(overflow) = this.overflow.as_ref().filter(|_| full) else { return };
        let level = Self::level(&mut self.tanks, self.inputs, (row, 2), overflow.level.to_m());
        let k = self.tanks.number(row, 3, overflow.k, Look::Input);
        let gets = net.max(&n(0.0));
        let mut water = level;
        let beyond = to.and_then(|to| self.water[to.index()].clone());
        let mut across = n(0.0);
        if let Some(pipe) = &overflow.pipe {
            let bore = self.tanks.number(row, 5, pipe.inside.to_m(), Look::Input);
            let name = format!("{} overflow", this.tag);
            let depth = self.critical.depth(self.inputs, &name, &gets, &bore);
            let over = self.tanks.formula(row, 6, &depth.energy, Look::Small);
            let head = self.tanks.formula(row, 7, &depth.velocity_head, Look::Small);
            water = water + over + &k * head;
            let area = n(std::f64::consts::FRAC_PI_4) * &bore * &bore;
            let speed = &gets / area;
            let head = &speed * &speed / (n(2.0) * &self.inputs.g);
            let head = self.tanks.formula(row, 8, &head, Look::Small);
            across = (n(1.0) + k) * head;
        }
        if let Some(beyond) = beyond {
            let beyond = self.tanks.formula(row, 9, &beyond, Look::Level);
            water = water.max(&(beyond + across));
        }
        if let Some(rim) = this.rim {
            let rim = Self::level(&mut self.tanks, self.inputs, (row, 10), rim.to_m());
            water = water.min(&rim);
        }
        let water = self.tanks.formula(row, 11, &water, Look::Level);
        let (unit_m, _) = metres(self.inputs.units);
        self.tanks.formula(row, 12, &(&water / &self.inputs.length), Look::Level);
        if let Some(level) = state.water_level {
            let check = self.tanks.number(row, 13, level.to_m() / unit_m, Look::Level);
            let apart = &water - check * &self.inputs.length;
            self.tanks.formula(row, 14, &apart, Look::Residual);
        }
        self.water[tank] = Some(water);
    }

    /// The head of a node, from what stands downstream of it.
    fn raise(&mut self, node: Node) {
        let outs = self.ways.outs(self.network(), node).to_vec();
        let mut head = None;
        for line in outs {
            let Some(above) = self.climb(line) else { continue };
            let seen = above - &self.offsets[line][0];
            // Other ways out lead to the same head; how closely is told beside the line.
            head.get_or_insert(seen);
        }
        // Where nothing goes on water stands still or comes up: as solved.
        match node {
            End::Downspout(id) => {
                let (row, solved) = (id.index() as u32 + 1, &self.solved.steady.downspouts);
                self.feet[id.index()] = Some(match &head {
                    Some(head) => self.downspouts.formula(row, 7, head, Look::Level),
                    None => {
                        let solved = solved[id.index()].foot_head.to_m();
                        self.downspouts.number(row, 7, solved, Look::Solved)
                    }
                });
            }
            End::Point(id) => {
                let (row, solved) = (id.index() as u32 + 1, &self.solved.steady.points);
                self.heads[id.index()] = Some(match &head {
                    Some(head) => self.points.formula(row, 1, head, Look::Level),
                    None => {
                        let solved = solved[id.index()].head.to_m();
                        self.points.number(row, 1, solved, Look::Solved)
                    }
                });
            }
            End::Tank(_) => {}
        }
    }

    /// The head that a line has at its upper end, station by station from its lower end.
    /// None of a line in which water stands still.
    fn climb(&mut self, index: usize) -> Option<Ex> {
        let this = self.network().line(LineId::new(index));
        let cost = self.costs[index].clone()?;
        let depth = self.depths[index].clone()?;
        let [from, to] = self.ways.ends(index)?;
        let mut stations: Vec<(f64, f64)> =
            this.profile.iter().map(|s| (s.at.to_m(), s.level.to_m())).collect();
        if this.from == from {
            stations.reverse();
        }
        let row = index as u32 + 1;
        let per_m =
            &cost.slope + &self.fittings[index] * &cost.velocity_head / &self.lengths[index];
        let last = stations.len().saturating_sub(1);
        let whole = this.length.to_m();
        let mut head = n(0.0);
        let mut before: Option<Ex> = None;
        for (number, &(at_m, level_m)) in stations.iter().enumerate() {
            self.station_row += 1;
            let place = self.station_row;
            self.stations.text(place, 0, &this.tag, Look::Plain);
            let (unit_m, _) = metres(self.inputs.units);
            // The far end of the profile is that of the length.
            let at = match (at_m - whole).abs() <= 5.1e-3 && at_m > 0.0 {
                true => {
                    let shown = &self.lengths[index] / &self.inputs.length;
                    self.stations.formula(place, 1, &shown, Look::Level) * &self.inputs.length
                }
                false => {
                    self.stations.number(place, 1, at_m / unit_m, Look::Input) * &self.inputs.length
                }
            };
            let lowest = number == 0;
            let end = if lowest { Some(to) } else { (number == last).then_some(from) };
            let invert = self.invert(place, level_m, end, lowest);
            let by_losses = match &before {
                None => self.lower_end(index, to, &invert, (&cost, &depth)),
                Some(before) => {
                    let stretch =
                        self.stations.formula(place, 3, &(&at - before).abs(), Look::Small);
                    &head + stretch * &per_m
                }
            };
            let by_losses = self.stations.formula(place, 4, &by_losses, Look::Level);
            let at_tank = matches!(end, Some(End::Tank(_)));
            head = match at_tank {
                true => self.stations.formula(place, 6, &by_losses, Look::Level),
                false => {
                    let crest = &invert + &depth.energy;
                    let crest = self.stations.formula(place, 5, &crest, Look::Level);
                    self.stations.formula(place, 6, &by_losses.max(&crest), Look::Level)
                }
            };
            if lowest {
                self.lines.formula(row, 9, &head, Look::Level);
            }
            before = Some(at);
        }
        Some(self.lines.formula(row, 10, &head, Look::Level))
    }

    /// The invert of a line at a station, metres. At a tank's inlet it is that of the tank.
    fn invert(&mut self, place: u32, level_m: f64, end: Option<End>, lowest: bool) -> Ex {
        let (unit_m, _) = metres(self.inputs.units);
        let Some(End::Tank(id)) = end else {
            return Self::level(&mut self.stations, self.inputs, (place, 2), level_m);
        };
        let inlet = self.tanks.value(id.index() as u32 + 1, 1);
        let same = self.network().tank(id).inlet.to_m() == level_m;
        match inlet.filter(|_| same) {
            Some(inlet) => {
                self.stations.formula(place, 2, &inlet, Look::Level) * &self.inputs.length
            }
            // Where water comes out of a tank nothing hangs on it.
            None => {
                let look = if lowest { Look::Input } else { Look::Level };
                self.stations.number(place, 2, level_m / unit_m, look) * &self.inputs.length
            }
        }
    }

    /// What stands at a line's lower end.
    fn lower_end(&mut self, index: usize, to: End, invert: &Ex, (cost, depth): Losses<'_>) -> Ex {
        match to {
            End::Tank(id) => {
                let free = invert + &depth.energy;
                match &self.water[id.index()] {
                    Some(water) => free.max(&(water + &cost.velocity_head)),
                    None => free,
                }
            }
            // In a circle it is not known yet: as solved.
            End::Downspout(id) => {
                let (row, solved) = (id.index() as u32 + 1, &self.solved.steady.downspouts);
                let head = self.feet[id.index()].clone().unwrap_or_else(|| {
                    let solved = solved[id.index()].foot_head.to_m();
                    self.downspouts.number(row, 16, solved, Look::Solved)
                });
                head + &self.offsets[index][1]
            }
            End::Point(id) => {
                let (row, solved) = (id.index() as u32 + 1, &self.solved.steady.points);
                let head = self.heads[id.index()].clone().unwrap_or_else(|| {
                    let solved = solved[id.index()].head.to_m();
                    self.points.number(row, 6, solved, Look::Solved)
                });
                head + &self.offsets[index][1]
            }
        }
    }

    /// Standing levels.
    fn stand(&mut self) {
        let network = &self.solved.site.network;
        let (unit_m, _) = metres(self.inputs.units);
        for (index, (spout, state)) in
            network.downspouts().iter().zip(&self.solved.steady.downspouts).enumerate()
        {
            let row = index as u32 + 1;
            let sheet = &mut self.downspouts;
            let opening = Self::level(sheet, self.inputs, (row, 1), spout.opening().to_m());
            // With no lip above it water spills where it runs in.
            let spill = match spout.spill_level() == spout.opening() {
                true => {
                    let same = &opening / &self.inputs.length;
                    sheet.formula(row, 2, &same, Look::Level) * &self.inputs.length
                }
                false => Self::level(sheet, self.inputs, (row, 2), spout.spill_level().to_m()),
            };
            let foot = Self::level(sheet, self.inputs, (row, 3), spout.foot.to_m());
            let mut k = n(spout.k);
            for fitting in spout.fittings.iter().filter(|fitting| fitting.count > 0) {
                k = k + n(f64::from(fitting.count)) * n(fitting.k);
            }
            let k = sheet.formula(row, 4, &k, Look::Input);
            let Some(head) = &self.feet[index] else { continue };
            let flow = self.taken[index].max(&n(0.0));
            let cost = self.friction.pipe(self.inputs, &spout.tag, &spout.pipe, &flow);
            let slope = sheet.formula(row, 8, &cost.slope, Look::Small);
            let velocity = sheet.formula(row, 9, &cost.velocity_head, Look::Small);
            // s = head + slope (s - foot) + K V²/2g, for s.
            let full = (head + &k * &velocity - &slope * &foot) / (n(1.0) - &slope);
            let level = slope.below(&n(1.0)).then(&full.min(&spill), &spill);
            let level = self.taken[index].below(&n(0.0)).then(&spill, &level);
            let level = sheet.formula(row, 10, &level, Look::Level);
            // What would stand above it, where all of the water went down.
            let over = (full.max(&spill) - &spill) / &self.inputs.length;
            let over = slope.below(&n(1.0)).then(&over, &n(0.0));
            let over = self.taken[index].below(&n(0.0)).then(&n(0.0), &over);
            sheet.formula(row, 15, &over, Look::Level);
            sheet.formula(row, 11, &(&level / &self.inputs.length), Look::Level);
            sheet.formula(row, 12, &((&opening - &level) / &self.inputs.length), Look::Level);
            let check = state.standing_level.to_m() / unit_m;
            let check = sheet.number(row, 13, check, Look::Level);
            let apart = &level - check * &self.inputs.length;
            sheet.formula(row, 14, &apart, Look::Residual);
            self.standing.push(level);
        }
    }

    /// Beside each line what the solver found at its upper end.
    fn rest_of_lines(&mut self) {
        for index in 0..self.flows.len() {
            let Some([from, _]) = self.ways.ends(index) else { continue };
            let state = &self.solved.steady.lines[index];
            let this = self.solved.site.network.line(LineId::new(index));
            if let End::Tank(_) = from {
                self.climb(index);
            }
            let row = index as u32 + 1;
            let found = if from == this.from { state.from_head } else { state.to_head };
            let check = self.lines.number(row, 11, found.to_m(), Look::Level);
            let Some(value) = self.lines.value(row, 10) else { continue };
            let offset = &self.offsets[index][0];
            let apart = value - offset - check;
            self.lines.formula(row, 12, &apart, Look::Residual);
        }
    }

    fn list_points(&mut self) {
        let network = &self.solved.site.network;
        let (unit_m, _) = metres(self.inputs.units);
        for (index, point) in network.points().iter().enumerate() {
            let row = index as u32 + 1;
            let solved = self.solved.steady.points[index].head.to_m();
            self.points.text(row, 0, &point.tag, Look::Plain);
            let Some(head) = &self.heads[index] else { continue };
            self.points.formula(row, 2, &(head / &self.inputs.length), Look::Level);
            let check = self.points.number(row, 3, solved / unit_m, Look::Level);
            let apart = head - check * &self.inputs.length;
            self.points.formula(row, 4, &apart, Look::Residual);
        }
    }

    /// The answer: every downspout's level and headroom, and how closely it is that of the solver.
    pub(super) fn answer(&self, sheet: &mut Sheet, top: u32) {
        let unit = names(self.inputs.units).length;
        let heads = [
            "downspout".to_owned(),
            format!("opening, {unit}"),
            format!("standing level, {unit}"),
            format!("headroom, {unit}"),
            format!("over the freeboard, {unit}"),
            format!("over where it spills, {unit}"),
        ];
        let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
        sheet.heads(top, &heads);
        for (index, spout) in self.solved.site.network.downspouts().iter().enumerate() {
            let (row, from) = (top + 1 + index as u32, index as u32 + 1);
            sheet.text(row, 0, &spout.tag, Look::Plain);
            for (column, of) in [(1, 1), (2, 11), (3, 12)] {
                if let Some(value) = self.downspouts.value(from, of) {
                    sheet.formula(row, column, &value, Look::Level);
                }
            }
            if let Some(headroom) = self.downspouts.value(from, 12) {
                let over = headroom - &self.inputs.freeboard;
                sheet.formula(row, 4, &over, Look::Level);
            }
            if let Some(over) = self.downspouts.value(from, 15) {
                sheet.formula(row, 5, &over, Look::Level);
            }
        }
    }
}
