//! A fair curve through points that never overshoots them.

/// Monotone piecewise cubic through `(x, y)`: continuous slope, no overshoot between points, straight beyond the ends.
///
/// Between two points it is the straight line. Method: F. N. Fritsch and J. Butland, "A method for constructing local
/// monotone piecewise cubic interpolants", SIAM J. Sci. Stat. Comput. 5 (1984): slopes are weighted harmonic means of the
/// neighbouring secants, zero where they change sign; end slopes are those of the end secants.
#[derive(Debug, Clone, PartialEq)]
pub struct Monotone {
    x: Vec<f64>,
    y: Vec<f64>,
    slope: Vec<f64>,
}

impl Monotone {
    /// Through at least one point; `x` rises strictly.
    pub fn through(points: impl IntoIterator<Item = (f64, f64)>) -> Self {
        let (x, y): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        debug_assert!(!x.is_empty() && x.windows(2).all(|w| w[0] < w[1]));
        let n = x.len();
        let secant: Vec<f64> = (1..n).map(|i| (y[i] - y[i - 1]) / (x[i] - x[i - 1])).collect();
        let slope = (0..n)
            .map(|i| match (i.checked_sub(1).and_then(|k| secant.get(k)), secant.get(i)) {
                (Some(&left), Some(&right)) if left * right > 0.0 => {
                    let (before, after) = (x[i] - x[i - 1], x[i + 1] - x[i]);
                    let (w1, w2) = (2.0 * after + before, after + 2.0 * before);
                    (w1 + w2) / (w1 / left + w2 / right)
                }
                (Some(_), Some(_)) | (None, None) => 0.0,
                (Some(&only), None) | (None, Some(&only)) => only,
            })
            .collect();
        Monotone { x, y, slope }
    }

    /// The points' places, rising.
    pub fn knots(&self) -> &[f64] {
        &self.x
    }

    /// Value at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.value_and_slope(x).0
    }

    /// Value and slope at `x`.
    pub fn value_and_slope(&self, x: f64) -> (f64, f64) {
        let last = self.x.len() - 1;
        if x <= self.x[0] || last == 0 {
            return (self.y[0] + self.slope[0] * (x - self.x[0]), self.slope[0]);
        }
        if x >= self.x[last] {
            return (self.y[last] + self.slope[last] * (x - self.x[last]), self.slope[last]);
        }
        let i = self.x.partition_point(|&k| k <= x) - 1;
        let h = self.x[i + 1] - self.x[i];
        let t = (x - self.x[i]) / h;
        let (y0, y1, m0, m1) = (self.y[i], self.y[i + 1], self.slope[i] * h, self.slope[i + 1] * h);
        // Cubic Hermite form.
        let c2 = 3.0 * (y1 - y0) - 2.0 * m0 - m1;
        let c3 = 2.0 * (y0 - y1) + m0 + m1;
        (y0 + t * (m0 + t * (c2 + t * c3)), (m0 + t * (2.0 * c2 + 3.0 * t * c3)) / h)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_points_give_the_straight_line_also_beyond_the_ends() {
        let line = Monotone::through([(0.0, 1.0), (2.0, 5.0)]);
        for x in [-1.0, 0.0, 0.7, 2.0, 3.0] {
            assert!((line.at(x) - (1.0 + 2.0 * x)).abs() < 1e-14);
        }
    }

    #[test]
    fn never_leaves_the_range_of_neighbouring_points() {
        let points = [(0.0, 10.0), (1.0, 9.9), (1.2, 4.0), (3.0, 4.0), (4.0, 6.0)];
        let curve = Monotone::through(points);
        for pair in points.windows(2) {
            for k in 0..=50 {
                let x = pair[0].0 + (pair[1].0 - pair[0].0) * k as f64 / 50.0;
                let (low, high) = (pair[0].1.min(pair[1].1), pair[0].1.max(pair[1].1));
                assert!((low - 1e-12..=high + 1e-12).contains(&curve.at(x)), "{x}");
            }
        }
    }
}
