//! The wall's line on the unrolled girth.

use super::girth::{Girth, STEP, quintic};
use crate::fault::Fault;
use crate::tip::jet::{Scalar, smooth_least};

/// Over how much girth the wall's curvature sets in and fades, m.
const EASE: f64 = 0.8e-3;
/// The steepest lean on a groove's side that a wall is laid out for (tangent of about 84 deg).
const MOST_LEAN: f64 = 10.0;

/// The line the string's centre follows along the wall: `a` by girth `g`, square to the limb at `g = 0`, turning toward the handle.
#[derive(Debug, Clone, PartialEq)]
pub struct Wall {
    /// In even steps of girth: `a`, `da/dg`, `d2a/dg2`.
    knots: Vec<[f64; 3]>,
    /// Girth at which the turn is complete, m.
    turned: f64,
    /// `k_g / k_n` where it is even along the wall; the tangent of the side the groove must offer.
    pub lean: f64,
    /// Its least radius, m.
    pub least_radius: f64,
    /// The straight lines it is made of, in their order from the back; none where it is blended.
    facets: Vec<Facet>,
}

/// A straight stroke of the file.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Facet {
    /// A point on it, girth and `a`, m.
    through: [f64; 2],
    /// The unit vector square to it, toward the handle (girth, `a`).
    normal: [f64; 2],
    /// How wide the ridge before it is eased, m of distance.
    ease: f64,
}

impl Wall {
    /// A wall that turns from square to the angle `end` (rad) with the section, nowhere tighter than `radius` (m).
    pub fn even(girth: &Girth, end: f64, radius: f64) -> Result<Self, Fault> {
        let turning = girth.turning(EASE);
        // Only where the section turns does the wall.
        let from = turning.iter().position(|k| *k > 0.0).unwrap_or(0).saturating_sub(1);
        let to = turning.iter().rposition(|k| *k > 0.0).map_or(turning.len(), |last| (last + 2).min(turning.len()));
        // ln cot(psi / 2) where the wall ends, which a lean raises by its multiple of the section's turn where no radius holds it back.
        let reached = |lean: f64| integrate(&turning[from..to], lean, radius).last().map_or(0.0, |k| (-k[1]).asinh());
        let goal = (1.0 / end.tan()).asinh();
        let turn = STEP * turning.iter().sum::<f64>();
        // Where no radius holds it back the lean is the goal over the turn; where one does it is more.
        let from_lean = 0.98 * goal / turn;
        let Some(lean) = rising_root(from_lean, turn, MOST_LEAN, |lean| reached(lean) - goal) else {
            return Err(Fault::at(
                "nock.wall_radius",
                format!(
                    "the wall cannot turn from square to {:.0} deg on this tip with a radius of {:.1} mm",
                    end.to_degrees(),
                    radius * 1e3
                ),
                "the string is pressed into its groove only where it goes round the section, so the wall must make its whole turn \
                 between the middle of the back and the flat of the side",
            )
            .cure("round the back edges to a larger radius, make the tip wider or deeper there, or choose a smaller wall radius"));
        };
        let knots = integrate(&turning, lean, radius);
        Ok(Self::from_knots(knots, lean))
    }

    /// A wall of straight lines, one for each angle (rad, falling), each tangent to `smooth`, with corners of radius `corner` (m):
    /// what straight file strokes leave before they are blended.
    pub fn facetted(smooth: &Wall, angles: &[f64], corner: f64) -> Self {
        // The lines: square across the back, then each stroke where the smooth wall has its angle.
        let mut lines = vec![[0.0, 0.0, 0.0]];
        for angle in angles {
            let g = smooth.where_angle(*angle);
            lines.push([g, smooth.at(g), 1.0 / angle.tan()]);
        }
        // Where each meets the next.
        let meets: Vec<f64> = lines
            .windows(2)
            .map(|l| {
                let ([g0, a0, p0], [g1, a1, p1]) = (l[0], l[1]);
                (a1 + p1 * g1 - a0 - p0 * g0) / (p1 - p0)
            })
            .collect();
        let n = smooth.knots.len();
        let (mut p, mut a, mut knots) = (0.0_f64, 0.0, Vec::with_capacity(n));
        let fine = 16;
        for i in 0..n {
            let g = STEP * i as f64;
            let wanted = |g: f64| lines[meets.iter().filter(|m| **m < g).count()][2];
            let rate = |p: f64, g: f64| {
                let k = (1.0 + p * p).powf(1.5) / corner;
                if wanted(g) > p + 1e-12 { k } else { 0.0 }
            };
            knots.push([a, -p, -rate(p, g)]);
            for _ in 0..fine {
                let h = STEP / f64::from(fine);
                let q = (p + h * rate(p, g)).min(wanted(g).max(p));
                a -= 0.5 * h * (p + q);
                p = q;
            }
        }
        let mut facets: Vec<Facet> = Vec::with_capacity(lines.len());
        let mut before = 0.0;
        for [g, a, p] in &lines {
            let (root, angle) = ((1.0 + p * p).sqrt(), p.atan());
            // Square to the ridge the two distances part by 2 sin(turn / 2) of the way, and the eased least bends by 1 / width.
            let parting = 2.0 * (0.5 * (angle - before)).sin();
            facets.push(Facet {
                through: [*g, *a],
                normal: [-p / root, -1.0 / root],
                ease: corner * parting * parting,
            });
            before = angle;
        }
        Wall { facets, ..Self::from_knots(knots, f64::INFINITY) }
    }

