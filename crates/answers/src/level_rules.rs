//! The rules of the review that levels can turn, and which of them turned.

use wetrun_checks::{Amount, Facts, Finding, Judged, Outcome};
use wetrun_design::levels::{Broken, Drawn, Judgement, turned};
use wetrun_network::Network;
use wetrun_solver::{Scenario, SpillRains, Steady};
use wetrun_verdict::{SAME_M, Verdict};

/// Judges the states of a search as `check` and `review` judge a site.
#[derive(Debug)]
pub(crate) struct BySite {
    /// What states are solved for.
    pub(crate) scenario: Scenario,
    /// What the site shows besides its network.
    pub(crate) facts: Facts,
}

impl BySite {
    /// What the site shows, with the levels at points as they were moved.
    pub(crate) fn facts_of(&self, moved: &Drawn) -> Facts {
        let mut facts = self.facts.clone();
        for (shown, levels) in facts.points.iter_mut().zip(&moved.points) {
            if let Some(vent) = shown.vent.as_mut() {
                vent.level = levels.vent;
            }
            shown.cap = levels.cap;
            if let Some(drain) = shown.drain_outlet.as_mut() {
                drain.level = levels.drain_outlet;
            }
        }
        facts
    }
}

impl Judgement for BySite {
    fn verdict(&self, network: &Network, steady: &Steady) -> Verdict {
        wetrun_checks::verdict(network, steady, &self.facts)
    }

    fn broken(&self, moved: &Drawn, steady: &Steady) -> Vec<Broken> {
        let facts = self.facts_of(moved);
        let verdict = wetrun_checks::verdict(&moved.network, steady, &facts);
        let found = wetrun_checks::level_rules(&Judged {
            network: &moved.network,
            scenario: &self.scenario,
            steady,
            // None of these rules asks for a rain.
            spill_rains: &SpillRains::NONE,
            verdict: &verdict,
            facts: &facts,
            drains: None,
            mends: None,
        });
        let mut broken = broken(&found);
        broken.extend(drains_uphill(moved));
        broken
    }
}

/// Drains that run out above what they drain, whatever else is shown of them.
fn drains_uphill(moved: &Drawn) -> impl Iterator<Item = Broken> + '_ {
    let each = moved.network.points().iter().zip(&moved.points);
    let uphill = each.filter(|(point, at)| {
        at.drain_outlet.is_some_and(|out| (out - point.level).to_m() > SAME_M)
    });
    uphill.map(|(point, _)| Broken { rule: "drain-outlet", at: point.tag.clone(), fails: true })
}

/// Rules whose value below nothing is worse than a value below what is asked for: a pipe that
/// comes out of the ground, an inlet below its overflow.
const TURN_AT_NOTHING: [&str; 2] = ["cover", "inlet-air-gap"];

/// The findings that do not pass; those that are worse than that count twice, so that they turn
/// where too little was drawn before.
fn broken(found: &[Finding]) -> Vec<Broken> {
    let mut all = Vec::new();
    for finding in found {
        let fails = match finding.outcome {
            Outcome::Fail => true,
            Outcome::NotShown => false,
            _ => continue,
        };
        let nothing = matches!(finding.value, Some(Amount::Length(left)) if left.to_m() < -SAME_M);
        let times = if nothing && TURN_AT_NOTHING.contains(&finding.rule) { 2 } else { 1 };
        let broken = Broken { rule: finding.rule, at: finding.at.clone(), fails };
        all.extend(std::iter::repeat_n(broken, times));
    }
    all
}

/// Rules that say again what the verdict says.
const OF_THE_VERDICT: [&str; 4] = ["freeboard", "no-spill", "no-escape", "tank-rim"];

/// The findings of `after` that turned against `before`, where both are whole reviews; what the
/// verdict says stands there.
pub(crate) fn findings_turned(before: &[Finding], after: &[Finding]) -> Vec<Finding> {
    let mut turned = turned(&broken(before), &broken(after));
    let mut found = Vec::new();
    for finding in after.iter().filter(|f| !OF_THE_VERDICT.contains(&f.rule)) {
        let same = |b: &Broken| b.rule == finding.rule && b.at == finding.at;
        let fits = |b: &Broken| same(b) && b.fails == (finding.outcome == Outcome::Fail);
        let before = turned.len();
        turned.retain(|b| !fits(b));
        if turned.len() < before {
            found.push(finding.clone());
        }
    }
    found
}
