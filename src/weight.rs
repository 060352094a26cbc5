//! Coming down in weight: from what the scale said to what it will say, and how much wood that is.

pub mod columns;
pub mod plan;

use crate::design::SectionForm;
use crate::numerics::monotone::Monotone;
use crate::section::Section;

/// Weight by simple proportion, N: `weight x wanted / measured`, both draws (m) taken whole.
///
/// Common practice, no source. It takes the draw curve for a straight line from no draw at all; the computed curve starts
/// at brace height, so the two differ: the simple proportion changes too little for each inch.
pub fn by_proportion(weight: f64, measured_draw: f64, wanted_draw: f64) -> f64 {
    weight * wanted_draw / measured_draw
}

/// A bow's draw curve: force by draw, for limbs of some stiffness.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawCurve {
    curve: Monotone,
    ends: [f64; 2],
}

/// What the draw curve makes of readings on a scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Foretold {
    /// Weight at the wanted draw, N.
    pub weight: f64,
    /// What the curve's forces must be multiplied by to meet the readings: the limbs' stiffness over the curve's.
    pub factor: f64,
    /// Largest difference between a reading and the scaled curve, N: how well the computed bow is the measured one.
    pub misfit: f64,
}

impl DrawCurve {
    /// Through (draw in m, force in N), draws rising, the braced bow with force 0 first. None for fewer than two points or
    /// draws that do not rise.
    pub fn through(points: &[(f64, f64)]) -> Option<Self> {
        let sound = points.len() >= 2
            && points.windows(2).all(|w| w[0].0 < w[1].0)
            && points.iter().all(|p| p.0.is_finite() && p.1.is_finite());
        sound.then(|| DrawCurve {
            curve: Monotone::through(points.iter().copied()),
            ends: [points[0].0, points[points.len() - 1].0],
        })
    }

    /// Least and greatest draw, m.
    pub fn ends(&self) -> [f64; 2] {
        self.ends
    }

    /// Force at a draw, N. None beyond the curve's ends (a hair is allowed for rounding).
    pub fn at(&self, draw: f64) -> Option<f64> {
        let hair = 1e-9 * self.ends[1].abs();
        (draw >= self.ends[0] - hair && draw <= self.ends[1] + hair).then(|| self.curve.at(draw))
    }

    /// Weight at `wanted` (m) from readings (draw in m, weight in N): the curve scaled to them as a whole, least squares.
    /// None when a draw lies beyond the curve, or no reading lies past brace.
    pub fn foretell(&self, readings: &[(f64, f64)], wanted: f64) -> Option<Foretold> {
        let forces = readings.iter().map(|r| self.at(r.0)).collect::<Option<Vec<f64>>>()?;
        let square: f64 = forces.iter().map(|f| f * f).sum();
        let product: f64 = forces.iter().zip(readings).map(|(f, r)| f * r.1).sum();
        if square <= 0.0 || product <= 0.0 {
            return None;
        }
        let factor = product / square;
        let misfit = forces.iter().zip(readings).map(|(f, r)| (factor * f - r.1).abs()).fold(0.0, f64::max);
        Some(Foretold { weight: factor * self.at(wanted)?, factor, misfit })
    }
}

/// The factors on the upper and the lower limb's stiffness that together bring the bow's weight by `factor`.
///
/// `upper_share` is the upper limb's part of the change: one half keeps the tiller, more takes more from the upper limb.
/// To first order a bow's weight goes with the root of both limbs' stiffnesses multiplied; with equal shares it is exact.
/// [`plan::plan`] corrects the rest on the whole bow.
pub fn shared(factor: f64, upper_share: f64) -> (f64, f64) {
    (factor.powf(2.0 * upper_share), factor.powf(2.0 * (1.0 - upper_share)))
}

/// What must come off a section's thickness, m, so that its bending stiffness changes by `factor` (0 to 1).
///
/// For all forms but the rounded rectangle stiffness goes with the cube of the thickness (the cube law), so this is
/// `t (1 - factor^(1/3))`; a rounded rectangle's corners keep their radius and change the law a little.
pub fn off_thickness(section: &Section, factor: f64) -> f64 {
    section.thickness - size_for(section, factor, |t| Section { thickness: t, ..*section }, section.thickness)
}

/// What must come off a section's width, both sides together, m, so that its bending stiffness changes by `factor` (0 to 1).
///
/// Stiffness goes with the width (the linear law); a rounded rectangle's corners change it a little. A bow loses three times as much
/// from a tenth off the thickness as from a tenth off the width.
pub fn off_width(section: &Section, factor: f64) -> f64 {
    section.width - size_for(section, factor, |w| Section { width: w, ..*section }, section.width)
}

/// The corner radius, m, that brings a rectangle's (or rounded rectangle's) bending stiffness by `factor` (0 to 1).
/// None for other forms, and when rounding as far as it goes does not take off enough.
pub fn rounded_corner(section: &Section, factor: f64) -> Option<f64> {
    let most = 0.5 * section.width.min(section.thickness);
    if !matches!(section.form, SectionForm::Rectangle | SectionForm::RoundedRectangle { .. }) {
        return None;
    }
    let with = |corner| Section { form: SectionForm::RoundedRectangle { corner }, ..*section }.second_moment();
    let wanted = factor * section.second_moment();
    if !(with(most)..=with(section.corner())).contains(&wanted) {
        return None;
    }
    // The second moment falls all the way as the corner grows.
    let (mut low, mut high) = (section.corner(), most);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if with(middle) > wanted { low = middle } else { high = middle }
    }
    Some(0.5 * (low + high))
}

/// The size up to `now` at which the second moment is `factor` times what it is.
fn size_for(section: &Section, factor: f64, with: impl Fn(f64) -> Section, now: f64) -> f64 {
    // What is not to change keeps its size to the last digit.
    if factor == 1.0 {
        return now;
    }
    let wanted = factor * section.second_moment();
    let (mut low, mut high) = (0.0, now);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if with(middle).second_moment() > wanted { high = middle } else { low = middle }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests;
