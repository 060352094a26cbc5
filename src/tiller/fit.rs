//! The stiffness that measured string distances speak of.
//!
//! Distances tell curvature only through its double sum, so single places are hard to tell: halving their spacing makes each four times less sure.
//! [`fit`] finds a taper at a few places and says how sure each is; [`super::explain`] asks for one whole limb or one stretch, and is far surer.

use super::string_distance;
use crate::bow::bracing::{Braced, RestingBow, brace};
use crate::bow::draw_curve::{BowAtDraw, draw_bow};
use crate::design::{Both, Bracing, DrawTo, Side, Units};
use crate::fault::Fault;
use crate::numerics::cholesky::Cholesky;
use crate::units::{INCH, number_text, plain_length_text};

/// One measured distance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Draw at which it was measured, as the bow's `draw_to` says, m; none for the braced bow.
    pub draw: Option<f64>,
    /// Limb.
    pub side: Side,
    /// Arc length from the end of the stiff handle, m.
    pub at: f64,
    /// Distance as [`string_distance`] states it, m.
    pub distance: f64,
}

/// What a fit starts from.
#[derive(Debug, Clone)]
pub struct Fit<'a> {
    /// The bow as designed.
    pub bow: &'a RestingBow,
    /// What fixes the braced bow.
    pub bracing: Bracing,
    /// How draws are measured.
    pub draw_to: DrawTo,
    /// What was measured.
    pub measured: &'a [Measured],
    /// How sure each distance is: one standard deviation, m.
    pub noise: f64,
    /// Arc lengths (m, rising) at which each limb's stiffness factor is sought; between them it changes evenly, beyond the
    /// outermost it stays as there. None for a limb that is taken as designed; the other's factors are then against it.
    pub places: &'a Both<Vec<f64>>,
    /// How faults tell lengths.
    pub wording: Wording,
}

/// How lengths are told: in the design's units, places from the middle of the bow.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wording {
    /// Units.
    pub units: Units,
    /// Where the stiff handle ends, m from the middle.
    pub start: f64,
}

impl Wording {
    /// A place `s` m from the end of the stiff handle, from the middle.
    pub fn place(self, s: f64) -> String {
        plain_length_text(self.start + s, self.units)
    }

    /// What is left of a distance: to thousandths of an inch, or hundredths of a millimetre.
    pub fn small(self, metres: f64) -> String {
        match self.units {
            Units::Inch => format!("{} in", number_text(metres / INCH, 3)),
            Units::Millimetre => format!("{} mm", number_text(metres * 1e3, 2)),
        }
    }
}

/// The stiffness that fits, as factors on the designed one.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// Factor at each place: 0.9 is a tenth too weak against the design, judged within the bow as a whole, or against the other limb where
    /// that is taken as designed.
    pub factor: Both<Vec<f64>>,
    /// The truth lies within this part of the factor about 19 times in 20: two standard deviations, by the stated noise or by what is left
    /// where that shows more.
    pub within: Both<Vec<f64>>,
    /// Root mean square of what is left between measured and fitted distances, m.
    pub left: f64,
    /// The bow with the fitted stiffness (its stiffness as a whole as designed).
    pub bow: RestingBow,
}

/// A place of a taper is surely off by more than so many times what its factor lies within: three standard deviations.
const PLACE_STANDS_OUT: f64 = 1.5;

impl Fitted {
    /// Whether any single place is surely off; where none is, all of them together may be.
    pub fn has_a_sure_place(&self) -> bool {
        Side::BOTH.into_iter().any(|side| {
            let mut places = self.factor.get(side).iter().zip(self.within.get(side));
            places.any(|(factor, within)| (factor - 1.0).abs() > PLACE_STANDS_OUT * within)
        })
    }
}

/// How far stiffness is taken to stray from the design between neighbouring places before anything is measured:
/// one standard deviation of the factor's logarithm. Smaller smooths the fit more.
const STRAY: f64 = 0.15;
/// A factor less sure than this is refused: a stretch a tenth too weak would not be told from one that is right.
const SURE: f64 = 0.04;
/// Measured distances that leave more than this many times their stated noise are refused: the design is another bow.
const MISFIT: f64 = 3.0;

