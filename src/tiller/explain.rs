//! What explains measured distances: nothing amiss, one whole limb, one stretch, or a taper; and whether anything does.
//!
//! Causes are compared by Schwarz's criterion, `m ln(mean square left) + k ln m` for `m` distances and `k` free figures (G. Schwarz,
//! Estimating the dimension of a model, Annals of Statistics 6, 1978; from memory): the least is told. A cause with more free figures must
//! leave so much less that it pays for them, so the simpler one is told where both do as well. What is left is judged by itself, not by the
//! stated noise: beside a generous one everything would fit.

use super::fit::{Fit, Fitted, no_such_bow};
use crate::bow::bracing::RestingBow;
use crate::design::{Both, Side};
use crate::fault::Fault;

/// One limb that is softer or stiffer than the other from end to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WholeLimb {
    /// Limb.
    pub side: Side,
    /// Factor on its stiffness, against the other limb.
    pub factor: f64,
    /// The truth lies within this much of the factor 19 times in 20.
    pub within: f64,
    /// Root mean square of what is left, m.
    pub left: f64,
}

/// One stretch that is weaker or stiffer than the rest; ranges hold the truth 19 times in 20, whatever the other two figures are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Limb.
    pub side: Side,
    /// Its middle, m from the end of the stiff handle.
    pub at: f64,
    /// Least and greatest `at`, m.
    pub at_range: [f64; 2],
    /// How far to either side it fades to nothing, m.
    pub reach: f64,
    /// Least and greatest `reach`, m.
    pub reach_range: [f64; 2],
    /// Factor on the stiffness in its middle, if it reaches `reach`: 0.9 is a tenth weak.
    pub factor: f64,
    /// Least and greatest `factor`.
    pub factor_range: [f64; 2],
    /// Root mean square of what is left, m.
    pub left: f64,
}

/// What the distances are best explained by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cause {
    /// Nothing stands out of the noise.
    AsDesigned,
    /// One limb as a whole.
    Limb(WholeLimb),
    /// One stretch.
    Stretch(Stretch),
    /// The taper that was handed in.
    Taper,
}

/// The best cause, and another that is nearly as good.
#[derive(Debug, Clone, PartialEq)]
pub struct Explained {
    /// The best.
    pub cause: Cause,
    /// A whole limb or a taper where a stretch is the best, or a stretch where a limb is: one whose criterion does not tell it from the best.
    pub rival: Option<Cause>,
    /// Why a stretch that does nearly as well as the whole limb has no place.
    pub unplaced: Option<Fault>,
    /// One limb as a whole against the other, whether it stands out or not.
    pub limb: Option<WholeLimb>,
    /// So few distances that a whole limb is not told from a stretch.
    pub few: bool,
    /// What some cause leaves, m, that would stand out were the distances as sure as that and not only as stated.
    pub hidden: Option<f64>,
}

impl Explained {
    /// Whether its factors are to be written into a design: not those that speak of something else, or that so few distances do not tell.
    pub fn to_write(&self, taper: Option<&Fitted>) -> bool {
        !self.few
            && match (self.cause, taper) {
                (Cause::AsDesigned, _) | (Cause::Taper, None) => false,
                (Cause::Limb(l), _) => !is_seldom(l.factor),
                (Cause::Stretch(s), _) => !is_seldom(s.factor),
                (Cause::Taper, Some(fitted)) => !is_any_seldom(fitted),
            }
    }
}

/// Whether a factor is farther off than wood alone makes it.
pub fn is_seldom(factor: f64) -> bool {
    (factor - 1.0).abs() > SELDOM
}

/// Whether any factor of a taper is.
pub fn is_any_seldom(taper: &Fitted) -> bool {
    Side::BOTH.iter().any(|&side| taper.factor.get(side).iter().any(|f| is_seldom(*f)))
}

/// Factors farther from 1 than this are told with a caution: wood within one bow seldom differs so much (common practice, no source).
const SELDOM: f64 = 0.3;

/// A cause that betters the fit by fewer standard deviations than this is not told from noise.
const STANDS_OUT: f64 = 4.0;
/// Distances are not read more exactly than this, m: what is left below it says nothing (common practice, no source).
const READ_TO: f64 = 1e-4;
/// What a cause may leave, in times of what limbs free all along leave, and still be the whole explanation.
const ENOUGH: f64 = 1.3;
/// Differences of Schwarz's criterion above these count as strong and very strong (Kass & Raftery, Bayes Factors, Journal of the American
/// Statistical Association 90, 1995; from memory).
const STRONG: f64 = 6.0;
const VERY_STRONG: f64 = 10.0;
/// Steps into which each limb is divided.
const STEPS: usize = 20;
/// A stretch takes three figures; fewer distances than this do not tell them.
const FEWEST_FOR_STRETCH: usize = 8;

