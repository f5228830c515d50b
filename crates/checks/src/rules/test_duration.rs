//! Test duration: the water test is held long enough.

use super::prelude::*;
use std::time::Duration;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "test-duration",
    section: Section::Watertight,
    checks: "The water test is held without loss for the usual time.",
    why: "A weeping joint needs minutes to show; once the trench is closed it takes a season.",
    limit: Some(Amount::Time(Duration::from_secs(900))),
    threshold: "the least time that the level is held",
    source: Source {
        text: "city codes after IPC 312.2: 15 minutes before inspection",
        confidence: Confidence::Read,
    },
    keys: "test.duration",
    mend: "hold the test longer",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let Some(duration) = input.facts.test.as_ref().and_then(|t| t.duration) else {
        let message = "how long the test is held is not shown";
        return vec![rule.asks(input, "site", message, &["test.duration"])];
    };
    let limit = Duration::try_from_secs_f64(rule.limit_si(input)).unwrap_or_default();
    let message = format!("held for {}", Amount::Time(duration).show(input.facts.units));
    vec![
        rule.at(input, "site", pass_if(duration >= limit), message)
            .with(Amount::Time(duration), Amount::Time(limit)),
    ]
}
