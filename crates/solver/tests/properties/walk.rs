//! One solved state gone through piece by piece, with the laws in their plain form.

use crate::plain::{self, Wall};
use proptest::prelude::*;
use wetrun_network::{End, JunctionKind, Network, Pipe};
use wetrun_solver::{FrictionLaw, Scenario, Steady, TankState, laws::water};

type Checked = Result<(), TestCaseError>;

/// What the head equations are solved to, and a little for the plain laws' own rounding.
const HEAD_M: f64 = 2e-7;

pub(crate) fn wall(pipe: &Pipe, scenario: &Scenario) -> Wall {
    match scenario.law {
        FrictionLaw::HazenWilliams => Wall::Hazen { c: pipe.c.unwrap() },
        FrictionLaw::DarcyWeisbach => Wall::Darcy {
            roughness_m: pipe.roughness.unwrap().to_m(),
            viscosity: water::viscosity(scenario.temperature).to_m2_per_s(),
        },
    }
}

/// What comes into every place goes out of it, to 1e-9 of the total demand.
pub(crate) fn continuity(network: &Network, state: &Steady) -> Checked {
    let total: f64 = state.downspouts.iter().map(|d| d.demand.to_m3_per_s()).sum();
    let mut net = vec![0.0; network.downspouts().len() + network.points().len()];
    let mut received = vec![0.0; network.tanks().len()];
    for (d, downspout) in state.downspouts.iter().enumerate() {
        net[d] += downspout.admitted.to_m3_per_s();
        let parts = downspout.admitted.to_m3_per_s() + downspout.spilled.to_m3_per_s();
        prop_assert!((parts - downspout.demand.to_m3_per_s()).abs() <= 1e-12 * total);
    }
    for opening in &state.openings {
        net[network.downspouts().len() + opening.at.index()] -= opening.escapes.to_m3_per_s();
    }
    for (line, found) in network.lines().iter().zip(&state.lines) {
        for (end, flow) in [(line.from, found.flow * -1.0), (line.to, found.flow)] {
            match end {
                End::Downspout(id) => net[id.index()] += flow.to_m3_per_s(),
                End::Point(id) => {
                    net[network.downspouts().len() + id.index()] += flow.to_m3_per_s()
                }
                End::Tank(id) => received[id.index()] += flow.to_m3_per_s(),
            }
        }
    }
    let scale = if total > 0.0 { total } else { 1e-4 };
    for (place, net) in net.iter().enumerate() {
        prop_assert!(net.abs() <= 1e-9 * scale, "place {place} keeps {net:e} of {total}");
    }
    for (t, tank) in network.tanks().iter().enumerate() {
        for (u, other) in network.tanks().iter().enumerate() {
            let to = other.overflow.as_ref().and_then(|o| o.to);
            if to.is_some_and(|to| to.index() == t) {
                received[t] += state.tanks[u].overflow.to_m3_per_s();
            }
        }
        let off = (received[t] - state.tanks[t].inflow.to_m3_per_s()).abs();
        prop_assert!(off <= 1e-9 * scale, "{} receives {}", tank.tag, received[t]);
    }
    Ok(())
}