/// Places all along the limbs of which something was measured, m from the end of the stiff handle.
pub fn all_along(bow: &RestingBow, measured: impl Fn(Side) -> bool) -> Both<Vec<f64>> {
    Both::build(|side| {
        let length = bow.limbs.get(side).length();
        if measured(side) { (0..=STEPS).map(|k| length * k as f64 / STEPS as f64).collect() } else { Vec::new() }
    })
}

/// The distances' change with the stiffness all along the limbs.
pub struct Along<'a> {
    fit: Fit<'a>,
    lack: Vec<f64>,
    columns: Vec<Vec<f64>>,
}

/// A straight way from the design: by how much, and what it leaves.
struct Way {
    amount: f64,
    /// Square of the distances' change with the amount.
    square: f64,
    left: f64,
}

impl<'a> Along<'a> {
    /// `fit.places` as from [`all_along`].
    ///
    /// # Errors
    /// What keeps the bow from being braced or drawn.
    pub fn of(fit: Fit<'a>) -> Result<Self, Fault> {
        let (lack, columns) = super::fit::linearised(&fit)?;
        Ok(Along { fit, lack, columns })
    }

    /// What the distances are best explained by; `taper` is one that was fitted.
    ///
    /// # Errors
    /// When two stretches apart from each other explain them as well, or none of the causes does.
    pub fn cause(&self, taper: Option<&Fitted>) -> Result<Explained, Fault> {
        let m = self.lack.len();
        let few = m < FEWEST_FOR_STRETCH;
        let only = |cause, limb| Explained { cause, rival: None, unplaced: None, limb, few, hidden: None };
        let as_designed = |limb| Ok(only(Cause::AsDesigned, limb));
        if m == 0 {
            return as_designed(None);
        }
        let own = self.rms(&self.lack);
        let score = |left: f64, figures: f64| {
            m as f64 * (left * left + READ_TO * READ_TO).ln() + figures * (m as f64).ln().max(1.0)
        };
        let side = if self.fit.places.upper.is_empty() { Side::Lower } else { Side::Upper };
        let whole = self.way(&self.whole(side)).ok();
        let stretch = if few { None } else { self.stretch(own) };
        let taper_figures = taper.map_or(0, |t| {
            let all = t.factor.upper.len() + t.factor.lower.len();
            if t.factor.upper.is_empty() || t.factor.lower.is_empty() { all } else { all - 1 }
        });
        // Simpler ones first: the first of equals is taken.
        let left = [
            Some((own, 0)),
            whole.as_ref().map(|w| (w.left, 1)),
            stretch.as_ref().map(|s| (s.0, 3)),
            taper.filter(|_| m > 2 * taper_figures).map(|t| (t.left, taper_figures)),
        ];
        let scores = left.map(|l| l.map_or(f64::INFINITY, |(left, k)| score(left, k as f64)));
        let best = (0..scores.len()).min_by(|&a, &b| scores[a].total_cmp(&scores[b])).unwrap_or(0);
        let limb = whole.as_ref().map(|way| {
            let factor = way.amount.exp();
            let within = 2.0 * factor * self.sigma(way.left, 1) / way.square.sqrt();
            WholeLimb { side, factor, within, left: way.left }
        });
        let Some((least, figures)) = left[best] else { return as_designed(limb) };
        let sigma = self.sigma(least, figures);
        // Of a taper a single place may stand out where the whole does not.
        let placed = taper.is_some_and(Fitted::has_a_sure_place);
        if best == 0 || (own * own - least * least) * m as f64 / (sigma * sigma) < STANDS_OUT * STANDS_OUT {
            if best != 0 && placed {
                return Ok(only(Cause::Taper, limb));
            }
            // A generous sureness hides what the distances themselves would tell.
            let hidden = best != 0 && (own * own - least * least) * m as f64 > (STANDS_OUT * least).powi(2) && !few;
            return Ok(Explained { hidden: hidden.then_some(least), ..only(Cause::AsDesigned, limb) });
        }
        self.refuse_more_than_one(least, scores[best], score)?;
        let near = |other: usize| scores[other] - scores[best] < STRONG;
        // A stretch with a place is told before a taper that is hardly better.
        if let (3, true, Some((_, Ok(stretch)))) = (best, near(2), &stretch) {
            return Ok(Explained { rival: Some(Cause::Taper), ..only(Cause::Stretch(*stretch), limb) });
        }
        // A stretch has two figures more: one that does as well is not told from a limb, though the criterion is for the limb.
        let as_well = scores[2] - scores[best] < VERY_STRONG;
        let stretch = stretch.filter(|_| as_well).map(|(_, found)| found);
        Ok(match (best, limb.filter(|_| near(1)), stretch) {
            (1, Some(l), Some(Ok(stretch))) => {
                Explained { rival: Some(Cause::Stretch(stretch)), ..only(Cause::Limb(l), limb) }
            }
            (2, rival, Some(Ok(stretch))) => {
                Explained { rival: rival.map(Cause::Limb), ..only(Cause::Stretch(stretch), limb) }
            }
            // A stretch without a place leaves the limb it may lie on.
            (1 | 2, Some(l), Some(Err(unplaced))) => {
                Explained { unplaced: Some(unplaced), ..only(Cause::Limb(l), limb) }
            }
            (2, None, Some(Err(unplaced))) => return Err(unplaced),
            (1, Some(l), None) => only(Cause::Limb(l), limb),
            _ => only(Cause::Taper, limb),
        })
    }