/// Fits stiffness factors to measured distances: least squares with a prior on how far neighbouring places differ (`STRAY`),
/// Gauss-Newton steps.
///
/// # Errors
/// A fault about `tiller` when there are fewer measured distances on a limb than places sought, when a place lies off the limb, when some
/// factor would be less sure than 4 %, or when no stiffness fits; and whatever keeps the bow from being braced or drawn.
pub fn fit(fit: &Fit) -> Result<Fitted, Fault> {
    refuse_unfit(fit)?;
    let n = fit.places.upper.len() + fit.places.lower.len();
    let m = fit.measured.len() as f64;
    let mut c = vec![0.0; n];
    let prior = prior(fit.places);
    let mut here = fit.distances(&c)?;
    let mut normal = Vec::new();
    for round in 0..8 {
        let columns = fit.jacobian(&c).map_err(|fault| if round > 0 { no_such_bow(fault) } else { fault })?;
        let weight = 1.0 / (fit.noise * fit.noise);
        normal = prior.clone();
        let mut right = vec![0.0; n];
        for a in 0..n {
            for b in 0..n {
                let product: f64 = columns[a].iter().zip(&columns[b]).map(|(x, y)| x * y).sum();
                normal[a][b] += weight * product;
            }
            right[a] = weight * columns[a].iter().zip(fit.lacking(&here)).map(|(x, d)| x * d).sum::<f64>();
            right[a] -= (0..n).map(|b| prior[a][b] * c[b]).sum::<f64>();
        }
        let factors = Cholesky::of(&normal).ok_or_else(unclear_as_a_whole)?;
        let change = factors.solve(&right);
        c.iter_mut().zip(&change).for_each(|(c, d)| *c += d.clamp(-0.5, 0.5));
        here = fit.distances(&c).map_err(no_such_bow)?;
        if round > 0 && change.iter().all(|d| d.abs() < 1e-4) {
            break;
        }
    }
    let covariance = Cholesky::of(&normal).ok_or_else(unclear_as_a_whole)?.inverse();
    let alone = fit.one_limb_alone();
    let mean = if alone { 0.0 } else { c.iter().sum::<f64>() / n as f64 };
    c.iter_mut().for_each(|c| *c -= mean);
    let left = (fit.lacking(&here).map(|d| d * d).sum::<f64>() / m).sqrt();
    let split = |values: Vec<f64>| -> Both<Vec<f64>> {
        let mut upper = values;
        let lower = upper.split_off(fit.places.upper.len());
        Both { upper, lower }
    };
    let sure = |i: usize| if alone { covariance[i][i].max(0.0).sqrt() } else { spread(&covariance, i) };
    let spread = split((0..n).map(sure).collect());
    for side in Side::BOTH {
        let unsure = spread.get(side).iter().zip(fit.places.get(side)).find(|(s, _)| **s > SURE);
        if let Some((s, at)) = unsure {
            return Err(Fault::at(
                "tiller",
                format!(
                    "the {} limb's stiffness {} from the middle cannot be told: only to within {:.1} %, where {:.0} % is asked",
                    side.name(),
                    fit.wording.place(*at),
                    // Never rounded down to the limit itself.
                    (s * 1000.0).ceil() / 10.0,
                    SURE * 100.0
                ),
                "so little bends there, or so few distances were measured beyond it, that other stiffnesses fit as well",
            )
            .cure("measure more distances about it and further out, at full draw; or ask for fewer places, further in"));
        }
    }
    if left > MISFIT * fit.noise {
        return Err(no_limbs(fit, left));
    }
    let shown = left * (m / (m - n as f64).max(1.0)).sqrt();
    let within = spread.map(|each| each.iter().map(|s| 2.0 * s * (shown / fit.noise).max(1.0)).collect());
    Ok(Fitted { bow: fit.stiffened(&c), factor: split(c.iter().map(|c| c.exp()).collect()), within, left })
}

