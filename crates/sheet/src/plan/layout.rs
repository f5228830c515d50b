//! Where everything stands on the plan: the file's coordinates, or a tidy tree.

use crate::draw::Pt;
use crate::input::SheetInput;
use wetrun_facts::Place;
use wetrun_network::{DownspoutId, End, LineId, Network, PlaceId, PointId, TankId};

/// Places of all ends in plan units: x to the right, y downwards.
#[derive(Clone, Debug)]
pub(crate) struct Layout {
    downspouts: Vec<Pt>,
    points: Vec<Pt>,
    tanks: Vec<Pt>,
    /// Whether these are the file's coordinates, in metres.
    pub surveyed: bool,
    /// For each line, whether it hangs in the tree; the others close loops.
    in_tree: Vec<bool>,
}

impl Layout {
    /// The place of an end.
    pub(crate) fn at(&self, end: End) -> Pt {
        match end {
            End::Downspout(id) => self.downspouts[id.index()],
            End::Point(id) => self.points[id.index()],
            End::Tank(id) => self.tanks[id.index()],
        }
    }

    /// Whether a line is drawn level with a slant at its end. Only lines of the tree are: two of
    /// them never start out over one another.
    pub(crate) fn bends(&self, id: LineId) -> bool {
        self.in_tree[id.index()]
    }

    /// All places.
    pub(crate) fn all(&self) -> impl Iterator<Item = Pt> {
        self.downspouts.iter().chain(&self.points).chain(&self.tanks).copied()
    }

    fn from_all(network: &Network, all: &[Pt], in_tree: Option<Vec<bool>>) -> Self {
        let (d, p) = (network.downspouts().len(), network.points().len());
        Self {
            downspouts: all[..d].to_vec(),
            points: all[d..d + p].to_vec(),
            tanks: all[d + p..].to_vec(),
            surveyed: in_tree.is_none(),
            in_tree: in_tree.unwrap_or_else(|| vec![false; network.lines().len()]),
        }
    }
}

/// The layout of a network: surveyed where every place is given, else a tree.
pub(crate) fn of(input: &SheetInput<'_>) -> Layout {
    surveyed(input).unwrap_or_else(|| tree(input.network))
}

fn surveyed(input: &SheetInput<'_>) -> Option<Layout> {
    let network = input.network;
    let places: Option<Vec<Place>> = (0..network.downspouts().len())
        .map(|i| End::Downspout(DownspoutId::new(i)))
        .chain((0..network.points().len()).map(|i| End::Point(PointId::new(i))))
        .chain((0..network.tanks().len()).map(|i| End::Tank(TankId::new(i))))
        .map(|end| input.place(end))
        .collect();
    let all: Vec<Pt> = places?.into_iter().map(|p| Pt(p.east.to_m(), -p.north.to_m())).collect();
    let finite = all.iter().all(|p| p.0.is_finite() && p.1.is_finite());
    finite.then(|| Layout::from_all(network, &all, None))
}

/// A forest hung from the tanks, growing to the left; a leaf each row, a step each column.
struct Tree {
    children: Vec<Vec<usize>>,
    depth: Vec<usize>,
    roots: Vec<usize>,
    /// Lines that close a loop.
    chords: Vec<(usize, usize)>,
    /// For each line, whether it is none of those.
    in_tree: Vec<bool>,
}

fn tree(network: &Network) -> Layout {
    let mut tree = grow(network);
    let mut rows = rows(&tree);
    if !tree.chords.is_empty() && tree.depth.len() <= 80 {
        uncross(&mut tree, &mut rows);
    }
    let deepest = tree.depth.iter().copied().max().unwrap_or(0);
    let all: Vec<Pt> =
        rows.iter().zip(&tree.depth).map(|(&row, &d)| Pt((deepest - d) as f64, row)).collect();
    Layout::from_all(network, &all, Some(tree.in_tree))
}

/// Breadth first from all tanks, so that the lines of the tree are the short ways.
fn grow(network: &Network) -> Tree {
    let count = network.places();
    let first_tank = count - network.tanks().len();
    let place = |end: End| network.place(end).index();
    let mut tree = Tree {
        children: vec![Vec::new(); count],
        depth: vec![usize::MAX; count],
        roots: Vec::new(),
        chords: Vec::new(),
        in_tree: vec![false; network.lines().len()],
    };
    let mut queue = std::collections::VecDeque::new();
    // Tanks first; then whatever no tank reaches, each a root of its own.
    for start in (first_tank..count).chain(0..first_tank) {
        if start < first_tank {
            while let Some(at) = queue.pop_front() {
                visit(at, network, &mut tree, &mut queue);
            }
        }
        if tree.depth[start] == usize::MAX {
            tree.depth[start] = 0;
            tree.roots.push(start);
            queue.push_back(start);
        }
    }
    while let Some(at) = queue.pop_front() {
        visit(at, network, &mut tree, &mut queue);
    }
    for (index, line) in network.lines().iter().enumerate() {
        if !tree.in_tree[index] {
            tree.chords.push((place(line.from), place(line.to)));
        }
    }
    tree
}

fn visit(
    at: usize,
    network: &Network,
    tree: &mut Tree,
    queue: &mut std::collections::VecDeque<usize>,
) {
    for (line, end) in network.meets(network.end_at(PlaceId::new(at))) {
        let next = network.place(network.line(line).end(end.other())).index();
        if tree.depth[next] == usize::MAX {
            tree.depth[next] = tree.depth[at] + 1;
            tree.children[at].push(next);
            tree.in_tree[line.index()] = true;
            queue.push_back(next);
        }
    }
}

