//! Joint type: pipes that stand full are joined so that they stay tight.

use super::prelude::*;
use wetrun_network::Pipe;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "joint-type",
    section: Section::Watertight,
    checks: "Every pipe that stands full is of a kind, and joined in a way, that holds standing \
             water for years.",
    why: "Unglued joints leak and let roots in; corrugated and perforated pipe cannot be tested \
          or flushed. In a full line that shows late, beside the footing.",
    limit: None,
    threshold: "solvent weld, sealing ring, fused, flanged, threaded or welded joints",
    source: Source {
        text: "trade notes on unglued joints and roots, and on corrugated pipe",
        confidence: Confidence::Read,
    },
    keys: "pipe, pipes.*.joint",
    mend: "use pipe with solvent-welded, ringed or fused joints",
    judge,
};

/// Words of joints that hold.
const TIGHT: [&str; 11] = [
    "solvent",
    "weld",
    "ring",
    "gasket",
    "fus",
    "flange",
    "thread",
    "cement",
    "rubber",
    "elastomer",
    "screw",
];

/// Words of joints and pipes that do not.
const LOOSE: [&str; 9] =
    ["dry", "loose", "unglued", "snap", "tape", "corrugated", "perforated", "slip", "none"];

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let mut judged: Vec<(String, Outcome, String)> = Vec::new();
    let downspouts = input.network.downspouts().iter().map(|d| (&d.tag, &d.pipe));
    let lines = input.network.lines().iter().map(|l| (&l.tag, &l.pipe));
    for (tag, pipe) in downspouts.chain(lines) {
        let (outcome, message) = joint(pipe);
        judged.push((tag.clone(), outcome, message));
    }
    if judged.iter().all(|(_, outcome, _)| *outcome == Outcome::Pass) {
        let mut joints: Vec<&str> = judged.iter().map(|(_, _, message)| message.as_str()).collect();
        joints.sort_unstable();
        joints.dedup();
        let message = format!("all pipes: {}", say::list(joints));
        return vec![rule.at(input, "site", Outcome::Pass, message)];
    }
    judged
        .into_iter()
        .filter(|(_, outcome, _)| *outcome != Outcome::Pass)
        .map(|(tag, outcome, message)| rule.at(input, &tag, outcome, message))
        .collect()
}

fn joint(pipe: &Pipe) -> (Outcome, String) {
    let words = format!("{} {}", pipe.kind, pipe.joint).to_lowercase();
    if let Some(loose) = LOOSE.iter().find(|word| words.contains(**word)) {
        let message = format!("`{}` does not hold standing water ({loose})", pipe.label);
        return (Outcome::Fail, message);
    }
    if crate::shown(&pipe.joint).is_none() {
        return (Outcome::NotShown, format!("how `{}` is joined is not shown", pipe.label));
    }
    if TIGHT.iter().any(|word| words.contains(word)) {
        return (Outcome::Pass, pipe.joint.clone());
    }
    let message = format!("whether `{}` joints hold standing water", pipe.joint);
    (Outcome::NeedsDecision, message)
}