    fn from_knots(knots: Vec<[f64; 3]>, lean: f64) -> Self {
        let tightest = knots.iter().map(curvature_of).fold(0.0, f64::max);
        let end = knots.last().map_or(0.0, |k| k[1]);
        let turned = knots.iter().position(|k| (k[1] - end).abs() < 1e-3 * end.abs()).unwrap_or(0);
        Wall { knots, turned: STEP * turned as f64, lean, least_radius: 1.0 / tightest.max(1e-9), facets: Vec::new() }
    }

    /// Girth at which the turn is complete, m.
    pub fn turned(&self) -> f64 {
        self.turned
    }

    fn eval(&self, g: f64) -> [f64; 3] {
        let n = self.knots.len() - 1;
        let u = g / STEP;
        if u <= 0.0 {
            let k = self.knots[0];
            return [k[0], 0.0, if u > -1.0 { k[2] } else { 0.0 }];
        }
        if u >= n as f64 {
            let k = self.knots[n];
            return [k[0] + k[1] * (g - STEP * n as f64), k[1], 0.0];
        }
        let i = (u as usize).min(n - 1);
        quintic(u - i as f64, STEP, self.knots[i], self.knots[i + 1])
    }

    /// `a` at girth `g`, m.
    pub fn at(&self, g: f64) -> f64 {
        self.eval(g)[0]
    }

    /// Angle to the limb at girth `g`, rad.
    pub fn angle(&self, g: f64) -> f64 {
        1f64.atan2(-self.eval(g)[1])
    }

    /// Curvature at girth `g`, 1/m.
    pub fn curvature(&self, g: f64) -> f64 {
        curvature_of(&self.eval(g))
    }

    /// The least girth at which the wall's angle has come down to `angle` (rad), m.
    pub fn where_angle(&self, angle: f64) -> f64 {
        let p = 1.0 / angle.tan();
        if p <= 0.0 {
            return 0.0;
        }
        let i = self.knots.partition_point(|k| -k[1] < p);
        if i == 0 || i >= self.knots.len() {
            return STEP * i.min(self.knots.len() - 1) as f64;
        }
        let (l, r) = (-self.knots[i - 1][1], -self.knots[i][1]);
        STEP * (i as f64 - 1.0 + (p - l) / (r - l))
    }

    /// Whether a place lies on the line's handle side, or on it.
    pub fn is_behind(&self, g: f64, a: f64) -> bool {
        a <= self.at(g)
    }

    /// Signed distance from the line, plus toward the handle, m; none where it is surely beyond `far` on that side.
    pub fn distance<T: Scalar>(&self, g: T, a: T, far: f64) -> Option<T> {
        let (g0, a0) = (g.value(), a.value());
        let here = self.eval(g0);
        if (here[0] - a0) / (1.0 + here[1] * here[1]).sqrt() > far {
            return None;
        }
        if let Some((first, others)) = self.facets.split_first() {
            let across = |f: &Facet| (g - f.through[0]) * f.normal[0] + (a - f.through[1]) * f.normal[1];
            return Some(others.iter().fold(across(first), |least, f| smooth_least(least, across(f), f.ease)));
        }
        // The foot: (P - C(f)) . t = 0, by Newton from the foot straight along `a`.
        let mut f = g0;
        let mut at = here;
        let (mut x, mut n) = (0.0, [0.0, -1.0]);
        let mut near = false;
        for turn in 0..12 {
            let root = (1.0 + at[1] * at[1]).sqrt();
            n = [at[1] / root, -1.0 / root];
            let (dg, da) = (g0 - f, a0 - at[0]);
            x = n[0] * dg + n[1] * da;
            if near || turn == 11 {
                break;
            }
            let along = (dg + at[1] * da) / root;
            let room = (1.0 - curvature_of(&at) * x).max(0.3);
            let step = (along / root / room).clamp(-2e-3, 2e-3);
            f += step;
            at = self.eval(f);
            // What is left after a step goes with its square.
            near = step.abs() < 1e-8;
        }
        // Hessian of a distance: -k / (1 - k x) along the tangent, nothing across.
        let k = curvature_of(&at);
        let h = -k / (1.0 - k * x).max(0.3);
        let t = [-n[1], n[0]];
        Some(T::chain2(g, a, x, n, [h * t[0] * t[0], h * t[0] * t[1], h * t[1] * t[1]]))
    }
}

