//! The tip as a solid: distance from the limb's centreline to the surface, `R(a, theta)`.
//!
//! Sections are star-shaped about the centreline: every ray from it meets the surface once. `theta` is 0 toward the back,
//! pi/2 toward `+w`, pi toward the belly. Limb, overlay or cap, rounding of the end and grooves all act on that one radius,
//! and sections, outlines, wraps, mass, meshes and the string's path are all read from it.

use super::cut::Cut;
use super::jet::{Jet, Scalar, smooth_least, smooth_step};
use super::limb_end::{LimbEnd, rounded_box, toward};
use crate::design::SectionForm;
use crate::section::Section;
use crate::strip::Strip;

/// Shallower than this a groove is no groove, m.
pub const SHALLOW: f64 = 0.05e-3;

/// What stands over the limb's own wood.
#[derive(Debug, Clone, PartialEq)]
pub enum Shell {
    /// Nothing.
    Bare,
    /// The limb's own wood with its two back edges rounded.
    Eased {
        /// Radius of the edges, m; where the limb is too small for it, as far as it goes.
        shoulder: f64,
        /// Where the rounding sets in, m.
        from: f64,
        /// From where on it is whole, m.
        full: f64,
    },
    /// A piece glued on the back, its sides flush with the limb's.
    Overlay {
        /// Its height over the limb's back, m.
        thickness: f64,
        /// Radius of its two back edges, m.
        shoulder: f64,
        /// Where it starts to rise from the limb's back, m.
        from: f64,
        /// From where on it has its full height, m.
        full: f64,
    },
    /// A round cap over a wooden cone.
    Cap {
        /// Radius at the nock, m.
        radius: f64,
        /// Change of radius along `a` from the nock to the end.
        slope: f64,
        /// Change of radius along `a` before the nock.
        slope_before: f64,
        /// Where its mouth is, m; there it is flush with the limb.
        mouth: f64,
        /// From where on it is fully round, m.
        round: f64,
        /// Radius of the bore at the mouth, m.
        bore: f64,
        /// How far the bore goes in from the mouth, m.
        bore_depth: f64,
        /// How much the bore's radius shrinks along `a` (tangent of half its angle).
        bore_slope: f64,
    },
}

/// A place on the surface.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// The point (a, w, b), m.
    pub point: [f64; 3],
    /// Outward unit normal.
    pub normal: [f64; 3],
    /// Principal curvatures, greatest first, plus where the surface bulges out, 1/m.
    pub curvatures: [f64; 2],
}

/// The limb's end with its nock.
#[derive(Debug, Clone, PartialEq)]
pub struct TipSolid {
    /// The limb it is made on.
    pub limb: LimbEnd,
    /// What stands over the wood.
    pub shell: Shell,
    /// What is glued on the belly: as wide as the limb, with the belly's own round.
    pub strip: Option<Strip>,
    /// Where the tip ends, m; infinite for a limb that goes on.
    pub end: f64,
    /// Length over which the end is rounded, m.
    pub rounding: f64,
    /// Grooves, in the order they are cut.
    pub cuts: Vec<Cut>,
}

impl TipSolid {
    /// The limb alone, without groove, ending at `end` (m) with the last `rounding` (m) rounded.
    pub fn bare(limb: LimbEnd, end: f64, rounding: f64) -> Self {
        TipSolid { limb, shell: Shell::Bare, strip: None, end, rounding, cuts: Vec::new() }
    }

