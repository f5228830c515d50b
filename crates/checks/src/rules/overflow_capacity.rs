//! Overflow capacity: the overflow passes the storm with its water below the inlet.

use super::prelude::*;
use wetrun_network::{Pipe, TankId, catalogue};
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
            let room_m = tank.inlet.to_m() - overflow.level.to_m() - limit_m;
            let half = outfall::overflow_head(flow * 0.5, pipe.inside, overflow.k).to_m();
            let level_m = tank.inlet.to_m() - limit_m - head.to_m();
            let ways = [
                super::lower_overflow(input, TankId::new(index), level_m),
                larger_pipe(pipe, overflow.k, flow, room_m).map(|label| format!("make it {label}")),
                (half <= room_m).then(|| "add a second one like it".to_owned()),
            ];
            let ways: Vec<String> = ways.into_iter().flatten().collect();
            finding.mend = (!ways.is_empty()).then(|| ways.join(", or "));
        }
        finding.with(metres(below_m), metres(limit_m))
    })
    .collect()
}

/// The smallest size of the same type that passes the flow with no more water than `room_m`.
fn larger_pipe(pipe: &Pipe, k: f64, flow: Flow, room_m: f64) -> Option<String> {
    let kind = catalogue::pipe_type(&pipe.kind).ok()?;
    let fits = |inside| outfall::overflow_head(flow, inside, k).to_m() <= room_m;
    let size = kind.sizes.iter().find(|size| fits(size.inside()))?;
    Some(kind.pipe_in(size).label)
}
