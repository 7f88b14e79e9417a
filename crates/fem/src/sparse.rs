//! Symmetric positive definite sparse systems: the only place that knows the linear algebra library.

use faer::dyn_stack::{MemBuffer, MemStack, StackReq};
use faer::linalg::cholesky::llt::factor::LltRegularization;
use faer::sparse::linalg::SupernodalThreshold;
use faer::sparse::linalg::cholesky::supernodal::{SupernodalLltRef, SupernodeRef};
use faer::sparse::linalg::cholesky::{
    CholeskySymbolicParams, LltRef, SymbolicCholesky, SymbolicCholeskyRaw, SymmetricOrdering,
    factorize_symbolic_cholesky,
};
use faer::sparse::{SparseColMatRef, SymbolicSparseColMatRef};
use faer::{Conj, MatMut, Par, Side};
use std::sync::Arc;
use thiserror::Error;

/// A matrix that could not be factorised.
#[derive(Clone, Debug, PartialEq, Error)]
pub enum SparseError {
    /// Not positive definite: a mesh or material is degenerate.
    #[error(
        "the equations have no single solution: a part is too thin or a material too extreme to be computed"
    )]
    NotPositiveDefinite,
    /// Out of memory or too large.
    #[error("the factorisation could not be set up: {0}")]
    SetUp(String),
}

/// From which size on the blocked factorisation is faster.
const SUPERNODAL_FROM: usize = 1500;

/// Where entries stand: lower triangle by columns, and its analysis.
pub(crate) struct Pattern {
    n: usize,
    column_starts: Vec<u32>,
    rows: Vec<u32>,
    symbolic: SymbolicCholesky<u32>,
}

/// Marks a node without unknown.
pub(crate) const NONE: u32 = u32::MAX;

impl std::fmt::Debug for Pattern {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Pattern").field("n", &self.n).field("entries", &self.rows.len()).finish()
    }
}

impl Pattern {
    /// The pattern of elements that couple all their unknowns, `width` to an element ([`NONE`]: no unknown), and
    /// for each element the place of its lower triangle's entries, row by row.
    pub(crate) fn of_elements(
        n: usize,
        unknowns: &[u32],
        width: usize,
    ) -> Result<(Self, Vec<u32>), SparseError> {
        let entries = width * (width + 1) / 2;
        // Sort entries by column by counting, then rows within a column.
        let mut pairs: Vec<(u32, u32)> = Vec::with_capacity(unknowns.len() / width * entries);
        for element in unknowns.chunks_exact(width) {
            for i in 0..width {
                for j in 0..=i {
                    let (a, b) = (element[i], element[j]);
                    pairs.push(if a == NONE || b == NONE { (NONE, NONE) } else { (a.min(b), a.max(b)) });
                }
            }
        }
        let mut starts = vec![0u32; n + 1];
        for &(c, _) in pairs.iter().filter(|p| p.0 != NONE) {
            starts[c as usize + 1] += 1;
        }
        for k in 0..n {
            starts[k + 1] += starts[k];
        }
        let mut fill = starts.clone();
        let mut order = vec![0u32; starts[n] as usize];
        for (k, &(c, _)) in pairs.iter().enumerate().filter(|(_, p)| p.0 != NONE) {
            order[fill[c as usize] as usize] = k as u32;
            fill[c as usize] += 1;
        }
        let mut column_starts = vec![0u32; n + 1];
        let mut rows = Vec::with_capacity(order.len() / 2);
        let mut place = vec![NONE; pairs.len()];
        for c in 0..n {
            let column = &mut order[starts[c] as usize..starts[c + 1] as usize];
            column.sort_unstable_by_key(|&k| pairs[k as usize].1);
            for &k in column.iter() {
                let row = pairs[k as usize].1;
                if rows.len() == column_starts[c] as usize || rows.last() != Some(&row) {
                    rows.push(row);
                }
                place[k as usize] = rows.len() as u32 - 1;
            }
            column_starts[c + 1] = rows.len() as u32;
        }
        let symbolic = {
            let matrix = SymbolicSparseColMatRef::<u32>::new_checked(n, n, &column_starts, None, &rows);
            let threshold = if n >= SUPERNODAL_FROM {
                SupernodalThreshold::FORCE_SUPERNODAL
            } else {
                SupernodalThreshold::FORCE_SIMPLICIAL
            };
            let params =
                CholeskySymbolicParams { supernodal_flop_ratio_threshold: threshold, ..Default::default() };
            factorize_symbolic_cholesky(matrix, Side::Lower, SymmetricOrdering::Amd, params)
                .map_err(|e| SparseError::SetUp(e.to_string()))?
        };
        Ok((Self { n, column_starts, rows, symbolic }, place))
    }