/// Full tanks stand over their overflow by what it takes to let the water go, against the water it
/// ends in, and never over their rim: what does not go by the overflow then runs over it.
pub(crate) fn tanks(network: &Network, scenario: &Scenario, state: &Steady) -> Checked {
    for (tank, found) in network.tanks().iter().zip(&state.tanks) {
        let full = tank.overflow.as_ref().filter(|_| scenario.tanks == TankState::Full);
        let inflow = found.inflow.to_m3_per_s().max(0.0);
        let (out, over) = (found.overflow.to_m3_per_s(), found.over_rim.to_m3_per_s());
        let Some(overflow) = full else {
            prop_assert!(found.water_level.is_none() && out == 0.0 && over == 0.0);
            continue;
        };
        let beyond = overflow.to.and_then(|to| state.tanks[to.index()].water_level);
        let beyond_m = beyond.map_or(f64::NEG_INFINITY, |level| level.to_m());
        let (free_m, drowned_m) = overflow.pipe.as_ref().map_or((0.0, 0.0), |pipe| {
            let bore_m = pipe.inside.to_m();
            let (energy, speed) = plain::critical(out, bore_m);
            let entrance = overflow.k * speed * speed / (2.0 * plain::G);
            (energy + entrance, (1.0 + overflow.k) * plain::velocity_head(out, bore_m))
        });
        let asked_m = (overflow.level.to_m() + free_m).max(beyond_m + drowned_m);
        let rim_m = tank.rim.map_or(f64::INFINITY, |rim| rim.to_m());
        let level_m = found.water_level.unwrap().to_m();
        let off = level_m - asked_m.min(rim_m);
        let tag = &tank.tag;
        prop_assert!(off.abs() <= HEAD_M, "{tag} stands at {level_m}, off {off:e}");
        prop_assert!(level_m <= rim_m && out >= 0.0 && over >= 0.0, "{tag} {found:?}");
        prop_assert!((out + over - inflow).abs() <= 1e-12 * inflow, "{tag} {found:?}");
        if over > 0.0 {
            prop_assert!((level_m - rim_m).abs() <= HEAD_M, "{tag} runs over below its rim");
            let lacks = rim_m - asked_m;
            prop_assert!(lacks <= HEAD_M, "{tag} could let more go: {lacks:e}");
        }
    }
    Ok(())
}

/// Water stands at an opening's level where it comes out, and below it where it does not.
pub(crate) fn openings(network: &Network, state: &Steady) -> Checked {
    prop_assert_eq!(state.openings.len(), network.openings().count());
    for ((id, opening), found) in network.openings().zip(&state.openings) {
        let tag = &network.point(id).tag;
        let over = (state.points[id.index()].head - opening.level).to_m();
        let escapes = found.escapes.to_m3_per_s();
        prop_assert!(found.at == id && escapes >= 0.0 && over <= HEAD_M, "{tag} {over:e}");
        if escapes > 0.0 {
            prop_assert!(over.abs() <= HEAD_M && found.headroom.to_m() == 0.0, "{tag} {over:e}");
        } else {
            let off = found.headroom.to_m() + over;
            prop_assert!(off.abs() <= HEAD_M && found.headroom.to_m() >= 0.0, "{tag} {off:e}");
        }
    }
    Ok(())
}

/// A downspout takes its whole demand below its lip, or stands at the lip.
pub(crate) fn downspouts(network: &Network, scenario: &Scenario, state: &Steady) -> Checked {
    for (downspout, found) in network.downspouts().iter().zip(&state.downspouts) {
        let (lip, foot) = (downspout.spill_level().to_m(), downspout.foot.to_m());
        let (admitted, demand) = (found.admitted.to_m3_per_s(), found.demand.to_m3_per_s());
        let bore_m = downspout.pipe.inside.to_m();
        let slope = plain::slope(wall(&downspout.pipe, scenario), admitted.abs(), bore_m);
        let fittings = downspout.total_k() * plain::velocity_head(admitted, bore_m);
        let head = found.foot_head.to_m();
        let standing = found.standing_level.to_m();
        let tag = &downspout.tag;
        prop_assert!(admitted <= demand, "{tag} takes {admitted} of {demand}");
        prop_assert!(standing <= lip + 1e-12, "{tag} stands at {standing} over {lip}");
        if admitted < demand {
            // At the lip: the loss runs with the water, down or up.
            let lost = (slope * (lip - foot) + fittings).copysign(admitted);
            let off = head + lost - lip;
            prop_assert!(off.abs() <= HEAD_M, "{tag} at its lip is off {off:e}");
            prop_assert!((standing - lip).abs() <= 1e-12, "{tag} stands at {standing}, not {lip}");
        } else if standing < lip {
            // Friction over the wetted length alone.
            let wetted = (standing - foot).max(0.0);
            let off = head + fittings + slope * wetted - standing;
            prop_assert!(off.abs() <= HEAD_M, "{tag} below its lip is off {off:e}");
        } else {
            let room = lip - head - fittings - slope * (lip - foot);
            prop_assert!(room >= -HEAD_M || slope >= 1.0, "{tag} lacks {room:e}");
        }
    }
    Ok(())
}

