//! The next rung down: of all designs cheaper than the chosen one, the one that fails by least.
//!
//! Had every opening stood higher by some height, a cheaper design might have worked; the least
//! such height is what the next cheaper design lacks. The cheapest cost only ever falls as the
//! openings rise, so that height is found by halving, on trees with the exact optimum each time.

use super::design::{Design, DesignError};
use super::layout::Layout;
use super::pipes::Choices;
use super::search::{Progress, cheapest};
use super::{Fault, Problem};
use wetrun_units::Length;

/// A design that is cheaper than the chosen one, and fails.
#[derive(Clone, Debug)]
pub struct Cheaper {
    /// The design, solved: what fails, by how much and where.
    pub design: Design,
    /// So much higher every opening would have to stand for it to work, to half a millimetre.
    pub lacks: Length,
    /// Whether it is sure that nothing cheaper than the chosen design lacks less.
    pub proven: bool,
}

/// Heights are looked for up to this.
const FAR_M: f64 = 5.0;
/// And found to this.
const STEP_M: f64 = 5e-4;

/// Of all designs cheaper than `chosen` that keep the rule of bores and the limits of speed, the
/// one that lacks least; `None` where there is none within five metres. On loops at most `solves`
/// tries are made for each height; `tell` hears of each.
///
/// # Errors
/// [`DesignError`] where a set of sizes makes no network.
pub fn next_cheaper(
    problem: &Problem,
    chosen: &Design,
    solves: usize,
    tell: &mut dyn FnMut(Progress),
) -> Result<Option<Cheaper>, DesignError> {
    let choices = Choices::new(problem);
    let layout = Layout::new(&problem.network, &problem.scenario);
    let near = choices.picks(problem, &chosen.sizes);
    let below = chosen.cost * (1.0 - 1e-9);
    let mut proven = true;
    let mut at = |by_m: f64| -> Result<Option<Vec<usize>>, DesignError> {
        let raised_m = vec![by_m; problem.network.downspouts().len()];
        let found = cheapest(problem, &choices, &layout, &raised_m, Some(&near), solves, tell)?;
        let cheaper = found.best.filter(|(cost, _)| *cost < below);
        proven &= cheaper.is_some() || found.lower_bound >= below;
        Ok(cheaper.map(|(_, picks)| choices.candidates(problem, &picks)))
    };
    let Some(mut sizes) = at(FAR_M)? else { return Ok(None) };
    let (mut low_m, mut high_m) = (0.0, lacks_m(problem, &sizes).min(FAR_M));
    while high_m - low_m > STEP_M {
        let middle_m = 0.5 * (low_m + high_m);
        match at(middle_m)? {
            Some(found) => {
                high_m = lacks_m(problem, &found).min(middle_m);
                sizes = found;
            }
            None => low_m = middle_m,
        }
    }
    let Ok(design) = Design::new(problem, sizes) else { return Ok(None) };
    Ok(Some(Cheaper { design, lacks: Length::m(high_m), proven }))
}

/// What a design lacks, where it only lacks freeboard; else infinite.
fn lacks_m(problem: &Problem, sizes: &[usize]) -> f64 {
    match Design::new(problem, sizes.to_vec()).map(|design| design.fault) {
        Ok(Some(Fault::Freeboard { short, .. })) => short.to_m() + 1e-6,
        _ => f64::INFINITY,
    }
}
