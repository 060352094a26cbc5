//! The end of a limb in the tip frame: section form, and width and thickness along `a`.

use super::jet::{Scalar, smooth_least};
use crate::bow::limb::Profile;
use crate::design::{Limb, SectionForm};
use crate::section::Section;

/// A measure along `a`, held as cubics between even places, straight on beyond them.
#[derive(Debug, Clone, PartialEq)]
pub struct Taper {
    start: f64,
    step: f64,
    /// Value and slope at each place.
    knots: Vec<[f64; 2]>,
}

impl Taper {
    /// Holds `f` between `start` and `end` (m) in steps of about `step` (m).
    pub fn sampled(start: f64, end: f64, step: f64, f: impl Fn(f64) -> f64) -> Self {
        let n = ((end - start) / step).ceil().max(1.0);
        let h = (end - start) / n;
        let knots = (0..=n as usize)
            .map(|i| {
                let a = start + h * i as f64;
                let e = 1e-3 * h;
                [f(a), (f(a + e) - f(a - e)) / (2.0 * e)]
            })
            .collect();
        Taper { start, step: h, knots }
    }

    /// Constant slope through `value` at `a = 0`.
    pub fn straight(value: f64, slope: f64) -> Self {
        Taper { start: 0.0, step: 1.0, knots: vec![[value, slope], [value + slope, slope]] }
    }

    /// Value at `a`, m.
    pub fn at<T: Scalar>(&self, a: T) -> T {
        let last = self.knots.len() - 1;
        let u = (a.value() - self.start) / self.step;
        if u <= 0.0 {
            let [v, d] = self.knots[0];
            return (a - self.start) * d + v;
        }
        if u >= last as f64 {
            let [v, d] = self.knots[last];
            return (a - (self.start + self.step * last as f64)) * d + v;
        }
        let i = (u as usize).min(last - 1);
        let ([p, dp], [q, dq]) = (self.knots[i], self.knots[i + 1]);
        let (dp, dq) = (dp * self.step, dq * self.step);
        let (c2, c3) = (3.0 * (q - p) - 2.0 * dp - dq, 2.0 * (p - q) + dp + dq);
        let t = u - i as f64;
        let f = p + t * (dp + t * (c2 + t * c3));
        let df = (dp + t * (2.0 * c2 + 3.0 * t * c3)) / self.step;
        let ddf = (2.0 * c2 + 6.0 * t * c3) / (self.step * self.step);
        a.chain(f, df, ddf)
    }
}

/// The end of a limb: what the nock is built on. `a` is 0 at the nock seat, plus off the tip.
#[derive(Debug, Clone, PartialEq)]
pub struct LimbEnd {
    /// Section form.
    pub form: SectionForm,
    /// Width, m.
    pub width: Taper,
    /// Thickness, m.
    pub thickness: Taper,
}

/// Radius to which sharp edges are eased where the string goes over them, m. Common practice, no source.
const EASED: f64 = 0.8e-3;

/// How much of the limb a [`LimbEnd`] holds, m: from this far toward the handle to this far beyond the nock.
pub const HELD: [f64; 2] = [-0.25, 0.08];

impl LimbEnd {
    /// A limb's end from its width and thickness (m) as functions of `a` (m).
    pub fn new(form: SectionForm, width: impl Fn(f64) -> f64, thickness: impl Fn(f64) -> f64) -> Self {
        let [from, to] = HELD;
        LimbEnd {
            form,
            width: Taper::sampled(from, to, 5e-3, width),
            thickness: Taper::sampled(from, to, 5e-3, thickness),
        }
    }

    /// The end of a limb, as its stations say.
    pub fn of(limb: &Limb) -> Self {
        let profile = Profile::of(limb);
        Self::new(limb.section, |a| profile.width(limb.length + a), |a| profile.thickness(limb.length + a))
    }

    /// A limb's end with straight tapers: width and thickness at the nock (m), and their slopes along `a`.
    pub fn straight(form: SectionForm, width: [f64; 2], thickness: [f64; 2]) -> Self {
        LimbEnd {
            form,
            width: Taper::straight(width[0], width[1]),
            thickness: Taper::straight(thickness[0], thickness[1]),
        }
    }

    /// Cross section at `a`.
    pub fn section(&self, a: f64) -> Section {
        Section::new(self.form, self.width.at(a), self.thickness.at(a))
    }

    /// Height over the centreline at which the limb is widest, as a part of its back's distance.
    pub fn widest(&self) -> f64 {
        match self.form {
            SectionForm::D | SectionForm::Trapezoid { .. } => 1.0,
            _ => 0.0,
        }
    }

