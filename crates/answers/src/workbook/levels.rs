//! Flows and levels of the network as formulas, from the roofs down and from the tanks up.

use super::book::{Look, Sheet};
use super::critical::{Critical, Depth};
use super::ex::{Ex, n};
use super::inputs::{Cost, Friction, Inputs, metres, names};
use super::junctions;
use crate::solved::Solved;
use wetrun_network::{DownspoutId, End, LineId, PointId, TankId, cascade};
use wetrun_solver::TankState;
use wetrun_verdict::leaves;

/// A place that has a head: a downspout's foot or a point.
type Node = End;

/// The sheets of the network, and what their cells come to.
pub(super) struct Levels<'s> {
    solved: &'s Solved,
    inputs: &'s Inputs,
    friction: Friction,
    critical: Critical,
    downspouts: Sheet,
    lines: Sheet,
    stations: Sheet,
    points: Sheet,
    tanks: Sheet,
    junctions: Sheet,
    demands: Vec<Ex>,
    /// What each downspout takes.
    taken: Vec<Ex>,
    /// The flow of each line, 0 or more, along its way.
    flows: Vec<Ex>,
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
            downspouts: sheet("Downspouts", &wide(14)),
            lines: sheet("Lines", &wide(14)),
            stations: sheet("Stations", &wide(7)),
            points: sheet("Points", &wide(4)),
            tanks: sheet("Tanks", &wide(14)),
            junctions: sheet("Junctions", &wide(17)),
            demands,
            taken: Vec::new(),
            flows: vec![n(0.0); lines],
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
        let order = self.order();
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
        of(&mut self.points, &["point", "head, m", "head, @", "that of `check`, @", "apart, m"]);
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

    /// Whether water moves in a line.
    fn moves(&self, line: usize) -> bool {
        let total: f64 =
            self.solved.steady.downspouts.iter().map(|state| state.demand.to_m3_per_s()).sum();
        self.solved.steady.lines[line].flow.to_m3_per_s().abs() > 1e-12 * total.max(1e-9)
    }

    /// The upstream and the downstream end.
    fn ends(&self, line: usize) -> [End; 2] {
        let this = self.solved.site.network.line(LineId::new(line));
        match self.solved.steady.lines[line].flow.to_m3_per_s() >= 0.0 {
            true => [this.from, this.to],
            false => [this.to, this.from],
        }
    }

    fn lines_at(&self, node: Node, side: usize) -> Vec<usize> {
        (0..self.flows.len())
            .filter(|line| self.moves(*line) && self.ends(*line)[side] == node)
            .collect()
    }

    fn nodes(&self) -> Vec<Node> {
        let network = &self.solved.site.network;
        let spouts = (0..network.downspouts().len()).map(|d| End::Downspout(DownspoutId::new(d)));
        spouts.chain((0..network.points().len()).map(|p| End::Point(PointId::new(p)))).collect()
    }

    /// The nodes, each behind those that water comes to it from; what runs in a circle comes last.
    fn order(&self) -> Vec<Node> {
        let mut left = self.nodes();
        let mut order = Vec::new();
        loop {
            let ready = |node: &Node| {
                let before = self.lines_at(*node, 1);
                before.iter().all(|line| !left.contains(&self.ends(*line)[0]))
            };
            let (now, later): (Vec<Node>, Vec<Node>) = left.iter().partition(|node| ready(node));
            if now.is_empty() {
                order.extend(later);
                return order;
            }
            order.extend(now);
            left = later;
        }
    }

    /// What a node sends on: by its first line what comes to it, by others as solved.
    fn send(&mut self, node: Node) {
        let (ins, outs) = (self.lines_at(node, 1), self.lines_at(node, 0));
        let solved = |line: usize| self.solved.steady.lines[line].flow.to_m3_per_s().abs();
        let circle = ins.iter().any(|line| self.flows[*line].text == "0");
        let own = match node {
            End::Downspout(id) => self.taken[id.index()].clone(),
            End::Point(id) => {
                let at = self.solved.steady.openings.iter().find(|opening| opening.at == id);
                n(at.map_or(0.0, |opening| -opening.escapes.to_m3_per_s()))
            }
            End::Tank(_) => n(0.0),
        };
        let mut sent = n(0.0);
        for (number, &line) in outs.iter().enumerate().rev() {
            let row = line as u32 + 1;
            self.flows[line] = match number == 0 && !circle {
                false => {
                    let flow = solved(line);
                    let flow = self.lines.number(row, 6, flow, Look::Solved);
                    sent = sent + &flow;
                    flow
                }
                true => {
                    let comes = Ex::sum(ins.iter().map(|line| self.flows[*line].clone()));
                    let mut flow = comes + &own;
                    if outs.len() > 1 {
                        flow = flow - &sent;
                    }
                    self.lines.formula(row, 6, &flow, Look::Small)
                }
            };
        }
    }

    /// What is known of a line before heads are.
    fn line(&mut self, index: usize) {
        let network = &self.solved.site.network;
        let this = network.line(LineId::new(index));
        let row = index as u32 + 1;
        let tag = |end: End| match end {
            End::Downspout(id) => network.downspout(id).tag.clone(),
            End::Point(id) => network.point(id).tag.clone(),
            End::Tank(id) => network.tank(id).tag.clone(),
        };
        self.lines.text(row, 0, &this.tag, Look::Plain);
        self.lines.text(row, 1, &tag(this.from), Look::Plain);
        self.lines.text(row, 2, &tag(this.to), Look::Plain);
        let to =
            if self.moves(index) { tag(self.ends(index)[1]) } else { "stands still".to_owned() };
        self.lines.text(row, 3, &to, Look::Plain);
        self.lengths[index] =
            Self::level(&mut self.lines, self.inputs, (row, 4), this.length.to_m());
        let mut k = n(this.k);
        for fitting in this.fittings.iter().filter(|fitting| fitting.count > 0) {
            k = k + n(f64::from(fitting.count)) * n(fitting.k);
        }
        self.fittings[index] = self.lines.formula(row, 5, &k, Look::Input);
        if !self.moves(index) {
            self.lines.number(row, 6, 0.0, Look::Plain);
            return;
        }
        // Water that a tank feeds in is as solved.
        if let End::Tank(_) = self.ends(index)[0] {
            let flow = self.solved.steady.lines[index].flow.to_m3_per_s().abs();
            self.flows[index] = self.lines.number(row, 6, flow, Look::Solved);
        }
        let flow = self.flows[index].clone();
        let cost = self.friction.pipe(self.inputs, &this.tag, &this.pipe, &flow);
        let name = format!("{} at an invert", this.tag);
        self.depths[index] = Some(self.critical.depth(self.inputs, &name, &flow, &cost.bore));
        self.lines.formula(row, 7, &cost.slope, Look::Small);
        let fittings = &self.fittings[index] * &cost.velocity_head / &self.lengths[index];
        self.lines.formula(row, 8, &fittings, Look::Small);
        self.costs[index] = Some(cost);
    }

    fn junctions(&mut self) {
        let network = &self.solved.site.network;
        let mut row = 0;
        for (index, point) in network.points().iter().enumerate() {
            let Some(junction) = point.fitting else { continue };
            let here = End::Point(PointId::new(index));
            let at = |line: usize| {
                let this = network.line(LineId::new(line));
                this.from == here || this.to == here
            };
            let branch = junction.branch.index();
            let run: Vec<usize> =
                (0..self.flows.len()).filter(|line| at(*line) && *line != branch).collect();
            let [one, two] = run[..] else { continue };
            let legs = [branch, one, two].map(|line| {
                let inward = self.moves(line) && self.ends(line)[1] == here;
                let bore = network.line(LineId::new(line)).pipe.inside;
                let flow = match (self.moves(line), inward) {
                    (false, _) => n(0.0),
                    (true, true) => self.flows[line].clone(),
                    (true, false) => -&self.flows[line],
                };
                let area = self.costs[line].as_ref().map_or_else(
                    || n(std::f64::consts::FRAC_PI_4 * bore.to_m() * bore.to_m()),
                    |cost| cost.area.clone(),
                );
                (flow, area)
            });
            row += 1;
            let g = &self.inputs.g;
            let offsets = junctions::row(&mut self.junctions, row, &point.tag, junction, legs, g);
            for (line, offset) in [branch, one, two].into_iter().zip(offsets) {
                let side = usize::from(self.ends(line)[1] == here);
                self.offsets[line][side] = offset;
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
            let ins = self.lines_at(here, 1).into_iter().map(|line| self.flows[line].clone());
            let mut net = Ex::sum(ins.collect::<Vec<_>>());
            for line in self.lines_at(here, 0) {
                net = net - &self.flows[line];
            }
            for (giver, _) in
                to.iter().enumerate().filter(|(_, to)| **to == Some(TankId::new(tank)))
            {
                let state = &self.solved.steady.tanks[giver];
                net = match state.over_rim.to_m3_per_s() > 0.0 {
                    true => net + n(state.overflow.to_m3_per_s()),
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
        let outs = self.lines_at(node, 0);
        let mut head = None;
        for line in outs {
            let above = self.climb(line);
            let seen = above - &self.offsets[line][0];
            // Other ways out lead to the same head; how closely is told beside the line.
            head.get_or_insert(seen);
        }
        match node {
            End::Downspout(id) => self.feet[id.index()] = head,
            End::Point(id) => self.heads[id.index()] = head,
            End::Tank(_) => {}
        }
    }

    /// The head that a line has at its upper end, station by station from its lower end.
    fn climb(&mut self, index: usize) -> Ex {
        let this = self.solved.site.network.line(LineId::new(index));
        let (Some(cost), Some(depth)) = (self.costs[index].clone(), self.depths[index].clone())
        else {
            return n(0.0);
        };
        let [from, to] = self.ends(index);
        let forward = this.from == from;
        let mut stations: Vec<(f64, f64)> =
            this.profile.iter().map(|s| (s.at.to_m(), s.level.to_m())).collect();
        if forward {
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
            let invert = Self::level(&mut self.stations, self.inputs, (place, 2), level_m);
            let by_losses = match &before {
                None => self.lower_end(index, to),
                Some(before) => {
                    let stretch =
                        self.stations.formula(place, 3, &(&at - before).abs(), Look::Small);
                    &head + stretch * &per_m
                }
            };
            let by_losses = self.stations.formula(place, 4, &by_losses, Look::Level);
            let at_tank = (number == 0 && matches!(to, End::Tank(_)))
                || (number == last && matches!(from, End::Tank(_)));
            head = match at_tank {
                true => self.stations.formula(place, 6, &by_losses, Look::Level),
                false => {
                    let crest = invert + &depth.energy;
                    let crest = self.stations.formula(place, 5, &crest, Look::Level);
                    self.stations.formula(place, 6, &by_losses.max(&crest), Look::Level)
                }
            };
            if number == 0 {
                self.lines.formula(row, 9, &head, Look::Level);
            }
            before = Some(at);
        }
        self.lines.formula(row, 10, &head, Look::Level)
    }

    /// What stands at a line's lower end.
    fn lower_end(&self, index: usize, to: End) -> Ex {
        let state = &self.solved.steady.lines[index];
        let told = |level: wetrun_units::Length| n(level.to_m());
        match to {
            End::Tank(id) => {
                let this = self.solved.site.network.line(LineId::new(index));
                let forward = self.ends(index)[0] == this.from;
                let level = if forward { this.to_level() } else { this.from_level() };
                let (Some(cost), Some(depth)) = (&self.costs[index], &self.depths[index]) else {
                    return told(state.to_head);
                };
                // The inlet is an input of the tank where the line ends there.
                let inlet = self.solved.site.network.tank(id).inlet;
                let row = id.index() as u32 + 1;
                let level = match level == inlet {
                    true => {
                        let (unit_m, _) = metres(self.inputs.units);
                        let text = format!("{}!$B${}", self.tanks.name, row + 1);
                        Ex { text, value: inlet.to_m() / unit_m } * &self.inputs.length
                    }
                    false => n(level.to_m()),
                };
                let free = level + &depth.energy;
                match &self.water[id.index()] {
                    Some(water) => free.max(&(water + &cost.velocity_head)),
                    None => free,
                }
            }
            End::Downspout(id) => {
                let head = self.feet[id.index()].clone();
                let spill = self.solved.site.network.downspout(id).spill_level();
                head.unwrap_or_else(|| told(spill)) + &self.offsets[index][1]
            }
            End::Point(id) => {
                let head = self.heads[id.index()].clone();
                let solved = self.solved.steady.points[id.index()].head;
                head.unwrap_or_else(|| told(solved)) + &self.offsets[index][1]
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
            let spill = Self::level(sheet, self.inputs, (row, 2), spout.spill_level().to_m());
            let foot = Self::level(sheet, self.inputs, (row, 3), spout.foot.to_m());
            let mut k = n(spout.k);
            for fitting in spout.fittings.iter().filter(|fitting| fitting.count > 0) {
                k = k + n(f64::from(fitting.count)) * n(fitting.k);
            }
            let k = sheet.formula(row, 4, &k, Look::Input);
            let head = match &self.feet[index] {
                Some(head) => sheet.formula(row, 7, head, Look::Level),
                None => sheet.number(row, 7, state.foot_head.to_m(), Look::Solved),
            };
            let flow = self.taken[index].max(&n(0.0));
            let cost = self.friction.pipe(self.inputs, &spout.tag, &spout.pipe, &flow);
            let slope = sheet.formula(row, 8, &cost.slope, Look::Small);
            let velocity = sheet.formula(row, 9, &cost.velocity_head, Look::Small);
            // s = head + slope (s - foot) + K V²/2g, for s.
            let level = (&head + &k * &velocity - &slope * &foot) / (n(1.0) - &slope);
            let level = slope.below(&n(1.0)).then(&level.min(&spill), &spill);
            let level = self.taken[index].below(&n(0.0)).then(&spill, &level);
            let level = sheet.formula(row, 10, &level, Look::Level);
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
            if !self.moves(index) {
                continue;
            }
            let state = &self.solved.steady.lines[index];
            let this = self.solved.site.network.line(LineId::new(index));
            let from = self.ends(index)[0];
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
            let head = match &self.heads[index] {
                Some(head) => self.points.formula(row, 1, head, Look::Level),
                None => self.points.number(row, 1, solved, Look::Solved),
            };
            self.points.formula(row, 2, &(&head / &self.inputs.length), Look::Level);
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
        }
    }
}
