//! Cover: enough soil lies over the pipe.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "cover",
    section: Section::Ground,
    checks: "At every station with a ground level the soil over the crown of the pipe is deep \
             enough.",
    why: "A shallow pipe is crushed, dug up, or freezes.",
    limit: Some(Amount::Length(Length::m(0.3048))),
    threshold: "the least depth of soil over the crown, without vehicles",
    source: Source {
        text: "12 in is a common figure in US plumbing codes for sewers and water service; the \
               jurisdiction fills the number",
        confidence: Confidence::Read,
    },
    keys: "points.*.ground, lines.*.profile[*].ground",
    mend: "lay the pipe deeper, or protect it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let limit_m = rule.limit_si(input);
    let each = input.network.lines().iter().enumerate();
    each.map(|(index, _)| super::cover_of(rule, input, index, limit_m)).collect()
}
