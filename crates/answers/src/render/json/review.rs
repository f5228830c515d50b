//! The result of `wetrun review` as JSON.

use super::{document, maybe, object};
use crate::outcome::Refusal;
use crate::review::Review;
use crate::solved::Solved;
use serde_json::Value;
use wetrun_checks::{Amount, Finding, Outcome};

/// Outcomes in the order they are counted.
const COUNTED: [Outcome; 6] = [
    Outcome::Pass,
    Outcome::Fail,
    Outcome::Caution,
    Outcome::NotShown,
    Outcome::NeedsDecision,
    Outcome::NotApplicable,
];

/// The whole result.
pub fn review(solved: &Solved, review: &Review) -> Result<String, Refusal> {
    result(solved, review).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(solved: &Solved, review: &Review) -> Result<Value, Refusal> {
    let Review { findings, standing } = review;
    let revision = solved.facts.revision.as_deref();
    let count = |outcome: Outcome| findings.iter().filter(|f| f.outcome == outcome).count();
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(solved.site.name.as_str())),
        ("revision", revision.map_or(Value::Null, Value::from)),
        ("verdict", Value::from(standing.word())),
        ("counts", object(COUNTED.map(|outcome| (outcome.word(), Value::from(count(outcome)))))),
        ("findings", findings.iter().map(finding).collect::<Result<Value, Refusal>>()?),
        ("cautions", wetrun_checks::CAUTIONS.iter().map(|c| Value::from(*c)).collect()),
    ]))
}

/// A finding with its section and what would mend it.
pub(crate) fn finding(finding: &Finding) -> Result<Value, Refusal> {
    let section = wetrun_checks::rule(finding.rule).map(|rule| rule.section.letter());
    let mend = finding.mend.as_deref();
    Ok(object([
        ("rule", Value::from(finding.rule)),
        ("section", section.map_or(Value::Null, Value::from)),
        ("outcome", Value::from(finding.outcome.word())),
        ("where", Value::from(finding.at.as_str())),
        ("value", maybe(finding.value.map(Amount::si))?),
        ("limit", maybe(finding.limit.map(Amount::si))?),
        ("unit", Value::from(finding.unit())),
        ("message", Value::from(finding.message.as_str())),
        ("basis", Value::from(finding.basis.as_str())),
        ("mend", mend.map_or(Value::Null, Value::from)),
        ("stated", finding.stated.as_deref().map_or(Value::Null, Value::from)),
        ("missing", finding.missing.iter().map(|key| Value::from(key.as_str())).collect()),
    ]))
}
