//! Symmetric positive definite systems of any size, full.

/// The lower factor `L` of `L L^T`, rows one after another.
#[derive(Debug, Clone, PartialEq)]
pub struct Cholesky {
    rows: Vec<Vec<f64>>,
}

impl Cholesky {
    /// Factors a symmetric matrix (its lower half is read). None when it is not positive definite to rounding.
    pub fn of(matrix: &[Vec<f64>]) -> Option<Self> {
        let n = matrix.len();
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(n);
        for i in 0..n {
            let mut row = matrix[i][..=i].to_vec();
            for j in 0..=i {
                let inner: f64 = if j == i {
                    row[..j].iter().map(|a| a * a).sum()
                } else {
                    row[..j].iter().zip(&rows[j]).map(|(a, b)| a * b).sum()
                };
                let left = row[j] - inner;
                row[j] = if j < i {
                    left / rows[j][j]
                } else if left > 1e-14 * matrix[i][i].abs() {
                    left.sqrt()
                } else {
                    return None;
                };
            }
            rows.push(row);
        }
        Some(Cholesky { rows })
    }

    /// Solves for `x` in `matrix x = b`.
    pub fn solve(&self, b: &[f64]) -> Vec<f64> {
        let mut x = b.to_vec();
        for (i, row) in self.rows.iter().enumerate() {
            let inner: f64 = row[..i].iter().zip(&x).map(|(a, b)| a * b).sum();
            x[i] = (x[i] - inner) / row[i];
        }
        for (i, row) in self.rows.iter().enumerate().rev() {
            x[i] /= row[i];
            let done = x[i];
            x[..i].iter_mut().zip(row).for_each(|(x, a)| *x -= a * done);
        }
        x
    }

    /// The inverse matrix.
    pub fn inverse(&self) -> Vec<Vec<f64>> {
        let n = self.rows.len();
        (0..n).map(|i| self.solve(&(0..n).map(|j| f64::from(u8::from(i == j))).collect::<Vec<_>>())).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hilbert_by_its_known_inverse() {
        // Hilbert's matrix of order 3; its inverse is [[9, -36, 30], [-36, 192, -180], [30, -180, 180]].
        let hilbert: Vec<Vec<f64>> = (0..3).map(|i| (0..3).map(|j| 1.0 / (i + j + 1) as f64).collect()).collect();
        let inverse = Cholesky::of(&hilbert).expect("positive definite").inverse();
        for (row, want) in inverse.iter().zip([[9.0, -36.0, 30.0], [-36.0, 192.0, -180.0], [30.0, -180.0, 180.0]]) {
            assert!(row.iter().zip(want).all(|(a, b)| (a - b).abs() < 1e-10), "{row:?}");
        }
        assert_eq!(Cholesky::of(&[vec![1.0, 2.0], vec![2.0, 1.0]]), None);
        assert_eq!(Cholesky::of(&[vec![1.0, 1.0], vec![1.0, 1.0]]), None);
    }
}
