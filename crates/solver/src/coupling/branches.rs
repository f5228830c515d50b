//! Wyes and tees of a tree, eliminated with its heads from the leaves to the roots.
//!
//! What comes along a line out of a branch that is eliminated is a straight line of the head that it
//! meets. At a wye three such heads, each the point's with an offset of its own, answer to three
//! flows: a system of three unknowns, whatever the size of the tree.

use super::inward;
use super::joint::{Asks, Pull};
use crate::assembly::Assembly;
use crate::model::Model;
use crate::tangent::Slopes;
use nalgebra::Matrix3;

/// A straight line of what stands at the far end of the line towards the root.
#[derive(Clone, Copy, Default)]
struct Straight {
    base: f64,
    slope: f64,
}

impl Straight {
    fn at(self, far: f64) -> f64 {
        self.base + self.slope * far
    }
}

/// What comes out of a pivot is worth nothing where it is so much smaller than what it was made of.
const LOST: f64 = 1e-12;

/// The change of every offset; `None` where the unknowns form no tree, or a pivot is lost.
pub(super) fn moves(
    model: &Model,
    assembly: &Assembly,
    slopes: &Slopes,
    asks: &Asks,
    pull: &Pull,
) -> Option<Vec<f64>> {
    assembly.matrix.tree()?;
    slopes
        .damped(|damping| Elimination::new(model, assembly, slopes, pull, damping).run(asks, pull))
}

struct Elimination<'a> {
    model: &'a Model,
    assembly: &'a Assembly,
    slopes: &'a Slopes,
    /// Of each unknown, what is no leg of a wye.
    diagonal: Vec<f64>,
    right: Vec<f64>,
    off: Vec<[f64; 2]>,
    /// What comes inward along each leg from a branch that is eliminated, by the head it meets.
    inward: Vec<Straight>,
    /// The change of each unknown, and of the head that each leg meets.
    unknowns: Vec<Straight>,
    met: Vec<Straight>,
}

impl<'a> Elimination<'a> {
    fn new(
        model: &'a Model,
        assembly: &'a Assembly,
        slopes: &'a Slopes,
        pull: &Pull,
        damping: f64,
    ) -> Self {
        let legs = 3 * model.junctions.len();
        let mut this = Self {
            model,
            assembly,
            slopes,
            diagonal: vec![damping; model.unknowns()],
            right: pull.net.clone(),
            off: vec![[0.0; 2]; assembly.line.len()],
            inward: vec![Straight::default(); legs],
            unknowns: vec![Straight::default(); model.unknowns()],
            met: vec![Straight::default(); legs],
        };
        for (line, part) in slopes.parts.iter().enumerate() {
            let legs = assembly.leg[line];
            if legs == [None; 2] {
                let ends = assembly.ends(model, line);
                this.add(ends, assembly.pair_of(line), part.d_end);
            }
            for (side, leg) in legs.into_iter().enumerate() {
                if let Some(leg) = leg {
                    // Of a line from a tank that stands; that of a branch is set later.
                    this.inward[leg].slope = inward(side, part.d_end[side]);
                }
            }
        }
        for (d, (_, slope)) in slopes.takes.iter().enumerate() {
            this.diagonal[d] -= slope;
        }
        for (place, letting) in slopes.lettings.iter().enumerate() {
            let (ends, pair) = assembly.overflow(model, place);
            this.add(ends, pair, letting.d_pipe);
            this.diagonal[model.nodes + place] += letting.d_ground[0];
            if let Some(pair) = pair {
                this.off[pair][0] += letting.d_ground[1];
            }
        }
        this
    }

    fn add(&mut self, ends: [Option<usize>; 2], pair: Option<usize>, d_end: [f64; 2]) {
        if let Some(a) = ends[0] {
            self.diagonal[a] += d_end[0];
        }
        if let Some(b) = ends[1] {
            self.diagonal[b] -= d_end[1];
        }
        if let Some(pair) = pair {
            self.off[pair][0] += d_end[1];
            self.off[pair][1] -= d_end[0];
        }
    }

    fn run(mut self, asks: &Asks, pull: &Pull) -> Option<Vec<f64>> {
        let tree = self.assembly.matrix.tree()?;
        for &unknown in tree.order.iter().rev() {
            self.eliminate(unknown, tree.parent[unknown], asks, pull)?;
        }
        // From here on each straight line is the number that it comes to.
        let mut change = vec![0.0; self.unknowns.len()];
        let mut met = vec![0.0; self.met.len()];
        for &unknown in &tree.order {
            let far = tree.parent[unknown].map_or(0.0, |(pair, second)| {
                let leg = self.assembly.line[pair]
                    .and_then(|line| self.assembly.leg[line][usize::from(!second)]);
                leg.map_or(change[self.parent(pair, second)], |leg| met[leg])
            });
            change[unknown] = self.unknowns[unknown].at(far);
            if let Some(junction) = self.assembly.junction[unknown] {
                let legs = 3 * junction..3 * junction + 3;
                for (met, straight) in met[legs.clone()].iter_mut().zip(&self.met[legs]) {
                    *met = straight.at(far);
                }
            }
        }
        let point = |leg: usize| {
            let (line, side) = self.model.junctions[leg / 3].legs[leg % 3];
            self.model.unknown(self.model.lines[line].ends[side])
        };
        let moves: Option<Vec<f64>> =
            met.iter().enumerate().map(|(leg, met)| Some(met - change[point(leg)?])).collect();
        moves.filter(|moves| moves.iter().all(|change| change.is_finite()))
    }

