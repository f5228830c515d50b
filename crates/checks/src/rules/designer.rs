//! Designer: somebody who may do so answers for the design.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "designer",
    section: Section::Documents,
    checks: "The licence of the designer, or the exemption that makes one needless, is stated.",
    why: "Many places want a competent designer for all but small outdoor systems; a calculation \
          does not replace one.",
    limit: None,
    threshold: "a licence or an exemption is cited",
    source: Source {
        text: "UPC 2018 chapter 16: licensed or competent designer, with exemptions",
        confidence: Confidence::Read,
    },
    keys: "documents.designer",
    mend: "have a person who may answer for the design sign it, or cite the exemption",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let statement = input.facts.documents.designer.as_ref();
    vec![stated(rule, input, "site", (statement, "documents.designer"), "designer or exemption")]
}
