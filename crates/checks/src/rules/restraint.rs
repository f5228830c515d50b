//! Restraint: bends, risers and caps cannot move.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "restraint",
    section: Section::Watertight,
    checks: "Bends, the riser and caps are held so that they cannot move or pull apart.",
    why: "A full column pushes on every bend and cap; unsupported pipe strains its fittings and the tank wall.",
    limit: None,
    threshold: "a statement of how they are held",
    source: Source {
        text: "makers' installation guides: support and restrain pipe at bends",
        confidence: Confidence::Read,
    },
    keys: "documents.restraint",
    mend: "show blocks, straps or anchors at bends, riser and caps",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.restraint.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.restraint"), "restraint of bends, riser and caps")]
}
