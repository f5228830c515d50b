//! The linear system of one Newton step: conductances between unknowns, eliminated along a tree
//! where they form one, else factored sparse or dense.

use crate::elimination::{Elimination, Entries, Kept};
use faer::linalg::solvers::Solve;
use faer::sparse::linalg::solvers::{Llt, Lu, SymbolicLlt, SymbolicLu};
use faer::sparse::{Argsort, Pair, SparseColMat, SymbolicSparseColMat};
use faer::{Mat, Side};
use nalgebra::DMatrix;

/// Up to this many unknowns a dense factorisation is quicker than a sparse one.
const DENSE_UP_TO: usize = 24;

/// A matrix over the nodes with entries on the diagonal and for each joined pair, kept in one
/// pattern so that its ordering is worked out once.
pub(crate) struct Conductances {
    nodes: usize,
    pairs: Vec<(usize, usize)>,
    /// Diagonal, then for each pair the two off-diagonal entries `(a, b)` and `(b, a)`.
    diagonal: Vec<f64>,
    off: Vec<[f64; 2]>,
    tree: Option<Elimination>,
    symmetric: Option<Sparse<SymbolicLlt<usize>>>,
    general: Option<Sparse<SymbolicLu<usize>>>,
}

struct Sparse<S> {
    pattern: SymbolicSparseColMat<usize>,
    order: Argsort<usize>,
    symbolic: S,
}

impl Conductances {
    /// A matrix over `nodes` nodes, joined by `pairs`.
    pub(crate) fn new(nodes: usize, pairs: Vec<(usize, usize)>) -> Self {
        let off = vec![[0.0; 2]; pairs.len()];
        let tree = Elimination::new(nodes, &pairs);
        let diagonal = vec![0.0; nodes];
        Self { nodes, pairs, diagonal, off, tree, symmetric: None, general: None }
    }

    /// Sets every entry to zero.
    pub(crate) fn clear(&mut self) {
        self.diagonal.fill(0.0);
        self.off.fill([0.0; 2]);
    }

    /// Adds to the diagonal entry of a node.
    pub(crate) fn add(&mut self, node: usize, value: f64) {
        self.diagonal[node] += value;
    }

    /// The order of elimination, where the unknowns are joined like the branches of a tree.
    pub(crate) fn tree(&self) -> Option<&Elimination> {
        self.tree.as_ref()
    }

    /// The pairs, each with its entries `(a, b)` and `(b, a)`.
    pub(crate) fn pair(&self, pair: usize) -> ((usize, usize), [f64; 2]) {
        (self.pairs[pair], self.off[pair])
    }

    /// Adds to the entries `(a, b)` and `(b, a)` of a pair.
    pub(crate) fn add_pair(&mut self, pair: usize, ab: f64, ba: f64) {
        self.off[pair][0] += ab;
        self.off[pair][1] += ba;
    }

    /// Solves for the right-hand side; `None` where the matrix has no stable factor.
    /// `damping` is added to every diagonal entry.
    pub(crate) fn solve(&mut self, right: &[f64], damping: f64) -> Option<Vec<f64>> {
        self.solve_all(&[right], damping)?.pop()
    }

    /// The same for several right-hand sides with one factor.
    pub(crate) fn solve_all(&mut self, rights: &[&[f64]], damping: f64) -> Option<Vec<Vec<f64>>> {
        if self.nodes == 0 {
            return Some(vec![Vec::new(); rights.len()]);
        }
        let symmetric = self.off.iter().all(|[ab, ba]| ab == ba);
        let solutions = if let Some(tree) = &self.tree {
            tree.solve(self.entries(damping), rights)
        } else if self.nodes <= DENSE_UP_TO {
            self.solve_dense(rights, damping, symmetric)
        } else if symmetric {
            self.solve_symmetric(rights, damping)
        } else {
            self.solve_general(rights, damping)
        };
        solutions.filter(|all| all.iter().flatten().all(|v| v.is_finite()))
    }

    /// Solves as [`Self::solve`] does, and keeps what [`Self::solve_again`] goes on from; `None` also
    /// where the unknowns form no tree.
    pub(crate) fn solve_kept(&self, right: &[f64], damping: f64) -> Option<(Vec<f64>, Kept)> {
        let found = self.tree.as_ref()?.solve_kept(self.entries(damping), right);
        found.filter(|(solution, _)| solution.iter().all(|x| x.is_finite()))
    }

