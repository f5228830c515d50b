//! Tank base: the tank stands firm and its pipes can give a little.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "tank-base",
    section: Section::Tank,
    checks: "The tank's base carries it, and pipes are joined so that settling does not shear them.",
    why: "A full tank settles; a rigid riser then breaks at the wall.",
    limit: None,
    threshold: "a statement for each tank",
    source: Source {
        text: "a tank maker's instructions: firm level base, flexible connection",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.base",
    mend: "show the base and a flexible connection",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let each = input.network.tanks().iter().enumerate();
    each.map(|(index, tank)| {
        let statement = input.facts.tank(index).base;
        stated(rule, input, &tank.tag, (statement.as_ref(), "tanks.{}.base"), "base and connections")
    })
    .collect()
}
