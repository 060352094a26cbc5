//! Saint-Venant torsion constants of the section forms.
//!
//! Rectangle by its series and ellipse in closed form. For the others `q = 4 pi^2 I_p J / A^4` (1 for every ellipse, 0.87-1.4 for all
//! forms here) is a Chebyshev fit in the section's proportions, got from an independent solution that bounds its own error
//! (`solver`, in the tests). Over thickness : width from 1:20 to 20:1 the fit is within 1e-4 of it; beyond, `q` is held at the end's value.

use std::f64::consts::PI;

use super::Section;
use crate::design::SectionForm;

mod fit;
#[cfg(test)]
mod solver;
#[cfg(test)]
mod tests;

/// The least and greatest thickness over width that the fits cover.
const ASPECTS: [f64; 2] = [1.0 / 20.0, 20.0];

/// The least part of the broader face that a trapezoid's narrower face may be within the fit.
const NARROW_FACE: f64 = 0.05;

impl Section {
    /// Saint-Venant torsion constant, m^4: twisting moment over shear modulus and twist per length.
    ///
    /// Rectangle and ellipse to rounding, the other forms within 1e-4 for thickness : width from 1:20 to 20:1
    /// (a trapezoid's narrower face at least 1/20 of the broader).
    pub fn torsion_constant(&self) -> f64 {
        let (w, t) = (self.width, self.thickness);
        let shape = match self.form {
            SectionForm::Rectangle => return rectangle(w.max(t), w.min(t)),
            SectionForm::Ellipse => 1.0,
            SectionForm::RoundedRectangle { .. } => {
                let small = w.min(t);
                surface(&fit::ROUNDED, place(small / w.max(t), [ASPECTS[0], 1.0]), 2.0 * self.corner() / small)
            }
            SectionForm::D => line(&fit::D, place(t / w, ASPECTS)),
            SectionForm::Trapezoid { belly } => {
                let broad = w * belly.max(1.0);
                let narrow = belly.min(1.0 / belly).max(NARROW_FACE);
                surface(&fit::TRAPEZOID, place(t / broad, ASPECTS), (narrow - NARROW_FACE) / (1.0 - NARROW_FACE))
            }
        };
        shape * self.area().powi(4) / (4.0 * PI * PI * (self.second_moment() + self.second_moment_sideways()))
    }
}

/// A rectangle with sides `a >= b`: Timoshenko & Goodier, Theory of Elasticity, section 109:
/// `J = a b^3 (1/3 - (64/pi^5) (b/a) SUM tanh(n pi a/2b)/n^5)`, n odd.
fn rectangle(a: f64, b: f64) -> f64 {
    // SUM 1/n^5 over odd n is 31/32 zeta(5); what tanh lacks of 1 is below 1e-12 from the fifth term on.
    let whole = 31.0 / 32.0 * 1.036_927_755_143_37;
    let lacking: f64 = [1.0_f64, 3.0, 5.0, 7.0].iter().map(|n| (1.0 - (0.5 * n * PI * a / b).tanh()) / n.powi(5)).sum();
    a * b.powi(3) * (1.0 / 3.0 - 64.0 / PI.powi(5) * b / a * (whole - lacking))
}

/// Where `aspect` lies between the limits, 0..1, in the measure `aspect/(1 + aspect)` that is even at both ends.
fn place(aspect: f64, limits: [f64; 2]) -> f64 {
    let even = |r: f64| r / (1.0 + r);
    ((even(aspect) - even(limits[0])) / (even(limits[1]) - even(limits[0]))).clamp(0.0, 1.0)
}

/// A Chebyshev series at `u` in 0..1, by Clenshaw's recurrence.
fn line(coefficients: &[f64], u: f64) -> f64 {
    let x = 2.0 * u - 1.0;
    let (mut b1, mut b2) = (0.0, 0.0);
    for c in coefficients.iter().skip(1).rev() {
        (b1, b2) = (2.0 * x * b1 - b2 + c, b1);
    }
    coefficients.first().map_or(0.0, |c| c + x * b1 - b2)
}

/// A product Chebyshev series at `(u, v)`, both in 0..1: one row of coefficients in `v` for each degree in `u`.
fn surface<const N: usize, const M: usize>(coefficients: &[[f64; M]; N], u: f64, v: f64) -> f64 {
    line(&coefficients.map(|row| line(&row, v)), u)
}
