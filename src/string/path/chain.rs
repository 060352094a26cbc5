//! One state of the loop: a chain of points in half-planes and its throat; `descent` settles it.

mod descent;
#[cfg(test)]
mod tests;

use super::rolled::{Bound, Ring};
use super::solve::Chain;
use crate::tip::jet::{Jet, Scalar};
use crate::tip::{Cut, TipSolid};
use std::f64::consts::PI;

/// How finely the loop is followed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Settings {
    /// Points on each side, between the middle of the back and the throat.
    pub side_points: usize,
    /// Most steps to settle one state.
    pub most_steps: usize,
}

impl Default for Settings {
    fn default() -> Self {
        Settings { side_points: 60, most_steps: 1500 }
    }
}

impl Settings {
    /// What `solid` asks for. Over the edges that straight file strokes leave the string bends within a part of its own diameter: with 60
    /// points a side the draw at which a starter file's straight groove clicks moves by some three parts in a hundred with where the
    /// points happen to be, with 120 by about one.
    pub fn of(solid: &TipSolid) -> Self {
        let filed = solid.cuts.iter().any(|cut| matches!(cut, Cut::Pass(_)));
        Settings { side_points: if filed { 120 } else { 60 }, ..Self::default() }
    }
}

/// Why a loop found no rest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unrest {
    /// The loop is too short to go round the tip: by how much it would have to be longer, m.
    TooShort(f64),
    /// It slid off over the tip's end.
    OffTheEnd,
    /// It slid down the limb beyond the modelled part.
    DownTheLimb,
    /// It had not settled after the allowed number of steps.
    Unsettled(usize),
    /// It stays in a balance that would not last, however it is pushed.
    Balanced,
}

/// A loop at rest, or on its way there.
#[derive(Debug, Clone, PartialEq)]
pub struct Rest {
    /// Place along `a` of each point, m, in the order of [`Loop::angles`].
    pub a: Vec<f64>,
    /// Distance from the limb's centreline, m.
    pub radius: Vec<f64>,
    /// Whether the point bears on the tip.
    pub bears: Vec<bool>,
    /// The throat: along `a`, out along its half-plane, and square to that, m.
    pub throat: [f64; 3],
    /// Whether the throat bears on the tip.
    pub throat_bears: bool,
    /// Tension of a leg over the string's pull.
    pub leg: f64,
    /// How far the belly's half-planes are turned after the throat, rad.
    pub aside: f64,
    /// Steps it took to settle.
    pub steps: usize,
    /// Settles gently the next time, in steps that a sluggish loop would take: just hung, so that it does not leap out of its groove, or
    /// where it leaps, so that it comes down beside where it was.
    pub gently: bool,
}

/// A loop of given length on a given tip.
#[derive(Debug, Clone)]
pub struct Loop<'a> {
    /// The tip.
    pub solid: &'a TipSolid,
    /// Half the string's diameter, m.
    pub r: f64,
    /// Length of the loop's centreline all the way round, m.
    pub length: f64,
    settings: Settings,
    /// Polar angles of the points, from the `-w` leg over the back to the `+w` leg, rad.
    angles: Vec<f64>,
    direction: Vec<[f64; 2]>,
    straight: Vec<f64>,
    aside: f64,
    throat_angle: f64,
    rings: Vec<Ring>,
    bound: Bound,
    /// Which ring serves each point, the throat's last.
    ring_of: Vec<usize>,
    work: Chain,
}

type V3 = [f64; 3];

fn dot(u: V3, v: V3) -> f64 {
    u[0] * v[0] + u[1] * v[1] + u[2] * v[2]
}

fn sub(u: V3, v: V3) -> V3 {
    [u[0] - v[0], u[1] - v[1], u[2] - v[2]]
}

/// How the surface lies under one point.
#[derive(Clone, Copy, Default)]
struct Under {
    r: f64,
    slope: f64,
    bend: f64,
}

/// Two sides that differ by less than this, m, are alike.
const ROUNDING: f64 = 1e-12;

/// How much of the chain is worked with. Where tip, pull and loop are alike on both sides one half tells the other.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Part {
    /// From the throat round the tip and back to it.
    Whole,
    /// From the middle of the back to the throat, on the `+w` side: half the length, half the pull, nothing aside.
    Half,
}

/// Slope of the length in one point's `a`, `radius` (and the throat's third), for the points of a [`Part`].
struct Lengths {
    total: f64,
    points: Vec<[f64; 2]>,
    throat: V3,
    /// Unit vector and length of each segment, the one before each point and the last one, which ends at the throat. The first starts
    /// at the throat; a half chain has none before its first point, and that one pulls nowhere.
    segments: Vec<(V3, f64)>,
}

