//! Frost depth: buried pipe that stays full lies below the frost, or is kept from it.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "frost-depth",
    section: Section::Ground,
    checks: "Every buried line that stays full lies below the depth to which the ground freezes, \
             by the margin asked for, or is drained or insulated.",
    why: "A wet line has no drained state: it stands full all winter unless somebody empties it.",
    limit: Some(Amount::Length(Length::m(0.1524))),
    threshold: "the least depth of the crown below the frost",
    source: Source {
        text: "IRC P2603.6: water service 6 in below the frost line (taken for a line that \
               stays full)",
        confidence: Confidence::Read,
    },
    keys: "ground.frost_depth, lines.*.frost, points.*.ground, lines.*.profile[*].ground",
    mend: "lay it deeper, insulate it, or drain it before frost",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let frost = match of_site(rule, input) {
        Ok(frost) => frost,
        Err(instead) => return instead,
    };
    let limit_m = frost.to_m() + rule.limit_si(input);
    let each = input.network.lines().iter().enumerate();
    each.map(|(index, line)| match input.facts.line(index).frost {
        Some(wetrun_facts::Stated::Yes(how)) => {
            said(rule, input, &line.tag, "kept from frost", &how)
        }
        _ => super::cover::of_line(rule, input, index, limit_m),
    })
    .collect()
}

/// How deep the ground freezes; where that is not shown, or it does not, what a rule says instead.
pub(super) fn of_site(rule: &Rule, input: &Judged<'_>) -> Result<Length, Vec<Finding>> {
    match input.facts.ground.frost_depth {
        Some(frost) if frost > Length::ZERO => Ok(frost),
        Some(_) => Err(rule.not_applicable(input, "the ground does not freeze here")),
        None => {
            let message = "how deep the ground freezes is not shown";
            Err(vec![rule.asks(input, "site", message, &["ground.frost_depth"])])
        }
    }
}
