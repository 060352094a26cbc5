//! One state of the loop: a chain of points in half-planes, its throat, and how it settles.

use super::rolled::Ring;
use super::solve::{COLUMNS, Chain, Column, border};
use crate::tip::TipSolid;
use crate::tip::jet::{Jet, Scalar};
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
    /// Just hung, and never settled yet: it is let down gently, so that it does not leap out of its groove.
    pub fresh: bool,
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
    /// Which ring serves each point, the throat's last.
    ring_of: Vec<usize>,
    work: Chain,
}

/// Outward load on a point, as a part of the leg's tension, that lifts it off.
const RELEASE: f64 = 1e-6;
/// Shift of the second variation with which a loop just hung starts to settle, 1/m.
const GENTLE: f64 = 2e4;

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

/// Slope of the whole length in one point's `a`, `radius` (and the throat's third).
struct Lengths {
    total: f64,
    points: Vec<[f64; 2]>,
    throat: V3,
    /// Unit vector and length of each segment: point i to i + 1; the first starts at the throat, the last ends there.
    segments: Vec<(V3, f64)>,
}

impl<'a> Loop<'a> {
    /// A loop whose legs meet `half_length` (m) of string from the nock, of string diameter `diameter` (m).
    pub fn new(solid: &'a TipSolid, diameter: f64, half_length: f64, settings: Settings) -> Self {
        let mut this = Loop {
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
        let [r, slope, bend] = self.rings[self.ring_of[i]].at(self.solid, self.r, a);
        Under { r, slope, bend }
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

    fn lengths(&self, rest: &Rest) -> Lengths {
        let n = self.angles.len();
        let throat = self.throat(rest);
        let mut segments = Vec::with_capacity(n + 1);
        let mut points = vec![[0.0; 2]; n];
        let (mut total, mut last) = (0.0, throat);
        for i in 0..=n {
            let here = if i < n { self.point(rest, i) } else { throat };
            let d = sub(here, last);
            let l = dot(d, d).sqrt().max(1e-12);
            total += l;
            segments.push((d.map(|v| v / l), l));
            last = here;
        }
        for (i, p) in points.iter_mut().enumerate() {
            let (t0, t1) = (segments[i].0, segments[i + 1].0);
            let pull = sub(t0, t1);
            let [s, c] = self.direction[i];
            *p = [pull[0], pull[1] * s + pull[2] * c];
        }
        let pull = sub(segments[n].0, segments[0].0);
        let (s, c) = self.throat_angle.sin_cos();
        let throat = [pull[0], pull[1] * s + pull[2] * c, pull[1] * c - pull[2] * s];
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
            fresh: true,
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
                let under = self.under(i, rest.a[i]).r;
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
    pub fn settle(&mut self, rest: &mut Rest, u: V3) -> Result<(), Unrest> {
        rest.steps = 0;
        if rest.aside != self.aside {
            self.lay(rest.aside);
        }
        self.settle_here(rest, u)?;
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
            self.settle_here(rest, u)?;
        }
        Ok(())
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
            let under = self.under(i, x[0]).r;
            let out = x[1].hypot(x[2]);
            rest.bears[i] = out <= under + 1e-9;
            rest.radius[i] = out.max(under);
        }
    }

    fn settle_here(&mut self, rest: &mut Rest, u: V3) -> Result<(), Unrest> {
        let n = self.angles.len();
        let pull = self.pull(u);
        let mut stiff = 3e4;
        let mut nudges = 0;
        let mut least_shift = if rest.fresh { GENTLE } else { 0.0 };
        let decay = if rest.fresh { 0.6 } else { 0.25 };
        // Points near the surface go no farther than a part of the string's own size, so that none passes over a wall unseen.
        let near = if rest.fresh { 0.06 } else { 0.25 } * self.r.max(0.5e-3);
        rest.fresh = false;
        let mut under: Vec<Under> =
            (0..=n).map(|i| self.under(i, if i < n { rest.a[i] } else { rest.throat[0] })).collect();
        let mut now = self.lengths(rest);
        let first = rest.steps;
        // Points that were let go and pushed straight back are held for a few steps.
        let mut hold = vec![0_u8; n];
        while rest.steps - first < self.settings.most_steps {
            rest.steps += 1;
            self.on_the_tip(rest, &under)?;
            // Bearing: pressed on while leaving would lengthen the loop. Across a flat the load is nothing either way; a point is let
            // go only for a gain that counts, and the longer it takes the more it has to be.
            let release = RELEASE * 1.2_f64.powi((rest.steps - first) as i32 - 40).clamp(1.0, 1e3);
            for i in 0..n {
                hold[i] = hold[i].saturating_sub(1);
                if rest.bears[i] && now.points[i][1] < -release && hold[i] == 0 {
                    rest.bears[i] = false;
                } else if !rest.bears[i] && now.points[i][1] > 0.0 && rest.radius[i] - under[i].r < 1e-9 {
                    rest.bears[i] = true;
                }
            }
            let lift = rest.leg * now.throat[1] - pull[1];
            if rest.throat_bears && lift < -release {
                rest.throat_bears = false;
            }
            // The reduced gradient.
            let over = now.total - self.length;
            let gradient: Vec<[f64; 2]> = (0..n)
                .map(|i| {
                    let g = now.points[i];
                    if rest.bears[i] { [g[0] + under[i].slope * g[1], 0.0] } else { g }
                })
                .collect();
            let slope = under[n].slope;
            let reduce = |g: V3| if rest.throat_bears { [g[0] + slope * g[1], 0.0, g[2]] } else { g };
            let length_throat = reduce(now.throat);
            let pull_throat = reduce(pull);
            let throat_gradient: V3 = std::array::from_fn(|j| rest.leg * length_throat[j] - pull_throat[j]);
            let worst = gradient.iter().flatten().map(|g| g.abs()).fold(0.0, f64::max) * rest.leg;
            let worst = throat_gradient.iter().map(|g| g.abs()).fold(worst, f64::max);
            let settled = worst < 1e-9 && over.abs() < 1e-11 && hold.iter().all(|h| *h == 0);

            // The second variation, and its step.
            self.assemble(rest, &under, &now);
            let mut shift: f64 = if settled { 0.0 } else { least_shift };
            let (dx, dt, dleg, bent) = loop {
                if let Some(step) =
                    self.newton(rest, &under, &now, &gradient, length_throat, throat_gradient, over, pull[1], shift)
                {
                    break step;
                }
                if settled {
                    break (Vec::new(), [0.0; 3], 0.0, 0.0);
                }
                shift = (4.0 * shift).max(2.0);
                if shift > 1e9 {
                    return Err(Unrest::Unsettled(rest.steps));
                }
            };
            if settled {
                if !dx.is_empty() {
                    return Ok(());
                }
                // A balance that would not last: push it out of it, the same way every time.
                nudges += 1;
                if nudges > 3 {
                    return Ok(());
                }
                for i in 0..n {
                    if rest.bears[i] {
                        rest.a[i] += 2e-6 * self.angles[i].sin() * f64::from(nudges);
                    }
                }
                least_shift = 0.0;
                self.touch_down(rest, &mut under)?;
                now = self.lengths(rest);
                continue;
            }

            // How far.
            let mut scale = 1.0_f64;
            for i in 0..n {
                let close = rest.bears[i] || rest.radius[i] - under[i].r < self.r;
                let most = if close { near } else { 4e-3 };
                scale = scale.min(most / dx[i][0].abs().max(1e-300)).min(4e-3 / dx[i][1].abs().max(1e-300));
            }
            for d in dt {
                scale = scale.min(4e-3 / d.abs().max(1e-300));
            }
            // Merit: the pull's potential, the length held by the new tension and a stiff spring.
            let leg = (rest.leg + scale * dleg).clamp(0.05, 50.0);
            let mut falls = -bent - stiff * over * over;
            let mut guard = 0;
            while falls >= 0.0 && guard < 20 && over.abs() > 1e-13 {
                stiff *= 4.0;
                falls = -bent - stiff * over * over;
                guard += 1;
            }
            let merit = |l: f64, t: V3| leg * l + 0.5 * stiff * l * l - dot(pull, t);
            let merit_now = merit(over, rest.throat);
            let mut t = scale;
            let mut taken = false;
            let old = rest.clone();
            let old_under = under.clone();
            for _ in 0..30 {
                for i in 0..n {
                    rest.a[i] = old.a[i] + t * dx[i][0];
                    rest.radius[i] = old.radius[i] + t * dx[i][1];
                }
                rest.throat = std::array::from_fn(|j| old.throat[j] + t * dt[j]);
                rest.bears.clone_from(&old.bears);
                rest.throat_bears = old.throat_bears;
                self.touch_down(rest, &mut under)?;
                let next = self.lengths(rest);
                let gain = merit(next.total - self.length, rest.throat) - merit_now;
                if gain <= 1e-4 * t * falls.min(0.0) + 1e-16 {
                    now = next;
                    taken = true;
                    break;
                }
                t *= 0.5;
            }
            if taken {
                rest.leg = (old.leg + t * dleg).clamp(0.05, 50.0);
                least_shift = if t < scale { (4.0 * shift).max(10.0) } else { decay * shift };
                if least_shift < 1.0 {
                    least_shift = 0.0;
                }
            } else {
                let steps = rest.steps;
                *rest = old;
                rest.steps = steps;
                under = old_under;
                if worst < 1e-7 && over.abs() < 1e-9 {
                    return Ok(());
                }
                let mut blocked = false;
                for i in 0..n {
                    if !rest.bears[i] && rest.radius[i] - under[i].r < 1e-7 {
                        rest.bears[i] = true;
                        rest.radius[i] = under[i].r;
                        hold[i] = 4;
                        blocked = true;
                    }
                }
                if blocked {
                    now = self.lengths(rest);
                    continue;
                }
                least_shift = (8.0 * shift).max(50.0);
                if least_shift > 1e9 {
                    return Err(Unrest::Unsettled(rest.steps));
                }
            }
        }
        Err(Unrest::Unsettled(rest.steps))
    }

    /// Whether the loop still hangs on the modelled part of the tip.
    fn on_the_tip(&self, rest: &Rest, under: &[Under]) -> Result<(), Unrest> {
        let reach = -0.5 * self.length - 0.015;
        for i in 0..self.angles.len() {
            if self.angles[i].abs() < 1.2 && (under[i].r < 0.5 * self.r || !rest.a[i].is_finite()) {
                return Err(if rest.a[i] > 0.0 { Unrest::OffTheEnd } else { Unrest::DownTheLimb });
            }
            if self.angles[i].abs() < 1.2 && rest.a[i] < 0.5 * reach {
                return Err(Unrest::DownTheLimb);
            }
        }
        Ok(())
    }

    /// Sets bearing points on the surface, and stops those that would go into it.
    fn touch_down(&mut self, rest: &mut Rest, under: &mut [Under]) -> Result<(), Unrest> {
        let n = self.angles.len();
        for i in 0..n {
            if !rest.a[i].is_finite() {
                return Err(Unrest::Unsettled(rest.steps));
            }
            under[i] = self.under(i, rest.a[i]);
            if rest.bears[i] || rest.radius[i] <= under[i].r {
                rest.radius[i] = under[i].r;
                rest.bears[i] = true;
            }
        }
        under[n] = self.under(n, rest.throat[0]);
        if rest.throat_bears || rest.throat[1] <= under[n].r {
            rest.throat[1] = under[n].r;
            rest.throat_bears = true;
        }
        Ok(())
    }

    /// Directions a point may move in: along `a` (along the surface where it bears) and outward.
    fn ways(&self, rest: &Rest, under: &[Under], i: usize) -> [V3; 2] {
        let [s, c] = self.direction[i];
        if rest.bears[i] {
            [[1.0, under[i].slope * s, under[i].slope * c], [0.0; 3]]
        } else {
            [[1.0, 0.0, 0.0], [0.0, s, c]]
        }
    }

    /// The second derivative of tension x length in the points.
    fn assemble(&mut self, rest: &Rest, under: &[Under], now: &Lengths) {
        let n = self.angles.len();
        let mut work = std::mem::take(&mut self.work);
        work.reset(n);
        for i in 0..n {
            let ways = self.ways(rest, under, i);
            let mut d = [0.0; 3];
            for (t, l) in [&now.segments[i], &now.segments[i + 1]] {
                let p = ways.map(|w| dot(*t, w));
                let k = rest.leg / l;
                d[0] += k * (dot(ways[0], ways[0]) - p[0] * p[0]);
                d[1] += k * (dot(ways[0], ways[1]) - p[0] * p[1]);
                d[2] += k * (dot(ways[1], ways[1]) - p[1] * p[1]);
            }
            if rest.bears[i] {
                d[0] += rest.leg * now.points[i][1] * under[i].bend;
                d[1] = 0.0;
                d[2] = 1e3;
            }
            work.diagonal[i] = d;
            if i + 1 < n {
                let other = self.ways(rest, under, i + 1);
                let (t, l) = now.segments[i + 1];
                let k = rest.leg / l;
                let mixed = |x: V3, y: V3| -k * (dot(x, y) - dot(t, x) * dot(t, y));
                work.next[i] = [
                    mixed(ways[0], other[0]),
                    mixed(ways[0], other[1]),
                    mixed(ways[1], other[0]),
                    mixed(ways[1], other[1]),
                ];
            }
        }
        self.work = work;
    }

    /// One Newton step of points, throat and tension, with the points' part of `dx . K dx`; none where the second variation, with
    /// `shift` added, is not that of a lasting rest.
    #[allow(clippy::too_many_arguments)]
    fn newton(
        &mut self,
        rest: &Rest,
        under: &[Under],
        now: &Lengths,
        gradient: &[[f64; 2]],
        length_throat: V3,
        throat_gradient: V3,
        over: f64,
        pull_out: f64,
        shift: f64,
    ) -> Option<(Vec<[f64; 2]>, V3, f64, f64)> {
        let n = self.angles.len();
        let mut work = std::mem::take(&mut self.work);
        let negative = work.factor(shift);
        self.work = work;
        let negative = negative?;
        if negative > 1 {
            return None;
        }
        let (s, c) = self.throat_angle.sin_cos();
        let along = if rest.throat_bears { [1.0, under[n].slope * s, under[n].slope * c] } else { [1.0, 0.0, 0.0] };
        let out = if rest.throat_bears { [0.0; 3] } else { [0.0, s, c] };
        let throat_ways = [along, out, [0.0, c, -s]];
        let mut couple = [[[0.0; 3]; 2]; 2];
        let mut own = [[0.0; 3]; 3];
        for (end, segment) in [(0, 0), (1, n)] {
            let (t, l) = now.segments[segment];
            let k = rest.leg / l;
            let point = if end == 0 { 0 } else { n - 1 };
            let ways = self.ways(rest, under, point);
            for j in 0..3 {
                for i in 0..2 {
                    couple[end][i][j] = -k * (dot(ways[i], throat_ways[j]) - dot(t, ways[i]) * dot(t, throat_ways[j]));
                }
                for i in 0..3 {
                    own[i][j] +=
                        k * (dot(throat_ways[i], throat_ways[j]) - dot(t, throat_ways[i]) * dot(t, throat_ways[j]));
                }
            }
        }
        if rest.throat_bears {
            own[0][0] += (rest.leg * now.throat[1] - pull_out) * under[n].bend;
            own[1][1] = 1e3;
        }
        for (i, row) in own.iter_mut().enumerate() {
            row[i] += shift;
        }
        let mut columns: Vec<Column> = gradient
            .iter()
            .map(|g| {
                let mut col = [[0.0; COLUMNS]; 2];
                for k in 0..2 {
                    col[k][0] = -rest.leg * g[k];
                    col[k][4] = g[k];
                }
                col
            })
            .collect();
        for (end, point) in [(0, 0), (1, n - 1)] {
            for k in 0..2 {
                for j in 0..3 {
                    columns[point][k][1 + j] += couple[end][k][j];
                }
            }
        }
        self.work.solve(&mut columns);
        // Schur's complement in throat and tension.
        let mut m = [[0.0; 4]; 4];
        let mut b = [0.0; 4];
        for i in 0..3 {
            b[i] = -throat_gradient[i];
            for j in 0..3 {
                m[i][j] = own[i][j];
            }
            m[i][3] = length_throat[i];
            m[3][i] = length_throat[i];
        }
        b[3] = -over;
        for (end, point) in [(0, 0), (1, n - 1)] {
            for k in 0..2 {
                for i in 0..3 {
                    let w = couple[end][k][i];
                    b[i] -= w * columns[point][k][0];
                    for j in 0..3 {
                        m[i][j] -= w * columns[point][k][1 + j];
                    }
                    m[i][3] -= w * columns[point][k][4];
                }
            }
        }
        for (g, col) in gradient.iter().zip(&columns) {
            for k in 0..2 {
                b[3] -= g[k] * col[k][0];
                m[3][3] -= g[k] * col[k][4];
            }
        }
        for i in 0..3 {
            m[3][i] = m[i][3];
        }
        let (x, below) = border(m, b)?;
        if negative + below != 1 {
            return None;
        }
        let dx: Vec<[f64; 2]> = columns
            .iter()
            .map(|col| {
                std::array::from_fn(|k| {
                    col[k][0] - (0..3).map(|j| col[k][1 + j] * x[j]).sum::<f64>() - col[k][4] * x[3]
                })
            })
            .collect();
        // dx . K dx = -dx . (gradient with the new tension).
        let mut bent = 0.0;
        let leg = rest.leg + x[3];
        for (g, d) in gradient.iter().zip(&dx) {
            bent -= leg * (g[0] * d[0] + g[1] * d[1]);
        }
        for j in 0..3 {
            bent -= (throat_gradient[j] + x[3] * length_throat[j]) * x[j];
        }
        dx.iter().flatten().all(|v| v.is_finite()).then_some((dx, [x[0], x[1], x[2]], x[3], bent))
    }
}

/// A half-plane's angle when the throat stands `aside`: only the belly's follow it.
fn turned(theta: f64, aside: f64) -> f64 {
    let way = ((theta.abs() - 0.5 * PI) / (0.5 * PI)).max(0.0);
    theta + aside * way * way * (3.0 - 2.0 * way)
}

/// `m` polar angles between 0 and pi (both left out), closer together where the section turns and where it is long.
fn spread(solid: &TipSolid, m: usize, r: f64) -> Vec<f64> {
    const FINE: usize = 720;
    let h = PI / FINE as f64;
    let a = -2.0 * r;
    let raw: Vec<[f64; 2]> = (0..FINE)
        .map(|i| {
            let j = solid.uncut(Jet::constant(a), Jet::second(h * (i as f64 + 0.5)));
            let rate = (j.v * j.v + j.y * j.y).sqrt();
            let turn = ((j.v * j.v + 2.0 * j.y * j.y - j.v * j.yy) / (rate * rate)).clamp(0.0, 40.0);
            [turn, rate]
        })
        .collect();
    let (turns, girth) = raw.iter().fold((0.0, 0.0), |(t, g), v| (t + v[0], g + v[1]));
    let weight = |v: &[f64; 2]| 0.4 * v[0] / turns.max(1e-9) + 0.35 * v[1] / girth.max(1e-9) + 0.25 / FINE as f64;
    let mut sum = vec![0.0];
    for v in &raw {
        sum.push(sum.last().copied().unwrap_or(0.0) + weight(v));
    }
    let total = sum[FINE];
    (1..=m)
        .map(|k| {
            let goal = total * k as f64 / (m + 1) as f64;
            let i = sum.partition_point(|s| *s <= goal).clamp(1, FINE);
            h * (i as f64 - 1.0 + (goal - sum[i - 1]) / (sum[i] - sum[i - 1]))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::SectionForm;
    use crate::tip::LimbEnd;

    /// A cone on which the centreline of a string of radius `r` runs on a cone of radius 6 mm at `a = 0`.
    fn cone(half_angle: f64, r: f64) -> TipSolid {
        let k = half_angle.to_radians().tan();
        let d = 12e-3 - 2.0 * r / half_angle.to_radians().cos();
        TipSolid::bare(LimbEnd::straight(SectionForm::Ellipse, [d, -2.0 * k], [d, -2.0 * k]), f64::INFINITY, 1.0)
    }

    /// A loop hung on a bare cone, pulled from its throat toward the wide end: exact by unrolling the cone.
    #[test]
    fn a_loop_on_a_bare_cone_rests_where_unrolling_says() {
        for (deg, leg_angle, ratio) in [(5.0_f64, 74.3119663_f64, 0.540798761), (10.0, 58.743328, 1.03774561)] {
            let (sin, r) = (deg.to_radians().sin(), 1.6e-3);
            let solid = cone(deg, r);
            // The loop that rests with its throat at slant distance 6 mm / sin.
            let throat = 6e-3 / sin;
            let length = 2.0 * throat * (PI * sin).sin();
            let mut errors = Vec::new();
            for points in [30, 60, 120, 240] {
                let mut hung =
                    Loop::new(&solid, 2.0 * r, 0.5 * length, Settings { side_points: points, most_steps: 1000 });
                let mut rest = hung.hang([-1.0, 0.0, -0.05], |_| 2e-3).unwrap();
                hung.settle(&mut rest, [-1.0, 0.0, 0.0]).unwrap();
                assert!(rest.throat_bears && rest.bears.iter().all(|b| *b));
                let slant = |a: f64| (6e-3 / deg.to_radians().tan() - a) / deg.to_radians().cos();
                // The pull is along the axis; the part of it along the cone is what the legs carry: 2 leg cos(angle) = pull cos(deg).
                let carried = deg.to_radians().cos() / rest.leg;
                let found = [
                    carried / ratio - 1.0,
                    (0.5 * carried).acos().to_degrees() / leg_angle - 1.0,
                    slant(rest.throat[0]) / throat - 1.0,
                    slant(rest.a[points]) / (throat * (PI * sin).cos()) - 1.0,
                ];
                errors.push(found.iter().map(|e| e.abs()).fold(0.0, f64::max));
            }
            assert!(errors[3] < 1e-5 && errors[2] < 1e-4, "{deg}: {errors:?}");
            for pair in errors.windows(2) {
                assert!(pair[0] / pair[1] > 3.5, "second order: {errors:?}");
            }
        }
    }

    #[test]
    fn too_short_a_loop_says_by_how_much() {
        let solid = cone(5.0, 1.6e-3);
        let mut hung = Loop::new(&solid, 3.2e-3, 12e-3, Settings::default());
        assert!(matches!(hung.hang([-1.0, 0.0, 0.0], |_| 0.0), Err(Unrest::TooShort(by)) if by > 5e-3));
    }
}
