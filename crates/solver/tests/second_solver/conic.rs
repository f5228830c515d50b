//! A network's steady state as the minimum of a convex function, put to a conic solver.
//!
//! The losses along every line and downspout are the slopes of rising, convex "loss integrals";
//! continuity is a linear constraint, and its multipliers are the heads. A loss that goes with
//! the power n of the flow has the integral |Q|^(n+1)/(n+1), which is a power cone:
//! `t ≥ |x|^p` is `(t, 1, x) ∈ K(1/p)`.

use std::ops::Range;

use clarabel::algebra::CscMatrix;
use clarabel::solver::{DefaultSettings, DefaultSolver, IPSolver, SupportedConeT};

/// Miss of an answer with which no other length of step is tried.
const GOOD_M: f64 = 1e-11;

/// A loss `factor · |Q|^(power − 1) · Q`.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Loss {
    pub(crate) factor: f64,
    pub(crate) power: f64,
}

/// What stands at an end of an edge.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Outside {
    /// An unknown head: the node's number.
    Node(usize),
    /// Water at a level: what enters it loses `drowned · Q²` besides; up to `most` comes out.
    Level { level_m: f64, drowned: f64, most: f64 },
}

/// A way for water between two ends, with its losses.
#[derive(Clone, Debug)]
pub(crate) struct Edge {
    pub(crate) ends: [Outside; 2],
    pub(crate) losses: Vec<Loss>,
    /// The most that may run from the first end to the second.
    pub(crate) most: f64,
    /// A flow of about the size to be expected; it scales the cones and nothing else.
    pub(crate) size: f64,
}

impl Edge {
    /// The head that a flow loses, without what a level at its end takes.
    pub(crate) fn loss(&self, flow: f64) -> f64 {
        self.losses.iter().map(|l| l.factor * flow.abs().powf(l.power)).sum()
    }
}

/// What the solver found.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) flow: Vec<f64>,
    pub(crate) head_m: Vec<f64>,
    /// The worst of its own head equations.
    pub(crate) miss_m: f64,
}

impl Answer {
    /// The worst of its own head equations: between nodes, and between a node and a level where the
    /// flow is at no bound.
    fn own_miss_m(&self, edges: &[Edge], scale: f64) -> f64 {
        let off = |(edge, &flow): (&Edge, &f64)| {
            let at = |end: Outside, into: f64| match end {
                Outside::Node(node) => Some(self.head_m[node]),
                Outside::Level { level_m, drowned, .. } if into > 0.0 => {
                    Some(level_m + drowned * into * into)
                }
                Outside::Level { level_m, most, .. } => (-into < 0.999 * most).then_some(level_m),
            };
            let fall = at(edge.ends[0], -flow)? - at(edge.ends[1], flow)?;
            // Still water stands at no level, and a bound takes what head it will.
            let inner = edge.ends.iter().all(|end| matches!(end, Outside::Node(_)));
            let told = inner || (flow.abs() > 1e-6 * scale && flow < 0.999 * edge.most);
            told.then(|| (fall - edge.loss(flow).copysign(flow)).abs())
        };
        edges.iter().zip(&self.flow).filter_map(off).fold(0.0, f64::max)
    }
}

/// Rows and columns as they are gathered.
#[derive(Default)]
struct Rows {
    row: Vec<usize>,
    column: Vec<usize>,
    value: Vec<f64>,
    right: Vec<f64>,
    cones: Vec<SupportedConeT<f64>>,
}

impl Rows {
    fn add(&mut self, terms: &[(usize, f64)], right: f64) {
        for &(column, value) in terms {
            self.row.push(self.right.len());
            self.column.push(column);
            self.value.push(value);
        }
        self.right.push(right);
    }
}

