//! The result of `wetrun check` as JSON.

use super::{document, maybe, number, object};
use crate::outcome::{Refusal, Status};
use crate::solved::Solved;
use serde_json::Value;
use wetrun_checks::{Amount, Finding};
use wetrun_network::{DownspoutId, OpeningKind, PointId};
use wetrun_solver::{DownspoutState, TankState};
use wetrun_units::Flow;

type Part = Result<Value, Refusal>;

/// The whole result.
pub fn check(solved: &Solved) -> Result<String, Refusal> {
    result(solved).map(|result| document(&result))
}

/// The same as a value.
pub(crate) fn result(solved: &Solved) -> Result<Value, Refusal> {
    let verdict = if solved.status() == Status::Fail { "fail" } else { "pass" };
    Ok(object([
        ("wetrun", Value::from(1)),
        ("site", Value::from(solved.site.name.as_str())),
        ("verdict", Value::from(verdict)),
        ("storm", storm(solved)?),
        ("totals", totals(solved)?),
        ("downspouts", downspouts(solved)?),
        ("lines", lines(solved)?),
        ("points", points(solved)?),
        ("openings", openings(solved)?),
        ("tanks", tanks(solved)?),
        ("findings", findings(&solved.findings)?),
        ("solve", solve(solved)?),
    ]))
}

/// Findings, in the order the rules came to them.
pub(crate) fn findings(findings: &[Finding]) -> Part {
    findings.iter().map(finding).collect::<Result<Vec<_>, _>>().map(Value::Array)
}

fn finding(finding: &Finding) -> Part {
    Ok(object([
        ("rule", Value::from(finding.rule)),
        ("outcome", Value::from(finding.outcome.word())),
        ("where", Value::from(finding.at.as_str())),
        ("value", maybe(finding.value.map(Amount::si))?),
        ("limit", maybe(finding.limit.map(Amount::si))?),
        ("unit", Value::from(finding.unit())),
        ("message", Value::from(finding.message.as_str())),
        ("basis", Value::from(finding.basis.as_str())),
    ]))
}

fn storm(solved: &Solved) -> Part {
    let tanks = match solved.scenario.tanks {
        TankState::Full => "full",
        TankState::Empty => "empty",
    };
    Ok(object([
        ("intensity_m_per_s", number(solved.scenario.intensity.to_m_per_s())?),
        ("basis", solved.site.storm.basis.as_deref().map_or(Value::Null, Value::from)),
        ("tanks", Value::from(tanks)),
    ]))
}

fn totals(solved: &Solved) -> Part {
    let sum = |of: fn(&DownspoutState) -> Flow| {
        number(solved.steady.downspouts.iter().map(|d| of(d).to_m3_per_s()).sum())
    };
    Ok(object([
        ("demand_m3_per_s", sum(|d| d.demand)?),
        ("admitted_m3_per_s", sum(|d| d.admitted)?),
        ("spilled_m3_per_s", sum(|d| d.spilled)?),
    ]))
}

