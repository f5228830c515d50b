//! Where nothing works: which downspout is not served, by how much, and the smallest change of
//! level that would mend it.

use super::design::{Design, DesignError, Fault};
use super::frame::Frame;
use super::layout::Layout;
use super::pipes::Choices;
use super::search::{Progress, pick_trees};
use super::tree::{Keep, Tree};
use super::{Problem, branch};
use wetrun_network::{DownspoutId, End, Network, TankId};
use wetrun_units::{Flow, Length};

/// The downspout that the best sizes cannot serve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shortfall {
    /// Which.
    pub downspout: DownspoutId,
    /// Its headroom less the freeboard: negative.
    pub margin: Length,
    /// What it spills in the storm; zero where it only lacks freeboard.
    pub spilled: Flow,
}

/// A change of level that makes some design work.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Mend {
    /// Raise one downspout's opening, its lip with it.
    Raise(DownspoutId, Length),
    /// Raise every opening.
    RaiseAll(Length),
    /// Lower a tank's inlet and its overflow, and all of its lines that would stand above.
    Lower(TankId, Length),
}

impl Mend {
    /// How far.
    pub fn by(&self) -> Length {
        match *self {
            Self::Raise(_, by) | Self::RaiseAll(by) | Self::Lower(_, by) => by,
        }
    }
}

/// The nearest design, what it lacks, and what would mend it.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lack {
    pub(crate) nearest: Option<Design>,
    pub(crate) shortfall: Option<Shortfall>,
    pub(crate) mends: Vec<Mend>,
}

/// Changes are looked for up to this far.
const FAR_M: f64 = 5.0;
/// And told to this: less than can be set on site.
const STEP_M: f64 = 1e-4;
/// On loops, so many tries for each question.
const MOST_TRIES: usize = 1_000;
/// Changes tried for one least change: the farthest, then halvings down to [`STEP_M`].
const HALVINGS: usize = 17;

/// What the nearest design lacks, and what would mend it; `tell` hears of each change tried.
pub(crate) fn shortfall(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<Lack, DesignError> {
    let count = problem.network.downspouts().len();
    let most = HALVINGS * (2 + problem.network.tanks().len());
    let mut tried = 0;
    let all = |by_m: f64| vec![by_m; count];
    let tries = solves.min(MOST_TRIES);
    let mut works = |problem: &Problem, raised_m: &[f64]| {
        tell(Progress::Mends { tried, most });
        tried += 1;
        sizes(problem, choices, layout, raised_m, tries).is_some()
    };
    let raise_all = least(|by_m| works(problem, &all(by_m)));
    let sizes = raise_all.and_then(|by_m| sizes(problem, choices, layout, &all(by_m), tries));
    let sizes = sizes.unwrap_or_else(|| choices.candidates(problem, &choices.largest()));
    let Ok(nearest) = Design::new(problem, sizes) else { return Ok(Lack::default()) };
    let freeboard = problem.targets.freeboard;
    let states = &nearest.steady.downspouts;
    let worst = (0..count).max_by(|&a, &b| {
        let rank = |d: usize| (states[d].spilled.to_m3_per_s(), -nearest.margins[d].to_m());
        rank(a).partial_cmp(&rank(b)).unwrap_or(std::cmp::Ordering::Equal)
    });
    let lacks = |d: &usize| {
        matches!(nearest.fault, Some(Fault::Spills { .. })) || nearest.margins[*d].to_m() < 0.0
    };
    let shortfall = worst.filter(lacks).map(|d| Shortfall {
        downspout: DownspoutId::new(d),
        margin: states[d].headroom - freeboard,
        spilled: states[d].spilled,
    });
    let mut mends = Vec::new();
    if let Some(d) = worst {
        let one = |by_m: f64| {
            let mut raised = vec![0.0; count];
            raised[d] = by_m;
            raised
        };
        let by_m = least(|by_m| works(problem, &one(by_m)));
        mends.extend(by_m.map(|by_m| Mend::Raise(DownspoutId::new(d), Length::m(by_m))));
    }
    for tank in (0..problem.network.tanks().len()).map(TankId::new) {
        let by_m = least(|by_m| {
            let Some(network) = lowered(&problem.network, tank, by_m) else { return false };
            works(&Problem { network, ..problem.clone() }, &all(0.0))
        });
        mends.extend(by_m.map(|by_m| Mend::Lower(tank, Length::m(by_m))));
    }
    mends.extend(raise_all.map(|by_m| Mend::RaiseAll(Length::m(by_m))));
    // Of equal changes the first named is the least work.
    mends.sort_by(|a, b| a.by().to_m().total_cmp(&b.by().to_m()));
    Ok(Lack { nearest: Some(nearest), shortfall, mends })
}

/// The least change, to [`STEP_M`] and never below it, at which `works` holds.
fn least(mut works: impl FnMut(f64) -> bool) -> Option<f64> {
    let (mut low, mut high) = (0.0, FAR_M);
    if !works(high) {
        return None;
    }
    while high - low > STEP_M {
        let middle = 0.5 * (low + high);
        if works(middle) { high = middle } else { low = middle }
    }
    Some(high)
}

/// Sizes that work with the openings raised. On trees there are none where none are found; on
/// loops that is so unless the tries run out.
fn sizes(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    raised_m: &[f64],
    tries: usize,
) -> Option<Vec<usize>> {
    let of_trees = layout.ring.is_empty();
    let keep = if of_trees { Keep::Highest } else { Keep::All };
    let tree = Tree::new(problem, choices, layout, raised_m, keep, &mut |_, _| {});
    let (_, picks) = if of_trees {
        pick_trees(problem, choices, layout, &tree)?
    } else {
        let frame = Frame::new(problem, choices, layout, &tree);
        branch::search(&frame, None, tries, true, &mut |_, _, _| {}).ok()?.best?
    };
    Some(choices.candidates(problem, &picks))
}

/// The network with a tank's inlet and overflow lower, and what stands above the new inlet in
/// the lines that end there lowered to it: a riser that bends over to its tank.
fn lowered(network: &Network, tank: TankId, by_m: f64) -> Option<Network> {
    let by = Length::m(by_m);
    let mut parts = network.to_parts();
    let this = &mut parts.tanks[tank.index()];
    this.inlet = this.inlet - by;
    if let Some(overflow) = &mut this.overflow {
        overflow.level = overflow.level - by;
    }
    for line in &mut parts.lines {
        let end = match End::Tank(tank) {
            end if line.to == end => line.profile.last(),
            end if line.from == end => line.profile.first(),
            _ => None,
        };
        let Some(end) = end.map(|station| station.level - by) else { continue };
        for station in &mut line.profile {
            if station.level > end {
                station.level = end;
            }
        }
    }
    Network::build(parts).ok()
}