    fn parent(&self, pair: usize, second: bool) -> usize {
        let ((a, b), _) = self.assembly.matrix.pair(pair);
        if second { a } else { b }
    }

    fn eliminate(
        &mut self,
        unknown: usize,
        parent: Option<(usize, bool)>,
        asks: &Asks,
        pull: &Pull,
    ) -> Option<()> {
        let by = parent.and_then(|(pair, second)| {
            let line = self.assembly.line[pair]?;
            // The side of its first end is 0.
            (self.assembly.leg[line] != [None; 2]).then_some((line, usize::from(second)))
        });
        // The head that the line towards the root meets here, by what stands at its far end.
        let met = match self.assembly.junction[unknown] {
            Some(junction) => self.wye(unknown, junction, by, asks, pull)?,
            None => {
                let (own, far) = by.map_or((0.0, 0.0), |(line, side)| self.answers(line, side));
                let pivot = pivot(self.diagonal[unknown] - own, self.diagonal[unknown].abs())?;
                let Some((pair, second)) = parent.filter(|_| by.is_none()) else {
                    let met = Straight { base: self.right[unknown] / pivot, slope: far / pivot };
                    self.unknowns[unknown] = met;
                    return self.hand_on(by, parent, met);
                };
                let [ab, ba] = self.off[pair];
                let (own, above) = if second { (ba, ab) } else { (ab, ba) };
                let met = Straight { base: self.right[unknown] / pivot, slope: -own / pivot };
                self.unknowns[unknown] = met;
                let root = self.parent(pair, second);
                self.diagonal[root] += above * met.slope;
                self.right[root] -= above * met.base;
                return Some(());
            }
        };
        self.hand_on(by, parent, met)
    }

    /// How what comes into an end of a line answers to the head met there and to that at the far end.
    fn answers(&self, line: usize, side: usize) -> (f64, f64) {
        let d_end = self.slopes.parts[line].d_end;
        (inward(side, d_end[side]), inward(side, d_end[1 - side]))
    }

    /// Hands what comes out of a branch on to the unknown that it is eliminated into.
    fn hand_on(
        &mut self,
        by: Option<(usize, usize)>,
        parent: Option<(usize, bool)>,
        met: Straight,
    ) -> Option<()> {
        let (Some((line, side)), Some((pair, second))) = (by, parent) else { return Some(()) };
        let (own, far) = self.answers(line, 1 - side);
        let comes = Straight { base: far * met.base, slope: own + far * met.slope };
        match self.assembly.leg[line][1 - side] {
            Some(leg) => self.inward[leg] = comes,
            None => {
                let root = self.parent(pair, second);
                self.right[root] += comes.base;
                self.diagonal[root] -= comes.slope;
            }
        }
        Some(())
    }

    /// Eliminates the point of a wye; gives the head that its leg towards the root meets.
    fn wye(
        &mut self,
        unknown: usize,
        junction: usize,
        by: Option<(usize, usize)>,
        asks: &Asks,
        pull: &Pull,
    ) -> Option<Straight> {
        let first = 3 * junction;
        let mut inward = [0, 1, 2].map(|leg| self.inward[first + leg]);
        let mut far = [0.0; 3];
        let rootward = (0..3).find(|&leg| by == Some(self.model.junctions[junction].legs[leg]));
        if let (Some(leg), Some((line, side))) = (rootward, by) {
            let (own, beyond) = self.answers(line, side);
            inward[leg] = Straight { base: 0.0, slope: own };
            far[leg] = beyond;
        }
        let asks = asks[junction];
        // Each met head is the point's with its offset: (I − asks·slopes) met = point + asked.
        let mut matrix = Matrix3::identity();
        let mut rights = Matrix3::zeros();
        for row in 0..3 {
            for of in 0..3 {
                matrix[(row, of)] -= asks[row][of] * inward[of].slope;
                rights[(row, 1)] += asks[row][of] * (pull.led[first + of] + inward[of].base);
                rights[(row, 2)] += asks[row][of] * far[of];
            }
            rights[(row, 0)] = 1.0;
            rights[(row, 1)] += pull.miss[first + row];
        }
        let met: Matrix3<f64> = matrix.lu().solve(&rights)?;
        let met = [0, 1, 2].map(|leg| [0, 1, 2].map(|of| met[(leg, of)]));
        let mut point = self.diagonal[unknown];
        let mut size = point.abs();
        let (mut base, mut slope) = (self.right[unknown], 0.0);
        for ((inward, far), met) in inward.iter().zip(far).zip(&met) {
            point -= inward.slope * met[0];
            size += (inward.slope * met[0]).abs();
            base += inward.base + inward.slope * met[1];
            slope += far + inward.slope * met[2];
        }
        let pivot = pivot(point, size)?;
        let point = Straight { base: base / pivot, slope: slope / pivot };
        self.unknowns[unknown] = point;
        for (leg, met) in met.iter().enumerate() {
            self.met[first + leg] = Straight {
                base: met[0] * point.base + met[1],
                slope: met[0] * point.slope + met[2],
            };
        }
        Some(rootward.map_or(Straight::default(), |leg| self.met[first + leg]))
    }
}

fn pivot(value: f64, size: f64) -> Option<f64> {
    (value.abs() > LOST * size).then_some(value)
}
