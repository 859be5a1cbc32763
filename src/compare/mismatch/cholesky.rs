//! Symmetric positive definite systems of a dozen unknowns: A = L Lᵀ and what follows.
//!
//! Textbook factorisation (Golub & Van Loan, Matrix Computations, section 4.2, from
//! memory), row by row, dense. Not for large or sparse matrices. A matrix that is not
//! positive definite to working precision is refused, never repaired.

/// A pivot below this share of its own diagonal element counts as zero: the unknown is a
/// combination of those before it, up to rounding.
const LEAST_PIVOT_SHARE: f64 = 1e-12;

/// The lower factor L of a symmetric positive definite matrix.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Cholesky {
    /// Rows of L; row i has i + 1 elements.
    rows: Vec<Vec<f64>>,
}

impl Cholesky {
    /// Factor of the matrix with these rows, of which only the lower triangle is read;
    /// `None` when it is ragged, not finite or not positive definite.
    pub(super) fn of(matrix: &[Vec<f64>]) -> Option<Cholesky> {
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(matrix.len());
        for (i, source) in matrix.iter().enumerate() {
            let mut row: Vec<f64> = Vec::with_capacity(i + 1);
            for (done, &element) in rows.iter().zip(source) {
                let (&pivot, before) = done.split_last()?;
                row.push((element - dot(before, &row)) / pivot);
            }
            let diagonal = *source.get(i)?;
            let pivot = diagonal - dot(&row, &row);
            if !(pivot.is_finite() && pivot > LEAST_PIVOT_SHARE * diagonal) {
                return None;
            }
            row.push(pivot.sqrt());
            rows.push(row);
        }
        Some(Cholesky { rows })
    }

    /// ln det A.
    pub(super) fn log_determinant(&self) -> f64 {
        let pivots = self.rows.iter().filter_map(|row| row.last());
        2.0 * pivots.map(|pivot| pivot.ln()).sum::<f64>()
    }

    /// L⁻¹ b; elements of `b` beyond the matrix are not read.
    pub(super) fn forward(&self, b: &[f64]) -> Vec<f64> {
        let mut x: Vec<f64> = Vec::with_capacity(self.rows.len());
        for (row, &element) in self.rows.iter().zip(b) {
            if let Some((&pivot, before)) = row.split_last() {
                x.push((element - dot(before, &x)) / pivot);
            }
        }
        x
    }

    /// L⁻ᵀ b. With standard normal `b` the result has covariance A⁻¹.
    pub(super) fn backward(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        x.truncate(self.rows.len());
        for i in (0..x.len()).rev() {
            let Some((&pivot, before)) = self.rows.get(i).and_then(|row| row.split_last()) else {
                continue;
            };
            let (head, tail) = x.split_at_mut(i);
            let Some(own) = tail.first_mut() else {
                continue;
            };
            *own /= pivot;
            for (element, &factor) in head.iter_mut().zip(before) {
                *element -= factor * *own;
            }
        }
        x
    }

    /// A⁻¹ b.
    pub(super) fn solve(&self, b: &[f64]) -> Vec<f64> {
        self.backward(&self.forward(b))
    }

    /// The factor of the Schur complement of the first `skip` unknowns: with A a
    /// precision matrix, the marginal precision of the others.
    pub(super) fn tail(&self, skip: usize) -> Cholesky {
        let rows = self.rows.iter().skip(skip);
        Cholesky {
            rows: rows
                .map(|row| row.iter().skip(skip).copied().collect())
                .collect(),
        }
    }

    /// A⁻¹, by columns.
    pub(super) fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.rows.len();
        (0..n)
            .map(|i| {
                self.solve(
                    &(0..n)
                        .map(|j| f64::from(u8::from(i == j)))
                        .collect::<Vec<_>>(),
                )
            })
            .collect()
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stats::reference::assert_close;

    /// The Hilbert matrix plus `ridge` on the diagonal.
    fn hilbert(n: usize, ridge: f64) -> Vec<Vec<f64>> {
        (0..n)
            .map(|i| {
                (0..n)
                    .map(|j| 1.0 / (i + j + 1) as f64 + if i == j { ridge } else { 0.0 })
                    .collect()
            })
            .collect()
    }

    #[test]
    fn a_small_system_solved_by_hand() {
        // [4 2; 2 3] x = [2; 5]: determinant 8, x = ((6 − 10)/8, (20 − 4)/8).
        let factor = Cholesky::of(&[vec![4.0, 2.0], vec![2.0, 3.0]]).unwrap();
        let x = factor.solve(&[2.0, 5.0]);
        assert_close(x[0], -0.5, 1e-15, "x0");
        assert_close(x[1], 2.0, 1e-15, "x1");
        assert_close(factor.log_determinant(), 8.0_f64.ln(), 1e-15, "ln det");
    }

    #[test]
    fn the_inverse_of_the_hilbert_matrix_has_known_integers() {
        // Corner elements n² of the inverse, textbook result; n = 5: 25, and 44100 last.
        let inverse = Cholesky::of(&hilbert(5, 0.0)).unwrap().inverse();
        assert_close(inverse[0][0], 25.0, 1e-9, "first");
        assert_close(inverse[4][4], 44_100.0, 1e-9, "last");
        assert_close(inverse[2][1], -18_900.0, 1e-9, "off the diagonal");
    }

    #[test]
    fn twelve_unknowns_come_back() {
        let matrix = hilbert(12, 1e-3);
        let x: Vec<f64> = (0..12).map(|i| f64::from(i) - 4.5).collect();
        let b: Vec<f64> = matrix.iter().map(|row| dot(row, &x)).collect();
        let found = Cholesky::of(&matrix).unwrap().solve(&b);
        for (f, e) in found.iter().zip(&x) {
            assert_close(*f, *e, 1e-10, "solution");
        }
    }

    #[test]
    fn the_tail_is_the_marginal_precision() {
        let factor = Cholesky::of(&hilbert(6, 0.1)).unwrap();
        let (whole, tail) = (factor.inverse(), factor.tail(2).inverse());
        for i in 0..4 {
            for j in 0..4 {
                assert_close(tail[i][j], whole[i + 2][j + 2], 1e-11, "covariance");
            }
        }
    }

    #[test]
    fn what_is_not_positive_definite_is_refused() {
        assert_eq!(Cholesky::of(&[vec![1.0, 1.0], vec![1.0, 1.0]]), None);
        assert_eq!(Cholesky::of(&[vec![-1.0]]), None);
        assert_eq!(Cholesky::of(&[vec![0.0]]), None);
        assert_eq!(Cholesky::of(&[vec![f64::NAN]]), None);
        assert_eq!(Cholesky::of(&[vec![f64::INFINITY]]), None);
        assert_eq!(Cholesky::of(&[vec![]]), None);
        assert!(Cholesky::of(&[]).is_some_and(|none| none.solve(&[]).is_empty()));
    }
}
