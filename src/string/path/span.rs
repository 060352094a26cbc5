//! A taut string between two fixed places on the tip: the shortest way, without friction.

use super::chain::Unrest;
use super::rolled::Ring;
use crate::tip::TipSolid;

/// A place on the rolled surface: `a` (m) and polar angle (rad).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Along the limb, m.
    pub a: f64,
    /// Polar angle, rad; more than a turn apart is more than once round.
    pub theta: f64,
}

/// Most Newton steps.
const MOST: usize = 300;

/// The string's centreline (a, w, b), m, between two places at different polar angles, for a string of radius `r` (m), in `pieces`
/// straight pieces. The string lies on the tip all along; bridging is the loop's affair.
pub fn taut_between(solid: &TipSolid, r: f64, from: Place, to: Place, pieces: usize) -> Result<Vec<[f64; 3]>, Unrest> {
    let n = pieces.max(2);
    let mix = |p: f64, q: f64, i: usize| p + (q - p) * i as f64 / n as f64;
    let (low, high) = (from.a.min(to.a) - 0.05, from.a.max(to.a) + 0.05);
    let thetas: Vec<f64> = (0..=n).map(|i| mix(from.theta, to.theta, i)).collect();
    let mut rings: Vec<Ring> = thetas.iter().map(|t| Ring::new(solid, r, *t, low, high.min(solid.end + r))).collect();
    let mut a: Vec<f64> = (0..=n).map(|i| mix(from.a, to.a, i)).collect();
    let cos: Vec<f64> = thetas.windows(2).map(|t| (t[1] - t[0]).cos()).collect();
    for step in 0..MOST {
        let under: Vec<[f64; 3]> = rings.iter_mut().zip(&a).map(|(ring, a)| ring.at(solid, r, *a)).collect();
        // Length of each piece, its slopes and second derivatives in the two ends' a: l^2 = da^2 + p^2 + q^2 - 2 p q cos.
        let (mut g, mut d, mut e) = (vec![0.0; n + 1], vec![0.0; n + 1], vec![0.0; n]);
        for i in 0..n {
            let ([p, dp, ddp], [q, dq, ddq]) = (under[i], under[i + 1]);
            let (da, c) = (a[i + 1] - a[i], cos[i]);
            let l = (da * da + p * p + q * q - 2.0 * p * q * c).sqrt().max(1e-12);
            let (u, v) = (-da + dp * (p - q * c), da + dq * (q - p * c));
            g[i] += u / l;
            g[i + 1] += v / l;
            d[i] += (1.0 + dp * dp + ddp * (p - q * c)) / l - u * u / (l * l * l);
            d[i + 1] += (1.0 + dq * dq + ddq * (q - p * c)) / l - v * v / (l * l * l);
            e[i] = (-1.0 - dp * dq * c) / l - u * v / (l * l * l);
        }
        let worst = g[1..n].iter().map(|v| v.abs()).fold(0.0, f64::max);
        if worst < 1e-12 {
            return Ok(a
                .iter()
                .zip(&under)
                .zip(&thetas)
                .map(|((a, u), t)| [*a, u[0] * t.sin(), u[0] * t.cos()])
                .collect());
        }
        // Thomas' elimination over the inner points.
        let (mut s, mut b) = (d.clone(), g.iter().map(|v| -v).collect::<Vec<f64>>());
        for i in 2..n {
            let f = e[i - 1] / s[i - 1];
            s[i] -= f * e[i - 1];
            b[i] -= f * b[i - 1];
        }
        for i in (1..n).rev() {
            let next = if i + 1 < n { e[i] * b[i + 1] } else { 0.0 };
            b[i] = (b[i] - next) / s[i];
        }
        let far = b[1..n].iter().map(|v| v.abs()).fold(0.0, f64::max);
        if !far.is_finite() {
            return Err(Unrest::Unsettled(step));
        }
        let scale = (1e-3 / far).min(1.0);
        for i in 1..n {
            a[i] += scale * b[i];
        }
        if far < 1e-13 {
            // As near as numbers go.
            return Ok(a
                .iter()
                .zip(&under)
                .zip(&thetas)
                .map(|((a, u), t)| [*a, u[0] * t.sin(), u[0] * t.cos()])
                .collect());
        }
    }
    Err(Unrest::Unsettled(MOST))
}
