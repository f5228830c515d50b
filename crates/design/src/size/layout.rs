//! Which lines carry the same flow whatever the bores, and which do not.
//!
//! Leaves are peeled off one after the other, tanks standing firm: a peeled line carries all
//! that lies behind it, whatever the sizes. What is left lies on a loop, between two tanks, or
//! on the way from there to a tank.

use super::law::demand_m3_per_s;
use wetrun_network::{DownspoutId, End, JunctionKind, LineEnd, LineId, Network, PlaceId, PointId};
use wetrun_solver::Scenario;

/// Where a peeled line leads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Toward {
    /// A downspout's foot or a point.
    Node(usize),
    /// A tank.
    Tank(usize),
}

/// The line by which a peeled node's water leaves.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Out {
    pub(crate) line: usize,
    /// The end of the line that is at the node.
    pub(crate) upstream: LineEnd,
    pub(crate) toward: Toward,
}

/// A wye or tee among peeled lines.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Joined {
    pub(crate) kind: JunctionKind,
    /// The line that comes in at an angle.
    pub(crate) branch: usize,
}

/// The network's nodes (downspouts, then points) sorted into what hangs and what does not.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    pub(crate) downspouts: usize,
    /// Nodes that were peeled, each after all that lie behind it.
    pub(crate) order: Vec<usize>,
    /// For each node that was peeled, its way out.
    pub(crate) out: Vec<Option<Out>>,
    /// For each node the peeled nodes that lead to it.
    pub(crate) behind: Vec<Vec<usize>>,
    /// For each tank the peeled nodes that lead to it.
    pub(crate) behind_tank: Vec<Vec<usize>>,
    /// For each node what gathers there from its own roofs and from what was peeled behind it.
    pub(crate) gathered_m3_per_s: Vec<f64>,
    /// For each node its wye or tee, where the lines there are peeled.
    pub(crate) joined: Vec<Option<Joined>>,
    /// Lines that were not peeled.
    pub(crate) ring: Vec<usize>,
}

impl Layout {
    pub(crate) fn new(network: &Network, scenario: &Scenario) -> Self {
        let downspouts = network.downspouts().len();
        let nodes = downspouts + network.points().len();
        let lines_at: Vec<Vec<usize>> = (0..nodes)
            .map(|node| {
                let end = network.end_at(PlaceId::new(node));
                network.meets(end).map(|(line, _)| line.index()).collect()
            })
            .collect();
        let mut peeled = vec![false; network.lines().len()];
        let (mut order, mut out) = peel(network, &lines_at, &mut peeled);
        // Where a wye or tee keeps two lines, its third line's bore bears on their flows too.
        for (index, point) in network.points().iter().enumerate() {
            let node = downspouts + index;
            let kept = lines_at[node].iter().any(|&line| !peeled[line]);
            if point.fitting.is_some() && kept && out[node].is_none() {
                for &line in &lines_at[node] {
                    if std::mem::replace(&mut peeled[line], false) {
                        out.iter_mut().for_each(|o| {
                            if o.is_some_and(|o| o.line == line) {
                                *o = None;
                            }
                        });
                    }
                }
            }
        }
        order.retain(|&node| out[node].is_some());
        let joined = (0..nodes)
            .map(|node| {
                out[node]?;
                let fitting = network.points().get(node.checked_sub(downspouts)?)?.fitting?;
                Some(Joined { kind: fitting.kind, branch: fitting.branch.index() })
            })
            .collect();
        let mut layout = Self {
            downspouts,
            order,
            out,
            behind: vec![Vec::new(); nodes],
            behind_tank: vec![Vec::new(); network.tanks().len()],
            gathered_m3_per_s: vec![0.0; nodes],
            joined,
            ring: (0..peeled.len()).filter(|&line| !peeled[line]).collect(),
        };
        for (node, downspout) in network.downspouts().iter().enumerate() {
            layout.gathered_m3_per_s[node] = demand_m3_per_s(scenario, downspout);
        }
        for &node in &layout.order {
            match layout.out[node].map(|out| out.toward) {
                Some(Toward::Node(next)) => {
                    layout.behind[next].push(node);
                    layout.gathered_m3_per_s[next] += layout.gathered_m3_per_s[node];
                }
                Some(Toward::Tank(tank)) => layout.behind_tank[tank].push(node),
                None => {}
            }
        }
        layout
    }

    /// Nodes that were not peeled.
    pub(crate) fn kept(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.out.len()).filter(|&node| self.out[node].is_none())
    }

    /// The end that a node is.
    pub(crate) fn end(&self, node: usize) -> End {
        match node.checked_sub(self.downspouts) {
            None => End::Downspout(DownspoutId::new(node)),
            Some(point) => End::Point(PointId::new(point)),
        }
    }

    /// What the peeled lines bring to each tank.
    pub(crate) fn inflows_m3_per_s(&self) -> Vec<f64> {
        let sum = |nodes: &Vec<usize>| nodes.iter().map(|&n| self.gathered_m3_per_s[n]).sum();
        self.behind_tank.iter().map(sum).collect()
    }
}

/// The place of an end among nodes and tanks.
pub(crate) fn place(downspouts: usize, end: End) -> Toward {
    match end {
        End::Downspout(id) => Toward::Node(id.index()),
        End::Point(id) => Toward::Node(downspouts + id.index()),
        End::Tank(id) => Toward::Tank(id.index()),
    }
}

fn peel(
    network: &Network,
    lines_at: &[Vec<usize>],
    peeled: &mut [bool],
) -> (Vec<usize>, Vec<Option<Out>>) {
    let downspouts = network.downspouts().len();
    let mut left: Vec<usize> = lines_at.iter().map(Vec::len).collect();
    let mut out = vec![None; lines_at.len()];
    let mut order = Vec::with_capacity(lines_at.len());
    let mut leaves: Vec<usize> = (0..left.len()).rev().filter(|&node| left[node] == 1).collect();
    while let Some(node) = leaves.pop() {
        if left[node] != 1 {
            continue;
        }
        let Some(&line) = lines_at[node].iter().find(|&&line| !peeled[line]) else { continue };
        let ends = network.line(LineId::new(line));
        let (upstream, far) = if place(downspouts, ends.from) == Toward::Node(node) {
            (LineEnd::From, ends.to)
        } else {
            (LineEnd::To, ends.from)
        };
        let toward = place(downspouts, far);
        peeled[line] = true;
        out[node] = Some(Out { line, upstream, toward });
        order.push(node);
        left[node] = 0;
        if let Toward::Node(next) = toward {
            left[next] -= 1;
            if left[next] == 1 {
                leaves.push(next);
            }
        }
    }
    (order, out)
}
