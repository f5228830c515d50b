//! Calculation: it was made for the revision that is shown.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "calculation",
    section: Section::Documents,
    checks: "The calculation sheet belongs to the revision of the drawing that is shown.",
    why: "A roof added or a level moved after the calculation was made is the usual way in which \
          a checked design stops working.",
    limit: None,
    threshold: "the same revision on the drawing and on the calculation",
    source: Source {
        text: "IPC 2018 chapter 13: calculations with the application; the same revision is \
               common practice",
        confidence: Confidence::CommonPractice,
    },
    keys: "revision, documents.calculation",
    mend: "make the calculation for the revision that is shown, or show the one it was made for",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let Some(revision) = &input.facts.revision else {
        let message = "the revision of the drawing is not shown";
        return vec![rule.asks(input, "site", message, &["revision"])];
    };
    let Some(calculation) = &input.facts.documents.calculation else {
        let message = "no calculation is named";
        return vec![rule.asks(input, "site", message, &["documents.calculation"])];
    };
    let same = revision.trim() == calculation.trim();
    let message = if same {
        format!("drawing and calculation are both revision {revision}")
    } else {
        format!("the drawing is revision {revision}, the calculation was made for {calculation}")
    };
    vec![rule.at(input, "site", pass_if(same), message)]
}
