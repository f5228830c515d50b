//! Watertight level: what is drawn as watertight pipe reaches as high as water stands.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "watertight-level",
    section: Section::Watertight,
    checks: "Each downspout is drawn as watertight pipe up to the standing level in the storm and \
             the freeboard above it, but no higher than its opening.",
    why: "Below the storm grade line a downspout is a pipe under pressure; a folded spout or a \
          loose joint there leaks at the wall of the house.",
    limit: None,
    threshold: "the standing level in the storm plus the freeboard, at most the opening",
    source: Source {
        text: "IRC P2912: joints of collection piping are watertight; the level follows from the \
               calculation",
        confidence: Confidence::Reasoned,
    },
    keys: "downspouts.*.watertight_to",
    mend: "draw solid pipe with tight joints up to that level",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let each = input.network.downspouts().iter().enumerate();
    each.map(|(index, downspout)| {
        let need_m = super::watertight_to_m(input, index);
        let Some(drawn) = input.facts.downspout(index).watertight_to else {
            let message = format!(
                "up to what level it is watertight is not shown; {} is needed",
                say::level_up(units, need_m)
            );
            let key = "downspouts.{}.watertight_to";
            return Finding {
                limit: Some(metres(need_m)),
                ..rule.asks(input, &downspout.tag, &message, &[key])
            };
        };
        let holds = drawn.to_m() >= need_m - LEVEL_TOLERANCE_M;
        let asked = say::level_up(units, need_m);
        // A level just short of what is asked for must not read like it.
        let has = match holds {
            true => say::level(units, drawn.to_m()),
            false => say::levels(units, drawn.to_m(), units.read_level(&asked).map_or(need_m, |l| l.to_m())).0,
        };
        let message = format!("drawn watertight to {has}; {asked} is needed");
        let mut finding = rule.at(input, &downspout.tag, pass_if(holds), message);
        if !holds {
            finding = finding.mended(format!("take the tight pipe up to {asked}"));
        }
        finding.with(Amount::Length(drawn), metres(need_m))
    })
    .collect()
}