/// Solves the network; `scale` is a flow of the size of the whole.
pub(crate) fn solve(nodes: usize, edges: &[Edge], scale: f64) -> Option<Answer> {
    // Levels count from the lowest one, in units of the spread of them all.
    let levels = edges.iter().flat_map(|e| e.ends).filter_map(|end| match end {
        Outside::Level { level_m, .. } => Some(level_m),
        Outside::Node(_) => None,
    });
    let (low_m, high_m) = levels.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), level| {
        (low.min(level), high.max(level))
    });
    let unit_m = (high_m - low_m).clamp(0.1, 10.0);
    let mut cost = vec![0.0; edges.len()];
    let mut quadratic = vec![0.0; edges.len()];
    let mut rows = Rows::default();
    // Continuity: what leaves a node less what enters it, in units of `scale`.
    let mut at_node: Vec<Vec<(usize, f64)>> = vec![Vec::new(); nodes];
    let mut outside: Vec<(usize, f64, f64, f64, f64)> = Vec::new();
    for (e, edge) in edges.iter().enumerate() {
        for (side, end) in edge.ends.iter().enumerate() {
            let out_of_end = if side == 0 { 1.0 } else { -1.0 };
            match *end {
                Outside::Node(node) => at_node[node].push((e, out_of_end)),
                Outside::Level { level_m, drowned, most } => {
                    outside.push((e, out_of_end, level_m, drowned, most));
                }
            }
        }
    }
    for terms in &at_node {
        rows.add(terms, 0.0);
    }
    let mut equal = nodes;
    // Into the level, out of the level: two flows of 0 or more.
    let mut not_negative: Vec<(Vec<(usize, f64)>, f64)> = Vec::new();
    let mut cubes: Vec<(usize, Loss, f64)> = Vec::new();
    for &(e, out_of_end, level_m, drowned, most) in &outside {
        let level_m = (level_m - low_m) / unit_m;
        let into = cost.len();
        cost.push(level_m);
        quadratic.push(0.0);
        not_negative.push((vec![(into, -1.0)], 0.0));
        let mut terms = vec![(e, -out_of_end), (into, -1.0)];
        if most > 0.0 {
            let out = cost.len();
            cost.push(-level_m);
            quadratic.push(0.0);
            not_negative.push((vec![(out, -1.0)], 0.0));
            if most.is_finite() {
                not_negative.push((vec![(out, 1.0)], most / scale));
            }
            terms.push((out, 1.0));
        }
        rows.add(&terms, 0.0);
        equal += 1;
        if drowned > 0.0 {
            cubes.push((into, Loss { factor: drowned, power: 2.0 }, edges[e].size));
        }
    }
    for (e, edge) in edges.iter().enumerate() {
        if edge.most.is_finite() {
            not_negative.push((vec![(e, 1.0)], edge.most / scale));
        }
        cubes.extend(edge.losses.iter().map(|loss| (e, *loss, edge.size)));
    }
    rows.cones.push(SupportedConeT::ZeroConeT(equal));
    for (terms, right) in &not_negative {
        rows.add(terms, *right);
    }
    rows.cones.push(SupportedConeT::NonnegativeConeT(not_negative.len()));
    for (column, loss, size) in cubes {
        if loss.power == 1.0 {
            quadratic[column] += loss.factor * scale / unit_m;
            continue;
        }
        // factor (scale x)^n, integrated by x: with y = x/unit, factor scale^n unit^(n+1)/(n+1) y^(n+1).
        let unit = (size / scale).max(1e-4);
        let p = loss.power + 1.0;
        let weight = loss.factor * scale.powf(loss.power) * unit.powf(p) / p / unit_m;
        let t = cost.len();
        cost.push(weight);
        quadratic.push(0.0);
        rows.add(&[(t, -1.0)], 0.0);
        rows.add(&[], 1.0);
        rows.add(&[(column, -1.0 / unit)], 0.0);
        rows.cones.push(SupportedConeT::PowerConeT(1.0 / p));
    }
    let n = cost.len();
    let diagonal: Range<usize> = 0..n;
    let p = CscMatrix::new_from_triplets(
        n,
        n,
        diagonal.clone().collect(),
        diagonal.collect(),
        quadratic,
    );
    let a = CscMatrix::new_from_triplets(rows.right.len(), n, rows.row, rows.column, rows.value);
    // As near as doubles hold: short steps and next to no regularisation end two or three digits
    // nearer to the answer than the defaults do. Of several lengths of step the answer that is
    // best by its own flows and heads counts.
    let mut best: Option<Answer> = None;
    for max_step_fraction in [0.9, 0.8, 0.7, 0.95, 0.6, 0.98, 0.5, 0.4] {
        let settings = DefaultSettings {
            verbose: false,
            max_iter: 500,
            max_step_fraction,
            min_terminate_step_length: 1e-12,
            tol_gap_abs: 1e-16,
            tol_gap_rel: 1e-16,
            tol_feas: 1e-15,
            static_regularization_constant: 1e-12,
            iterative_refinement_reltol: 1e-16,
            iterative_refinement_abstol: 1e-16,
            iterative_refinement_max_iter: 30,
            ..DefaultSettings::default()
        };
        let mut solver =
            DefaultSolver::new(&p, &cost, &a, &rows.right, &rows.cones, settings).ok()?;
        solver.solve();
        let found = &solver.solution;
        let mut answer = Answer {
            flow: found.x[..edges.len()].iter().map(|x| x * scale).collect(),
            head_m: found.z[..nodes].iter().map(|z| low_m - z * unit_m).collect(),
            miss_m: f64::INFINITY,
        };
        if !answer.flow.iter().chain(&answer.head_m).all(|value| value.is_finite()) {
            continue;
        }
        answer.miss_m = answer.own_miss_m(edges, scale);
        if best.as_ref().is_none_or(|b| answer.miss_m < b.miss_m) {
            best = Some(answer);
        }
        if best.as_ref().is_some_and(|best| best.miss_m < GOOD_M) {
            break;
        }
    }
    // What never came near an answer is none.
    best.filter(|answer| answer.miss_m < 1e-6)
}
