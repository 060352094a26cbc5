//! Measured distances that do not belong to the others: a slipped decimal, a wrong unit, a reading off another place.

use super::fit::{Fit, Measured, linearised, prior};
use crate::fault::Fault;
use crate::numerics::cholesky::Cholesky;

/// A measured distance that the others contradict.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stray {
    /// Which of the measured distances.
    pub index: usize,
    /// What it should be about, m: by the other distances, or by the design where a figure has slipped.
    pub about: f64,
    /// How the figure looks to have slipped, if it does.
    pub slip: Option<Slip>,
}

/// How a figure was written wrongly.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Slip {
    /// Its decimal point is one or two places off.
    Decimal,
    /// Millimetres written for inches, or inches for millimetres.
    Unit,
}

/// A distance counts as slipped where it is this many times the expected one (or this part of it).
const SLIPS: [(f64, Slip); 3] = [(10.0, Slip::Decimal), (100.0, Slip::Decimal), (25.4, Slip::Unit)];
/// What the figure set right may differ from the expected distance by, as a part: limbs are nearer to their design than that. Common
/// practice, no source.
const NEAR: f64 = 0.25;
/// A slip is looked for only where it moves the distance by more than this, m: close to the tip all distances are small.
const SEEN: f64 = 0.01;
/// Standard deviations off what the other distances say from which a distance is a stray: of a normal error 1 in 2 million.
const STRAYS: f64 = 5.0;
/// At most this part of the distances, and one in any case, is taken for strays; with more there is something else amiss.
const MOST: f64 = 0.1;
/// Fewer distances than this contradict nothing.
const FEWEST: usize = 4;
/// With the strays left out, what is left may be this many times the stated noise: with more no single reading is to blame.
const FITS: f64 = 3.0;

/// Distances that are far from what the design expects and near it once a decimal or unit is set right.
pub fn slipped(measured: &[Measured], expected: &[f64]) -> Vec<Stray> {
    let slip = |(index, (m, e)): (usize, (&Measured, &f64))| {
        if *e < SEEN {
            return None;
        }
        SLIPS.iter().find_map(|&(times, slip)| {
            let right = [m.distance / times, m.distance * times];
            let about = right.into_iter().find(|d| (d / e - 1.0).abs() < NEAR && (d - m.distance).abs() > SEEN)?;
            Some(Stray { index, about, slip: Some(slip) })
        })
    };
    measured.iter().zip(expected).enumerate().filter_map(slip).collect()
}

/// Refuses distances of which so many have slipped that no single figure is to blame.
///
/// # Errors
/// A fault about `tiller.measured` for more than one in ten (and more than one).
pub fn refuse_many(slipped: &[Stray], of: usize) -> Result<(), Fault> {
    if slipped.len() <= ((MOST * of as f64) as usize).max(1) {
        return Ok(());
    }
    let unit = slipped.iter().filter(|s| s.slip == Some(Slip::Unit)).count();
    let what = format!("{} of the {of} measured distances are many times off what the design expects", slipped.len());
    let why = if 2 * unit > slipped.len() {
        "they would be near it with inches for millimetres, or the other way round"
    } else {
        "they would be near it with their decimal point moved, as when centimetres are written as millimetres"
    };
    Err(Fault::at("tiller.measured", what, why).cure("check the unit of the distances"))
}

/// Distances that the others contradict by more than `STRAYS` standard deviations, the worst first; none where leaving them out does not make
/// the rest fit, for then no reading by itself is to blame.
///
/// Each is judged by a fit to all the others: in a linear fit the residual without it is its own over 1 less its leverage
/// (Cook & Weisberg, Residuals and Influence in Regression, 1982, ch. 2; from memory).
///
/// # Errors
/// What keeps the bow from being braced or drawn.
pub fn strays(fit: &Fit) -> Result<Vec<Stray>, Fault> {
    if fit.measured.len() < FEWEST {
        return Ok(Vec::new());
    }
    let (lack, columns) = linearised(fit)?;
    let prior = prior(fit.places);
    let most = ((MOST * lack.len() as f64) as usize).max(1);
    let mut kept: Vec<usize> = (0..lack.len()).collect();
    let mut found: Vec<Stray> = Vec::new();
    loop {
        let Some(residuals) = residuals(&kept, &lack, &columns, &prior, fit.noise) else { return Ok(Vec::new()) };
        let worst = residuals.iter().enumerate().max_by(|a, b| a.1.score().total_cmp(&b.1.score()));
        let Some((k, worst)) = worst else { return Ok(Vec::new()) };
        let rest: f64 = residuals.iter().map(|r| r.own * r.own).sum::<f64>() - worst.own * worst.score();
        let left = (rest.max(0.0) / (residuals.len() - 1).max(1) as f64).sqrt();
        if worst.score() <= STRAYS * left.max(fit.noise) {
            let all = (residuals.iter().map(|r| r.own * r.own).sum::<f64>() / residuals.len() as f64).sqrt();
            return Ok(if all > FITS * fit.noise { Vec::new() } else { found });
        }
        if found.len() == most {
            return Ok(Vec::new());
        }
        let index = kept.remove(k);
        found.push(Stray { index, about: fit.measured[index].distance - worst.without, slip: None });
    }
}