/// Energy along every line, climbed from the downstream end against the flow.
pub(crate) fn lines(network: &Network, scenario: &Scenario, state: &Steady) -> Checked {
    for (index, line) in network.lines().iter().enumerate() {
        let flow = state.lines[index].flow.to_m3_per_s();
        let (up, down) = if flow < 0.0 { (line.to, line.from) } else { (line.from, line.to) };
        let mut stations: Vec<(f64, f64)> =
            line.profile.iter().map(|s| (s.at.to_m(), s.level.to_m())).collect();
        if flow >= 0.0 {
            stations.reverse();
        }
        let found = &state.lines[index];
        let lost = (found.from_head - found.to_head).to_m();
        let parts = (found.friction_loss + found.fitting_loss).to_m();
        let tag = &line.tag;
        let level = |end: End| matches!(end, End::Tank(_));
        if !found.broken && flow != 0.0 && !level(up) {
            prop_assert!((lost - parts).abs() <= HEAD_M, "{tag} loses {lost}, its parts {parts}");
        }
        if flow == 0.0 {
            still(network, state, index, &stations)?;
            continue;
        }
        let size = flow.abs();
        let bore_m = line.pipe.inside.to_m();
        let fittings = line.total_k() * plain::velocity_head(size, bore_m) / line.length.to_m();
        let slope = plain::slope(wall(&line.pipe, scenario), size, bore_m) + fittings;
        let energy = plain::critical(size, bore_m).0;
        let (below, above) = (stations[0].1, stations[stations.len() - 1].1);
        let mut head = match down {
            End::Tank(id) => {
                let free = below + energy;
                let water = state.tanks[id.index()].water_level;
                let drowned = water.map(|w| w.to_m() + plain::velocity_head(size, bore_m));
                drowned.map_or(free, |drowned| drowned.max(free))
            }
            place => {
                let Some(added) = added(network, state, index, place) else { continue };
                (node_head(state, place) + added).max(below + energy)
            }
        };
        for pair in stations.windows(2) {
            head += slope * (pair[1].0 - pair[0].0).abs();
            let last = pair[1] == stations[stations.len() - 1];
            if !(last && matches!(up, End::Tank(_))) {
                head = head.max(pair[1].1 + energy);
            }
        }
        match up {
            End::Tank(id) => {
                // Either the water's level drives the line, or the inlet lets no more out.
                let level = state.tanks[id.index()].water_level.unwrap().to_m();
                let (spare, left) = (level - head, level - above - energy);
                prop_assert!(
                    spare >= -HEAD_M && left >= -HEAD_M,
                    "{} {spare:e} {left:e}",
                    line.tag
                );
                prop_assert!(spare.min(left) <= HEAD_M, "{} {spare:e} {left:e}", line.tag);
            }
            place => {
                let Some(added) = added(network, state, index, place) else { continue };
                let off = node_head(state, place) + added - head;
                prop_assert!(off.abs() <= HEAD_M, "{} is off {off:e}", line.tag);
            }
        }
    }
    Ok(())
}

