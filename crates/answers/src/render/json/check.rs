//! The result of `wetrun check` as JSON.

use super::number_of;
use super::tree::Tree;
use crate::outcome::{Refusal, Status};
use crate::solved::Solved;
use std::io;
use wetrun_checks::{Amount, Finding};
use wetrun_network::{DownspoutId, OpeningKind, PointId};
use wetrun_solver::{DownspoutState, TankState};
use wetrun_units::Flow;

type Part<'a> = Result<Tree<'a>, Refusal>;

/// The whole result.
///
/// # Errors
/// A refusal where a number of it is not finite.
pub fn check(solved: &Solved) -> Result<String, Refusal> {
    let mut text = Vec::new();
    write(solved, &mut text)?.map_err(Refusal::because)?;
    String::from_utf8(text).map_err(Refusal::because)
}

/// Whether the result can be written.
///
/// # Errors
/// A refusal where a number of it is not finite.
pub fn writable(solved: &Solved) -> Result<(), Refusal> {
    result(solved).map(|_| ())
}

/// Writes the whole result piece by piece: on a street it is far larger than the site.
///
/// # Errors
/// As [`writable`]'s, before anything is written; inside it what the writing came to.
pub fn write(solved: &Solved, out: &mut dyn io::Write) -> Result<io::Result<()>, Refusal> {
    let result = result(solved)?;
    let written = serde_json::to_writer_pretty(&mut *out, &result).map_err(io::Error::from);
    Ok(written.and_then(|()| out.write_all(b"\n")))
}

/// The same as what it is made of.
pub(crate) fn result(solved: &Solved) -> Part<'_> {
    let verdict = if solved.status() == Status::Fail { "fail" } else { "pass" };
    Ok(Tree::map([
        ("wetrun", Tree::Whole(1)),
        ("site", Tree::Text(&solved.site.name)),
        ("verdict", Tree::Text(verdict)),
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
pub(crate) fn findings(findings: &[Finding]) -> Part<'_> {
    findings.iter().map(finding).collect::<Result<Vec<_>, _>>().map(Tree::List)
}

fn finding(finding: &Finding) -> Part<'_> {
    Ok(Tree::map([
        ("rule", Tree::Text(finding.rule)),
        ("outcome", Tree::Text(finding.outcome.word())),
        ("where", Tree::Text(finding.at.as_str())),
        ("value", maybe(finding.value.map(Amount::si))?),
        ("limit", maybe(finding.limit.map(Amount::si))?),
        ("unit", Tree::Text(finding.unit())),
        ("message", Tree::Text(finding.message.as_str())),
        ("basis", Tree::Text(finding.basis.as_str())),
    ]))
}

fn storm(solved: &Solved) -> Part<'_> {
    let tanks = match solved.scenario.tanks {
        TankState::Full => "full",
        TankState::Empty => "empty",
    };
    Ok(Tree::map([
        ("intensity_m_per_s", number(solved.scenario.intensity.to_m_per_s())?),
        ("basis", solved.site.storm.basis.as_deref().map_or(Tree::Null, Tree::Text)),
        ("tanks", Tree::Text(tanks)),
    ]))
}

fn totals(solved: &Solved) -> Part<'_> {
    let sum = |of: fn(&DownspoutState) -> Flow| {
        number(solved.steady.downspouts.iter().map(|d| of(d).to_m3_per_s()).sum())
    };
    Ok(Tree::map([
        ("demand_m3_per_s", sum(|d| d.demand)?),
        ("admitted_m3_per_s", sum(|d| d.admitted)?),
        ("spilled_m3_per_s", sum(|d| d.spilled)?),
    ]))
}