impl<'a> Loop<'a> {
    /// A loop whose legs meet `half_length` (m) of string from the nock, of string diameter `diameter` (m).
    pub fn new(solid: &'a TipSolid, diameter: f64, half_length: f64, settings: Settings) -> Self {
        let reach = half_length + 0.02;
        let to = if solid.end.is_finite() { solid.end + 0.5 * diameter } else { reach };
        let mut this = Loop {
            bound: Bound::new(solid, 0.5 * diameter, -reach, to),
            solid,
            r: 0.5 * diameter,
            length: 2.0 * half_length,
            settings,
            angles: Vec::new(),
            direction: Vec::new(),
            straight: Vec::new(),
            aside: 0.0,
            throat_angle: PI,
            rings: Vec::new(),
            ring_of: Vec::new(),
            work: Chain::default(),
        };
        let half = spread(solid, settings.side_points.max(4), this.r);
        this.straight = half.iter().rev().map(|t| -t).chain([0.0]).chain(half.iter().copied()).collect();
        this.lay(0.0);
        this
    }

    /// Polar angles of the points, rad.
    pub fn angles(&self) -> &[f64] {
        &self.angles
    }

    /// Lays the half-planes, the throat's turned `aside` (rad) from the belly's middle. What is known of those that stay is kept.
    fn lay(&mut self, aside: f64) {
        let n = self.straight.len();
        let m = n / 2;
        let reach = 0.5 * self.length + 0.02;
        let to = if self.solid.end.is_finite() { self.solid.end + self.r } else { reach };
        self.angles = self.straight.iter().map(|t| turned(*t, aside)).collect();
        self.direction = self.angles.iter().map(|t| [t.sin(), t.cos()]).collect();
        self.aside = aside;
        self.throat_angle = PI + aside;
        let symmetric = self.solid.symmetric();
        let mut known = std::mem::take(&mut self.rings);
        self.ring_of.clear();
        for i in 0..=n {
            let theta = if i < n { self.angles[i] } else { self.throat_angle };
            if symmetric && i > m && i < n && self.angles[2 * m - i] == -theta {
                self.ring_of.push(self.ring_of[2 * m - i]);
                continue;
            }
            self.ring_of.push(self.rings.len());
            let ring = match known.iter().position(|r| r.theta() == theta) {
                Some(k) => known.swap_remove(k),
                None => Ring::new(self.solid, self.r, theta, -reach, to),
            };
            self.rings.push(ring);
        }
    }

    fn under(&mut self, i: usize, a: f64) -> Under {
        let [r, slope, bend] = self.rings[self.ring_of[i]].softly(self.solid, self.r, a);
        Under { r, slope, bend }
    }

    /// What lies under point `i` (or the throat) at `a`, for a string `out` from the centreline: only a bound where it is well clear.
    fn under_free(&mut self, i: usize, a: f64, out: f64) -> Under {
        let bound = self.bound.at(a);
        if out > bound + self.r { Under { r: bound, slope: 0.0, bend: 0.0 } } else { self.under(i, a) }
    }

    /// Position of point `i`.
    pub fn point(&self, rest: &Rest, i: usize) -> V3 {
        let [s, c] = if rest.aside == self.aside {
            self.direction[i]
        } else {
            let t = turned(self.straight[i], rest.aside);
            [t.sin(), t.cos()]
        };
        [rest.a[i], rest.radius[i] * s, rest.radius[i] * c]
    }

    /// Position of the throat.
    pub fn throat(&self, rest: &Rest) -> V3 {
        let (s, c) = (PI + rest.aside).sin_cos();
        let [a, n, t] = rest.throat;
        [a, n * s + t * c, n * c - t * s]
    }

    /// Index of the first point of a part of the chain.
    fn first(&self, part: Part) -> usize {
        if part == Part::Half { self.angles.len() / 2 } else { 0 }
    }

    fn lengths(&self, rest: &Rest, part: Part) -> Lengths {
        let n = self.angles.len();
        let first = self.first(part);
        let throat = self.throat(rest);
        let mut segments = Vec::with_capacity(n + 1 - first);
        let mut points = Vec::with_capacity(n - first);
        let (mut total, mut last) = (0.0, throat);
        for i in first..=n {
            let here = if i < n { self.point(rest, i) } else { throat };
            if part == Part::Half && i == first {
                segments.push(([0.0; 3], f64::INFINITY));
            } else {
                let d = sub(here, last);
                let l = dot(d, d).sqrt().max(1e-12);
                total += l;
                segments.push((d.map(|v| v / l), l));
            }
            last = here;
        }
        for (k, pair) in segments.windows(2).enumerate() {
            let pull = sub(pair[0].0, pair[1].0);
            let [s, c] = self.direction[first + k];
            points.push([pull[0], pull[1] * s + pull[2] * c]);
        }
        let pull = sub(segments[n - first].0, segments[0].0);
        let (s, c) = self.throat_angle.sin_cos();
        let aside = if part == Part::Half { 0.0 } else { pull[1] * c - pull[2] * s };
        let throat = [pull[0], pull[1] * s + pull[2] * c, aside];
        Lengths { total, points, throat, segments }
    }