    /// Radius before grooves are cut, m; 0 beyond the end.
    pub fn uncut<T: Scalar>(&self, a: T, theta: T) -> T {
        let across = [self.limb.width.at(a), self.limb.thickness.at(a)];
        let way = toward(theta);
        let mut r = match &self.strip {
            Some(strip) if way[1].value() < 0.0 => self.on_strip(strip, a, across, way),
            _ => self.limb.radius_of(across, way),
        };
        match self.shell {
            Shell::Bare => {}
            Shell::Eased { shoulder, from, full } => {
                if a.value() > from {
                    let part = smooth_step((a - from) * (1.0 / (full - from)));
                    let eased = self.eased(shoulder, across, way, r);
                    r = r + part * (eased - r);
                }
            }
            Shell::Overlay { thickness, shoulder, from, full } => {
                if a.value() > from {
                    let rise = smooth_step((a - from) * (1.0 / (full - from)));
                    let over = self.over(thickness, shoulder, across, way, r);
                    r = r + rise * (over - r);
                }
            }
            Shell::Cap { radius, slope, slope_before, mouth, round, .. } => {
                if a.value() > mouth {
                    let rise = smooth_step((a - mouth) * (1.0 / (round - mouth)));
                    // The two cones meet over a few millimetres before the nock.
                    let before = a * smooth_step(a * (-1.0 / 6e-3));
                    let cone = a * slope + before * (slope_before - slope) + radius;
                    r = r + rise * (cone - r);
                }
            }
        }
        if self.end.is_finite() && a.value() > self.end - self.rounding {
            let z = (a - (self.end - self.rounding)) * (1.0 / self.rounding);
            if z.value() >= 1.0 {
                return T::constant(0.0);
            }
            r = r * (-z.squared() + 1.0).sqrt();
        }
        r
    }

    /// Whether a groove may lie between two places along `a` (m) and between two polar angles (rad).
    pub fn is_cut(&self, along: [f64; 2], angles: [f64; 2]) -> bool {
        self.cuts.iter().any(|cut| cut.reaches(along, angles))
    }

    /// A radius that the tip stays within, at every polar angle, between two places along `a`, m.
    pub fn within(&self, from: f64, to: f64) -> f64 {
        // Section forms stay within their width and thickness, and tapers are smooth: the ends and the middle tell, with a little over.
        let limb = [from, 0.5 * (from + to), to]
            .map(|a| {
                let section = self.limb.section(a);
                let over = if let Shell::Overlay { thickness, .. } = self.shell { thickness } else { 0.0 };
                let under = self.strip.map_or(0.0, |strip| strip.thickness);
                (0.5 * section.width).hypot((section.back_distance() + over).max(section.belly_distance() + under))
            })
            .into_iter()
            .fold(0.0, f64::max);
        let cap = match self.shell {
            Shell::Cap { radius, slope, slope_before, .. } => {
                radius + [slope, slope_before].iter().flat_map(|s| [s * from, s * to]).fold(0.0, f64::max)
            }
            _ => 0.0,
        };
        1.02 * limb.max(cap) + 0.2e-3
    }

    /// Radius of limb and strip together toward the belly: the limb's belly half, made deeper by the strip's height.
    ///
    /// With `b` the belly's distance, `h` the strip's height and `k = (b + h)/b`, the ray along `(s, c)` meets it where the
    /// limb's own outline lies along `(s, c/k)`.
    fn on_strip<T: Scalar>(&self, strip: &Strip, a: T, across: [T; 2], [s, c]: [T; 2]) -> T {
        let [height, slope, bend] = strip.rise(-a.value());
        if height <= 0.0 {
            return self.limb.radius_of(across, [s, c]);
        }
        let section = Section::new(self.limb.form, across[0].value(), across[1].value());
        // The belly's distance, as a function of the thickness alone.
        let belly = across[1] * (section.belly_distance() / section.thickness);
        let c = c / (a.chain(height, -slope, bend) / belly + 1.0);
        let long = (s.squared() + c.squared()).sqrt();
        self.limb.radius_of(across, [s / long, c / long]) / long
    }

