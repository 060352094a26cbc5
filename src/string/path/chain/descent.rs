//! How a loop settles: Newton's method on its points and throat, with points taken on and off the tip as they press or lift.

use super::{Lengths, Loop, Rest, Under, Unrest, V3, dot};
use crate::string::path::solve::{COLUMNS, Column, border};

/// Outward load on a point, as a part of the leg's tension, that lifts it off.
const RELEASE: f64 = 1e-6;
/// Shift of the second variation with which a loop just hung starts to settle, 1/m.
const GENTLE: f64 = 2e4;

impl Loop<'_> {
    pub(super) fn settle_here(&mut self, rest: &mut Rest, u: V3) -> Result<(), Unrest> {
        let n = self.angles.len();
        let pull = self.pull(u);
        let mut stiff = 3e4;
        let mut nudges = 0;
        let mut least_shift = if rest.fresh { GENTLE } else { 0.0 };
        let decay = if rest.fresh { 0.6 } else { 0.25 };
        // Points near the surface go no farther than a part of the string's own size, so that none passes over a wall unseen.
        let near = if rest.fresh { 0.06 } else { 0.25 } * self.r.max(0.5e-3);
        rest.fresh = false;
        let mut under: Vec<Under> = (0..n).map(|i| self.under_free(i, rest.a[i], rest.radius[i])).collect();
        under.push(self.under_free(n, rest.throat[0], rest.throat[1]));
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
            under[i] = self.under_free(i, rest.a[i], rest.radius[i]);
            if rest.bears[i] || rest.radius[i] <= under[i].r {
                rest.radius[i] = under[i].r;
                rest.bears[i] = true;
            }
        }
        under[n] = self.under_free(n, rest.throat[0], rest.throat[1]);
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