    /// The pull in the throat's own directions.
    fn pull(&self, u: V3) -> V3 {
        let (s, c) = self.throat_angle.sin_cos();
        [u[0], u[1] * s + u[2] * c, u[1] * c - u[2] * s]
    }

    /// Hangs the loop over the tip without letting it settle: over the back where `line` puts it (`a` by polar angle, rad), then straight
    /// along the pull `u`, a unit vector (a, w, b).
    pub fn hang(&mut self, u: V3, line: impl Fn(f64) -> f64) -> Result<Rest, Unrest> {
        let n = self.angles.len();
        let mut rest = Rest {
            a: vec![0.0; n],
            radius: vec![0.0; n],
            bears: vec![false; n],
            throat: [0.0; 3],
            throat_bears: false,
            leg: 0.55,
            aside: self.aside,
            steps: 0,
            gently: true,
        };
        let mut over = 0.0;
        let mut last: Option<V3> = None;
        for i in 0..n {
            let theta = self.angles[i];
            if theta.abs() <= 0.5 * PI {
                rest.a[i] = line(theta.abs());
                rest.radius[i] = self.under(i, rest.a[i]).r;
                rest.bears[i] = true;
                let p = self.point(&rest, i);
                if let Some(q) = last {
                    over += dot(sub(p, q), sub(p, q)).sqrt();
                }
                last = Some(p);
            }
        }
        let [a0, half] = last.map_or([0.0; 2], |p| [p[0], p[1]]);
        let leg2 = (0.5 * (self.length - over)).powi(2) - half * half;
        if leg2 <= 0.0 || self.length <= over {
            return Err(Unrest::TooShort(over + 2.0 * half - self.length));
        }
        let leg = leg2.sqrt();
        let throat = [a0 + leg * u[0], 0.0, (leg * u[2]).min(-1e-4)];
        let bare = self.under(n, throat[0]).r;
        for i in 0..n {
            let theta = self.angles[i].abs();
            if theta > 0.5 * PI {
                let cot = theta.cos() / theta.sin().max(1e-9);
                let down = -throat[2];
                let way = (-half * cot / (down - half * cot)).clamp(0.0, 1.0);
                rest.a[i] = a0 + way * (throat[0] - a0);
                let free = (half * (1.0 - way)).hypot(down * way);
                let under = self.under_free(i, rest.a[i], free).r;
                rest.bears[i] = free <= under;
                rest.radius[i] = free.max(under);
            }
        }
        let (s, c) = self.throat_angle.sin_cos();
        let out = throat[1] * s + throat[2] * c;
        rest.throat_bears = out <= bare;
        rest.throat = [throat[0], out.max(bare), throat[1] * c - throat[2] * s];
        Ok(rest)
    }

    /// Lets the loop settle under the pull `u` (unit vector a, w, b), from where it is.
    ///
    /// # Errors
    /// Why it does not come to rest; `rest` is then where it had got to.
    pub fn settle(&mut self, rest: &mut Rest, u: V3) -> Result<(), Unrest> {
        rest.steps = 0;
        if rest.aside != self.aside {
            self.lay(rest.aside);
        }
        if u[1] == 0.0 && self.is_even(rest) {
            self.mirror(rest);
            self.settle_here(rest, u, Part::Half)?;
            self.mirror(rest);
            if self.stays_even(rest) {
                return Ok(());
            }
        }
        self.settle_here(rest, u, Part::Whole)?;
        // A throat that stands aside of its half-plane: turn the belly's half-planes after it, and settle again.
        for _ in 0..3 {
            let [_, out, side] = rest.throat;
            let turn = side.atan2(out);
            let gap = PI - self.straight[self.straight.len() - 1];
            if turn.abs() < if rest.throat_bears { 1e-4 } else { 0.3 * gap } || out <= 0.0 {
                break;
            }
            let aside = (self.aside + turn).clamp(-1.0, 1.0);
            let mut shape: Vec<V3> = (0..self.angles.len()).map(|i| self.point(rest, i)).collect();
            shape.push(self.throat(rest));
            self.lay(aside);
            self.reshape(rest, &shape);
            self.settle_here(rest, u, Part::Whole)?;
        }
        Ok(())
    }

    /// Whether tip and loop are alike on both sides.
    pub fn is_even(&self, rest: &Rest) -> bool {
        let n = self.angles.len();
        let alike = |v: &[f64]| (0..n / 2).all(|i| (v[i] - v[n - 1 - i]).abs() < ROUNDING);
        self.solid.symmetric()
            && self.aside == 0.0
            && rest.throat[2].abs() < ROUNDING
            && alike(&rest.a)
            && alike(&rest.radius)
    }

