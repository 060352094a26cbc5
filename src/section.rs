//! A limb's cross section: what its form, width and thickness give for bending, twisting and wrapping.
//!
//! Frame: `w` across the width, `b` from belly to back, origin at the centroid. All forms are symmetric about `b` and convex,
//! so a ray from the centroid meets the outline once. Metres throughout.

use std::f64::consts::{FRAC_PI_2, PI};

use kurbo::{Arc, BezPath, Point, Vec2};

use crate::design::SectionForm;

mod torsion;

/// How far the cubics of [`Section::outline`] may stand off the true curve, m.
const OUTLINE_TOLERANCE: f64 = 1e-9;

/// A cross section of given form and size.
///
/// `width` is the widest place for all forms but the trapezoid, where it is the back's width.
/// Width and thickness must be above zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Its form.
    pub form: SectionForm,
    /// Width (a trapezoid's at the back), m.
    pub width: f64,
    /// Thickness, belly to back, m.
    pub thickness: f64,
}

impl Section {
    /// A section of this form, width (m) and thickness (m).
    pub fn new(form: SectionForm, width: f64, thickness: f64) -> Self {
        Section { form, width, thickness }
    }

    /// The radius its corners really have, m: at most half the smaller side; 0 for forms without rounded corners.
    pub fn corner(&self) -> f64 {
        match self.form {
            SectionForm::RoundedRectangle { corner } => corner.clamp(0.0, 0.5 * self.width.min(self.thickness)),
            _ => 0.0,
        }
    }

    /// Area, m^2.
    pub fn area(&self) -> f64 {
        let (w, t) = (self.width, self.thickness);
        match self.form {
            SectionForm::Rectangle => w * t,
            SectionForm::RoundedRectangle { .. } => w * t - (4.0 - PI) * self.corner().powi(2),
            SectionForm::Ellipse | SectionForm::D => PI / 4.0 * w * t,
            SectionForm::Trapezoid { belly } => 0.5 * w * (1.0 + belly) * t,
        }
    }

    /// Height of the centroid above the belly face, m.
    pub fn centroid(&self) -> f64 {
        let t = self.thickness;
        match self.form {
            SectionForm::Rectangle | SectionForm::RoundedRectangle { .. } | SectionForm::Ellipse => 0.5 * t,
            SectionForm::D => t * (1.0 - 4.0 / (3.0 * PI)),
            SectionForm::Trapezoid { belly } => t * (belly + 2.0) / (3.0 * (belly + 1.0)),
        }
    }

    /// Second moment about the width axis through the centroid, m^4: bending in the bow's plane.
    pub fn second_moment(&self) -> f64 {
        let (w, t) = (self.width, self.thickness);
        match self.form {
            SectionForm::Rectangle => w * t.powi(3) / 12.0,
            SectionForm::RoundedRectangle { .. } => rounded_second_moment(w, t, self.corner()),
            SectionForm::Ellipse => PI / 64.0 * w * t.powi(3),
            // Half an ellipse with half axes w/2 and t: pi a t^3/8 about its flat, less area x (4t/(3 pi))^2.
            SectionForm::D => 0.5 * w * t.powi(3) * (PI / 8.0 - 8.0 / (9.0 * PI)),
            SectionForm::Trapezoid { belly: m } => w * t.powi(3) * (1.0 + 4.0 * m + m * m) / (36.0 * (1.0 + m)),
        }
    }

    /// Second moment about the thickness axis, m^4: bending sideways.
    pub fn second_moment_sideways(&self) -> f64 {
        let (w, t) = (self.width, self.thickness);
        match self.form {
            SectionForm::Rectangle => t * w.powi(3) / 12.0,
            SectionForm::RoundedRectangle { .. } => rounded_second_moment(t, w, self.corner()),
            SectionForm::Ellipse | SectionForm::D => PI / 64.0 * t * w.powi(3),
            SectionForm::Trapezoid { belly: m } => t * w.powi(3) * (1.0 + m) * (1.0 + m * m) / 48.0,
        }
    }

