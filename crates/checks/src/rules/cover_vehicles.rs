//! Cover under vehicles: more soil lies over a pipe that they cross.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "cover-vehicles",
    section: Section::Ground,
    checks: "Where vehicles cross a line the soil over its crown is deeper.",
    why: "A wheel load reaches a shallow pipe; a crushed full pipe leaks where nobody looks.",
    limit: Some(Amount::Length(Length::m(0.6))),
    threshold: "the least depth of soil over the crown under vehicles",
    source: Source { text: "0.6 m under drives", confidence: Confidence::CommonPractice },
    keys: "lines.*.vehicles, points.*.ground, lines.*.profile[*].ground",
    mend: "lay the pipe deeper, or under a slab",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, line) in input.network.lines().iter().enumerate() {
        match input.facts.line(index).vehicles {
            None => {
                let message = "whether vehicles cross it is not shown";
                found.push(rule.asks(input, &line.tag, message, &["lines.{}.vehicles"]));
            },
            Some(false) => {}
            Some(true) => found.push(super::cover::of_line(rule, input, index, limit_m)),
        }
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no vehicles cross the lines");
    }
    found
}