    /// Gives the `-w` side what the `+w` side has.
    fn mirror(&self, rest: &mut Rest) {
        let n = self.angles.len();
        for i in 0..n / 2 {
            rest.a[i] = rest.a[n - 1 - i];
            rest.radius[i] = rest.radius[n - 1 - i];
            rest.bears[i] = rest.bears[n - 1 - i];
        }
    }

    /// Puts the points back on a polyline after the half-planes have moved.
    fn reshape(&mut self, rest: &mut Rest, shape: &[V3]) {
        let n = self.angles.len();
        rest.aside = self.aside;
        let throat = shape[n];
        let turn = |p: V3| p[1].atan2(p[2]);
        let (s, c) = self.throat_angle.sin_cos();
        rest.throat = [throat[0], throat[1] * s + throat[2] * c, throat[1] * c - throat[2] * s];
        let around: Vec<(f64, V3)> = (0..n)
            .map(|i| {
                let t = turn(shape[i]);
                // Keep the order round the tip: the angle nearest the point's own.
                let own = self.straight[i];
                (t + (2.0 * PI) * ((own - t) / (2.0 * PI)).round(), shape[i])
            })
            .collect();
        for i in 0..n {
            let t = self.angles[i];
            let k = around.partition_point(|p| p.0 < t).clamp(1, n - 1);
            let ((t0, p), (t1, q)) = (around[k - 1], around[k]);
            let f = if t1 > t0 { ((t - t0) / (t1 - t0)).clamp(0.0, 1.0) } else { 0.5 };
            let x: V3 = std::array::from_fn(|j| p[j] + f * (q[j] - p[j]));
            rest.a[i] = x[0];
            let out = x[1].hypot(x[2]);
            let under = self.under_free(i, x[0], out).r;
            rest.bears[i] = out <= under + 1e-9;
            rest.radius[i] = out.max(under);
        }
    }
}

/// A half-plane's angle when the throat stands `aside`: only the belly's follow it.
fn turned(theta: f64, aside: f64) -> f64 {
    let way = ((theta.abs() - 0.5 * PI) / (0.5 * PI)).max(0.0);
    theta + aside * way * way * (3.0 - 2.0 * way)
}

/// `m` polar angles between 0 and pi (both left out), closer together where the string's way round the section turns and where it is long.
fn spread(solid: &TipSolid, m: usize, r: f64) -> Vec<f64> {
    const FINE: usize = 720;
    let h = PI / FINE as f64;
    // The uncut section: its polar radius, how fast it goes round, and where its normal points, at each angle.
    let section: Vec<[f64; 2]> = (0..=FINE)
        .map(|i| {
            let theta = h * i as f64;
            let j = solid.uncut(Jet::constant(-2.0 * r), Jet::second(theta));
            [j.v, theta - j.y.atan2(j.v)]
        })
        .collect();
    // The string's middle runs `r` outside of it.
    let outside: Vec<[f64; 2]> = section
        .iter()
        .enumerate()
        .map(|(i, [radius, normal])| {
            let theta = h * i as f64;
            [radius * theta.sin() + r * normal.sin(), radius * theta.cos() + r * normal.cos()]
        })
        .collect();
    // In a hollow of the section it would turn back: there it goes straight on.
    let mut around = vec![0.0_f64];
    for p in &outside[1..FINE] {
        around.push(p[0].atan2(p[1]).max(around[around.len() - 1]));
    }
    around.push(PI);
    let parts: Vec<[f64; 3]> = (0..FINE)
        .map(|i| {
            let (p, q) = (outside[i], outside[i + 1]);
            let on = around[i + 1] - around[i];
            if on <= 0.0 {
                return [0.0; 3];
            }
            [(section[i + 1][1] - section[i][1]).max(0.0), (q[0] - p[0]).hypot(q[1] - p[1]), on]
        })
        .collect();
    let all: [f64; 3] = std::array::from_fn(|k| parts.iter().map(|v| v[k]).sum::<f64>().max(1e-9));
    let mut sum = vec![0.0];
    for v in &parts {
        let weight = 0.4 * v[0] / all[0] + 0.35 * v[1] / all[1] + 0.25 * v[2] / all[2];
        sum.push(sum.last().copied().unwrap_or(0.0) + weight);
    }
    let total = sum[FINE];
    (1..=m)
        .map(|k| {
            let goal = total * k as f64 / (m + 1) as f64;
            let i = sum.partition_point(|s| *s <= goal).clamp(1, FINE);
            let part = (goal - sum[i - 1]) / (sum[i] - sum[i - 1]);
            let (from, to) = (around[i - 1], around[i]);
            from + part * (to - from)
        })
        .collect()
}
