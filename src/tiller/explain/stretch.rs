//! The one stretch that explains measured distances best, and how surely its place, length and amount are told.

use super::{Along, READ_TO, Stretch, dot, other};
use crate::design::Side;
use crate::fault::Fault;

/// Where the middle of a stretch is looked for, as parts of the bending limb: near the tip hardly anything bends.
const MIDDLES: [f64; 2] = [0.02, 0.9];
const MIDDLE_STEPS: usize = 44;
/// How far a stretch may reach to either side, as parts of the bending limb.
const REACHES: [f64; 2] = [0.08, 0.4];
const REACH_STEPS: usize = 9;
/// How far a stretch's factor is thought to stray before anything is measured: one standard deviation of its logarithm.
const STRAY: f64 = 0.2;
/// A stretch whose middle is not told to within this part of the limb is not named.
const PLACED: f64 = 0.5;
/// The part of the likelihood that may lie outside of a range, or on the other limb.
const OUTSIDE: f64 = 0.05;

impl Along<'_> {
    /// The best single stretch: what it leaves, and the stretch or why it has no place.
    pub(super) fn stretch(&self, own: f64) -> Option<(f64, Result<Stretch, Fault>)> {
        let mut trials: Vec<Trial> = Vec::new();
        for side in Side::BOTH.into_iter().filter(|&side| !self.fit.places.get(side).is_empty()) {
            let length = self.fit.bow.limbs.get(side).length();
            for i in 0..=MIDDLE_STEPS {
                let at = length * (MIDDLES[0] + (MIDDLES[1] - MIDDLES[0]) * i as f64 / MIDDLE_STEPS as f64);
                for k in 0..REACH_STEPS {
                    let part = k as f64 / (REACH_STEPS - 1) as f64;
                    let reach = length * REACHES[0] * (REACHES[1] / REACHES[0]).powf(part);
                    let column = self.column(&self.hat(side, at, reach));
                    trials.push(Trial { side, at, reach, square: dot(&column, &column), column });
                }
            }
        }
        // Distances that stretches near the best would have, were they linear, follow from those of the best.
        let (mut target, mut left) = (self.lack.clone(), own);
        // The best is sought by what is left, not by the stated noise: a generous one would hold amounts small.
        let mut sigma = self.fit.noise.min(own).max(READ_TO);
        for _ in 0..3 {
            let best = trials.iter().min_by(|a, b| a.costs(&target, sigma).total_cmp(&b.costs(&target, sigma)))?;
            let amount = best.amount(&target, sigma);
            let c: Vec<f64> = self.hat(best.side, best.at, best.reach).iter().map(|d| d * amount).collect();
            let lack = self.lacking(&c).ok()?;
            left = self.rms(&lack);
            sigma = left.max(READ_TO);
            target = lack.iter().zip(&best.column).map(|(l, x)| l + amount * x).collect();
        }
        let sigma = self.sigma(left, 3);
        // Each stretch by how likely it is, its amount averaged out: Laplace's integral, exact for a linear amount.
        let least = trials.iter().map(|t| t.costs(&target, sigma)).fold(f64::INFINITY, f64::min);
        let spread = |t: &Trial| (t.square / (sigma * sigma) + 1.0 / (STRAY * STRAY)).sqrt().recip();
        let weights: Vec<f64> =
            trials.iter().map(|t| (-0.5 * (t.costs(&target, sigma) - least)).exp() * spread(t)).collect();
        let all: f64 = weights.iter().sum();
        let on = |side: Side| trials.iter().zip(&weights).filter(move |(t, _)| t.side == side);
        let share = |side: Side| on(side).map(|(_, w)| w).sum::<f64>() / all;
        let side = if share(Side::Upper) >= share(Side::Lower) { Side::Upper } else { Side::Lower };
        let range = |value: &dyn Fn(&Trial) -> Vec<f64>| {
            let each = on(side).flat_map(|(t, w)| {
                let values = value(t);
                let w = w / values.len() as f64;
                values.into_iter().map(move |v| (v, w))
            });
            quantiles(each.collect())
        };
        let at_range = range(&|t| vec![t.at]);
        let reach_range = range(&|t| vec![t.reach]);
        let amount = range(&|t| NORMAL.iter().map(|z| t.amount(&target, sigma) + z * spread(t)).collect());
        let best = on(side).max_by(|a, b| a.1.total_cmp(b.1))?.0;
        if share(other(side)) > OUTSIDE {
            let next = on(other(side)).max_by(|a, b| a.1.total_cmp(b.1))?.0;
            return Some((left, Err(self.open([(side, best.at), (other(side), next.at)]))));
        }
        if at_range[2] - at_range[0] > PLACED * self.fit.bow.limbs.get(side).length() {
            return Some((left, Err(self.open([(side, at_range[0]), (side, at_range[2])]))));
        }
        // The middle of what is likely, and the amount that goes with it.
        let (at, reach) = (at_range[1], reach_range[1]);
        let way = self.way(&self.hat(side, at, reach)).ok()?;
        let factor = way.amount.exp();
        let factor_range = [factor.min(amount[0].exp()), factor.max(amount[2].exp())];
        let ends = |r: [f64; 3]| [r[0], r[2]];
        let (at_range, reach_range) = (ends(at_range), ends(reach_range));
        let found = Stretch { side, at, at_range, reach, reach_range, factor, factor_range, left: way.left };
        Some((left.min(way.left), Ok(found)))
    }

    fn open(&self, places: [(Side, f64); 2]) -> Fault {
        let words = places
            .map(|(side, at)| format!("{} from the middle on the {} limb", self.fit.wording.place(at), side.name()));
        Fault::at(
            "tiller",
            format!("a stretch about {} and one about {} explain the distances as well", words[0], words[1]),
            "what is measured cannot tell them apart",
        )
        .cure("measure at more stations and at full draw, or more exactly")
    }

    /// A stretch that fades evenly to nothing `reach` to either side of `at`, brought onto the places so that its sum and middle stay.
    fn hat(&self, side: Side, at: f64, reach: f64) -> Vec<f64> {
        const FINE: usize = 10;
        let places = self.fit.places.get(side);
        let step = places[1] - places[0];
        let mut own = vec![0.0; places.len()];
        let mut share = own.clone();
        for k in 0..(places.len() - 1) * FINE {
            let s = (k as f64 + 0.5) / FINE as f64;
            let (i, u) = (s as usize, s.fract());
            let value = (1.0 - (s * step - at).abs() / reach).max(0.0);
            for (i, u) in [(i, 1.0 - u), (i + 1, u)] {
                own[i] += u * value;
                share[i] += u;
            }
        }
        own.iter_mut().zip(&share).for_each(|(o, s)| *o /= s);
        let other = vec![0.0; self.fit.places.get(other(side)).len()];
        if side == Side::Upper { [own, other].concat() } else { [other, own].concat() }
    }
}

