//! The route of one downspout as a profile: lengths along it, inverts, ground, heads.

use super::grade::{self, Head};
use crate::input::SheetInput;
use crate::values::{route, travel};
use wetrun_network::{DownspoutId, End, Line, LineId, Station};

/// A route laid out flat, from the downspout's foot to the tank.
#[derive(Clone, Debug)]
pub(crate) struct Profile {
    /// Whose route it is.
    pub downspout: DownspoutId,
    /// The lines in order.
    pub runs: Vec<Run>,
    /// What is named or levelled along it: a column of the table each.
    pub nodes: Vec<Node>,
}

/// One line of the route.
#[derive(Clone, Debug)]
pub(crate) struct Run {
    /// The line.
    pub line: LineId,
    /// Whether it is walked from its `from` to its `to`.
    pub forward: bool,
    /// Bore.
    pub bore_m: f64,
    /// Its places in order, two at least.
    pub verts: Vec<Vert>,
    /// The storm grade line, in the same order.
    pub grade: Vec<Head>,
    /// Node at its start; the node at its end is the next run's, or the last.
    pub first_node: usize,
    /// Node at its end.
    pub last_node: usize,
}

/// A place on a line.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Vert {
    /// Distance on the level from the foot.
    pub x_m: f64,
    /// Distance along the pipe from the foot.
    pub along_m: f64,
    /// Invert.
    pub invert_m: f64,
    /// Ground above.
    pub ground_m: Option<f64>,
    /// Storm grade line: total head.
    pub head_m: f64,
    /// Level of the water between storms; none where the pipe is dry then.
    pub rest_m: Option<f64>,
}

/// What a node is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NodeKind {
    /// The downspout's foot.
    Foot,
    /// A tagged point.
    Point(wetrun_network::PointId),
    /// A level inside a line.
    Inside,
    /// Where the route enters its tank, or ends.
    End,
}

/// Whether the invert turns at a node.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Turn {
    /// Higher than the pipe on both sides: air gathers.
    Hump,
    /// Lower than the pipe on both sides: silt gathers.
    Sag,
}

/// A column of the table.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    /// What it is.
    pub kind: NodeKind,
    /// Its tag; empty inside a line.
    pub tag: String,
    /// Its place.
    pub vert: Vert,
    /// Crown of the pipe there.
    pub crown_m: f64,
    /// Ground less the top of the pipe.
    pub cover_m: Option<f64>,
    /// Hump or sag.
    pub turn: Option<Turn>,
}

/// The route of a downspout, or nothing where the state names none.
pub(crate) fn of(input: &SheetInput<'_>, downspout: DownspoutId) -> Option<Profile> {
    let lines = route(input, downspout);
    let (runs, nodes) = along(input, End::Downspout(downspout), &lines);
    if runs.is_empty() {
        return None;
    }
    let mut profile = Profile { downspout, runs, nodes };
    turns(&mut profile);
    Some(profile)
}

/// Lines that follow one another from an end, laid out flat; without the turns of their inverts.
pub(crate) fn along(input: &SheetInput<'_>, from: End, lines: &[LineId]) -> (Vec<Run>, Vec<Node>) {
    let (runs, nodes) = (Vec::new(), Vec::new());
    let mut walk = Walk { input, at: from, x_m: 0.0, along_m: 0.0, runs, nodes };
    lines.iter().for_each(|id| walk.line(*id));
    (walk.runs, walk.nodes)
}

/// The way from the foot so far.
struct Walk<'a> {
    input: &'a SheetInput<'a>,
    at: End,
    x_m: f64,
    along_m: f64,
    runs: Vec<Run>,
    nodes: Vec<Node>,
}

