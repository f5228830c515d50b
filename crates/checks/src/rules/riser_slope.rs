//! Riser slope: the pipe rises to the tank steeply, not up a ramp that holds silt.

use super::prelude::*;
use wetrun_network::{End, Station};

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "riser-slope",
    section: Section::Air,
    checks: "The line that rises to a tank does so in a vertical riser, not up a ramp.",
    why: "Silt is hardest to carry up slopes of about 30 to 37 degrees; a vertical riser keeps \
          it moving, or drops it where it can be flushed.",
    limit: Some(Amount::Number(45.0)),
    threshold: "the least angle of the rise, in degrees from level",
    source: Source {
        text: "laboratory work on inverted siphons of 150 mm, abstract: 30 to 37 degrees most \
               critical",
        confidence: Confidence::Read,
    },
    keys: "lines.*.profile",
    mend: "draw a vertical riser, or show that the ramp can be flushed",
    judge,
};

/// Rises smaller than this are the line's own fall.
const RISE_M: f64 = 0.3;

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let limit_deg = rule.limit_si(input);
    let mut found = Vec::new();
    for (index, line) in input.network.lines().iter().enumerate() {
        let mut levels: Vec<(f64, f64)> =
            line.profile.iter().map(|s| (s.at.to_m(), s.level.to_m())).collect();
        match (line.from, line.to) {
            (_, End::Tank(_)) => {}
            (End::Tank(_), _) => levels.reverse(),
            _ => continue,
        }
        let rise_m = levels.last().map_or(0.0, |l| l.1)
            - levels.iter().map(|l| l.1).fold(f64::INFINITY, f64::min);
        if rise_m < RISE_M {
            continue;
        }
        if !input.facts.line(index).profile_shown {
            let message = "where along the line it rises is not shown";
            found.push(rule.asks(input, &line.tag, message, &["lines.{}.profile"]));
            continue;
        }
        // Of the climb, the flattest piece that rises more than the line's own fall. Distance is
        // along the pipe, so a piece of 1 m that rises 1 m is vertical.
        let flattest_deg = levels
            .windows(2)
            .map(|pair| ((pair[1].0 - pair[0].0).abs(), pair[1].1 - pair[0].1))
            .filter(|&(_, up_m)| up_m >= RISE_M)
            .map(|(along_m, up_m)| angle_deg(along_m, up_m))
            .fold(f64::INFINITY, f64::min);
        let Some(angle) = Some(flattest_deg).filter(|a| a.is_finite()) else { continue };
        let steep = angle >= limit_deg;
        let outcome = if steep { Outcome::Pass } else { Outcome::Caution };
        let message = format!("rises to the tank at {angle:.0} degrees");
        let mut finding = rule.at(input, &line.tag, outcome, message);
        if !steep {
            finding = finding.mended(rule.mend.to_owned());
        }
        found.push(finding.with(Amount::Number(angle), Amount::Number(limit_deg)));
    }
    if found.is_empty() {
        return rule.not_applicable(input, "no line rises to a tank");
    }
    found
}

/// The angle of a rise over a stretch of pipe, in degrees from level.
fn angle_deg(along_m: f64, up_m: f64) -> f64 {
    libm::asin((up_m / along_m).min(1.0)).to_degrees()
}

/// Whether a stretch between two stations is a riser: as steep as is asked for, or too short a rise to
/// be a ramp.
pub(super) fn is_steep(input: &Judged<'_>, one: &Station, other: &Station) -> bool {
    let along_m = (one.at - other.at).to_m().abs();
    let up_m = (one.level - other.level).to_m().abs();
    up_m < RISE_M || angle_deg(along_m, up_m) >= RULE.limit_si(input)
}
