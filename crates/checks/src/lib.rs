//! Judgement of a solved network: one file a rule, and the findings they come to.
//!
//! A check never changes a result: the rules read a [`Judged`] and return [`Finding`]s.

mod cautions;
#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod example;
mod finding;
mod groups;
mod law;
mod opened;
mod page;
mod proof;
mod queue;
mod rule;
mod rules;
mod say;
mod standing;
mod terrain;
mod volume;
mod whole;

pub use cautions::CAUTIONS;
pub use finding::{Finding, Outcome};
pub use opened::DrainOpened;
pub use page::{document, page_parts};
pub use proof::{Proof, rains_asked_for, turns_a_rule};
pub use wetrun_facts::Amount;
pub use wetrun_facts::{
    Benchmark, Documents, DownspoutFacts, DrainOutlet, Facts, FirstFlush, Ground, Gutter,
    GutterShape, HoldDown, LimitGiven, LineFacts, PointFacts, Roof, Screen, Stated, TankFacts,
    Tolerances, Vent, WaterTest,
};

pub use rule::{Confidence, Rule, Section, Source};
pub use standing::Standing;
pub use wetrun_facts::shown;

/// The units a person reads a message in.
pub use wetrun_units::UnitSystem as Units;

use wetrun_network::Network;
use wetrun_solver::{Scenario, SpillRains, Steady};
use wetrun_verdict::{Cause, Verdict};

/// What the rules judge: a network, the circumstances, its solved state, and what else the
/// drawing shows.
#[derive(Clone, Copy, Debug)]
pub struct Judged<'a> {
    /// The network.
    pub network: &'a Network,
    /// What the state was solved for.
    pub scenario: &'a Scenario,
    /// The solved state.
    pub steady: &'a Steady,
    /// The rains at which water first leaves, where they are known.
    pub spill_rains: &'a SpillRains,
    /// The verdict on the state, as [`verdict`] gives it.
    pub verdict: &'a Verdict,
    /// What else the site file shows.
    pub facts: &'a Facts,
    /// What each drain does that is opened by itself, in any order; `None` where that was not followed:
    /// rules that ask for it then decide nothing.
    pub drains: Option<&'a [DrainOpened]>,
    /// What proves mends: each is solved again as a whole. `None`: none are looked for.
    pub mends: Option<Proof<'a>>,
}

/// The verdict on a state: what the hydraulics say, and what gutters and their outlets carry.
pub fn verdict(network: &Network, steady: &Steady, facts: &Facts) -> Verdict {
    let hydraulics = Verdict::new(network, steady, facts.freeboard);
    hydraulics.with(law::gutter_failures(network, steady, facts))
}

/// The rule whose finding tells of a cause of failure.
pub fn rule_of(cause: Cause) -> &'static Rule {
    match cause {
        Cause::Spill => &rules::no_spill::RULE,
        Cause::Escape => &rules::no_escape::RULE,
        Cause::Rim => &rules::tank_rim::RULE,
        Cause::Gutter => &rules::gutter_capacity::RULE,
        Cause::Outlet => &rules::gutter_outlet::RULE,
        Cause::Freeboard => &rules::freeboard::RULE,
    }
}

/// Every rule, in the order of the checklist.
pub fn rules() -> &'static [&'static Rule] {
    &rules::ALL
}

/// The rule of a name.
pub fn rule(name: &str) -> Option<&'static Rule> {
    rules().iter().find(|rule| rule.name == name).copied()
}

/// The few rules that decide whether a design holds, as the verdict does: one of them fails exactly
/// where the verdict has a failure. With them, cautions on overflows and on laws outside their
/// range.
pub fn check(input: &Judged<'_>) -> Vec<Finding> {
    let worth_saying =
        |finding: &Finding| !matches!(finding.outcome, Outcome::NotShown | Outcome::NotApplicable);
    let mut found = rules::freeboard::RULE.judge(input);
    found.extend(rules::no_spill::RULE.judge(input));
    let where_shown = [
        &rules::no_escape::RULE,
        &rules::tank_rim::RULE,
        &rules::gutter_capacity::RULE,
        &rules::gutter_outlet::RULE,
    ];
    for rule in where_shown {
        found.extend(rule.judge(input).into_iter().map(as_usual).filter(worth_saying));
    }
    let cautions =
        [&rules::overflow_missing::RULE, &rules::overflow_cascade::RULE, &rules::law_range::RULE];
    for rule in cautions {
        found.extend(rule.judge(input).into_iter().filter(|f| f.outcome == Outcome::Caution));
    }
    found
}

/// What holds with the usual value where the drawing gives none is no failure of the design: only a
/// review asks for that value.
fn as_usual(finding: Finding) -> Finding {
    let judged = finding.outcome == Outcome::NotShown && finding.value.is_some();
    Finding { outcome: if judged { Outcome::Pass } else { finding.outcome }, ..finding }
}

/// Every rule of the checklist, in its order. What a rule finds shown nowhere it says once, for the
/// whole site.
pub fn review(input: &Judged<'_>) -> Vec<Finding> {
    rules().iter().flat_map(|rule| whole::once(rule.judge(input))).collect()
}

/// The rules that can turn when a level moves: openings, humps, vents, drains, cover, the tank's
/// air gap and overflow, and what hangs on the way and the speed of the water.
pub fn level_rules(input: &Judged<'_>) -> Vec<Finding> {
    const RULES: [&Rule; 17] = [
        &rules::levels_agree::RULE,
        &rules::inlet_below_openings::RULE,
        &rules::lowest_opening::RULE,
        &rules::hump_vent::RULE,
        &rules::vent_top::RULE,
        &rules::low_point_drain::RULE,
        &rules::drain_outlet::RULE,
        &rules::cover::RULE,
        &rules::cover_vehicles::RULE,
        &rules::frost_depth::RULE,
        &rules::flush_daylight::RULE,
        &rules::overflow_capacity::RULE,
        &rules::inlet_air_gap::RULE,
        &rules::overflow_cascade::RULE,
        &rules::linked_tanks::RULE,
        &rules::no_reduction::RULE,
        &rules::design_velocity::RULE,
    ];
    RULES.iter().flat_map(|rule| rule.judge(input)).collect()
}
