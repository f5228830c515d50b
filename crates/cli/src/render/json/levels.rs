//! The level schedule as JSON.

use super::{document, maybe, number, object};
use crate::commands::levels::{Built, Report};
use crate::outcome::Refusal;
use serde_json::Value;
use wetrun_design::levels::{Verdict, WinBack};
use wetrun_units::Length;

type Part = Result<Value, Refusal>;

/// The whole result; what was built, readings and closing checks only where there are any.
pub(crate) fn levels(report: &Report) -> Result<String, Refusal> {
    let mut entries = vec![
        ("wetrun", Value::from(1)),
        ("set_points", set_points(report)?),
        ("tolerance_all_m", length(report.tolerance())?),
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
    Ok(document(&object(entries)))
}

fn length(length: Option<Length>) -> Part {
    maybe(length.map(Length::to_m))
}

fn set_points(report: &Report) -> Part {
    let mut list = Vec::new();
    for (index, level) in report.levels.iter().enumerate() {
        let limits = report.limits(level);
        let mut entries = vec![
            ("tag", Value::from(level.tag.as_str())),
            ("level", Value::from(level.key.as_str())),
            ("design_m", number(level.design.to_m())?),
            ("lowest_m", length(limits.and_then(|l| l.lowest))?),
            ("highest_m", length(limits.and_then(|l| l.highest))?),
        ];
        if let Some(built) = &report.built {
            entries.push(("built_m", length(built.found.get(index).copied().flatten())?));
        }
        if let Some(limits) = limits {
            entries.push(("margin_if_1_mm_low_m", number(limits.effect.if_low.to_m())?));
            entries.push(("margin_if_1_mm_high_m", number(limits.effect.if_high.to_m())?));
        }
        if let Some(instrument) = report.instrument {
            entries.push(("rod_m", number(instrument.reading(level.design).to_m())?));
        }
        list.push(object(entries));
    }
    Ok(Value::Array(list))
}

fn watertight(report: &Report) -> Part {
    let network = &report.solved.site.network;
    let each = network.downspouts().iter().zip(&report.schedule.watertight_to);
    let entries = each.map(|(d, level)| Ok((d.tag.clone(), number(level.to_m())?)));
    Ok(object(entries.collect::<Result<Vec<_>, Refusal>>()?))
}

fn as_built(report: &Report, built: &Built) -> Part {
    let as_built = &built.as_built;
    let verdict = match as_built.verdict {
        Verdict::GoOn if report.passes() => "go-on",
        Verdict::BelowTarget => "below-target",
        Verdict::GoOn | Verdict::Stop => "stop",
    };
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
    let wins = |list: &[WinBack]| -> Part {
        let each = list.iter().map(|w| {
            Ok(object([
                ("tag", Value::from(w.set_point.tag(network))),
                ("level", Value::from(w.set_point.key(network))),
                ("set_to_m", number(w.to.to_m())?),
                ("lacks_m", number(w.lacks.to_m())?),
            ]))
        });
        each.collect::<Result<_, Refusal>>()
    };
    Ok(object([
        ("verdict", Value::from(verdict)),
        ("worst_margin_m", maybe(worst.map(|w| w.margin.to_m()))?),
        (
            "worst_downspout",
            worst.map_or(Value::Null, |w| Value::from(network.downspout(w.at).tag.as_str())),
        ),
        ("measured", Value::from(measured)),
        ("unmeasured", Value::from(built.found.len() - measured)),
        ("deviations", Value::Array(deviations)),
        ("win_back", wins(&as_built.win_back)?),
        ("set_again", wins(&as_built.set_again)?),
    ]))
}