    /// Solves after the diagonal entry and the right-hand side of one unknown have changed; gives the
    /// unknowns whose solution has.
    pub(crate) fn solve_again(
        &self,
        right: &[f64],
        damping: f64,
        changed: usize,
        kept: &mut Kept,
        solution: &mut [f64],
    ) -> Option<Vec<usize>> {
        let tree = self.tree.as_ref()?;
        let found = tree.solve_again(self.entries(damping), right, changed, kept, solution);
        found.filter(|found| found.iter().all(|&unknown| solution[unknown].is_finite()))
    }

    fn entries(&self, damping: f64) -> Entries<'_> {
        Entries { pairs: &self.pairs, diagonal: &self.diagonal, off: &self.off, damping }
    }

    fn solve_dense(
        &self,
        rights: &[&[f64]],
        damping: f64,
        symmetric: bool,
    ) -> Option<Vec<Vec<f64>>> {
        let mut matrix = DMatrix::zeros(self.nodes, self.nodes);
        for (node, value) in self.diagonal.iter().enumerate() {
            matrix[(node, node)] = value + damping;
        }
        for (&(a, b), [ab, ba]) in self.pairs.iter().zip(&self.off) {
            matrix[(a, b)] += ab;
            matrix[(b, a)] += ba;
        }
        let rights = DMatrix::from_fn(self.nodes, rights.len(), |i, j| rights[j][i]);
        let factor = symmetric.then(|| matrix.clone().cholesky()).flatten();
        let solutions = match factor {
            Some(factor) => Some(factor.solve(&rights)),
            None => matrix.lu().solve(&rights),
        };
        solutions.map(|x| x.column_iter().map(|x| x.iter().copied().collect()).collect())
    }

    fn solve_symmetric(&mut self, rights: &[&[f64]], damping: f64) -> Option<Vec<Vec<f64>>> {
        if self.symmetric.is_none() {
            let (pattern, order) = self.pattern(false)?;
            let symbolic = SymbolicLlt::try_new(pattern.as_ref(), Side::Lower).ok()?;
            self.symmetric = Some(Sparse { pattern, order, symbolic });
        }
        let sparse = self.symmetric.as_ref()?;
        let values: Vec<f64> = (self.diagonal.iter().map(|d| d + damping))
            .chain(self.off.iter().map(|[ab, _]| *ab))
            .collect();
        let matrix =
            SparseColMat::new_from_argsort(sparse.pattern.clone(), &sparse.order, &values).ok()?;
        let factor =
            Llt::try_new_with_symbolic(sparse.symbolic.clone(), matrix.as_ref(), Side::Lower)
                .ok()?;
        Some(columns(&factor.solve(Mat::from_fn(self.nodes, rights.len(), |i, j| rights[j][i]))))
    }

    fn solve_general(&mut self, rights: &[&[f64]], damping: f64) -> Option<Vec<Vec<f64>>> {
        if self.general.is_none() {
            let (pattern, order) = self.pattern(true)?;
            let symbolic = SymbolicLu::try_new(pattern.as_ref()).ok()?;
            self.general = Some(Sparse { pattern, order, symbolic });
        }
        let sparse = self.general.as_ref()?;
        let values: Vec<f64> = (self.diagonal.iter().map(|d| d + damping))
            .chain(self.off.iter().flatten().copied())
            .collect();
        let matrix =
            SparseColMat::new_from_argsort(sparse.pattern.clone(), &sparse.order, &values).ok()?;
        let factor = Lu::try_new_with_symbolic(sparse.symbolic.clone(), matrix.as_ref()).ok()?;
        Some(columns(&factor.solve(Mat::from_fn(self.nodes, rights.len(), |i, j| rights[j][i]))))
    }

    /// The places of all entries: both halves, or the lower one alone.
    fn pattern(&self, both: bool) -> Option<(SymbolicSparseColMat<usize>, Argsort<usize>)> {
        let mut places: Vec<Pair<usize, usize>> =
            (0..self.nodes).map(|n| Pair { row: n, col: n }).collect();
        for &(a, b) in &self.pairs {
            if both {
                places.push(Pair { row: a, col: b });
                places.push(Pair { row: b, col: a });
            } else {
                places.push(Pair { row: a.max(b), col: a.min(b) });
            }
        }
        SymbolicSparseColMat::try_new_from_indices(self.nodes, self.nodes, &places).ok()
    }
}

fn columns(x: &Mat<f64>) -> Vec<Vec<f64>> {
    x.col_iter().map(|x| x.iter().copied().collect()).collect()
}