    /// Distance from the centroid to the back face, m.
    pub fn back_distance(&self) -> f64 {
        self.thickness - self.centroid()
    }

    /// Distance from the centroid to the belly face, m.
    pub fn belly_distance(&self) -> f64 {
        self.centroid()
    }

    /// Width at height `b` above the centroid, m; 0 beyond back and belly.
    pub fn width_at(&self, b: f64) -> f64 {
        let (w, t) = (self.width, self.thickness);
        let up = b + self.belly_distance();
        if !(0.0..=t).contains(&up) {
            return 0.0;
        }
        match self.form {
            SectionForm::Rectangle => w,
            SectionForm::RoundedRectangle { .. } => {
                let r = self.corner();
                let into = (r - up.min(t - up)).max(0.0);
                w - 2.0 * (r - (r * r - into * into).max(0.0).sqrt())
            }
            SectionForm::Ellipse => w * (1.0 - (2.0 * up / t - 1.0).powi(2)).max(0.0).sqrt(),
            SectionForm::D => w * (1.0 - (1.0 - up / t).powi(2)).max(0.0).sqrt(),
            SectionForm::Trapezoid { belly } => w * (belly + (1.0 - belly) * up / t),
        }
    }

    /// Distance from the centroid to the outline, m, in the direction `theta` (rad): 0 toward the back, pi/2 toward `+w`, pi toward the belly.
    pub fn radius(&self, theta: f64) -> f64 {
        let (s, c) = theta.sin_cos();
        self.radius_toward(s.abs(), c)
    }

    /// [`Section::radius`] in the direction `(w, b) = (s, c)`, a unit vector with `s >= 0`.
    fn radius_toward(&self, s: f64, c: f64) -> f64 {
        let (half, t) = (0.5 * self.width, self.thickness);
        match self.form {
            SectionForm::Rectangle => (half / s).min(0.5 * t / c.abs()),
            SectionForm::RoundedRectangle { .. } => {
                let (r, c) = (self.corner(), c.abs());
                let (w0, b0) = (half - r, 0.5 * t - r);
                if half * c <= b0 * s {
                    half / s
                } else if 0.5 * t * s <= w0 * c {
                    0.5 * t / c
                } else {
                    // Where the ray leaves the corner's circle, centred on (w0, b0).
                    let (along, across) = (w0 * s + b0 * c, w0 * c - b0 * s);
                    along + (r * r - across * across).max(0.0).sqrt()
                }
            }
            SectionForm::Ellipse => {
                let b = 0.5 * t;
                half * b / ((b * s).powi(2) + (half * c).powi(2)).sqrt()
            }
            SectionForm::D => {
                let back = self.back_distance();
                if c > 0.0 && back * s <= half * c {
                    back / c
                } else {
                    // (r s/half)^2 + ((r c - back)/t)^2 = 1, its positive root.
                    let (u, v, e) = (s / half, c / t, back / t);
                    let q = u * u + v * v;
                    (v * e + (v * v * e * e + q * (1.0 - e * e)).sqrt()) / q
                }
            }
            SectionForm::Trapezoid { belly } => {
                let (back, slope) = (self.back_distance(), half * (1.0 - belly));
                // The sloping side: t w - slope (b - back) = t half.
                let facing = t * s - slope * c;
                let side = if facing > 0.0 { (t * half - slope * back) / facing } else { f64::INFINITY };
                let face = if c > 0.0 { back / c } else { (back - t) / c };
                side.min(if c == 0.0 { f64::INFINITY } else { face })
            }
        }
    }