/// A line stands still only where neither end overtops what the other holds against it.
fn still(network: &Network, state: &Steady, index: usize, stations: &[(f64, f64)]) -> Checked {
    let line = &network.lines()[index];
    if [line.from, line.to].iter().any(|&end| added(network, state, index, end).is_none()) {
        return Ok(());
    }
    // Stations run from `to` to `from`.
    let last = stations.len() - 1;
    let holds = |end: End, own: usize| match end {
        End::Tank(id) => {
            let water = state.tanks[id.index()].water_level.map_or(f64::NEG_INFINITY, |w| w.to_m());
            (stations[own].1.max(water), water > stations[own].1)
        }
        place => {
            let added = added(network, state, index, place).unwrap_or(0.0);
            (node_head(state, place) + added, true)
        }
    };
    for ((source, here), (other, there)) in
        [((line.from, last), (line.to, 0)), ((line.to, 0), (line.from, last))]
    {
        let (drives, can) = holds(source, here);
        if !can {
            continue;
        }
        let crest = stations.iter().enumerate().filter(|(i, _)| {
            let at_tank = (*i == here && matches!(source, End::Tank(_)))
                || (*i == there && matches!(other, End::Tank(_)));
            !at_tank
        });
        let against = crest.fold(holds(other, there).0, |high, (_, s)| high.max(s.1));
        prop_assert!(
            drives <= against + HEAD_M,
            "{} is still under {drives} > {against}",
            line.tag
        );
    }
    Ok(())
}

fn node_head(state: &Steady, place: End) -> f64 {
    match place {
        End::Downspout(id) => state.downspouts[id.index()].foot_head.to_m(),
        End::Point(id) => state.points[id.index()].head.to_m(),
        End::Tank(_) => f64::NAN,
    }
}

/// What a wye or tee adds to the head of its point, as the end of one of its lines sees it: by the
/// published relation where two legs combine into the run, `None` where they do not, for which
/// nothing is published.
fn added(network: &Network, state: &Steady, index: usize, place: End) -> Option<f64> {
    let End::Point(id) = place else { return Some(0.0) };
    let Some(junction) = network.point(id).fitting else { return Some(0.0) };
    let legs: Vec<usize> = (0..network.lines().len())
        .filter(|&l| network.lines()[l].from == place || network.lines()[l].to == place)
        .collect();
    let inward = |l: usize| {
        let flow = state.lines[l].flow.to_m3_per_s();
        if network.lines()[l].to == place { flow } else { -flow }
    };
    let area = |l: usize| plain::area(network.lines()[l].pipe.inside.to_m());
    let branch = junction.branch.index();
    let run: Vec<usize> = legs.iter().copied().filter(|&l| l != branch).collect();
    let (out, other) =
        if inward(run[0]) <= inward(run[1]) { (run[0], run[1]) } else { (run[1], run[0]) };
    if inward(branch) > 0.0 && inward(out) < 0.0 && inward(other) >= 0.0 {
        let (share, beta2) = ((inward(branch) / -inward(out)).min(1.0), area(branch) / area(out));
        let head = (inward(out) / area(out)).powi(2) / (2.0 * plain::G);
        let (of_branch, of_run) = crane(junction.kind, beta2, share);
        return Some(match index {
            i if i == branch => of_branch * head,
            i if i == other => of_run * head,
            _ => 0.0,
        });
    }
    None
}

/// The published relation for a wye of 45° and a tee, in its source's own form.
fn crane(kind: JunctionKind, beta2: f64, q: f64) -> (f64, f64) {
    let f = if kind == JunctionKind::Wye { 1.41 } else { 0.0 };
    let c = match q {
        _ if beta2 <= 0.35 => 1.0,
        q if q <= 0.4 => 0.9 * (1.0 - q),
        q => (0.14 + q).min(0.55),
    };
    let branch = c * (1.0 + (q / beta2).powi(2) - 2.0 * (1.0 - q).powi(2) - f / beta2 * q * q);
    let run = match kind {
        JunctionKind::Tee => 1.55 * q - q * q,
        JunctionKind::Wye => 1.0 - (1.0 - q).powi(2) - f / beta2 * q * q,
    };
    (branch, run)
}
