//! Linked tanks: tanks joined by a pipe overflow at the same level.

use super::prelude::*;
use wetrun_network::End;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "linked-tanks",
    section: Section::Tank,
    checks: "Tanks joined by a balance line overflow at the same level.",
    why: "The lower overflow sets the level of both: what the higher tank could hold is never \
          filled.",
    limit: Some(Amount::Length(Length::m(0.025))),
    threshold: "the largest difference of their overflow levels",
    source: Source { text: "owners' accounts of linked tanks", confidence: Confidence::Read },
    keys: "lines from tank to tank, tanks.*.overflow.level",
    mend: "set the overflows level, or let one overflow into the other",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for line in input.network.lines() {
        let (End::Tank(a), End::Tank(b)) = (line.from, line.to) else { continue };
        let level = |tank| input.network.tank(tank).overflow.as_ref().map(|o| o.level.to_m());
        let (Some(a_m), Some(b_m)) = (level(a), level(b)) else {
            let message = "the overflow levels of the tanks it joins are not both shown";
            found.push(rule.not_shown(input, &line.tag, message));
            continue;
        };
        let apart_m = (a_m - b_m).abs();
        let message =
            format!("it joins tanks whose overflows differ by {}", say::height(units, apart_m));
        found.push(
            rule.at(input, &line.tag, pass_if(apart_m <= limit_m), message)
                .with(metres(apart_m), metres(limit_m)),
        );
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no line joins two tanks");
    }
    found
}
