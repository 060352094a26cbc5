//! The surface that the string's centreline lies on: where the middle of a ball goes that rolls over the tip.
//!
//! At (`a`, `theta`) a ball of radius `r` that touches the solid's surface at (`a'`, `theta'`) with radius `R'` has its middle at
//!
//! ```text
//! F = R' cos p + sqrt(r^2 - (a - a')^2 - R'^2 sin^2 p)      p = theta' - theta
//! ```
//!
//! and the greatest `F` over the surface is where it really rests.

mod bound;
mod ring;

use crate::tip::TipSolid;
use crate::tip::jet::{Jet, Scalar};
pub use bound::Bound;
pub use ring::Ring;

/// Length of the table's undivided cells, m.
const CELL: f64 = 6.4e-3;

/// Radius of the rolled surface and its derivatives in `a` and `theta`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rolling {
    /// Radius with derivatives; first variable `a`, second `theta`.
    pub radius: Jet,
    /// Where the ball touches: (`a`, `theta`).
    pub touch: [f64; 2],
}

/// `F` and its derivatives: in the touch point (q), in the ball's place (p), and mixed.
struct Lift {
    f: f64,
    q: [f64; 2],
    qq: [f64; 3],
    p: [f64; 2],
    pp: [f64; 3],
    /// a a', a theta', theta a', theta theta'.
    pq: [f64; 4],
}

fn lift(r: f64, u: f64, phi: f64, s: &Jet) -> Option<Lift> {
    let (sin, cos) = phi.sin_cos();
    let radius = s.v;
    let q = r * r - u * u - (radius * sin).powi(2);
    if q <= 1e-10 * r * r || cos <= 0.0 || radius < 1e-5 {
        return None;
    }
    let root = q.sqrt();
    // First and second derivatives of sqrt(q) in u, phi, R.
    let dq = [-2.0 * u, -2.0 * radius * radius * sin * cos, -2.0 * radius * sin * sin];
    let first = dq.map(|d| d / (2.0 * root));
    let second = |qij: f64, i: usize, j: usize| qij / (2.0 * root) - dq[i] * dq[j] / (4.0 * root * q);
    let uu = second(-2.0, 0, 0);
    let up = second(0.0, 0, 1);
    let ur = second(0.0, 0, 2);
    let pp = second(-2.0 * radius * radius * (cos * cos - sin * sin), 1, 1) - radius * cos;
    let pr = second(-4.0 * radius * sin * cos, 1, 2) - sin;
    let rr = second(-2.0 * sin * sin, 2, 2);
    let (gu, gp, gr) = (first[0], first[1] - radius * sin, first[2] + cos);
    Some(Lift {
        f: radius * cos + root,
        q: [-gu + gr * s.x, gp + gr * s.y],
        qq: [
            uu - 2.0 * ur * s.x + rr * s.x * s.x + gr * s.xx,
            -up - ur * s.y + pr * s.x + rr * s.x * s.y + gr * s.xy,
            pp + 2.0 * pr * s.y + rr * s.y * s.y + gr * s.yy,
        ],
        p: [gu, -gp],
        pp: [uu, -up, pp],
        pq: [-uu + ur * s.x, up + ur * s.y, up - pr * s.x, -pp - pr * s.y],
    })
}

/// Samples across and along that the search for the touch point starts from, each way.
const NA: i32 = 6;
const NT: i32 = 4;
const ACROSS: usize = (2 * NT + 1) as usize;
const ALONG: usize = (2 * NA + 1) as usize;

/// `F` for a surface radius `radius` at (`u`, `phi`) from the ball's place.
fn height(r: f64, u: f64, (sin, cos): (f64, f64), radius: f64) -> f64 {
    let q = r * r - u * u - (radius * sin).powi(2);
    if q <= 0.0 || radius < 1e-5 { f64::NEG_INFINITY } else { radius * cos + q.sqrt() }
}