    pub(crate) fn n(&self) -> usize {
        self.n
    }

    /// What factorising and solving need beside the values.
    fn workspace(&self) -> StackReq {
        StackReq::any_of(&[
            self.symbolic.factorize_numeric_llt_scratch::<f64>(Par::Seq, Default::default()),
            self.symbolic.solve_in_place_scratch::<f64>(1, Par::Seq),
        ])
    }

    /// Number of stored entries.
    pub(crate) fn entries(&self) -> usize {
        self.rows.len()
    }

    /// `y += matrix · x` for a matrix of this pattern.
    pub(crate) fn multiply_add(&self, values: &[f64], x: &[f64], y: &mut [f64]) {
        for c in 0..self.n {
            let mut sum = 0.0;
            for k in self.column_starts[c] as usize..self.column_starts[c + 1] as usize {
                let r = self.rows[k] as usize;
                sum += values[k] * x[r];
                if r != c {
                    y[r] += values[k] * x[c];
                }
            }
            y[c] += sum;
        }
    }
}

/// A Cholesky factor with its workspace, refilled for each matrix of the pattern.
pub(crate) struct Factor {
    pattern: Arc<Pattern>,
    /// Shared with the clones until one of them is refilled.
    values: Arc<Vec<f64>>,
    work: MemBuffer,
}

impl std::fmt::Debug for Factor {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Factor").field("pattern", &self.pattern).finish()
    }
}

/// The same factor with a workspace of its own.
impl Clone for Factor {
    fn clone(&self) -> Self {
        let pattern = self.pattern.clone();
        Self { values: self.values.clone(), work: MemBuffer::new(pattern.workspace()), pattern }
    }
}

impl Factor {
    pub(crate) fn new(pattern: Arc<Pattern>) -> Self {
        // Memory for the values comes with the first matrix.
        Self { values: Arc::default(), work: MemBuffer::new(pattern.workspace()), pattern }
    }

    /// Factorise the matrix with these values.
    pub(crate) fn refill(&mut self, values: &[f64]) -> Result<(), SparseError> {
        let p = &self.pattern;
        let len = p.symbolic.len_val();
        if self.values.len() != len || Arc::get_mut(&mut self.values).is_none() {
            self.values = Arc::new(vec![0.0; len]);
        }
        let Some(filled) = Arc::get_mut(&mut self.values) else { unreachable!("just made, shared by none") };
        let symbolic = SymbolicSparseColMatRef::<u32>::new_checked(p.n, p.n, &p.column_starts, None, &p.rows);
        let matrix = SparseColMatRef::<u32, f64>::new(symbolic, values);
        p.symbolic
            .factorize_numeric_llt(
                filled,
                matrix,
                Side::Lower,
                LltRegularization::default(),
                Par::Seq,
                MemStack::new(&mut self.work),
                Default::default(),
            )
            .map(|_| ())
            .map_err(|_| SparseError::NotPositiveDefinite)
    }

    /// Solve with the factor: `x` holds the right-hand side, then the solution.
    pub(crate) fn solve(&mut self, x: &mut [f64]) {
        let symbolic = &self.pattern.symbolic;
        match (symbolic.raw(), symbolic.perm()) {
            (SymbolicCholeskyRaw::Supernodal(nodes), Some(order)) => {
                let order = order.arrays().0;
                let mut y: Vec<f64> = order.iter().map(|&k| x[k as usize]).collect();
                substitute(SupernodalLltRef::new(nodes, &self.values), nodes.n_supernodes(), &mut y);
                for (&k, y) in order.iter().zip(&y) {
                    x[k as usize] = *y;
                }
            }
            _ => {
                let n = x.len();
                LltRef::<'_, u32, f64>::new(symbolic, &self.values).solve_in_place_with_conj(
                    Conj::No,
                    MatMut::from_column_major_slice_mut(x, n, 1),
                    Par::Seq,
                    MemStack::new(&mut self.work),
                );
            }
        }
    }
}

