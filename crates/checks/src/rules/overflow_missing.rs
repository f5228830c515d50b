//! Overflow missing: a full tank without overflow has nowhere to put what it receives.

use super::prelude::*;
use wetrun_network::TankId;
use wetrun_solver::TankState;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "overflow-missing",
    section: Section::Tank,
    checks: "Every tank that receives water has an overflow, where tanks are taken as full.",
    why: "A full tank without one has nowhere to put what it receives: it backs up into the line. \
          The calculation takes it as standing at its inlet, which is the least it can do.",
    limit: None,
    threshold: "an overflow",
    source: Source { text: "water that comes in must leave", confidence: Confidence::Reasoned },
    keys: "tanks.*.overflow, storm.tanks",
    mend: "give it an overflow below its inlet",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    if input.scenario.tanks != TankState::Full {
        return rule.not_applicable(input, "the tanks are taken as empty");
    }
    let tanks = input.network.tanks().iter().enumerate();
    let fed = tanks.filter(|(index, _)| super::fed(input, TankId::new(*index)));
    let mut found: Vec<Finding> = fed
        .filter(|(_, tank)| tank.overflow.is_none())
        .map(|(_, tank)| {
            let message = format!(
                "{} is taken as full and has no overflow: its water is taken at its inlet",
                tank.tag
            );
            let finding = rule.at(input, &tank.tag, Outcome::Caution, message);
            let missing = vec![format!("tanks.{}.overflow.level", tank.tag)];
            Finding { mend: Some(rule.mend.to_owned()), missing, ..finding }
        })
        .collect();
    if found.is_empty() {
        let message = "every tank that receives water has an overflow".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}
