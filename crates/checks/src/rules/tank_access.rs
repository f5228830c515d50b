//! Tank access: it can be opened for cleaning, and warns against entering.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "tank-access",
    section: Section::Tank,
    checks: "Access for cleaning, a drain, and a warning against entering are shown.",
    why: "People have died in tanks: still air in a closed tank can be without oxygen.",
    limit: None,
    threshold: "a statement for each tank",
    source: Source {
        text: "health guidance on tank desludging: confined space",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.access",
    mend: "show the access, its lock and its warning",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let each = input.network.tanks().iter().enumerate();
    each.map(|(index, tank)| {
        let statement = input.facts.tank(index).access;
        stated(rule, input, &tank.tag, (statement.as_ref(), "tanks.{}.access"), "access, drain and warning")
    })
    .collect()
}
