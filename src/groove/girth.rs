//! The girth of the tip at the nock: length round it from the middle of the back, by polar angle.

use crate::tip::TipSolid;
use crate::tip::jet::{Jet, Scalar};
use std::f64::consts::{FRAC_PI_2, PI};

/// Places held over half the girth.
const PLACES: usize = 720;
/// Step along the girth at which curvature is held, m.
pub(super) const STEP: f64 = 0.05e-3;

/// Half the girth of the uncut tip at `a = 0`; both sides are alike. Polar angles are counted from where it starts.
#[derive(Debug, Clone, PartialEq)]
pub struct Girth {
    /// The polar angle on the tip where it starts, rad: 0 in the middle of the back, plus toward `+w`.
    pub about: f64,
    /// By polar angle in even steps: length, its slope and second derivative.
    length: Vec<[f64; 3]>,
    /// By polar angle: 1 over the cosine between radius and normal, and its slope.
    slant: Vec<[f64; 2]>,
    /// By length in even steps: curvature of the section, 1/m.
    curvature: Vec<f64>,
    /// Length to the middle of the tip's nearer side, m.
    pub side: f64,
    /// Half the girth, m.
    pub half: f64,
}

impl Girth {
    /// The girth of a tip's uncut section at the nock.
    pub fn of(solid: &TipSolid) -> Self {
        Self::about(solid, 0.0)
    }

    /// The same, starting at the polar angle `about` (rad, within a quarter turn of the back). The section has to be alike on both
    /// sides of it: any section for 0, a round one elsewhere.
    pub fn about(solid: &TipSolid, about: f64) -> Self {
        let h = PI / PLACES as f64;
        let jet = |theta: f64| solid.uncut(Jet::constant(0.0), Jet::second(about + theta));
        let rate = |j: &Jet| (j.v * j.v + j.y * j.y).sqrt();
        let (mut length, mut raw, mut sum) = (Vec::new(), Vec::new(), 0.0);
        let mut before = 0.0;
        for i in 0..=PLACES {
            let theta = h * i as f64;
            let j = jet(theta);
            if i > 0 {
                // Simpson over the step just passed.
                sum += h / 6.0 * (before + 4.0 * rate(&jet(theta - 0.5 * h)) + rate(&j));
            }
            before = rate(&j);
            length.push([sum, rate(&j), j.y * (j.v + j.yy) / rate(&j)]);
            raw.push([theta, rate(&j) / j.v, (j.v * j.v + 2.0 * j.y * j.y - j.v * j.yy) / rate(&j).powi(3)]);
        }
        // Sharp corners turn the slant over at once; a short mean keeps the cut's depth continuous there.
        let mean: Vec<f64> = (0..=PLACES)
            .map(|i| {
                let near = (-9i64..=9)
                    .map(|k| (i as i64 + k).unsigned_abs() as usize)
                    .map(|k| if k > PLACES { 2 * PLACES - k } else { k });
                near.map(|k| raw[k][1]).sum::<f64>() / 19.0
            })
            .collect();
        let slant = (0..=PLACES)
            .map(|i| {
                let (lo, hi) = (i.saturating_sub(1), (i + 1).min(PLACES));
                let slope = if i == 0 || i == PLACES { 0.0 } else { (mean[hi] - mean[lo]) / (2.0 * h) };
                [mean[i], slope]
            })
            .collect();
        let half = sum;
        let mut curvature = Vec::new();
        let mut k = 0;
        for i in 0..=(half / STEP) as usize {
            let g = STEP * i as f64;
            while k + 1 < PLACES && length[k + 1][0] < g {
                k += 1;
            }
            curvature.push(raw[k][2]);
        }
        let mut girth = Girth { about, length, slant, curvature, side: 0.0, half };
        girth.side = girth.along(FRAC_PI_2 - about.abs());
        girth
    }

    /// Length round the girth to the polar angle `theta` (0..pi), m.
    pub fn along<T: Scalar>(&self, theta: T) -> T {
        let h = PI / PLACES as f64;
        let u = (theta.value() / h).clamp(0.0, PLACES as f64);
        let i = (u as usize).min(PLACES - 1);
        let ([p, dp, ddp], [q, dq, ddq]) = (self.length[i], self.length[i + 1]);
        let [f, df, ddf] = quintic(u - i as f64, h, [p, dp, ddp], [q, dq, ddq]);
        theta.chain(f, df, ddf)
    }