/// Rolls a ball of radius `r` (m) over `solid` to (`a`, `theta`); none where it meets nothing.
pub fn roll(solid: &TipSolid, r: f64, a: f64, theta: f64) -> Option<Rolling> {
    let here: f64 = solid.radius(a.min(solid.end - 0.02 * solid.rounding), theta);
    let wide = (0.97 * r / here.max(r)).asin();
    let mut samples = [Sample::default(); ALONG * ACROSS];
    for (n, s) in samples.iter_mut().enumerate() {
        let (i, k) = (n / ACROSS, n % ACROSS);
        s.a = a + 0.98 * r * (i as f64 / f64::from(NA) - 1.0);
        let phi = wide * (k as f64 / f64::from(NT) - 1.0);
        s.theta = theta + phi;
        s.height = height(r, a - s.a, phi.sin_cos(), solid.radius(s.a, s.theta));
    }
    best_of(solid, r, a, theta, here, &samples, None)
}

/// A place where the ball might touch.
#[derive(Debug, Clone, Copy, Default)]
struct Sample {
    height: f64,
    a: f64,
    theta: f64,
}

/// The highest rest that can be reached from the samples; `size` is the surface's radius thereabouts, `guess` a place nearby knots
/// make likely.
fn best_of(
    solid: &TipSolid,
    r: f64,
    a: f64,
    theta: f64,
    size: f64,
    samples: &[Sample],
    guess: Option<[f64; 2]>,
) -> Option<Rolling> {
    let none = Sample { height: f64::NEG_INFINITY, a, theta };
    let higher = |m: Sample, s: &Sample| if s.height > m.height { *s } else { m };
    let best = samples.iter().fold(none, higher);
    if best.height == f64::NEG_INFINITY {
        return None;
    }
    let guessed = guess.map(|[x, t]| {
        let radius = solid.radius(x, t);
        Sample { height: height(r, a - x, (t - theta).sin_cos(), radius), a: x, theta: t }
    });
    let start = guessed.filter(|g| g.height > best.height).unwrap_or(best);
    let first = climb(solid, r, a, theta, start);
    // A second candidate away from the first: in a groove the ball may rest on either side.
    let apart = |s: &&Sample| ((s.a - best.a) / r).powi(2) + ((s.theta - best.theta) * size / r).powi(2) > 0.2;
    let other = samples.iter().filter(apart).fold(none, higher);
    if other.height > best.height - 0.06 * r {
        let second = climb(solid, r, a, theta, other);
        if second.radius.v > first.radius.v {
            return Some(second);
        }
    }
    Some(first)
}

