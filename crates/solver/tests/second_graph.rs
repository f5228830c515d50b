//! Routes, loops, cut pieces and levels between storms against brute force by another hand: a plain list of neighbours,
//! every simple way tried, every piece taken out in turn.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "tests")]

mod support;

use std::collections::BTreeSet;

use proptest::prelude::*;
use support::random::{Dice, Kinds, PLAIN_TREE, site};
use support::solve;
use wetrun_network::{DownspoutId, End, LineId, Network, Piece, PointId};
use wetrun_solver::{Routes, TankState};
use wetrun_units::Flow;

const SMALL: Kinds = Kinds { loops: true, tanks: 3, most: 4, ..PLAIN_TREE };
const SMALL_WITH_CRESTS: Kinds = Kinds { crests: true, ..SMALL };

/// What is taken out of the network.
#[derive(Clone, Copy, Default)]
struct Without {
    line: Option<usize>,
    place: Option<End>,
}

/// Every simple way from a place to a tank, as the lines passed.
fn ways(network: &Network, at: End, without: Without) -> Vec<Vec<usize>> {
    fn go(
        n: &Network,
        at: End,
        without: Without,
        seen: &mut Vec<End>,
        way: &mut Vec<usize>,
        all: &mut Vec<Vec<usize>>,
    ) {
        if Some(at) == without.place {
            return;
        }
        if matches!(at, End::Tank(_)) {
            all.push(way.clone());
            return;
        }
        seen.push(at);
        for (index, line) in n.lines().iter().enumerate() {
            let next = match at {
                at if line.from == at => line.to,
                at if line.to == at => line.from,
                _ => continue,
            };
            if Some(index) != without.line && !seen.contains(&next) {
                way.push(index);
                go(n, next, without, seen, way, all);
                way.pop();
            }
        }
        seen.pop();
    }
    let mut all = Vec::new();
    go(network, at, without, &mut Vec::new(), &mut Vec::new(), &mut all);
    all
}

fn downspouts(network: &Network) -> impl Iterator<Item = DownspoutId> {
    (0..network.downspouts().len()).map(DownspoutId::new)
}

