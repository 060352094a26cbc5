//! The surface that the string's centreline lies on: where the middle of a ball goes that rolls over the tip.
//!
//! At (`a`, `theta`) a ball of radius `r` that touches the solid's surface at (`a'`, `theta'`) with radius `R'` has its middle at
//!
//! ```text
//! F = R' cos p + sqrt(r^2 - (a - a')^2 - R'^2 sin^2 p)      p = theta' - theta
//! ```
//!
//! and the greatest `F` over the surface is where it really rests.

use crate::groove::girth::quintic;
use crate::tip::TipSolid;
use crate::tip::jet::{Jet, Scalar};

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

/// How much of its diameter a string gives where it lies in something narrow: it does not follow a crease as a hard ball would.
///
/// With none of that each point of a chain catches in the bottom of a straight groove by itself, and the draw at which the groove clicks
/// depends on where the points happen to be. For 1/32 to 1/8 the sample's click stays within one and a half parts in a hundred of its
/// mean, so the value matters little there; no outside source.
const SOFT: f64 = 1.0 / 16.0;

/// Length of the table's undivided cells, m, and how often one may be halved.
const CELL: f64 = 6.4e-3;
const HALVINGS: u32 = 7;
/// A cell is fine enough when a cubic-order guess at its middle is this near, m, and its slope this near.
const NEAR: [f64; 2] = [2e-8, 1e-4];

/// A stretch of the table between two knots.
#[derive(Debug, Clone, Default)]
enum Cell {
    #[default]
    Unknown,
    Whole,
    /// A crease lies within: the ball goes from one touch point to another.
    Creased,
    Halved(Box<Halves>),
}

/// A halved stretch: the knot in its middle, and what is known of either side.
#[derive(Debug, Clone)]
struct Halves {
    mid: Knot,
    low: Cell,
    high: Cell,
}

/// How far out the rolled surface may come, by place along `a`: a bound that costs nothing where the string is well clear.
#[derive(Debug, Clone)]
pub struct Bound {
    from: f64,
    most: Vec<f64>,
}

impl Bound {
    /// For a ball of radius `r` from `from` to `to`, m.
    pub fn new(solid: &TipSolid, r: f64, from: f64, to: f64) -> Self {
        let n = ((to - from) / CELL).ceil().max(1.0) as usize;
        let most = (0..n)
            .map(|i| {
                let a = from + CELL * i as f64;
                // A ball's middle is at most its radius farther out than where it touches, and no farther along.
                solid.within(a - r, (a + CELL + r).min(solid.end)) + r
            })
            .collect();
        Bound { from, most }
    }

    /// The farthest out that the ball's middle can be at `a`, m.
    pub fn at(&self, a: f64) -> f64 {
        let i = ((a - self.from) / CELL).max(0.0) as usize;
        self.most.get(i).copied().unwrap_or(f64::INFINITY)
    }
}

/// Radius with two derivatives along `a`, and where the ball touches.
#[derive(Debug, Clone, Copy, Default)]
struct Knot {
    radius: [f64; 3],
    touch: Option<[f64; 2]>,
}

/// Where a stretch of the table lies, the knots at its ends, and how often it may still be halved.
#[derive(Debug, Clone, Copy)]
struct Stretch {
    a: f64,
    long: f64,
    p: Knot,
    q: Knot,
    left: u32,
}

/// The rolled surface in one half-plane: a table that is worked out, as finely as the surface asks for, where it is first used.
#[derive(Debug, Clone)]
pub struct Ring {
    theta: f64,
    from: f64,
    cells: Vec<Cell>,
    /// The smooth stretch last looked up: the next look is mostly into the same.
    last: Option<Stretch>,
    knots: Vec<Option<Knot>>,
    /// The surface's radius at even places along `a` and about `theta`, for the search.
    lattice: Vec<Option<[f64; ACROSS]>>,
    across: [(f64, (f64, f64)); ACROSS],
}

