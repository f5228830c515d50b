//! The level schedule as JSON.

use super::{document, maybe, number, object};
use crate::as_built::Built;
use crate::level_report::Report;
use crate::outcome::Refusal;
use crate::site_levels::Level;
use serde_json::Value;
use wetrun_design::levels::{By, Stop};
use wetrun_units::Length;

type Part = Result<Value, Refusal>;

/// The whole result; what was built, readings and closing checks only where there are any.
pub fn levels(report: &Report) -> Result<String, Refusal> {
    result(report).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(report: &Report) -> Result<Value, Refusal> {
    let mut entries = vec![
        ("wetrun", Value::from(1)),
        ("set_points", set_points(report)?),
        ("tolerance_all_m", length(report.schedule.tolerance_all)?),
        ("watertight_to_m", watertight(report)?),
    ];
    if let Some(built) = &report.built {
        entries.push(("as_built", as_built(report, built)?));
    }
    if let Some(instrument) = report.instrument {
        entries.push(("height_of_instrument_m", number(instrument.height.to_m())?));
    }
    if !report.closes.is_empty() {
        let closes = report.closes.iter().map(|close| {
            Ok(object([
                ("benchmark", Value::from(close.on.as_str())),
                ("level_m", number(close.known.to_m())?),
                ("found_m", number(close.found.to_m())?),
                ("error_m", number(close.error().to_m())?),
            ]))
        });
        entries.push(("closing", closes.collect::<Result<_, Refusal>>()?));
    }
    Ok(object(entries))
}

fn length(length: Option<Length>) -> Part {
    maybe(length.map(Length::to_m))
}

fn set_points(report: &Report) -> Part {
    let mut list = Vec::new();
    for level in &report.levels {
        let limits = report.limits(level);
        let mut entries = vec![
            ("tag", Value::from(level.tag.as_str())),
            ("level", Value::from(level.key.as_str())),
            ("design_m", number(level.design.to_m())?),
            ("lowest_m", length(limits.and_then(|l| l.lowest))?),
            ("highest_m", length(limits.and_then(|l| l.highest))?),
        ];
        if report.built.is_some() {
            entries.push(("built_m", length(report.found(level))?));
        }
        if let Some(limits) = limits {
            let stops = [
                ("lowest_by_rules_m", "lowest_limited_by", &limits.low_stop),
                ("highest_by_rules_m", "highest_limited_by", &limits.high_stop),
            ];
            for (by_rules, by, stop) in stops {
                entries.push((by_rules, length(stop.as_ref().and_then(rule_level))?));
                entries.push((by, stop.as_ref().map_or(Value::Null, limited_by)));
            }
            entries.push(("margin_if_1_mm_low_m", number(limits.effect.if_low.to_m())?));
            entries.push(("margin_if_1_mm_high_m", number(limits.effect.if_high.to_m())?));
            if !report.holds() {
                entries.push(("would_hold_at_m", length(limits.mend)?));
            }
        }
        if let Some(instrument) = report.instrument {
            entries.push(("rod_m", number(instrument.reading(level.design).to_m())?));
        }
        list.push(object(entries));
    }
    Ok(Value::Array(list))
}

/// Where a rule stops a level before the verdict does.
fn rule_level(stop: &Stop) -> Option<Length> {
    matches!(stop.by, By::Rule(_)).then_some(stop.level)
}

/// What stops a level, by the name of its rule, and where.
fn limited_by(stop: &Stop) -> Value {
    object([
        ("rule", super::super::text::levels::stopped_by(stop.by).map_or(Value::Null, Value::from)),
        ("where", Value::from(stop.at.as_str())),
    ])
}

fn watertight(report: &Report) -> Part {
    let network = &report.solved.site.network;
    let each = network.downspouts().iter().zip(&report.schedule.watertight_to);
    let entries = each.map(|(d, level)| Ok((d.tag.clone(), number(level.to_m())?)));
    Ok(object(entries.collect::<Result<Vec<_>, Refusal>>()?))
}

fn as_built(report: &Report, built: &Built) -> Part {
    let as_built = &built.as_built;
    let worst = as_built.state.worst();
    let network = &report.solved.site.network;
    let measured = built.found.iter().flatten().count();
    let mut deviations = Vec::new();
    for deviation in &as_built.deviations {
        deviations.push(object([
            ("tag", Value::from(deviation.set_point.tag(network))),
            ("level", Value::from(deviation.set_point.key(network))),
            ("design_m", number(deviation.design.to_m())?),
            ("built_m", number(deviation.built.to_m())?),
            ("deviation_m", number((deviation.built - deviation.design).to_m())?),
            ("effect_m", number(deviation.effect.to_m())?),
        ]));
    }
    let mends = report.mends();
    let wins = |measured: bool| -> Part {
        let some = mends.iter().filter(|(level, ..)| report.found(level).is_some() == measured);
        let each = some.map(|(level, _, to): &(&Level, Length, Length)| {
            Ok(object([
                ("tag", Value::from(level.tag.as_str())),
                ("level", Value::from(level.key.as_str())),
                ("set_to_m", number(to.to_m())?),
            ]))
        });
        each.collect::<Result<_, Refusal>>()
    };
    let doubts = built.doubts.iter().map(|doubt| {
        Ok(object([
            ("level", Value::from(doubt.name.as_str())),
            ("deviation_m", number(doubt.off.to_m())?),
            ("sign_turned_m", length(doubt.sign_turned)?),
        ]))
    });
    let turned = built.turned.iter().map(|finding| {
        object([
            ("rule", Value::from(finding.rule)),
            ("where", Value::from(finding.at.as_str())),
            ("outcome", Value::from(finding.outcome.word())),
            ("message", Value::from(finding.message.as_str())),
        ])
    });
    let set_back = as_built.set_back.iter().map(|set_point| {
        object([
            ("tag", Value::from(set_point.tag(network))),
            ("level", Value::from(set_point.key(network))),
        ])
    });
    Ok(object([
        ("verdict", Value::from(built.go_on(&report.closes).word())),
        ("worst_margin_m", maybe(worst.map(|w| w.margin.to_m()))?),
        (
            "worst_downspout",
            worst.map_or(Value::Null, |w| Value::from(network.downspout(w.at).tag.as_str())),
        ),
        ("measured", Value::from(measured)),
        ("unmeasured", Value::from(built.found.len() - measured)),
        ("doubts", doubts.collect::<Result<_, Refusal>>()?),
        ("turned", turned.collect()),
        ("deviations", Value::Array(deviations)),
        ("win_back", wins(false)?),
        ("set_again", wins(true)?),
        ("set_back_together", set_back.collect()),
    ]))
}
