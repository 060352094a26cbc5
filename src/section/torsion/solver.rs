//! Saint-Venant torsion of any of the section forms, solved anew: what the fitted constants come from and are tested against.
//!
//! Prandtl's stress function is `phi = psi - r^2/2`, `psi` harmonic with `psi = r^2/2` on the outline, and `J = 2 INT phi dA = 2 INT psi dA - I_p`.
//! `psi` is the real part of an analytic function: Chebyshev polynomials of `z = b + i w` along the section's longer side,
//! and simple poles that crowd outside the corners (Gopal & Trefethen, SIAM J. Numer. Anal. 57, 2019), fitted by least squares on the outline.
//! By the maximum principle `psi` is nowhere further off than on the outline, so `J` is off by no more than `2 A` times the largest misfit there:
//! the answer carries its own error bound.

use std::f64::consts::PI;

use super::super::Section;
use crate::design::SectionForm;

/// A complex number.
#[derive(Clone, Copy, Debug)]
struct Z {
    re: f64,
    im: f64,
}

impl Z {
    fn new(re: f64, im: f64) -> Self {
        Z { re, im }
    }
    fn polar(r: f64, angle: f64) -> Self {
        Z::new(r * angle.cos(), r * angle.sin())
    }
    fn conj(self) -> Self {
        Z::new(self.re, -self.im)
    }
    fn add(self, o: Z) -> Self {
        Z::new(self.re + o.re, self.im + o.im)
    }
    fn sub(self, o: Z) -> Self {
        Z::new(self.re - o.re, self.im - o.im)
    }
    fn mul(self, o: Z) -> Self {
        Z::new(self.re * o.re - self.im * o.im, self.re * o.im + self.im * o.re)
    }
    fn scale(self, k: f64) -> Self {
        Z::new(self.re * k, self.im * k)
    }
    fn inverse(self) -> Self {
        let n = self.re * self.re + self.im * self.im;
        Z::new(self.re / n, -self.im / n)
    }
}

/// One piece of the half outline `w >= 0`, from back to belly, run through by `u` from 0 to 1.
enum Piece {
    Line(Z, Z),
    /// Centre, half axes along b and along w, first angle from the back, last angle.
    Arc(Z, f64, f64, f64, f64),
}

impl Piece {
    /// Point and derivative by `u`.
    fn at(&self, u: f64) -> (Z, Z) {
        match *self {
            Piece::Line(a, b) => (a.add(b.sub(a).scale(u)), b.sub(a)),
            Piece::Arc(c, rb, rw, t0, t1) => {
                let t = t0 + (t1 - t0) * u;
                (c.add(Z::new(rb * t.cos(), rw * t.sin())), Z::new(-rb * t.sin(), rw * t.cos()).scale(t1 - t0))
            }
        }
    }
}

/// A place to crowd poles at, the direction they stand off in, and how far the farthest stands off.
struct Corner {
    at: Z,
    outward: f64,
    far: f64,
}

