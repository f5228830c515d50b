//! Drawings: the set holds a plan and a long section.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "drawings",
    section: Section::Documents,
    checks: "The set holds a plan and a long section.",
    why: "A plan alone hides what matters in a wet system: humps, sags, the riser, and where \
          water stands. The long section shows them.",
    limit: None,
    threshold: "both a plan and a long section are in the set",
    source: Source {
        text: "IPC 2018 chapter 13: construction documents with the application; the long \
               section is common practice",
        confidence: Confidence::CommonPractice,
    },
    keys: "documents.drawings",
    mend: "add the missing drawing to the set",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let Some(drawings) = &input.facts.documents.drawings else {
        let message = "the drawings of the set are not listed";
        return vec![rule.asks(input, "site", message, &["documents.drawings"])];
    };
    let has = |word: &str| drawings.iter().any(|name| name.to_lowercase().contains(word));
    let missing: Vec<&str> = [("plan", "plan"), ("section", "long section")]
        .iter()
        .filter(|(word, _)| !has(word))
        .map(|&(_, name)| name)
        .collect();
    let message = if missing.is_empty() {
        format!("the set holds {}", say::list(drawings.iter().map(String::as_str)))
    } else {
        format!("the set has no {}", missing.join(" and no "))
    };
    vec![rule.at(input, "site", pass_if(missing.is_empty()), message)]
}