    /// The limb's radius where its back edges are rounded.
    fn eased<T: Scalar>(&self, shoulder: f64, [w, t]: [T; 2], [s, c]: [T; 2], limb: T) -> T {
        if c.value() <= 0.0 {
            return limb;
        }
        let section = Section::new(self.limb.form, w.value(), t.value());
        let back = t * (section.back_distance() / section.thickness);
        let wider = if let SectionForm::Trapezoid { belly } = self.limb.form { belly.max(1.0) } else { 1.0 };
        let half = w * (0.5 * wider);
        let most = if half.value() < back.value() { half } else { back };
        let corner = if most.value() <= shoulder { most } else { T::constant(shoulder) };
        let round = rounded_box(half, back, back, corner, corner, s, c);
        // A section that is widest at its back meets the rounding at a slant, the others along their sides.
        if self.limb.widest() > 0.0 {
            smooth_least(limb, round, 0.2e-3)
        } else if round.value() < limb.value() {
            round
        } else {
            limb
        }
    }

    /// Radius of limb and overlay together where the overlay is whole.
    fn over<T: Scalar>(&self, thickness: f64, shoulder: f64, [w, t]: [T; 2], [s, c]: [T; 2], limb: T) -> T {
        let section = Section::new(self.limb.form, w.value(), t.value());
        let half = w * 0.5;
        // The back's distance, as a function of the thickness alone.
        let back = t * (section.back_distance() / section.thickness);
        let widest = self.limb.widest() * back.value();
        if c.value() <= 0.0 || half.value() * c.value() < widest * s.value() {
            return limb;
        }
        let top = back + thickness;
        let most = half.value().min(top.value() - widest);
        let corner = if half.value() <= shoulder { half } else { T::constant(shoulder.min(most)) };
        rounded_box(half, top, top, corner, corner, s, c)
    }

    /// Radius of the finished tip, m; 0 beyond the end.
    pub fn radius<T: Scalar>(&self, a: T, theta: T) -> T {
        let mut r = self.uncut(a, theta);
        for cut in &self.cuts {
            r = cut.apply(r, a, theta);
        }
        r
    }

    /// Radius of the limb's own wood, m: up to the glue line under an overlay or a strip, the cone under a cap, else the surface.
    pub fn wood(&self, a: f64, theta: f64) -> f64 {
        self.wood_in(a, theta, self.radius(a, theta))
    }

