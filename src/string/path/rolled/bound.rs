//! How far out the rolled surface may come, without rolling anything.

use super::CELL;
use crate::tip::TipSolid;

/// How far out the rolled surface may come, by place along `a`: a bound that costs nothing where the string is well clear.
#[derive(Debug, Clone)]
pub struct Bound {
    from: f64,
    most: Vec<f64>,
}

impl Bound {
    /// For a ball of radius `r` from `from` to `to`, m.
    pub fn new(solid: &TipSolid, r: f64, from: f64, to: f64) -> Self {
        let n = ((to - from) / CELL).ceil().max(1.0) as usize;
        let most = (0..n)
            .map(|i| {
                let a = from + CELL * i as f64;
                // A ball's middle is at most its radius farther out than where it touches, and no farther along.
                solid.within(a - r, (a + CELL + r).min(solid.end)) + r
            })
            .collect();
        Bound { from, most }
    }

    /// The farthest out that the ball's middle can be at `a`, m.
    pub fn at(&self, a: f64) -> f64 {
        let i = ((a - self.from) / CELL).max(0.0) as usize;
        self.most.get(i).copied().unwrap_or(f64::INFINITY)
    }
}
