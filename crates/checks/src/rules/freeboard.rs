//! Freeboard: in the design storm water stands far enough below every opening.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "freeboard",
    section: Section::Levels,
    checks: "In the design storm water stands below every opening by the target freeboard.",
    why: "The freeboard pays for what the calculation does not know: silt, a leaf on the screen, \
          a level that came out high, a harder burst.",
    limit: Some(Amount::Length(Length::m(0.1))),
    threshold: "the least headroom; targets.freeboard sets it too",
    source: Source {
        text: "50 to 100 mm is usual; no code gives a number for wet systems",
        confidence: Confidence::CommonPractice,
    },
    keys: "targets.freeboard, downspouts.*.outlet, downspouts.*.leaf_head",
    mend: "lower the inlet, raise the opening, or enlarge the line that loses most",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let target_m = input.verdict.asked.to_m();
    let each = input.network.downspouts().iter().zip(&input.steady.downspouts);
    each.zip(&input.verdict.margins)
        .map(|((downspout, state), margin)| {
            let headroom_m = state.headroom.to_m();
            let opening = if downspout.leaf_head.is_some() { "leaf head" } else { "outlet" };
            let holds = !margin.lacks();
            let (has, asked) = say::heights(units, headroom_m.abs(), target_m);
            let side = if headroom_m < 0.0 { "above" } else { "below" };
            let message =
                format!("water stands {has} {side} the {opening}; {asked} below it is asked for");
            let mut finding = rule.at(input, &downspout.tag, pass_if(holds), message);
            if input.facts.freeboard_given && !rule.limit_is_given(input) {
                finding.basis = "target freeboard of the site file".to_owned();
            }
            finding.with(Amount::Length(state.headroom), metres(target_m))
        })
        .collect()
}
