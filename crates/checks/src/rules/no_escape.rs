//! No escape: in the design storm no water comes out of a vent or a loose cap.

use super::prelude::*;
use wetrun_network::OpeningKind;
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "no-escape",
    section: Section::Levels,
    checks: "In the design storm no water comes out of a vent or of a cap that is not sealed.",
    why: "A vent or a loose cap below the storm grade line is the lowest opening of the line: the \
          storm leaves there, often beside the footing.",
    limit: None,
    threshold: "nothing comes out",
    source: Source { text: "the design storm of the site file", confidence: Confidence::Reasoned },
    keys: "points.*.vent: { level }, points.*.cap",
    mend: "take it above the storm grade line; a cap can be sealed instead",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let mut found = Vec::new();
    for (state, room) in input.steady.openings.iter().zip(&input.verdict.openings) {
        let point = input.network.point(state.at);
        let Some(opening) = point.opening else { continue };
        let what = match opening.kind {
            OpeningKind::Vent => "vent",
            OpeningKind::Cap => "open cap",
        };
        let message = if room.leaves {
            format!("{} comes out of the {what}", units.show_flow(state.escapes))
        } else {
            let level = say::level(units, opening.level.to_m());
            format!("nothing comes out of the {what} at {level}")
        };
        let mut finding = rule.at(input, &point.tag, pass_if(!room.leaves), message);
        if room.leaves {
            finding.mend = super::unsealed::mend(input, state.at, 0.0);
        }
        found.push(finding.with(Amount::Flow(state.escapes), Amount::Flow(Flow::ZERO)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no vent or loose cap is drawn with its level");
    }
    found
}
