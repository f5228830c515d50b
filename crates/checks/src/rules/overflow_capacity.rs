//! Overflow capacity: the overflow passes the storm with its water below the inlet.

use super::prelude::*;
use super::proof::Mended;
use wetrun_network::{Pipe, TankId};
use wetrun_solver::laws::outfall;
use wetrun_units::Flow;

/// The rule.
pub(crate) const RULE: Rule = Rule {
    name: "overflow-capacity",
    section: Section::Tank,
    checks: "The overflow passes all that runs into a full tank with the water in the tank still \
             below the inlet.",
    why: "An overflow of the inlet's size does not by itself pass the inlet's flow: the inlet is \
          driven by half a metre of head, the overflow by what stands above its invert. If it \
          cannot keep up, the tank backs up into the gutters.",
    limit: Some(Amount::Length(Length::ZERO)),
    threshold: "the least height of the inlet above the water in the storm",
    source: Source {
        text: "trade articles: overflow by capacity, not by diameter; the head is calculated",
        confidence: Confidence::Read,
    },
    keys: "tanks.*.overflow: { level, pipe, k }, tanks.*.inlet",
    mend: "a larger overflow, or a second one, or a lower one",
    judge,
};

fn judge(rule: &Rule, input: &Judged<'_>) -> Vec<Finding> {
    let units = input.facts.units;
    let limit_m = rule.limit_si(input);
    let each = input.network.tanks().iter().zip(&input.steady.tanks).enumerate();
    each.map(|(index, (tank, state))| {
        let Some(overflow) = &tank.overflow else {
            let key = "tanks.{}.overflow.level";
            return rule.asks(input, &tank.tag, "no overflow is shown", &[key]);
        };
        let Some(pipe) = &overflow.pipe else {
            let message = "the pipe of the overflow is not shown";
            return rule.asks(input, &tank.tag, message, &["tanks.{}.overflow.pipe"]);
        };
        let flow = Flow::m3_per_s(state.inflow.to_m3_per_s().max(0.0));
        let head = outfall::overflow_head(flow, pipe.inside, overflow.k);
        let below_m = tank.inlet.to_m() - overflow.level.to_m() - head.to_m();
        let message = format!(
            "passes {} with {} of water above its invert: {} the inlet",
            units.show_flow(flow),
            say::height(units, head.to_m()),
            say::apart(units, -below_m),
        );
        let holds = below_m >= limit_m;
        let mut finding = rule.at(input, &tank.tag, pass_if(holds), message);
        if !holds {
            let id = TankId::new(index);
            let level_m = tank.inlet.to_m() - limit_m - head.to_m();
            let keeps = |mended: &Mended| below_m_in(mended, index).is_some_and(|m| m >= limit_m);
            let ways = [
                super::lower_overflow(input, id, level_m, keeps),
                larger_pipe(input, index, pipe, keeps).map(|label| format!("make it {label}")),
            ];
            let ways: Vec<String> = ways.into_iter().flatten().collect();
            finding.mend = (!ways.is_empty()).then(|| ways.join(", or "));
        }
        finding.with(metres(below_m), metres(limit_m))
    })
    .collect()
}

/// How far the water of a tank stands below its inlet in a mended network, in metres.
fn below_m_in(mended: &Mended, index: usize) -> Option<f64> {
    let tank = &mended.network.tanks()[index];
    let overflow = tank.overflow.as_ref()?;
    let flow = Flow::m3_per_s(mended.steady.tanks[index].inflow.to_m3_per_s().max(0.0));
    let head = outfall::overflow_head(flow, overflow.pipe.as_ref()?.inside, overflow.k);
    Some(tank.inlet.to_m() - overflow.level.to_m() - head.to_m())
}

/// The smallest size of the same type with which `keeps` is true.
fn larger_pipe(
    input: &Judged<'_>,
    index: usize,
    pipe: &Pipe,
    keeps: impl Fn(&Mended) -> bool,
) -> Option<String> {
    let kind = wetrun_catalogue::pipe_type(&pipe.kind).ok()?;
    let larger = kind.sizes.iter().filter(|size| size.inside() > pipe.inside);
    let size = larger.into_iter().find(|size| {
        let mended = super::proof::sound(input, |parts| {
            if let Some(overflow) = &mut parts.tanks[index].overflow {
                overflow.pipe = Some(kind.pipe_in(size));
            }
        });
        mended.is_some_and(|mended| keeps(&mended))
    })?;
    Some(kind.pipe_in(size).label)
}
