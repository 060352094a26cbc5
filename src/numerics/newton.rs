//! Newton's method for a handful of equations.

/// Residuals of `N` equations and their derivatives `jacobian[equation][unknown]`.
pub struct Equations<const N: usize> {
    /// Residuals, scaled so that 1 is large and 1e-12 is nothing.
    pub residual: [f64; N],
    /// Derivatives.
    pub jacobian: [[f64; N]; N],
}

/// Solves `N` equations from a starting point, halving steps that do not lessen the residual.
///
/// `equations` may answer `None` where they have no meaning; such a step is shortened.
/// Returns the solution once every residual is below `1e-11` (it goes on to rounding when it can), or `None` after
/// 40 steps, so that it always ends.
pub fn solve<const N: usize>(
    start: [f64; N],
    mut equations: impl FnMut(&[f64; N]) -> Option<Equations<N>>,
) -> Option<[f64; N]> {
    let largest = |r: &[f64; N]| r.iter().fold(0.0_f64, |m, v| if v.is_nan() { f64::INFINITY } else { m.max(v.abs()) });
    let mut x = start;
    let mut here = equations(&x)?;
    let mut size = largest(&here.residual);
    for _ in 0..40 {
        if size < 1e-14 {
            return Some(x);
        }
        let step = linear(here.jacobian, here.residual)?;
        let mut part = 1.0;
        let better = loop {
            let mut trial = x;
            for i in 0..N {
                trial[i] -= part * step[i];
            }
            if let Some(there) = equations(&trial) {
                let next = largest(&there.residual);
                if next < size {
                    break Some((trial, there, next));
                }
            }
            part *= 0.5;
            if part < 1e-4 {
                break None;
            }
        };
        match better {
            Some((trial, there, next)) => {
                // Below 1e-12 Newton only polishes rounding; stop when it no longer gains.
                let done = next < 1e-12 && next > 0.1 * size;
                (x, here, size) = (trial, there, next);
                if done {
                    return Some(x);
                }
            }
            None => break,
        }
    }
    (size < 1e-11).then_some(x)
}

/// Solves `matrix * x = right` by elimination with row pivoting; `None` when the matrix is singular.
pub fn linear<const N: usize>(mut matrix: [[f64; N]; N], mut right: [f64; N]) -> Option<[f64; N]> {
    for k in 0..N {
        let pivot = (k..N).max_by(|&i, &j| matrix[i][k].abs().total_cmp(&matrix[j][k].abs()))?;
        if matrix[pivot][k] == 0.0 || !matrix[pivot][k].is_finite() {
            return None;
        }
        matrix.swap(k, pivot);
        right.swap(k, pivot);
        for i in k + 1..N {
            let factor = matrix[i][k] / matrix[k][k];
            if factor != 0.0 {
                for j in k..N {
                    matrix[i][j] -= factor * matrix[k][j];
                }
                right[i] -= factor * right[k];
            }
        }
    }
    for k in (0..N).rev() {
        for j in k + 1..N {
            right[k] -= matrix[k][j] * right[j];
        }
        right[k] /= matrix[k][k];
    }
    Some(right)
}
