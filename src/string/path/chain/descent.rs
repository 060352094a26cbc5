//! How a loop settles: Newton's method on its points and throat, with points taken on and off the tip as they press or lift.

use super::{Lengths, Loop, Part, Rest, Under, Unrest, V3, dot};
use crate::string::path::solve::{COLUMNS, Column, border};

/// Outward load on a point, as a part of the leg's tension, that lifts it off.
const RELEASE: f64 = 1e-6;
/// Shift of the second variation with which a loop just hung starts to settle, 1/m, times the points on a side: of a finer chain each
/// point has a smaller share in the length, and holds as much less.
const GENTLE: f64 = 3e5;

/// How often a loop in a balance that would not last is pushed out of it.
const NUDGES: u32 = 8;

/// What Newton's step is to bring to nothing.
struct Slopes<'a> {
    /// Reduced slope of the length in each point.
    gradient: &'a [[f64; 2]],
    /// Reduced slope of the length in the throat, and of tension x length less the pull's work.
    length_throat: V3,
    throat_gradient: V3,
    /// Length beyond what it should be, m.
    over: f64,
    /// The pull outward at the throat.
    pull_out: f64,
}

impl Loop<'_> {
    /// Whether an even loop just settled as a half would stay even: no uneven shift shortens it.
    ///
    /// To first order an uneven shift does not change the length, so its second variation alone decides; the middle of the back and the
    /// throat move in it square to their half-planes only, which for the former is no freedom of the chain.
    pub(super) fn stays_even(&mut self, rest: &Rest) -> bool {
        let n = self.angles.len();
        let first = self.first(Part::Half);
        let mut work = std::mem::take(&mut self.work);
        work.diagonal[0] = [1.0, 0.0, 1.0];
        work.next[0] = [0.0; 4];
        let bound = work.factor(0.0) == Some(0);
        let now = self.lengths(rest, Part::Half);
        let (t, l) = now.segments[n - first];
        let (s, c) = self.throat_angle.sin_cos();
        let aside = [0.0, c, -s];
        let tight = rest.leg / l;
        let here = self.under_free(n - 1, rest.a[n - 1], rest.radius[n - 1]);
        let couple = self.ways(rest, &here, n - 1).map(|w| -tight * (dot(w, aside) - dot(t, w) * dot(t, aside)));
        let mut columns = vec![[[0.0; COLUMNS]; 2]; n - first];
        for (row, c) in columns[n - 1 - first].iter_mut().zip(couple) {
            row[0] = c;
        }
        if bound {
            work.solve(&mut columns);
        }
        self.work = work;
        let given: f64 = columns[n - 1 - first].iter().zip(couple).map(|(row, c)| row[0] * c).sum();
        bound && tight * (dot(aside, aside) - dot(t, aside).powi(2)) - given > 0.0
    }

    pub(super) fn settle_here(&mut self, rest: &mut Rest, u: V3, part: Part) -> Result<(), Unrest> {
        let n = self.angles.len();
        let first = self.first(part);
        let count = n - first;
        let share = if part == Part::Half { 0.5 } else { 1.0 };
        let wanted = share * self.length;
        let mut pull = self.pull(u).map(|v| share * v);
        if part == Part::Half {
            (pull[2], rest.throat[2]) = (0.0, 0.0);
        }
        let mut stiff = 3e4;
        let mut nudges = 0_u32;
        let mut least_shift = if rest.gently { GENTLE / self.settings.side_points as f64 } else { 0.0 };
        let decay = if rest.gently { 0.6 } else { 0.25 };
        // Points near the surface go no farther than a part of the string's own size, so that none passes over a wall unseen.
        let near = if rest.gently { 0.03 } else { 0.25 } * self.r.max(0.5e-3);
        rest.gently = false;
        // Of each point of this part, the throat's last.
        let mut under: Vec<Under> = (first..n).map(|i| self.under_free(i, rest.a[i], rest.radius[i])).collect();
        under.push(self.under_free(n, rest.throat[0], rest.throat[1]));
        let mut now = self.lengths(rest, part);
        let begun = rest.steps;
        // Points that were let go and pushed straight back are held for a few steps.
        let mut hold = vec![0_u8; count];
        while rest.steps - begun < self.settings.most_steps {
            rest.steps += 1;
            self.on_the_tip(rest, first, &under)?;
            // Bearing: pressed on while leaving would lengthen the loop. Across a flat the load is nothing either way; a point is let
            // go only for a gain that counts, and the longer it takes the more it has to be.
            let release = RELEASE * 1.2_f64.powi((rest.steps - begun) as i32 - 40).clamp(1.0, 1e3);
            for k in 0..count {
                let i = first + k;
                hold[k] = hold[k].saturating_sub(1);
                if rest.bears[i] && now.points[k][1] < -release && hold[k] == 0 {
                    rest.bears[i] = false;
                } else if !rest.bears[i] && now.points[k][1] > 0.0 && rest.radius[i] - under[k].r < 1e-9 {
                    rest.bears[i] = true;
                }
            }
            let lift = rest.leg * now.throat[1] - pull[1];
            if rest.throat_bears && lift < -release {
                rest.throat_bears = false;
            }
            // The reduced gradient.
            let over = now.total - wanted;
            let gradient: Vec<[f64; 2]> = (0..count)
                .map(|k| {
                    let g = now.points[k];
                    if rest.bears[first + k] { [g[0] + under[k].slope * g[1], 0.0] } else { g }
                })
                .collect();
            let slope = under[count].slope;
            let reduce = |g: V3| if rest.throat_bears { [g[0] + slope * g[1], 0.0, g[2]] } else { g };
            let length_throat = reduce(now.throat);
            let pull_throat = reduce(pull);
            let throat_gradient: V3 = std::array::from_fn(|j| rest.leg * length_throat[j] - pull_throat[j]);
            let worst = gradient.iter().flatten().map(|g| g.abs()).fold(0.0, f64::max) * rest.leg;
            let worst = throat_gradient.iter().map(|g| g.abs()).fold(worst, f64::max);
            let settled = worst < share * 1e-9 && over.abs() < share * 1e-11 && hold.iter().all(|h| *h == 0);

            // The second variation, and its step.
            self.assemble(rest, part, &under, &now);
            let mut shift: f64 = if settled { 0.0 } else { least_shift };
            let (dx, dt, dleg, bent) = loop {
                let slopes = Slopes { gradient: &gradient, length_throat, throat_gradient, over, pull_out: pull[1] };
                if let Some(step) = self.newton(rest, part, &under, &now, &slopes, shift) {
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
                if nudges > NUDGES {
                    return Err(Unrest::Balanced);
                }
                for i in first..n {
                    if rest.bears[i] {
                        let way = if part == Part::Half { self.angles[i].cos() } else { self.angles[i].sin() };
                        rest.a[i] += 1e-6 * way * f64::from(1_u32 << nudges);
                    }
                }
                least_shift = 0.0;
                self.touch_down(rest, first, &mut under)?;
                now = self.lengths(rest, part);
                continue;
            }

            // How far.
            let mut scale = 1.0_f64;
            for k in 0..count {
                let close = rest.bears[first + k] || rest.radius[first + k] - under[k].r < self.r;
                let most = if close { near } else { 4e-3 };
                scale = scale.min(most / dx[k][0].abs().max(1e-300)).min(4e-3 / dx[k][1].abs().max(1e-300));
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
                for k in 0..count {
                    rest.a[first + k] = old.a[first + k] + t * dx[k][0];
                    rest.radius[first + k] = old.radius[first + k] + t * dx[k][1];
                }
                rest.throat = std::array::from_fn(|j| old.throat[j] + t * dt[j]);
                rest.bears.clone_from(&old.bears);
                rest.throat_bears = old.throat_bears;
                self.touch_down(rest, first, &mut under)?;
                let next = self.lengths(rest, part);
                let gain = merit(next.total - wanted, rest.throat) - merit_now;
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
                for k in 0..count {
                    let i = first + k;
                    if !rest.bears[i] && rest.radius[i] - under[k].r < 1e-7 {
                        rest.bears[i] = true;
                        rest.radius[i] = under[k].r;
                        hold[k] = 4;
                        blocked = true;
                    }
                }
                if blocked {
                    now = self.lengths(rest, part);
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
    fn on_the_tip(&self, rest: &Rest, first: usize, under: &[Under]) -> Result<(), Unrest> {
        let reach = -0.5 * self.length - 0.015;
        for i in first..self.angles.len() {
            if self.angles[i].abs() < 1.2 && (under[i - first].r < 0.5 * self.r || !rest.a[i].is_finite()) {
                return Err(if rest.a[i] > 0.0 { Unrest::OffTheEnd } else { Unrest::DownTheLimb });
            }
            if self.angles[i].abs() < 1.2 && rest.a[i] < 0.5 * reach {
                return Err(Unrest::DownTheLimb);
            }
        }
        Ok(())
    }

    /// Sets bearing points on the surface, and stops those that would go into it.
    fn touch_down(&mut self, rest: &mut Rest, first: usize, under: &mut [Under]) -> Result<(), Unrest> {
        let n = self.angles.len();
        for i in first..n {
            if !rest.a[i].is_finite() {
                return Err(Unrest::Unsettled(rest.steps));
            }
            let here = self.under_free(i, rest.a[i], rest.radius[i]);
            under[i - first] = here;
            if rest.bears[i] || rest.radius[i] <= here.r {
                rest.radius[i] = here.r;
                rest.bears[i] = true;
            }
        }
        let here = self.under_free(n, rest.throat[0], rest.throat[1]);
        under[n - first] = here;
        if rest.throat_bears || rest.throat[1] <= here.r {
            rest.throat[1] = here.r;
            rest.throat_bears = true;
        }
        Ok(())
    }

    /// Directions a point may move in: along `a` (along the surface where it bears) and outward.
    fn ways(&self, rest: &Rest, under: &Under, i: usize) -> [V3; 2] {
        let [s, c] = self.direction[i];
        if rest.bears[i] { [[1.0, under.slope * s, under.slope * c], [0.0; 3]] } else { [[1.0, 0.0, 0.0], [0.0, s, c]] }
    }

    /// The second derivative of tension x length in the points.
    fn assemble(&mut self, rest: &Rest, part: Part, under: &[Under], now: &Lengths) {
        let first = self.first(part);
        let count = self.angles.len() - first;
        let mut work = std::mem::take(&mut self.work);
        work.reset(count);
        let mut ways = self.ways(rest, &under[0], first);
        for k in 0..count {
            let mut d = [0.0; 3];
            for (t, l) in [&now.segments[k], &now.segments[k + 1]] {
                let p = ways.map(|w| dot(*t, w));
                let tight = rest.leg / l;
                d[0] += tight * (dot(ways[0], ways[0]) - p[0] * p[0]);
                d[1] += tight * (dot(ways[0], ways[1]) - p[0] * p[1]);
                d[2] += tight * (dot(ways[1], ways[1]) - p[1] * p[1]);
            }
            if rest.bears[first + k] {
                d[0] += rest.leg * now.points[k][1] * under[k].bend;
                d[1] = 0.0;
                d[2] = 1e3;
            }
            work.diagonal[k] = d;
            if k + 1 < count {
                let other = self.ways(rest, &under[k + 1], first + k + 1);
                let (t, l) = now.segments[k + 1];
                let tight = rest.leg / l;
                let mixed = |x: V3, y: V3| -tight * (dot(x, y) - dot(t, x) * dot(t, y));
                work.next[k] = [
                    mixed(ways[0], other[0]),
                    mixed(ways[0], other[1]),
                    mixed(ways[1], other[0]),
                    mixed(ways[1], other[1]),
                ];
                ways = other;
            }
        }
        self.work = work;
    }

    /// One Newton step of points, throat and tension, with the points' part of `dx . K dx`; none where the second variation, with
    /// `shift` added, is not that of a lasting rest.
    fn newton(
        &mut self,
        rest: &Rest,
        part: Part,
        under: &[Under],
        now: &Lengths,
        slopes: &Slopes,
        shift: f64,
    ) -> Option<(Vec<[f64; 2]>, V3, f64, f64)> {
        let &Slopes { gradient, length_throat, throat_gradient, over, pull_out } = slopes;
        let count = gradient.len();
        let mut work = std::mem::take(&mut self.work);
        let negative = work.factor(shift);
        self.work = work;
        let negative = negative?;
        if negative > 1 {
            return None;
        }
        let (s, c) = self.throat_angle.sin_cos();
        let along =
            if rest.throat_bears { [1.0, under[count].slope * s, under[count].slope * c] } else { [1.0, 0.0, 0.0] };
        let out = if rest.throat_bears { [0.0; 3] } else { [0.0, s, c] };
        // A half chain's throat does not go aside.
        let aside = if part == Part::Half { [0.0; 3] } else { [0.0, c, -s] };
        let throat_ways = [along, out, aside];
        // Which end of the couplings, which segment, and which point at its other end.
        let ends: &[(usize, usize, usize)] =
            if part == Part::Half { &[(1, count, count - 1)] } else { &[(0, 0, 0), (1, count, count - 1)] };
        let mut couple = [[[0.0; 3]; 2]; 2];
        let mut own = [[0.0; 3]; 3];
        for &(end, segment, point) in ends {
            let (t, l) = now.segments[segment];
            let k = rest.leg / l;
            let ways = self.ways(rest, &under[point], self.first(part) + point);
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
            own[0][0] += (rest.leg * now.throat[1] - pull_out) * under[count].bend;
            own[1][1] = 1e3;
        }
        if part == Part::Half {
            own[2][2] = 1e3;
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
        for &(end, _, point) in ends {
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
        for &(end, _, point) in ends {
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
