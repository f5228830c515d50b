//! The result of `wetrun doubt` as JSON.

use super::{document, maybe, number, object};
use crate::doubt::Doubted;
use crate::outcome::Refusal;
use crate::render::doubt::{basis, in_si, like};
use serde_json::Value;
use wetrun_doubt::{Chance, Harm, Input, NearestFailure, Study};
use wetrun_network::{DownspoutId, Network};

/// The whole result.
///
/// # Errors
/// A refusal where a number is not finite.
pub fn doubt(report: &Doubted) -> Result<String, Refusal> {
    result(report).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(report: &Doubted) -> Result<Value, Refusal> {
    let (site, study) = (&report.settled.site, &report.study);
    let (network, told) = (&site.network, report.told());
    let inputs: Vec<(String, Value)> = study
        .inputs
        .iter()
        .map(|input| Ok((input.name.clone(), of_input(input)?)))
        .collect::<Result<_, Refusal>>()?;
    let downspouts: Vec<(String, Value)> = network
        .downspouts()
        .iter()
        .zip(&study.downspouts)
        .map(|(downspout, at)| {
            let quantile = |index: usize| maybe(at.headroom.map(|levels| levels[index].to_m()));
            let headroom =
                object([("p05", quantile(0)?), ("p50", quantile(1)?), ("p95", quantile(2)?)]);
            let entry = object([
                ("spills", chance(&at.spills)?),
                ("short", chance(&at.short)?),
                ("headroom_m", headroom),
            ]);
            Ok((downspout.tag.clone(), entry))
        })
        .collect::<Result<_, Refusal>>()?;
    let owed: Vec<Value> = study
        .owed_to
        .iter()
        .map(|owed| {
            Ok(object([
                ("input", Value::from(study.inputs[owed.input].name.clone())),
                ("first", number(owed.first)?),
                ("total", number(owed.total)?),
            ]))
        })
        .collect::<Result<_, Refusal>>()?;
    let nearest = match &study.nearest {
        Some(nearest) => of_nearest(network, study, nearest)?,
        None => Value::Null,
    };
    let faults: Vec<Value> =
        study.faults.iter().map(|harm| of_harm(network, harm)).collect::<Result<_, Refusal>>()?;
    let advice: Vec<Value> = study
        .advice
        .iter()
        .map(|advice| {
            let [before, after] = &advice.chance;
            let of = if advice.of_spills { "spills" } else { "fails" };
            Ok(object([
                ("step", Value::from(told.step(advice.step))),
                ("of", Value::from(of)),
                ("before", chance(before)?),
                ("after", chance(after)?),
            ]))
        })
        .collect::<Result<_, Refusal>>()?;
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(site.name.clone())),
        ("samples", Value::from(study.samples)),
        ("seed", Value::from(study.seed)),
        ("inputs", object(inputs)),
        ("fails", chance(&study.fails)?),
        ("spills", chance(&study.spills)?),
        ("downspouts", object(downspouts)),
        ("owed_to", Value::from(owed)),
        ("nearest", nearest),
        ("faults", Value::from(faults)),
        ("advice", Value::from(advice)),
        ("not_solved", Value::from(study.not_solved)),
    ]))
}

fn chance(chance: &Chance) -> Result<Value, Refusal> {
    Ok(object([
        ("chance", number(chance.chance)?),
        ("low", number(chance.low)?),
        ("high", number(chance.high)?),
    ]))
}

fn of_input(input: &Input) -> Result<Value, Refusal> {
    let (spread, unit) = in_si(input.width());
    Ok(object([
        ("like", Value::from(like(input))),
        ("spread", number(spread)?),
        ("unit", Value::from(unit)),
        ("basis", Value::from(basis(input))),
    ]))
}

fn of_nearest(
    network: &Network,
    study: &Study,
    nearest: &NearestFailure,
) -> Result<Value, Refusal> {
    let moved: Vec<(String, Value)> = nearest
        .moved
        .iter()
        .map(|moved| Ok((study.inputs[moved.input].name.clone(), number(in_si(moved.by).0)?)))
        .collect::<Result<_, Refusal>>()?;
    Ok(object([
        ("distance", number(nearest.distance)?),
        ("where", Value::from(tag(network, nearest.at))),
        ("chance", number(nearest.chance)?),
        ("inputs", object(moved)),
    ]))
}

fn of_harm(network: &Network, harm: &Harm) -> Result<Value, Refusal> {
    let tags = |ids: &[DownspoutId]| -> Value {
        ids.iter().map(|id| tag(network, *id)).collect::<Vec<_>>().into()
    };
    let worst = harm.worst.map_or(Value::Null, |id| Value::from(tag(network, id)));
    let mut entries = vec![
        ("fault", Value::from(harm.fault.word())),
        ("where", Value::from(harm.at.clone())),
        ("worst_downspout", worst),
        ("worst_headroom_m", maybe(harm.headroom.map(|headroom| headroom.to_m()))?),
        ("spilled_m3_per_s", number(harm.spilled.to_m3_per_s())?),
        ("spills", tags(&harm.spills)),
    ];
    if !harm.no_way.is_empty() {
        entries.push(("no_way", tags(&harm.no_way)));
    }
    if harm.elsewhere.to_m3_per_s() > 0.0 {
        entries.push(("elsewhere_m3_per_s", number(harm.elsewhere.to_m3_per_s())?));
    }
    if harm.drained.to_m3_per_s() > 0.0 {
        entries.push(("drained_m3_per_s", number(harm.drained.to_m3_per_s())?));
    }
    if !harm.solved {
        entries.push(("not_solved", Value::from(true)));
    }
    Ok(object(entries))
}

fn tag(network: &Network, id: DownspoutId) -> String {
    network.downspout(id).tag.clone()
}