/// What a linear fit leaves of one distance.
struct Residual {
    /// Of the fit to all, m.
    own: f64,
    /// Of a fit to all the others, m.
    without: f64,
}

impl Residual {
    /// The residual brought to the same spread for all distances, m.
    fn score(&self) -> f64 {
        (self.own * self.without).max(0.0).sqrt()
    }
}

fn residuals(
    kept: &[usize],
    lack: &[f64],
    columns: &[Vec<f64>],
    prior: &[Vec<f64>],
    noise: f64,
) -> Option<Vec<Residual>> {
    let n = columns.len();
    let weight = 1.0 / (noise * noise);
    let mut normal = prior.to_vec();
    let mut right = vec![0.0; n];
    for a in 0..n {
        for b in 0..n {
            normal[a][b] += weight * kept.iter().map(|&i| columns[a][i] * columns[b][i]).sum::<f64>();
        }
        right[a] = weight * kept.iter().map(|&i| columns[a][i] * lack[i]).sum::<f64>();
    }
    let factors = Cholesky::of(&normal)?;
    let (inverse, c) = (factors.inverse(), factors.solve(&right));
    let residual = |&i: &usize| {
        let own = lack[i] - (0..n).map(|a| columns[a][i] * c[a]).sum::<f64>();
        let leverage: f64 =
            (0..n).map(|a| columns[a][i] * (0..n).map(|b| inverse[a][b] * columns[b][i]).sum::<f64>()).sum();
        Residual { own, without: own / (1.0 - weight * leverage).max(1e-9) }
    };
    Some(kept.iter().map(residual).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Made-up distances on a line: what a fit to all others leaves of one, by hand of another fit without it.
    #[test]
    fn leaving_one_out_is_a_fit_to_the_others() {
        let columns = [
            (0..9).map(|i| 1.0 + 0.1 * f64::from(i)).collect::<Vec<f64>>(),
            (0..9).map(|i| (0.7 * f64::from(i)).sin()).collect(),
        ];
        let lack: Vec<f64> = (0..9).map(|i| 0.3 * f64::from(i) - 0.02 * f64::from(i * i)).collect();
        let prior = vec![vec![2.0, -0.5], vec![-0.5, 1.0]];
        let noise = 0.5;
        let all: Vec<usize> = (0..9).collect();
        let found = residuals(&all, &lack, &columns, &prior, noise).expect("definite");
        for out in 0..9 {
            let kept: Vec<usize> = all.iter().copied().filter(|i| *i != out).collect();
            // Two equations by Cramer's rule.
            let sum = |a: usize, b: usize| {
                prior[a][b] + kept.iter().map(|&i| columns[a][i] * columns[b][i]).sum::<f64>() / (noise * noise)
            };
            let right = |a: usize| kept.iter().map(|&i| columns[a][i] * lack[i]).sum::<f64>() / (noise * noise);
            let det = sum(0, 0) * sum(1, 1) - sum(0, 1) * sum(1, 0);
            let c = [
                (right(0) * sum(1, 1) - right(1) * sum(0, 1)) / det,
                (right(1) * sum(0, 0) - right(0) * sum(1, 0)) / det,
            ];
            let without = lack[out] - c[0] * columns[0][out] - c[1] * columns[1][out];
            assert!((found[out].without - without).abs() < 1e-12, "{out}: {} {without}", found[out].without);
        }
    }

    #[test]
    fn a_slip_is_told_by_what_sets_it_right() {
        use crate::design::Side;
        let measured = |distance: f64| Measured { draw: None, side: Side::Upper, at: 0.3, distance };
        let slip = |distance: f64, expected: f64| slipped(&[measured(distance)], &[expected]).first().map(|s| s.slip);
        assert_eq!(slip(0.0123, 0.12), Some(Some(Slip::Decimal)));
        assert_eq!(slip(1.2, 0.118), Some(Some(Slip::Decimal)));
        assert_eq!(slip(0.0047, 0.12), Some(Some(Slip::Unit)));
        // Wrong by half, or twice, is no slip; nor is a small distance near the tip.
        assert_eq!(slip(0.06, 0.12), None);
        assert_eq!(slip(0.24, 0.12), None);
        assert_eq!(slip(0.0005, 0.005), None);
    }
}