/// From a sample to the nearest top of `F`.
fn climb(solid: &TipSolid, r: f64, a: f64, theta: f64, from: Sample) -> Rolling {
    let (mut x, mut t) = (from.a, from.theta);
    let eval = |x: f64, t: f64| {
        let s = solid.radius(Jet::first(x), Jet::second(t));
        lift(r, a - x, t - theta, &s)
    };
    let flat = Rolling { radius: Jet::constant(from.height), touch: [x, t] };
    let Some(mut now) = eval(x, t) else { return flat };
    let size = now.f.max(1e-4);
    for _ in 0..40 {
        // Newton's step up, the Hessian made negative where it is not. The angle counts as a length.
        let g = [now.q[0], now.q[1] / size];
        let (mut h0, h1, mut h2) = (now.qq[0], now.qq[1] / size, now.qq[2] / (size * size));
        let mean = 0.5 * (h0 + h2);
        let top = mean + (0.25 * (h0 - h2).powi(2) + h1 * h1).sqrt();
        let floor = -0.05 / r;
        if top > floor {
            h0 -= top - floor;
            h2 -= top - floor;
        }
        let det = h0 * h2 - h1 * h1;
        let mut step = [-(h2 * g[0] - h1 * g[1]) / det, -(h0 * g[1] - h1 * g[0]) / det];
        let long = step[0].hypot(step[1]);
        if long < 1e-8 {
            // What is left after this step goes with its square, and F no longer tells better from worse.
            if let Some(next) = eval(x + step[0], t + step[1] / size) {
                (x, t) = (x + step[0], t + step[1] / size);
                now = next;
            }
            break;
        }
        if long > 0.3 * r {
            step = step.map(|v| v * 0.3 * r / long);
        }
        let mut moved = false;
        for _ in 0..14 {
            let there = (x + step[0], t + step[1] / size);
            if let Some(next) = eval(there.0, there.1).filter(|next| next.f >= now.f - 1e-17) {
                (x, t) = there;
                now = next;
                moved = true;
                break;
            }
            step = step.map(|v| 0.4 * v);
        }
        if !moved {
            break;
        }
    }
    // The touch point follows the ball's place: the second derivatives lose what its moving gives back.
    let det = now.qq[0] * now.qq[2] - now.qq[1] * now.qq[1];
    let mut radius = Jet { v: now.f, x: now.p[0], y: now.p[1], xx: now.pp[0], xy: now.pp[1], yy: now.pp[2] };
    if now.qq[0] < 0.0 && det > 0.0 {
        let inverse = |u: [f64; 2], v: [f64; 2]| {
            (u[0] * (now.qq[2] * v[0] - now.qq[1] * v[1]) + u[1] * (now.qq[0] * v[1] - now.qq[1] * v[0])) / det
        };
        let (pa, pt) = ([now.pq[0], now.pq[1]], [now.pq[2], now.pq[3]]);
        radius.xx -= inverse(pa, pa);
        radius.xy -= inverse(pa, pt);
        radius.yy -= inverse(pt, pt);
    } else {
        (radius.xx, radius.xy, radius.yy) = (0.0, 0.0, 0.0);
    }
    Rolling { radius, touch: [x, t] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;
    use crate::tip::LimbEnd;

    #[test]
    fn on_a_cone_the_ball_rolls_on_a_cone() {
        let k = 5f64.to_radians().tan();
        let limb = LimbEnd::straight(SectionForm::Ellipse, [12e-3, -2.0 * k], [12e-3, -2.0 * k]);
        let cone = TipSolid::bare(limb, f64::INFINITY, 1.0);
        for a in [-0.02, 0.003] {
            let p = roll(&cone, 1.6e-3, a, 0.4).map(|p| p.radius);
            let p = p.unwrap_or(Jet::constant(0.0));
            assert!((p.v - (6e-3 - k * a + 1.6e-3 / 5f64.to_radians().cos())).abs() < 1e-12, "{}", p.v);
            assert!((p.x + k).abs() < 1e-9 && p.y.abs() < 1e-9 && p.xx.abs() < 1e-4, "{p:?}");
        }
    }

    #[test]
    fn derivatives_agree_with_differences_on_a_rounded_tip() {
        let limb = LimbEnd::straight(SectionForm::RoundedRectangle { corner: 3e-3 }, [12.7e-3, -0.08], [11e-3, -0.02]);
        let tip = TipSolid::bare(limb, 16e-3, 5e-3);
        let f = |a: f64, t: f64| roll(&tip, 1.6e-3, a, t).map_or(f64::NAN, |p| p.radius.v);
        for (a, t) in [(0.0, 0.9), (13e-3, 0.2), (14e-3, 1.2)] {
            let j = roll(&tip, 1.6e-3, a, t).map_or(Jet::constant(f64::NAN), |p| p.radius);
            let (h, e) = (1e-6, 1e-4);
            assert!((j.x - (f(a + h, t) - f(a - h, t)) / (2.0 * h)).abs() < 1e-6, "{a} {t}");
            assert!((j.y - (f(a, t + e) - f(a, t - e)) / (2.0 * e)).abs() < 1e-8);
            let xx = (f(a + 20.0 * h, t) - 2.0 * j.v + f(a - 20.0 * h, t)) / (400.0 * h * h);
            assert!((j.xx - xx).abs() < 1e-2 * (1.0 + xx.abs()), "{a} {t}: {} {xx}", j.xx);
        }
    }
}