/// No limbs explain the distances: so much (m) is left.
pub(super) fn no_limbs(fit: &Fit, left: f64) -> Fault {
    Fault::at(
        "tiller",
        format!("no stiffness fits the distances: {} are left between them on the whole", fit.wording.small(left)),
        format!("they were stated to be sure to {}", fit.wording.small(fit.noise)),
    )
    .cure("check the brace height, the draws, the unstrung profile, which limb is which, and that distances are square to the string")
}

/// Measured less designed distances, m, and how the distances change with the logarithm of each factor, column by column.
pub(super) fn linearised(fit: &Fit) -> Result<(Vec<f64>, Vec<Vec<f64>>), Fault> {
    let none = vec![0.0; fit.places.upper.len() + fit.places.lower.len()];
    let here = fit.distances(&none)?;
    let columns = fit.jacobian(&none)?;
    Ok((fit.lacking(&here).collect(), columns))
}

/// On the way to the measured distances the bow became one that cannot be braced or drawn: that is no fault of the design.
pub(super) fn no_such_bow(fault: Fault) -> Fault {
    Fault::at(
        "tiller",
        "no stiffness fits the measured distances",
        format!("limbs that would come nearest to them could not be braced or drawn: {}", fault.what),
    )
    .cure("check the figures and units of the distances, their places and draws, and the brace height")
}

/// Standard deviation of a factor against the mean of all: a factor common to all cannot be told and means nothing.
fn spread(covariance: &[Vec<f64>], i: usize) -> f64 {
    let n = covariance.len() as f64;
    let row: f64 = covariance[i].iter().sum::<f64>() / n;
    let all: f64 = covariance.iter().flatten().sum::<f64>() / (n * n);
    (covariance[i][i] - 2.0 * row + all).max(0.0).sqrt()
}

pub(super) fn unclear_as_a_whole() -> Fault {
    Fault::at("tiller", "the measured distances do not tell the stiffness", "their equations have no single answer")
        .cure("measure at more places and at full draw")
}

fn refuse_unfit(fit: &Fit) -> Result<(), Fault> {
    for side in Side::BOTH {
        let (places, length) = (fit.places.get(side), fit.bow.limbs.get(side).length());
        let count = fit.measured.iter().filter(|m| m.side == side).count();
        if count < places.len() {
            let s = if count == 1 { "" } else { "s" };
            return Err(Fault::at(
                "tiller",
                format!("{count} measured distance{s} on the {} limb for {} places", side.name(), places.len()),
                "each place whose stiffness is sought needs at least one measured distance",
            )
            .cure(
                "measure at more stations or draws, or ask for fewer with `places` in [tiller]; or leave this limb's distances out, and \
                 the other is fitted beside this one as designed",
            ));
        }
        let sound = places.windows(2).all(|w| w[0] < w[1])
            && places
                .iter()
                .chain(fit.measured.iter().filter(|m| m.side == side).map(|m| &m.at))
                .all(|at| (0.0..=length).contains(at));
        if !sound || fit.places.upper.is_empty() && fit.places.lower.is_empty() {
            return Err(Fault::at(
                "tiller",
                format!("places on the {} limb do not rise, or lie off the limb", side.name()),
                format!("the limb bends from {} to {}", fit.wording.place(0.0), fit.wording.place(length)),
            ));
        }
    }
    if !(fit.noise > 0.0 && fit.noise.is_finite()) || fit.measured.iter().any(|m| !m.distance.is_finite()) {
        return Err(Fault::at("tiller", "a distance or its sureness is no number above zero", "both are needed"));
    }
    Ok(())
}

/// What is thought before measuring: neighbouring places differ by [`STRAY`], and so does the mean from 0 and one limb from the other.
/// Where only one limb's stiffness is sought there is no such mean: the limb's root is taken to differ by [`STRAY`] from the design.
pub(super) fn prior(places: &Both<Vec<f64>>) -> Vec<Vec<f64>> {
    let (upper, n) = (places.upper.len(), places.upper.len() + places.lower.len());
    let weight = 1.0 / (STRAY * STRAY);
    let mut prior = vec![vec![0.0; n]; n];
    let mut tie = |a: usize, b: usize| {
        prior[a][a] += weight;
        prior[b][b] += weight;
        prior[a][b] -= weight;
        prior[b][a] -= weight;
    };
    (1..n).filter(|&i| i != upper).for_each(|i| tie(i - 1, i));
    if upper > 0 && upper < n {
        tie(0, upper);
    }
    if (upper == 0 || upper == n) && n > 0 {
        prior[0][0] += weight;
        return prior;
    }
    // The mean: a factor common to all is held at 1 firmly, since nothing measured here speaks of it.
    for row in &mut prior {
        row.iter_mut().for_each(|v| *v += 1e3 * weight / (n * n) as f64);
    }
    prior
}

