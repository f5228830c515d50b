//! What was built, judged: the readings first, then the water, then the rules that turned.

use crate::level_rules::findings_turned;
use crate::outcome::Refusal;
use crate::readings::{Doubt, Found, closes, doubts};
use crate::site_levels::{Level, with_levels};
use crate::solved::Solved;
use wetrun_checks::Finding;
use wetrun_design::levels::{
    AsBuilt, AsBuiltError, Close, Drawn, SetPoint, Standing, review_as_built,
};
use wetrun_units::Length;

/// What was built.
pub(crate) struct Built {
    /// The site as built, solved and judged.
    pub(crate) solved: Solved,
    /// What the measured levels come to.
    pub(crate) as_built: AsBuilt,
    /// The level found for each of the report's levels, where it was measured.
    pub(crate) found: Vec<Option<Length>>,
    /// The readings that are doubted.
    pub(crate) doubts: Vec<Doubt>,
    /// What no longer passes of the review, and did as drawn.
    pub(crate) turned: Vec<Finding>,
}

/// May the work go on?
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GoOn {
    /// The verdict holds, the readings are sound, and no rule turned.
    Yes,
    /// The readings do not close, or one of them is doubted: nobody knows yet.
    MeasureAgain,
    /// The verdict holds, but rules of the review turned.
    RulesTurned,
    /// Only freeboard is lacking.
    BelowTarget,
    /// Water reaches an opening, or leaves where it should not.
    Stop,
}

impl GoOn {
    /// The word of the JSON result.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Yes => "go-on",
            Self::MeasureAgain => "measure-again",
            Self::RulesTurned => "rules-turned",
            Self::BelowTarget => "below-target",
            Self::Stop => "stop",
        }
    }
}

impl Built {
    /// Judges what was found.
    pub(crate) fn new(
        solved: &Solved,
        drawn: &Drawn,
        levels: &[Level],
        found: &[Option<Found>],
    ) -> Result<Self, Refusal> {
        let doubts = doubts(solved.site.units, levels, found);
        let found: Vec<Option<Length>> = found.iter().map(|f| f.map(|f| f.level)).collect();
        let measured: Vec<(SetPoint, Length)> = (levels.iter().zip(&found))
            .filter_map(|(level, found)| Some((level.set_point, (*found)?)))
            .collect();
        let as_built =
            review_as_built(drawn, &measured).map_err(|error| refuse(&error, &doubts))?;
        let built = Solved::new(with_levels(&solved.site, &as_built.built))?;
        let review = |solved: &Solved| wetrun_checks::review(&solved.judged_in_full());
        let turned = findings_turned(&review(solved), &review(&built));
        Ok(Self { solved: built, as_built, found, doubts, turned })
    }

    /// Whether the work may go on: the readings are judged first.
    pub(crate) fn go_on(&self, checks: &[Close]) -> GoOn {
        if !self.doubts.is_empty() || !checks.iter().all(closes) {
            return GoOn::MeasureAgain;
        }
        match self.as_built.standing {
            Standing::Fails => GoOn::Stop,
            Standing::BelowTarget => GoOn::BelowTarget,
            Standing::Holds if !self.turned.is_empty() => GoOn::RulesTurned,
            Standing::Holds => GoOn::Yes,
        }
    }
}

/// Levels that make no site: the reading to look at is named where one is doubted.
fn refuse(error: &AsBuiltError, doubts: &[Doubt]) -> Refusal {
    let names: Vec<&str> = doubts.iter().map(|doubt| doubt.name.as_str()).collect();
    match names.as_slice() {
        [] => Refusal::because(error),
        names => Refusal::because(format_args!(
            "{error}; measure again what lies far from its design: {}",
            names.join(", ")
        )),
    }
}
