//! Symmetric matrices with a narrow band, and their factors.

/// A symmetric `n` x `n` matrix that is zero beyond `B` places from its diagonal; the lower half is kept, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Banded<const B: usize> {
    /// Row `i` holds places `(i, i - B) .. (i, i - 1)`.
    lower: Vec<[f64; B]>,
    diagonal: Vec<f64>,
}

impl<const B: usize> Banded<B> {
    /// All zeros.
    pub fn zero(n: usize) -> Self {
        Banded { lower: vec![[0.0; B]; n], diagonal: vec![0.0; n] }
    }

    /// Number of rows.
    pub fn len(&self) -> usize {
        self.diagonal.len()
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.diagonal.is_empty()
    }

    /// Adds to place `(i, j)` and so to `(j, i)`. Call it once for each pair, and with `i` and `j` at most `B` apart.
    pub fn add(&mut self, i: usize, j: usize, value: f64) {
        let (row, column) = (i.max(j), i.min(j));
        debug_assert!(row - column <= B);
        if row == column {
            self.diagonal[row] += value;
        } else {
            self.lower[row][B - (row - column)] += value;
        }
    }

    /// Empties row and column `i` and puts `diagonal` at their crossing.
    pub fn isolate(&mut self, i: usize, diagonal: f64) {
        self.lower[i] = [0.0; B];
        for k in 1..=B.min(self.len() - 1 - i) {
            self.lower[i + k][B - k] = 0.0;
        }
        self.diagonal[i] = diagonal;
    }

    /// `self + factor * other`, both with the same number of rows.
    pub fn plus(&self, factor: f64, other: &Self) -> Self {
        let mut sum = self.clone();
        for (a, b) in sum.lower.iter_mut().zip(&other.lower) {
            a.iter_mut().zip(b).for_each(|(a, b)| *a += factor * b);
        }
        sum.diagonal.iter_mut().zip(&other.diagonal).for_each(|(a, b)| *a += factor * b);
        sum
    }

    /// The matrix times `x`.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut y: Vec<f64> = self.diagonal.iter().zip(x).map(|(d, x)| d * x).collect();
        for i in 0..self.len() {
            for k in 1..=B.min(i) {
                let a = self.lower[i][B - k];
                y[i] += a * x[i - k];
                y[i - k] += a * x[i];
            }
        }
        y
    }

    /// Factors into `L D L^T` without exchanging rows. A pivot that vanishes is replaced by one of rounding size.
    pub fn factor(mut self) -> Factors<B> {
        let n = self.len();
        for i in 0..n {
            let whole = self.diagonal[i].abs();
            let mut row = self.lower[i];
            let mut pivot = self.diagonal[i];
            // row[B - k] turns from a_(i, i-k) into l_(i, i-k) d_(i-k), then into l.
            for k in (1..=B.min(i)).rev() {
                let j = i - k;
                let inner: f64 = (k + 1..=B.min(i)).map(|m| row[B - m] * self.lower[j][B + k - m]).sum();
                row[B - k] -= inner;
            }
            for k in 1..=B.min(i) {
                let l = row[B - k] / self.diagonal[i - k];
                pivot -= l * row[B - k];
                row[B - k] = l;
            }
            self.lower[i] = row;
            self.diagonal[i] = if pivot == 0.0 { f64::EPSILON * whole.max(f64::MIN_POSITIVE) } else { pivot };
        }
        Factors(self)
    }
}

/// The factors `L D L^T` of a symmetric banded matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Factors<const B: usize>(Banded<B>);

impl<const B: usize> Factors<B> {
    /// How many of the matrix's eigenvalues are below zero (Sylvester's law of inertia).
    pub fn negative(&self) -> usize {
        self.0.diagonal.iter().filter(|&&d| d < 0.0).count()
    }

    /// Solves for `x` in `matrix x = b`.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let Banded { lower, diagonal } = &self.0;
        let mut x = b.to_vec();
        for i in 0..x.len() {
            for k in 1..=B.min(i) {
                x[i] -= lower[i][B - k] * x[i - k];
            }
        }
        x.iter_mut().zip(diagonal).for_each(|(x, d)| *x /= d);
        for i in (0..x.len()).rev() {
            for k in 1..=B.min(i) {
                x[i - k] -= lower[i][B - k] * x[i];
            }
        }
        x
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The string of beads: 2 on the diagonal, -1 beside it; eigenvalues 2 - 2 cos(k pi/(n + 1)).
    fn beads(n: usize, shift: f64) -> Banded<3> {
        let mut a = Banded::zero(n);
        for i in 0..n {
            a.add(i, i, 2.0 - shift);
            if i > 0 {
                a.add(i - 1, i, -1.0);
            }
        }
        a
    }

    #[test]
    fn counts_the_eigenvalues_below_a_shift() {
        let n = 30;
        for below in 0..=n {
            let at = |k: usize| 2.0 - 2.0 * (k as f64 * std::f64::consts::PI / (n + 1) as f64).cos();
            let shift = 0.5 * (at(below) + at(below + 1));
            assert_eq!(beads(n, shift).factor().negative(), below);
        }
    }

    #[test]
    fn solves_what_it_multiplies() {
        let n = 40;
        let mut a: Banded<4> = Banded::zero(n);
        for i in 0..n {
            for k in 0..=4.min(i) {
                a.add(i, i - k, ((i * 7 + k * 13) % 11) as f64 / 11.0 + if k == 0 { 3.0 } else { -0.4 });
            }
        }
        let x: Vec<f64> = (0..n).map(|i| (i as f64 * 0.7).sin()).collect();
        let back = a.clone().factor().solve(&a.times(&x));
        for (a, b) in x.iter().zip(back) {
            assert!((a - b).abs() < 1e-11, "{a} {b}");
        }
    }

    #[test]
    fn isolated_rows_stand_alone() {
        let mut a = beads(6, 0.0);
        a.isolate(2, 5.0);
        let y = a.times(&[1.0, 1.0, 1.0, 1.0, 1.0, 1.0]);
        assert_eq!(y, [1.0, 1.0, 5.0, 1.0, 0.0, 1.0]);
        assert_eq!(a.plus(1.0, &a).times(&[0.0, 0.0, 1.0, 0.0, 0.0, 0.0]), [0.0, 0.0, 10.0, 0.0, 0.0, 0.0]);
    }
}