impl Fit<'_> {
    /// Whether one limb is taken as designed.
    fn one_limb_alone(&self) -> bool {
        self.places.upper.is_empty() || self.places.lower.is_empty()
    }

    /// The bow with the logarithms of its stiffness factors `c`, upper limb first.
    fn stiffened(&self, c: &[f64]) -> RestingBow {
        let mut bow = self.bow.clone();
        let (upper, lower) = c.split_at(self.places.upper.len());
        for (side, c) in [(Side::Upper, upper), (Side::Lower, lower)] {
            let places = self.places.get(side);
            let limb = bow.limbs.get_mut(side);
            for (stiffness, s) in limb.stiffness.iter_mut().zip(&limb.s) {
                *stiffness *= evenly(places, c, *s).exp();
            }
        }
        bow
    }

    /// How the distances change with each of `c`, column by column: central differences, since they are nearly linear.
    fn jacobian(&self, c: &[f64]) -> Result<Vec<Vec<f64>>, Fault> {
        const STEP: f64 = 0.02;
        let moved = |j: usize, by: f64| {
            let mut c = c.to_vec();
            c[j] += by;
            self.distances(&c)
        };
        (0..c.len())
            .map(|j| {
                let (ahead, behind) = (moved(j, STEP)?, moved(j, -STEP)?);
                Ok(ahead.iter().zip(&behind).map(|(a, b)| (a - b) / (2.0 * STEP)).collect())
            })
            .collect()
    }

    /// The distances that the bow with factors `exp(c)` would show, in the order of those measured.
    pub(super) fn distances(&self, c: &[f64]) -> Result<Vec<f64>, Fault> {
        let bow = self.stiffened(c);
        let mut draws: Vec<Option<f64>> = self.measured.iter().map(|m| m.draw).collect();
        draws.sort_by(|a, b| a.unwrap_or(0.0).total_cmp(&b.unwrap_or(0.0)));
        draws.dedup();
        let states = bow.free_or_lying(|bow| {
            let braced = brace(bow, self.bracing)?;
            draws.iter().map(|draw| self.state(bow, &braced, *draw)).collect::<Result<Vec<_>, _>>()
        })?;
        Ok(self
            .measured
            .iter()
            .filter_map(|m| {
                let state = draws.iter().position(|d| *d == m.draw).and_then(|k| states.get(k))?;
                Some(string_distance(&bow, state, m.side, m.at))
            })
            .collect())
    }

    /// Measured less computed distances, m.
    pub(super) fn lacking<'b>(&'b self, here: &'b [f64]) -> impl Iterator<Item = f64> + 'b {
        self.measured.iter().zip(here).map(|(m, h)| m.distance - h)
    }

    fn state(&self, bow: &RestingBow, braced: &Braced, draw: Option<f64>) -> Result<BowAtDraw, Fault> {
        let drawn = match draw {
            Some(draw) => draw_bow(bow, braced, self.draw_to, draw, 1)?.at_full_draw().clone(),
            None => draw_bow(bow, braced, self.draw_to, 0.0, 0)?.at_brace().clone(),
        };
        Ok(drawn)
    }
}

/// Straight between the places, level beyond them.
fn evenly(places: &[f64], values: &[f64], at: f64) -> f64 {
    let i = places.partition_point(|&p| p <= at);
    match (i.checked_sub(1), places.get(i)) {
        (None, _) => values.first().copied().unwrap_or(0.0),
        (Some(k), None) => values[k],
        (Some(k), Some(next)) => values[k] + (values[i] - values[k]) * (at - places[k]) / (next - places[k]),
    }
}

#[cfg(test)]
pub(super) mod tests;
