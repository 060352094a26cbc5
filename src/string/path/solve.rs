//! A chain of 2 x 2 blocks, factored from one end to the other, and its border.

/// Columns solved for at once: the gradient, the throat's three couplings, and the length's slope.
pub(super) const COLUMNS: usize = 5;
pub(super) type Column = [[f64; COLUMNS]; 2];

/// A symmetric block-tridiagonal matrix.
#[derive(Debug, Clone, Default)]
pub(super) struct Chain {
    /// Diagonal blocks: xx, xy, yy.
    pub diagonal: Vec<[f64; 3]>,
    /// Block between a place and the next: rows here, columns there.
    pub next: Vec<[f64; 4]>,
    inverse: Vec<[f64; 3]>,
}

impl Chain {
    /// Clears to `n` places.
    pub fn reset(&mut self, n: usize) {
        self.diagonal.clear();
        self.diagonal.resize(n, [0.0; 3]);
        self.next.clear();
        self.next.resize(n.saturating_sub(1), [0.0; 4]);
    }

    /// Factors the matrix with `shift` added on its diagonal; the number of negative pivots, or none where one vanishes.
    pub fn factor(&mut self, shift: f64) -> Option<usize> {
        self.inverse.clear();
        let mut negative = 0;
        let mut back: Option<([f64; 3], [f64; 4])> = None;
        for (i, d) in self.diagonal.iter().enumerate() {
            let mut s = [d[0] + shift, d[1], d[2] + shift];
            if let Some((v, e)) = back {
                // s - e^T v e
                let col = |j: usize| (v[0] * e[j] + v[1] * e[2 + j], v[1] * e[j] + v[2] * e[2 + j]);
                let (c0, c1) = (col(0), col(1));
                s[0] -= e[0] * c0.0 + e[2] * c0.1;
                s[1] -= e[0] * c1.0 + e[2] * c1.1;
                s[2] -= e[1] * c1.0 + e[3] * c1.1;
            }
            let det = s[0] * s[2] - s[1] * s[1];
            if !det.is_finite() || det.abs() < 1e-12 * (s[0] * s[2]).abs().max(s[1] * s[1]).max(1e-12) {
                return None;
            }
            negative += if det < 0.0 {
                1
            } else if s[0] + s[2] < 0.0 {
                2
            } else {
                0
            };
            let inv = [s[2] / det, -s[1] / det, s[0] / det];
            self.inverse.push(inv);
            back = self.next.get(i).map(|e| (inv, *e));
        }
        Some(negative)
    }

    /// Solves in place for all columns, after [`Chain::factor`].
    pub fn solve(&self, b: &mut [Column]) {
        let n = b.len();
        for i in 1..n {
            let (v, e) = (self.inverse[i - 1], self.next[i - 1]);
            for c in 0..COLUMNS {
                let (x, y) = (b[i - 1][0][c], b[i - 1][1][c]);
                let (p, q) = (v[0] * x + v[1] * y, v[1] * x + v[2] * y);
                b[i][0][c] -= e[0] * p + e[2] * q;
                b[i][1][c] -= e[1] * p + e[3] * q;
            }
        }
        for i in (0..n).rev() {
            let v = self.inverse[i];
            for c in 0..COLUMNS {
                let (mut x, mut y) = (b[i][0][c], b[i][1][c]);
                if i + 1 < n {
                    let e = self.next[i];
                    x -= e[0] * b[i + 1][0][c] + e[1] * b[i + 1][1][c];
                    y -= e[2] * b[i + 1][0][c] + e[3] * b[i + 1][1][c];
                }
                b[i][0][c] = v[0] * x + v[1] * y;
                b[i][1][c] = v[1] * x + v[2] * y;
            }
        }
    }
}

/// Solves a symmetric 4 x 4 system by elimination in order; the solution and the number of negative pivots.
pub(super) fn border(mut m: [[f64; 4]; 4], mut b: [f64; 4]) -> Option<([f64; 4], usize)> {
    let mut negative = 0;
    for i in 0..4 {
        let p = m[i][i];
        if !p.is_finite() || p.abs() < 1e-14 {
            return None;
        }
        negative += usize::from(p < 0.0);
        for r in i + 1..4 {
            let f = m[r][i] / p;
            for c in i..4 {
                m[r][c] -= f * m[i][c];
            }
            b[r] -= f * b[i];
        }
    }
    for i in (0..4).rev() {
        for c in i + 1..4 {
            b[i] -= m[i][c] * b[c];
        }
        b[i] /= m[i][i];
    }
    Some((b, negative))
}
