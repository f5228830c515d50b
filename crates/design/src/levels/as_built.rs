//! The as-built check: measured levels run through the whole calculation.

use super::drawn::{Drawn, State, Trial};
use super::judgement::{Broken, turned};
use super::set_point::SetPoint;
use thiserror::Error;
use wetrun_network::Problem;
use wetrun_solver::NotSolved;
use wetrun_units::Length;
use wetrun_verdict::Failure;

/// What the water says of the levels that were built.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// The verdict holds.
    Holds,
    /// Nothing is lost and no water reaches an opening, but a downspout has less freeboard than
    /// was asked for.
    BelowTarget,
    /// In the storm water reaches an opening, or leaves where it should not.
    Fails,
}

/// A level that was measured.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Deviation {
    /// Which level.
    pub set_point: SetPoint,
    /// Where it is drawn.
    pub design: Length,
    /// Where it was found.
    pub built: Length,
    /// What this deviation alone does to the worst margin of the site as drawn.
    pub effect: Length,
}

/// What measured levels come to.
#[derive(Clone, Debug)]
pub struct AsBuilt {
    /// The site with the measured levels; what was not measured stands as drawn.
    pub built: Drawn,
    /// Its state.
    pub state: State,
    /// What the water says of it.
    pub standing: Standing,
    /// The rules that the measured levels turn.
    pub turned: Vec<Broken>,
    /// The measured levels, in the order of the schedule.
    pub deviations: Vec<Deviation>,
    /// On a site that fails as built, and holds as drawn: measured levels that mend it when all of
    /// them are set back to where they are drawn; as few as were found.
    pub set_back: Vec<SetPoint>,
}

/// Why measured levels could not be judged.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum AsBuiltError {
    /// The levels contradict each other or the drawing.
    #[error("the measured levels make no valid site: {}", list(.0))]
    Invalid(Vec<Problem>),
    /// No steady state was found.
    #[error(transparent)]
    NotSolved(#[from] NotSolved),
}

fn list(problems: &[Problem]) -> String {
    problems.iter().map(Problem::to_string).collect::<Vec<_>>().join("; ")
}

/// Judges measured levels: each set-point with the level found.
///
/// # Errors
/// [`AsBuiltError`].
pub fn review_as_built(
    drawn: &Drawn,
    measured: &[(SetPoint, Length)],
) -> Result<AsBuilt, AsBuiltError> {
    let design = drawn.state()?;
    let built = drawn.with(measured).map_err(AsBuiltError::Invalid)?;
    let state = built.state()?;
    let mut deviations = Vec::with_capacity(measured.len());
    for set_point in drawn.set_points() {
        let found = measured.iter().find(|(m, _)| *m == set_point);
        let Some((_, found)) = found.copied() else { continue };
        let margin_m = |state: &State| state.verdict.least_margin_m();
        let effect_m = match drawn.attempt(&[(set_point, found)]) {
            Trial::Solved(alone) if !design.verdict.margins.is_empty() => {
                margin_m(&alone) - margin_m(&design)
            }
            Trial::Unsolved(failed) => return Err(failed.into()),
            // Alone it makes no valid site, as a foot that went up together with its gutter.
            _ => 0.0,
        };
        let (design, effect) = (drawn.level(set_point), Length::m(effect_m));
        deviations.push(Deviation { set_point, design, built: found, effect });
    }
    let turned = turned(&drawn.broken(&design), &built.broken(&state));
    let standing = standing(&state);
    let set_back = match standing {
        Standing::BelowTarget | Standing::Fails if design.passes() => {
            set_back(&built, &state, &deviations)
        }
        _ => Vec::new(),
    };
    Ok(AsBuilt { built, state, standing, turned, deviations, set_back })
}

fn standing(state: &State) -> Standing {
    let failures = state.verdict.failures();
    let reached = |failure: &Failure| match failure {
        Failure::Freeboard { headroom, .. } => headroom.to_m() <= 0.0,
        _ => true,
    };
    match failures {
        [] => Standing::Holds,
        some if some.iter().any(reached) => Standing::Fails,
        _ => Standing::BelowTarget,
    }
}

/// Measured levels that mend the site when they are all set back to the drawing: the one that
/// does most harm first, until it holds; then each that is not needed is left as it was built.
fn set_back(built: &Drawn, state: &State, deviations: &[Deviation]) -> Vec<SetPoint> {
    let broken = built.broken(state);
    let mends = |some: &[Deviation]| {
        let moves: Vec<_> = some.iter().map(|d| (d.set_point, d.design)).collect();
        let passes = matches!(built.attempt(&moves), Trial::Solved(state) if state.passes());
        passes && built.turns(&moves, &broken).is_some_and(|turned| turned.is_empty())
    };
    let mut worst_first = deviations.to_vec();
    worst_first.sort_by(|a, b| a.effect.to_m().total_cmp(&b.effect.to_m()));
    let Some(enough) = (1..=worst_first.len()).find(|n| mends(&worst_first[..*n])) else {
        return Vec::new();
    };
    let mut chosen = worst_first[..enough].to_vec();
    let mut index = 0;
    while index < chosen.len() {
        let mut fewer = chosen.clone();
        fewer.remove(index);
        if mends(&fewer) {
            chosen = fewer;
        } else {
            index += 1;
        }
    }
    chosen.iter().map(|d| d.set_point).collect()
}
