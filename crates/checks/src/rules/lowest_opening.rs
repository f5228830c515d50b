//! Lowest opening: vents and cleanout caps count too, not only gutters.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "lowest-opening",
    section: Section::Levels,
    checks: "Every cleanout that is not sealed has its cap above the storm grade line.",
    why: "Head is measured to the lowest place where water can leave. A loose cap below the \
          storm grade line is the lowest opening of the line, and the storm leaves there.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of an unsealed cap above the head in the storm",
    source: Source { text: "water leaves at the lowest opening", confidence: Confidence::Reasoned },
    keys: "points.*.cap (a level, or sealed)",
    mend: "seal the cap, or raise it above the storm grade line",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for (index, point) in input.network.points().iter().enumerate() {
        if !point.cleanout {
            continue;
        }
        let facts = input.facts.point(index);
        if facts.cap_sealed {
            let message = "the cap is sealed against the water below".to_owned();
            found.push(rule.at(input, &point.tag, Outcome::Pass, message));
            continue;
        }
        let Some(cap) = facts.cap else {
            let message = "whether the cleanout is sealed, or at what level, is not shown";
            found.push(rule.not_shown(input, &point.tag, message));
            continue;
        };
        let limit_m = rule.limit_si(input);
        let above_m = cap.to_m() - input.steady.points[index].head.to_m();
        let message =
            format!("the open cap is {} the storm grade line", say::apart(units, above_m));
        let mut finding = rule.at(input, &point.tag, pass_if(above_m >= limit_m), message);
        if above_m < limit_m {
            let short = say::height(units, limit_m - above_m);
            finding = finding.mended(format!("seal the cap, or raise it by {short}"));
        }
        found.push(finding.with(metres(above_m), metres(limit_m)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no cleanouts are drawn");
    }
    found
}
