//! What limbs leave whose stiffness is free all along: as much as any limbs explain.

use super::misfit::Measure;
use super::{Along, STEPS, dot};
use crate::fault::Fault;
use crate::numerics::cholesky::Cholesky;
use crate::tiller::fit::{no_such_bow, prior, unclear_as_a_whole};

/// What limbs free all along leave.
pub(super) struct Free {
    /// Root mean square of what is left, m.
    pub(super) left: f64,
    /// How many free figures they are worth: the trace of the matrix that turns distances into fitted ones.
    pub(super) figures: f64,
    /// What was free beside them, and how sure it is, m.
    pub(super) beside: [f64; 2],
}

impl Along<'_> {
    /// Least squares with the stiffness free all along, held only by how far neighbouring places are thought to differ; and with
    /// a measure beside them, which the distances change with as its column says.
    pub(super) fn free(&self, beside: Option<(Measure, &[f64])>) -> Result<Free, Fault> {
        /// How far off a measure is thought to be before anything is measured, m.
        const OFF: f64 = 0.02;
        let n = self.columns.len();
        let mut held = prior(self.fit.places);
        // Thought to differ as much over a third of the limb, in many small steps.
        held.iter_mut().flatten().for_each(|v| *v *= STEPS as f64 / 3.0);
        let mut columns = self.columns.clone();
        if let Some((_, column)) = beside {
            held.iter_mut().for_each(|row| row.push(0.0));
            let mut own = vec![0.0; n];
            own.push(1.0 / (OFF * OFF));
            held.push(own);
            columns.push(column.to_vec());
        }
        let weight = 1.0 / (self.fit.noise * self.fit.noise);
        let size = columns.len();
        let mut normal = held.clone();
        let mut told = vec![vec![0.0; size]; size];
        for a in 0..size {
            for b in 0..=a {
                told[a][b] = weight * dot(&columns[a], &columns[b]);
                told[b][a] = told[a][b];
            }
            (0..size).for_each(|b| normal[a][b] += told[a][b]);
        }
        for a in 0..size {
            for b in 0..a {
                normal[b][a] = held[b][a] + told[b][a];
                normal[a][b] = normal[b][a];
            }
        }
        let factors = Cholesky::of(&normal).ok_or_else(unclear_as_a_whole)?;
        let mut c = vec![0.0; size];
        let mut lack = self.lack.clone();
        for _ in 0..4 {
            let right: Vec<f64> = (0..size).map(|a| weight * dot(&columns[a], &lack) - dot(&held[a], &c)).collect();
            factors.solve(&right).iter().zip(&mut c).for_each(|(d, c)| *c += d.clamp(-0.5, 0.5));
            lack = match (beside, c.get(n)) {
                (Some((measure, _)), Some(by)) => self.lacking_with(&c[..n], measure, *by),
                _ => self.lacking(&c),
            }
            .map_err(no_such_bow)?;
        }
        let inverse = factors.inverse();
        let figures = (0..size).map(|a| dot(&inverse[a], &told[a])).sum();
        let beside = c.get(n).map_or([0.0; 2], |by| [*by, inverse[n][n].max(0.0).sqrt()]);
        Ok(Free { left: self.rms(&lack), figures, beside })
    }
}