    /// Polar angle at the length `g` round the girth, rad.
    pub fn angle(&self, g: f64) -> f64 {
        let g = g.clamp(0.0, self.half);
        let i = self.length.partition_point(|l| l[0] <= g).clamp(1, PLACES) - 1;
        let (a, b) = (self.length[i][0], self.length[i + 1][0]);
        let h = PI / PLACES as f64;
        let mut t = h * (i as f64 + (g - a) / (b - a));
        for _ in 0..2 {
            let j = self.along(Jet::first(t));
            t = (t - (j.v - g) / j.x).clamp(h * i as f64, h * (i + 1) as f64);
        }
        t
    }

    /// 1 over the cosine between radius and surface normal at `theta` (0..pi): turns a depth into a change of radius.
    pub fn slant<T: Scalar>(&self, theta: T) -> T {
        let h = PI / PLACES as f64;
        let u = (theta.value() / h).clamp(0.0, PLACES as f64);
        let i = (u as usize).min(PLACES - 1);
        let ([p, dp], [q, dq]) = (self.slant[i], self.slant[i + 1]);
        let (t, dp, dq) = (u - i as f64, dp * h, dq * h);
        let (c2, c3) = (3.0 * (q - p) - 2.0 * dp - dq, 2.0 * (p - q) + dp + dq);
        theta.chain(
            p + t * (dp + t * (c2 + t * c3)),
            (dp + t * (2.0 * c2 + 3.0 * t * c3)) / h,
            (2.0 * c2 + 6.0 * t * c3) / (h * h),
        )
    }

    /// Curvature of the section at `g`, 1/m.
    pub fn curvature(&self, g: f64) -> f64 {
        self.curvature.get((g.abs() / STEP).round() as usize).copied().unwrap_or(0.0)
    }

    /// Where the section's curvature lies within reach of a wall: eroded and evened over `spread` (m), so that it is nowhere above
    /// the section's own, starts and ends at zero, and never uses the belly half. By length in steps of [`STEP`].
    pub(super) fn turning(&self, spread: f64) -> Vec<f64> {
        let n = self.curvature.len();
        let w = (spread / STEP).round().max(1.0) as i64;
        let own = |i: i64| {
            let i = i.unsigned_abs() as usize;
            if i >= n || STEP * i as f64 > self.side { 0.0 } else { self.curvature[i].max(0.0) }
        };
        let last = n as i64 - 1;
        let eroded: Vec<f64> =
            (0..=last + w).map(|i| (-w..=w).map(|k| own(i + k)).fold(f64::INFINITY, f64::min)).collect();
        let kernel: Vec<f64> = (-w..=w).map(|k| (1.0 - (k as f64 / (w as f64 + 1.0)).powi(2)).powi(3)).collect();
        let total: f64 = kernel.iter().sum();
        (0..=last)
            .map(|i| {
                let sum: f64 = (-w..=w)
                    .zip(&kernel)
                    .map(|(k, v)| v * eroded[((i + k).unsigned_abs() as usize).min(eroded.len() - 1)])
                    .sum();
                sum / total
            })
            .collect()
    }

    /// How far the section has turned from the back at polar angle pi/2, rad: a right angle for every smooth convex section.
    pub fn full_turn(&self) -> f64 {
        FRAC_PI_2
    }
}

/// Value and two derivatives of the quintic through value, slope and second derivative at both ends of a step `h`, at `t` in 0..1.
pub(crate) fn quintic(t: f64, h: f64, p: [f64; 3], q: [f64; 3]) -> [f64; 3] {
    let (p1, q1) = (p[1] * h, q[1] * h);
    let (p2, q2) = (p[2] * h * h, q[2] * h * h);
    let d = q[0] - p[0];
    let c3 = 10.0 * d - 6.0 * p1 - 4.0 * q1 - 1.5 * p2 + 0.5 * q2;
    let c4 = -15.0 * d + 8.0 * p1 + 7.0 * q1 + 1.5 * p2 - q2;
    let c5 = 6.0 * d - 3.0 * (p1 + q1) - 0.5 * (p2 - q2);
    let f = p[0] + t * (p1 + t * (0.5 * p2 + t * (c3 + t * (c4 + t * c5))));
    let df = p1 + t * (p2 + t * (3.0 * c3 + t * (4.0 * c4 + t * 5.0 * c5)));
    let ddf = p2 + t * (6.0 * c3 + t * (12.0 * c4 + t * 20.0 * c5));
    [f, df / h, ddf / (h * h)]
}