    /// [`TipSolid::wood`] where the finished radius `r` is known.
    fn wood_in(&self, a: f64, theta: f64, r: f64) -> f64 {
        let r = if self.strip_over(a, theta) { r.min(self.limb.radius(a, theta)) } else { r };
        match self.shell {
            Shell::Bare | Shell::Eased { .. } => r,
            Shell::Overlay { from, .. } => {
                let c = theta.cos();
                if a < from || c <= 0.0 { r } else { r.min(self.limb.section(a).back_distance() / c) }
            }
            Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } => {
                if a < mouth {
                    r
                } else if a > mouth + bore_depth {
                    0.0
                } else {
                    r.min((bore - bore_slope * (a - mouth)).max(0.0))
                }
            }
        }
    }

    /// Where a cap's horn is thinnest over its bore, grooves cut, of all places where they take at least `cut` (m) off: how thick it is
    /// there, less than nothing where the bore lies open, m, how far along `a`, m, and at which polar angle, rad. None without a cap.
    pub fn thinnest_over_bore(&self, cut: f64) -> Option<[f64; 3]> {
        let Shell::Cap { mouth, bore, bore_depth, bore_slope, .. } = self.shell else { return None };
        let deep = bore_depth.min(bore / bore_slope);
        let (along, round) = (2 * (deep / 1e-3).ceil() as usize, 120);
        let places = (0..=along).flat_map(|i| (0..round).map(move |k| (i, k)));
        let walls = places.filter_map(|(i, k)| {
            let a = mouth + deep * i as f64 / along as f64;
            let theta = std::f64::consts::TAU * f64::from(k) / f64::from(round);
            let r: f64 = self.radius(a, theta);
            (self.uncut(a, theta) - r >= cut).then(|| [r - (bore - bore_slope * (a - mouth)).max(0.0), a, theta])
        });
        walls.min_by(|x, y| x[0].total_cmp(&y[0]))
    }

    /// The place nearest to the handle where grooves take more than `depth` (m) off, m along `a`; none where they nowhere do.
    pub fn cut_from(&self, depth: f64) -> Option<f64> {
        let reach = 400;
        (-reach..=0).map(|i| f64::from(i) * 0.5e-3).find(|&a| {
            (0..120).any(|k| {
                let theta = std::f64::consts::TAU * f64::from(k) / 120.0;
                self.uncut(a, theta) - self.radius(a, theta) > depth
            })
        })
    }

    /// How far grooves over the back that take more than `depth` (m) off reach below an overlay's glue line, toward the belly, m; none without
    /// an overlay.
    pub fn cut_below_glue(&self, depth: f64) -> Option<f64> {
        let Shell::Overlay { .. } = self.shell else { return None };
        let places = (-120..=40).flat_map(|i| (0..60).map(move |k| (f64::from(i) * 0.5e-3, f64::from(k) * 2.0)));
        let below = places.filter_map(|(a, degrees)| {
            let theta = f64::to_radians(degrees);
            let (before, after) = (self.uncut(a, theta), self.radius(a, theta));
            let strip = self.strip_over(a, theta);
            (before - after > depth && !strip).then(|| self.limb.section(a).back_distance() - before * theta.cos())
        });
        Some(below.fold(0.0, f64::max))
    }

    /// Whether a strip stands over the belly at a place.
    fn strip_over(&self, a: f64, theta: f64) -> bool {
        theta.cos() < 0.0 && self.strip.is_some_and(|strip| strip.height(-a) > 0.0)
    }

    /// Glue line of a strip on the belly, seen from the side: (a, b) from `from` (m) or the strip's end to its start.
    pub fn strip_glue(&self, from: f64) -> Vec<[f64; 2]> {
        let Some(strip) = self.strip else { return Vec::new() };
        let (n, first) = (60, from.max(-strip.end));
        if first >= -strip.start {
            return Vec::new();
        }
        let places = (0..=n).map(|i| first - (strip.start + first) * f64::from(i) / f64::from(n));
        places.map(|a| [a, -self.limb.section(a).belly_distance()]).collect()
    }

    /// Whether both sides are alike.
    pub fn symmetric(&self) -> bool {
        self.cuts.iter().all(|cut| match cut {
            Cut::Laid(groove) => groove.is_even(),
            Cut::Guide(_) => true,
            Cut::Pass(p) => self.cuts.iter().any(|other| matches!(other, Cut::Pass(q) if q.is_like(&p.mirrored()))),
        })
    }

    /// Point, normal and curvatures of the finished surface.
    pub fn surface(&self, a: f64, theta: f64) -> Surface {
        let r = self.radius(Jet::first(a), Jet::second(theta));
        Surface { point: place(a, theta, r.v), normal: normal(theta, &r), curvatures: curvatures(&r) }
    }

    /// The finished section at `a` as (w, b) points, m, `n` of them at even polar angles from the back round by `+w`.
    pub fn section(&self, a: f64, n: usize) -> Vec<[f64; 2]> {
        let place = |i: usize| {
            let theta = std::f64::consts::TAU * i as f64 / n as f64;
            let r: f64 = self.radius(a, theta);
            [r * theta.sin(), r * theta.cos()]
        };
        if !self.symmetric() {
            return (0..n).map(place).collect();
        }
        let mut points: Vec<[f64; 2]> = (0..=n / 2).map(place).collect();
        points.extend((n / 2 + 1..n).map(|i| points[n - i]).map(|[w, b]| [-w, b]).collect::<Vec<_>>());
        points
    }

    /// Volumes between two places along `a` (m): of the wood, of what stands over it, and of a strip on the belly, m^3.
    pub fn volume(&self, from: f64, to: f64) -> [f64; 3] {
        let to = to.min(self.end);
        if to <= from {
            return [0.0; 3];
        }
        // Where both sides are alike, one tells.
        let (nt, sides) = if self.symmetric() { (48, 2.0) } else { (96, 1.0) };
        let na = 2 * (((to - from) / 1e-3).ceil() as usize + 1);
        let (da, dt) = ((to - from) / na as f64, std::f64::consts::TAU / (sides * f64::from(nt)));
        let mut sum = [0.0; 3];
        for i in 0..na {
            // Two Gauss points to each pair of slices.
            let place = if i % 2 == 0 { 1.0 - 1.0 / 3f64.sqrt() } else { 1.0 / 3f64.sqrt() };
            let a = from + da * (i as f64 + place);
            for k in 0..nt {
                let theta = dt * (f64::from(k) + 0.5);
                let r: f64 = self.radius(a, theta);
                let w = self.wood_in(a, theta, r);
                sum[0] += w * w;
                sum[if self.strip_over(a, theta) { 2 } else { 1 }] += r * r - w * w;
            }
        }
        sum.map(|s| 0.5 * sides * s * da * dt)
    }
}