    /// Distance from the centreline to the outline, m, at `a` (m) and polar angle `theta` (rad, 0 back, pi/2 side, pi belly).
    ///
    /// The same as [`Section::radius`], with derivatives; sharp edges are eased by about 0.3 mm.
    pub fn radius<T: Scalar>(&self, a: T, theta: T) -> T {
        self.radius_of([self.width.at(a), self.thickness.at(a)], toward(theta))
    }

    /// [`LimbEnd::radius`] where width and thickness (m) and the direction [`toward`] are known.
    pub(super) fn radius_of<T: Scalar>(&self, [w, t]: [T; 2], [s, c]: [T; 2]) -> T {
        let half = w * 0.5;
        match self.form {
            SectionForm::Rectangle => {
                let r = T::constant(EASED.min(0.4 * w.value().min(t.value())));
                rounded_box(half, t * 0.5, t * 0.5, r, r, s, c)
            }
            SectionForm::RoundedRectangle { corner } => {
                let most = if w.value() < t.value() { half } else { t * 0.5 };
                let r = if most.value() < corner { most } else { T::constant(corner) };
                rounded_box(half, t * 0.5, t * 0.5, r, r, s, c)
            }
            SectionForm::Ellipse => {
                let b = t * 0.5;
                half * b / ((b * s).squared() + (half * c).squared()).sqrt()
            }
            SectionForm::D => {
                let back = t * (4.0 / (3.0 * std::f64::consts::PI));
                let (u, v, e) = (s / half, c / t, back / t);
                let q = u.squared() + v.squared();
                let ve = v * e;
                let round = (ve + (ve.squared() - q * (e.squared() - 1.0)).sqrt()) / q;
                if c.value() > 0.05 { smooth_least(back / c, round, 2.0 * EASED) } else { round }
            }
            SectionForm::Trapezoid { belly } => {
                let back = t - t * ((belly + 2.0) / (3.0 * (belly + 1.0)));
                let slope = half * (1.0 - belly);
                let facing = t * s - slope * c;
                let face = if c.value() > 0.0 {
                    Some(back / c)
                } else if c.value() < 0.0 {
                    Some((back - t) / c)
                } else {
                    None
                };
                let side = (facing.value() > 0.0).then(|| (t * half - slope * back) / facing);
                match (face, side) {
                    (Some(f), Some(s)) => smooth_least(f, s, 2.0 * EASED),
                    (None, Some(s)) => s,
                    (Some(f), None) => f,
                    (None, None) => half,
                }
            }
        }
    }
}

/// Sine and cosine of a polar angle, brought to the `+w` side.
pub(super) fn toward<T: Scalar>(theta: T) -> [T; 2] {
    let (s, c) = theta.sin_cos();
    [if s.value() < 0.0 { -s } else { s }, c]
}

/// Polar radius of a box: half width, distances to its back and belly faces, radii of its back and belly corners,
/// in the direction (`s`, `c`) = (sin, cos) of the polar angle with `s >= 0`.
pub fn rounded_box<T: Scalar>(half: T, back: T, belly: T, back_corner: T, belly_corner: T, s: T, c: T) -> T {
    let up = c.value() >= 0.0;
    let (face, r) = if up { (back, back_corner) } else { (belly, belly_corner) };
    let c = if up { c } else { -c };
    let (w0, b0) = (half - r, face - r);
    if half.value() * c.value() <= b0.value() * s.value() {
        half / s
    } else if face.value() * s.value() <= w0.value() * c.value() {
        face / c
    } else {
        let (along, across) = (w0 * s + b0 * c, w0 * c - b0 * s);
        along + (r.squared() - across.squared()).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn radius_is_the_sections_own() {
        let forms = [
            SectionForm::Rectangle,
            SectionForm::RoundedRectangle { corner: 3e-3 },
            SectionForm::Ellipse,
            SectionForm::D,
            SectionForm::Trapezoid { belly: 0.7 },
        ];
        for form in forms {
            let end = LimbEnd::new(form, |a| 12.7e-3 - a / 12.0, |a| 11e-3 - a / 60.0 + 0.3 * a * a);
            for i in -50..=50 {
                let theta = 0.0628 * f64::from(i) + 1e-3;
                for a in [-0.1, -0.013, 0.0, 0.02] {
                    let (ours, theirs) = (end.radius(a, theta), end.section(a).radius(theta));
                    let sharp = !matches!(form, SectionForm::RoundedRectangle { .. } | SectionForm::Ellipse);
                    let eased = if sharp { 0.42 * EASED } else { 1e-9 };
                    assert!((ours - theirs).abs() < eased, "{form:?} {a} {theta}: {ours} {theirs}");
                }
            }
        }
    }
}
