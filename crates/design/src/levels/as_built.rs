//! The as-built check: measured levels run through the whole calculation.

use super::drawn::{Drawn, State};
use super::mend::{WinBack, win_back};
use super::set_point::SetPoint;
use thiserror::Error;
use wetrun_network::Problem;
use wetrun_solver::NotSolved;
use wetrun_units::Length;

/// May the work go on?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Every downspout keeps its freeboard.
    GoOn,
    /// Nothing spills and no water reaches an opening, but a downspout has less freeboard than
    /// was asked for.
    BelowTarget,
    /// In the storm water reaches an opening, or leaves one.
    Stop,
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
#[derive(Clone, Debug, PartialEq)]
pub struct AsBuilt {
    /// The site with the measured levels; what was not measured stands as drawn.
    pub built: Drawn,
    /// Its state.
    pub state: State,
    /// Whether the work may go on.
    pub verdict: Verdict,
    /// The measured levels, in the order of the schedule.
    pub deviations: Vec<Deviation>,
    /// Levels that somebody sets and nobody has measured.
    pub unmeasured: Vec<SetPoint>,
    /// What one level not yet measured could be set to, to win the margin back; empty where
    /// nothing is lacking.
    pub win_back: Vec<WinBack>,
    /// The same for levels already measured, which would have to be set again; empty where
    /// one of the others is enough.
    pub set_again: Vec<WinBack>,
}

/// Why measured levels could not be judged.
#[derive(Clone, Debug, PartialEq, Error)]
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
    let level = |s: &SetPoint| measured.iter().find(|(m, _)| m == s).map(|(_, level)| *level);
    let mut deviations = Vec::with_capacity(measured.len());
    let mut unmeasured = Vec::new();
    for set_point in drawn.set_points() {
        let Some(found) = level(&set_point) else {
            unmeasured.push(set_point);
            continue;
        };
        let effect_m = match drawn.with(&[(set_point, found)]) {
            Ok(alone) if !design.margins.is_empty() => alone.state()?.least_m() - design.least_m(),
            // Alone it makes no valid site, as a foot that went up together with its gutter.
            _ => 0.0,
        };
        deviations.push(Deviation {
            set_point,
            design: set_point.level(&drawn.network),
            built: found,
            effect: Length::m(effect_m),
        });
    }
    let verdict = verdict(&state);
    let (mut won, mut set_again) = (Vec::new(), Vec::new());
    if verdict != Verdict::GoOn {
        won = win_back(&built, &state, &unmeasured)?;
        if won.iter().all(|w| w.lacks.to_m() > 0.0) {
            let measured: Vec<SetPoint> = deviations.iter().map(|d| d.set_point).collect();
            set_again = win_back(&built, &state, &measured)?;
        }
    }
    Ok(AsBuilt { built, state, verdict, deviations, unmeasured, win_back: won, set_again })
}

fn verdict(state: &State) -> Verdict {
    if state.passes() {
        return Verdict::GoOn;
    }
    let reached = state.margins.iter().zip(&state.steady.downspouts);
    let stop = reached.into_iter().any(|(m, d)| m.spills || d.headroom.to_m() <= 0.0);
    if stop { Verdict::Stop } else { Verdict::BelowTarget }
}