impl Ring {
    /// An empty table for the half-plane at `theta` of `solid`, for a ball of radius `r`, from `from` to `to` (m along `a`).
    pub fn new(solid: &TipSolid, r: f64, theta: f64, from: f64, to: f64) -> Self {
        let n = ((to - from) / CELL).ceil().max(1.0) as usize;
        let size: f64 = solid.radius(-2.0 * r, theta);
        let wide = (0.97 * r / size.max(r)).asin();
        let across = std::array::from_fn(|k| {
            let phi = wide * (k as f64 / f64::from(NT) - 1.0);
            (phi, phi.sin_cos())
        });
        // For a very thin string the lattice would be too long to hold; its samples are then taken one by one.
        let places = (n as f64 * CELL + 2.0 * r) / Self::spacing(r);
        let lattice = if places < 2e4 { vec![None; places.ceil() as usize + 2] } else { Vec::new() };
        Ring { theta, from, cells: vec![Cell::Unknown; n], last: None, knots: vec![None; n + 1], lattice, across }
    }

    /// The half-plane's polar angle, rad.
    pub fn theta(&self) -> f64 {
        self.theta
    }

    fn spacing(r: f64) -> f64 {
        0.98 * r / f64::from(NA)
    }

    /// Radius and its first two derivatives along `a`; zero beyond the table.
    pub fn at(&mut self, solid: &TipSolid, r: f64, a: f64) -> [f64; 3] {
        if let Some(last) = &self.last {
            let t = (a - last.a) / last.long;
            if (0.0..1.0).contains(&t) {
                return quintic(t, last.long, last.p.radius, last.q.radius);
            }
        }
        let u = (a - self.from) / CELL;
        if u.is_nan() || u >= self.cells.len() as f64 {
            return [0.0; 3];
        }
        let i = u.max(0.0) as usize;
        let t = (u - i as f64).max(0.0);
        let (p, q) = (self.outer(solid, r, i), self.outer(solid, r, i + 1));
        let mut cell = std::mem::take(&mut self.cells[i]);
        let found = self.look(
            solid,
            r,
            &mut cell,
            Stretch { a: self.from + CELL * i as f64, long: CELL, p, q, left: HALVINGS },
            t,
        );
        self.cells[i] = cell;
        found
    }

    /// Radius and derivatives as a string feels them: the mean over `SOFT` of its diameter along `a`.
    pub fn softly(&mut self, solid: &TipSolid, r: f64, a: f64) -> [f64; 3] {
        let third = SOFT * 2.0 * r / 3.0;
        let near = [a - third, a, a + third].map(|a| self.at(solid, r, a));
        if near.iter().any(|at| at[0] == 0.0) {
            // At the table's ends there is nothing to take a mean of.
            return near[1];
        }
        std::array::from_fn(|k| (near[0][k] + near[1][k] + near[2][k]) / 3.0)
    }

    /// The surface at `t` (0..1) in a stretch, which is halved there until its knots tell what lies between them.
    fn look(&mut self, solid: &TipSolid, r: f64, cell: &mut Cell, on: Stretch, t: f64) -> [f64; 3] {
        let Stretch { a, long, p, q, left } = on;
        let (low, high) = (p.radius, q.radius);
        if matches!(cell, Cell::Unknown) {
            *cell = if low[0] == 0.0 && high[0] == 0.0 {
                Cell::Whole
            } else {
                let between = p.touch.zip(q.touch).map(|(s, t)| [0.5 * (s[0] + t[0]), 0.5 * (s[1] + t[1])]);
                let mid = self.knot(solid, r, a + 0.5 * long, between);
                let guess = quintic(0.5, long, low, high);
                if (guess[0] - mid.radius[0]).abs() < NEAR[0] && (guess[1] - mid.radius[1]).abs() < NEAR[1] {
                    Cell::Whole
                } else if left == 0 {
                    Cell::Creased
                } else {
                    Cell::Halved(Box::new(Halves { mid, low: Cell::Unknown, high: Cell::Unknown }))
                }
            };
        }
        match cell {
            Cell::Halved(halves) => {
                let half = Stretch { long: 0.5 * long, left: left - 1, ..on };
                if t < 0.5 {
                    self.look(solid, r, &mut halves.low, Stretch { q: halves.mid, ..half }, 2.0 * t)
                } else {
                    let half = Stretch { a: a + 0.5 * long, p: halves.mid, ..half };
                    self.look(solid, r, &mut halves.high, half, 2.0 * t - 1.0)
                }
            }
            _ if low[0] == 0.0 || high[0] == 0.0 => [if t < 0.5 { low[0] } else { high[0] }, 0.0, 0.0],
            Cell::Creased => creased(t, long, low, high),
            _ => {
                self.last = Some(on);
                quintic(t, long, low, high)
            }
        }
    }