/// Forward and back substitution of one right-hand side, node by node: for a single column the library's way by matrix
/// products costs several times as much. What a node's columns have below it is taken together, gathered once.
fn substitute(factor: SupernodalLltRef<'_, u32, f64>, nodes: usize, y: &mut [f64]) {
    let mut below_y: Vec<f64> = Vec::new();
    for s in 0..nodes {
        let node = factor.supernode(s);
        let (start, width, below) = (node.start(), node.val().ncols(), node.pattern());
        for j in 0..width {
            let column = column(&node, j);
            let value = y[start + j] / column[j];
            y[start + j] = value;
            let own = &column[j + 1..width];
            y[start + j + 1..].iter_mut().zip(own).for_each(|(y, l)| *y -= l * value);
        }
        below_y.clear();
        below_y.resize(below.len(), 0.0);
        let mut j = 0;
        while j + 4 <= width {
            let [a, b, c, d] = [0, 1, 2, 3].map(|k| &column(&node, j + k)[width..]);
            let [p, q, r, t] = [0, 1, 2, 3].map(|k| y[start + j + k]);
            for ((((sum, a), b), c), d) in below_y.iter_mut().zip(a).zip(b).zip(c).zip(d) {
                *sum += (a * p + b * q) + (c * r + d * t);
            }
            j += 4;
        }
        for j in j..width {
            let value = y[start + j];
            below_y.iter_mut().zip(&column(&node, j)[width..]).for_each(|(sum, l)| *sum += l * value);
        }
        below.iter().zip(&below_y).for_each(|(&row, sum)| y[row as usize] -= sum);
    }
    for s in (0..nodes).rev() {
        let node = factor.supernode(s);
        let (start, width, below) = (node.start(), node.val().ncols(), node.pattern());
        below_y.clear();
        below_y.extend(below.iter().map(|&row| y[row as usize]));
        for j in (0..width).rev() {
            let column = column(&node, j);
            let of_own = product(&column[j + 1..width], &y[start + j + 1..start + width]);
            y[start + j] = (y[start + j] - of_own - product(&column[width..], &below_y)) / column[j];
        }
    }
}

/// Sum of products, in eight sums side by side.
fn product(a: &[f64], b: &[f64]) -> f64 {
    let (a, a_rest) = a.as_chunks::<8>();
    let (b, b_rest) = b.as_chunks::<8>();
    let mut sums = [0.0; 8];
    for (a, b) in a.iter().zip(b) {
        for k in 0..8 {
            sums[k] += a[k] * b[k];
        }
    }
    let rest: f64 = a_rest.iter().zip(b_rest).map(|(a, b)| a * b).sum();
    sums.iter().sum::<f64>() + rest
}

/// A column of a node, its diagonal block first.
fn column<'a>(node: &SupernodeRef<'a, u32, f64>, j: usize) -> &'a [f64] {
    node.val().col(j).try_as_col_major().map_or(&[], |column| column.as_slice())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_chain_is_solved() {
        // Two-node elements with matrix [[2, −1], [−1, 2]]: three unknowns in a row.
        let (pattern, place) = Pattern::of_elements(3, &[0, 1, 1, 2], 2).unwrap();
        let mut values = vec![0.0; pattern.entries()];
        for element in place.chunks(3) {
            for (k, v) in element.iter().zip([2.0, -1.0, 2.0]) {
                values[*k as usize] += v;
            }
        }
        let pattern = Arc::new(pattern);
        let mut factor = Factor::new(pattern.clone());
        factor.refill(&values).unwrap();
        let mut x = vec![1.0, 0.0, 3.0];
        factor.solve(&mut x);
        let mut back = vec![0.0; 3];
        pattern.multiply_add(&values, &x, &mut back);
        for (b, want) in back.iter().zip([1.0, 0.0, 3.0]) {
            assert!((b - want).abs() < 1e-14);
        }
        values[0] = -1.0;
        assert_eq!(factor.refill(&values), Err(SparseError::NotPositiveDefinite));
    }

    /// Laplace's five-point matrix on a square, large enough for nodes of several columns, against its own product.
    #[test]
    fn a_large_square_is_solved() {
        let side = 50u32;
        let mut elements = Vec::new();
        for k in 0..side * side {
            elements.extend([k, if k % side + 1 < side { k + 1 } else { NONE }]);
            elements.extend([k, if k + side < side * side { k + side } else { NONE }]);
        }
        let (pattern, place) = Pattern::of_elements((side * side) as usize, &elements, 2).unwrap();
        let pattern = Arc::new(pattern);
        assert!(pattern.n() >= SUPERNODAL_FROM);
        let mut values = vec![0.0; pattern.entries()];
        for element in place.chunks(3) {
            for (k, v) in element.iter().zip([1.1, -1.0, 1.0]) {
                if *k != NONE {
                    values[*k as usize] += v;
                }
            }
        }
        let mut factor = Factor::new(pattern.clone());
        factor.refill(&values).unwrap();
        let wanted: Vec<f64> = (0..pattern.n()).map(|k| ((k * 7919) % 101) as f64 - 50.0).collect();
        let mut x = wanted.clone();
        factor.solve(&mut x);
        let mut back = vec![0.0; x.len()];
        pattern.multiply_add(&values, &x, &mut back);
        let most = back.iter().zip(&wanted).map(|(b, w)| (b - w).abs()).fold(0.0, f64::max);
        assert!(most < 1e-10, "{most:e}");
    }
}