proptest! {
    #[test]
    fn what_a_piece_cuts_off_is_what_has_no_way_left(seed in any::<u64>()) {
        let (network, _) = site(seed, SMALL);
        let cuts = network.cut_pieces();
        let mut pieces: Vec<(Piece, Without)> = Vec::new();
        for line in 0..network.lines().len() {
            let without = Without { line: Some(line), place: None };
            pieces.push((Piece::Line(LineId::new(line)), without));
        }
        for point in (0..network.points().len()).map(PointId::new) {
            let without = Without { line: None, place: Some(End::Point(point)) };
            pieces.push((Piece::Point(point), without));
        }
        for foot in downspouts(&network) {
            let without = Without { line: None, place: Some(End::Downspout(foot)) };
            pieces.push((Piece::Foot(foot), without));
        }
        for (piece, without) in pieces {
            let brute: BTreeSet<usize> = downspouts(&network)
                .filter(|&id| without.place != Some(End::Downspout(id)))
                .filter(|&id| ways(&network, End::Downspout(id), without).is_empty())
                .map(DownspoutId::index)
                .collect();
            let found: BTreeSet<usize> = cuts
                .iter()
                .filter(|cut| cut.piece == piece)
                .flat_map(|cut| cut.cuts_off.iter().map(|d| d.index()).collect::<Vec<_>>())
                .collect();
            prop_assert_eq!(found, brute, "{:?}", piece);
        }
    }

    /// A line is on a loop where its two ends stay joined without it.
    #[test]
    fn a_line_on_a_loop_can_be_gone_round(seed in any::<u64>()) {
        let (network, _) = site(seed, SMALL);
        let looped = network.on_a_loop();
        for (index, line) in network.lines().iter().enumerate() {
            let mut joined = vec![line.from];
            let mut next = 0;
            while let Some(&at) = joined.get(next) {
                next += 1;
                for (other, way) in network.lines().iter().enumerate() {
                    for (a, b) in [(way.from, way.to), (way.to, way.from)] {
                        if other != index && a == at && !joined.contains(&b) {
                            joined.push(b);
                        }
                    }
                }
            }
            prop_assert_eq!(looped[index], joined.contains(&line.to), "{}", line.tag);
        }
    }

    /// Between storms water stands at a point at the least, over all its ways to a tank, of the
    /// highest that it must pass on that way: an invert, the tank's inlet, the tank's water.
    #[test]
    fn water_rests_at_the_lowest_way_out(seed in any::<u64>()) {
        let (network, scenario) = site(seed, SMALL_WITH_CRESTS);
        let state = solve(&network, &scenario);
        for (index, point) in network.points().iter().enumerate() {
            let start = End::Point(PointId::new(index));
            let own_m = point.level.to_m();
            let passes = |way: &[usize]| -> f64 {
                let mut at = start;
                let mut highest_m = f64::NEG_INFINITY;
                for &line in way {
                    let line = &network.lines()[line];
                    let backwards = line.to == at;
                    let next = if backwards { line.from } else { line.to };
                    let mut levels_m: Vec<f64> =
                        line.profile.iter().map(|s| s.level.to_m()).collect();
                    if backwards {
                        levels_m.reverse();
                    }
                    // The point's own invert holds back no water of its own.
                    if at == start && levels_m[0] <= own_m + 1e-9 {
                        levels_m[0] = f64::NEG_INFINITY;
                    }
                    highest_m = levels_m.into_iter().fold(highest_m, f64::max);
                    if let (End::Tank(tank), TankState::Full) = (next, scenario.tanks)
                        && let Some(overflow) = &network.tank(tank).overflow
                    {
                        highest_m = highest_m.max(overflow.level.to_m());
                    }
                    at = next;
                }
                highest_m
            };
            let rest_m = ways(&network, start, Without::default())
                .iter()
                .map(|way| passes(way))
                .fold(f64::INFINITY, f64::min);
            let wet_m = (rest_m.is_finite() && rest_m >= own_m - 1e-9).then_some(rest_m);
            match (state.rest.point(PointId::new(index)).map(|l| l.to_m()), wet_m) {
                (Some(found), Some(brute)) => prop_assert!(
                    (found - brute).abs() < 1e-9, "{}: {} for {}", point.tag, found, brute
                ),
                (found, brute) => prop_assert_eq!(found, brute, "{}", point.tag),
            }
        }
    }

    /// The route of a downspout follows the greatest outflow at every place; where that ends in no
    /// tank, it is one of the fewest lines.
    #[test]
    fn a_route_follows_most_of_the_water(seed in any::<u64>()) {
        let (network, _) = site(seed, SMALL);
        let mut dice = Dice::cold(seed ^ 0xF10);
        let flows: Vec<f64> = network
            .lines()
            .iter()
            .map(|_| if dice.chance(0.2) { 0.0 } else { dice.between(-1.0, 1.0) })
            .collect();
        let typed: Vec<Flow> = flows.iter().map(|&q| Flow::m3_per_s(q)).collect();
        let routes = Routes::new(&network, typed.iter().copied());
        for id in downspouts(&network) {
            let found = routes.route(&network, id);
            let found: Vec<usize> = found.lines.iter().map(|l| l.index()).collect();
            let (mut at, mut way) = (End::Downspout(id), Vec::new());
            let by_flow = loop {
                if matches!(at, End::Tank(_)) {
                    break Some(way);
                }
                let out = |line: usize| {
                    let l = &network.lines()[line];
                    if l.from == at { flows[line] } else if l.to == at { -flows[line] } else { 0.0 }
                };
                let most = (0..flows.len())
                    .filter(|&line| out(line) > 0.0)
                    .max_by(|&a, &b| out(a).total_cmp(&out(b)));
                let Some(line) = most.filter(|_| way.len() <= flows.len()) else { break None };
                let l = &network.lines()[line];
                at = if l.from == at { l.to } else { l.from };
                way.push(line);
            };
            match by_flow {
                Some(way) => prop_assert_eq!(found, way),
                None => {
                    let all = ways(&network, End::Downspout(id), Without::default());
                    let fewest = all.iter().map(Vec::len).min().unwrap();
                    prop_assert_eq!(found.len(), fewest);
                    prop_assert!(all.contains(&found));
                }
            }
        }
    }
}