/// The point (a, w, b) at polar angle `theta` and radius `r`.
pub fn place(a: f64, theta: f64, r: f64) -> [f64; 3] {
    let (s, c) = theta.sin_cos();
    [a, r * s, r * c]
}

/// Outward unit normal of a radial surface from its radius' jet in (a, theta), as (a, w, b).
pub fn normal(theta: f64, r: &Jet) -> [f64; 3] {
    // X = a e_a + R e_r:  N = R e_r - R_theta e_theta - R R_a e_a, up to length.
    let (s, c) = theta.sin_cos();
    let n = [-r.v * r.x, r.v * s - r.y * c, r.v * c + r.y * s];
    let l = (n[0] * n[0] + n[1] * n[1] + n[2] * n[2]).sqrt().max(1e-300);
    n.map(|v| v / l)
}

/// First and second fundamental forms of a radial surface: (E, F, G) and (L, M, N), bulging out counted plus.
pub fn forms(r: &Jet) -> ([f64; 3], [f64; 3]) {
    let n = (r.v * r.v * (1.0 + r.x * r.x) + r.y * r.y).sqrt().max(1e-300);
    let first = [1.0 + r.x * r.x, r.x * r.y, r.v * r.v + r.y * r.y];
    // X_aa = R_aa e_r, X_at = R_at e_r + R_a e_t, X_tt = (R_tt - R) e_r + 2 R_t e_t, each against N; the sign turned.
    let second = [-r.v * r.xx / n, -(r.v * r.xy - r.x * r.y) / n, -(r.v * (r.yy - r.v) - 2.0 * r.y * r.y) / n];
    (first, second)
}

/// Principal curvatures from the radius' jet, greatest first.
pub fn curvatures(r: &Jet) -> [f64; 2] {
    let ([e, f, g], [l, m, n]) = forms(r);
    let det = (e * g - f * f).max(1e-300);
    let mean = 0.5 * (e * n - 2.0 * f * m + g * l) / det;
    let gauss = (l * n - m * m) / det;
    let root = (mean * mean - gauss).max(0.0).sqrt();
    [mean + root, mean - root]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cone_has_its_curvatures_and_volume() {
        // Half angle 5 deg, radius 6 mm at a = 0: normal curvature cos/r, the other zero.
        let k = 5f64.to_radians().tan();
        let limb = LimbEnd::straight(SectionForm::Ellipse, [12e-3, -2.0 * k], [12e-3, -2.0 * k]);
        let cone = TipSolid::bare(limb, f64::INFINITY, 1.0);
        for theta in [0.0, 0.7, 2.0, -3.0] {
            let at = cone.surface(0.0, theta);
            assert!((at.curvatures[0] - 5f64.to_radians().cos() / 6e-3).abs() < 1e-9);
            assert!(at.curvatures[1].abs() < 1e-9);
            assert!((at.normal[0] - 5f64.to_radians().sin()).abs() < 1e-12);
        }
        let (r0, r1) = (6e-3, 6e-3 - 0.01 * k);
        let exact = std::f64::consts::PI / 3.0 * 0.01 * (r0 * r0 + r0 * r1 + r1 * r1);
        assert!((cone.volume(0.0, 0.01)[0] / exact - 1.0).abs() < 3e-6);
    }
}
