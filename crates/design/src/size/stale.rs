//! The water that stands in the pipes between storms.

use std::f64::consts::FRAC_PI_4;
use wetrun_network::{Line, LineEnd, Network, Pipe};
use wetrun_solver::Steady;
use wetrun_units::Volume;

/// The water below the level at rest in all lines and downspouts, from the state without rain.
pub(crate) fn stale(network: &Network, at_rest: &Steady) -> Volume {
    let lines = network.lines().iter().zip(&at_rest.lines).map(|(line, state)| {
        let heads = [state.from_head.to_m(), state.to_head.to_m()];
        wet_share(line, heads) * line.length.to_m() * area_m2(&line.pipe)
    });
    let downspouts = network.downspouts().iter().zip(&at_rest.downspouts).map(|(d, state)| {
        let foot_m = d.foot.to_m();
        let top_m = state.standing_level.to_m().min(d.opening().to_m());
        area_m2(&d.pipe) * (top_m - foot_m).max(0.0)
    });
    Volume::m3(lines.chain(downspouts).sum())
}

/// The part of a line's length whose invert lies below the water at rest. Behind its highest
/// invert the water of the one end stands, before it that of the other.
fn wet_share(line: &Line, [from_m, to_m]: [f64; 2]) -> f64 {
    let stations = &line.profile;
    let highest = (0..stations.len())
        .max_by(|&a, &b| stations[a].level.to_m().total_cmp(&stations[b].level.to_m()))
        .unwrap_or(0);
    let mut wet_m = 0.0;
    for (index, pair) in stations.windows(2).enumerate() {
        let side = if index < highest { LineEnd::From } else { LineEnd::To };
        let head_m = if side == LineEnd::From { from_m } else { to_m };
        let (a, b) = (pair[0].level.to_m(), pair[1].level.to_m());
        let (low, high) = (a.min(b), a.max(b));
        let share = if head_m >= high {
            1.0
        } else if head_m <= low {
            0.0
        } else {
            (head_m - low) / (high - low)
        };
        wet_m += share * (pair[1].at.to_m() - pair[0].at.to_m());
    }
    wet_m / line.length.to_m()
}

fn area_m2(pipe: &Pipe) -> f64 {
    let bore_m = pipe.inside.to_m();
    FRAC_PI_4 * bore_m * bore_m
}