    fn outer(&mut self, solid: &TipSolid, r: f64, i: usize) -> Knot {
        if let Some(k) = self.knots[i] {
            return k;
        }
        let beside = |j: usize, by: f64| {
            let touch = self.knots.get(j).copied().flatten()?.touch?;
            Some([touch[0] + by, touch[1]])
        };
        let guess = i.checked_sub(1).and_then(|j| beside(j, CELL)).or_else(|| beside(i + 1, -CELL));
        let k = self.knot(solid, r, self.from + CELL * i as f64, guess);
        self.knots[i] = Some(k);
        k
    }

    fn knot(&mut self, solid: &TipSolid, r: f64, a: f64, guess: Option<[f64; 2]>) -> Knot {
        let wide = self.across[ACROSS - 1].0;
        let rolled = if a > solid.end - solid.rounding - r {
            roll(solid, r, a, self.theta)
        } else if !solid.is_cut([a - r, a + r], [self.theta - wide, self.theta + wide]) {
            // Without a groove near, the surface has no hollow that the ball does not fill: one rest, found from anywhere.
            let [x, t] = guess.unwrap_or([a, self.theta]);
            let height = height(r, a - x, (t - self.theta).sin_cos(), solid.radius(x, t));
            let from = Sample { height, a: x, theta: t };
            (height > f64::NEG_INFINITY).then(|| climb(solid, r, a, self.theta, from))
        } else if self.lattice.is_empty() {
            roll(solid, r, a, self.theta)
        } else {
            self.search(solid, r, a, guess)
        };
        rolled.map_or(Knot::default(), |p| Knot { radius: [p.radius.v, p.radius.x, p.radius.xx], touch: Some(p.touch) })
    }

    /// [`roll`], with the samples taken from the lattice.
    fn search(&mut self, solid: &TipSolid, r: f64, a: f64, guess: Option<[f64; 2]>) -> Option<Rolling> {
        let h = Self::spacing(r);
        let start = self.from - r;
        let middle = ((a - start) / h).round() as i64;
        let mut samples = [Sample { height: f64::NEG_INFINITY, a, theta: self.theta }; ALONG * ACROSS];
        let mut size = r;
        for i in -NA..=NA {
            let Ok(j) = usize::try_from(middle + i64::from(i)) else { continue };
            if j >= self.lattice.len() {
                continue;
            }
            let x = start + h * j as f64;
            let column =
                *self.lattice[j].get_or_insert_with(|| self.across.map(|(phi, _)| solid.radius(x, self.theta + phi)));
            if i == 0 {
                size = column[NT as usize];
            }
            for (k, radius) in column.iter().enumerate() {
                let (phi, turn) = self.across[k];
                samples[(i + NA) as usize * ACROSS + k] =
                    Sample { height: height(r, a - x, turn, *radius), a: x, theta: self.theta + phi };
            }
        }
        best_of(solid, r, a, self.theta, size, &samples, guess)
    }
}

/// Value and two derivatives within a step `h` that holds a crease, at `t` in 0..1.
///
/// The ball drops into a crease, so the radius is hollow there: two parabolas, both hollow, that keep values and slopes at the ends and
/// meet where the end tangents cross (Schumaker's quadratic spline). Where the ends do not tell of one crease, a cubic.
fn creased(t: f64, h: f64, p: [f64; 3], q: [f64; 3]) -> [f64; 3] {
    let mean = (q[0] - p[0]) / h;
    if p[1] < mean && mean < q[1] {
        let at = ((q[1] - mean) / (q[1] - p[1]) * h).clamp(1e-3 * h, 0.999 * h);
        let slope = 2.0 * mean - (at * p[1] + (h - at) * q[1]) / h;
        let x = t * h;
        return if x <= at {
            let bend = (slope - p[1]) / at;
            [p[0] + x * (p[1] + 0.5 * bend * x), p[1] + bend * x, bend]
        } else {
            let (bend, y) = ((q[1] - slope) / (h - at), x - h);
            [q[0] + y * (q[1] + 0.5 * bend * y), q[1] + bend * y, bend]
        };
    }
    let (d, dp, dq) = (q[0] - p[0], p[1] * h, q[1] * h);
    let (c2, c3) = (3.0 * d - 2.0 * dp - dq, dp + dq - 2.0 * d);
    [p[0] + t * (dp + t * (c2 + t * c3)), (dp + t * (2.0 * c2 + 3.0 * t * c3)) / h, (2.0 * c2 + 6.0 * t * c3) / (h * h)]
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