fn pieces(s: &Section) -> (Vec<Piece>, Vec<Corner>) {
    let (half, back, belly) = (0.5 * s.width, s.back_distance(), -s.belly_distance());
    let least = s.width.min(s.thickness);
    let corner = |b: f64, w: f64, outward: f64| Corner { at: Z::new(b, w), outward, far: 2.0 * least };
    match s.form {
        SectionForm::Rectangle => (
            vec![
                Piece::Line(Z::new(back, 0.0), Z::new(back, half)),
                Piece::Line(Z::new(back, half), Z::new(belly, half)),
                Piece::Line(Z::new(belly, half), Z::new(belly, 0.0)),
            ],
            vec![corner(back, half, 0.25 * PI), corner(belly, half, 0.75 * PI)],
        ),
        SectionForm::RoundedRectangle { .. } => {
            let r = s.corner();
            (
                vec![
                    Piece::Line(Z::new(back, 0.0), Z::new(back, half - r)),
                    Piece::Arc(Z::new(back - r, half - r), r, r, 0.0, 0.5 * PI),
                    Piece::Line(Z::new(back - r, half), Z::new(belly + r, half)),
                    Piece::Arc(Z::new(belly + r, half - r), r, r, 0.5 * PI, PI),
                    Piece::Line(Z::new(belly, half - r), Z::new(belly, 0.0)),
                ],
                // The curvature jumps where a corner's arc begins and ends.
                vec![
                    corner(back, half - r, 0.0),
                    corner(back - r, half, 0.5 * PI),
                    corner(belly + r, half, 0.5 * PI),
                    corner(belly, half - r, PI),
                    corner(back, half, 0.25 * PI),
                    corner(belly, half, 0.75 * PI),
                ],
            )
        }
        SectionForm::Ellipse => (vec![Piece::Arc(Z::new(0.0, 0.0), back, half, 0.0, PI)], vec![]),
        SectionForm::D => (
            vec![
                Piece::Line(Z::new(back, 0.0), Z::new(back, half)),
                Piece::Arc(Z::new(back, 0.0), s.thickness, half, 0.5 * PI, PI),
            ],
            vec![corner(back, half, 0.25 * PI)],
        ),
        SectionForm::Trapezoid { belly: m } => {
            // Outward bisectors of the two corners; the side leans by `lean` from square.
            let lean = ((half - m * half) / s.thickness).atan();
            let mut corners = vec![corner(back, half, 0.25 * PI + 0.5 * lean)];
            if m > 0.0 {
                corners.push(corner(belly, m * half, 0.75 * PI + 0.5 * lean));
            }
            // A sharp wedge is felt as far as its side is long.
            let side = s.thickness.hypot(half - m * half);
            corners.iter_mut().for_each(|c| c.far = 2.0 * side.min(half).max(least));
            (
                vec![
                    Piece::Line(Z::new(back, 0.0), Z::new(back, half)),
                    Piece::Line(Z::new(back, half), Z::new(belly, m * half)),
                    Piece::Line(Z::new(belly, m * half), Z::new(belly, 0.0)),
                ],
                corners,
            )
        }
    }
}

/// Points and weights of the 8 point Gauss-Legendre rule on -1..1, the half above 0 (Abramowitz & Stegun, table 25.4).
const GAUSS: [(f64, f64); 4] = [
    (0.183_434_642_495_649_8, 0.362_683_783_378_362),
    (0.525_532_409_916_329, 0.313_706_645_877_887_3),
    (0.796_666_477_413_626_7, 0.222_381_034_453_374_5),
    (0.960_289_856_497_536_3, 0.101_228_536_290_376_3),
];

/// Gauss points on 0..1, in panels that halve toward both ends.
fn graded() -> Vec<(f64, f64)> {
    let mut cuts = vec![0.0];
    cuts.extend((1..=18).rev().map(|k| 0.5_f64.powi(k)));
    let upper: Vec<f64> = cuts.iter().rev().skip(1).map(|c| 1.0 - c).collect();
    cuts.extend(upper);
    let mut out = Vec::new();
    for pair in cuts.windows(2) {
        let (mid, half) = (0.5 * (pair[0] + pair[1]), 0.5 * (pair[1] - pair[0]));
        for (x, weight) in GAUSS {
            out.push((mid - half * x, half * weight));
            out.push((mid + half * x, half * weight));
        }
    }
    out
}

/// The analytic trial functions at `z`, all with `f(conj z) = conj f(z)`.
struct Trial {
    degree: usize,
    middle: f64,
    reach: f64,
    across: bool,
    poles: Vec<(Z, f64)>,
}

impl Trial {
    fn values(&self, z: Z) -> Vec<Z> {
        let mut out = Vec::with_capacity(self.degree + 1 + 2 * self.poles.len());
        let x = z.sub(Z::new(self.middle, 0.0)).scale(1.0 / self.reach);
        // T_n(x) along b; i^n T_n(-i x) across it: U_(n+1) = 2 x U_n + U_(n-1).
        let sign = if self.across { 1.0 } else { -1.0 };
        let (mut a, mut b) = (Z::new(1.0, 0.0), x);
        out.push(a);
        for _ in 0..self.degree {
            out.push(b);
            (a, b) = (b, x.mul(b).scale(2.0).add(a.scale(sign)));
        }
        for &(p, d) in &self.poles {
            let (f, g) = (z.sub(p).inverse().scale(d), z.sub(p.conj()).inverse().scale(d));
            out.push(f.add(g));
            // i f - i g.
            out.push(Z::new(g.im - f.im, f.re - g.re));
        }
        out
    }
}