    fn refuse_more_than_one(&self, left: f64, own: f64, score: impl Fn(f64, f64) -> f64) -> Result<(), Fault> {
        match self.free(None) {
            Ok(free)
                if left > ENOUGH * free.left.max(READ_TO) && score(free.left, free.figures) + VERY_STRONG < own =>
            {
                let small = |m: f64| self.fit.wording.small(m);
                Err(Fault::at(
                    "tiller",
                    format!(
                        "neither one whole limb, one stretch nor a taper at so few places explains the distances: {} are left on the whole",
                        small(left)
                    ),
                    format!("limbs that differ in more than one place would leave {}", small(free.left)),
                )
                .cure("check the brace height, the draws and the unstrung profile; and measure at more stations"))
            }
            _ => Ok(()),
        }
    }

    fn whole(&self, side: Side) -> Vec<f64> {
        let (upper, lower) = (self.fit.places.upper.len(), self.fit.places.lower.len());
        let is = |own: bool| if own { 1.0 } else { 0.0 };
        [vec![is(side == Side::Upper); upper], vec![is(side == Side::Lower); lower]].concat()
    }

    fn column(&self, direction: &[f64]) -> Vec<f64> {
        let mut sum = vec![0.0; self.lack.len()];
        for (d, column) in direction.iter().zip(&self.columns).filter(|(d, _)| **d != 0.0) {
            sum.iter_mut().zip(column).for_each(|(s, c)| *s += d * c);
        }
        sum
    }

    /// Measured less computed distances with factors `exp(c)`, m.
    fn lacking(&self, c: &[f64]) -> Result<Vec<f64>, Fault> {
        let here = self.fit.distances(c)?;
        Ok(self.fit.lacking(&here).collect())
    }

    fn rms(&self, lack: &[f64]) -> f64 {
        (dot(lack, lack) / lack.len().max(1) as f64).sqrt()
    }

    /// The noise that ranges are worked out with: as stated, or as what is left shows where that is more.
    fn sigma(&self, left: f64, figures: usize) -> f64 {
        let m = self.lack.len();
        self.fit.noise.max(left * (m as f64 / m.saturating_sub(figures).max(1) as f64).sqrt())
    }

    /// The best amount along `direction`: the distances are nearly linear in it, so a few secant rounds end at rounding.
    fn way(&self, direction: &[f64]) -> Result<Way, Fault> {
        let column = self.column(direction);
        let square = dot(&column, &column).max(1e-30);
        let mut amount = (dot(&column, &self.lack) / square).clamp(-1.5, 1.5);
        let mut left = 0.0;
        for _ in 0..5 {
            let c: Vec<f64> = direction.iter().map(|d| d * amount).collect();
            let lack = self.lacking(&c).map_err(no_such_bow)?;
            left = self.rms(&lack);
            let more = dot(&column, &lack) / square;
            amount += more.clamp(-0.5, 0.5);
            if more.abs() < 1e-5 {
                break;
            }
        }
        Ok(Way { amount, square, left })
    }
}

fn other(side: Side) -> Side {
    if side == Side::Upper { Side::Lower } else { Side::Upper }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

mod free;
mod misfit;
mod stretch;
#[cfg(test)]
mod tests;
