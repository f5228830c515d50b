//! Each answer against its definition, by brute force on small random networks.

use super::*;
use crate::parts::{Downspout, End, Line, Parts, Pipe, Point, Station, Tank};
use crate::{DownspoutId, LineId, Network, PlaceId, PointId, TankId};
use petgraph::graph::EdgeIndex;
use proptest::prelude::*;
use std::collections::BTreeSet;
use wetrun_units::{Area, Length};

fn pipe() -> Pipe {
    Pipe { inside: Length::m(0.1), ..Pipe::default() }
}

fn downspout(index: usize) -> Downspout {
    Downspout {
        tag: format!("D{index}"),
        outlet: Length::m(3.0),
        lip: Length::m(3.0),
        foot: Length::ZERO,
        leaf_head: None,
        pipe: pipe(),
        fittings: Vec::new(),
        k: 0.0,
        catchment: Area::ZERO,
    }
}

fn point(index: usize) -> Point {
    Point {
        tag: format!("P{index}"),
        level: Length::ZERO,
        ground: None,
        fitting: None,
        drain: None,
        cleanout: false,
        opening: None,
    }
}

fn tank(index: usize) -> Tank {
    Tank {
        tag: format!("T{index}"),
        inlet: Length::m(2.0),
        overflow: None,
        floor: None,
        rim: None,
        ground: None,
        volume: None,
    }
}

fn line(index: usize, from: End, to: End, length_m: f64) -> Line {
    let station = |at_m| Station { at: Length::m(at_m), level: Length::ZERO, ground: None };
    Line {
        tag: format!("L{index}"),
        from,
        to,
        pipe: pipe(),
        length: Length::m(length_m),
        fittings: Vec::new(),
        k: 0.0,
        profile: vec![station(0.0), station(length_m)],
    }
}

fn end(downspouts: usize, points: usize, node: usize) -> End {
    if node < downspouts {
        End::Downspout(DownspoutId::new(node))
    } else if node < downspouts + points {
        End::Point(PointId::new(node - downspouts))
    } else {
        End::Tank(TankId::new(node - downspouts - points))
    }
}

fn network(counts: (usize, usize, usize), lines: &[(usize, usize, u8)]) -> Option<Network> {
    let (d, p, t) = counts;
    let parts = Parts {
        downspouts: (0..d).map(downspout).collect(),
        points: (0..p).map(point).collect(),
        tanks: (0..t).map(tank).collect(),
        lines: lines
            .iter()
            .enumerate()
            .filter(|(_, (a, b, _))| a != b)
            .map(|(i, (a, b, length))| line(i, end(d, p, *a), end(d, p, *b), f64::from(*length)))
            .collect(),
    };
    Network::build(parts).ok()
}

/// Small networks in which every downspout has a way to a tank.
fn networks() -> impl Strategy<Value = Network> {
    (1..4_usize, 0..5_usize, 1..3_usize)
        .prop_flat_map(|(d, p, t)| {
            let n = d + p + t;
            let lines = prop::collection::vec((0..n, 0..n, 1..4_u8), n - 1..2 * n);
            (Just((d, p, t)), lines)
        })
        .prop_filter_map("a downspout without a way", |(counts, lines)| network(counts, &lines))
}

/// The nodes that can be reached from `start` without the lines and places that are lost.
fn reached(
    t: &Network,
    start: usize,
    lost_line: Option<usize>,
    lost: Option<usize>,
) -> BTreeSet<usize> {
    let mut seen = BTreeSet::new();
    let mut queue = vec![start];
    while let Some(at) = queue.pop() {
        if Some(at) == lost || !seen.insert(at) {
            continue;
        }
        for (index, edge) in t.graph.raw_edges().iter().enumerate() {
            if Some(index) == lost_line {
                continue;
            }
            let (a, b) = (edge.source().index(), edge.target().index());
            queue.extend(if a == at {
                Some(b)
            } else if b == at {
                Some(a)
            } else {
                None
            });
        }
    }
    seen
}

fn first_tank(network: &Network) -> usize {
    network.downspouts().len() + network.points().len()
}

fn cut_off(t: &Network, line: Option<usize>, place: Option<usize>) -> BTreeSet<DownspoutId> {
    (0..t.downspouts().len())
        .filter(|d| Some(*d) != place)
        .filter(|d| reached(t, *d, line, place).iter().all(|n| *n < first_tank(t)))
        .map(DownspoutId::new)
        .collect()
}