/// One stretch of the search.
struct Trial {
    side: Side,
    at: f64,
    reach: f64,
    column: Vec<f64>,
    square: f64,
}

impl Trial {
    /// Its best amount, held by what amounts are thought likely.
    fn amount(&self, target: &[f64], sigma: f64) -> f64 {
        dot(&self.column, target) / (self.square + (sigma / STRAY).powi(2))
    }

    /// Twice the negative logarithm of its likelihood at that amount, less a constant.
    fn costs(&self, target: &[f64], sigma: f64) -> f64 {
        -dot(&self.column, target).powi(2) / (self.square + (sigma / STRAY).powi(2)) / (sigma * sigma)
    }
}

/// Nine values that stand for a standard normal distribution: the middles of nine equally likely parts.
const NORMAL: [f64; 9] = [-1.593, -0.967, -0.589, -0.282, 0.0, 0.282, 0.589, 0.967, 1.593];

/// The least, middle and greatest of weighted values, `OUTSIDE` left out.
fn quantiles(mut values: Vec<(f64, f64)>) -> [f64; 3] {
    values.sort_by(|a, b| a.0.total_cmp(&b.0));
    let all: f64 = values.iter().map(|v| v.1).sum();
    [0.5 * OUTSIDE, 0.5, 1.0 - 0.5 * OUTSIDE].map(|part| {
        let mut sum = 0.0;
        let found = values.iter().find(|v| {
            sum += v.1;
            sum >= part * all
        });
        found.or(values.last()).map_or(0.0, |v| v.0)
    })
}