fn downspouts(solved: &Solved) -> Part {
    let network = &solved.site.network;
    let mut entries = Vec::new();
    for (index, downspout) in network.downspouts().iter().enumerate() {
        let state = &solved.steady.downspouts[index];
        let spills_at = solved.spill_rains.downspouts.get(index);
        let spills_at = spills_at.map(|rain| maybe(rain.map(|rain| rain.to_m_per_s())));
        let spills_at = spills_at.transpose()?.map(|rain| ("spills_at_m_per_s", rain));
        let route = solved.steady.routes.route(network, DownspoutId::new(index));
        let lines = route.lines.iter().map(|l| network.line(*l).tag.as_str());
        let tags = lines.chain(route.tank.map(|t| network.tank(t).tag.as_str()));
        let leaf_head = downspout.leaf_head.map(|rim| number(rim.to_m())).transpose()?;
        let leaf_head = leaf_head.map(|rim| ("leaf_head_level_m", rim));
        let levels = [
            ("outlet_level_m", number(downspout.outlet.to_m())?),
            ("lip_level_m", number(downspout.lip.to_m())?),
        ];
        let entry = object(
            [
                ("demand_m3_per_s", number(state.demand.to_m3_per_s())?),
                ("admitted_m3_per_s", number(state.admitted.to_m3_per_s())?),
                ("spilled_m3_per_s", number(state.spilled.to_m3_per_s())?),
            ]
            .into_iter()
            .chain(levels)
            .chain(leaf_head)
            .chain([
                ("standing_level_m", number(state.standing_level.to_m())?),
                ("headroom_m", number(state.headroom.to_m())?),
                ("foot_head_m", number(state.foot_head.to_m())?),
            ])
            .chain(spills_at)
            .chain([("route", tags.map(Value::from).collect())]),
        );
        entries.push((downspout.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn lines(solved: &Solved) -> Part {
    let mut entries = Vec::new();
    for (line, state) in solved.site.network.lines().iter().zip(&solved.steady.lines) {
        let entry = object([
            ("flow_m3_per_s", number(state.flow.to_m3_per_s())?),
            ("velocity_m_per_s", number(state.velocity.to_m_per_s())?),
            ("reynolds", number(state.reynolds)?),
            ("friction_loss_m", number(state.friction_loss.to_m())?),
            ("fitting_loss_m", number(state.fitting_loss.to_m())?),
            ("from_head_m", number(state.from_head.to_m())?),
            ("to_head_m", number(state.to_head.to_m())?),
        ]);
        entries.push((line.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn points(solved: &Solved) -> Part {
    let mut entries = Vec::new();
    let steady = &solved.steady;
    for (index, (point, state)) in
        solved.site.network.points().iter().zip(&steady.points).enumerate()
    {
        let rest = steady.rest.point(PointId::new(index));
        let entry = object([
            ("head_m", number(state.head.to_m())?),
            ("rest_level_m", maybe(rest.map(|level| level.to_m()))?),
        ]);
        entries.push((point.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn openings(solved: &Solved) -> Part {
    let network = &solved.site.network;
    let mut entries = Vec::new();
    for (index, (id, opening)) in network.openings().enumerate() {
        let state = &solved.steady.openings[index];
        let kind = match opening.kind {
            OpeningKind::Vent => "vent",
            OpeningKind::Cap => "cap",
        };
        let rain = solved.spill_rains.openings.get(index);
        let rain = rain.map(|rain| maybe(rain.map(|rain| rain.to_m_per_s()))).transpose()?;
        let values = [
            ("kind", Value::from(kind)),
            ("level_m", number(opening.level.to_m())?),
            ("headroom_m", number(state.headroom.to_m())?),
            ("escapes_m3_per_s", number(state.escapes.to_m3_per_s())?),
        ];
        let entry = object(values.into_iter().chain(rain.map(|rain| ("escapes_at_m_per_s", rain))));
        entries.push((network.point(id).tag.clone(), entry));
    }
    Ok(object(entries))
}

fn tanks(solved: &Solved) -> Part {
    let mut entries = Vec::new();
    for (tank, state) in solved.site.network.tanks().iter().zip(&solved.steady.tanks) {
        let entry = object([
            ("inflow_m3_per_s", number(state.inflow.to_m3_per_s())?),
            ("overflow_m3_per_s", number(state.overflow.to_m3_per_s())?),
            ("over_rim_m3_per_s", number(state.over_rim.to_m3_per_s())?),
            ("water_level_m", maybe(state.water_level.map(|level| level.to_m()))?),
        ]);
        entries.push((tank.tag.clone(), entry));
    }
    Ok(object(entries))
}

fn solve(solved: &Solved) -> Part {
    let residuals = &solved.steady.residuals;
    Ok(object([
        ("iterations", Value::from(residuals.iterations)),
        ("continuity_residual", number(residuals.continuity)?),
        ("head_residual_m", number(residuals.head.to_m())?),
    ]))
}