/// Torsion constant and the bound on its error, both in the section's unit to the fourth.
pub(super) fn torsion(s: &Section, degree: usize, crowd: usize) -> (f64, f64) {
    let (pieces, corners) = pieces(s);
    let mut poles = Vec::new();
    for c in &corners {
        for k in 1..=crowd {
            let d = c.far * (4.0 * ((k as f64).sqrt() - (crowd as f64).sqrt())).exp();
            poles.push((c.at.add(Z::polar(d, c.outward)), d));
        }
    }
    let across = s.width > s.thickness;
    let reach = 0.5 * s.width.max(s.thickness);
    let trial = Trial { degree, middle: 0.5 * (s.back_distance() - s.belly_distance()), reach, across, poles };
    let points = graded();
    let mut rows = Vec::new();
    let mut rhs = Vec::new();
    for piece in &pieces {
        for &(u, _) in &points {
            let z = piece.at(u).0;
            rows.push(trial.values(z).iter().map(|v| v.re).collect::<Vec<_>>());
            rhs.push(0.5 * (z.re * z.re + z.im * z.im));
        }
    }
    let x = least_squares(rows, rhs);
    let function = |z: Z| trial.values(z).iter().zip(&x).fold(Z::new(0.0, 0.0), |sum, (v, c)| sum.add(v.scale(*c)));
    // INT f dA = Im of the integral of f conj(z) dz over the half outline.
    let mut integral = 0.0;
    for piece in &pieces {
        for &(u, weight) in &points {
            let (z, dz) = piece.at(u);
            integral += weight * function(z).mul(z.conj()).mul(dz).im;
        }
    }
    // The misfit between and at the fitted points, and into the corners.
    let mut misfit: f64 = 0.0;
    for piece in &pieces {
        for i in 0..=300 {
            let u = 0.5 * (1.0 + (14.0 * (f64::from(i) / 150.0 - 1.0)).tanh());
            for u in [u, f64::from(i) / 300.0] {
                let z = piece.at(u).0;
                misfit = misfit.max((function(z).re - 0.5 * (z.re * z.re + z.im * z.im)).abs());
            }
        }
    }
    (2.0 * integral - s.second_moment() - s.second_moment_sideways(), 2.0 * s.area() * misfit)
}

/// Least squares by Householder reflections with column exchange; columns that add less than 1e-13 of the largest are left out.
fn least_squares(rows: Vec<Vec<f64>>, mut rhs: Vec<f64>) -> Vec<f64> {
    let (m, n) = (rows.len(), rows[0].len());
    let mut columns: Vec<Vec<f64>> = (0..n).map(|j| rows.iter().map(|r| r[j]).collect()).collect();
    let scale: Vec<f64> = columns.iter().map(|c| c.iter().map(|v| v * v).sum::<f64>().sqrt()).collect();
    for (c, k) in columns.iter_mut().zip(&scale) {
        c.iter_mut().for_each(|v| *v /= k);
    }
    let mut order: Vec<usize> = (0..n).collect();
    let mut diagonal = Vec::new();
    for k in 0..n {
        let norm = |c: &[f64]| c[k..].iter().map(|v| v * v).sum::<f64>();
        let best = (k..n).max_by(|&a, &b| norm(&columns[a]).total_cmp(&norm(&columns[b]))).unwrap_or(k);
        columns.swap(k, best);
        order.swap(k, best);
        let size = norm(&columns[k]).sqrt();
        if size < 1e-13 {
            break;
        }
        let alpha = if columns[k][k] > 0.0 { -size } else { size };
        let mut v: Vec<f64> = columns[k][k..].to_vec();
        v[0] -= alpha;
        let vv: f64 = v.iter().map(|x| x * x).sum();
        let reflect = |c: &mut [f64]| {
            let dot: f64 = c[k..m].iter().zip(&v).map(|(a, b)| a * b).sum();
            c[k..m].iter_mut().zip(&v).for_each(|(a, b)| *a -= 2.0 * dot / vv * b);
        };
        columns[k + 1..].iter_mut().for_each(|c| reflect(c));
        reflect(&mut rhs);
        diagonal.push(alpha);
    }
    let rank = diagonal.len();
    let mut x = vec![0.0; n];
    let mut y = vec![0.0; rank];
    for i in (0..rank).rev() {
        let known: f64 = (i + 1..rank).map(|j| columns[j][i] * y[j]).sum();
        y[i] = (rhs[i] - known) / diagonal[i];
        x[order[i]] = y[i] / scale[order[i]];
    }
    x
}