proptest! {
    #[test]
    fn cut_pieces_are_those_whose_loss_cuts_off(network in networks()) {
        let t = &network;
        let mut expected = Vec::new();
        for line in 0..network.lines().len() {
            expected.push((Piece::Line(LineId::new(line)), cut_off(t, Some(line), None)));
        }
        for place in 0..first_tank(&network) {
            let piece = match network.end_at(PlaceId::new(place)) {
                End::Downspout(id) => Piece::Foot(id),
                End::Point(id) => Piece::Point(id),
                End::Tank(_) => continue,
            };
            expected.push((piece, cut_off(t, None, Some(place))));
        }
        expected.retain(|(_, cuts)| !cuts.is_empty());
        expected.sort();
        let found: Vec<_> = t.cut_pieces().iter()
            .map(|c| (c.piece, c.cuts_off.iter().copied().collect::<BTreeSet<_>>()))
            .collect();
        prop_assert_eq!(found, expected);
    }

    #[test]
    fn a_line_on_a_loop_is_one_that_its_ends_do_not_need(network in networks()) {
        let t = &network;
        for (line, looped) in t.on_a_loop().into_iter().enumerate() {
            let (a, b) = t.graph.edge_endpoints(EdgeIndex::new(line)).unwrap();
            let joined = reached(t, a.index(), Some(line), None).contains(&b.index());
            prop_assert_eq!(looped, joined, "line {}", line);
        }
    }

    /// What is reached without passing a tank, by walking.
    #[test]
    fn groups_are_joined_without_a_tank(network in networks()) {
        let groups = network.groups();
        let tank = |place: usize| matches!(network.end_at(PlaceId::new(place)), End::Tank(_));
        for start in (0..network.places()).filter(|&place| !tank(place)) {
            let mut seen = BTreeSet::new();
            let mut queue = vec![start];
            while let Some(at) = queue.pop() {
                if tank(at) || !seen.insert(at) {
                    continue;
                }
                for (line, end) in network.meets(network.end_at(PlaceId::new(at))) {
                    queue.push(network.place(network.line(line).end(end.other())).index());
                }
            }
            let of = groups.of(&network, network.end_at(PlaceId::new(start)));
            prop_assert_eq!(of.index(), *seen.first().unwrap());
        }
    }

    /// Each line is met at both of its ends and nowhere else, in the order of the file.
    #[test]
    fn lines_meet_at_their_ends(network in networks()) {
        let mut met = vec![0; network.lines().len()];
        for place in (0..network.places()).map(PlaceId::new) {
            let end = network.end_at(place);
            prop_assert_eq!(network.place(end), place);
            let lines: Vec<_> = network.meets(end).collect();
            prop_assert!(lines.is_sorted());
            for (line, side) in lines {
                prop_assert_eq!(network.line(line).end(side), end);
                met[line.index()] += 1;
            }
        }
        prop_assert!(met.iter().all(|ends| *ends == 2));
    }
}

/// petgraph's own bridges, as a second opinion on a graph rooted in its tanks.
#[test]
fn bridges_agree_with_another_method() {
    let lines: Vec<(usize, usize, u8)> = vec![
        (0, 3, 1),
        (1, 3, 1),
        (3, 4, 1),
        (4, 5, 1),
        (5, 3, 1),
        (2, 4, 1),
        (5, 6, 1),
        (5, 7, 1),
    ];
    let network = network((3, 3, 2), &lines).unwrap();
    let graph = network.graph.clone().into_edge_type::<petgraph::Undirected>();
    let bridges: BTreeSet<usize> = petgraph::algo::bridges::bridges(&graph)
        .map(|e| petgraph::visit::EdgeRef::id(&e).index())
        .collect();
    let looped = network.on_a_loop();
    assert_eq!(bridges, (0..lines.len()).filter(|l| !looped[*l]).collect());
}

/// A street of 100,000 lines in a row, a downspout at every other joint: no recursion, and no
/// list of half of the downspouts for each of the lines.
#[test]
fn a_very_long_run_needs_no_stack() {
    const N: usize = 50_000;
    let mut lines: Vec<(usize, usize, u8)> = (0..N).map(|i| (i, N + i, 1)).collect();
    lines.extend((0..N).map(|i| (N + i, N + i + 1, 1)));
    let network = network((N, N, 1), &lines).unwrap();
    let cuts = network.cut_pieces();
    assert_eq!(cuts.iter().count(), 2 * N + N);
    let last = cuts.iter().find(|c| c.piece == Piece::Line(LineId::new(2 * N - 1))).unwrap();
    assert_eq!(last.cuts_off.len(), N);
    assert!(network.on_a_loop().iter().all(|l| !l));
}
