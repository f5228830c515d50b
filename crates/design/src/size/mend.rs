//! Where nothing works: which downspout is not served, by how much, and the smallest change of
//! level that would mend it.

use super::design::{Design, DesignError, Fault};
use super::frame::Frame;
use super::law::raise;
use super::layout::Layout;
use super::pipes::Choices;
use super::search::{Progress, for_lines, pick_trees};
use super::tree::{Keep, Tree};
use super::{Problem, branch};
use crate::mends::lowered;
use wetrun_network::{Downspout, DownspoutId, Network, TankId};
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
    /// Raise one downspout's opening: its leaf head, else its outlet with its lip.
    Raise(DownspoutId, Length),
    /// Raise every opening.
    RaiseAll(Length),
    /// Lower a tank's inlet and its overflow, the ends of its lines and the tops of its risers.
    Lower(TankId, Length),
}

impl Mend {
    /// How far.
    pub fn by(&self) -> Length {
        match *self {
            Self::Raise(_, by) | Self::RaiseAll(by) | Self::Lower(_, by) => by,
        }
    }

    /// The same change, so far.
    #[must_use]
    pub fn so_far(self, by: Length) -> Self {
        match self {
            Self::Raise(at, _) => Self::Raise(at, by),
            Self::RaiseAll(_) => Self::RaiseAll(by),
            Self::Lower(at, _) => Self::Lower(at, by),
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

/// The problem with a change of level made; `None` where that makes no network.
pub fn mended(problem: &Problem, mend: Mend) -> Option<Problem> {
    let by = mend.by();
    let network = match mend {
        Mend::Lower(tank, _) => lowered(&problem.network, tank, by)?,
        Mend::Raise(..) | Mend::RaiseAll(_) => {
            let mut parts = problem.network.to_parts();
            for (index, downspout) in parts.downspouts.iter_mut().enumerate() {
                if matches!(mend, Mend::Raise(at, _) if at.index() != index) {
                    continue;
                }
                match &mut downspout.leaf_head {
                    Some(rim) => *rim = *rim + by,
                    None => raise(downspout, by),
                }
            }
            Network::build(parts).ok()?
        }
    };
    Some(Problem { network, ..problem.clone() })
}

/// What the nearest design lacks, and what would mend it; `tell` hears of each change tried.
pub(crate) fn shortfall(
    problem: &Problem,
    choices: &Choices,
    layout: &Layout,
    solves: usize,
    with_mends: bool,
    tell: &mut dyn FnMut(Progress),
) -> Result<Lack, DesignError> {
    let count = problem.network.downspouts().len();
    let most = HALVINGS * (2 + problem.network.tanks().len());
    let mut tried = 0;
    let all = |by_m: f64| vec![by_m; count];
    let tries = solves.min(for_lines(MOST_TRIES, layout.ring.len()));
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
    if !with_mends {
        return Ok(Lack { nearest: Some(nearest), shortfall, mends: Vec::new() });
    }
    let mut mends = Vec::new();
    if let Some(d) = worst {
        let one = |by_m: f64| {
            let mut raised = vec![0.0; count];
            raised[d] = by_m;
            raised
        };
        let by_m = least(|by_m| works(problem, &one(by_m)));
        let by_m = by_m.filter(|by_m| *by_m <= room_m(&problem.network.downspouts()[d]));
        mends.extend(by_m.map(|by_m| Mend::Raise(DownspoutId::new(d), Length::m(by_m))));
    }
    for tank in (0..problem.network.tanks().len()).map(TankId::new) {
        let by_m = least(|by_m| {
            let Some(network) = lowered(&problem.network, tank, Length::m(by_m)) else {
                return false;
            };
            works(&Problem { network, ..problem.clone() }, &all(0.0))
        });
        mends.extend(by_m.map(|by_m| Mend::Lower(tank, Length::m(by_m))));
    }
    let all_m = problem.network.downspouts().iter().map(room_m).fold(f64::INFINITY, f64::min);
    mends.extend(
        raise_all.filter(|by_m| *by_m <= all_m).map(|by_m| Mend::RaiseAll(Length::m(by_m))),
    );
    // Of equal changes the first named is the least work.
    mends.sort_by(|a, b| a.by().to_m().total_cmp(&b.by().to_m()));
    Ok(Lack { nearest: Some(nearest), shortfall, mends })
}

/// How far an opening can go up: a leaf head not above the gutter it hangs from.
fn room_m(downspout: &Downspout) -> f64 {
    let room = |rim: Length| (downspout.outlet - rim).to_m();
    downspout.leaf_head.map_or(f64::INFINITY, room)
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
