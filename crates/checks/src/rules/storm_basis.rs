//! Storm basis: the design storm has a source and a return period, and is a short burst.

use super::prelude::*;
use std::time::Duration;
use wetrun_units::Intensity;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "storm-basis",
    section: Section::Documents,
    checks: "The design storm is stated with its source and return period, and its intensity is \
             that of a short burst.",
    why: "A wet line stores almost nothing, so it answers to the peak of a few minutes. The \
          five-minute rate is about three times the hourly rate of the same return period; a \
          line sized for the hour spills in the burst.",
    limit: Some(Amount::Time(Duration::from_secs(600))),
    threshold: "the longest time that the intensity may be an average over",
    source: Source {
        text: "roof drainage rules use bursts of 2 to 10 minutes",
        confidence: Confidence::Recalled,
    },
    keys: "storm, documents.return_period, documents.storm_duration",
    mend: "take the five-minute intensity of the same return period",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let documents = &input.facts.documents;
    let asked = [
        (input.facts.storm_basis.is_none(), "its source", "storm.basis"),
        (documents.return_period.is_none(), "its return period", "documents.return_period"),
        (documents.storm_duration.is_none(), "the duration of its burst", "documents.storm_duration"),
    ];
    let missing = || asked.iter().filter(|(absent, _, _)| *absent);
    let not_shown = || {
        let what = say::list(missing().map(|&(_, what, _)| what));
        let keys: Vec<&str> = missing().map(|&(_, _, key)| key).collect();
        vec![rule.asks(input, "site", &format!("not shown of the storm: {what}"), &keys)]
    };
    let (Some(duration), Some(period)) = (documents.storm_duration, &documents.return_period)
    else {
        return not_shown();
    };
    if missing().next().is_some() {
        return not_shown();
    }
    if let Some(rain) = input.facts.storm
        && rain <= Intensity::ZERO
    {
        let message = "the storm is no rain".to_owned();
        let finding = rule.at(input, "site", Outcome::Fail, message);
        return vec![finding.with(Amount::Intensity(rain), Amount::Intensity(Intensity::ZERO))];
    }
    let limit = Duration::from_secs_f64(rule.limit_si(input).max(0.0));
    let message = format!(
        "return period {period}, averaged over {}",
        Amount::Time(duration).show(input.facts.units)
    );
    vec![
        rule.at(input, "site", pass_if(duration <= limit), message)
            .with(Amount::Time(duration), Amount::Time(limit)),
    ]
}
