//! Datum: every level on the drawing can be found again on site.

use super::prelude::*;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "datum",
    section: Section::Documents,
    checks: "A datum is named, and a benchmark with a level and a place hands it over to the site.",
    why: "All head in a wet system is a difference of two levels, often less than half a metre. \
          A level that nobody can find again on site cannot be set, measured or approved.",
    limit: Some(Amount::Length(Length::m(30.0))),
    threshold: "the farthest a benchmark may stand above or below the nearest level of the job; \
                farther away it belongs to another datum",
    source: Source {
        text: "levelling practice: one datum for the whole sheet",
        confidence: Confidence::CommonPractice,
    },
    keys: "datum, benchmarks",
    mend: "name the datum, and give a benchmark with its level and where to find it",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    if input.facts.datum.is_none() {
        return vec![rule.asks(input, "site", "no datum is named", &["datum"])];
    }
    if input.facts.benchmarks.is_empty() {
        let keys = ["benchmarks.BM1.level", "benchmarks.BM1.at"];
        return vec![rule.asks(input, "site", "no benchmark is given", &keys)];
    }
    let each = input.facts.benchmarks.iter();
    each.map(|mark| {
        if mark.at.is_none() {
            let message = "where to find this benchmark is not shown";
            return rule.asks(input, &mark.tag, message, &["benchmarks.{}.at"]);
        }
        let limit_m = rule.limit_si(input);
        let away_m = distance_to_job_m(input, mark.level.to_m());
        let message = format!(
            "benchmark at {}, {} from the nearest level of the job",
            say::level(units, mark.level.to_m()),
            say::height(units, away_m),
        );
        rule.at(input, &mark.tag, pass_if(away_m <= limit_m), message)
            .with(metres(away_m), metres(limit_m))
    })
    .collect()
}

/// How far a level lies from the levels that the job spans, in metres.
fn distance_to_job_m(input: &Judged<'_>, level_m: f64) -> f64 {
    let feet = input.network.downspouts().iter().map(|d| d.foot.to_m());
    let lines = input.network.lines().iter().flat_map(|l| &l.profile).map(|s| s.level.to_m());
    let outlets = input.network.downspouts().iter().map(|d| d.outlet.to_m());
    let all = feet.chain(lines).chain(outlets);
    let (low_m, high_m) = all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low_m, high_m), m| {
        (low_m.min(m), high_m.max(m))
    });
    (low_m - level_m).max(level_m - high_m).max(0.0)
}