/// Curvature from (a, da/dg, d2a/dg2), plus where it turns toward the handle.
fn curvature_of(k: &[f64; 3]) -> f64 {
    let rate2 = 1.0 + k[1] * k[1];
    -k[2] / (rate2 * rate2.sqrt())
}

/// Where the rising function `f` passes zero between 0 and `most`; none where it has not by then. By secants, the first with the slope
/// that is given, from a place thought to lie a little below; a secant that leaves what is known to hold the zero is halved instead.
fn rising_root(start: f64, mut slope: f64, most: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high, mut high_is_known) = (0.0, most, false);
    let (mut x, mut y) = (start.clamp(0.0, most), f(start.clamp(0.0, most)));
    for _ in 0..100 {
        if y.abs() < 1e-13 {
            break;
        }
        if y < 0.0 {
            low = x;
        } else {
            (high, high_is_known) = (x, true);
        }
        let mut next = x - y / slope;
        // Not a number where the slope is none.
        if !(next > low && next < high) {
            if !high_is_known {
                if low >= most || f(most) < 0.0 {
                    return None;
                }
                high_is_known = true;
            }
            next = 0.5 * (low + high);
        }
        let before = (x, y);
        (x, y) = (next, f(next));
        slope = (y - before.1) / (x - before.0);
    }
    Some(x)
}

/// The wall for a given lean: with `p = -da/dg = cot psi`, `dp/dg = k (1 + p^2)^1.5` and `k` the lesser of `lean k_s / (1 + p^2)` and `1/radius`, smoothly.
fn integrate(turning: &[f64], lean: f64, radius: f64) -> Vec<[f64; 3]> {
    let curvature = |p: f64, section: f64| {
        let wanted = lean * section / (1.0 + p * p);
        if wanted <= 0.0 { 0.0 } else { wanted / (1.0 + (wanted * radius).powi(4)).sqrt().sqrt() }
    };
    let rate = |p: f64, section: f64| curvature(p, section) * (1.0 + p * p) * (1.0 + p * p).sqrt();
    let (mut p, mut a) = (0.0, 0.0);
    let mut knots = Vec::with_capacity(turning.len());
    for (i, here) in turning.iter().enumerate() {
        let next = turning.get(i + 1).copied().unwrap_or(0.0);
        let mid = 0.5 * (here + next);
        let k1 = rate(p, *here);
        knots.push([a, -p, -k1]);
        let k2 = rate(p + 0.5 * STEP * k1, mid);
        let k3 = rate(p + 0.5 * STEP * k2, mid);
        let k4 = rate(p + STEP * k3, next);
        let grown = STEP / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4);
        a -= STEP * (p + grown * 0.5 + STEP / 12.0 * (k1 - k4));
        p = (p + grown).min(60.0);
    }
    knots
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zero_is_found_where_there_is_one() {
        // Straight, bent either way, level at the end, and begun beyond it.
        let forms: [fn(f64) -> f64; 4] = [|x| x - 1.3, |x| x.exp() - 3.0, |x| x.tanh() - 0.999, |x| (x - 0.2).cbrt()];
        for (f, zero) in forms.iter().zip([1.3, 3f64.ln(), 0.999f64.atanh(), 0.2]) {
            for start in [0.0, 0.9, 4.0, 10.0] {
                let found = rising_root(start, 1.0, 10.0, f).expect("it has a zero");
                assert!((found - zero).abs() < 1e-9, "{found} {zero} from {start}");
            }
        }
        for none in [|_: f64| -1.0, |x: f64| x.tanh() - 1.1, |x: f64| x - 11.0] {
            assert_eq!(rising_root(1.0, 1.0, 10.0, none), None);
            assert_eq!(rising_root(f64::INFINITY, 0.0, 10.0, none), None);
        }
    }
}
