//! The limb at any place between its nodes, and what a string lying there asks of it.

use super::Recurved;

/// The limb at one place.
#[derive(Clone, Copy)]
pub(super) struct Place {
    pub stiffness: f64,
    pub rest: f64,
    /// From the centreline to the lying string's, and its slope along the limb.
    pub off: f64,
    pub slope: f64,
}

impl Place {
    /// Curvature under a lying string of pull `T`, and its derivative by the pull.
    pub fn lain(&self, pull: f64) -> (f64, f64) {
        let (d, slope) = (self.off, self.slope);
        let mut k = self.rest + pull * d / self.stiffness;
        // EI (kappa - kappa0) = T d g/|p'|: nearly linear, for |p'| differs from g by the square of the belly's slope.
        for _ in 0..20 {
            let g = 1.0 - k * d;
            let long = g.hypot(slope);
            let over = self.stiffness * (k - self.rest) - pull * d * g / long;
            let by = self.stiffness + pull * d * d * slope * slope / long.powi(3);
            let step = over / by;
            k -= step;
            if step.abs() <= 1e-15 * k.abs().max(1.0) {
                break;
            }
        }
        let g = 1.0 - k * d;
        let long = g.hypot(slope);
        (k, d * g / long / (self.stiffness + pull * d * d * slope * slope / long.powi(3)))
    }

    /// `|p'|` at a curvature.
    pub fn stretch(&self, k: f64) -> f64 {
        (1.0 - k * self.off).hypot(self.slope)
    }

    /// Angle from the limb's tangent to `p'`, and its derivative by curvature.
    pub fn lean(&self, k: f64) -> (f64, f64) {
        let g = 1.0 - k * self.off;
        (self.slope.atan2(g), self.off * self.slope / (g * g + self.slope * self.slope))
    }
}

impl Recurved<'_> {
    pub(super) fn place(&self, s: f64) -> Place {
        let n = self.limb.steps();
        let k = self.limb.s.partition_point(|&k| k <= s).saturating_sub(1) / 2;
        self.place_in(k.min(n - 1), s)
    }

    /// The limb at a place of a step: stiffness and curvature by the parabola through its three points, the belly by
    /// cubics whose slopes are those of the parabolas through three neighbours, so that it has no corners.
    pub(super) fn place_in(&self, step: usize, s: f64) -> Place {
        let (limb, i) = (self.limb, 2 * step);
        let u = (s - limb.s[i]) / (limb.s[i + 2] - limb.s[i]);
        let weights = [(1.0 - u) * (1.0 - 2.0 * u), 4.0 * u * (1.0 - u), u * (2.0 * u - 1.0)];
        let parabola = |v: &[f64]| weights[0] * v[i] + weights[1] * v[i + 1] + weights[2] * v[i + 2];
        let j = if u < 0.5 { i } else { i + 1 };
        let h = limb.s[j + 1] - limb.s[j];
        let t = (s - limb.s[j]) / h;
        let (p, q) = (limb.belly[j], limb.belly[j + 1]);
        let (dp, dq) = (h * self.belly_slope(j), h * self.belly_slope(j + 1));
        let (c2, c3) = (3.0 * (q - p) - 2.0 * dp - dq, 2.0 * (p - q) + dp + dq);
        Place {
            stiffness: parabola(&limb.stiffness),
            rest: parabola(&limb.curvature),
            off: p + t * (dp + t * (c2 + t * c3)) + self.over,
            slope: (dp + t * (2.0 * c2 + 3.0 * t * c3)) / h,
        }
    }

    fn belly_slope(&self, i: usize) -> f64 {
        let (s, b) = (&self.limb.s, &self.limb.belly);
        let last = s.len() - 1;
        let rise = |j: usize| (b[j + 1] - b[j]) / (s[j + 1] - s[j]);
        if i == 0 {
            rise(0)
        } else if i == last {
            rise(last - 1)
        } else {
            let (before, after) = (s[i] - s[i - 1], s[i + 1] - s[i]);
            (rise(i - 1) * after + rise(i) * before) / (before + after)
        }
    }
}