    /// The closed outline in `(w, b)`, m, about the centroid, `b` up: from the middle of the back over `+w`, belly and `-w`.
    /// Straight parts are exact, arcs are cubics within 1e-9 m of the true curve.
    pub fn outline(&self) -> BezPath {
        let (half, back, belly) = (0.5 * self.width, self.back_distance(), -self.belly_distance());
        let mut path = BezPath::new();
        path.move_to((0.0, back));
        match self.form {
            SectionForm::Rectangle => {
                for corner in [(half, back), (half, belly), (-half, belly), (-half, back)] {
                    path.line_to(corner);
                }
            }
            SectionForm::RoundedRectangle { .. } => {
                let r = self.corner();
                let (w0, b0) = (half - r, back - r);
                for (w, b, start) in [(w0, b0, FRAC_PI_2), (w0, -b0, 0.0), (-w0, -b0, -FRAC_PI_2), (-w0, b0, -PI)] {
                    path.line_to((w + r * start.cos(), b + r * start.sin()));
                    append_arc(&mut path, (w, b), (r, r), start, -FRAC_PI_2);
                }
            }
            SectionForm::Ellipse => append_arc(&mut path, (0.0, 0.0), (half, back), FRAC_PI_2, -2.0 * PI),
            SectionForm::D => {
                path.line_to((half, back));
                append_arc(&mut path, (0.0, back), (half, self.thickness), 0.0, -PI);
            }
            SectionForm::Trapezoid { belly: part } => {
                for corner in [(half, back), (part * half, belly), (-part * half, belly), (-half, back)] {
                    path.line_to(corner);
                }
            }
        }
        path.close_path();
        path
    }

    /// Length of the outline, m.
    pub fn perimeter(&self) -> f64 {
        let (w, t) = (self.width, self.thickness);
        match self.form {
            SectionForm::Rectangle => 2.0 * (w + t),
            SectionForm::RoundedRectangle { .. } => 2.0 * (w + t) - (8.0 - 2.0 * PI) * self.corner(),
            SectionForm::Ellipse => ellipse_perimeter(0.5 * w, 0.5 * t),
            SectionForm::D => w + 0.5 * ellipse_perimeter(0.5 * w, t),
            SectionForm::Trapezoid { belly } => w * (1.0 + belly) + 2.0 * t.hypot(0.5 * w * (1.0 - belly)),
        }
    }
}

/// Second moment of a `w` x `t` rectangle with corners rounded to `r`, about the middle axis along `w`.
fn rounded_second_moment(w: f64, t: f64, r: f64) -> f64 {
    let (inner_w, y0) = (w - 2.0 * r, 0.5 * t - r);
    let band = w * (2.0 * y0).powi(3) / 12.0;
    let strips = 2.0 * inner_w * (r.powi(3) / 12.0 + r * (y0 + 0.5 * r).powi(2));
    // A quarter disc about an axis y0 below its centre: area pi r^2/4, first moment r^3/3, second moment pi r^4/16 about its centre.
    let quarter = PI * r.powi(4) / 16.0 + 2.0 * y0 * r.powi(3) / 3.0 + y0 * y0 * PI * r * r / 4.0;
    band + strips + 4.0 * quarter
}

/// Perimeter of an ellipse with half axes `a` and `b`, by the arithmetic-geometric mean.
fn ellipse_perimeter(a: f64, b: f64) -> f64 {
    // P = 2 pi (a^2 - sum 2^(n-1) c_n^2) / agm(a, b), c_0^2 = a^2 - b^2, c_(n+1) = (a_n - b_n)/2.
    let (mut x, mut y) = (a.max(b), a.min(b));
    let mut sum = x * x - 0.5 * (x - y) * (x + y);
    let mut weight = 1.0;
    // The mean converges quadratically: eight rounds end at rounding even for a ratio of 1e-12.
    for _ in 0..8 {
        let c = 0.5 * (x - y);
        sum -= weight * c * c;
        weight *= 2.0;
        (x, y) = (0.5 * (x + y), (x * y).sqrt());
    }
    2.0 * PI * sum / x
}

/// Adds an elliptic arc, without its first point, which the path has already reached.
fn append_arc(path: &mut BezPath, centre: (f64, f64), radii: (f64, f64), start: f64, sweep: f64) {
    let arc = Arc::new(Point::from(centre), Vec2::from(radii), start, sweep, 0.0);
    arc.to_cubic_beziers(OUTLINE_TOLERANCE, |p1, p2, p3| path.curve_to(p1, p2, p3));
}

#[cfg(test)]
mod tests;