/// How far a subtree reaches above and below its root's row, deepest column first.
type Contour = Vec<(f64, f64)>;

/// A row for each. The largest subtree goes straight on, so that a trunk runs level; the others
/// stand above and below it in turn, as near as what is there already lets them.
fn rows(tree: &Tree) -> Vec<f64> {
    let order = outwards(tree);
    let mut size = vec![1usize; tree.depth.len()];
    for &at in order.iter().rev() {
        size[at] += tree.children[at].iter().map(|&c| size[c]).sum::<usize>();
    }
    let mut shift = vec![0.0; tree.depth.len()];
    let mut contours: Vec<Contour> = vec![Contour::new(); tree.depth.len()];
    for &at in order.iter().rev() {
        contours[at] = hang(tree, at, &size, &mut contours, &mut shift);
    }
    let mut rows = vec![0.0; tree.depth.len()];
    let mut low = 0.0;
    for &root in &tree.roots {
        let contour = &contours[root];
        let reach = contour.iter().fold((0.0f64, 0.0f64), |r, c| (r.0.min(c.0), r.1.max(c.1)));
        rows[root] = low - reach.0;
        low = rows[root] + reach.1 + 1.0;
    }
    for &at in &order {
        for &child in &tree.children[at] {
            rows[child] = rows[at] + shift[child];
        }
    }
    rows
}

/// Parents before children.
fn outwards(tree: &Tree) -> Vec<usize> {
    let mut order = tree.roots.clone();
    let mut next = 0;
    while next < order.len() {
        order.extend(&tree.children[order[next]]);
        next += 1;
    }
    order
}

/// Puts the children of one parent in their rows and gives the contour of the whole.
fn hang(
    tree: &Tree,
    at: usize,
    size: &[usize],
    contours: &mut [Contour],
    shift: &mut [f64],
) -> Contour {
    let children = &tree.children[at];
    let Some(&straight) = children.iter().max_by_key(|&&c| (size[c], std::cmp::Reverse(c))) else {
        // A leaf keeps the place behind it free for its label.
        return vec![(0.0, 0.0), (0.0, 0.0)];
    };
    let mut whole = std::mem::take(&mut contours[straight]);
    let others = children.iter().filter(|&&c| c != straight);
    for (index, &child) in others.enumerate() {
        let mine = std::mem::take(&mut contours[child]);
        let above = (index + tree.depth[at]).is_multiple_of(2);
        let pairs = mine.iter().rev().zip(whole.iter().rev());
        let apart = pairs.map(|(m, w)| if above { m.1 - w.0 } else { w.1 - m.0 });
        let by = apart.fold(f64::NEG_INFINITY, f64::max) + 1.0;
        shift[child] = if above { -by } else { by };
        join(&mut whole, &mine, shift[child]);
    }
    whole.push((0.0, 0.0));
    whole
}

/// Adds a contour, moved by `shift`, to another of the same first column.
fn join(whole: &mut Contour, mine: &Contour, shift: f64) {
    if mine.len() > whole.len() {
        let deeper = mine[..mine.len() - whole.len()].iter().map(|c| (c.0 + shift, c.1 + shift));
        let mut longer: Contour = deeper.collect();
        longer.append(whole);
        *whole = longer;
    }
    for (w, m) in whole.iter_mut().rev().zip(mine.iter().rev()) {
        *w = (w.0.min(m.0 + shift), w.1.max(m.1 + shift));
    }
}

/// Swaps subtrees of one parent while that takes crossings away.
fn uncross(tree: &mut Tree, row: &mut Vec<f64>) {
    let mut best = cost(tree, row);
    for _ in 0..4 {
        let before = best;
        for parent in 0..tree.children.len() {
            let pairs = tree.children[parent].len();
            for (one, other) in (0..pairs).flat_map(|i| (i + 1..pairs).map(move |j| (i, j))) {
                tree.children[parent].swap(one, other);
                let tried = rows(tree);
                let now = cost(tree, &tried);
                if now < best {
                    (best, *row) = (now, tried);
                } else {
                    tree.children[parent].swap(one, other);
                }
            }
        }
        if best == before {
            return;
        }
    }
}

/// Crossings first, then how far the loop-closing lines reach.
fn cost(tree: &Tree, rows: &[f64]) -> (usize, u64) {
    let at = |n: usize| (-(tree.depth[n] as f64), rows[n]);
    let mut segments: Vec<(usize, usize)> = tree.chords.clone();
    for (parent, children) in tree.children.iter().enumerate() {
        segments.extend(children.iter().map(|&child| (parent, child)));
    }
    let mut crossings = 0;
    for (index, &(a, b)) in segments.iter().enumerate() {
        for &(c, d) in &segments[index + 1..] {
            if a != c && a != d && b != c && b != d && cross(at(a), at(b), at(c), at(d)) {
                crossings += 1;
            }
        }
    }
    let reach: f64 = tree.chords.iter().map(|&(a, b)| (rows[a] - rows[b]).abs()).sum();
    (crossings, (reach * 1000.0) as u64)
}

fn cross(a: (f64, f64), b: (f64, f64), c: (f64, f64), d: (f64, f64)) -> bool {
    let side = |p: (f64, f64), q: (f64, f64), r: (f64, f64)| {
        (q.0 - p.0) * (r.1 - p.1) - (q.1 - p.1) * (r.0 - p.0)
    };
    side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
}