fn downspouts(solved: &Solved) -> Part<'_> {
    let network = &solved.site.network;
    let mut entries = Vec::new();
    for (index, downspout) in network.downspouts().iter().enumerate() {
        let state = &solved.steady.downspouts[index];
        let spills_at = solved.spill_rains.downspouts.get(index);
        let spills_at = spills_at.map(|rain| maybe(rain.map(|rain| rain.to_m_per_s())));
        let spills_at = spills_at.transpose()?.map(|rain| ("spills_at_m_per_s", rain));
        let route = Tree::Route(network, &solved.steady.routes, DownspoutId::new(index));
        let leaf_head = downspout.leaf_head.map(|rim| number(rim.to_m())).transpose()?;
        let leaf_head = leaf_head.map(|rim| ("leaf_head_level_m", rim));
        let levels = [
            ("outlet_level_m", number(downspout.outlet.to_m())?),
            ("lip_level_m", number(downspout.lip.to_m())?),
        ];
        let entry = Tree::map(
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
            .chain([("route", route)]),
        );
        entries.push((downspout.tag.as_str(), entry));
    }
    Ok(Tree::map(entries))
}

fn lines(solved: &Solved) -> Part<'_> {
    let mut entries = Vec::new();
    for (line, state) in solved.site.network.lines().iter().zip(&solved.steady.lines) {
        let entry = Tree::map([
            ("flow_m3_per_s", number(state.flow.to_m3_per_s())?),
            ("velocity_m_per_s", number(state.velocity.to_m_per_s())?),
            ("reynolds", number(state.reynolds)?),
            ("friction_loss_m", number(state.friction_loss.to_m())?),
            ("fitting_loss_m", number(state.fitting_loss.to_m())?),
            ("from_head_m", number(state.from_head.to_m())?),
            ("to_head_m", number(state.to_head.to_m())?),
        ]);
        entries.push((line.tag.as_str(), entry));
    }
    Ok(Tree::map(entries))
}

fn points(solved: &Solved) -> Part<'_> {
    let mut entries = Vec::new();
    let steady = &solved.steady;
    for (index, (point, state)) in
        solved.site.network.points().iter().zip(&steady.points).enumerate()
    {
        let rest = steady.rest.point(PointId::new(index));
        let entry = Tree::map([
            ("head_m", number(state.head.to_m())?),
            ("rest_level_m", maybe(rest.map(|level| level.to_m()))?),
        ]);
        entries.push((point.tag.as_str(), entry));
    }
    Ok(Tree::map(entries))
}

fn openings(solved: &Solved) -> Part<'_> {
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
            ("kind", Tree::Text(kind)),
            ("level_m", number(opening.level.to_m())?),
            ("headroom_m", number(state.headroom.to_m())?),
            ("escapes_m3_per_s", number(state.escapes.to_m3_per_s())?),
        ];
        let entry =
            Tree::map(values.into_iter().chain(rain.map(|rain| ("escapes_at_m_per_s", rain))));
        entries.push((network.point(id).tag.as_str(), entry));
    }
    Ok(Tree::map(entries))
}

fn tanks(solved: &Solved) -> Part<'_> {
    let mut entries = Vec::new();
    for (tank, state) in solved.site.network.tanks().iter().zip(&solved.steady.tanks) {
        let entry = Tree::map([
            ("inflow_m3_per_s", number(state.inflow.to_m3_per_s())?),
            ("overflow_m3_per_s", number(state.overflow.to_m3_per_s())?),
            ("over_rim_m3_per_s", number(state.over_rim.to_m3_per_s())?),
            ("water_level_m", maybe(state.water_level.map(|level| level.to_m()))?),
        ]);
        entries.push((tank.tag.as_str(), entry));
    }
    Ok(Tree::map(entries))
}

fn solve(solved: &Solved) -> Part<'_> {
    let residuals = &solved.steady.residuals;
    Ok(Tree::map([
        ("iterations", Tree::Whole(u64::from(residuals.iterations))),
        ("continuity_residual", number(residuals.continuity)?),
        ("head_residual_m", number(residuals.head.to_m())?),
    ]))
}

fn number(value: f64) -> Part<'static> {
    number_of(value).map(Tree::Number)
}

fn maybe(value: Option<f64>) -> Part<'static> {
    value.map_or(Ok(Tree::Null), number)
}