impl Walk<'_> {
    /// Adds a line that begins where the walk stands.
    fn line(&mut self, id: LineId) {
        let line = self.input.network.line(id);
        let (next, forward) = travel(line, self.at);
        let state = &self.input.steady.lines[id.index()];
        let length_m = line.length.to_m();
        let stations = stations(line, forward);
        let last = stations.len().saturating_sub(1);
        let mut rest: Vec<_> = self.input.steady.rest.along(id).collect();
        if !forward {
            rest.reverse();
        }
        let bore_m = line.pipe.inside.to_m();
        let wall_m = line.pipe.outside.map_or(0.0, |o| ((o.to_m() - bore_m) / 2.0).max(0.0));
        let first_node = self.nodes.len().saturating_sub(1);
        let mut run = Run {
            line: id,
            forward,
            bore_m,
            verts: Vec::new(),
            grade: Vec::new(),
            first_node,
            last_node: 0,
        };
        for (index, station) in stations.iter().enumerate() {
            if index > 0 {
                let before = &stations[index - 1];
                let step_m = station.at_m - before.at_m;
                let rise_m = station.level_m - before.level_m;
                // On the level; a stretch that rises as much as it is long is vertical.
                self.x_m += (step_m * step_m - rise_m * rise_m).max(0.0).sqrt();
            }
            let end = match index {
                0 => Some(self.at),
                _ if index == last => Some(next),
                _ => None,
            };
            let ground_m = station.ground_m.or(end.and_then(|end| ground_at(self.input, end)));
            let vert = Vert {
                x_m: self.x_m,
                along_m: self.along_m + station.at_m,
                invert_m: station.level_m,
                ground_m,
                head_m: 0.0,
                rest_m: rest.get(index).copied().flatten().map(|level| level.to_m()),
            };
            run.verts.push(vert);
        }
        run.grade = grade::heads(self.input, line, state, forward, &mut run.verts);
        // The place where this line begins is the last one's end; the lesser cover counts there.
        let cover_m = |vert: &Vert| vert.ground_m.map(|g| g - vert.invert_m - bore_m - wall_m);
        let skip = usize::from(!self.nodes.is_empty());
        if let (Some(before), Some(first)) = (self.nodes.last_mut(), run.verts.first()) {
            let both = [before.cover_m, cover_m(first)];
            before.cover_m = both.into_iter().flatten().min_by(f64::total_cmp);
        }
        for (index, &vert) in run.verts.iter().enumerate().skip(skip) {
            let end = match index {
                0 => Some(self.at),
                _ if index == last => Some(next),
                _ => None,
            };
            let crown_m = vert.invert_m + bore_m;
            let mut vert = vert;
            if let Some(End::Point(id)) = end {
                let rest = self.input.steady.rest.point(id).map(|level| level.to_m());
                vert.rest_m = rest.filter(|level_m| *level_m >= vert.invert_m - 1e-9);
            }
            self.nodes.push(Node {
                kind: end.map_or(NodeKind::Inside, node_kind),
                tag: end.map_or_else(String::new, |e| self.input.network.end_tag(e).to_owned()),
                vert,
                crown_m,
                cover_m: cover_m(&vert),
                turn: None,
            });
        }
        run.last_node = self.nodes.len().saturating_sub(1);
        self.runs.push(run);
        self.along_m += length_m;
        self.at = next;
    }
}

/// A station in the direction of the walk.
struct Along {
    at_m: f64,
    level_m: f64,
    ground_m: Option<f64>,
}

fn stations(line: &Line, forward: bool) -> Vec<Along> {
    let length_m = line.length.to_m();
    let along = |s: &Station| Along {
        at_m: if forward { s.at.to_m() } else { length_m - s.at.to_m() },
        level_m: s.level.to_m(),
        ground_m: s.ground.map(|g| g.to_m()),
    };
    let mut stations: Vec<Along> = line.profile.iter().map(along).collect();
    if !forward {
        stations.reverse();
    }
    stations
}

fn node_kind(end: End) -> NodeKind {
    match end {
        End::Downspout(_) => NodeKind::Foot,
        End::Point(id) => NodeKind::Point(id),
        End::Tank(_) => NodeKind::End,
    }
}

fn ground_at(input: &SheetInput<'_>, end: End) -> Option<f64> {
    match end {
        End::Downspout(id) => input.facts.downspouts.get(id.index())?.ground.map(|g| g.to_m()),
        End::Point(id) => input.network.point(id).ground.map(|g| g.to_m()),
        End::Tank(id) => input.network.tank(id).ground.map(|g| g.to_m()),
    }
}

fn turns(profile: &mut Profile) {
    const LEVEL_M: f64 = 0.002;
    let inverts: Vec<f64> = profile.nodes.iter().map(|n| n.vert.invert_m).collect();
    for index in 1..inverts.len().saturating_sub(1) {
        let here = inverts[index];
        // The nearest place on either side whose level differs tells which way the pipe goes.
        let differs = |level: &&f64| (**level - here).abs() > LEVEL_M;
        let before = inverts[..index].iter().rev().find(differs);
        let after = inverts[index + 1..].iter().find(differs);
        profile.nodes[index].turn = match (before, after) {
            (Some(&b), Some(&a)) if b < here && a < here => Some(Turn::Hump),
            (Some(&b), Some(&a)) if b > here && a > here => Some(Turn::Sag),
            _ => None,
        };
    }
}
