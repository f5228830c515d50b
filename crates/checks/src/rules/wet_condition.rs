//! Wet condition: the drawing says that pipes stand full, and a local ban is answered.

use super::prelude::*;
use wetrun_facts::Stated;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "wet-condition",
    section: Section::Documents,
    checks: "The drawing declares that the pipes stand full, and where the local code asks for \
             continuous slope the authority has accepted it in writing.",
    why: "Some codes ask collection piping to slope continuously and water not to pool. A wet \
          system pools by design, so it needs an approved alternative or a local reading, on \
          the drawing.",
    limit: None,
    threshold: "declared; and accepted in writing where continuous slope is asked for",
    source: Source {
        text: "IRC 2018 P2912.5.1: piping shall slope continuously, downspouts shall not pool",
        confidence: Confidence::Read,
    },
    keys: "documents.wet_condition, documents.continuous_slope, documents.accepted",
    mend: "declare the wet condition on the drawing",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let documents = &input.facts.documents;
    let at = |outcome, message: &str| vec![rule.at(input, "site", outcome, message.to_owned())];
    let asks = |message: &str, keys: &[&str]| vec![rule.asks(input, "site", message, keys)];
    match &documents.wet_condition {
        None => {
            let message = "the drawing does not say that the pipes stand full";
            return asks(message, &["documents.wet_condition"]);
        }
        Some(Stated::No) => {
            return at(Outcome::Fail, "the drawing denies that the pipes stand full; they do");
        }
        Some(Stated::Yes(_)) => {}
    }
    match (documents.continuous_slope, &documents.accepted) {
        (None, None) => asks(
            "declared; whether the local code asks for continuous slope is not shown",
            &["documents.continuous_slope"],
        ),
        (Some(false), _) => at(Outcome::Pass, "declared; no continuous slope is asked for"),
        (_, Some(Stated::Yes(letter))) => {
            vec![said(rule, input, "site", "declared and accepted", letter)]
        }
        (_, Some(Stated::No)) => at(Outcome::Fail, "declared, but the authority did not accept it"),
        (Some(true), None) => at(
            Outcome::NeedsDecision,
            "the local code asks for continuous slope; the authority must accept the wet condition",
        ),
    }
}
