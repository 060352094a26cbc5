//! Measured distances that are of another bow, or measured otherwise than the design says: no stiffness is to be read from them.

use super::{Along, FEWEST_FOR_STRETCH, dot};
use crate::design::Bracing;
use crate::fault::Fault;
use crate::tiller::fit::{Measured, no_limbs};
use crate::units::plain_length_text;

/// Measured distances that leave more than this many times their stated noise, whatever the limbs, are of another bow.
const MISFIT: f64 = 2.0;
/// A measure that the distances put farther off than so many standard deviations, and than changes them by so many times the noise, is wrong.
const SURE: f64 = 5.0;
const SEEN: f64 = 0.6;
/// By how much a measure is changed to see how the distances follow, m.
const STEP: f64 = 2e-3;

/// A measure that may be wrong as a whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Measure {
    /// The brace height.
    Brace,
    /// All draws alike.
    Draw,
    /// All distances alike.
    Distance,
}

impl Measure {
    const ALL: [Self; 3] = [Self::Brace, Self::Draw, Self::Distance];
}

impl Along<'_> {
    /// Why no limbs explain the distances, if none do: a measure that is wrong, or something else.
    pub fn misfit(&self) -> Option<Fault> {
        let noise = self.fit.noise;
        if !matches!(self.fit.bracing, Bracing::Height(_)) || self.fit.measured.len() < FEWEST_FOR_STRETCH {
            return None;
        }
        let alone = self.free(None).ok()?;
        let none = vec![0.0; self.columns.len()];
        let mut best: Option<(Measure, f64, f64, f64)> = None;
        for measure in Measure::ALL {
            // A measure that cannot be moved, such as a draw to the bow's last, is not looked at.
            let moved = [STEP, -STEP].map(|by| self.lacking_with(&none, measure, by));
            let [Ok(ahead), Ok(behind)] = moved else { continue };
            let column: Vec<f64> = ahead.iter().zip(&behind).map(|(a, b)| (b - a) / (2.0 * STEP)).collect();
            // Nothing measured on the braced bow says nothing of its height; braced bows alone say nothing of draws.
            if measure == Measure::Brace && self.fit.measured.iter().all(|m| m.draw.is_some()) {
                continue;
            }
            if dot(&column, &column) < 1e-9 {
                continue;
            }
            let Ok(with) = self.free(Some((measure, &column))) else { continue };
            let [by, sure] = with.beside;
            let sure = sure * (with.left / noise).max(1.0);
            let stands_out = by.abs() > SURE * sure && by.abs() * self.rms(&column) > SEEN * noise;
            if stands_out && with.left <= MISFIT * noise && best.is_none_or(|(_, left, ..)| with.left < left) {
                best = Some((measure, with.left, by, sure));
            }
        }
        match best {
            Some((measure, _, by, sure)) => Some(self.wrong(measure, by, sure)),
            None if alone.left > MISFIT * noise => Some(no_limbs(&self.fit, alone.left)),
            None => None,
        }
    }

    /// Measured less computed distances with factors `exp(c)`, and a measure taken to be off by so much, m.
    pub(super) fn lacking_with(&self, c: &[f64], measure: Measure, by: f64) -> Result<Vec<f64>, Fault> {
        let mut fit = self.fit.clone();
        let drawn: Vec<_>;
        match (measure, &mut fit.bracing) {
            (Measure::Brace, Bracing::Height(height)) => *height += by,
            (Measure::Draw, _) => {
                drawn = fit.measured.iter().map(|m| Measured { draw: m.draw.map(|d| d + by), ..*m }).collect();
                fit.measured = &drawn;
            }
            _ => {}
        }
        let here = fit.distances(c)?;
        let shift = if measure == Measure::Distance { by } else { 0.0 };
        Ok(fit.lacking(&here).map(|lack| lack - shift).collect())
    }

    fn wrong(&self, measure: Measure, by: f64, sure: f64) -> Fault {
        let text = |m: f64| plain_length_text(m, self.fit.wording.units);
        let give = format!("give or take {}", self.fit.wording.small(2.0 * sure));
        let more = if by > 0.0 { "more" } else { "less" };
        let (what, cure) = match (measure, self.fit.bracing) {
            (Measure::Brace, Bracing::Height(height)) => (
                format!(
                    "the distances are those of a bow braced about {} high, {give}; the file's is braced {}",
                    text(height + by),
                    text(height)
                ),
                "measure the brace height again and write it into the file; if it is right, check handle_depth and the unstrung profile",
            ),
            (Measure::Draw, _) => (
                format!(
                    "the distances are those of a bow drawn about {} {more} than was written, {give}",
                    text(by.abs())
                ),
                "check the draws, from where they are measured (draw_to), and the brace height",
            ),
            _ => (
                format!("all distances are about {} {more} than those of any such limbs, {give}", text(by.abs())),
                "measure from the middle of the string, square to it, to the belly's face",
            ),
        };
        let why = "a wrong measure changes all distances, and stiffness found from them would be false";
        Fault::at("tiller", what, why).cure(cure)
    }
}
