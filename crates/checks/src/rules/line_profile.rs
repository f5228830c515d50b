//! Line profile: the long section gives each line's invert often enough.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "line-profile",
    section: Section::Documents,
    checks: "Each line has a profile of inverts, no farther apart than a laying crew can check.",
    why: "Humps and sags between the ends do not show in two levels; they hold air and silt, and \
          air costs head.",
    limit: Some(Amount::Length(Length::m(30.0))),
    threshold: "the longest distance between two inverts of a profile",
    source: Source {
        text: "cut sheets with stakes at 25 to 30 m and at changes",
        confidence: Confidence::CommonPractice,
    },
    keys: "lines.*.profile",
    mend: "add inverts in between",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let each = input.network.lines().iter().enumerate();
    each.map(|(index, line)| {
        if !input.facts.line(index).profile_shown {
            let message = "the inverts between its ends are not shown";
            return rule.asks(input, &line.tag, message, &["lines.{}.profile"]);
        }
        let longest_m = line
            .profile
            .windows(2)
            .map(|pair| pair[1].at.to_m() - pair[0].at.to_m())
            .fold(0.0, f64::max);
        let message =
            format!("inverts no farther apart than {}", units.show_length(Length::m(longest_m)));
        rule.at(input, &line.tag, pass_if(longest_m <= limit_m + LEVEL_TOLERANCE_M), message)
            .with(metres(longest_m), metres(limit_m))
    })
    .collect()
}
