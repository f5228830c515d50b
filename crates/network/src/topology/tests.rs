//! Each answer against its definition, by brute force on small random networks.

use super::*;
use crate::parts::{Downspout, Line, Pipe, Point, Station, Tank};
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
    t: &Topology<'_>,
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
        for edge in t.graph.raw_edges() {
            if Some(edge.weight.index()) == lost_line {
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

fn cut_off(t: &Topology<'_>, line: Option<usize>, place: Option<usize>) -> BTreeSet<DownspoutId> {
    (0..t.network.downspouts().len())
        .filter(|d| Some(*d) != place)
        .filter(|d| reached(t, *d, line, place).iter().all(|n| *n < t.first_tank()))
        .map(DownspoutId::new)
        .collect()
}

/// All simple ways by plain recursion.
fn all_ways(
    t: &Topology<'_>,
    at: usize,
    passed: &mut Vec<usize>,
    path: &mut Vec<LineId>,
    found: &mut Vec<Vec<LineId>>,
) {
    if at >= t.first_tank() {
        found.push(path.clone());
        return;
    }
    passed.push(at);
    for edge in t.graph.raw_edges() {
        let (a, b) = (edge.source().index(), edge.target().index());
        let to = if a == at {
            b
        } else if b == at {
            a
        } else {
            continue;
        };
        if !passed.contains(&to) {
            path.push(edge.weight);
            all_ways(t, to, passed, path, found);
            path.pop();
        }
    }
    passed.pop();
}

proptest! {
    #[test]
    fn cut_pieces_are_those_whose_loss_cuts_off(network in networks()) {
        let t = network.topology();
        let mut expected = Vec::new();
        for line in 0..network.lines().len() {
            expected.push((Piece::Line(LineId::new(line)), cut_off(&t, Some(line), None)));
        }
        for place in 0..t.first_tank() {
            let piece = match t.graph[NodeIndex::new(place)] {
                End::Downspout(id) => Piece::Foot(id),
                End::Point(id) => Piece::Point(id),
                End::Tank(_) => continue,
            };
            expected.push((piece, cut_off(&t, None, Some(place))));
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
        let t = network.topology();
        for (line, looped) in t.on_a_loop().into_iter().enumerate() {
            let (a, b) = t.graph.edge_endpoints(EdgeIndex::new(line)).unwrap();
            let joined = reached(&t, a.index(), Some(line), None).contains(&b.index());
            prop_assert_eq!(looped, joined, "line {}", line);
        }
    }

    #[test]
    fn loops_close_and_cover_the_looped_lines(network in networks()) {
        let t = network.topology();
        let loops = t.loops();
        let count = network.lines().len() + t.groups().len() - t.nodes();
        prop_assert_eq!(loops.len(), count);
        let mut covered = vec![false; network.lines().len()];
        for ring in &loops {
            let mut meets = std::collections::BTreeMap::new();
            for line in ring {
                covered[line.index()] = true;
                for end in [network.line(*line).from, network.line(*line).to] {
                    *meets.entry(end).or_insert(0) += 1;
                }
            }
            prop_assert!(meets.values().all(|m| *m == 2), "{:?}", ring);
            for (this, next) in ring.iter().zip(ring.iter().cycle().skip(1)) {
                let (a, b) = (network.line(*this), network.line(*next));
                prop_assert!([a.from, a.to].iter().any(|e| *e == b.from || *e == b.to));
            }
        }
        prop_assert_eq!(covered, t.on_a_loop());
    }

    #[test]
    fn routes_are_all_simple_ways(network in networks()) {
        let t = network.topology();
        let shortest = t.shortest_routes();
        for d in 0..network.downspouts().len() {
            let mut ways = Vec::new();
            all_ways(&t, d, &mut Vec::new(), &mut Vec::new(), &mut ways);
            let id = DownspoutId::new(d);
            let routes = t.routes(id, usize::MAX);
            let lines: Vec<_> = routes.iter().map(|r| r.lines.clone()).collect();
            ways.sort();
            prop_assert_eq!(&lines, &ways);
            let least = routes.iter().map(|r| r.length.to_m()).fold(f64::INFINITY, f64::min);
            let route = shortest.of(id).unwrap();
            prop_assert_eq!(route.length.to_m(), least);
            prop_assert!(lines.contains(&route.lines));
            prop_assert_eq!(t.routes(id, 1).len(), 1);
        }
    }

    #[test]
    fn groups_are_what_can_be_reached(network in networks()) {
        let t = network.topology();
        let groups = t.groups();
        prop_assert_eq!(groups.iter().map(|g| g.lines.len()).sum::<usize>(), network.lines().len());
        for group in &groups {
            let place = |end| node(network.downspouts().len(), network.points().len(), end);
            let mut nodes: BTreeSet<usize> = group.downspouts.iter().map(|d| place(End::Downspout(*d))).collect();
            nodes.extend(group.points.iter().map(|p| place(End::Point(*p))));
            nodes.extend(group.tanks.iter().map(|t| place(End::Tank(*t))));
            let first = *nodes.first().unwrap();
            prop_assert_eq!(&nodes, &reached(&t, first, None, None));
            for line in &group.lines {
                prop_assert!(nodes.contains(&place(network.line(*line).from)));
            }
        }
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
    let t = network.topology();
    let bridges: BTreeSet<usize> = petgraph::algo::bridges::bridges(&t.graph)
        .map(|e| petgraph::visit::EdgeRef::id(&e).index())
        .collect();
    let looped = t.on_a_loop();
    assert_eq!(bridges, (0..lines.len()).filter(|l| !looped[*l]).collect());
    assert_eq!(t.loops().len(), 1);
}

/// A street of 100,000 lines in a row, a downspout at every other joint: no recursion, and no
/// list of half of the downspouts for each of the lines.
#[test]
fn a_very_long_run_needs_no_stack() {
    const N: usize = 50_000;
    let mut lines: Vec<(usize, usize, u8)> = (0..N).map(|i| (i, N + i, 1)).collect();
    lines.extend((0..N).map(|i| (N + i, N + i + 1, 1)));
    let network = network((N, N, 1), &lines).unwrap();
    let t = network.topology();
    let cuts = t.cut_pieces();
    assert_eq!(cuts.iter().count(), 2 * N + N);
    let last = cuts.iter().find(|c| c.piece == Piece::Line(LineId::new(2 * N - 1))).unwrap();
    assert_eq!(last.cuts_off.len(), N);
    assert_eq!(t.shortest_routes().of(DownspoutId::new(0)).unwrap().lines.len(), N + 1);
    assert!(t.on_a_loop().iter().all(|l| !l));
    assert!(t.loops().is_empty() && t.groups().len() == 1);
    assert_eq!(t.routes(DownspoutId::new(N - 1), 10).len(), 1);
}
