//! Levels agree: what the drawing says twice it says alike, and its tanks are possible.

use super::cover::ground_of;
use super::prelude::*;
use wetrun_network::Tank;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "levels-agree",
    section: Section::Documents,
    checks: "A tank's floor, inlet, overflow and rim stand in their order; the ground at one place \
             has one level; a benchmark does not contradict the datum.",
    why: "Two levels for one thing mean that one of them is wrong, and nobody on site knows which.",
    limit: Some(Amount::Length(Length::m(0.005))),
    threshold: "the farthest that two levels of one thing may differ",
    source: Source {
        text: "levels are read to 5 mm on site",
        confidence: Confidence::CommonPractice,
    },
    keys: "tanks.*.floor, inlet, overflow.level and rim; points.*.ground, lines.*.profile[*].ground; \
           datum, benchmarks",
    mend: "find out which level is right, and correct the other",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let mut found: Vec<Finding> =
        input.network.tanks().iter().flat_map(|tank| of_tank(rule, input, tank)).collect();
    let no_floor = input.network.tanks().iter().filter(|tank| tank.floor.is_none());
    found.extend(no_floor.map(|tank| {
        let message = "the level of its floor is not shown";
        rule.asks(input, &tank.tag, message, &["tanks.{}.floor"])
    }));
    found.extend(of_ground(rule, input));
    found.extend(of_benchmarks(rule, input));
    if found.is_empty() {
        let message = "no level contradicts another".to_owned();
        found.push(rule.at(input, "site", Outcome::Pass, message));
    }
    found
}

/// Levels of a tank that stand the wrong way round.
fn of_tank(rule: &Rule, input: &Judged<'_>, tank: &Tank) -> Vec<Finding> {
    let units = input.facts.units;
    let overflow = tank.overflow.as_ref().map(|o| o.level);
    let order = [
        ("floor", tank.floor, "inlet", Some(tank.inlet)),
        ("floor", tank.floor, "overflow", overflow),
        ("inlet", Some(tank.inlet), "rim", tank.rim),
        ("overflow", overflow, "rim", tank.rim),
        ("floor", tank.floor, "rim", tank.rim),
    ];
    let wrong = order.into_iter().filter_map(|(low, low_level, high, high_level)| {
        let (low_level, high_level) = (low_level?, high_level?);
        (low_level > high_level).then(|| {
            let (a, b) = say::levels(units, low_level.to_m(), high_level.to_m());
            let message = format!("its {low} at {a} stands above its {high} at {b}");
            rule.at(input, &tank.tag, Outcome::Fail, message)
                .with(Amount::Length(low_level), Amount::Length(high_level))
        })
    });
    wrong.collect()
}

/// Places whose ground is given twice, and differs.
fn of_ground(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let mut found = Vec::new();
    for line in input.network.lines() {
        let ends = [(line.from, line.profile.first()), (line.to, line.profile.last())];
        for (end, station) in ends {
            let (Some(here), Some(there)) =
                (station.and_then(|s| s.ground), ground_of(input, end))
            else {
                continue;
            };
            let apart_m = (here.to_m() - there.to_m()).abs();
            if apart_m > limit_m + LEVEL_TOLERANCE_M {
                let tag = input.network.end_tag(end);
                let (a, b) = say::levels(units, here.to_m(), there.to_m());
                let message = format!("its ground is {b}, and {a} in the profile of {}", line.tag);
                found.push(
                    rule.at(input, tag, Outcome::Fail, message)
                        .with(metres(apart_m), metres(limit_m)),
                );
            }
        }
    }
    found
}

/// Benchmarks at the place of the datum whose level is another.
fn of_benchmarks(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let datum = input.facts.datum.as_deref().and_then(|text| text.rsplit_once('='));
    let Some((place, level)) = datum else { return Vec::new() };
    let (Ok(level), place) = (units.read_level(level.trim()), place.trim().to_lowercase()) else {
        return Vec::new();
    };
    let contradicts = input.facts.benchmarks.iter().filter_map(|mark| {
        let at = mark.at.as_deref()?.to_lowercase();
        let apart_m = (mark.level.to_m() - level.to_m()).abs();
        let same_place = !place.is_empty() && at.contains(&place);
        (same_place && apart_m > limit_m + LEVEL_TOLERANCE_M).then(|| {
            let (a, b) = say::levels(units, mark.level.to_m(), level.to_m());
            let message = format!("this benchmark is at {a}; by the datum that place is at {b}");
            rule.at(input, &mark.tag, Outcome::Fail, message)
                .with(metres(apart_m), metres(limit_m))
        })
    });
    contradicts.collect()
}
